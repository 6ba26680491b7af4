-- First migration: organisations behind forced row-level security, the register, limits, facts, conclusions, imports, sign-in.
--
-- Three roles: the owner runs this file; heatround_app serves requests and jobs and sees one organisation at a time;
-- heatround_sweep signs people in and finds what is due across organisations. Neither owns a table, neither bypasses security.
-- Every key and every foreign key carries the organisation, so that a row cannot point across.

CREATE FUNCTION current_organisation() RETURNS uuid LANGUAGE sql STABLE PARALLEL SAFE
  AS $$ SELECT nullif(current_setting('app.organisation_id', true), '')::uuid $$;

-- Null: all sites of the organisation. Otherwise only these.
CREATE FUNCTION current_sites() RETURNS uuid[] LANGUAGE sql STABLE PARALLEL SAFE
  AS $$ SELECT nullif(current_setting('app.site_ids', true), '')::uuid[] $$;

CREATE TABLE organisation (
  organisation_id uuid PRIMARY KEY,
  name text NOT NULL CHECK (btrim(name) <> ''),
  -- The organisation's clock runs this far beside the real one; only a demo organisation has one.
  clock_offset_ms bigint NOT NULL DEFAULT 0,
  is_demo boolean NOT NULL DEFAULT false,
  created_at timestamptz(3) NOT NULL DEFAULT now()
);

-- A person in an organisation: name as shown there, roles, granted sites. Kept after its end, so that authorship stays.
CREATE TABLE membership (
  organisation_id uuid NOT NULL REFERENCES organisation,
  person_id uuid NOT NULL,
  name text NOT NULL,
  roles text[] NOT NULL CHECK (cardinality(roles) > 0),
  site_ids uuid[],
  ends_at timestamptz(3),
  created_at timestamptz(3) NOT NULL DEFAULT now(),
  PRIMARY KEY (organisation_id, person_id)
);
CREATE INDEX membership_person ON membership (person_id);

CREATE TABLE site (
  organisation_id uuid NOT NULL REFERENCES organisation,
  id uuid NOT NULL,
  name text NOT NULL CHECK (btrim(name) <> ''),
  zone text NOT NULL,
  PRIMARY KEY (organisation_id, id)
);
CREATE UNIQUE INDEX site_name ON site (organisation_id, lower(name));

CREATE TABLE building (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  site_id uuid NOT NULL,
  name text NOT NULL CHECK (btrim(name) <> ''),
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, id, site_id),
  FOREIGN KEY (organisation_id, site_id) REFERENCES site (organisation_id, id)
);
CREATE UNIQUE INDEX building_name ON building (organisation_id, site_id, lower(name));

CREATE TABLE room (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  building_id uuid NOT NULL,
  site_id uuid NOT NULL,
  name text NOT NULL CHECK (btrim(name) <> ''),
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, id, site_id),
  FOREIGN KEY (organisation_id, building_id, site_id) REFERENCES building (organisation_id, id, site_id)
);
CREATE UNIQUE INDEX room_name ON room (organisation_id, building_id, lower(name));

CREATE TABLE asset (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  room_id uuid NOT NULL,
  site_id uuid NOT NULL,
  tag text NOT NULL CHECK (btrim(tag) <> '' AND length(tag) <= 60),
  name text NOT NULL CHECK (btrim(name) <> '' AND length(name) <= 200),
  template text,
  criticality text NOT NULL CHECK (criticality IN ('A', 'B', 'C')),
  criticality_reason text NOT NULL CHECK (btrim(criticality_reason) <> ''),
  life_safety boolean NOT NULL DEFAULT false,
  hazards text[] NOT NULL DEFAULT '{}',
  retired_at timestamptz(3),
  version integer NOT NULL DEFAULT 1,
  created_at timestamptz(3) NOT NULL DEFAULT now(),
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, id, site_id),
  FOREIGN KEY (organisation_id, room_id, site_id) REFERENCES room (organisation_id, id, site_id)
);
-- Register list in tag order, page by page.
CREATE UNIQUE INDEX asset_by_tag ON asset (organisation_id, tag, id);
CREATE INDEX asset_room ON asset (organisation_id, room_id);

-- Every tag that ever named an asset, by its comparison key; old ones stay as aliases and are never given away.
CREATE TABLE asset_tag (
  organisation_id uuid NOT NULL,
  tag_key text NOT NULL,
  tag text NOT NULL,
  asset_id uuid NOT NULL,
  is_current boolean NOT NULL,
  PRIMARY KEY (organisation_id, tag_key),
  FOREIGN KEY (organisation_id, asset_id) REFERENCES asset (organisation_id, id)
);
CREATE INDEX asset_tag_asset ON asset_tag (organisation_id, asset_id);

-- Words by which an asset is found: one row per word, so that a search costs the same in a register of any size.
CREATE TABLE asset_word (
  organisation_id uuid NOT NULL,
  word text NOT NULL,
  asset_id uuid NOT NULL,
  PRIMARY KEY (organisation_id, word, asset_id),
  FOREIGN KEY (organisation_id, asset_id) REFERENCES asset (organisation_id, id)
);
CREATE INDEX asset_word_prefix ON asset_word (organisation_id, word text_pattern_ops);
CREATE INDEX asset_word_asset ON asset_word (organisation_id, asset_id);

CREATE TABLE point (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  asset_id uuid NOT NULL,
  site_id uuid NOT NULL,
  letter text NOT NULL CHECK (length(letter) BETWEEN 1 AND 4),
  name text NOT NULL CHECK (btrim(name) <> ''),
  quantity text NOT NULL,
  unit text NOT NULL,
  decimals integer NOT NULL DEFAULT 1 CHECK (decimals BETWEEN 0 AND 4),
  load_family text NOT NULL CHECK (load_family IN ('electrical', 'thermal-machine', 'none')),
  basis text NOT NULL CHECK (basis IN ('raw', 'corrected')),
  reference_load_percent double precision NOT NULL DEFAULT 100 CHECK (reference_load_percent > 0 AND reference_load_percent <= 150),
  minimum_load_percent double precision NOT NULL CHECK (minimum_load_percent >= 0 AND minimum_load_percent <= 100),
  load_exponent double precision NOT NULL CHECK (load_exponent >= 0 AND load_exponent <= 3),
  rated_current_a double precision CHECK (rated_current_a > 0),
  reference_ambient_c double precision,
  emissivity double precision CHECK (emissivity > 0 AND emissivity <= 1),
  infrared boolean NOT NULL,
  needs text[] NOT NULL DEFAULT '{}',
  parts text[] NOT NULL DEFAULT '{}',
  -- Base confirmed by a person; a provisional one is a conclusion and lives there.
  base_value double precision,
  base_reason text,
  base_by uuid,
  regreasing_gate_hours double precision NOT NULL DEFAULT 24,
  uncertainty double precision CHECK (uncertainty > 0),
  spot text NOT NULL DEFAULT '',
  retired_at timestamptz(3),
  version integer NOT NULL DEFAULT 1,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, asset_id, letter),
  FOREIGN KEY (organisation_id, asset_id, site_id) REFERENCES asset (organisation_id, id, site_id) ON UPDATE CASCADE
);

-- How often the facts and limits of a point changed, and up to which change it has been concluded. Raised in the transaction of
-- every change; the sweep finds what lags behind whether or not a job was ever queued.
CREATE TABLE point_revision (
  organisation_id uuid NOT NULL,
  point_id uuid NOT NULL,
  revision bigint NOT NULL DEFAULT 0,
  concluded bigint NOT NULL DEFAULT 0,
  PRIMARY KEY (organisation_id, point_id),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id)
) WITH (fillfactor = 70);
CREATE INDEX point_revision_due ON point_revision (organisation_id, point_id) WHERE revision > concluded;

CREATE FUNCTION start_point_revision() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO point_revision (organisation_id, point_id) VALUES (NEW.organisation_id, NEW.id);
  RETURN NULL;
END $$;
CREATE TRIGGER point_has_revision AFTER INSERT ON point FOR EACH ROW EXECUTE FUNCTION start_point_revision();

CREATE TABLE limit_set (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  point_id uuid NOT NULL,
  version integer NOT NULL,
  criterion text NOT NULL,
  direction text NOT NULL CHECK (direction IN ('high', 'low')),
  watch double precision,
  plan double precision,
  soon double precision,
  now double precision,
  source text NOT NULL CHECK (btrim(source) <> ''),
  reason text NOT NULL CHECK (btrim(reason) <> ''),
  author_id uuid NOT NULL,
  valid_from timestamptz(3) NOT NULL,
  review_on date,
  origin text NOT NULL CHECK (origin IN ('general', 'point')),
  created_at timestamptz(3) NOT NULL DEFAULT now(),
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, point_id, criterion, version),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id),
  CHECK (num_nonnulls(watch, plan, soon, now) > 0)
);

-- Facts: written once. A correction is a new fact; of two contents under one id the smaller hash counts and the other is kept below.
CREATE TABLE fact (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  kind text NOT NULL,
  asset_id uuid NOT NULL,
  -- Null: work on the whole asset.
  point_id uuid,
  taken_at timestamptz(3) NOT NULL,
  received_at timestamptz(3) NOT NULL,
  submitted_by uuid NOT NULL,
  -- Held a right to correct other people's readings when submitting.
  may_correct_any boolean NOT NULL,
  corrects_id uuid,
  -- As it was sent.
  content jsonb NOT NULL,
  content_hash bytea NOT NULL CHECK (length(content_hash) = 32),
  -- Canonical values of a reading; see domain/facts Reading.
  reading jsonb,
  -- The verdict of its day, with the version of the domain package that judged.
  value double precision,
  grade text,
  comparability text,
  verdict jsonb,
  domain_version text,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, asset_id) REFERENCES asset (organisation_id, id),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id)
);
CREATE INDEX fact_history ON fact (organisation_id, point_id, taken_at DESC, id DESC) WHERE kind = 'reading-taken';
CREATE INDEX fact_answers ON fact (organisation_id, point_id, taken_at DESC, id DESC) WHERE kind = 'stop-answered';
CREATE INDEX fact_work ON fact (organisation_id, asset_id, taken_at DESC, id DESC) WHERE kind = 'work-recorded';
CREATE INDEX fact_corrections ON fact (organisation_id, corrects_id) WHERE corrects_id IS NOT NULL;

-- Whatever changes what follows for a point raises its revision, in the same transaction, in the order of ids (no deadlocks).
CREATE FUNCTION facts_raise_revision() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  WITH due AS (
    SELECT r.organisation_id, r.point_id FROM point_revision r
    WHERE (r.organisation_id, r.point_id) IN (
      SELECT c.organisation_id, c.point_id FROM changed c WHERE c.point_id IS NOT NULL
      UNION
      SELECT p.organisation_id, p.id FROM changed c JOIN point p ON p.organisation_id = c.organisation_id AND p.asset_id = c.asset_id
      WHERE c.point_id IS NULL)
    ORDER BY r.organisation_id, r.point_id FOR UPDATE OF r)
  UPDATE point_revision r SET revision = r.revision + 1 FROM due
  WHERE r.organisation_id = due.organisation_id AND r.point_id = due.point_id;
  RETURN NULL;
END $$;
CREATE TRIGGER facts_added AFTER INSERT ON fact REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION facts_raise_revision();
CREATE TRIGGER facts_now AFTER UPDATE ON fact REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION facts_raise_revision();
CREATE TRIGGER facts_before AFTER UPDATE ON fact REFERENCING OLD TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION facts_raise_revision();

CREATE FUNCTION limits_raise_revision() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  WITH due AS (
    SELECT r.organisation_id, r.point_id FROM point_revision r
    WHERE (r.organisation_id, r.point_id) IN (SELECT organisation_id, point_id FROM changed)
    ORDER BY r.organisation_id, r.point_id FOR UPDATE OF r)
  UPDATE point_revision r SET revision = r.revision + 1 FROM due
  WHERE r.organisation_id = due.organisation_id AND r.point_id = due.point_id;
  RETURN NULL;
END $$;
CREATE TRIGGER limits_added AFTER INSERT ON limit_set REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION limits_raise_revision();

CREATE FUNCTION point_raises_revision() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE point_revision SET revision = revision + 1 WHERE organisation_id = NEW.organisation_id AND point_id = NEW.id;
  RETURN NULL;
END $$;
CREATE TRIGGER point_changed AFTER UPDATE ON point FOR EACH ROW EXECUTE FUNCTION point_raises_revision();

-- May this time be believed? Not more than the error of a clock ahead of its receipt, and not from before the service could know it.
CREATE FUNCTION time_is_plausible(taken_at timestamptz, received_at timestamptz) RETURNS boolean LANGUAGE sql IMMUTABLE PARALLEL SAFE AS
  $$ SELECT taken_at - received_at <= interval '5 minutes' AND taken_at >= timestamptz '2000-01-01 00:00:00Z' $$;

-- Readings that count: of a plausible time, not corrected by somebody who may, and, being a correction, itself allowed and the newest of
-- its kind. A correction may arrive before what it corrects; it then counts until the corrected reading shows that it must not. One whose
-- time is not plausible takes nothing away from what it corrects.
CREATE VIEW counted_reading WITH (security_invoker = true) AS
SELECT f.* FROM fact f
WHERE f.kind = 'reading-taken' AND time_is_plausible(f.taken_at, f.received_at)
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

CREATE TABLE fact_conflict (
  organisation_id uuid NOT NULL,
  fact_id uuid NOT NULL,
  content_hash bytea NOT NULL CHECK (length(content_hash) = 32),
  content jsonb NOT NULL,
  submitted_by uuid NOT NULL,
  received_at timestamptz(3) NOT NULL,
  PRIMARY KEY (organisation_id, fact_id, content_hash),
  FOREIGN KEY (organisation_id, fact_id) REFERENCES fact (organisation_id, id)
);

-- What follows from the facts today; deleting a row makes the worker write it again.
CREATE TABLE conclusion (
  organisation_id uuid NOT NULL,
  point_id uuid NOT NULL,
  revision bigint NOT NULL,
  grade text,
  content jsonb NOT NULL,
  domain_version text NOT NULL,
  computed_at timestamptz(3) NOT NULL,
  PRIMARY KEY (organisation_id, point_id),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id)
);

CREATE FUNCTION conclusion_is_missing() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE point_revision SET concluded = -1 WHERE organisation_id = OLD.organisation_id AND point_id = OLD.point_id;
  RETURN NULL;
END $$;
CREATE TRIGGER conclusion_deleted AFTER DELETE ON conclusion FOR EACH ROW EXECUTE FUNCTION conclusion_is_missing();

-- Forecast diary: every forecast as it was given, never changed. cut_at is the last comparable reading it rests on.
CREATE TABLE forecast (
  organisation_id uuid NOT NULL,
  point_id uuid NOT NULL,
  limit_grade text NOT NULL,
  revision bigint NOT NULL,
  method text NOT NULL,
  limit_value double precision NOT NULL,
  cut_at timestamptz(3) NOT NULL,
  made_at timestamptz(3) NOT NULL,
  -- What could be said: range, not-before, far, none.
  shown text NOT NULL,
  reason text,
  earliest_at timestamptz(3),
  likely_at timestamptz(3),
  latest_at timestamptz(3),
  probability_moving double precision,
  reading_count integer NOT NULL,
  PRIMARY KEY (organisation_id, point_id, limit_grade, revision, method),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id)
);

CREATE TABLE import (
  organisation_id uuid NOT NULL REFERENCES organisation,
  id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('readings', 'work', 'assets')),
  file_name text NOT NULL,
  -- staging until every row is stored; then as the contract says.
  state text NOT NULL,
  columns jsonb NOT NULL,
  separator text NOT NULL,
  -- Of kind and text: the same upload again is the same import.
  text_hash bytea NOT NULL CHECK (length(text_hash) = 32),
  mapping jsonb,
  row_count integer NOT NULL,
  done_count integer NOT NULL DEFAULT 0,
  bad_count integer NOT NULL DEFAULT 0,
  summary jsonb,
  -- What the check understood and warns of, in sentences.
  told jsonb,
  created_by uuid NOT NULL,
  created_at timestamptz(3) NOT NULL,
  -- Who asked for the check or the run under way: it sees what this person sees.
  asked_by uuid,
  skip_bad_rows boolean NOT NULL DEFAULT false,
  version integer NOT NULL DEFAULT 1,
  PRIMARY KEY (organisation_id, id)
);
CREATE INDEX import_newest ON import (organisation_id, created_at DESC, id DESC);
CREATE INDEX import_due ON import (organisation_id, id) WHERE state IN ('checking', 'bringing-in');

CREATE TABLE import_row (
  organisation_id uuid NOT NULL,
  import_id uuid NOT NULL,
  row_number integer NOT NULL,
  cells text[] NOT NULL,
  outcome jsonb,
  errors jsonb,
  PRIMARY KEY (organisation_id, import_id, row_number),
  FOREIGN KEY (organisation_id, import_id) REFERENCES import (organisation_id, id) ON DELETE CASCADE
);
CREATE INDEX import_row_bad ON import_row (organisation_id, import_id, row_number) WHERE errors IS NOT NULL;

-- Locks 2 and 3: forced row-level security, one organisation per transaction.
DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['organisation', 'membership', 'site', 'building', 'room', 'asset', 'asset_tag', 'asset_word', 'point',
    'point_revision', 'limit_set', 'fact', 'fact_conflict', 'conclusion', 'forecast', 'import', 'import_row']
  LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_organisation ON %I TO heatround_app USING (organisation_id = current_organisation())
      WITH CHECK (organisation_id = current_organisation())', t);
    EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON %I TO heatround_app', t);
  END LOOP;
  -- A person narrowed to some sites sees only these.
  FOREACH t IN ARRAY ARRAY['asset', 'point']
  LOOP
    EXECUTE format('CREATE POLICY granted_sites ON %I AS RESTRICTIVE TO heatround_app
      USING (current_sites() IS NULL OR site_id = ANY (current_sites())) WITH CHECK (current_sites() IS NULL OR site_id = ANY (current_sites()))', t);
  END LOOP;
END $$;
CREATE POLICY granted_sites ON site AS RESTRICTIVE TO heatround_app
  USING (current_sites() IS NULL OR id = ANY (current_sites()));

GRANT SELECT ON counted_reading TO heatround_app;

-- Facts and the diary are written once: the application may not delete them. (A fact's counted content may change, see decision on hashes.)
REVOKE DELETE ON fact, fact_conflict, limit_set FROM heatround_app;
REVOKE UPDATE ON fact_conflict, limit_set, forecast FROM heatround_app;
REVOKE INSERT, DELETE ON organisation FROM heatround_app;

-- Across organisations: who belongs where (sign-in), what lags behind (sweep), new organisations.
GRANT SELECT, INSERT, UPDATE ON organisation, membership TO heatround_sweep;
GRANT SELECT ON point_revision, import TO heatround_sweep;
CREATE POLICY across ON organisation TO heatround_sweep USING (true) WITH CHECK (true);
CREATE POLICY across ON membership TO heatround_sweep USING (true) WITH CHECK (true);
CREATE POLICY across ON point_revision FOR SELECT TO heatround_sweep USING (true);
CREATE POLICY across ON import FOR SELECT TO heatround_sweep USING (true);

-- Sign-in: tables of the accounts library, out of reach of the application's role.
CREATE SCHEMA auth;
GRANT USAGE ON SCHEMA auth TO heatround_sweep;
CREATE TABLE auth."user" (
  id uuid PRIMARY KEY DEFAULT gen_random_uuid(), name text NOT NULL, email text NOT NULL UNIQUE, "emailVerified" boolean NOT NULL DEFAULT false,
  image text, "createdAt" timestamptz NOT NULL DEFAULT now(), "updatedAt" timestamptz NOT NULL DEFAULT now()
);
CREATE TABLE auth.session (
  id uuid PRIMARY KEY DEFAULT gen_random_uuid(), "expiresAt" timestamptz NOT NULL, token text NOT NULL UNIQUE,
  "createdAt" timestamptz NOT NULL DEFAULT now(), "updatedAt" timestamptz NOT NULL DEFAULT now(), "ipAddress" text, "userAgent" text,
  "userId" uuid NOT NULL REFERENCES auth."user" ON DELETE CASCADE
);
CREATE INDEX session_of_user ON auth.session ("userId");
CREATE TABLE auth.account (
  id uuid PRIMARY KEY DEFAULT gen_random_uuid(), "accountId" text NOT NULL, "providerId" text NOT NULL,
  "userId" uuid NOT NULL REFERENCES auth."user" ON DELETE CASCADE, "accessToken" text, "refreshToken" text, "idToken" text,
  "accessTokenExpiresAt" timestamptz, "refreshTokenExpiresAt" timestamptz, scope text, password text,
  "createdAt" timestamptz NOT NULL DEFAULT now(), "updatedAt" timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX account_of_user ON auth.account ("userId");
CREATE TABLE auth.verification (
  id uuid PRIMARY KEY DEFAULT gen_random_uuid(), identifier text NOT NULL, value text NOT NULL, "expiresAt" timestamptz NOT NULL,
  "createdAt" timestamptz NOT NULL DEFAULT now(), "updatedAt" timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX verification_identifier ON auth.verification (identifier);
GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA auth TO heatround_sweep;

-- Readiness asks whether every migration is finished.
DO $$ BEGIN
  IF to_regclass('_prisma_migrations') IS NOT NULL THEN GRANT SELECT ON _prisma_migrations TO heatround_sweep; END IF;
END $$;
