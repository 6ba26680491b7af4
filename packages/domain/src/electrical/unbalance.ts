/** Unbalance of three phases, and what it does to a motor. */
import type { Grade } from '../limits/types.ts';

/** Per cent that must be exceeded. Voltage: NEMA MG 1 practice (5 %: do not run); current: common practice, no source. */
export const UNBALANCE_LIMITS: Readonly<Record<'voltage' | 'current', readonly (readonly [above: number, grade: Grade])[]>> = {
  voltage: [
    [1, 'watch'],
    [2, 'plan'],
    [3.5, 'soon'],
    [5, 'now'],
  ],
  current: [
    [10, 'plan'],
    [20, 'soon'],
  ],
};

/**
 * Unbalance: largest distance from the mean, in per cent of the mean. NEMA MG 1.
 * @param phases two or more, none negative, any one unit.
 * @returns per cent, or null with fewer than two, a negative or unknown value, or a mean of zero.
 * @example unbalance([460, 467, 450]) // 1.96
 */
export function unbalance(phases: readonly number[]): number | null {
  if (phases.length < 2 || phases.some((value) => !(value >= 0) || !Number.isFinite(value))) return null;
  const mean = phases.reduce((sum, value) => sum + value / phases.length, 0);
  if (!(mean > 0)) return null;
  return (Math.max(...phases.map((value) => Math.abs(value - mean))) / mean) * 100;
}

/**
 * Grade of an unbalance by UNBALANCE_LIMITS; each limit must be exceeded.
 * @returns null when the unbalance is null.
 * @example gradeUnbalance('voltage', 1.96) // 'watch'
 */
export function gradeUnbalance(of: 'voltage' | 'current', percent: number | null): Grade | null {
  if (percent === null || Number.isNaN(percent)) return null;
  return UNBALANCE_LIMITS[of].findLast(([above]) => percent > above)?.[1] ?? 'fine';
}

/**
 * By how much the rise of a motor winding grows under voltage unbalance: about 2·u² per cent (from memory).
 * @param percent voltage unbalance, 0 to 5; beyond it the rule says nothing.
 * @returns per cent of the rise, or null out of range.
 * @example windingRiseGrowth(3) // 18
 */
export function windingRiseGrowth(percent: number): number | null {
  return percent >= 0 && percent <= 5 ? 2 * percent ** 2 : null;
}
