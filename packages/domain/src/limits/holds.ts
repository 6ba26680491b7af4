import type { LimitHolds, LimitSet, Weather } from './types.ts';

/** From this outdoor temperature on it is mild, below the other cold, °C (common practice, no source). */
export const MILD_FROM_C = 10;
export const COLD_BELOW_C = 5;

/** The side of a criterion that a set is a version of: a newer version replaces the older one of the same side. */
export function sideOf({ criterion, direction, holds }: Pick<LimitSet, 'criterion' | 'direction' | 'holds'>): string {
  const when = holds == null ? '' : 'weather' in holds ? ` ${holds.weather}` : ` season ${holds.season}`;
  return `${criterion} ${direction}${when}`;
}

/**
 * Does a set hold on the day? Weather is asked of the reading, not of the calendar.
 * @param at epoch milliseconds.
 * @example holdsAt({ season: 'cooling', from: '05-01', until: '09-30' }, Date.UTC(2026, 6, 1)) // true
 */
export function holdsAt(holds: LimitHolds | null | undefined, at: number): boolean {
  if (holds == null || 'weather' in holds || !Number.isFinite(at)) return true;
  const day = new Date(at).toISOString().slice(5, 10);
  const { from, until } = holds;
  return from <= until ? day >= from && day <= until : day >= from || day <= until;
}

/**
 * Weather by the outdoor temperature. Between cold and mild it is both, and only the lower of the two grades counts.
 * @returns both also where the outdoor temperature is not known.
 * @example weathersAt(7) // ['mild', 'cold']
 */
export function weathersAt(outdoorC: number | undefined): readonly Weather[] {
  if (outdoorC === undefined) return ['mild', 'cold'];
  if (outdoorC >= MILD_FROM_C) return ['mild'];
  return outdoorC < COLD_BELOW_C ? ['cold'] : ['mild', 'cold'];
}

/** The weather a set is bound to, or null. */
export const weatherOf = ({ holds }: Pick<LimitSet, 'holds'>): Weather | null =>
  holds != null && 'weather' in holds ? holds.weather : null;
