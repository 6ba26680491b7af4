import { parseLocal, placeLocal } from './local-time.ts';

/** What is wrong with one part of a rule. */
export interface RuleProblem {
  /** Name of the part, such as BYDAY. */
  readonly part: string;
  /** What was expected, in a sentence. */
  readonly expected: string;
  /** A rule that would be accepted. */
  readonly example: string;
}

export const FREQUENCIES = ['DAILY', 'WEEKLY', 'MONTHLY', 'YEARLY'] as const;
export type Frequency = (typeof FREQUENCIES)[number];
export const RULE_DAYS = ['MO', 'TU', 'WE', 'TH', 'FR', 'SA', 'SU'] as const;

/** A rule taken apart. */
export interface RuleParts {
  readonly freq: Frequency;
  readonly interval: number;
  /** day 1 Monday … 7 Sunday; nth 0: every one, -1: the last one. */
  readonly byDay: readonly { readonly day: number; readonly nth: number }[];
  readonly byMonthDay: readonly number[];
  readonly byMonth: readonly number[];
  readonly bySetPos: readonly number[];
  readonly count: number | null;
  /** As written: YYYYMMDD, YYYYMMDDTHHMMSS or the same with Z. */
  readonly until: string | null;
}

const DATE = /^(\d{4})(\d{2})(\d{2})(?:T(\d{2})(\d{2})(\d{2})(Z)?)?$/;
/** A planned round a day for 27 years. */
const COUNT_AT_MOST = 9999;
/** Days of the longest February, and so on. */
const LONGEST = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

const EXAMPLES: Readonly<Record<string, string>> = {
  FREQ: 'FREQ=WEEKLY;BYDAY=TU',
  INTERVAL: 'FREQ=WEEKLY;INTERVAL=2;BYDAY=TH',
  BYDAY: 'FREQ=MONTHLY;BYDAY=1MO,-1FR',
  BYMONTHDAY: 'FREQ=MONTHLY;BYMONTHDAY=15,-1',
  BYMONTH: 'FREQ=WEEKLY;BYDAY=MO;BYMONTH=5,6,7,8,9',
  BYSETPOS: 'FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1',
  WKST: 'FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SU;WKST=MO',
  COUNT: 'FREQ=DAILY;COUNT=10',
  UNTIL: 'FREQ=WEEKLY;BYDAY=MO;UNTIL=20261231T225959Z',
};

/** Name and value of each part, upper case; null where a part is not NAME=value. */
function split(text: string): { readonly name: string; readonly value: string | null }[] {
  return text
    .trim()
    .toUpperCase()
    .replace(/^RRULE:/, '')
    .split(';')
    .map((part) => {
      const at = part.indexOf('=');
      return at < 1 || at === part.length - 1
        ? { name: part, value: null }
        : { name: part.slice(0, at), value: part.slice(at + 1) };
    });
}

/** Whole numbers of a list, or null when one lies outside least … most; 0 only where least is 0 or more. */
function numbersIn(value: string, least: number, most: number): number[] | null {
  const numbers = value.split(',').map((one) => (/^[+-]?\d{1,4}$/.test(one) ? Number(one) : Number.NaN));
  return numbers.every((one) => one >= least && one <= most && (one !== 0 || least >= 0)) ? numbers : null;
}

function dayOf(word: string): { day: number; nth: number } | null {
  const found = /^([+-]?\d{1,2})?(MO|TU|WE|TH|FR|SA|SU)$/.exec(word);
  if (found === null) return null;
  const nth = Number(found[1] ?? 0);
  if (found[1] !== undefined && nth === 0) return null;
  return { day: RULE_DAYS.indexOf(found[2] as (typeof RULE_DAYS)[number]) + 1, nth };
}

/** UNTIL as wall-clock or, with Z, as UTC milliseconds; a date counts to the end of its day. */
function untilOf(text: string): { readonly clock: number; readonly isUtc: boolean } | null {
  const found = DATE.exec(text);
  if (found === null) return null;
  const [, year, month, day, hour = '23', minute = '59', second = '59', utc] = found;
  const clock = parseLocal(`${year}-${month}-${day}T${hour}:${minute}:${second}`);
  return clock === null ? null : { clock, isUtc: utc !== undefined };
}

function parse(text: string): { readonly parts: RuleParts; readonly problems: readonly RuleProblem[] } {
  const problems: RuleProblem[] = [];
  const refuse = (part: string, expected: string): void => {
    problems.push({ part, expected, example: EXAMPLES[part] ?? EXAMPLES.FREQ! });
  };
  const given = new Map<string, string>();
  for (const { name, value } of split(text)) {
    if (value === null)
      refuse(name === '' ? 'FREQ' : name.slice(0, 40), 'Parts are written NAME=value and parted by one semicolon.');
    else if (given.has(name)) refuse(name, `${name} is written once; several values are parted by commas.`);
    else if (EXAMPLES[name] === undefined)
      refuse(
        name.slice(0, 40),
        `A round is planned with ${Object.keys(EXAMPLES).join(', ')}; the time of day is that of the start.`,
      );
    else given.set(name, value);
  }
  const list = (name: string, least: number, most: number, expected: string): readonly number[] => {
    const value = given.get(name);
    if (value === undefined) return [];
    const numbers = numbersIn(value, least, most);
    if (numbers === null) refuse(name, expected);
    return numbers ?? [];
  };
  const single = (name: string, most: number): number | null => {
    const numbers = list(name, 1, most, `${name} is one whole number from 1 to ${most}.`);
    if (numbers.length > 1) refuse(name, `${name} is one whole number from 1 to ${most}.`);
    return numbers[0] ?? null;
  };

  const freq = given.get('FREQ');
  const isKnown = (FREQUENCIES as readonly (string | undefined)[]).includes(freq);
  if (!isKnown) refuse('FREQ', 'FREQ is DAILY, WEEKLY, MONTHLY or YEARLY.');
  const words = given.get('BYDAY')?.split(',') ?? [];
  const byDay = words.map(dayOf);
  if (byDay.includes(null))
    refuse('BYDAY', 'BYDAY lists MO, TU, WE, TH, FR, SA, SU, with a number before it for the first (1MO) or the last (-1FR).');
  const days = byDay.filter((one) => one !== null);
  const byMonthDay = list('BYMONTHDAY', -31, 31, 'BYMONTHDAY lists days from 1 to 31, or from -1 (the last) to -31.');
  const byMonth = list('BYMONTH', 1, 12, 'BYMONTH lists months from 1 to 12.');
  const bySetPos = list('BYSETPOS', -366, 366, 'BYSETPOS lists places from 1 to 366, or from -1 (the last) to -366.');
  const weekStart = given.get('WKST');
  if (weekStart !== undefined && !(RULE_DAYS as readonly string[]).includes(weekStart))
    refuse('WKST', 'WKST is the day on which the week begins: MO, TU, WE, TH, FR, SA or SU.');
  const count = single('COUNT', COUNT_AT_MOST);
  const until = given.get('UNTIL') ?? null;
  if (until !== null && untilOf(until) === null)
    refuse('UNTIL', 'UNTIL is a day (20261231) or a time in UTC (20261231T225959Z).');
  if (until !== null && given.has('COUNT')) refuse('UNTIL', 'A rule ends by COUNT or by UNTIL, not by both.');

  const numbered = days.filter(({ nth }) => nth !== 0);
  const perMonth = freq === 'MONTHLY' || byMonth.length > 0;
  if (numbered.length > 0 && freq !== 'MONTHLY' && freq !== 'YEARLY')
    refuse('BYDAY', 'The first (1MO) or last (-1FR) of something needs FREQ=MONTHLY or YEARLY.');
  else if (numbered.some(({ nth }) => Math.abs(nth) > (perMonth ? 5 : 53)))
    refuse('BYDAY', `A ${perMonth ? 'month has at most 5' : 'year has at most 53'} of each weekday.`);
  if (byMonthDay.length > 0 && freq === 'WEEKLY') refuse('BYMONTHDAY', 'Days of the month need FREQ=MONTHLY, YEARLY or DAILY.');
  if (bySetPos.length > 0 && days.length + byMonthDay.length + byMonth.length === 0)
    refuse('BYSETPOS', 'BYSETPOS picks from what BYDAY, BYMONTHDAY or BYMONTH lists; one of them is missing.');
  const months = byMonth.length > 0 ? byMonth : LONGEST.map((_, index) => index + 1);
  if (byMonthDay.length > 0 && byMonthDay.every((day) => months.every((month) => Math.abs(day) > LONGEST[month - 1]!)))
    refuse('BYMONTHDAY', 'None of these months has such a day, so no round would ever be planned.');
  const interval = single('INTERVAL', 999) ?? 1;
  return {
    parts: { freq: (isKnown ? freq : 'DAILY') as Frequency, interval, byDay: days, byMonthDay, byMonth, bySetPos, count, until },
    problems,
  };
}

/**
 * What is wrong with a rule; empty when rounds can be planned by it. Accepted are the parts of RFC 5545 that planning needs:
 * FREQ from DAILY to YEARLY, INTERVAL, BYDAY, BYMONTHDAY, BYMONTH, BYSETPOS, WKST and COUNT or UNTIL. Hours and seconds, weeks of
 * the year and days of the year are refused, and so is a rule that can never come true, such as 30 February.
 * @example checkRule('FREQ=HOURLY') // [{ part: 'FREQ', expected: 'FREQ is DAILY, WEEKLY, MONTHLY or YEARLY.', example: 'FREQ=WEEKLY;BYDAY=TU' }]
 */
export function checkRule(text: string): readonly RuleProblem[] {
  return parse(text).problems;
}

/**
 * A rule taken apart.
 * @throws RangeError where checkRule has something to say.
 * @example partsOfRule('FREQ=WEEKLY;INTERVAL=2;BYDAY=TH').interval // 2
 */
export function partsOfRule(text: string): RuleParts {
  const { parts, problems } = parse(text);
  const [first] = problems;
  if (first !== undefined) throw new RangeError(`${first.part}: ${first.expected} Example: ${first.example}`);
  return parts;
}

/**
 * The instant after which a rule plans nothing more; null when it names none. A day counts to its end on the wall clock.
 * @throws RangeError where checkRule has something to say.
 */
export function lastInstantOf(rule: string, zone: string): number | null {
  const { until } = partsOfRule(rule);
  const end = until === null ? null : untilOf(until)!;
  if (end === null) return null;
  return end.isUtc ? end.clock : placeLocal(end.clock, zone).at;
}

/**
 * A rule without its end, as a plain list of parts. For the counting, which does not know the zone that UNTIL depends on.
 * @example ruleWithoutEnd('RRULE:FREQ=DAILY;UNTIL=20261231') // 'FREQ=DAILY'
 */
export function ruleWithoutEnd(rule: string): string {
  return split(rule)
    .filter(({ name }) => name !== 'UNTIL')
    .map(({ name, value }) => `${name}=${value}`)
    .join(';');
}
