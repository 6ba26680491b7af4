import { sayDate } from '../time/index.ts';
import { lastInstantOf, partsOfRule, type RuleParts } from './rule.ts';

const DAYS = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'];
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
const WORDS = ['', 'first', 'second', 'third', 'fourth', 'fifth'];
const WORKING_DAYS = '1,2,3,4,5';

/** first, second … fifth, 6th; from the end: last, second last. */
function nthWord(n: number): string {
  if (n === -1) return 'last';
  if (n < 0) return `${nthWord(-n)} last`;
  return WORDS[n] ?? ordinal(n);
}

function ordinal(n: number): string {
  const teen = n % 100 >= 11 && n % 100 <= 13;
  return `${n}${teen ? 'th' : (['th', 'st', 'nd', 'rd'][n % 10] ?? 'th')}`;
}

function joined(words: readonly string[], last = 'and'): string {
  return words.length < 2 ? (words[0] ?? '') : `${words.slice(0, -1).join(', ')} ${last} ${words.at(-1)}`;
}

/** "every week", "every second week", "every 6th week". */
function every(interval: number, unit: string): string {
  if (interval === 1) return `every ${unit}`;
  return `every ${WORDS[interval] ?? ordinal(interval)} ${unit}`;
}

function isWorkingDays({ byDay }: RuleParts): boolean {
  return byDay.every(({ nth }) => nth === 0) && [...new Set(byDay.map(({ day }) => day))].sort().join() === WORKING_DAYS;
}

/** Months in a row as a span ("May to September"), else as a list. */
function monthWords(months: readonly number[]): string {
  const sorted = [...new Set(months)].sort((a, b) => a - b);
  // A span over the turn of the year begins after the only hole.
  const from = sorted.findIndex((month, index) => index > 0 && month !== sorted[index - 1]! + 1);
  const turned = from > 0 ? [...sorted.slice(from), ...sorted.slice(0, from)] : sorted;
  const inARow = turned.every((month, index) => index === 0 || month === (turned[index - 1]! % 12) + 1);
  const names = turned.map((month) => MONTHS[month - 1]!);
  return inARow && names.length > 2 ? `${names[0]} to ${names.at(-1)}` : joined(sorted.map((month) => MONTHS[month - 1]!));
}

function monthDayWords(days: readonly number[]): string {
  return joined(days.map((day) => (day > 0 ? ordinal(day) : `${nthWord(day)} day`)));
}

/** Which days of the period: "the first Monday", "the 15th and last day"; empty when the rule names none. */
function placeWords(parts: RuleParts): string {
  const { byDay, byMonthDay, bySetPos } = parts;
  if (bySetPos.length > 0) {
    const what = isWorkingDays(parts)
      ? 'working day'
      : joined(byDay.length > 0 ? byDay.map(dayWord) : [monthDayWords(byMonthDay)], 'or');
    return what === '' ? '' : `the ${joined(bySetPos.map(nthWord))} ${what}`;
  }
  const days = byDay.map((one) => (one.nth === 0 ? `every ${DAYS[one.day - 1]}` : `the ${dayWord(one)}`));
  if (byMonthDay.length === 0) return joined(days);
  const dates = `the ${monthDayWords(byMonthDay)}`;
  return days.length === 0 ? dates : `${dates} where it is a ${joined(byDay.map(dayWord), 'or')}`;
}

function dayWord({ day, nth }: { readonly day: number; readonly nth: number }): string {
  return nth === 0 ? DAYS[day - 1]! : `${nthWord(nth)} ${DAYS[day - 1]}`;
}

function said(parts: RuleParts): string {
  const { freq, interval, byDay, byMonth, byMonthDay } = parts;
  const seasonal = byMonth.length === 0 ? '' : `, ${monthWords(byMonth)}`;
  if (parts.bySetPos.length === 0 && byMonthDay.length === 0 && (freq === 'WEEKLY' || (freq === 'DAILY' && interval === 1))) {
    if (byDay.length === 0) return `${every(interval, freq === 'DAILY' ? 'day' : 'week')}${seasonal}`;
    if (isWorkingDays(parts) && interval === 1) return `every working day${seasonal}`;
    const names = joined(byDay.map(dayWord));
    if (interval === 1) return `every ${names}${seasonal}`;
    return `${byDay.length === 1 ? every(interval, names) : `${every(interval, 'week')} on ${names}`}${seasonal}`;
  }
  const place = placeWords(parts);
  if (freq === 'YEARLY') {
    const months =
      byMonth.length === 0 ? '' : ` ${place === '' ? 'in' : 'of'} ${joined(byMonth.map((month) => MONTHS[month - 1]!))}`;
    return `${every(interval, 'year')}${place === '' ? '' : ` on ${place}`}${months}`;
  }
  const unit = freq === 'DAILY' ? 'day' : freq === 'WEEKLY' ? 'week' : 'month';
  return `${every(interval, unit)}${place === '' ? '' : ` on ${place}`}${seasonal}`;
}

/**
 * A rule in plain words, for people who never saw one. The time of day and the first day belong to the start, not to the rule,
 * and are said beside it.
 * @param zone in which the last day is said.
 * @throws RangeError where checkRule has something to say.
 * @example sayRule('FREQ=WEEKLY;INTERVAL=2;BYDAY=TH', 'Europe/Dublin') // 'every second Thursday'
 */
export function sayRule(rule: string, zone: string): string {
  const parts = partsOfRule(rule);
  const last = lastInstantOf(rule, zone);
  const end = last === null ? '' : `, until ${sayDate(last, zone, 0)}`;
  const times = parts.count === null ? '' : `, ${parts.count === 1 ? 'once' : `${parts.count} times`}`;
  return `${said(parts)}${times}${end}`;
}
