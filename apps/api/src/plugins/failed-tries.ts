/**
 * Counts failed tries to sign in by address and e-mail, so that guessing is slow and a site behind one address locks nobody out.
 * Held in the memory of this process: with several processes each allows its own number; then this belongs into the database.
 */
import { Problem } from '@heatround/domain';
import type { Clock } from '@heatround/platform/clock';

const MOST_FAILED = 10;
const WINDOW_MS = 5 * 60_000;
/** Beyond so many pairs the oldest are forgotten, whatever an attacker sends. */
const MOST_PAIRS = 20_000;

export interface FailedTries {
  /**
   * Counts a try as failed until it is cleared, so that many at once do not slip through.
   * @throws TooManyTries when there were as many as are allowed within the last five minutes.
   */
  begin(address: string, email: string): { succeeded(): void };
}

/** More tries than are allowed; says when the next one is. */
export class TooManyTries extends Problem {
  readonly retryAfterSeconds: number;
  constructor(retryAfterSeconds: number) {
    const minutes = Math.ceil(retryAfterSeconds / 60);
    super(
      'too-many-requests',
      `Too many failed tries with this e-mail from this address; try again in ${minutes === 1 ? 'a minute' : `${minutes} minutes`}.`,
    );
    this.retryAfterSeconds = retryAfterSeconds;
  }
}

export function countFailedTries(clock: Clock): FailedTries {
  // In the order of the last try: the first ones are forgotten first.
  const tries = new Map<string, number[]>();
  return {
    begin(address, email) {
      const key = `${address} ${email.trim().toLowerCase()}`;
      const now = clock.now();
      const recent = (tries.get(key) ?? []).filter((at) => at > now - WINDOW_MS);
      if (recent.length >= MOST_FAILED) throw new TooManyTries(Math.max(1, Math.ceil((recent[0]! + WINDOW_MS - now) / 1000)));
      tries.delete(key);
      tries.set(key, [...recent, now]);
      for (const [oldest] of tries) {
        if (tries.size <= MOST_PAIRS) break;
        tries.delete(oldest);
      }
      return { succeeded: () => void tries.delete(key) };
    },
  };
}
