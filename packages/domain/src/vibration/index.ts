/**
 * Vibration on bearing housings: zones, alarm and trip of ISO 10816-3:2009 (boundaries kept in ISO 20816-3).
 * Hides the table. Always: the worse of velocity and displacement decides; directions are never averaged, the caller passes the
 * largest. Pumps and machines below 15 kW need figures of their own.
 */
import type { Grade } from '../limits/types.ts';

/** 1: above 300 kW or shaft height from 315 mm. 2: 15 to 300 kW, shaft height 160 to 315 mm. */
export type MachineGroup = 1 | 2;
export type Support = 'rigid' | 'flexible';
export type VibrationZone = 'A' | 'B' | 'C' | 'D';

/** Upper ends of zones A, B and C. */
export interface ZoneBoundaries {
  readonly ab: number;
  readonly bc: number;
  readonly cd: number;
}

/** ISO 10816-3:2009, tables A.1 and A.2: r.m.s. velocity in mm/s, r.m.s. displacement in µm, 10 to 1000 Hz. */
const BOUNDARIES: Readonly<
  Record<MachineGroup, Readonly<Record<Support, { readonly velocity: ZoneBoundaries; readonly displacement: ZoneBoundaries }>>>
> = {
  1: {
    rigid: { velocity: { ab: 2.3, bc: 4.5, cd: 7.1 }, displacement: { ab: 29, bc: 57, cd: 90 } },
    flexible: { velocity: { ab: 3.5, bc: 7.1, cd: 11 }, displacement: { ab: 45, bc: 90, cd: 140 } },
  },
  2: {
    rigid: { velocity: { ab: 1.4, bc: 2.8, cd: 4.5 }, displacement: { ab: 22, bc: 45, cd: 71 } },
    flexible: { velocity: { ab: 2.3, bc: 4.5, cd: 7.1 }, displacement: { ab: 37, bc: 71, cd: 113 } },
  },
};
const ZONES = ['A', 'B', 'C', 'D'] as const satisfies readonly VibrationZone[];
/** Shares of a boundary: of B/C for a change and the alarm, of C/D for the trip (ISO 10816-3, 5.3 and 5.4). */
const CHANGE_SHARE = 0.25;
const CEILING_SHARE = 1.25;

/** Boundaries of the r.m.s. velocity, mm/s. @example velocityBoundaries(1, 'rigid').bc // 4.5 */
export function velocityBoundaries(group: MachineGroup, support: Support): ZoneBoundaries {
  return BOUNDARIES[group][support].velocity;
}

/**
 * Zone of a machine: the first boundary not exceeded; with both quantities the worse one (ISO 10816-3:2009, 5.2.3).
 * @param velocityMmPerS r.m.s., null when not measured.
 * @param displacementUm r.m.s., null when not measured.
 * @returns null when neither is a finite number.
 * @example vibrationZone(2, 'rigid', 3) // 'C'
 */
export function vibrationZone(
  group: MachineGroup,
  support: Support,
  velocityMmPerS: number | null,
  displacementUm: number | null = null,
): VibrationZone | null {
  const { velocity, displacement } = BOUNDARIES[group][support];
  const worst = Math.max(zoneIndex(velocityMmPerS, velocity), zoneIndex(displacementUm, displacement));
  return ZONES[worst] ?? null;
}

/** 0 to 3, or −1 when not measured. */
function zoneIndex(value: number | null, { ab, bc, cd }: ZoneBoundaries): number {
  if (value === null || !Number.isFinite(value)) return -1;
  return [ab, bc, cd].filter((boundary) => value > boundary).length;
}

/**
 * Alarm: baseline + 25 % of B/C, at most 1.25 × B/C (ISO 10816-3:2009, 5.4.1). Same unit as the arguments.
 * @example vibrationAlarm(2, 4.5) // 3.125
 */
export function vibrationAlarm(baseline: number, bc: number): number {
  return Math.min(baseline + CHANGE_SHARE * bc, CEILING_SHARE * bc);
}

/**
 * Highest trip: 1.25 × C/D (ISO 10816-3:2009, 5.4.2).
 * @example vibrationTrip(7.1) // 8.875
 */
export function vibrationTrip(cd: number): number {
  return CEILING_SHARE * cd;
}

/**
 * A change in either direction of more than 25 % of B/C deserves a look even inside A and B (ISO 10816-3:2009, 5.3).
 * @example isSignificantVibrationChange(1.2, 4.5) // true
 */
export function isSignificantVibrationChange(change: number, bc: number): boolean {
  return Math.abs(change) > CHANGE_SHARE * bc;
}

/**
 * Grade of a velocity (own rule): beyond the trip ceiling Now, zone D Soon, zone C or beyond the alarm Plan, a significant
 * change inside A and B Watch, otherwise Fine.
 * @param baselineMmPerS null while there is none: neither alarm nor change is judged.
 * @returns null when the velocity is no finite number.
 * @example gradeVibration(2, 'rigid', 3, null) // 'plan'
 */
export function gradeVibration(
  group: MachineGroup,
  support: Support,
  velocityMmPerS: number,
  baselineMmPerS: number | null,
): Grade | null {
  const zone = vibrationZone(group, support, velocityMmPerS);
  if (zone === null) return null;
  const { bc, cd } = velocityBoundaries(group, support);
  if (velocityMmPerS > vibrationTrip(cd)) return 'now';
  if (zone === 'D') return 'soon';
  if (zone === 'C') return 'plan';
  if (baselineMmPerS === null) return 'fine';
  if (velocityMmPerS > vibrationAlarm(baselineMmPerS, bc)) return 'plan';
  return isSignificantVibrationChange(velocityMmPerS - baselineMmPerS, bc) ? 'watch' : 'fine';
}

/**
 * Velocity of a sine from its displacement: 2πf·d/(2√2). Holds for one dominant frequency only (textbook).
 * @param peakToPeakUm µm, from 0. @param frequency Hz, above 0.
 * @returns mm/s r.m.s., or null out of range.
 * @example velocityFromDisplacement(100, 50) // 11.107
 */
export function velocityFromDisplacement(peakToPeakUm: number, frequency: number): number | null {
  return peakToPeakUm >= 0 && frequency > 0 ? finite((peakToPeakUm / 1000) * ((Math.PI * frequency) / Math.SQRT2)) : null;
}

/**
 * Displacement of a sine from its velocity; the way back of velocityFromDisplacement.
 * @param velocityMmPerS r.m.s., from 0. @param frequency Hz, above 0.
 * @returns µm peak to peak, or null out of range.
 * @example displacementFromVelocity(11.107, 50) // 100
 */
export function displacementFromVelocity(velocityMmPerS: number, frequency: number): number | null {
  return velocityMmPerS >= 0 && frequency > 0 ? finite((velocityMmPerS * 1000) / ((Math.PI * frequency) / Math.SQRT2)) : null;
}

function finite(value: number): number | null {
  return Number.isFinite(value) ? value : null;
}
