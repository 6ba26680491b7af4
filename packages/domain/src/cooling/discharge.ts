/** Compressors: how hot their gas should leave them, and how hot it may. Temperatures in °C. */
import { type Grade, LIMIT_GRADES, type LimitGrade } from '../limits/types.ts';

/** Isentropic exponent of air and other gases of two atoms; refrigerants lie between 1.1 and 1.3 (from memory). */
export const AIR_EXPONENT = 1.4;
/** Isentropic efficiency of a sound piston machine (common practice, no source). */
export const USUAL_EFFICIENCY = 0.75;

/**
 * Temperature of a gas behind its compression. Ideal gas, textbook: T₂ = T₁ + T₁·(r^((k−1)/k) − 1)/η, in kelvin.
 * @param suction °C. @param ratio of the absolute pressures, 1 and more. @param exponent k of the gas, above 1.
 * @param efficiency isentropic, above 0 to 1.
 * @returns °C, or null outside the range.
 * @example dischargeTemperature(20, 8, 1.4, 1) // 257.88
 */
export function dischargeTemperature(
  suction: number,
  ratio: number,
  exponent: number = AIR_EXPONENT,
  efficiency: number = USUAL_EFFICIENCY,
): number | null {
  const kelvin = suction + 273.15;
  if (!(ratio >= 1) || !(exponent > 1) || !(efficiency > 0 && efficiency <= 1) || !(kelvin > 0)) return null;
  const warmed = suction + (kelvin * (ratio ** ((exponent - 1) / exponent) - 1)) / efficiency;
  return Number.isFinite(warmed) ? warmed : null;
}

/** The line a gas leaves by. */
export type DischargeLine = 'refrigerant' | 'screw-air';
/** °C at the line near the compressor, reached; practice against the break-down of oil (from memory). */
export const DISCHARGE_LIMITS: Readonly<Record<DischargeLine, Readonly<Record<LimitGrade, number | null>>>> = {
  refrigerant: { watch: null, plan: 105, soon: 115, now: 125 },
  'screw-air': { watch: null, plan: 100, soon: 105, now: 110 },
};

/**
 * Grade of a discharge line by DISCHARGE_LIMITS; a limit counts when reached.
 * @returns null when the temperature is no finite number.
 * @example gradeDischarge('refrigerant', 112) // 'plan'
 */
export function gradeDischarge(line: DischargeLine, temperature: number): Grade | null {
  if (!Number.isFinite(temperature)) return null;
  const limits = DISCHARGE_LIMITS[line];
  return LIMIT_GRADES.findLast((grade) => limits[grade] !== null && temperature >= limits[grade]) ?? 'fine';
}
