/** Readings turned into the estimator's own units: time 0 to 1, limit above, values near 1. */
import { medianInPlace } from '../numbers/index.ts';
import type { Selection } from './readings.ts';

/** How load enters: as a power on the rise over ambient, as an additive term, or not at all. */
export type LoadModel = 'power' | 'additive' | 'none';

/** Columns of equal length, sorted by time. */
export interface Sample {
  readonly count: number;
  /** 0 at the first reading, 1 at the last. */
  readonly time: Float64Array;
  /** 1 − time: sums over what is left keep their digits for late onsets. */
  readonly timeLeft: Float64Array;
  /** Value, or rise over ambient where ambient is used, limit above. */
  readonly value: Float64Array;
  /** ln(load/reference); zeros without load. */
  readonly logLoad: Float64Array;
  /** Ambient minus reference; zeros without ambient. */
  readonly ambientOffset: Float64Array;
  /** How many typical readings an entry stands for; 1 unless condensed. */
  readonly groupWeight: Float64Array;
  readonly loadModel: LoadModel;
  readonly hasAmbient: boolean;
}

/** The way from the units of the point to those of the sample and back. */
export interface Frame {
  readonly firstDay: number;
  readonly spanDays: number;
  /** −1 where the limit is reached from above. */
  readonly sign: 1 | -1;
  /** A power of two, so that scaling changes no digit. */
  readonly unit: number;
  /** What was subtracted from the values at reference conditions, in the unit of the point. */
  readonly ambientReference: number;
  /** The limit in units of the sample. */
  readonly limit: number;
}

/** Both for at least one reading; the span must be above zero. */
export function toSample(
  selection: Selection,
  limit: number,
  direction: 'up' | 'down',
  referenceAmbient: number | null,
): { sample: Sample; frame: Frame } {
  const { days, values, ambient, logLoad } = selection;
  const count = days.length;
  const firstDay = days[0]!;
  const spanDays = days[count - 1]! - firstDay;
  const sign = direction === 'down' ? -1 : 1;
  const ambientReference = ambient === null ? 0 : referenceAmbient!;
  const unit = unitOf(values, ambient, limit, ambientReference);
  const time = new Float64Array(count);
  const value = new Float64Array(count);
  const ambientOffset = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    time[i] = (days[i]! - firstDay) / spanDays;
    value[i] = (sign * values[i]!) / unit;
    if (ambient === null) continue;
    value[i]! -= (sign * ambient[i]!) / unit;
    ambientOffset[i] = ambient[i]! / unit - ambientReference / unit;
  }
  const sample: Sample = {
    count,
    time,
    timeLeft: time.map((u) => 1 - u),
    value,
    logLoad: logLoad ?? new Float64Array(count),
    ambientOffset,
    groupWeight: new Float64Array(count).fill(1),
    loadModel: logLoad === null ? 'none' : ambient === null ? 'additive' : 'power',
    hasAmbient: ambient !== null,
  };
  const limitInUnits = (sign * limit) / unit - (sign * ambientReference) / unit;
  return { sample, frame: { firstDay, spanDays, sign, unit, ambientReference, limit: limitInUnits } };
}

/** A level of the sample at reference conditions, in the unit of the point; no further than the largest number. */
export function toPointUnit(frame: Frame, level: number): number {
  const value = frame.sign * level * frame.unit + frame.ambientReference;
  return Math.min(Math.max(value, -Number.MAX_VALUE), Number.MAX_VALUE);
}

/** The power of two just below the largest magnitude: no product of values can overflow or underflow. */
function unitOf(values: Float64Array, ambient: Float64Array | null, limit: number, ambientReference: number): number {
  let largest = Math.max(Math.abs(limit), Math.abs(ambientReference));
  for (const value of values) largest = Math.max(largest, Math.abs(value));
  for (const value of ambient ?? []) largest = Math.max(largest, Math.abs(value));
  return largest === 0 ? 1 : 2 ** Math.min(1023, Math.floor(Math.log2(largest)));
}

/** e^(exponent·ln load) at every reading: the factor load puts on the rise; ones unless load is a power. */
export function fillLoadFactor(sample: Sample, exponent: number, factor: Float64Array): void {
  if (sample.loadModel !== 'power') {
    factor.fill(1);
    return;
  }
  for (let i = 0; i < sample.count; i++) factor[i] = Math.exp(exponent * sample.logLoad[i]!);
}

/** Robust standard deviation from residuals: 1.4826 × median of their sizes. */
export function spreadOf(residuals: Float64Array, scratch: Float64Array): number {
  for (let i = 0; i < residuals.length; i++) scratch[i] = Math.abs(residuals[i]!);
  return 1.4826 * medianInPlace(scratch, residuals.length);
}
