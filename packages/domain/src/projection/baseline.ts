/** Where the point began, where it stands, and how much neighbouring readings scatter, before any shape is assumed. */
import { medianInPlace } from '../numbers/index.ts';
import { fillLoadFactor, type Sample, spreadOf } from './sample.ts';
import type { StartCurve } from './start-curve.ts';

export interface Baseline {
  /** Median of the first 3 to 8 values at reference conditions. */
  readonly baseline: number;
  /** Median of the last three: one wild reading neither hides nor makes an exceeded limit. */
  readonly level: number;
  /** Value minus the median of the five values around it: wild readings stand out under every shape, steps do not. */
  readonly localResiduals: Float64Array;
  readonly localSpread: number;
}

const NEIGHBOURS = 5;

/** For three and more entries; O(n). */
export function findBaseline(sample: Sample, start: StartCurve): Baseline {
  const { count, value, logLoad } = sample;
  const factor = new Float64Array(count);
  fillLoadFactor(sample, start.loadExponent, factor);
  const atReference = new Float64Array(count);
  for (let i = 0; i < count; i++) atReference[i] = (value[i]! - start.loadSlope * logLoad[i]!) / factor[i]!;

  const scratch = new Float64Array(count);
  const medianOf = (from: number, to: number): number => {
    for (let i = from; i < to; i++) scratch[i - from] = atReference[i]!;
    return medianInPlace(scratch, to - from);
  };
  const localResiduals = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const from = Math.max(0, Math.min(i - 2, count - NEIGHBOURS));
    localResiduals[i] = (atReference[i]! - medianOf(from, Math.min(count, from + NEIGHBOURS))) * factor[i]!;
  }
  const early = Math.max(3, Math.min(Math.floor(count / 4), 8));
  return {
    baseline: medianOf(0, early),
    level: medianOf(count - 3, count),
    localResiduals,
    localSpread: spreadOf(localResiduals, scratch),
  };
}
