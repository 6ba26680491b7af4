/** The diary of forecasts: what became of each, and whether the ranges hold what they promise. Repaired points are no misses. */
import { normalQuantile } from '../numbers/index.ts';

/** A forecast as it was given. Instants in epoch milliseconds, figures in one unit. */
export interface DiaryForecast {
  readonly cutAt: number;
  readonly earliestAt: number;
  /** Kept beside the range; the outcome does not depend on it. */
  readonly likelyAt: number | null;
  /** null: or not at all; such a range does not run out. */
  readonly latestAt: number | null;
  readonly limit: number;
  readonly direction: 'high' | 'low';
}

/** hit: crossed inside the range. early: before it. late: after it, or not yet when it had run out. censored: work came first. */
export type ForecastOutcome = 'hit' | 'early' | 'late' | 'censored' | 'open';

/**
 * What became of a forecast. The crossing lies on the straight line between the last comparable reading before the limit and the
 * first that reaches it, since nobody saw the moment itself. Work that begins the history anew ends the watch.
 *
 * @param readings comparable ones in any order, doubles allowed; those before the cut and not finite ones are left out.
 * @param workAt instants of work that resets the point, any order.
 * @example
 * scoreForecast({ cutAt: 0, earliestAt: 10, likelyAt: 15, latestAt: 20, limit: 80, direction: 'high' }, [{ at: 14, value: 81 }], []) // 'hit'
 */
export function scoreForecast(
  forecast: DiaryForecast,
  readings: readonly { readonly at: number; readonly value: number }[],
  workAt: readonly number[],
): ForecastOutcome {
  const { cutAt, earliestAt, latestAt, limit, direction } = forecast;
  const sign = direction === 'high' ? 1 : -1;
  const worked = Math.min(...workAt.filter((at) => at > cutAt), Number.POSITIVE_INFINITY);
  const watched = readings
    .filter(({ at, value }) => at >= cutAt && at < worked && Number.isFinite(at) && Number.isFinite(value))
    .map(({ at, value }) => ({ at, short: sign * (limit - value) }))
    .sort((a, b) => a.at - b.at || a.short - b.short);
  // The reading of the cut is where the forecast starts from, and no outcome of it.
  const reached = watched.find(({ at, short }) => at > cutAt && short <= 0);
  if (reached !== undefined) {
    const crossedAt = crossing(
      watched.findLast(({ at, short }) => at < reached.at && short > 0),
      reached,
    );
    if (crossedAt < earliestAt) return 'early';
    return latestAt === null || crossedAt <= latestAt ? 'hit' : 'late';
  }
  if (latestAt !== null && watched.some(({ at }) => at > latestAt)) return 'late';
  return worked < Number.POSITIVE_INFINITY ? 'censored' : 'open';
}

interface Seen {
  readonly at: number;
  /** What is left to the limit; 0 or less: reached. */
  readonly short: number;
}

function crossing(before: Seen | undefined, reached: Seen): number {
  if (before === undefined) return reached.at;
  const share = before.short / (before.short - reached.short);
  return before.at + (Number.isFinite(share) ? share : 1) * (reached.at - before.at);
}

/** The ranges are to hold this share; outside the band they are flagged. */
export const PROMISED_SHARE = 0.8;
export const SHARE_BAND = { least: 0.7, most: 0.9 } as const;
const CONFIDENCE_Z = normalQuantile(0.975);
/** Of each side. */
const CHANCE = 0.025;
const MOST_ASKED = 1000;

export interface HitRate {
  /** Forecasts with an outcome: hit, early or late. Censored and open ones do not count. */
  readonly counted: number;
  readonly hits: number;
  /** Histories they come from, those of a point between two repairs: forecasts of one share its readings and prove no more than it does. */
  readonly histories: number;
  /** 0 to 1; null while nothing is counted. */
  readonly rate: number | null;
  /** Wilson score interval, 95 %. */
  readonly interval: readonly [low: number, high: number] | null;
  /** too-few: outside the band, or nothing counted, but chance could do that. */
  readonly verdict: 'as-promised' | 'too-narrow' | 'too-wide' | 'too-few';
  /** With too-few: how many histories at this rate would say so; null while there is no rate. */
  readonly enough: number | null;
}

/**
 * How often the ranges held, with a Wilson score interval (Wilson 1927). They are flagged below 70 and above 90 % once an exact
 * binomial test rejects the 80 % promised, so that a handful of outcomes accuses nobody. Interval and test count histories, not
 * forecasts, as if each history held its share.
 * https://en.wikipedia.org/wiki/Binomial_proportion_confidence_interval#Wilson_score_interval
 *
 * @example hitRate(['hit', 'hit', 'late', 'censored']).counted // 3
 */
export function hitRate(outcomes: readonly ForecastOutcome[]): HitRate {
  const hits = outcomes.filter((outcome) => outcome === 'hit').length;
  return hitRateOf(hits, hits + outcomes.filter((outcome) => outcome === 'early' || outcome === 'late').length);
}

/**
 * The same from counts.
 * @param hits and @param counted whole, hits at most counted.
 * @param histories whole, 1 to counted; left out: each forecast has its own.
 * @example hitRateOf(27, 34).rate // 0.794
 */
export function hitRateOf(hits: number, counted: number, histories = counted): HitRate {
  if (counted === 0) return { counted, hits, histories, rate: null, interval: null, verdict: 'too-few', enough: null };
  const rate = hits / counted;
  const count = Math.min(Math.max(histories, 1), counted);
  const interval = wilson(rate, count);
  const base = { counted, hits, histories: count, rate, interval };
  if (rate >= SHARE_BAND.least && rate <= SHARE_BAND.most) return { ...base, verdict: 'as-promised', enough: null };
  // By the exact binomial distribution, since of a few outcomes an interval by the normal one says too much.
  if (couldBeChance(Math.round(rate * count), count)) return { ...base, verdict: 'too-few', enough: enoughAt(rate, count) };
  return { ...base, verdict: rate < SHARE_BAND.least ? 'too-narrow' : 'too-wide', enough: null };
}

/** Would ranges that hold what they promise give so few hits, or so many, at least one time in forty? */
function couldBeChance(hits: number, counted: number): boolean {
  const isLow = hits < PROMISED_SHARE * counted;
  let tail = 0;
  for (let k = isLow ? 0 : hits; k <= (isLow ? hits : counted); k++) tail += binomial(k, counted);
  return tail > CHANCE;
}

/** Probability of k hits of n, in logarithms so that no factorial overflows. */
function binomial(k: number, n: number): number {
  let log = k * Math.log(PROMISED_SHARE) + (n - k) * Math.log(1 - PROMISED_SHARE);
  for (let i = 1; i <= k; i++) log += Math.log((n - k + i) / i);
  return Math.exp(log);
}

/** How many histories at this rate would tell. */
function enoughAt(rate: number, counted: number): number {
  for (let n = counted + 1; n < MOST_ASKED; n++) if (!couldBeChance(Math.round(rate * n), n)) return n;
  return MOST_ASKED;
}

function wilson(rate: number, count: number): readonly [number, number] {
  const z2 = CONFIDENCE_Z ** 2 / count;
  const centre = (rate + z2 / 2) / (1 + z2);
  const half = (CONFIDENCE_Z / (1 + z2)) * Math.sqrt((rate * (1 - rate)) / count + z2 / (4 * count));
  return [Math.max(0, centre - half), Math.min(1, centre + half)];
}
