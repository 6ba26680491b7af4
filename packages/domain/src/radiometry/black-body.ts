/** Second radiation constant, µm·K; constant of Wien, µm·K; constant of Stefan and Boltzmann, W/(m²·K⁴) (CODATA 2018). */
const C2 = 14_387.768_77;
const WIEN = 2897.771_955;
const SIGMA = 5.670_374_419e-8;
export const ZERO_C = 273.15;

/** From and to, µm. */
export type Band = readonly [from: number, to: number];
/** What an imager of a round sees, µm. */
export const LONG_WAVE: Band = [7.5, 14];
/** A band, or all wavelengths as a total-radiation pyrometer sees them. */
export type Response = Band | 'total';

const COLDEST_K = 100;
const HOTTEST_K = 3000;
const HALVINGS = 60;
/** Step of the derivatives, K. */
const STEP_K = 1e-3;

/**
 * Share of a black body's radiation below a wavelength, by the series of Chang and Rhee (1984).
 * @param lambdaT wavelength times temperature, µm·K. @returns 0 to 1; 0 where the product is not above 0.
 * @example bandFraction(3000) // 0.2732
 */
export function bandFraction(lambdaT: number): number {
  if (!(lambdaT > 0)) return 0;
  const z = C2 / lambdaT;
  let sum = 0;
  for (let n = 1; n < 1000; n++) {
    const term = (Math.exp(-n * z) / n) * (z ** 3 + (3 * z ** 2) / n + (6 * z) / n ** 2 + 6 / n ** 3);
    sum += term;
    if (term < 1e-15 * sum) break;
  }
  return (15 / Math.PI ** 4) * sum;
}

/**
 * Wavelength times temperature, µm·K, below which a black body sends the given share of its radiation.
 * @param fraction above 0 and below 1. @returns null outside, and for shares reached below 100 or beyond a million.
 * @example bandFractionInverse(0.1) // 2195
 */
export function bandFractionInverse(fraction: number): number | null {
  const [low, high] = [100, 1e6];
  if (!(fraction >= bandFraction(low) && fraction <= bandFraction(high))) return null;
  return halve(low, high, (lambdaT) => bandFraction(lambdaT) < fraction);
}

/** What a black body radiates in all, W/m². @param kelvin 0 or more. @example totalExitance(300) // 459.3 */
export const totalExitance = (kelvin: number): number => SIGMA * kelvin ** 4;

/** Wavelength at which a black body radiates most, µm. @param kelvin above 0. @example peakWavelength(300) // 9.66 */
export const peakWavelength = (kelvin: number): number => WIEN / kelvin;

/** Share of its radiation that a black body sends within a band. @example bandShare(300) // 0.4057 */
export const bandShare = (kelvin: number, [from, to]: Band = LONG_WAVE): number =>
  bandFraction(to * kelvin) - bandFraction(from * kelvin);

/** What the detector receives from a black body, W/m². @param celsius above −273.15. @example signalOf(26.85, 'total') // 459.3 */
export function signalOf(celsius: number, response: Response = LONG_WAVE): number {
  const kelvin = celsius + ZERO_C;
  return totalExitance(kelvin) * (response === 'total' ? 1 : bandShare(kelvin, response));
}

/** The black body from which a signal comes, °C; null where none between 100 and 3000 K sends it. The inverse of signalOf. */
export function temperatureOfSignal(signal: number, response: Response = LONG_WAVE): number | null {
  const [low, high] = [COLDEST_K - ZERO_C, HOTTEST_K - ZERO_C];
  if (!(signal >= signalOf(low, response) && signal <= signalOf(high, response))) return null;
  return halve(low, high, (celsius) => signalOf(celsius, response) < signal);
}

/** How the signal changes with the temperature, W/(m²·K), by central difference. @param celsius above −273.149. */
export const signalSlope = (celsius: number, response: Response = LONG_WAVE): number =>
  (signalOf(celsius + STEP_K, response) - signalOf(celsius - STEP_K, response)) / (2 * STEP_K);

/**
 * The power of the absolute temperature that the signal follows: 4 for all wavelengths, more for a band seen from the cold.
 * @example effectiveExponent(20) // 4.785
 */
export const effectiveExponent = (celsius: number, response: Response = LONG_WAVE): number =>
  ((celsius + ZERO_C) * signalSlope(celsius, response)) / signalOf(celsius, response);

/** Where a rising function stops to be below its aim. */
function halve(from: number, to: number, isBelow: (x: number) => boolean): number {
  let [low, high] = [from, to];
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (low + high) / 2;
    if (isBelow(middle)) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
