-- What has to be done is found in the database: stops left over on rounds that have ended, repairs whose proof nobody is asked for,
-- findings to be read again that nobody reads.
CREATE INDEX extra_stop_open_on_round ON extra_stop (organisation_id, round_id) WHERE closed_at IS NULL AND round_id IS NOT NULL;
CREATE INDEX extra_stop_of_order ON extra_stop (organisation_id, order_id) WHERE order_id IS NOT NULL;
CREATE INDEX extra_stop_of_finding ON extra_stop (organisation_id, finding_id) WHERE finding_id IS NOT NULL;
CREATE INDEX work_order_to_prove ON work_order (organisation_id, id) INCLUDE (point_id) WHERE proof_due_at IS NOT NULL;
CREATE INDEX finding_to_read_again ON finding (organisation_id, id) WHERE stands = 'read-again' AND ended_at IS NULL;

-- The sweep sees which stops are open and which points are in service, and no word of what they are about.
GRANT SELECT (organisation_id, id, kind, round_id, finding_id, order_id, closed_at) ON extra_stop TO heatround_sweep;
GRANT SELECT (organisation_id, id, retired_at) ON point TO heatround_sweep;
CREATE POLICY across ON extra_stop FOR SELECT TO heatround_sweep USING (true);
CREATE POLICY across ON point FOR SELECT TO heatround_sweep USING (true);
