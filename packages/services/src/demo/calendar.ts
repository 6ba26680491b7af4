/** The demo's weeks: week 1 begins on Monday 3 March 2025; the story stands still on Thursday of week 60. */
const WEEK_ONE = Date.UTC(2025, 2, 3);
const DAY_MS = 86_400_000;

export const ZONE = 'Europe/Dublin';
/** Thu 23 April 2026, 08:00 site time: where the organisations' clock stands when the demo is loaded. */
export const STORY_NOW = Date.parse('2026-04-23T07:00:00Z');
/** End of Sunday 31 May 2026, site time. */
export const END_OF_MAY = Date.parse('2026-05-31T23:00:00Z');

export const WEEKDAYS = { mon: 0, tue: 1, wed: 2, thu: 3, fri: 4, sat: 5, sun: 6 } as const;
export type Weekday = keyof typeof WEEKDAYS;

const HOUR_AT_SITE = new Intl.DateTimeFormat('en', { timeZone: ZONE, hour: 'numeric', hourCycle: 'h23' });

/**
 * A time of day at the site as an instant. Holds between 03:00 and midnight, when no clock is changed.
 * @example siteInstant(59, 'thu', '10:15') // 2026-04-16T09:15:00Z
 */
export function siteInstant(week: number, weekday: Weekday, time: string): number {
  const midnight = WEEK_ONE + ((week - 1) * 7 + WEEKDAYS[weekday]) * DAY_MS;
  const noon = midnight + DAY_MS / 2;
  const hoursAhead = Number(HOUR_AT_SITE.format(noon)) - 12;
  const [hours, minutes] = time.split(':').map(Number) as [number, number];
  return midnight + ((hours - hoursAhead) * 60 + minutes) * 60_000;
}

/** The day at the site as people write it into a route. @example siteDay(4, 'fri') // '2025-03-28' */
export function siteDay(week: number, weekday: Weekday): string {
  return new Date(WEEK_ONE + ((week - 1) * 7 + WEEKDAYS[weekday]) * DAY_MS).toISOString().slice(0, 10);
}

/** The week in which an instant lies; near midnight on Sunday it may be the next one. */
export const weekOf = (instant: number): number => Math.floor((instant - WEEK_ONE) / (7 * DAY_MS)) + 1;

/** Outdoor temperature of the season, °C: 5 in late January, 16 in late July. */
export function outdoorC(instant: number): number {
  const dayOfYear = ((instant - Date.UTC(2025, 0, 1)) / DAY_MS) % 365;
  return 10.5 - 5.5 * Math.cos((2 * Math.PI * (dayOfYear - 27)) / 365);
}
