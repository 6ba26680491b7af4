-- What became of a forecast: written once, when readings have shown it. The rest of the diary is never changed.
ALTER TABLE forecast
  ADD COLUMN direction text NOT NULL DEFAULT 'high' CHECK (direction IN ('high', 'low')),
  ADD COLUMN outcome text CHECK (outcome IN ('hit', 'early', 'late', 'censored'));
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
