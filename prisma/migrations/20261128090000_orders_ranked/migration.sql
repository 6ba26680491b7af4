-- The risk of a fault moves with its forecast and as the next window comes nearer. The sweep finds orders that were ranked long ago.
ALTER TABLE work_order ADD COLUMN ranked_at timestamptz(3) NOT NULL DEFAULT now();
CREATE INDEX work_order_ranked ON work_order (ranked_at, organisation_id, point_id) WHERE ended_at IS NULL;

-- A new conclusion asks for it at once. The point is held by then, as whoever moves an order holds it first.
CREATE FUNCTION orders_ask_for_rank() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF EXISTS (SELECT 1 FROM work_order o
      WHERE o.organisation_id = NEW.organisation_id AND o.point_id = NEW.point_id AND o.ended_at IS NULL) THEN
    UPDATE work_order o SET ranked_at = '-infinity'
    WHERE o.organisation_id = NEW.organisation_id AND o.point_id = NEW.point_id AND o.ended_at IS NULL;
  END IF;
  RETURN NULL;
END $$;
CREATE TRIGGER point_concluded AFTER UPDATE OF concluded ON point_revision
  FOR EACH ROW WHEN (OLD.concluded <> NEW.concluded) EXECUTE FUNCTION orders_ask_for_rank();
