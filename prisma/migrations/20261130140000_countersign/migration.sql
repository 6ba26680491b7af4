-- What a trainee read waits for somebody who knows the work to look at it; the reading itself counts at once.
CREATE TABLE countersign (
  organisation_id uuid NOT NULL,
  fact_id uuid NOT NULL,
  trainee_id uuid NOT NULL,
  asked_at timestamptz(3) NOT NULL,
  signed_by uuid,
  signed_at timestamptz(3),
  -- What the one who signed had to say.
  words text,
  PRIMARY KEY (organisation_id, fact_id),
  FOREIGN KEY (organisation_id, fact_id) REFERENCES fact (organisation_id, id),
  CHECK ((signed_by IS NULL) = (signed_at IS NULL)),
  CHECK (signed_by <> trainee_id)
);
CREATE INDEX countersign_open ON countersign (organisation_id, asked_at, fact_id) WHERE signed_at IS NULL;
ALTER TABLE countersign ENABLE ROW LEVEL SECURITY;
ALTER TABLE countersign FORCE ROW LEVEL SECURITY;
CREATE POLICY one_organisation ON countersign TO heatround_app USING (organisation_id = current_organisation())
  WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT ON countersign TO heatround_app;
GRANT UPDATE (signed_by, signed_at, words) ON countersign TO heatround_app;

-- What happened to the installation as a whole, last time of each kind.
CREATE TABLE installation_event (
  kind text PRIMARY KEY CHECK (kind IN ('backup')),
  at timestamptz(3) NOT NULL,
  words text NOT NULL
);
GRANT SELECT ON installation_event TO heatround_sweep;
