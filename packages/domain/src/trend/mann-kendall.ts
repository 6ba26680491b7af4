import { normalCdf } from '../numbers/index.ts';

export interface MannKendall {
  /** Rising pairs minus falling pairs. */
  readonly s: number;
  /** Variance of S without trend, corrected for ties. */
  readonly variance: number;
  /** Standardised with continuity correction; 0 when all values are equal. */
  readonly z: number;
  /** Two-sided, normal approximation. */
  readonly pTwoSided: number;
  /** P(S at least this high) without trend, exact; null with ties or more than ten values. */
  readonly pRisingExact: number | null;
  /** Values behind the test. */
  readonly count: number;
}

const MOST_FOR_EXACT = 10;

/**
 * Mann–Kendall test for a monotone trend: counts rising against falling pairs, so one wild value hardly matters.
 * https://en.wikipedia.org/wiki/Kendall_rank_correlation_coefficient — Gilbert 1987, Statistical Methods for Environmental
 * Pollution Monitoring, 16.4. With three values the smallest attainable exact p is 1/6: a label for a trend, never a gate.
 *
 * @param values in order of time, any unit; not finite ones are left out.
 * @returns null for fewer than three values. O(n²); callers pass at most 500.
 * @example mannKendall([10, 11, 13, 14])?.pRisingExact // 0.0417
 */
export function mannKendall(values: readonly number[]): MannKendall | null {
  const kept = values.filter(Number.isFinite);
  const count = kept.length;
  if (count < 3) return null;
  let s = 0;
  for (let i = 0; i < count; i++) for (let j = i + 1; j < count; j++) s += Math.sign(kept[j]! - kept[i]!);
  const ties = tieSizes(kept);
  const tied = ties.reduce((sum, size) => sum + pairVariance(size), 0);
  const variance = (pairVariance(count) - tied) / 18;
  const z = variance > 0 ? (s - Math.sign(s)) / Math.sqrt(variance) : 0;
  const pTwoSided = Math.min(1, 2 * normalCdf(-Math.abs(z)));
  const pRisingExact = ties.length === 0 && count <= MOST_FOR_EXACT ? mannKendallExactP(count, s) : null;
  return { s, variance, z, pTwoSided, pRisingExact, count };
}

/**
 * Exact P(S ≥ s) for `count` different values in random order, by counting inversions with dynamic programming.
 * Gilbert 1987, table A18. https://en.wikipedia.org/wiki/Mahonian_number
 *
 * @param count 1 to 20.
 * @returns a probability. O(count³).
 * @example mannKendallExactP(3, 3) // 1/6
 */
export function mannKendallExactP(count: number, s: number): number {
  const pairs = (count * (count - 1)) / 2;
  // ways[k]: orders with k falling pairs; a further value makes 0 to (size − 1) new ones.
  let ways = new Float64Array(pairs + 1);
  ways[0] = 1;
  for (let size = 2; size <= count; size++) {
    const next = new Float64Array(pairs + 1);
    for (let k = 0; k <= pairs; k++) {
      for (let added = 0; added < size && added <= k; added++) next[k]! += ways[k - added]!;
    }
    ways = next;
  }
  let favourable = 0;
  let all = 0;
  for (let falling = 0; falling <= pairs; falling++) {
    all += ways[falling]!;
    if (pairs - 2 * falling >= s) favourable += ways[falling]!;
  }
  return favourable / all;
}

/** 18 times the variance of S among so many different values, or lost to a tie of this size. */
function pairVariance(size: number): number {
  return size * (size - 1) * (2 * size + 5);
}

/** How many values share each repeated value. */
function tieSizes(values: readonly number[]): number[] {
  const sizes = new Map<number, number>();
  for (const value of values) sizes.set(value, (sizes.get(value) ?? 0) + 1);
  return [...sizes.values()].filter((size) => size > 1);
}
