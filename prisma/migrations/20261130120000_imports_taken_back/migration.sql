-- Imports can be taken back for a day. Facts stay as they are; those taken back count no longer.
ALTER TABLE import DROP CONSTRAINT import_kind_check;
ALTER TABLE import
  ADD CONSTRAINT import_kind_check CHECK (kind IN ('readings', 'work', 'assets', 'points', 'limits', 'routes')),
  -- When it was brought in, by the organisation's clock; null: not yet, or before imports could be taken back.
  ADD COLUMN ran_at timestamptz(3),
  -- What went and what stays, in counts and first examples.
  ADD COLUMN undo jsonb,
  ADD COLUMN undone_by uuid;
DROP INDEX import_due;
CREATE INDEX import_due ON import (organisation_id, id) WHERE state IN ('checking', 'bringing-in', 'taking-back');

-- Which files brought a fact in: it counts as long as one of them stands.
ALTER TABLE import_row ADD COLUMN fact_id uuid GENERATED ALWAYS AS ((outcome ->> 'factId')::uuid) STORED;
CREATE INDEX import_row_fact ON import_row (organisation_id, fact_id) WHERE fact_id IS NOT NULL;

-- What an import put into the register, written in the transaction that made it or before; an id that is nowhere else was never made.
CREATE TABLE import_made (
  organisation_id uuid NOT NULL,
  import_id uuid NOT NULL,
  what text NOT NULL CHECK (what IN ('asset', 'point', 'limits', 'route')),
  id uuid NOT NULL,
  PRIMARY KEY (organisation_id, import_id, what, id),
  FOREIGN KEY (organisation_id, import_id) REFERENCES import (organisation_id, id) ON DELETE CASCADE
);

-- Facts of imports that were taken back. Another import of the same rows takes the entry away again.
CREATE TABLE fact_taken_back (
  organisation_id uuid NOT NULL,
  fact_id uuid NOT NULL,
  import_id uuid NOT NULL,
  PRIMARY KEY (organisation_id, fact_id),
  FOREIGN KEY (organisation_id, fact_id) REFERENCES fact (organisation_id, id),
  FOREIGN KEY (organisation_id, import_id) REFERENCES import (organisation_id, id)
);

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['import_made', 'fact_taken_back']
  LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_organisation ON %I TO heatround_app USING (organisation_id = current_organisation())
      WITH CHECK (organisation_id = current_organisation())', t);
  END LOOP;
END $$;
GRANT SELECT, INSERT ON import_made TO heatround_app;
GRANT SELECT, INSERT, DELETE ON fact_taken_back TO heatround_app;

CREATE OR REPLACE VIEW counted_reading WITH (security_invoker = true) AS
SELECT f.* FROM fact f
WHERE f.kind = 'reading-taken' AND time_is_plausible(f.taken_at, f.received_at)
  AND NOT EXISTS (SELECT 1 FROM fact_taken_back t WHERE t.organisation_id = f.organisation_id AND t.fact_id = f.id)
  AND NOT EXISTS (
    SELECT 1 FROM fact c
    WHERE c.organisation_id = f.organisation_id AND c.corrects_id = f.id AND c.id <> f.id AND time_is_plausible(c.taken_at, c.received_at)
      AND (c.may_correct_any OR c.submitted_by = f.submitted_by))
  AND (f.corrects_id IS NULL
    OR (NOT EXISTS (
        SELECT 1 FROM fact o
        WHERE o.organisation_id = f.organisation_id AND o.id = f.corrects_id AND NOT (f.may_correct_any OR o.submitted_by = f.submitted_by))
      AND NOT EXISTS (
        SELECT 1 FROM fact s LEFT JOIN fact o ON o.organisation_id = s.organisation_id AND o.id = s.corrects_id
        WHERE s.organisation_id = f.organisation_id AND s.corrects_id = f.corrects_id AND s.id > f.id
          AND time_is_plausible(s.taken_at, s.received_at) AND (o.id IS NULL OR s.may_correct_any OR o.submitted_by = s.submitted_by))));

-- Taken back or back again changes what follows for a point as much as a fact that comes.
CREATE FUNCTION taken_back_raises_revision() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  WITH told AS MATERIALIZED (
    SELECT DISTINCT f.organisation_id, f.kind, f.point_id, f.asset_id FROM changed c
      JOIN fact f ON f.organisation_id = c.organisation_id AND f.id = c.fact_id),
  due AS (
    SELECT r.organisation_id, r.point_id FROM point_revision r
    WHERE (r.organisation_id, r.point_id) IN (
      SELECT c.organisation_id, c.point_id FROM told c WHERE c.point_id IS NOT NULL
      UNION
      SELECT t.organisation_id, t.point_id FROM told c JOIN point_twin t ON t.organisation_id = c.organisation_id AND t.twin_id = c.point_id
      WHERE c.kind = 'reading-taken'
      UNION
      SELECT p.organisation_id, p.id FROM told c JOIN point p ON p.organisation_id = c.organisation_id AND p.asset_id = c.asset_id
      WHERE c.point_id IS NULL)
    ORDER BY r.organisation_id, r.point_id FOR UPDATE OF r)
  UPDATE point_revision r SET revision = r.revision + 1 FROM due
  WHERE r.organisation_id = due.organisation_id AND r.point_id = due.point_id;
  RETURN NULL;
END $$;
CREATE TRIGGER taken_back AFTER INSERT ON fact_taken_back REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION taken_back_raises_revision();
CREATE TRIGGER back_again AFTER DELETE ON fact_taken_back REFERENCING OLD TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION taken_back_raises_revision();

-- What an import made and was taken back with it: out of service and out of every list; its tag and letter are free for the next try.
ALTER TABLE asset
  ADD COLUMN taken_back_by uuid,
  ADD CONSTRAINT asset_taken_back_is_out CHECK (taken_back_by IS NULL OR retired_at IS NOT NULL);
ALTER TABLE point
  ADD COLUMN taken_back_by uuid,
  ADD CONSTRAINT point_taken_back_is_out CHECK (taken_back_by IS NULL OR retired_at IS NOT NULL);
ALTER TABLE point DROP CONSTRAINT point_organisation_id_asset_id_letter_key;
CREATE UNIQUE INDEX point_letter ON point (organisation_id, asset_id, letter) WHERE taken_back_by IS NULL;
-- All points of an asset, those taken back too.
CREATE INDEX point_of_asset ON point (organisation_id, asset_id);
DROP INDEX asset_retired;
CREATE INDEX asset_retired ON asset (organisation_id, tag, id) WHERE retired_at IS NOT NULL AND taken_back_by IS NULL;
-- The code of a route that was taken back is free.
DROP INDEX route_code;
CREATE UNIQUE INDEX route_code ON route (organisation_id, lower(code)) WHERE retired_at IS NULL;
CREATE INDEX shutdown_window_of_asset ON shutdown_window (organisation_id, asset_id) WHERE asset_id IS NOT NULL;

-- Whatever a person still hands in at an asset that was taken back brings it into the list of those out of service: nothing is lost from sight.
CREATE FUNCTION facts_show_asset() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE asset a SET taken_back_by = NULL FROM (SELECT DISTINCT c.organisation_id, c.asset_id FROM changed c WHERE c.asset_id IS NOT NULL) c
  WHERE a.organisation_id = c.organisation_id AND a.id = c.asset_id AND a.taken_back_by IS NOT NULL;
  RETURN NULL;
END $$;
CREATE TRIGGER facts_show AFTER INSERT ON fact REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION facts_show_asset();
