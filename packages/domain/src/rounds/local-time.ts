import { type CalendarDate, dayNumber, startOfDay, wallTime } from '../time/index.ts';

/** A wall-clock time in a zone, as an instant. */
export interface PlacedTime {
  /** Epoch milliseconds. */
  readonly at: number;
  /** What the clock shows at that instant, such as 2026-03-29T04:30:00. */
  readonly local: string;
  /** The time that was asked for, where a clock change swallows it; null: it exists. */
  readonly movedFrom: string | null;
}

const DAY = 86_400_000;
const MINUTE = 60_000;
const LOCAL = /^(\d{4})-(\d{2})-(\d{2})T(\d{2}):(\d{2})(?::(\d{2}))?$/;

/**
 * Reads a local time as if it were UTC: milliseconds that count days and minutes of the wall clock, whatever the zone.
 * @param text YYYY-MM-DDTHH:MM or with :SS, of a day that exists; years 1900 to 9999.
 * @returns null for anything else, 30 February and 24:00 included.
 * @example parseLocal('1970-01-02T00:00') // 86400000
 */
export function parseLocal(text: string): number | null {
  const found = LOCAL.exec(text);
  if (found === null) return null;
  const [year, month, day, hour, minute, second] = found.slice(1).map((part) => Number(part ?? 0));
  const clock = Date.UTC(year!, month! - 1, day!, hour!, minute!, second!);
  const isReal = year! >= 1900 && hour! <= 23 && minute! <= 59 && second! <= 59;
  return isReal && sayLocal(clock) === `${text.slice(0, 16)}:${found[6] ?? '00'}` ? clock : null;
}

/** The text of a wall-clock time; the reverse of parseLocal. @example sayLocal(86_400_000) // '1970-01-02T00:00:00' */
export function sayLocal(clock: number): string {
  return new Date(clock).toISOString().slice(0, 19);
}

/** How far the clocks of a zone are ahead of UTC at an instant, in milliseconds, whole minutes. */
function offsetAt(at: number, zone: string): number {
  const shown = wallTime(at, zone);
  return dayNumber(shown) * DAY + (shown.hour * 60 + shown.minute) * MINUTE - Math.floor(at / MINUTE) * MINUTE;
}

/**
 * The instant at which a wall clock in a zone shows a time. A time shown twice (clocks put back) is the first of the two. A time
 * that is never shown (clocks put forward) is read with the offset in force before the change, so it moves by the length of the
 * gap. RFC 5545 section 3.3.5, https://www.rfc-editor.org/rfc/rfc5545#section-3.3.5
 *
 * @param clock as from parseLocal. @param zone IANA; throws RangeError for an unknown one.
 * @example placeLocal(parseLocal('2026-03-29T03:30')!, 'Europe/Helsinki') // { at: 01:30 UTC, local: '2026-03-29T04:30:00', movedFrom: '2026-03-29T03:30:00' }
 */
export function placeLocal(clock: number, zone: string): PlacedTime {
  // Offsets lie between -12 and +14 hours, so a day earlier is surely before the instant, and a day later surely after it.
  const before = offsetAt(clock - DAY, zone);
  const after = offsetAt(clock + DAY, zone);
  const shown = [clock - before, clock - after].filter((at) => offsetAt(at, zone) === clock - at);
  if (shown.length > 0) return { at: Math.min(...shown), local: sayLocal(clock), movedFrom: null };
  const at = clock - before;
  return { at, local: sayLocal(at + offsetAt(at, zone)), movedFrom: sayLocal(clock) };
}

/**
 * Last millisecond of a calendar day in a zone, so that a date said from it names that day.
 * @param date a day beyond the end of its month counts on into the next.
 */
export function endOfDay(date: CalendarDate, zone: string): number {
  return startOfDay({ ...date, day: date.day + 1 }, zone) - 1;
}
