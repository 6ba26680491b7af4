-- Rounds that somebody walks; few at any time, and looked for by whoever has them.
CREATE INDEX round_begun ON round (organisation_id, walker_id, earliest_at, id) WHERE closed_at IS NULL AND started_at IS NOT NULL;
