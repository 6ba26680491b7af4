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
  /** Kendall's tau-b, −1 to 1: S as a share of the pairs that are tied in neither; null when all values or all times are equal. */
  readonly tau: number | null;
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
 * @param times of the values, any order, when several may share one: pairs of one time count for nothing (Kendall 1975, variance
 *   with ties in both). Left out: all different and in order.
 * @returns null for fewer than three values. O(n²); callers pass at most 500.
 * @example mannKendall([10, 11, 13, 14])?.pRisingExact // 0.0417
 */
export function mannKendall(values: readonly number[], times?: readonly number[]): MannKendall | null {
  const kept = values
    .map((value, i) => ({ value, time: times === undefined ? i : times[i]! }))
    .filter(({ value, time }) => Number.isFinite(value) && Number.isFinite(time));
  const count = kept.length;
  if (count < 3) return null;
  let s = 0;
  for (let i = 0; i < count; i++) {
    for (let j = i + 1; j < count; j++) {
      s += Math.sign(kept[j]!.value - kept[i]!.value) * Math.sign(kept[j]!.time - kept[i]!.time);
    }
  }
  const ties = tieSizes(kept.map(({ value }) => value));
  const shared = times === undefined ? [] : tieSizes(kept.map(({ time }) => time));
  const variance = varianceOfS(count, ties, shared);
  const z = variance > 0 ? (s - Math.sign(s)) / Math.sqrt(variance) : 0;
  const pTwoSided = Math.min(1, 2 * normalCdf(-Math.abs(z)));
  const isPlain = ties.length === 0 && shared.length === 0 && count <= MOST_FOR_EXACT;
  const pRisingExact = isPlain ? mannKendallExactP(count, s) : null;
  const untied = (sizes: readonly number[]) => (count * (count - 1) - sumOf(sizes, (t) => t * (t - 1))) / 2;
  const pairs = untied(ties) * untied(shared);
  return { s, variance, z, pTwoSided, pRisingExact, tau: pairs > 0 ? s / Math.sqrt(pairs) : null, count };
}

const sumOf = (sizes: readonly number[], of: (size: number) => number): number => sizes.reduce((sum, size) => sum + of(size), 0);

function varianceOfS(count: number, ties: readonly number[], shared: readonly number[]): number {
  const pairs = (t: number) => t * (t - 1);
  const triples = (t: number) => t * (t - 1) * (t - 2);
  const alone = (pairVariance(count) - sumOf(ties, pairVariance) - sumOf(shared, pairVariance)) / 18;
  const both = (sumOf(ties, pairs) * sumOf(shared, pairs)) / (2 * pairs(count));
  const thrice = (sumOf(ties, triples) * sumOf(shared, triples)) / (9 * triples(count));
  return Math.max(0, alone + both + thrice);
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
