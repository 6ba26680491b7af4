import { EXPONENT_BAND, loadCorrect, MOST_LOAD_RATIO } from '../electrical/index.ts';
import type { Reading } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import { ambientOf } from '../points/measure.ts';
import type { Basis, Point } from '../points/types.ts';

/** Loads this near to the reference compare like for like. */
export const LIKE_LOAD_POINTS = 10;
/** Above this load, in % of rated, nothing is compared. */
export const HIGHEST_LOAD_PERCENT = 110;

/** Air of a plant room as limits of the trade assume it, °C, where the point states no other (common practice, no source). */
const USUAL_ROOM_C = 25;
/** The air that a raw temperature is thought in, °C. */
export const usualAmbientOf = (point: Point): number => point.referenceAmbientC ?? USUAL_ROOM_C;

/** Criteria whose figure follows the load as a factor. Comparisons with another reading even out the loads themselves. */
const FOLLOW_LOAD: readonly CriterionKind[] = ['rise-over-ambient', 'like-part-difference', 'above-base'];

/** Differences and rises follow the basis of the point; an absolute temperature protects material and is always raw. */
export function basisOf(point: Point, criterion: CriterionKind): Basis {
  return FOLLOW_LOAD.includes(criterion) && point.loadFamily !== 'none' ? point.basis : 'raw';
}

/** Lowest load at which the criterion is compared: the point's own, and never so low that the correction would pass its cap. */
export function lowestLoadPercent(point: Point, corrected: boolean): number {
  const cap = corrected ? point.referenceLoadPercent / MOST_LOAD_RATIO : 0;
  return Math.max(point.minimumLoadPercent, cap);
}

/** A figure at the reference load, with the figures at the two ends of the exponent band. */
export interface Corrected {
  readonly value: number;
  readonly band: readonly [number, number];
  /** By how much an error of the raw figure grows. */
  readonly gain: number;
}

/**
 * Brings a figure to the reference load: rise · (reference/load)^n, see loadCorrect. Figures at or below zero stay as they
 * are, since heat that is not there does not grow. A figure above base is corrected through its rise over air, because the
 * whole temperature follows the load and not only its distance to the base.
 * @returns null where nothing is corrected: no rise, the load at the reference, a figure above base without air, or figures
 *   beyond all numbers.
 */
export function toReferenceLoad(
  point: Point,
  reading: Reading,
  criterion: CriterionKind,
  raw: number,
  loadPercent: number,
): Corrected | null {
  if (loadPercent <= 0 || loadPercent === point.referenceLoadPercent) return null;
  const n = point.loadExponent;
  const corrected = (rise: number, exponent: number): number =>
    loadCorrect(rise, loadPercent, point.referenceLoadPercent, exponent) ?? Number.NaN;
  let at: (exponent: number) => number;
  if (criterion === 'above-base') {
    const ambientC = ambientOf(reading);
    const valueC = reading.inputs.value;
    if (ambientC === null || valueC === undefined || point.base === null || valueC <= ambientC) return null;
    const riseK = valueC - ambientC;
    const base = point.base.value;
    at = (exponent) => (point.referenceAmbientC ?? ambientC) + corrected(riseK, exponent) - base;
  } else {
    if (raw <= 0) return null;
    at = (exponent) => corrected(raw, exponent);
  }
  const [low, value, high] = [at(Math.max(0, n - EXPONENT_BAND)), at(n), at(n + EXPONENT_BAND)];
  if (![low, value, high].every(Number.isFinite)) return null;
  return { value, band: [Math.min(low, high), Math.max(low, high)], gain: corrected(1, n) };
}
