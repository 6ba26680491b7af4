-- Extra stops are listed by the end of their time.
DROP INDEX extra_stop_open;
CREATE INDEX extra_stop_open ON extra_stop (organisation_id, latest_at, id) INCLUDE (earliest_at, site_id, walker_id, round_id) WHERE closed_at IS NULL;
CREATE INDEX extra_stop_of_walker ON extra_stop (organisation_id, walker_id) WHERE closed_at IS NULL AND walker_id IS NOT NULL;

-- Lists of one site. Every row has a site; that it is asked for all the same keeps the planner from taking these, badly, for lists of the
-- whole organisation: only a query that names a site proves it.
CREATE INDEX round_due_at_site ON round (site_id, earliest_at, id) INCLUDE (organisation_id, latest_at, risk)
  WHERE closed_at IS NULL AND site_id IS NOT NULL;
CREATE INDEX work_order_queue_at_site ON work_order (site_id, rank, queue_at, id) INCLUDE (organisation_id)
  WHERE ended_at IS NULL AND site_id IS NOT NULL;
CREATE INDEX work_order_overdue_at_site ON work_order (site_id, queue_at, id) INCLUDE (organisation_id)
  WHERE ended_at IS NULL AND site_id IS NOT NULL;
CREATE INDEX work_order_ended_at_site ON work_order (site_id, ended_at DESC, id DESC) INCLUDE (organisation_id)
  WHERE ended_at IS NOT NULL AND site_id IS NOT NULL;
CREATE INDEX finding_newest_at_site ON finding (site_id, reported_at DESC, id DESC) INCLUDE (organisation_id) WHERE site_id IS NOT NULL;
