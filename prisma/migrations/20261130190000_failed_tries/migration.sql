-- Failed tries to sign in, counted by all processes together; gone five minutes after the last one.
CREATE TABLE auth.failed_try (
  -- Keyed hash of address and e-mail: it tells nobody who tried.
  key bytea PRIMARY KEY,
  -- Epoch milliseconds, oldest first.
  at_ms bigint[] NOT NULL,
  last_ms bigint NOT NULL,
  -- Was the last one refused because there were too many?
  is_refused boolean NOT NULL
);
CREATE INDEX failed_try_over ON auth.failed_try (last_ms);
GRANT SELECT, INSERT, UPDATE, DELETE ON auth.failed_try TO heatround_sweep;
