-- Second factor: columns and table as the accounts library expects them.
ALTER TABLE auth."user" ADD COLUMN "twoFactorEnabled" boolean NOT NULL DEFAULT false;
CREATE TABLE auth."twoFactor" (
  id uuid PRIMARY KEY DEFAULT gen_random_uuid(), secret text NOT NULL, "backupCodes" text NOT NULL,
  "userId" uuid NOT NULL UNIQUE REFERENCES auth."user" ON DELETE CASCADE, verified boolean NOT NULL DEFAULT true,
  "failedVerificationCount" integer NOT NULL DEFAULT 0, "lockedUntil" timestamptz
);
GRANT SELECT, INSERT, UPDATE, DELETE ON auth."twoFactor" TO heatround_sweep;

-- How a member is written to: language, whether, at which minute of the day and in which zone (null: that of the first site given).
ALTER TABLE membership
  ADD COLUMN language text NOT NULL DEFAULT 'en' CHECK (language IN ('en', 'de')),
  ADD COLUMN mail_wanted boolean NOT NULL DEFAULT true,
  ADD COLUMN mail_at_minutes integer NOT NULL DEFAULT 360 CHECK (mail_at_minutes BETWEEN 0 AND 1439),
  ADD COLUMN mail_zone text,
  -- When the daily mail is due next, by the organisation's clock; null: not reckoned yet.
  ADD COLUMN next_mail_at timestamptz(3);
CREATE INDEX membership_mail_due ON membership (next_mail_at NULLS FIRST) WHERE mail_wanted;

-- Somebody asked to join. The link is signed and not kept; it is made again when the mail goes out.
CREATE TABLE invitation (
  organisation_id uuid NOT NULL REFERENCES organisation,
  id uuid NOT NULL,
  email text NOT NULL CHECK (btrim(email) <> ''),
  name text NOT NULL CHECK (btrim(name) <> ''),
  roles text[] NOT NULL CHECK (cardinality(roles) > 0),
  site_ids uuid[],
  -- When the membership is to end.
  ends_at timestamptz(3),
  language text NOT NULL CHECK (language IN ('en', 'de')),
  invited_by uuid NOT NULL,
  invited_at timestamptz(3) NOT NULL,
  -- Real time, like all that signed links carry.
  runs_out_at timestamptz(3) NOT NULL,
  accepted_by uuid,
  accepted_at timestamptz(3),
  withdrawn_at timestamptz(3),
  PRIMARY KEY (organisation_id, id)
);
CREATE INDEX invitation_open ON invitation (organisation_id, invited_at DESC) WHERE accepted_at IS NULL AND withdrawn_at IS NULL;

-- A program that may call: its name, end and authorship are those of the membership with the same id; its key is kept as a hash.
CREATE TABLE service_key (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  key_hash text NOT NULL UNIQUE,
  scopes text[] NOT NULL CHECK (cardinality(scopes) > 0),
  made_by uuid NOT NULL,
  made_at timestamptz(3) NOT NULL,
  last_used_at timestamptz(3),
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, id) REFERENCES membership (organisation_id, person_id)
);

-- What was written to whom, and what became of it. Bodies that would hold a link to act with are not kept.
CREATE TABLE mail (
  organisation_id uuid NOT NULL REFERENCES organisation,
  id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('due', 'invitation')),
  -- Null: to somebody who is no member yet.
  person_id uuid,
  invitation_id uuid,
  -- Of a daily mail: the day it is for, where the person is.
  day date,
  subject text NOT NULL,
  body_text text NOT NULL,
  body_html text NOT NULL,
  -- waiting → claimed → handing-over → sent, refused or unsure; kept: in the folder, never sent.
  state text NOT NULL CHECK (state IN ('waiting', 'claimed', 'handing-over', 'sent', 'refused', 'bounced', 'kept', 'unsure')),
  -- In the words of the other server.
  answer text,
  attempts integer NOT NULL DEFAULT 0,
  try_at timestamptz(3) NOT NULL,
  state_at timestamptz(3) NOT NULL,
  made_at timestamptz(3) NOT NULL,
  PRIMARY KEY (organisation_id, id),
  CHECK ((kind = 'due') = (day IS NOT NULL)),
  CHECK (CASE kind WHEN 'due' THEN person_id IS NOT NULL ELSE invitation_id IS NOT NULL END),
  FOREIGN KEY (organisation_id, person_id) REFERENCES membership (organisation_id, person_id),
  FOREIGN KEY (organisation_id, invitation_id) REFERENCES invitation (organisation_id, id)
);
CREATE UNIQUE INDEX mail_once_a_day ON mail (organisation_id, person_id, day) WHERE kind = 'due';
CREATE INDEX mail_newest ON mail (organisation_id, made_at DESC, id DESC);
CREATE INDEX mail_of_person ON mail (organisation_id, person_id, made_at DESC, id DESC) WHERE person_id IS NOT NULL;
CREATE INDEX mail_to_send ON mail (try_at) WHERE state IN ('waiting', 'claimed', 'handing-over');
CREATE INDEX mail_in_trouble ON mail (organisation_id, state_at DESC) WHERE state IN ('refused', 'bounced', 'unsure');

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['invitation', 'service_key', 'mail'] LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_organisation ON %I TO heatround_app USING (organisation_id = current_organisation())
      WITH CHECK (organisation_id = current_organisation())', t);
    EXECUTE format('GRANT SELECT, INSERT, UPDATE ON %I TO heatround_app', t);
  END LOOP;
END $$;
-- Found across organisations: what waits to be sent, whose key it is, which invitation a link names.
GRANT SELECT ON mail, invitation, service_key TO heatround_sweep;
GRANT UPDATE (last_used_at) ON service_key TO heatround_sweep;
CREATE POLICY across ON mail FOR SELECT TO heatround_sweep USING (true);
CREATE POLICY across ON invitation FOR SELECT TO heatround_sweep USING (true);
CREATE POLICY across ON service_key TO heatround_sweep USING (true) WITH CHECK (true);
