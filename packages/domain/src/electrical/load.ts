/** A rise at another load or in another wind. Always: nothing is corrected without two loads, and a band says how well it is known. */

/** Usual exponent of the load correction, between 1.6 (natural convection) and 2 (constant film): n = 2/(1 + m) for h ~ ΔT^m. */
export const LOAD_EXPONENT = 1.8;
/** The exponent is known no better than this on either side. */
export const EXPONENT_BAND = 0.2;
/** A rise is never brought to more than this multiple of the load it was read at (common practice, no source). */
export const MOST_LOAD_RATIO = 2.5;
/** NFPA 70B and NETA survey practice: at least 40 % of rated load. */
export const LEAST_LOAD_PERCENT = 40;

/**
 * A rise brought to another load: rise · (to/from)^n (common practice). Currents or percentages, since only their ratio counts,
 * which is capped at MOST_LOAD_RATIO; with an exponent of their own also for machines.
 * @param rise at the load of the reading, in K or whatever follows the load.
 * @param exponent 1.6 to 2 for electrical parts.
 * @returns the rise in its unit, or null when a load is missing, zero or negative, or the result is no finite number.
 * @example loadCorrect(10, 50, 100, 2) // 40
 */
export function loadCorrect(
  rise: number,
  from: number | null,
  to: number | null,
  exponent: number = LOAD_EXPONENT,
): number | null {
  if (from === null || to === null || !(from > 0) || !(to > 0)) return null;
  const corrected = rise * Math.min(to / from, MOST_LOAD_RATIO) ** exponent;
  return Number.isFinite(corrected) ? corrected : null;
}

/**
 * May a reading at this load be judged?
 * @param leastPercent of rated; left out, that of electrical parts.
 * @example loadGate(30) // 'load-too-low'
 */
export function loadGate(
  loadPercent: number | null,
  leastPercent: number = LEAST_LOAD_PERCENT,
): 'ok' | 'load-missing' | 'load-too-low' {
  if (loadPercent === null || !Number.isFinite(loadPercent)) return 'load-missing';
  return loadPercent < leastPercent ? 'load-too-low' : 'ok';
}

/**
 * Exponent of the load correction from the film coefficient h ~ ΔT^m: n = 2/(1 + m). Textbook heat balance I²R = h·A·ΔT.
 * @param m 0 (constant film) to 1; 0.25 for laminar natural convection.
 * @returns 1 to 2, or null outside that range.
 * @example exponentFromFilm(0.25) // 1.6
 */
export function exponentFromFilm(m: number): number | null {
  return m >= 0 && m <= 1 ? 2 / (1 + m) : null;
}

/** A part read at one load and ambient, and the load and ambient in question. Temperatures in °C, loads in one unit. */
export interface OtherLoad {
  readonly temperature: number;
  readonly ambient: number;
  readonly load: number | null;
  readonly otherLoad: number | null;
  readonly otherAmbient: number;
}

/**
 * Temperature at another load and ambient: otherAmbient + (temperature − ambient)·(otherLoad/load)^n (common practice).
 * @param exponent 1.6 to 2 for electrical parts.
 * @returns °C, or null as loadCorrect.
 * @example predictTemperature({ temperature: 52, ambient: 24, load: 60, otherLoad: 95, otherAmbient: 35 }) // 99.03
 */
export function predictTemperature(read: OtherLoad, exponent: number = LOAD_EXPONENT): number | null {
  const rise = loadCorrect(read.temperature - read.ambient, read.load, read.otherLoad, exponent);
  if (rise === null || !Number.isFinite(rise + read.otherAmbient)) return null;
  return rise + read.otherAmbient;
}

/** A prediction with its band, °C, lowest first. */
export interface PredictedTemperature {
  readonly low: number;
  readonly central: number;
  readonly high: number;
  /** From below LEAST_LOAD_PERCENT the prediction may raise a grade, never clear one. */
  readonly mayClear: boolean;
}

/**
 * The temperature at another load with the band of the exponent, 1.6 to 2 round 1.8 (common practice).
 * @param loadPercent load of the reading in per cent of rated; null: unknown, so it clears nothing.
 * @example predictBand({ temperature: 52, ambient: 24, load: 60, otherLoad: 95, otherAmbient: 35 }, 60)?.high // 105.19
 */
export function predictBand(read: OtherLoad, loadPercent: number | null): PredictedTemperature | null {
  const central = predictTemperature(read);
  const flat = predictTemperature(read, LOAD_EXPONENT - EXPONENT_BAND);
  const steep = predictTemperature(read, LOAD_EXPONENT + EXPONENT_BAND);
  if (central === null || flat === null || steep === null) return null;
  return { low: Math.min(flat, steep), central, high: Math.max(flat, steep), mayClear: loadGate(loadPercent) === 'ok' };
}

/** Factors for 1, 2 … 8 m/s; utility practice, from memory. */
export const WIND_FACTORS: readonly number[] = [1, 1.36, 1.64, 1.86, 2.06, 2.23, 2.4, 2.5];
/** Above this a reading outdoors is flagged, m/s (common practice, no source). */
export const STRONG_WIND = 5;

/**
 * Factor that brings a rise measured in wind to 1 m/s; straight between the figures of WIND_FACTORS (from memory). An estimate.
 * @param wind m/s, 0 to 8; below 1 the factor is 1.
 * @returns 1 to 2.5, or null outside the range.
 * @example windFactor(3) // 1.64
 */
export function windFactor(wind: number): number | null {
  if (!(wind >= 0) || wind > WIND_FACTORS.length) return null;
  if (wind <= 1) return 1;
  const below = Math.floor(wind);
  const from = WIND_FACTORS[below - 1]!;
  const to = WIND_FACTORS[below] ?? from;
  return from + (to - from) * (wind - below);
}
