/** One unlike the others by robust and by classical scores: for many like values under like load, without conditions. */
import { median, studentQuantile } from '../numbers/index.ts';

/** From the median of the distances to a standard deviation; NIST/SEMATECH e-Handbook 1.3.5.17. */
const TO_SCORE = 0.6745;
/** Scores beyond which one is unlike the others (Iglewicz and Hoaglin, same page). */
export const UNLIKE_SCORE = 3.5;

/**
 * Modified z-scores: 0.6745·(x − median)/MAD. NIST/SEMATECH e-Handbook 1.3.5.17 (Iglewicz and Hoaglin).
 * @param values finite, any unit.
 * @param leastScatter a standard deviation below which scatter is never taken, usually the repeatability of the reading.
 * @returns one score for each value, or null without values, for one that is no finite number, or where neither the values nor
 *   leastScatter scatter at all.
 * @example modifiedZ([118, 121, 119, 122, 104])?.[4] // -5.06
 */
export function modifiedZ(values: readonly number[], leastScatter = 0): number[] | null {
  const middle = median(values);
  if (middle === null || !values.every(Number.isFinite)) return null;
  const distance = median(values.map((value) => Math.abs(value - middle))) ?? 0;
  const scatter = Math.max(distance / TO_SCORE, leastScatter);
  const scores = values.map((value) => (value - middle) / scatter);
  return scatter > 0 && scores.every(Number.isFinite) ? scores : null;
}

/**
 * Places of the values that are unlike the others: a score beyond 3.5 and a distance of at least a least one.
 * @param leastDistance from the median, unit of the values.
 * @example unlikeOthers([118, 121, 119, 122, 120, 104]) // [5]
 */
export function unlikeOthers(values: readonly number[], leastScatter = 0, leastDistance = 0): number[] {
  const [scores, middle] = [modifiedZ(values, leastScatter), median(values)];
  if (scores === null || middle === null) return [];
  return values.flatMap((value, index) =>
    Math.abs(scores[index]!) > UNLIKE_SCORE && Math.abs(value - middle) >= leastDistance ? [index] : [],
  );
}

/** Grubbs' statistic with what it is compared with. */
export interface Grubbs {
  /** Largest distance from the mean over the standard deviation. */
  readonly g: number;
  /** Place of that value; the first of equal ones. */
  readonly index: number;
  /** Two-sided critical value. */
  readonly critical: number;
}

/**
 * Grubbs' test for one outlier: max|x − mean|/s. NIST/SEMATECH e-Handbook 1.3.5.17.1. A second opinion from seven values on: several
 * outliers hide one another from it.
 * @param values at least three, finite. @param significance two-sided, above 0 to 0.5.
 * @returns null below three values, without scatter or outside the range.
 * @example grubbs([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])?.g // 2.4688
 */
export function grubbs(values: readonly number[], significance = 0.05): Grubbs | null {
  const count = values.length;
  if (count < 3 || !values.every(Number.isFinite) || !(significance > 0 && significance <= 0.5)) return null;
  const mean = values.reduce((sum, value) => sum + value / count, 0);
  const deviation = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2 / (count - 1), 0));
  const distances = values.map((value) => Math.abs(value - mean));
  const index = distances.indexOf(Math.max(...distances));
  const g = distances[index]! / deviation;
  const t2 = studentQuantile(1 - significance / (2 * count), count - 2) ** 2;
  const critical = ((count - 1) / Math.sqrt(count)) * Math.sqrt(t2 / (count - 2 + t2));
  return Number.isFinite(g) && Number.isFinite(critical) ? { g, index, critical } : null;
}
