import type { Reading } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import { ambientOf, MOST_CURRENT_RATIO } from '../points/measure.ts';
import type { Basis, Point } from '../points/types.ts';

/** Loads this near to the reference compare like for like. */
export const LIKE_LOAD_POINTS = 10;
/** Above this load, in % of rated, nothing is compared. */
export const HIGHEST_LOAD_PERCENT = 110;
/** The exponent is known no better than this on either side: 1.6 to 2.0 around 1.8 for electrical parts (common practice). */
export const EXPONENT_BAND = 0.2;

/** Differences and rises follow the basis of the point; an absolute temperature protects material and is always raw. */
export function basisOf(point: Point, criterion: CriterionKind): Basis {
  return criterion === 'absolute' || point.loadFamily === 'none' ? 'raw' : point.basis;
}

/** Lowest load at which the criterion is compared: the point's own, and never so low that the correction would pass its cap. */
export function lowestLoadPercent(point: Point, corrected: boolean): number {
  const cap = corrected ? point.referenceLoadPercent / MOST_CURRENT_RATIO : 0;
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
 * Brings a figure to the reference load: rise · (reference/load)^n, ratio at most 2.5. Figures at or below zero stay as they
 * are, since heat that is not there does not grow. A figure above base is corrected through its rise over air, because the
 * whole temperature follows the load and not only its distance to the base.
 * @returns null where nothing is corrected: the load equals the reference, or a figure above base without air.
 */
export function toReferenceLoad(
  point: Point,
  reading: Reading,
  criterion: CriterionKind,
  raw: number,
  loadPercent: number,
): Corrected | null {
  if (loadPercent <= 0 || loadPercent === point.referenceLoadPercent) return null;
  const ratio = Math.min(point.referenceLoadPercent / loadPercent, MOST_CURRENT_RATIO);
  const n = point.loadExponent;
  const exponents = [Math.max(0, n - EXPONENT_BAND), n, n + EXPONENT_BAND] as const;
  let at: (exponent: number) => number;
  if (criterion === 'above-base') {
    const ambientC = ambientOf(reading);
    const valueC = reading.inputs.value;
    if (ambientC === null || valueC === undefined || point.base === null || valueC <= ambientC) return null;
    const riseK = valueC - ambientC;
    const base = point.base.value;
    at = (exponent) => (point.referenceAmbientC ?? ambientC) + riseK * ratio ** exponent - base;
  } else {
    if (raw <= 0) return null;
    at = (exponent) => raw * ratio ** exponent;
  }
  const [low, middle, high] = exponents.map(at) as [number, number, number];
  return { value: middle, band: [Math.min(low, high), Math.max(low, high)], gain: ratio ** n };
}
