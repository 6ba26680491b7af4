-- Forecasts of one history share its readings: many of them that held are not many proofs. So beside the outcomes it is counted from how
-- many histories they come: one of a point between two resets. Outcomes so far are each taken for a history of their own, as before.
-- A range without a latest date cannot be too late, so it is no test of what 80 % promise; it keeps its outcome and is not counted.
CREATE TABLE forecast_history (
  organisation_id uuid NOT NULL,
  method text NOT NULL,
  point_id uuid NOT NULL,
  -- Begin of the history; -infinity: before any work.
  since timestamptz(3) NOT NULL,
  PRIMARY KEY (organisation_id, point_id, since, method),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id)
);
ALTER TABLE forecast_history ENABLE ROW LEVEL SECURITY;
ALTER TABLE forecast_history FORCE ROW LEVEL SECURITY;
CREATE POLICY one_organisation ON forecast_history TO heatround_app USING (organisation_id = current_organisation())
  WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT ON forecast_history TO heatround_app;

ALTER TABLE forecast_score DROP CONSTRAINT forecast_score_outcome_check;
ALTER TABLE forecast_score ADD CONSTRAINT forecast_score_outcome_check CHECK (outcome IN ('hit', 'early', 'late', 'censored', 'history'));
ALTER TABLE forecast_score NO FORCE ROW LEVEL SECURITY;
INSERT INTO forecast_score (organisation_id, method, quantity, outcome, count)
SELECT organisation_id, method, quantity, 'history', sum(count) FROM forecast_score WHERE outcome <> 'censored' GROUP BY 1, 2, 3;
ALTER TABLE forecast_score FORCE ROW LEVEL SECURITY;

-- A reading that comes late may tell otherwise: what was decided lately is looked at again with every conclusion, and counted over.
ALTER TABLE forecast_score DROP CONSTRAINT forecast_score_count_check;
ALTER TABLE forecast ADD COLUMN decided_at timestamptz(3);
GRANT UPDATE (decided_at) ON forecast TO heatround_app;
CREATE INDEX forecast_decided ON forecast (organisation_id, point_id, decided_at) WHERE decided_at IS NOT NULL;
