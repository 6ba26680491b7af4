/** Heat exchangers: what passes, what could pass, and how well. Temperatures in °C, differences in K. Textbook equations throughout. */

/** The four temperatures at the pipes, °C. */
export interface ExchangerTemperatures {
  readonly hotIn: number;
  readonly hotOut: number;
  readonly coldIn: number;
  readonly coldOut: number;
}
export type FlowArrangement = 'counter' | 'parallel';

/** Ends that differ by less than this share have one difference: the quotient would be 0/0. */
const SAME_ENDS = 1e-6;

/**
 * Logarithmic mean temperature difference: (ΔT₁ − ΔT₂)/ln(ΔT₁/ΔT₂), the difference itself where both ends are equal.
 * @returns K, or why there is none: somewhere the cold side is as warm as the hot one, or an entry is no number.
 * @example meanDifference({ hotIn: 100, hotOut: 60, coldIn: 30, coldOut: 40.2 }, 'counter') // 43.2
 */
export function meanDifference(
  { hotIn, hotOut, coldIn, coldOut }: ExchangerTemperatures,
  flow: FlowArrangement,
): number | 'temperature-cross' | 'not-a-number' {
  const [one, other] = flow === 'counter' ? [hotIn - coldOut, hotOut - coldIn] : [hotIn - coldIn, hotOut - coldOut];
  if (!Number.isFinite(one) || !Number.isFinite(other)) return 'not-a-number';
  if (one <= 0 || other <= 0) return 'temperature-cross';
  const apart = (one - other) / other;
  return Math.abs(apart) < SAME_ENDS ? (one + other) / 2 : (one - other) / Math.log1p(apart);
}

/**
 * Heat that a stream gives or takes: m·c·ΔT.
 * @param flow kg/s, not below 0. @param capacity J/(kg·K), above 0. @param change of its temperature, K.
 * @returns W with the sign of the change, or null outside the range.
 * @example heatDuty(0.1, 2131, 40) // 8524
 */
export function heatDuty(flow: number, capacity: number, change: number): number | null {
  const duty = flow * capacity * change;
  return flow >= 0 && capacity > 0 && Number.isFinite(duty) ? duty : null;
}

/**
 * Effectiveness from the number of transfer units, Incropera table 11.3.
 * @param units NTU = U·A/C_min, 0 and more. @param ratio C_min/C_max, 0 (condenser, evaporator) to 1.
 * @returns 0 to 1, or null outside the range.
 * @example effectivenessOf(1.5, 0, 'counter') // 0.777
 */
export function effectivenessOf(units: number, ratio: number, flow: FlowArrangement): number | null {
  if (!(units >= 0) || !(ratio >= 0 && ratio <= 1)) return null;
  if (flow === 'parallel') return -Math.expm1(-units * (1 + ratio)) / (1 + ratio);
  if (isEqual(ratio)) return units === Number.POSITIVE_INFINITY ? 1 : units / (1 + units);
  const passed = Math.exp(-units * (1 - ratio));
  return -Math.expm1(-units * (1 - ratio)) / (1 - ratio * passed);
}

/**
 * The number of transfer units from an effectiveness: the same equations turned round.
 * @param effectiveness 0 up to, and without, the most that the arrangement can reach: 1 counter, 1/(1 + ratio) parallel.
 * @returns NTU, or null outside the range.
 * @example transferUnitsOf(0.777, 0, 'counter') // 1.5
 */
export function transferUnitsOf(effectiveness: number, ratio: number, flow: FlowArrangement): number | null {
  if (!(ratio >= 0 && ratio <= 1) || !(effectiveness >= 0)) return null;
  if (flow === 'parallel') {
    const left = -effectiveness * (1 + ratio);
    return left > -1 ? -Math.log1p(left) / (1 + ratio) : null;
  }
  if (effectiveness >= 1) return null;
  if (isEqual(ratio)) return effectiveness / (1 - effectiveness);
  return Math.log((1 - effectiveness * ratio) / (1 - effectiveness)) / (1 - ratio);
}

/** Capacity rates as good as equal, where the counterflow equations are 0/0. */
const isEqual = (ratio: number): boolean => 1 - ratio < 1e-6;

/** Below so much between the two inlets, K, one kelvin of error decides (common practice, no source). */
export const LEAST_BETWEEN_INLETS_K = 5;

/**
 * Effectiveness from four temperatures, Incropera equations 11.20 and 11.21: the side that changes most takes part of all it could.
 * @returns a share, 0 to 1 of true temperatures, or 'difference-too-small' where the inlets are less than 5 K apart.
 * @example temperatureEffectiveness({ hotIn: 100, hotOut: 60, coldIn: 30, coldOut: 40.2 }) // 0.571
 */
export function temperatureEffectiveness({
  hotIn,
  hotOut,
  coldIn,
  coldOut,
}: ExchangerTemperatures): number | 'difference-too-small' {
  const between = hotIn - coldIn;
  if (!(between >= LEAST_BETWEEN_INLETS_K)) return 'difference-too-small';
  const share = Math.max(hotIn - hotOut, coldOut - coldIn) / between;
  return Number.isFinite(share) ? share : 'difference-too-small';
}
