-- What a device still holds when access has ended: facts wait on a list of their own until a planner accepts them or turns them away.

-- Sessions that somebody ended, by a name that opens nothing; those that ran out or were left are not here.
CREATE TABLE auth.ended_session (
  session_key text PRIMARY KEY,
  user_id uuid NOT NULL REFERENCES auth."user" ON DELETE CASCADE,
  ended_at timestamptz(3) NOT NULL
);
CREATE INDEX ended_session_of_user ON auth.ended_session (user_id);
GRANT SELECT, INSERT, UPDATE, DELETE ON auth.ended_session TO heatround_sweep;

-- By the organisation's clock; tells since when somebody no longer hands in facts.
ALTER TABLE membership ADD COLUMN roles_changed_at timestamptz(3);

-- Content, person and times never change; the decision does.
CREATE TABLE handed_over (
  organisation_id uuid NOT NULL REFERENCES organisation,
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  fact_id uuid NOT NULL,
  content jsonb NOT NULL,
  content_hash bytea NOT NULL CHECK (length(content_hash) = 32),
  -- What the content names. No foreign keys: whether it exists here is not told to a device without access.
  point_id uuid,
  asset_id uuid,
  round_id uuid,
  taken_at timestamptz(3) NOT NULL,
  received_at timestamptz(3) NOT NULL,
  -- Roles held at the last contact, as the service signed them then.
  roles text[] NOT NULL,
  contact_at timestamptz(3) NOT NULL,
  -- When access had ended; null: it had not, as far as anybody had said.
  access_ended_at timestamptz(3),
  state text NOT NULL DEFAULT 'waiting' CHECK (state IN ('waiting', 'accepted', 'turned-away')),
  decided_by uuid,
  decided_at timestamptz(3),
  reason text CHECK (btrim(reason) <> ''),
  -- How an accepted one was recorded: created, duplicate or conflict.
  outcome text,
  -- Why the last try to accept it could not record it.
  refused text,
  PRIMARY KEY (organisation_id, id),
  -- The same content sent again by the same person is the same entry.
  UNIQUE (organisation_id, person_id, fact_id, content_hash),
  FOREIGN KEY (organisation_id, person_id) REFERENCES membership (organisation_id, person_id),
  CHECK ((state = 'waiting') = (decided_at IS NULL)),
  -- An entry that was accepted after all keeps the reason for which it had been turned away.
  CHECK (state <> 'turned-away' OR reason IS NOT NULL),
  CHECK (state <> 'waiting' OR reason IS NULL),
  CHECK ((state = 'accepted') = (outcome IS NOT NULL))
);
CREATE INDEX handed_over_waiting ON handed_over (organisation_id, received_at, id) WHERE state = 'waiting';
CREATE INDEX handed_over_waiting_of ON handed_over (organisation_id, person_id) WHERE state = 'waiting';
CREATE INDEX handed_over_decided ON handed_over (organisation_id, decided_at DESC, id DESC) WHERE state <> 'waiting';

ALTER TABLE handed_over ENABLE ROW LEVEL SECURITY;
ALTER TABLE handed_over FORCE ROW LEVEL SECURITY;
CREATE POLICY one_organisation ON handed_over TO heatround_app USING (organisation_id = current_organisation())
  WITH CHECK (organisation_id = current_organisation());
-- Somebody narrowed to some sites sees what is about them; whatever names nothing known is for those who see all sites.
CREATE POLICY granted_sites ON handed_over AS RESTRICTIVE TO heatround_app USING (
  current_sites() IS NULL
  OR EXISTS (SELECT 1 FROM point p WHERE p.organisation_id = handed_over.organisation_id AND p.id = handed_over.point_id)
  OR EXISTS (SELECT 1 FROM asset a WHERE a.organisation_id = handed_over.organisation_id AND a.id = handed_over.asset_id)
  OR EXISTS (SELECT 1 FROM round r WHERE r.organisation_id = handed_over.organisation_id AND r.id = handed_over.round_id));
GRANT SELECT, INSERT ON handed_over TO heatround_app;
GRANT UPDATE (state, decided_by, decided_at, reason, outcome, refused) ON handed_over TO heatround_app;
