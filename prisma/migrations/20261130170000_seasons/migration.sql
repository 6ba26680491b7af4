-- Time in which a point sleeps does not count in its forecast, so what follows for a point depends on the seasons of its routes: on those
-- alone, so that nobody who changes an ordinary route makes anything be concluded again.
CREATE FUNCTION raise_seasonal(organisation uuid, points uuid[]) RETURNS void LANGUAGE sql AS $$
  WITH due AS (
    SELECT r.organisation_id, r.point_id FROM point_revision r
    WHERE r.organisation_id = organisation AND r.point_id = ANY (points)
    ORDER BY r.organisation_id, r.point_id FOR UPDATE OF r)
  UPDATE point_revision r SET revision = r.revision + 1 FROM due
  WHERE r.organisation_id = due.organisation_id AND r.point_id = due.point_id
$$;

CREATE FUNCTION stops_wake_and_sleep() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM raise_seasonal(c.organisation_id, array_agg(c.point_id)) FROM changed c
  WHERE EXISTS (
    SELECT FROM route t WHERE t.organisation_id = c.organisation_id AND t.id = c.route_id AND t.season IS NOT NULL)
  OR EXISTS (
    SELECT FROM route_stop o JOIN route t ON t.organisation_id = o.organisation_id AND t.id = o.route_id
    WHERE o.organisation_id = c.organisation_id AND o.point_id = c.point_id AND t.season IS NOT NULL)
  GROUP BY c.organisation_id;
  RETURN NULL;
END $$;
CREATE TRIGGER season_added AFTER INSERT ON route_stop REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION stops_wake_and_sleep();
CREATE TRIGGER season_removed AFTER DELETE ON route_stop REFERENCING OLD TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION stops_wake_and_sleep();

CREATE FUNCTION route_raises_revision() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM raise_seasonal(NEW.organisation_id, array_agg(o.point_id)) FROM route_stop o
  WHERE o.organisation_id = NEW.organisation_id AND o.route_id = NEW.id
    AND (NEW.season IS DISTINCT FROM OLD.season OR EXISTS (
      SELECT FROM route_stop x JOIN route t ON t.organisation_id = x.organisation_id AND t.id = x.route_id
      WHERE x.organisation_id = o.organisation_id AND x.point_id = o.point_id AND t.season IS NOT NULL));
  RETURN NULL;
END $$;
CREATE TRIGGER route_sleeps AFTER UPDATE OF season, retired_at ON route FOR EACH ROW
  WHEN (NEW.season IS DISTINCT FROM OLD.season OR (NEW.retired_at IS NULL) <> (OLD.retired_at IS NULL))
  EXECUTE FUNCTION route_raises_revision();

-- Points of seasonal routes that were concluded before are concluded again.
ALTER TABLE point_revision NO FORCE ROW LEVEL SECURITY;
ALTER TABLE route_stop NO FORCE ROW LEVEL SECURITY;
ALTER TABLE route NO FORCE ROW LEVEL SECURITY;
UPDATE point_revision r SET revision = r.revision + 1 WHERE EXISTS (
  SELECT FROM route_stop o JOIN route t ON t.organisation_id = o.organisation_id AND t.id = o.route_id
  WHERE o.organisation_id = r.organisation_id AND o.point_id = r.point_id AND t.season IS NOT NULL AND t.retired_at IS NULL);
ALTER TABLE point_revision FORCE ROW LEVEL SECURITY;
ALTER TABLE route_stop FORCE ROW LEVEL SECURITY;
ALTER TABLE route FORCE ROW LEVEL SECURITY;
