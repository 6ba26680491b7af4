import { createHmac } from 'node:crypto';
import type pg from 'pg';

const MOST_FAILED = 10;
const WINDOW_MS = 5 * 60_000;
/** Each try takes away so many that are over, so that what an attacker sends does not pile up. */
const FORGOTTEN_AT_ONCE = 20;

/** Failed tries to sign in, by address and e-mail, so that guessing is slow and a site behind one address locks nobody out. */
export interface FailedTries {
  /**
   * Counts a try as failed until it is cleared, so that many at once do not slip through; all processes of the service count together.
   * @param now epoch milliseconds.
   * @returns null: go on; else how many milliseconds to wait, since ten failed within the last five minutes.
   */
  begin(address: string, email: string, now: number): Promise<number | null>;
  clear(address: string, email: string): Promise<void>;
}

/** Kept in the schema of the accounts; who tried is kept as a keyed hash only. */
export function failedTries(pool: pg.Pool, secret: string): FailedTries {
  const keyOf = (address: string, email: string): Buffer =>
    createHmac('sha256', `failed tries ${secret}`).update(`${address} ${email.trim().toLowerCase()}`).digest();
  return {
    async begin(address, email, now) {
      await pool.query(
        `DELETE FROM failed_try WHERE key IN (
           SELECT key FROM failed_try WHERE last_ms <= $1 ORDER BY last_ms LIMIT ${FORGOTTEN_AT_ONCE} FOR UPDATE SKIP LOCKED)`,
        [now - WINDOW_MS],
      );
      const { rows } = await pool.query<{ first: string; isRefused: boolean }>(
        `INSERT INTO failed_try AS t (key, at_ms, last_ms, is_refused) VALUES ($1, ARRAY[$2::bigint], $2::bigint, false)
         ON CONFLICT (key) DO UPDATE SET (at_ms, last_ms, is_refused) = (
           SELECT CASE WHEN count(*) < ${MOST_FAILED} THEN coalesce(array_agg(a ORDER BY a), '{}'::bigint[]) || $2::bigint ELSE array_agg(a ORDER BY a) END,
             greatest(t.last_ms, $2::bigint), count(*) >= ${MOST_FAILED}
           FROM unnest(t.at_ms) a WHERE a > $3::bigint)
         RETURNING at_ms[1] AS first, is_refused AS "isRefused"`,
        [keyOf(address, email), now, now - WINDOW_MS],
      );
      const { first, isRefused } = rows[0]!;
      return isRefused ? Math.max(1, Number(first) + WINDOW_MS - now) : null;
    },
    async clear(address, email) {
      await pool.query('DELETE FROM failed_try WHERE key = $1', [keyOf(address, email)]);
    },
  };
}
