/** Exponentially weighted means with their limits. */
export interface Ewma {
  readonly values: readonly number[];
  /** Half-widths of the limits about the target at each value, and in the long run. */
  readonly halfWidths: readonly number[];
  readonly finalHalfWidth: number;
  /** Index of the first value outside, counted from 0; null: none. */
  readonly firstOutside: number | null;
}

/**
 * Chart of exponentially weighted means: a small lasting shift shows within a few readings.
 * NIST/SEMATECH e-Handbook 6.3.2.4, https://www.itl.nist.gov/div898/handbook/pmc/section3/pmc324.htm
 *
 * @param lambda weight of the newest value, above 0 up to 1. @param sd of single values. @param widths of the limits, in
 *   standard deviations of the mean.
 * @example ewma([52, 47, 53], { target: 50, sd: 2.05, lambda: 0.3 }).values // [50.6, 49.52, 50.56]
 */
export function ewma(
  values: readonly number[],
  { target, sd, lambda = 0.3, widths = 3 }: { target: number; sd: number; lambda?: number; widths?: number },
): Ewma {
  const means: number[] = [];
  const halfWidths: number[] = [];
  const longRun = widths * sd * Math.sqrt(lambda / (2 - lambda));
  let mean = target;
  for (const [i, value] of values.entries()) {
    mean = lambda * value + (1 - lambda) * mean;
    means.push(mean);
    halfWidths.push(longRun * Math.sqrt(1 - (1 - lambda) ** (2 * (i + 1))));
  }
  const outside = means.findIndex((one, i) => Math.abs(one - target) > halfWidths[i]!);
  return { values: means, halfWidths, finalHalfWidth: longRun, firstOutside: outside < 0 ? null : outside };
}

/** Cumulated sums on either side. */
export interface Cusum {
  readonly high: readonly number[];
  readonly low: readonly number[];
  /** Index of the first signal, counted from 0, and its side; null: none. */
  readonly firstSignal: { readonly index: number; readonly side: 'high' | 'low' } | null;
}

/**
 * Tabular cumulated sums: how far the values have run away from their target, less an allowance for each step.
 * NIST/SEMATECH e-Handbook 6.3.2.3, https://www.itl.nist.gov/div898/handbook/pmc/section3/pmc323.htm
 *
 * @param allowance taken off at each value, usually half a standard deviation. @param decision a sum above it is a signal,
 *   usually five standard deviations; nothing is reset after it.
 * @example cusum([325, 328, 327], { target: 325, allowance: 0.3175, decision: 4.1959 }).firstSignal // { index: 2, side: 'high' }
 */
export function cusum(
  values: readonly number[],
  { target, allowance, decision }: { target: number; allowance: number; decision: number },
): Cusum {
  const [high, low]: [number[], number[]] = [[], []];
  let [up, down] = [0, 0];
  let firstSignal: Cusum['firstSignal'] = null;
  for (const [index, value] of values.entries()) {
    up = Math.max(0, up + value - target - allowance);
    down = Math.max(0, down - (value - target) - allowance);
    high.push(up);
    low.push(down);
    if (firstSignal === null && up > decision) firstSignal = { index, side: 'high' };
    if (firstSignal === null && down > decision) firstSignal = { index, side: 'low' };
  }
  return { high, low, firstSignal };
}

/**
 * Single exponential smoothing: the forecast of each value from those before it, beginning with the first value itself.
 * NIST/SEMATECH e-Handbook 6.4.3.1, https://www.itl.nist.gov/div898/handbook/pmc/section4/pmc431.htm
 *
 * @param alpha weight of the newest value, 0 to 1.
 * @returns forecasts of the second value to the last, and the mean of their squared errors; null below two values.
 * @example smoothed([71, 70, 69, 68], 0.1)?.forecasts // [71, 70.9, 70.71]
 */
export function smoothed(
  values: readonly number[],
  alpha: number,
): { readonly forecasts: readonly number[]; readonly meanSquaredError: number } | null {
  if (values.length < 2) return null;
  const forecasts: number[] = [];
  let level = values[0]!;
  let squares = 0;
  for (const value of values.slice(1)) {
    forecasts.push(level);
    squares += (value - level) ** 2;
    level += alpha * (value - level);
  }
  return { forecasts, meanSquaredError: squares / forecasts.length };
}

/**
 * Autocorrelation of neighbouring values: how much of one reading is already in the one before.
 * NIST StRD "Michelso"; https://en.wikipedia.org/wiki/Autocorrelation
 * @param values in order of time, at even distances. @returns −1 to 1; null when all are equal or fewer than two.
 * @example neighbourCorrelation([1, 2, 3, 4]) // 0.25
 */
export function neighbourCorrelation(values: readonly number[]): number | null {
  if (values.length < 2) return null;
  const first = values[0]!;
  const mean = first + values.reduce((sum, value) => sum + (value - first), 0) / values.length;
  let [products, squares] = [0, 0];
  for (const [i, value] of values.entries()) {
    squares += (value - mean) ** 2;
    if (i > 0) products += (value - mean) * (values[i - 1]! - mean);
  }
  return squares > 0 && Number.isFinite(products / squares) ? products / squares : null;
}
