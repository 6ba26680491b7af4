/** Insulation: thermal classes and the resistance test of windings. */

/** IEC 60085: class temperature in °C by letter (from memory for all, 105 to 180 also in IEC 60034-1). */
export const THERMAL_CLASSES = { A: 105, E: 120, B: 130, F: 155, H: 180, N: 200, R: 220 } as const;
export type ThermalClass = keyof typeof THERMAL_CLASSES;

/**
 * Temperature of an insulation class, by letter or by number. IEC 60085 (from memory).
 * @returns °C, or null for a class the standard does not name.
 * @example thermalClass('F') // 155
 */
export function thermalClass(designation: string): number | null {
  const named = Object.entries(THERMAL_CLASSES).find(
    ([letter, degrees]) => letter === designation || `${degrees}` === designation,
  );
  return named?.[1] ?? null;
}

/**
 * Insulation resistance brought to 40 °C: halves per 10 K of temperature. IEEE 43, thermoplastic rule; an approximation.
 * @param resistance MΩ, above 0. @param temperature of the winding, °C, −40 to 200.
 * @returns MΩ, or null out of range.
 * @example insulationAt40(200, 20) // 50
 */
export function insulationAt40(resistance: number, temperature: number): number | null {
  if (!(resistance > 0) || !Number.isFinite(resistance) || !(temperature >= -40 && temperature <= 200)) return null;
  const corrected = resistance * 0.5 ** ((40 - temperature) / 10);
  return Number.isFinite(corrected) ? corrected : null;
}

/** low-voltage: below 1 kV and random wound. form-wound: after about 1970, and direct-current armatures. old: earlier, and field windings. */
export type WindingKind = 'low-voltage' | 'form-wound' | 'old';

/**
 * Least insulation resistance at 40 °C after one minute. IEEE 43-2013 (from memory): 5, 100, or kV + 1.
 * @param kilovolts rated voltage, from 0; counts only for old windings.
 * @returns MΩ, or null for a negative or unknown voltage.
 * @example leastInsulation('old', 3.3) // 4.3
 */
export function leastInsulation(kind: WindingKind, kilovolts: number): number | null {
  if (!(kilovolts >= 0) || !Number.isFinite(kilovolts)) return null;
  return { 'low-voltage': 5, 'form-wound': 100, old: kilovolts + 1 }[kind];
}

/** Above this after one minute the polarisation index says nothing, MΩ. IEEE 43 (from memory). */
export const INDEX_MEANS_NOTHING_ABOVE = 5000;

export type PolarisationIndex =
  | { readonly value: number; readonly reason: null }
  | { readonly value: null; readonly reason: 'resistance-above-5-gigaohm' | 'resistance-missing' };

/**
 * Polarisation index: resistance after ten minutes over that after one. IEEE 43.
 * @param oneMinute MΩ, above 0. @param tenMinutes MΩ, above 0; both at one test voltage and temperature.
 * @example polarisationIndex(450, 1170) // { value: 2.6, reason: null }
 */
export function polarisationIndex(oneMinute: number, tenMinutes: number): PolarisationIndex {
  if (oneMinute > INDEX_MEANS_NOTHING_ABOVE) return { value: null, reason: 'resistance-above-5-gigaohm' };
  const value = tenMinutes / oneMinute;
  if (!(oneMinute > 0 && tenMinutes > 0) || !Number.isFinite(value)) return { value: null, reason: 'resistance-missing' };
  return { value, reason: null };
}

/**
 * Least polarisation index. IEEE 43: class 105 1.5, class 130 and higher 2; class 120 is not named and takes the higher figure.
 * @example leastPolarisationIndex('A') // 1.5
 */
export function leastPolarisationIndex(insulation: ThermalClass): number {
  return insulation === 'A' ? 1.5 : 2;
}
