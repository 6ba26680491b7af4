-- Rounds and repairs: routes, the rounds made from them, extra stops, shutdown windows, findings, work orders and their moves.

CREATE TABLE route (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  site_id uuid NOT NULL,
  code text NOT NULL CHECK (btrim(code) <> '' AND length(code) <= 20),
  name text NOT NULL CHECK (btrim(name) <> ''),
  -- RFC 5545 rule, from this first local time on, in the zone of the site.
  rule text NOT NULL,
  start_local text NOT NULL,
  -- domain/rounds RoundWindow.
  round_window jsonb NOT NULL,
  -- Null: half the window.
  grace_ms bigint CHECK (grace_ms >= 0),
  -- domain/rounds Season; null: awake all year.
  season jsonb,
  -- Who usually walks it; null: whoever takes it.
  walker_id uuid,
  about_minutes integer CHECK (about_minutes > 0),
  -- Keys, permits, what to know before leaving.
  before_you_leave text NOT NULL DEFAULT '',
  -- Rounds have been made up to here; the worker goes on when less than the horizon is left.
  planned_until timestamptz(3),
  retired_at timestamptz(3),
  version integer NOT NULL DEFAULT 1,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, id, site_id),
  FOREIGN KEY (organisation_id, site_id) REFERENCES site (organisation_id, id)
);
CREATE UNIQUE INDEX route_code ON route (organisation_id, lower(code));
CREATE INDEX route_to_plan ON route (organisation_id, planned_until NULLS FIRST, id) WHERE retired_at IS NULL;

CREATE TABLE route_stop (
  organisation_id uuid NOT NULL,
  route_id uuid NOT NULL,
  point_id uuid NOT NULL,
  position integer NOT NULL,
  PRIMARY KEY (organisation_id, route_id, point_id),
  FOREIGN KEY (organisation_id, route_id) REFERENCES route (organisation_id, id),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id)
);
CREATE INDEX route_stop_of_point ON route_stop (organisation_id, point_id);

CREATE TABLE round (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  route_id uuid NOT NULL,
  site_id uuid NOT NULL,
  -- Local planned time, by which the same round is never made twice.
  occurrence text NOT NULL,
  -- Local time that the clocks swallowed, when the planned one had to move.
  moved_from text,
  planned_at timestamptz(3) NOT NULL,
  earliest_at timestamptz(3) NOT NULL,
  latest_at timestamptz(3) NOT NULL,
  grace_ms bigint NOT NULL,
  ends_at timestamptz(3) NOT NULL,
  -- Who was named to walk it, and when; without a time by its route.
  named_walker_id uuid,
  named_at timestamptz(3),
  -- Settled from the facts of the round, in whatever order they came. The walker is whoever has it now: named, took it, or was given it.
  walker_id uuid,
  taken_by uuid,
  started_at timestamptz(3),
  handed_in_at timestamptz(3),
  handed_in_by uuid,
  -- Points as the phone had them at the start.
  packed uuid[],
  given_note text,
  looked_over_at timestamptz(3),
  looked_over_by uuid,
  called_off jsonb,
  -- Points of the route as they were when it ended; null while it is open.
  stops uuid[],
  -- Stops, answered, read: as counted with its last fact.
  stop_count integer,
  answered_count integer,
  read_count integer,
  -- Handed in, called off or missed; open rounds are those of the due list.
  closed_at timestamptz(3),
  version integer NOT NULL DEFAULT 1,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, route_id, occurrence),
  FOREIGN KEY (organisation_id, route_id, site_id) REFERENCES route (organisation_id, id, site_id)
);
CREATE INDEX round_due ON round (organisation_id, earliest_at, id) INCLUDE (site_id, latest_at, walker_id, route_id) WHERE closed_at IS NULL;
CREATE INDEX round_to_close ON round (organisation_id, ends_at) WHERE closed_at IS NULL;
CREATE INDEX round_handed_in ON round (organisation_id, handed_in_by, handed_in_at DESC) WHERE handed_in_at IS NOT NULL;
CREATE INDEX round_of_route ON round (organisation_id, route_id, planned_at DESC);

-- Who may be asked to go where and when, beside the routes: read again, prove, asked for.
CREATE TABLE extra_stop (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('read-again', 'proof', 'asked')),
  point_id uuid NOT NULL,
  site_id uuid NOT NULL,
  round_id uuid,
  walker_id uuid,
  finding_id uuid,
  order_id uuid,
  earliest_at timestamptz(3) NOT NULL,
  latest_at timestamptz(3) NOT NULL,
  note text NOT NULL DEFAULT '',
  asked_by uuid,
  asked_at timestamptz(3) NOT NULL,
  -- The reading that answered it; null with closed_at: no longer needed.
  answered_by uuid,
  closed_at timestamptz(3),
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id),
  FOREIGN KEY (organisation_id, round_id) REFERENCES round (organisation_id, id)
);
CREATE INDEX extra_stop_open ON extra_stop (organisation_id, earliest_at, id) WHERE closed_at IS NULL;
CREATE INDEX extra_stop_of_point ON extra_stop (organisation_id, point_id);
CREATE INDEX extra_stop_of_round ON extra_stop (organisation_id, round_id) WHERE round_id IS NOT NULL;

CREATE TABLE shutdown_window (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  site_id uuid NOT NULL,
  name text NOT NULL CHECK (btrim(name) <> ''),
  -- Null: the whole site; otherwise only this building or this asset stands still.
  building_id uuid,
  asset_id uuid,
  from_at timestamptz(3) NOT NULL,
  to_at timestamptz(3) NOT NULL,
  cancelled_at timestamptz(3),
  version integer NOT NULL DEFAULT 1,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, site_id) REFERENCES site (organisation_id, id),
  FOREIGN KEY (organisation_id, building_id) REFERENCES building (organisation_id, id),
  FOREIGN KEY (organisation_id, asset_id) REFERENCES asset (organisation_id, id),
  CHECK (to_at > from_at)
);
CREATE INDEX shutdown_window_ahead ON shutdown_window (organisation_id, site_id, to_at) WHERE cancelled_at IS NULL;

-- Numbers people say: one row per organisation and kind, given out on arrival.
CREATE TABLE number_given (
  organisation_id uuid NOT NULL REFERENCES organisation,
  kind text NOT NULL CHECK (kind IN ('finding', 'order')),
  last integer NOT NULL,
  PRIMARY KEY (organisation_id, kind)
);

CREATE TABLE finding (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  number integer NOT NULL,
  point_id uuid NOT NULL,
  asset_id uuid NOT NULL,
  site_id uuid NOT NULL,
  mode text NOT NULL,
  episode integer NOT NULL,
  -- domain/findings Finding, whole; the columns beside it are for finding and sorting.
  state jsonb NOT NULL,
  stands text NOT NULL,
  grade text NOT NULL,
  reported_at timestamptz(3) NOT NULL,
  reported_by uuid NOT NULL,
  -- The reading that raised it; null: reported in words.
  fact_id uuid,
  words text,
  -- A person must answer until then; null: nobody's turn.
  answer_due_at timestamptz(3),
  living_until timestamptz(3),
  repeats uuid,
  order_id uuid,
  ended_at timestamptz(3),
  -- Evidence has come that asks a planner to look again.
  asks_planner boolean NOT NULL DEFAULT false,
  version integer NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, number),
  UNIQUE (organisation_id, point_id, mode, episode),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id),
  FOREIGN KEY (organisation_id, asset_id) REFERENCES asset (organisation_id, id)
);
CREATE INDEX finding_to_answer ON finding (organisation_id, answer_due_at, id) WHERE stands = 'reported' AND ended_at IS NULL;
CREATE INDEX finding_of_point ON finding (organisation_id, point_id, reported_at DESC, id DESC);
CREATE INDEX finding_open_at_point ON finding (organisation_id, point_id) WHERE ended_at IS NULL;
CREATE INDEX finding_newest ON finding (organisation_id, reported_at DESC, id DESC);
CREATE INDEX finding_of_order ON finding (organisation_id, order_id) WHERE order_id IS NOT NULL;
CREATE INDEX finding_living ON finding (living_until) WHERE living_until IS NOT NULL;
CREATE INDEX finding_of_reporter ON finding (organisation_id, reported_by, reported_at DESC);

CREATE TABLE finding_evidence (
  organisation_id uuid NOT NULL,
  finding_id uuid NOT NULL,
  fact_id uuid NOT NULL,
  added_at timestamptz(3) NOT NULL,
  PRIMARY KEY (organisation_id, finding_id, fact_id),
  FOREIGN KEY (organisation_id, finding_id) REFERENCES finding (organisation_id, id)
);

CREATE TABLE work_order (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  number integer NOT NULL,
  finding_id uuid NOT NULL,
  point_id uuid NOT NULL,
  asset_id uuid NOT NULL,
  site_id uuid NOT NULL,
  -- domain/work-orders WorkOrder, whole.
  state jsonb NOT NULL,
  stands text NOT NULL,
  grade text NOT NULL,
  owner_id uuid,
  -- Original due date, never moved.
  due_at timestamptz(3),
  -- The same for sorting: without one comes last.
  queue_at timestamptz(3) NOT NULL GENERATED ALWAYS AS (coalesce(due_at, 'infinity')) STORED,
  -- What comes first: critical ones, then risk, then consequence, in one figure; smaller is earlier.
  rank integer NOT NULL,
  risk integer NOT NULL,
  consequence integer NOT NULL,
  -- {"value": …, "direction": …}; null: below Watch.
  target jsonb,
  living_until timestamptz(3),
  proof_due_at timestamptz(3),
  created_at timestamptz(3) NOT NULL,
  ended_at timestamptz(3),
  -- The reading before and the one that proved.
  before_fact uuid,
  after_fact uuid,
  version integer NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, number),
  FOREIGN KEY (organisation_id, finding_id) REFERENCES finding (organisation_id, id),
  FOREIGN KEY (organisation_id, point_id) REFERENCES point (organisation_id, id),
  FOREIGN KEY (organisation_id, asset_id) REFERENCES asset (organisation_id, id)
);
CREATE INDEX work_order_queue ON work_order (organisation_id, rank, queue_at, id) WHERE ended_at IS NULL;
CREATE INDEX work_order_overdue ON work_order (organisation_id, queue_at, id) INCLUDE (site_id) WHERE ended_at IS NULL;
CREATE INDEX work_order_of_owner ON work_order (organisation_id, owner_id, rank, queue_at, id) WHERE ended_at IS NULL AND owner_id IS NOT NULL;
CREATE INDEX work_order_ended ON work_order (organisation_id, ended_at DESC, id DESC) WHERE ended_at IS NOT NULL;
CREATE INDEX work_order_of_point ON work_order (organisation_id, point_id);
-- Open, or proved with a second proof to come.
CREATE INDEX work_order_open_at_point ON work_order (organisation_id, point_id) WHERE ended_at IS NULL OR proof_due_at IS NOT NULL;
CREATE INDEX work_order_living ON work_order (living_until) WHERE living_until IS NOT NULL;

-- Who moved what, when and why; never changed.
CREATE TABLE move (
  organisation_id uuid NOT NULL,
  subject_id uuid NOT NULL,
  version integer NOT NULL,
  subject text NOT NULL CHECK (subject IN ('finding', 'order')),
  -- domain/findings MoveRecord.
  record jsonb NOT NULL,
  moved_at timestamptz(3) NOT NULL,
  moved_by uuid,
  PRIMARY KEY (organisation_id, subject_id, version)
);

-- Facts of rounds name no asset; readings and answers may say in which round they were taken.
ALTER TABLE fact ALTER COLUMN asset_id DROP NOT NULL;
ALTER TABLE fact ADD COLUMN round_id uuid;
ALTER TABLE fact ADD CONSTRAINT fact_round FOREIGN KEY (organisation_id, round_id) REFERENCES round (organisation_id, id);
DROP INDEX fact_work;
CREATE INDEX fact_work ON fact (organisation_id, asset_id, taken_at DESC, id DESC) WHERE kind IN ('work-recorded', 'put-right');
CREATE INDEX fact_of_round ON fact (organisation_id, round_id) WHERE round_id IS NOT NULL;

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['route', 'route_stop', 'round', 'extra_stop', 'shutdown_window', 'number_given', 'finding', 'finding_evidence', 'work_order', 'move']
  LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_organisation ON %I TO heatround_app USING (organisation_id = current_organisation())
      WITH CHECK (organisation_id = current_organisation())', t);
    EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON %I TO heatround_app', t);
  END LOOP;
  FOREACH t IN ARRAY ARRAY['route', 'round', 'extra_stop', 'shutdown_window', 'finding', 'work_order']
  LOOP
    EXECUTE format('CREATE POLICY granted_sites ON %I AS RESTRICTIVE TO heatround_app
      USING (current_sites() IS NULL OR site_id = ANY (current_sites())) WITH CHECK (current_sites() IS NULL OR site_id = ANY (current_sites()))', t);
  END LOOP;
END $$;
REVOKE UPDATE, DELETE ON move FROM heatround_app;
REVOKE DELETE ON finding, work_order, finding_evidence, route, extra_stop, shutdown_window FROM heatround_app;
-- A coming round goes with the plan that made it; what somebody walked, named or called off stays.
CREATE POLICY untouched ON round AS RESTRICTIVE FOR DELETE TO heatround_app
  USING (started_at IS NULL AND handed_in_at IS NULL AND called_off IS NULL AND closed_at IS NULL AND named_at IS NULL);

-- The sweep finds routes to plan ahead, rounds whose time is over, accepted risks whose date has come.
GRANT SELECT ON route, round, work_order, finding TO heatround_sweep;
CREATE POLICY across ON route FOR SELECT TO heatround_sweep USING (true);
CREATE POLICY across ON round FOR SELECT TO heatround_sweep USING (true);
CREATE POLICY across ON work_order FOR SELECT TO heatround_sweep USING (true);
CREATE POLICY across ON finding FOR SELECT TO heatround_sweep USING (true);
-- An administrator of a demo organisation may move its clock ahead.
