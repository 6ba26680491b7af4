import { partsOfRule, type RoundWindow, RULE_DAYS } from '@heatround/domain';

/** How often, as the form asks it; anything else is written as a rule. */
export interface Often {
  readonly kind: 'weeks' | 'month-day' | 'month-date' | 'own';
  /** Every n weeks or months. */
  readonly every: number;
  /** 1 Monday … 7 Sunday. */
  readonly days: readonly number[];
  /** 1 … 4, or -1 for the last. */
  readonly nth: number;
  /** 1 … 31, or -1 for the last day. */
  readonly date: number;
  readonly own: string;
}
export const OFTEN: Often = { kind: 'weeks', every: 1, days: [2], nth: 1, date: 1, own: '' };

/** @example ruleOf({ ...OFTEN, every: 2, days: [4] }) // 'FREQ=WEEKLY;INTERVAL=2;BYDAY=TH' */
export function ruleOf(often: Often): string {
  const interval = often.every > 1 ? `;INTERVAL=${often.every}` : '';
  const names = [...often.days].sort((a, b) => a - b).map((day) => RULE_DAYS[day - 1]!);
  switch (often.kind) {
    case 'weeks':
      return `FREQ=WEEKLY${interval};BYDAY=${names.join(',')}`;
    case 'month-day':
      return `FREQ=MONTHLY${interval};BYDAY=${often.nth}${names[0] ?? 'MO'}`;
    case 'month-date':
      return `FREQ=MONTHLY${interval};BYMONTHDAY=${often.date}`;
    case 'own':
      return often.own.trim();
  }
}

/** The form for a rule; what its fields cannot say stays a written rule. */
export function oftenOf(rule: string): Often {
  const own: Often = { ...OFTEN, kind: 'own', own: rule };
  let guess: Often;
  try {
    const { freq, interval, byDay, byMonthDay } = partsOfRule(rule);
    if (freq === 'WEEKLY' && byDay.length > 0) guess = { ...OFTEN, every: interval, days: byDay.map(({ day }) => day) };
    else if (freq === 'MONTHLY' && byDay.length === 1)
      guess = { ...OFTEN, kind: 'month-day', every: interval, days: [byDay[0]!.day], nth: byDay[0]!.nth };
    else if (freq === 'MONTHLY' && byMonthDay.length === 1)
      guess = { ...OFTEN, kind: 'month-date', every: interval, date: byMonthDay[0]! };
    else return own;
  } catch {
    return own;
  }
  const normal = (text: string): string =>
    text
      .toUpperCase()
      .replace(/^RRULE:/, '')
      .replace(/;WKST=MO\b/, '')
      .split(';')
      .sort()
      .join(';');
  return normal(ruleOf(guess)) === normal(rule) ? guess : own;
}

/** "the day, 1 day before to 1 day after", "the week", "2 h before to 2 h after". */
export function sayWindowRule(window: RoundWindow): string {
  if (window.kind === 'week') return 'the whole week, Monday to Sunday';
  if (window.kind === 'days') {
    const { daysBefore, daysAfter } = window;
    if (daysBefore + daysAfter === 0) return 'that day';
    const days = (count: number): string => `${count} ${count === 1 ? 'day' : 'days'}`;
    if (daysBefore === daysAfter) return `that day, ${days(daysBefore)} before and after`;
    if (daysAfter === 0) return `that day or up to ${days(daysBefore)} before`;
    if (daysBefore === 0) return `that day or up to ${days(daysAfter)} after`;
    return `${days(daysBefore)} before to ${days(daysAfter)} after`;
  }
  return `${sayMinutes(window.minutesBefore)} before to ${sayMinutes(window.minutesAfter)} after that time`;
}
export const sayMinutes = (minutes: number): string =>
  minutes % 60 === 0
    ? `${minutes / 60} h`
    : minutes < 60
      ? `${minutes} min`
      : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
export const sayGrace = (graceMs: number | null): string =>
  graceMs === null
    ? 'half its window'
    : graceMs % 86_400_000 === 0 && graceMs > 0
      ? `${graceMs / 86_400_000} d`
      : sayMinutes(Math.round(graceMs / 60_000));

/** Moves one of a list by a step; unchanged at the ends. */
export function moved<T>(list: readonly T[], from: number, by: number): readonly T[] {
  const to = from + by;
  if (to < 0 || to >= list.length) return list;
  const next = [...list];
  [next[from], next[to]] = [next[to]!, next[from]!];
  return next;
}
export const MONTHS = [
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
export const DAYS = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'];
