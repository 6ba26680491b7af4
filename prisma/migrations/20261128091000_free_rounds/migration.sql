-- Rounds that nobody has yet. "IS NULL" gives an index on the walker no order, so they have one of their own.
CREATE INDEX round_free ON round (organisation_id, earliest_at, id) INCLUDE (latest_at, site_id) WHERE closed_at IS NULL AND walker_id IS NULL;
