import { median } from '../numbers/index.ts';
import { mannKendall } from './mann-kendall.ts';

/** A value at a time; the unit of time is the caller's. */
export interface TrendSample {
  readonly time: number;
  readonly value: number;
}

export interface TheilSen {
  /** Unit of the values per unit of time. */
  readonly slope: number;
  /** median(value) − slope · median(time). */
  readonly intercept: number;
  /** 95 % interval of the slope; null when the pairs are too few for one. */
  readonly interval: { readonly low: number; readonly high: number } | null;
  readonly count: number;
}

/** 97.5 % point of the standard normal. */
const Z_975 = 1.959963984540054;

/**
 * Theil–Sen slope: the median of all pairwise slopes; one wild reading hardly moves it.
 * https://en.wikipedia.org/wiki/Theil%E2%80%93Sen_estimator — intercept after Conover 1980; interval after Gilbert 1987, 16.5,
 * with interpolation between ranks.
 *
 * @param samples any order; not finite ones are left out; pairs of one time are skipped.
 * @returns null when fewer than two distinct times exist. O(n² log n); callers pass at most 500.
 * @example theilSen([{ time: 0, value: 40 }, { time: 1, value: 41 }, { time: 2, value: 42 }])?.slope // 1
 */
export function theilSen(samples: readonly TrendSample[]): TheilSen | null {
  const kept = samples.filter(({ time, value }) => Number.isFinite(time) && Number.isFinite(value));
  kept.sort((a, b) => a.time - b.time || a.value - b.value);
  const slopes = pairwiseSlopes(kept);
  const slope = median(slopes);
  const middleTime = median(kept.map(({ time }) => time));
  const middleValue = median(kept.map(({ value }) => value));
  if (slope === null || middleTime === null || middleValue === null) return null;
  const intercept = middleValue - slope * middleTime;
  if (!Number.isFinite(intercept)) return null;
  return { slope, intercept, interval: slopeInterval(kept, slopes), count: kept.length };
}

/** Ascending; slopes too large for a number are left out. */
function pairwiseSlopes(sorted: readonly TrendSample[]): Float64Array {
  const slopes = new Float64Array((sorted.length * (sorted.length - 1)) / 2);
  let count = 0;
  for (let i = 0; i < sorted.length; i++) {
    for (let j = i + 1; j < sorted.length; j++) {
      const slope = (sorted[j]!.value - sorted[i]!.value) / (sorted[j]!.time - sorted[i]!.time);
      if (Number.isFinite(slope) && sorted[j]!.time > sorted[i]!.time) slopes[count++] = slope;
    }
  }
  return slopes.subarray(0, count).sort();
}

/** Slopes at the ranks that the variance of Mann–Kendall's S leaves on either side. */
function slopeInterval(sorted: readonly TrendSample[], slopes: Float64Array): TheilSen['interval'] {
  const test = mannKendall(
    sorted.map(({ value }) => value),
    sorted.map(({ time }) => time),
  );
  if (test === null) return null;
  const reach = Z_975 * Math.sqrt(test.variance);
  const low = atRank(slopes, (slopes.length - reach) / 2);
  const high = atRank(slopes, (slopes.length + reach) / 2 + 1);
  return low === null || high === null ? null : { low, high };
}

/** Value at a rank counted from 1, straight between neighbours; null outside. */
function atRank(ascending: Float64Array, rank: number): number | null {
  const below = Math.floor(rank);
  if (below < 1 || rank > ascending.length) return null;
  const from = ascending[below - 1]!;
  const share = rank - below;
  return share === 0 ? from : from * (1 - share) + ascending[below]! * share;
}
