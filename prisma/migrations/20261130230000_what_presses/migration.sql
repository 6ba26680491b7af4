-- The date that presses: of a repair that is done that of its proof, of one that is lived with the end of that; otherwise when it is due.
-- Its indexes go with the column.
ALTER TABLE work_order DROP COLUMN queue_at;
ALTER TABLE work_order ADD COLUMN queue_at timestamptz(3) NOT NULL GENERATED ALWAYS AS (
  coalesce(CASE stands WHEN 'done' THEN proof_due_at WHEN 'living-with' THEN living_until ELSE due_at END, 'infinity')) STORED;
CREATE INDEX work_order_queue ON work_order (organisation_id, rank, queue_at, id) WHERE ended_at IS NULL;
CREATE INDEX work_order_overdue ON work_order (organisation_id, queue_at, id) INCLUDE (site_id, stands) WHERE ended_at IS NULL;
CREATE INDEX work_order_of_owner ON work_order (organisation_id, owner_id, rank, queue_at, id)
  WHERE ended_at IS NULL AND owner_id IS NOT NULL;
CREATE INDEX work_order_queue_at_site ON work_order (site_id, rank, queue_at, id) INCLUDE (organisation_id)
  WHERE ended_at IS NULL AND site_id IS NOT NULL;
CREATE INDEX work_order_overdue_at_site ON work_order (site_id, queue_at, id) INCLUDE (organisation_id, stands)
  WHERE ended_at IS NULL AND site_id IS NOT NULL;
CREATE INDEX work_order_asked ON work_order (organisation_id, rank, queue_at, id)
  WHERE stands = 'agreed' AND ended_at IS NULL AND (state ->> 'livingAsked') IS NOT NULL;
