/** Windings: limits by insulation class, and how fast insulation ages. */
import { THERMAL_CLASSES } from '../electrical/insulation.ts';

/** Rise by resistance in air of at most 40 °C and allowance for the hottest spot, K. IEC 60034-1 (E from memory). */
const WINDINGS = {
  A: { rise: 60, allowance: 5 },
  E: { rise: 75, allowance: 5 },
  B: { rise: 80, allowance: 10 },
  F: { rise: 105, allowance: 10 },
  H: { rise: 125, allowance: 15 },
} as const;
export type WindingClass = keyof typeof WINDINGS;

export interface WindingLimit {
  /** °C; 40 + rise + allowance. */
  readonly temperature: number;
  readonly rise: number;
  readonly hotSpotAllowance: number;
}

/**
 * Limits of an air-cooled winding: class temperature, rise by resistance, allowance for the hottest spot. IEC 60034-1.
 * @example windingLimit('F') // { temperature: 155, rise: 105, hotSpotAllowance: 10 }
 */
export function windingLimit(insulation: WindingClass): WindingLimit {
  const { rise, allowance } = WINDINGS[insulation];
  return { temperature: THERMAL_CLASSES[insulation], rise, hotSpotAllowance: allowance };
}

/** An enclosed fan-cooled machine at full load: winding above frame, K; from memory. */
export const WINDING_OVER_FRAME = { least: 20, most: 30 } as const;

/**
 * What the frame lets guess of the winding, enclosed fan-cooled machine at full load (from memory). Informs and never clears.
 * @param frame °C.
 * @returns °C, or null when it is no finite number.
 * @example windingFromFrame(70)?.high // 100
 */
export function windingFromFrame(
  frame: number,
): { readonly low: number; readonly high: number; readonly mayClear: false } | null {
  if (!Number.isFinite(frame)) return null;
  return { low: frame + WINDING_OVER_FRAME.least, high: frame + WINDING_OVER_FRAME.most, mayClear: false };
}

/**
 * Life at another temperature: life·2^(−over/halving). 10 K rule after Montsinger; halving interval in IEC 60216 (common practice).
 * @param life at class temperature, from 0, any unit of time. @param over K above it, negative below. @param halving K, above 0.
 * @returns the unit of the life, or null out of range.
 * @example lifeAtExcess(20000, 10) // 10000
 */
export function lifeAtExcess(life: number, over: number, halving = 10): number | null {
  if (!(life >= 0 && halving > 0)) return null;
  const left = life * 2 ** (-over / halving);
  return Number.isFinite(left) ? left : null;
}

/** IEEE C57.91: 110 °C in K, and the ageing constant in K. */
const REFERENCE_K = 383;
const AGEING_K = 15000;

/**
 * Ageing of a liquid-filled transformer against 110 °C at the hot spot: exp(15000/383 − 15000/(θ + 273)). IEEE C57.91.
 * @param hotSpot °C, −40 to 300.
 * @returns 1 at 110 °C, or null out of range.
 * @example ageingFactor(120) // 2.709
 */
export function ageingFactor(hotSpot: number): number | null {
  if (!(hotSpot >= -40 && hotSpot <= 300)) return null;
  return Math.exp(AGEING_K / REFERENCE_K - AGEING_K / (hotSpot + 273));
}

/**
 * Life used up over a profile: Σ ageing factor · hours. IEEE C57.91.
 * @param profile hot spot in °C, −40 to 300, held for hours, from 0.
 * @returns equivalent hours at 110 °C, 0 for no profile, or null when an entry is out of range.
 * @example lossOfLife([{ hotSpot: 110, hours: 10 }, { hotSpot: 120, hours: 2 }]) // 15.42
 */
export function lossOfLife(profile: readonly { readonly hotSpot: number; readonly hours: number }[]): number | null {
  let used = 0;
  for (const { hotSpot, hours } of profile) {
    const factor = ageingFactor(hotSpot);
    if (factor === null || !(hours >= 0)) return null;
    used += factor * hours;
  }
  return Number.isFinite(used) ? used : null;
}
