-- What more a point may know: the width of its target, the range of a cooler at rated load, a curve it is held against.
ALTER TABLE point ADD COLUMN target_mm double precision CHECK (target_mm > 0);
ALTER TABLE point ADD COLUMN rated_range_k double precision CHECK (rated_range_k > 0);
ALTER TABLE point ADD COLUMN curve jsonb NOT NULL DEFAULT '[]' CHECK (jsonb_typeof(curve) = 'array');

-- Points that are compared with each other on the same visit: twins of one machine, neighbours on one header.
CREATE TABLE point_twin (
  organisation_id uuid NOT NULL,
  point_id uuid NOT NULL,
  twin_id uuid NOT NULL,
  PRIMARY KEY (organisation_id, point_id, twin_id),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id),
  FOREIGN KEY (organisation_id, twin_id) REFERENCES point (organisation_id, id),
  CHECK (point_id <> twin_id)
);
CREATE INDEX point_twin_of ON point_twin (organisation_id, twin_id);
ALTER TABLE point_twin ENABLE ROW LEVEL SECURITY;
ALTER TABLE point_twin FORCE ROW LEVEL SECURITY;
CREATE POLICY one_organisation ON point_twin TO heatround_app USING (organisation_id = current_organisation())
  WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE, DELETE ON point_twin TO heatround_app;

-- Limits that hold only in some weather or season. A version without figures withdraws its side; the first of a side still needs one,
-- which the service sees to.
ALTER TABLE limit_set ADD COLUMN holds jsonb CHECK (holds IS NULL OR jsonb_typeof(holds) = 'object');
ALTER TABLE limit_set DROP CONSTRAINT limit_set_check;

-- A reading of a twin changes what follows for the points that are compared with it.
CREATE OR REPLACE FUNCTION facts_raise_revision() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  WITH due AS (
    SELECT r.organisation_id, r.point_id FROM point_revision r
    WHERE (r.organisation_id, r.point_id) IN (
      SELECT c.organisation_id, c.point_id FROM changed c WHERE c.point_id IS NOT NULL
      UNION
      SELECT t.organisation_id, t.point_id FROM changed c JOIN point_twin t ON t.organisation_id = c.organisation_id AND t.twin_id = c.point_id
      WHERE c.kind = 'reading-taken'
      UNION
      SELECT p.organisation_id, p.id FROM changed c JOIN point p ON p.organisation_id = c.organisation_id AND p.asset_id = c.asset_id
      WHERE c.point_id IS NULL)
    ORDER BY r.organisation_id, r.point_id FOR UPDATE OF r)
  UPDATE point_revision r SET revision = r.revision + 1 FROM due
  WHERE r.organisation_id = due.organisation_id AND r.point_id = due.point_id;
  RETURN NULL;
END $$;
