-- How long the longest window of an open round at a site is: the search for rounds that are due looks no further ahead.
CREATE INDEX round_longest_window ON round (site_id, (latest_at - earliest_at) DESC) WHERE closed_at IS NULL AND site_id IS NOT NULL;
