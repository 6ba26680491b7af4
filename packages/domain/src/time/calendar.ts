/** A day of the calendar, without zone. */
export interface CalendarDate {
  readonly year: number;
  /** 1 to 12 */
  readonly month: number;
  readonly day: number;
}

/** A day and the wall clock, as a person in the zone reads them. */
export interface WallTime extends CalendarDate {
  readonly hour: number;
  readonly minute: number;
  /** 1 Monday … 7 Sunday. */
  readonly weekday: number;
}

const DAY = 86_400_000;
const MINUTE = 60_000;
const formats = new Map<string, Intl.DateTimeFormat>();

/** The formatter of a zone; making one costs a hundred times what using it costs. */
function formatOf(zone: string): Intl.DateTimeFormat {
  let format = formats.get(zone);
  if (format === undefined) {
    format = new Intl.DateTimeFormat('en-GB', {
      timeZone: zone,
      calendar: 'gregory',
      numberingSystem: 'latn',
      hourCycle: 'h23',
      year: 'numeric',
      month: 'numeric',
      day: 'numeric',
      hour: 'numeric',
      minute: 'numeric',
    });
    formats.set(zone, format);
  }
  return format;
}

/** Is this an IANA zone that can be reckoned with here? @example isZone('Europe/Dublin') // true */
export function isZone(zone: string): boolean {
  try {
    formatOf(zone);
    return true;
  } catch {
    return false;
  }
}

/**
 * What calendar and clock show in a zone.
 * @param at epoch milliseconds within ±8.64e15, the range of ECMAScript dates.
 * @throws RangeError for an unknown zone or an instant outside the range.
 * @example wallTime(Date.UTC(2026, 3, 23, 7), 'Europe/Dublin') // { year: 2026, month: 4, day: 23, hour: 8, minute: 0, weekday: 4 }
 */
export function wallTime(at: number, zone: string): WallTime {
  const part = { year: 0, month: 0, day: 0, hour: 0, minute: 0 };
  for (const { type, value } of formatOf(zone).formatToParts(at)) {
    if (type in part) part[type as keyof typeof part] = Number(value);
  }
  const days = Math.floor(Date.UTC(part.year, part.month - 1, part.day) / DAY);
  return { ...part, weekday: ((((days + 3) % 7) + 7) % 7) + 1 };
}

/** Days from 1 January 1970 to a calendar date: differences of it count days, whatever the clocks do. */
export function dayNumber({ year, month, day }: CalendarDate): number {
  return Math.floor(Date.UTC(year, month - 1, day) / DAY);
}

/** Whole calendar days from one instant to another in a zone; negative when the second is earlier. */
export function daysBetween(from: number, to: number, zone: string): number {
  return dayNumber(wallTime(to, zone)) - dayNumber(wallTime(from, zone));
}

/**
 * First instant of a calendar day in a zone; where clocks skip midnight, the first instant after the gap.
 * @example startOfDay({ year: 2026, month: 4, day: 23 }, 'Europe/Dublin') // 23 April 2026, 00:00 +01:00
 */
export function startOfDay(date: CalendarDate, zone: string): number {
  const wanted = dayNumber(date);
  const clock = Date.UTC(date.year, date.month - 1, date.day);
  // Nearly always midnight with the offset in force that day; it is so where the day changes at that very instant.
  const { hour, minute, ...shown } = wallTime(clock, zone);
  const likely = clock - ((dayNumber(shown) - wanted) * 1440 + hour * 60 + minute) * MINUTE;
  if (dayNumber(wallTime(likely, zone)) >= wanted && dayNumber(wallTime(likely - 1, zone)) < wanted) return likely;
  // Offsets lie within a day of UTC, so the day begins inside this range; its local day number never falls, so bisection finds it.
  let before = clock - DAY;
  let after = before + 2 * DAY;
  while (after - before > 1) {
    const middle = Math.floor((before + after) / 2);
    if (dayNumber(wallTime(middle, zone)) >= wanted) after = middle;
    else before = middle;
  }
  return after;
}

/**
 * Week of ISO 8601: weeks begin on Monday, and week 1 holds the first Thursday of its year.
 * https://en.wikipedia.org/wiki/ISO_week_date
 * @example isoWeek(Date.UTC(2026, 11, 31), 'UTC') // { year: 2026, week: 53 }
 */
export function isoWeek(at: number, zone: string): { readonly year: number; readonly week: number } {
  const local = wallTime(at, zone);
  const thursday = new Date((dayNumber(local) - local.weekday + 4) * DAY);
  const year = thursday.getUTCFullYear();
  const firstDay = Math.floor(Date.UTC(year, 0, 1) / DAY);
  return { year, week: Math.floor((thursday.getTime() / DAY - firstDay) / 7) + 1 };
}
