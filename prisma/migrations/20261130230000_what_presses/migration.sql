-- The date that presses: of a repair that is done that of its proof, of one that is lived with the end of that; otherwise when it is due.
ALTER TABLE work_order ALTER COLUMN queue_at SET EXPRESSION AS (
  coalesce(CASE stands WHEN 'done' THEN proof_due_at WHEN 'living-with' THEN living_until ELSE due_at END, 'infinity'));
DROP INDEX work_order_overdue;
CREATE INDEX work_order_overdue ON work_order (organisation_id, queue_at, id) INCLUDE (site_id, stands) WHERE ended_at IS NULL;
DROP INDEX work_order_overdue_at_site;
CREATE INDEX work_order_overdue_at_site ON work_order (site_id, queue_at, id) INCLUDE (organisation_id, stands)
  WHERE ended_at IS NULL AND site_id IS NOT NULL;
