/** A single change of level in a row of values. */
export interface LevelChange {
  /** How many values stand before the change. */
  readonly before: number;
  readonly meanBefore: number;
  readonly meanAfter: number;
  /** Squared residuals with one mean and with two. */
  readonly rssOne: number;
  readonly rssTwo: number;
}

/**
 * The split of a row into two means that leaves the least squares. A trend moves the means as well, so this says where a change
 * would be, not that there is one: pettitt says whether, the projection weighs step against drift.
 * Common practice (least squares, one change).
 *
 * @param values in order of time; not finite ones are left out. @param shortest values on either side, at least 1.
 * @returns null when the row is too short for two segments. O(n). Of equal splits the first.
 * @example levelChange([62, 63, 64, 48, 49, 48], 3)?.before // 3
 */
export function levelChange(values: readonly number[], shortest = 3): LevelChange | null {
  const kept = values.filter(Number.isFinite);
  const least = Math.max(1, Math.ceil(shortest));
  if (kept.length < 2 * least) return null;
  const first = kept[0]!;
  const total = kept.reduce((sum, value) => sum + (value - first), 0);
  const mean = total / kept.length;
  let gain = Number.NEGATIVE_INFINITY;
  let before = 0;
  let sum = 0;
  for (let i = 1; i <= kept.length - least; i++) {
    sum += kept[i - 1]! - first;
    if (i < least) continue;
    const rest = total - sum;
    const here = (sum * sum) / i + (rest * rest) / (kept.length - i);
    if (here > gain) {
      gain = here;
      before = i;
    }
  }
  const meanOf = (part: readonly number[]) => first + part.reduce((all, value) => all + (value - first), 0) / part.length;
  const [meanBefore, meanAfter] = [meanOf(kept.slice(0, before)), meanOf(kept.slice(before))];
  const rssOne = kept.reduce((all, value) => all + (value - first - mean) ** 2, 0);
  const rssTwo = kept.reduce((all, value, i) => all + (value - (i < before ? meanBefore : meanAfter)) ** 2, 0);
  return Number.isFinite(rssOne) && Number.isFinite(rssTwo) ? { before, meanBefore, meanAfter, rssOne, rssTwo } : null;
}

/** Pettitt's test for one change of level. */
export interface Pettitt {
  readonly k: number;
  /** How many values stand before the change. */
  readonly before: number;
  /** Two-sided, approximate; good below one half. */
  readonly p: number;
}

/**
 * Pettitt's rank test: is there one change of level, and where. It fires on a pure trend too.
 * A. N. Pettitt 1979, Applied Statistics 28, 126; p ≈ 2·exp(−6K²/(n³ + n²)).
 *
 * @param values in order of time; not finite ones are left out.
 * @returns null below two values. O(n²); callers pass at most 500.
 * @example pettitt([1, 2, 1, 2, 9, 8, 9, 8])?.before // 4
 */
export function pettitt(values: readonly number[]): Pettitt | null {
  const kept = values.filter(Number.isFinite);
  const n = kept.length;
  if (n < 2) return null;
  let [u, k, before] = [0, -1, 0];
  for (let i = 0; i < n - 1; i++) {
    // Twice the mid-rank of this value: one for each smaller, half for each equal one.
    const twice = kept.reduce((sum, other) => sum + 1 + Math.sign(kept[i]! - other), 1);
    u += twice - (n + 1);
    if (Math.abs(u) <= k) continue;
    k = Math.abs(u);
    before = i + 1;
  }
  return { k, before, p: Math.min(1, 2 * Math.exp((-6 * k * k) / (n ** 3 + n * n))) };
}

/**
 * Does the mean hold? The largest cumulated deviation from it, against what scatter alone would do (Kolmogorov's law).
 * Ploberger and Krämer 1992, Econometrica 60, 271.
 *
 * @param values in order of time; not finite ones are left out.
 * @returns null below three values or when all are equal. O(n).
 * @example meanHolds([1, 2, 1, 2, 9, 8, 9, 8])!.p // small: it does not
 */
export function meanHolds(values: readonly number[]): { readonly statistic: number; readonly p: number } | null {
  const kept = values.filter(Number.isFinite);
  const n = kept.length;
  if (n < 3) return null;
  const first = kept[0]!;
  const mean = kept.reduce((sum, value) => sum + (value - first), 0) / n;
  const deviations = kept.map((value) => value - first - mean);
  const sd = Math.sqrt(deviations.reduce((sum, one) => sum + one * one, 0) / (n - 1));
  if (!(sd > 0) || !Number.isFinite(sd)) return null;
  let [sum, most] = [0, 0];
  for (const one of deviations) {
    sum += one;
    most = Math.max(most, Math.abs(sum));
  }
  const statistic = most / (sd * Math.sqrt(n));
  let p = 0;
  for (let j = 1; j <= 100; j++) p += 2 * (j % 2 === 1 ? 1 : -1) * Math.exp(-2 * j * j * statistic * statistic);
  return { statistic, p: statistic < 0.2 ? 1 : Math.min(1, Math.max(0, p)) };
}
