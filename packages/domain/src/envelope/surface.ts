/** Spots of a wall or window as a snapshot: how much of the warmth of the room reaches them, and what the air does there. */
import type { Grade } from '../limits/types.ts';
import { dewPoint, humidityAtSurface, saturationAt, vapourPressure } from './moist-air.ts';

/** Humidity at a surface from which mould can grow, ISO 13788; 60 % where metal must not rust, 100 % for water (same). */
export const MOULD_PERCENT = 80;
/** DIN 4108-2: least factor of a surface. */
export const LEAST_FACTOR = 0.7;
/** Inside and outside differ by so much before the factor says anything, K; survey practice with EN 13187. */
export const LEAST_INSIDE_OUTSIDE_K = 10;

/**
 * Temperature factor of a surface, ISO 13788 and ISO 10211: f_Rsi = (θ_si − θ_e)/(θ_i − θ_e).
 * @param surface, @param inside and @param outside °C.
 * @returns 1 where all warmth of the room reaches it, or null where inside and outside are equal or an entry is no number.
 * @example surfaceFactor(12.6, 20, -5) // 0.704
 */
export function surfaceFactor(surface: number, inside: number, outside: number): number | null {
  const factor = (surface - outside) / (inside - outside);
  return Number.isFinite(factor) ? factor : null;
}

/**
 * The coldest a surface may be before its air reaches a humidity. ISO 13788.
 * @param inside °C. @param humidity of the room, %, above 0 to 100. @param limit %, above 0 to 100.
 * @returns °C, or null outside the range of vapourPressure.
 * @example leastSurfaceTemperature(20, 50) // 12.6
 */
export function leastSurfaceTemperature(inside: number, humidity: number, limit: number = MOULD_PERCENT): number | null {
  const saturated = vapourPressure(inside);
  if (saturated === null || !(humidity > 0 && humidity <= 100) || !(limit > 0 && limit <= 100)) return null;
  return saturationAt((saturated * humidity) / limit);
}

/**
 * The factor that keeps a surface at leastSurfaceTemperature. ISO 13788.
 * @param outside °C.
 * @returns null as leastSurfaceTemperature, and where inside and outside are equal.
 * @example leastSurfaceFactor(20, 50, -5) // 0.705
 */
export function leastSurfaceFactor(
  inside: number,
  humidity: number,
  outside: number,
  limit: number = MOULD_PERCENT,
): number | null {
  const least = leastSurfaceTemperature(inside, humidity, limit);
  return least === null ? null : surfaceFactor(least, inside, outside);
}

/** A spot, the air a hand's breadth before it, and the air outside. Temperatures in °C. */
export interface SurfaceReading {
  readonly surface: number;
  readonly inside: number;
  /** % of saturation. */
  readonly humidity: number;
  readonly outside: number;
}

/** What a spot shows at this moment; the monthly means of ISO 13788 are another question. */
export const SURFACE_STATES = ['condensation', 'mould-risk', 'difference-too-small', 'below-factor', 'sound'] as const;
export type SurfaceState = (typeof SURFACE_STATES)[number];

/** When somebody must act; null: not judged. Common practice, no source. */
export const SURFACE_GRADE: Readonly<Record<SurfaceState, Grade | null>> = {
  condensation: 'soon',
  'mould-risk': 'plan',
  'difference-too-small': null,
  'below-factor': 'plan',
  sound: 'fine',
};

/**
 * The state of a spot: water stands on it, mould can grow, too little warmth reaches it, or it is sound.
 * @returns null where an entry lies outside the range of dewPoint or vapourPressure.
 * @example judgeSurface({ surface: 13, inside: 20, humidity: 55, outside: 0 }) // 'mould-risk'
 */
export function judgeSurface({ surface, inside, humidity, outside }: SurfaceReading): SurfaceState | null {
  const dew = dewPoint(inside, humidity);
  const there = humidityAtSurface(surface, inside, humidity);
  if (dew === null || there === null || !Number.isFinite(outside)) return null;
  if (surface <= dew || there >= 100) return 'condensation';
  if (there >= MOULD_PERCENT) return 'mould-risk';
  if (Math.abs(inside - outside) < LEAST_INSIDE_OUTSIDE_K) return 'difference-too-small';
  return (surfaceFactor(surface, inside, outside) ?? 1) < LEAST_FACTOR ? 'below-factor' : 'sound';
}
