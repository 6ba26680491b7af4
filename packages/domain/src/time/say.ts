import { wallTime } from './calendar.ts';

const WEEKDAYS = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'];
const MONTHS = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];

/** @param month 1 to 12. @example sayMonth(5) // 'May' */
export function sayMonth(month: number): string {
  return MONTHS[month - 1]!;
}

/** The year is said only where it differs from that of `relativeTo`. */
function yearWord(year: number, zone: string, relativeTo: number | undefined): string {
  return relativeTo === undefined || wallTime(relativeTo, zone).year === year ? '' : ` ${year}`;
}

/**
 * A date as it is spoken.
 * @param relativeTo an instant whose year needs no saying; left out, no year is said.
 * @example sayDate(at, 'Europe/Dublin') // 'Thu 23 April'
 */
export function sayDate(at: number, zone: string, relativeTo?: number): string {
  const { year, month, day, weekday } = wallTime(at, zone);
  return `${WEEKDAYS[weekday - 1]} ${day} ${MONTHS[month - 1]}${yearWord(year, zone, relativeTo)}`;
}

/** A date without its weekday, for ranges. @example sayDay(at, 'Europe/Dublin') // '23 April' */
export function sayDay(at: number, zone: string, relativeTo?: number): string {
  const { year, month, day } = wallTime(at, zone);
  return `${day} ${MONTHS[month - 1]}${yearWord(year, zone, relativeTo)}`;
}

/** A date for tables. @example sayShortDate(at, 'Europe/Dublin') // '23 Apr' */
export function sayShortDate(at: number, zone: string): string {
  const { month, day } = wallTime(at, zone);
  return `${day} ${MONTHS[month - 1]!.slice(0, 3)}`;
}

/** A time of day. @example sayTime(at, 'Europe/Dublin') // '09:14' */
export function sayTime(at: number, zone: string): string {
  const { hour, minute } = wallTime(at, zone);
  return `${String(hour).padStart(2, '0')}:${String(minute).padStart(2, '0')}`;
}

/** Up to this precision a day is named, up to the second a third of a month, beyond it the month. */
const DAY_PRECISION = 3.5;
const THIRD_PRECISION = 15;

/**
 * A date no finer than it is known: a day, a third of a month, a month, or beyond two months' doubt the year.
 * @param precisionDays how finely the date is known.
 * @example sayAbout(at, 'Europe/Dublin', 1) // '23 April'
 * @example sayAbout(at, 'Europe/Dublin', 6) // 'late April'
 */
export function sayAbout(at: number, zone: string, precisionDays: number, relativeTo?: number): string {
  if (precisionDays <= DAY_PRECISION) return sayDay(at, zone, relativeTo);
  const { year, month, day } = wallTime(at, zone);
  const said = yearWord(year, zone, relativeTo);
  if (precisionDays > 60) return String(year);
  if (precisionDays > THIRD_PRECISION) return `${MONTHS[month - 1]}${said}`;
  return `${day <= 10 ? 'early' : day <= 20 ? 'mid' : 'late'} ${MONTHS[month - 1]}${said}`;
}
