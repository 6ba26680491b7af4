import { startOfDay, wallTime } from '../time/index.ts';

/**
 * Months in which a route or a point is awake, 1 to 12, both ends included; may run over the turn of the year (10 to 4).
 * null everywhere below: awake all year.
 */
export interface Season {
  readonly fromMonth: number;
  readonly toMonth: number;
}

/** What is wrong with a season, in a sentence, or null. @example checkSeason({ fromMonth: 0, toMonth: 4 }) // 'A season runs from …' */
export function checkSeason(season: Season): string | null {
  const isMonth = (month: number): boolean => Number.isInteger(month) && month >= 1 && month <= 12;
  return isMonth(season.fromMonth) && isMonth(season.toMonth)
    ? null
    : 'A season runs from one month to another, each 1 to 12: May to September is 5 to 9.';
}

/**
 * Awake at an instant? Asleep things are not due, not overdue, no blind spot, and have no forecast.
 * @example isAwake({ fromMonth: 10, toMonth: 4 }, newYear, 'Europe/Dublin') // true
 */
export function isAwake(season: Season | null, at: number, zone: string): boolean {
  return season === null || isMonthAwake(season, wallTime(at, zone).month);
}

/** @param month 1 to 12. */
export function isMonthAwake({ fromMonth, toMonth }: Season, month: number): boolean {
  return fromMonth <= toMonth ? month >= fromMonth && month <= toMonth : month >= fromMonth || month <= toMonth;
}

/**
 * Does a stop belong to a round? The planned time of the round decides for all of it, wherever the season changes meanwhile, so
 * that the phone in the cellar and the server agree whenever the round arrives.
 */
export function isAwakeInRound(season: Season | null, round: { readonly plannedAt: number }, zone: string): boolean {
  return isAwake(season, round.plannedAt, zone);
}

/** The planned times at which something is awake. @param occurrences anything with an instant `at`. */
export function awakeOccurrences<One extends { readonly at: number }>(
  occurrences: readonly One[],
  season: Season | null,
  zone: string,
): One[] {
  return occurrences.filter(({ at }) => isAwake(season, at, zone));
}

/** The turns of a season next after an instant; both null where it never changes. */
export interface SeasonTurns {
  /** First instant of the next waking month. */
  readonly wakesAt: number | null;
  /** First instant of the next sleep. */
  readonly sleepsAt: number | null;
}

/** When something wakes and falls asleep next. A wake-up list asks for `wakesAt` within the fourteen days ahead. */
export function seasonTurns(season: Season | null, at: number, zone: string): SeasonTurns {
  const turns: { wakesAt: number | null; sleepsAt: number | null } = { wakesAt: null, sleepsAt: null };
  if (season === null) return turns;
  const { year, month } = wallTime(at, zone);
  for (let ahead = 1; ahead <= 12; ahead++) {
    const then = ((month - 1 + ahead) % 12) + 1;
    const was = isMonthAwake(season, ((then + 10) % 12) + 1);
    const is = isMonthAwake(season, then);
    if (was === is) continue;
    const turn = startOfDay({ year, month: month + ahead, day: 1 }, zone);
    if (is) turns.wakesAt ??= turn;
    else turns.sleepsAt ??= turn;
  }
  return turns;
}

/** The seasons of a point that sleeps at all; null: awake all year, by one season or by several together. */
export function seasonsThatSleep(seasons: readonly Season[] | null | undefined): readonly Season[] | null {
  if (seasons == null || seasons.length === 0) return null;
  for (let month = 1; month <= 12; month++) if (!seasons.some((season) => isMonthAwake(season, month))) return seasons;
  return null;
}

/**
 * When a point wakes that sleeps at an instant.
 * @param seasons of the routes that come by; null or none: awake all year.
 * @returns null where it is awake.
 * @example wakesAfter([{ fromMonth: 5, toMonth: 9 }], newYear, 'Europe/Dublin') // the first of May
 */
export function wakesAfter(seasons: readonly Season[] | null, at: number, zone: string): number | null {
  if (seasons === null || seasons.length === 0 || seasons.some((season) => isAwake(season, at, zone))) return null;
  return Math.min(...seasons.flatMap((season) => seasonTurns(season, at, zone).wakesAt ?? []));
}

/** Days ahead in which a waking is announced. */
export const WAKE_UP_DAYS = 14;
