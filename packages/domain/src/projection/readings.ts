/**
 * Which readings the estimator may use: up to the day of asking, since the last repair, finite, in a stated order, with the
 * covariates that are complete enough, and no more than the window.
 */

import { CARRY_OVER, LOAD_RATIO_MAX, NEWEST_READINGS } from './setting.ts';
import type { ProjectionInput, ProjectionReading } from './types.ts';

/** Days beyond this are no calendar dates (the range of an ECMAScript date) and are dropped. */
const LAST_DAY = 1e8;
/** A span shorter than this, in days, is one visit: a tenth of a second. */
export const SHORTEST_SPAN_DAYS = 1e-6;

/** Readings in order, with the covariates decided: a covariate is present at all of them or used at none. */
export interface Selection {
  readonly days: Float64Array;
  readonly values: Float64Array;
  /** ln(load / reference), or null when load is not used. */
  readonly logLoad: Float64Array | null;
  /** Ambient in the unit of the values, or null when ambient is not used. */
  readonly ambient: Float64Array | null;
}

/** The readings since the last repair, and those before it that tell about noise and load (empty without a repair). */
export function selectReadings(input: ProjectionInput): { current: Selection; before: Selection } {
  const ordered = inOrder(input.readings);
  const { cutDay, repairDay } = input;
  // A repair after the day of asking has not happened yet.
  const reset = repairDay !== null && repairDay <= cutDay ? repairDay : Number.NEGATIVE_INFINITY;
  return {
    current: toSelection(newest(ordered, reset, cutDay, NEWEST_READINGS), input),
    before: toSelection(newest(ordered, Number.NEGATIVE_INFINITY, reset, CARRY_OVER.newestReadings), input),
  };
}

/** The readings themselves when they already come in order, as they do from a store; otherwise a sorted copy. */
function inOrder(readings: readonly ProjectionReading[]): readonly ProjectionReading[] {
  return isSorted(readings) ? readings : readings.filter(isUsable).sort(compareReadings);
}

/** At most `most` usable readings after one day and up to another, in order. What is no calendar day lets nothing pass. */
function newest(ordered: readonly ProjectionReading[], after: number, upTo: number, most: number): ProjectionReading[] {
  const found: ProjectionReading[] = [];
  if (!(Math.abs(upTo) <= LAST_DAY)) return found;
  for (let i = ordered.length - 1; i >= 0 && found.length < most; i--) {
    const reading = ordered[i]!;
    if (reading.day <= after) break;
    if (reading.day <= upTo && isUsable(reading)) found.push(reading);
  }
  return found.reverse();
}

function isUsable({ day, value }: ProjectionReading): boolean {
  return Math.abs(day) <= LAST_DAY && Number.isFinite(value);
}

/** By day, value, load, ambient: arrival order never matters, and two readings of one day stay two readings. */
function compareReadings(a: ProjectionReading, b: ProjectionReading): number {
  return (
    a.day - b.day ||
    a.value - b.value ||
    compareCovariate(a.loadPercent, b.loadPercent) ||
    compareCovariate(a.ambientC, b.ambientC)
  );
}

function compareCovariate(a: number | null, b: number | null): number {
  const left = a !== null && Number.isFinite(a) ? a : -Number.MAX_VALUE;
  const right = b !== null && Number.isFinite(b) ? b : -Number.MAX_VALUE;
  return left < right ? -1 : left > right ? 1 : 0;
}

/** False as well when a day or a value is no number. */
function isSorted(readings: readonly ProjectionReading[]): boolean {
  for (let i = 1; i < readings.length; i++) {
    const before = readings[i - 1]!;
    const after = readings[i]!;
    if (!(before.day < after.day || compareReadings(before, after) <= 0)) return false;
  }
  return true;
}

/**
 * A covariate missing at fewer than a third of the readings costs these readings; missing at more, it is itself left out.
 * Ambient is decided first, load among the readings that remain; three or more readings never shrink below three.
 */
function toSelection(readings: readonly ProjectionReading[], input: ProjectionInput): Selection {
  const { referenceAmbientC, referenceLoadPercent } = input;
  const withAmbient = referenceAmbientC !== null && Number.isFinite(referenceAmbientC) ? enoughOf(readings, hasAmbient) : null;
  const candidates = withAmbient ?? readings;
  const reference = referenceLoadPercent ?? 0;
  const withLoad =
    Number.isFinite(reference) && reference > 0
      ? enoughOf(candidates, (reading) => isPlausibleLoad(reading.loadPercent, reference))
      : null;
  const kept = withLoad ?? candidates;
  const days = new Float64Array(kept.length);
  const values = new Float64Array(kept.length);
  const logLoad = withLoad && new Float64Array(kept.length);
  const ambient = withAmbient && new Float64Array(kept.length);
  for (let i = 0; i < kept.length; i++) {
    const reading = kept[i]!;
    days[i] = reading.day;
    values[i] = reading.value;
    if (logLoad) logLoad[i] = Math.log(reading.loadPercent! / reference);
    if (ambient) ambient[i] = reading.ambientC!;
  }
  return { days, values, logLoad, ambient };
}

/** The readings that have the covariate, or null when a third or more have not. */
function enoughOf(
  readings: readonly ProjectionReading[],
  has: (reading: ProjectionReading) => boolean,
): readonly ProjectionReading[] | null {
  const having = readings.every(has) ? readings : readings.filter(has);
  return readings.length - having.length < readings.length / 3 ? having : null;
}

function hasAmbient(reading: ProjectionReading): boolean {
  return reading.ambientC !== null && Number.isFinite(reading.ambientC);
}

function isPlausibleLoad(loadPercent: number | null, reference: number): boolean {
  if (loadPercent === null) return false;
  const ratio = loadPercent / reference;
  return ratio >= 1 / LOAD_RATIO_MAX && ratio <= LOAD_RATIO_MAX;
}
