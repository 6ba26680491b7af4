/** Bearings: limits by temperature, grease interval, rating life. */
import { type Grade, LIMIT_GRADES, type LimitGrade } from '../limits/types.ts';

/** absolute: housing surface, grease, °C; the others in K. betweenVisits: at like load, one visit to the next. */
export type BearingCriterion = 'absolute' | 'overAmbient' | 'overBase' | 'overTwin' | 'betweenVisits';

/** Common practice, no source, except Plan over ambient: design figure of IEEE 841 (from memory; two-pole machines 50 K). */
export const BEARING_LIMITS: Readonly<Record<BearingCriterion, Readonly<Record<LimitGrade, number | null>>>> = {
  absolute: { watch: 70, plan: 80, soon: 90, now: 100 },
  overAmbient: { watch: 35, plan: 45, soon: 55, now: 65 },
  overBase: { watch: 8, plan: 12, soon: 18, now: 25 },
  overTwin: { watch: 8, plan: 12, soon: 18, now: 25 },
  betweenVisits: { watch: null, plan: 10, soon: 15, now: null },
};

/** Hours after regreasing in which a rise of 10 to 15 K is normal; common practice, no source. */
export const REGREASING_GATE_HOURS = { usual: 24, 'sealed-or-new': 48 } as const;

/**
 * Grade of a bearing temperature or difference by BEARING_LIMITS; a limit counts when reached.
 * @param value °C for absolute, K for the others.
 * @returns null when it is no finite number.
 * @example gradeBearing('overTwin', 12) // 'plan'
 */
export function gradeBearing(criterion: BearingCriterion, value: number): Grade | null {
  if (!Number.isFinite(value)) return null;
  const limits = BEARING_LIMITS[criterion];
  return LIMIT_GRADES.findLast((grade) => limits[grade] !== null && value >= limits[grade]) ?? 'fine';
}

/** Rolling-bearing lubrication handbooks: the interval halves per 15 K above 70 °C and at most doubles below. */
const GREASE = { at: 70, halvesPer: 15, most: 2 } as const;

/**
 * Factor on the regreasing interval: 2^((70 − T)/15), at most 2. Rolling-bearing lubrication handbooks.
 * @param temperature of the bearing, °C, −40 to 200.
 * @returns above 0 to 2, or null out of range.
 * @example greaseIntervalFactor(85) // 0.5
 */
export function greaseIntervalFactor(temperature: number): number | null {
  if (!(temperature >= -40 && temperature <= 200)) return null;
  return Math.min(GREASE.most, 2 ** ((GREASE.at - temperature) / GREASE.halvesPer));
}

/** Life exponents, ISO 281. */
export const LIFE_EXPONENT = { ball: 3, roller: 10 / 3 } as const;

/**
 * Basic rating life L10 = (C/P)^p. ISO 281:2007. For planning; no forecast of a bearing that is being read.
 * @param dynamicRating C and @param load P, one unit, above 0.
 * @returns million revolutions, or null out of range.
 * @example ratingLife(35, 5, 'ball') // 343
 */
export function ratingLife(dynamicRating: number, load: number, kind: keyof typeof LIFE_EXPONENT): number | null {
  if (!(dynamicRating > 0 && load > 0)) return null;
  const life = (dynamicRating / load) ** LIFE_EXPONENT[kind];
  return Number.isFinite(life) ? life : null;
}

/** Life at a reliability in per cent over L10, ISO 281:2007, table 12 (from memory). */
export const RELIABILITY_FACTORS: readonly (readonly [percent: number, a1: number])[] = [
  [90, 1],
  [95, 0.64],
  [96, 0.55],
  [97, 0.47],
  [98, 0.37],
  [99, 0.25],
];

/**
 * Reliability factor a₁, only for the reliabilities of the table. ISO 281:2007, table 12 (from memory).
 * @returns null for another reliability.
 * @example reliabilityFactor(95) // 0.64
 */
export function reliabilityFactor(percent: number): number | null {
  return RELIABILITY_FACTORS.find(([tabled]) => tabled === percent)?.[1] ?? null;
}

/**
 * Rating life in hours: a₁·10⁶/(60·n)·L10. ISO 281:2007.
 * @param millionRevolutions from ratingLife. @param speed r/min, above 0. @param reliability per cent, of the table.
 * @returns hours, or null out of range.
 * @example ratingLifeHours(343, 1500) // 3811.1
 */
export function ratingLifeHours(millionRevolutions: number, speed: number, reliability = 90): number | null {
  const a1 = reliabilityFactor(reliability);
  if (a1 === null || !(millionRevolutions > 0 && speed > 0)) return null;
  const hours = (a1 * 1e6 * millionRevolutions) / (60 * speed);
  return Number.isFinite(hours) ? hours : null;
}
