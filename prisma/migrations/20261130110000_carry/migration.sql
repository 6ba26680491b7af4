-- What we carry: each list of the page begins where it is read, so that neither history nor another organisation is walked through.

-- Accepted risks by their end date.
CREATE INDEX finding_lived_with ON finding (organisation_id, living_until, id) INCLUDE (site_id) WHERE living_until IS NOT NULL;
CREATE INDEX work_order_lived_with ON work_order (organisation_id, living_until, id) INCLUDE (site_id) WHERE living_until IS NOT NULL;
-- Requests to live with a fault that nobody has answered.
CREATE INDEX finding_asked ON finding (organisation_id, reported_at, id)
  WHERE stands = 'reported' AND ended_at IS NULL AND (state ->> 'livingAsked') IS NOT NULL;
CREATE INDEX work_order_asked ON work_order (organisation_id, rank, queue_at, id)
  WHERE stands = 'agreed' AND ended_at IS NULL AND (state ->> 'livingAsked') IS NOT NULL;
-- Faults that are open and have no order.
CREATE INDEX finding_without_order ON finding (organisation_id, stands, id) INCLUDE (site_id)
  WHERE ended_at IS NULL AND order_id IS NULL AND stands IN ('reported', 'read-again', 'living-with');
-- Rounds that are over, newest first.
CREATE INDEX round_over ON round (organisation_id, latest_at DESC, id DESC) INCLUDE (site_id) WHERE closed_at IS NOT NULL;

-- Earliest date of the limit that counts, where a range is shown: epoch milliseconds, which hold whatever a forecast says.
ALTER TABLE conclusion ADD COLUMN reaches_ms double precision GENERATED ALWAYS AS ((jsonb_path_query_first(content,
  '$.projections[*] ? (@.grade == $.countsGrade && @.show == "range" && @.earliestAt != null).earliestAt'))::double precision) STORED;
CREATE INDEX conclusion_reaches ON conclusion (organisation_id, reaches_ms, point_id) WHERE reaches_ms IS NOT NULL;
