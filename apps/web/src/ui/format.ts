/**
 * The one place where figures and dates become words: point or comma, names of months, the zone of the site.
 * Always: − as minus, a thin space before a unit, no relative times.
 */
import { MOST_COUNTED, sayFigure, sayNumber, THIN_SPACE } from '@heatround/domain';

/** English for now; another language changes this block only. */
const LANGUAGE = 'en-GB';
export const DECIMAL_SIGN = '.';

export const sayValue = (value: number, decimals: number): string => sayNumber(value, decimals).replace('.', DECIMAL_SIGN);
export const sayLimit = (value: number): string => sayFigure(value).replace('.', DECIMAL_SIGN);
export const sayUnit = (unit: string): string => (unit === '1' || unit === '' ? '' : `${THIN_SPACE}${unit}`);
export const withSign = (value: string, unit: string): string => `${value}${sayUnit(unit)}`;
/** A count of a list, which goes no further than MOST_COUNTED. */
export const sayCounted = (count: number): string =>
  count < MOST_COUNTED ? String(count) : `${MOST_COUNTED.toLocaleString(LANGUAGE)} or more`;
export const sayCount = (count: number, one: string, many = `${one}s`): string =>
  `${count.toLocaleString(LANGUAGE)} ${count === 1 ? one : many}`;

const formats = new Map<string, Intl.DateTimeFormat>();
function parts(at: number, zone: string): Record<string, string> {
  let format = formats.get(zone);
  if (format === undefined) {
    const options = {
      weekday: 'short',
      day: 'numeric',
      month: 'short',
      year: 'numeric',
      hour: '2-digit',
      minute: '2-digit',
    } as const;
    try {
      format = new Intl.DateTimeFormat('en-US', { ...options, hourCycle: 'h23', timeZone: zone });
    } catch {
      format = new Intl.DateTimeFormat('en-US', { ...options, hourCycle: 'h23', timeZone: 'UTC' });
    }
    formats.set(zone, format);
  }
  return Object.fromEntries(format.formatToParts(at).map((part) => [part.type, part.value]));
}
const LONG = [
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
const long = (short: string | undefined): string => LONG.find((month) => month.startsWith(short ?? '?')) ?? '';
const atOf = (when: string | number): number => (typeof when === 'number' ? when : Date.parse(when));
export const thisZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone;

/** 23 Apr; with the year when it is another one than `beside`. For tables. */
export function tableDate(when: string | number, zone: string, beside?: number): string {
  const p = parts(atOf(when), zone);
  const year = beside !== undefined && parts(beside, zone).year !== p.year ? ` ${p.year}` : '';
  return `${p.day} ${p.month}${year}`;
}
/** 11–15 May, 30 Apr to 4 May. For tables. */
export function tableRange(from: string | number, to: string | number, zone: string, beside?: number): string {
  const [first, last] = [tableDate(from, zone, beside), tableDate(to, zone, beside)];
  const [day, ...month] = first.split(' ');
  return last.endsWith(` ${month.join(' ')}`) ? `${day}–${last}` : `${first} to ${last}`;
}
/** Thu 23 April; with the year when it is another one than `beside`. For sentences. */
export function fullDate(when: string | number, zone: string, beside?: number): string {
  const p = parts(atOf(when), zone);
  const year = beside !== undefined && parts(beside, zone).year !== p.year ? ` ${p.year}` : '';
  return `${p.weekday} ${p.day} ${long(p.month)}${year}`;
}
export const yearOf = (when: string | number, zone: string): string => parts(atOf(when), zone).year ?? '';
/** 16 April; with the year when it is another one than `beside`. */
export function plainDate(when: string | number, zone: string, beside?: number): string {
  return fullDate(when, zone, beside).replace(/^\S+ /, '');
}
export const clockTime = (when: string | number, zone: string): string => {
  const p = parts(atOf(when), zone);
  return `${p.hour}:${p.minute}`;
};
export const isSameDay = (a: number, b: number, zone: string): boolean => {
  const p = parts(a, zone);
  const q = parts(b, zone);
  return p.day === q.day && p.month === q.month && p.year === q.year;
};
/** Days on which more than one of these instants fall, so that a date alone does not tell them apart. */
export function sharedDays(times: readonly (string | number)[], zone: string): (when: string | number) => boolean {
  const counts = new Map<string, number>();
  const day = (when: string | number): string => {
    const p = parts(atOf(when), zone);
    return `${p.year} ${p.month} ${p.day}`;
  };
  for (const when of times) counts.set(day(when), (counts.get(day(when)) ?? 0) + 1);
  return (when) => (counts.get(day(when)) ?? 0) > 1;
}
/** "today, 09:14" or "16 April". */
export const whenRead = (when: string | number, zone: string, now: number): string =>
  isSameDay(atOf(when), now, zone) ? `today, ${clockTime(when, zone)}` : plainDate(when, zone, now);
/** The last of several readings: with the time of day where another one was read on the same day. */
export function whenReadAmong(when: string | number, others: readonly (string | number)[], zone: string, now: number): string {
  const said = whenRead(when, zone, now);
  return said.startsWith('today') || !sharedDays(others, zone)(when) ? said : `${said}, ${clockTime(when, zone)}`;
}

export interface CalendarTick {
  readonly at: number;
  readonly year: number;
  /** 0 … 11 */
  readonly month: number;
  readonly name: string;
}
/** Starts of the months between two instants, in a zone to the day: enough for an axis. */
export function monthStarts(from: number, to: number): CalendarTick[] {
  const ticks: CalendarTick[] = [];
  const first = new Date(from);
  for (let month = first.getUTCFullYear() * 12 + first.getUTCMonth(); ; month++) {
    const at = Date.UTC(Math.floor(month / 12), month % 12, 1);
    if (at > to) return ticks;
    if (at >= from) ticks.push({ at, year: Math.floor(month / 12), month: month % 12, name: LONG[month % 12]! });
  }
}
export const sentenceCase = (text: string): string => text.charAt(0).toLocaleUpperCase(LANGUAGE) + text.slice(1);

/** "1 May" of 05-01, a day of every year. */
export const sayMonthDay = (day: string): string =>
  new Date(`2024-${day}T00:00:00Z`).toLocaleDateString(LANGUAGE, { day: 'numeric', month: 'short', timeZone: 'UTC' });

/** A role as it is spoken. @example sayRole('guest-reader') // 'guest reader' */
export const sayRole = (role: string): string => role.replace('-', ' ');
