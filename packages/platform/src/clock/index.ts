/**
 * The time of day, as something that is passed in. Code below `apps/` never reads the machine's clock by itself: it is given a
 * `Clock`, so that tests and the demo organisation can stand at any moment they like.
 */

export interface Clock {
  /** Milliseconds since 1970-01-01T00:00:00Z. */
  now(): number;
}

/** The machine's own clock. */
export const systemClock: Clock = { now: () => Date.now() };

/** A clock that stands still until it is moved. */
export interface FixedClock extends Clock {
  /** Moves the clock forward, or back when negative. */
  advance(durationMs: number): void;
  /** Puts the clock at a moment. */
  set(instant: number | string): void;
}

/**
 * A clock for tests and for frozen organisations.
 *
 * @param start epoch milliseconds, or an ISO 8601 instant with offset.
 * @example fixedClock('2026-03-16T07:00:00Z').now() // 1773644400000
 */
export function fixedClock(start: number | string): FixedClock {
  const parse = (instant: number | string): number => {
    const ms = typeof instant === 'number' ? instant : Date.parse(instant);
    if (!Number.isFinite(ms)) throw new RangeError(`not an instant: ${instant}`);
    return ms;
  };
  let current = parse(start);
  return {
    now: () => current,
    advance: (durationMs) => {
      current += durationMs;
    },
    set: (instant) => {
      current = parse(instant);
    },
  };
}
