-- What became of a forecast: written once, when readings have shown it. The rest of the diary is never changed.
ALTER TABLE forecast
  ADD COLUMN direction text NOT NULL DEFAULT 'high' CHECK (direction IN ('high', 'low')),
  ADD COLUMN outcome text CHECK (outcome IN ('hit', 'early', 'late', 'censored'));
-- Those given before this: the side whose figure they name. Row-level security binds the owner too, so it is lifted for this one statement.
ALTER TABLE forecast NO FORCE ROW LEVEL SECURITY;
ALTER TABLE limit_set NO FORCE ROW LEVEL SECURITY;
UPDATE forecast f SET direction = 'low' FROM limit_set l
WHERE l.organisation_id = f.organisation_id AND l.point_id = f.point_id AND l.direction = 'low'
  AND f.limit_value = CASE f.limit_grade WHEN 'plan' THEN l.plan WHEN 'soon' THEN l.soon WHEN 'now' THEN l.now END;
ALTER TABLE forecast FORCE ROW LEVEL SECURITY;
ALTER TABLE limit_set FORCE ROW LEVEL SECURITY;
GRANT UPDATE (outcome) ON forecast TO heatround_app;
-- Those still watched, of one point.
CREATE INDEX forecast_watched ON forecast (organisation_id, point_id) WHERE outcome IS NULL AND shown = 'range';

-- Outcomes counted as they come, so that asking how often the ranges held costs the same after years.
CREATE TABLE forecast_score (
  organisation_id uuid NOT NULL REFERENCES organisation,
  method text NOT NULL,
  quantity text NOT NULL,
  outcome text NOT NULL CHECK (outcome IN ('hit', 'early', 'late', 'censored')),
  count integer NOT NULL CHECK (count > 0),
  PRIMARY KEY (organisation_id, method, quantity, outcome)
);
ALTER TABLE forecast_score ENABLE ROW LEVEL SECURITY;
ALTER TABLE forecast_score FORCE ROW LEVEL SECURITY;
CREATE POLICY one_organisation ON forecast_score TO heatround_app USING (organisation_id = current_organisation())
  WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE ON forecast_score TO heatround_app;
