export const DATE_ORDERS = ['day-first', 'month-first'] as const;
export type DateOrder = (typeof DATE_ORDERS)[number];

export interface TimeRules {
  /** IANA zone of times without their own. */
  readonly zone: string;
  /** Time of day for dates without one, such as 08:00; null: such dates are refused. */
  readonly hour: string | null;
  /** How 03/04/2025 is meant; null: such dates are refused. */
  readonly dateOrder: DateOrder | null;
}

export type ReadTime = { readonly at: number; readonly existsTwice: boolean } | { readonly expected: string };

const EXAMPLE = '2025-04-03 09:14 or 2025-04-03T09:14:00+01:00';
const DAY = 86_400_000;
const MONTHS = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec'];
const FULL_MONTHS = [
  'january',
  'february',
  'march',
  'april',
  'may',
  'june',
  'july',
  'august',
  'september',
  'october',
  'november',
  'december',
];

/**
 * Reads a date with or without a time of day, as files hold them: ISO with or without zone, 02.12.2013 (the day first),
 * 2 Dec 2013, and 03/04/2025 where the rules or the figures say which is the day. Numbers (45000.5) are refused: a spreadsheet's
 * day count has two starts, and a guess would move everything by four years.
 *
 * Times without their own zone are clock times of the given zone. A clock time that exists twice, when clocks go back, is the
 * first one, and marked; one that does not exist, when clocks go forward, is refused, since it says that the zone is wrong.
 */
export function readTime(text: string, rules: TimeRules): ReadTime {
  const plain = text
    .normalize('NFKC')
    .replace(/[\s\u202f\u00a0]+/g, ' ')
    .trim();
  if (plain === '') return { expected: `A date, such as ${EXAMPLE}.` };
  if (/^[+-]?\d+([.,]\d+)?$/.test(plain)) {
    return {
      expected: `A date, such as ${EXAMPLE}. This is a number, as spreadsheets store dates: give the column a date format before saving it as CSV.`,
    };
  }
  const date = readDate(plain, rules.dateOrder);
  if ('expected' in date) return date;
  const { year, month, day, rest } = date;
  const midnight = Date.UTC(year, month - 1, day);
  const real = new Date(midnight);
  if (real.getUTCMonth() !== month - 1 || real.getUTCDate() !== day || year < 1970) {
    return { expected: `A day of the calendar since 1970, such as ${EXAMPLE}.` };
  }
  if (rest === '' && rules.hour === null) {
    return { expected: `A date with a time of day, such as ${EXAMPLE}; or one hour for the whole file.` };
  }
  const clock = readClock(rest === '' ? rules.hour! : rest);
  if (clock === null) return { expected: `A time of day behind the date, such as ${EXAMPLE}.` };
  const local = midnight + clock.ms;
  if (clock.offsetMs !== null) return { at: local - clock.offsetMs, existsTwice: false };
  const instants = instantsOf(local, rules.zone);
  if (instants.length === 0) {
    return {
      expected: `A time that exists: clocks in ${rules.zone} go forward over this one. Give times with their offset (09:14+01:00), or the zone of the logger, such as UTC, for the whole file.`,
    };
  }
  return { at: instants[0]!, existsTwice: instants.length > 1 };
}

interface ReadDate {
  readonly year: number;
  readonly month: number;
  readonly day: number;
  readonly rest: string;
}

function readDate(text: string, order: DateOrder | null): ReadDate | { expected: string } {
  const iso = /^(\d{4})([-/.])(\d{1,2})\2(\d{1,2})(?:[T ](.*))?$/i.exec(text);
  if (iso) return dated(iso[1]!, iso[3]!, iso[4]!, iso[5]);
  const dots = /^(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})(?:,?[T ](.*))?$/i.exec(text);
  if (dots) return dated(dots[3]!, dots[2]!, dots[1]!, dots[4]);
  const dayMonth = /^(\d{1,2})(?:st|nd|rd|th)?[ -]([a-z]{3,9})\.?,?[ -](\d{4})(?:,?[T ](.*))?$/i.exec(text);
  if (dayMonth && monthOf(dayMonth[2]!)) return dated(dayMonth[3]!, String(monthOf(dayMonth[2]!)), dayMonth[1]!, dayMonth[4]);
  const monthDay = /^([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4})(?:,?[T ](.*))?$/i.exec(text);
  if (monthDay && monthOf(monthDay[1]!)) return dated(monthDay[3]!, String(monthOf(monthDay[1]!)), monthDay[2]!, monthDay[4]);
  const either = /^(\d{1,2})([/-])(\d{1,2})\2(\d{4})(?:,?[T ](.*))?$/i.exec(text);
  if (!either) return { expected: `A date, such as ${EXAMPLE}.` };
  const [first, second] = [Number(either[1]), Number(either[3])];
  const dayFirst = order === 'day-first' || (order === null && (first > 12 || first === second));
  const monthFirst = order === 'month-first' || (order === null && second > 12);
  if (!dayFirst && !monthFirst) {
    return {
      expected: `A date that can be read in one way only, such as ${EXAMPLE}; or say for the whole file whether the day or the month comes first.`,
    };
  }
  return dayFirst ? dated(either[4]!, either[3]!, either[1]!, either[5]) : dated(either[4]!, either[1]!, either[3]!, either[5]);
}

const dated = (year: string, month: string, day: string, rest: string | undefined): ReadDate => ({
  year: Number(year),
  month: Number(month),
  day: Number(day),
  rest: rest?.trim() ?? '',
});

function monthOf(word: string): number | null {
  const lower = word.toLowerCase();
  const index = lower === 'sept' ? 8 : lower.length === 3 ? MONTHS.indexOf(lower) : FULL_MONTHS.indexOf(lower);
  return index < 0 ? null : index + 1;
}

const CLOCK = /^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?\s?(am|pm)?\s?(z|utc|gmt|[+-]\d{2}(?::?\d{2})?)?$/i;

/** Time of day in milliseconds, and its offset where it has one. @example readClock('2:30 pm') // { ms: 52200000, offsetMs: null } */
function readClock(text: string): { ms: number; offsetMs: number | null } | null {
  const match = CLOCK.exec(text);
  if (!match) return null;
  const [, hourText, minuteText, secondText = '0', fraction = '', half, zone] = match;
  let hour = Number(hourText);
  const minute = Number(minuteText);
  const second = Number(secondText);
  if (half) {
    if (hour < 1 || hour > 12) return null;
    hour = (hour % 12) + (half.toLowerCase() === 'pm' ? 12 : 0);
  }
  if (hour > 23 || minute > 59 || second > 59) return null;
  const ms = ((hour * 60 + minute) * 60 + second) * 1000 + Number(fraction.slice(0, 3).padEnd(3, '0'));
  if (zone === undefined) return { ms, offsetMs: null };
  const sign = zone.startsWith('-') ? -1 : 1;
  const digits = zone.replace(/\D/g, '').padEnd(4, '0');
  const [hours, minutes] = [Number(digits.slice(0, 2)), Number(digits.slice(2, 4))];
  if (hours > 14 || minutes > 59) return null;
  return { ms, offsetMs: sign * (hours * 60 + minutes) * 60_000 };
}

/** Is this a time of day? @example isHour('08:00') // true */
export function isHour(text: string): boolean {
  const clock = readClock(text);
  return clock !== null && clock.offsetMs === null;
}

/** The moments at which clocks of a zone show this, earliest first: one, two when clocks go back, none when they go forward. */
function instantsOf(local: number, zone: string): number[] {
  const offsets = new Set([offsetAt(local - DAY, zone), offsetAt(local + DAY, zone)]);
  const found = [...offsets].map((offset) => local - offset).filter((at) => offsetAt(at, zone) === local - at);
  return found.sort((a, b) => a - b);
}

const formats = new Map<string, Intl.DateTimeFormat>();
const offsets = new Map<string, number>();
const QUARTER = 900_000;

/** Milliseconds by which clocks of the zone are ahead of UTC; remembered by the quarter of an hour, since zones change only there. */
function offsetAt(at: number, zone: string): number {
  const quarter = Math.floor(at / QUARTER) * QUARTER;
  const key = `${zone} ${quarter}`;
  const known = offsets.get(key);
  if (known !== undefined) return known;
  const part: Record<string, number> = {};
  for (const { type, value } of formatOf(zone).formatToParts(quarter)) part[type] = Number(value);
  const shown = Date.UTC(part.year!, part.month! - 1, part.day!, part.hour!, part.minute!, part.second!);
  if (offsets.size > 50_000) offsets.clear();
  offsets.set(key, shown - quarter);
  return shown - quarter;
}

function formatOf(zone: string): Intl.DateTimeFormat {
  let format = formats.get(zone);
  if (!format) {
    const all = {
      year: 'numeric',
      month: 'numeric',
      day: 'numeric',
      hour: 'numeric',
      minute: 'numeric',
      second: 'numeric',
    } as const;
    format = new Intl.DateTimeFormat('en-GB', {
      timeZone: zone,
      calendar: 'gregory',
      numberingSystem: 'latn',
      hourCycle: 'h23',
      ...all,
    });
    formats.set(zone, format);
  }
  return format;
}

/** Is this a zone we can reckon with? */
export function isZone(zone: string): boolean {
  try {
    formatOf(zone);
    return true;
  } catch {
    return false;
  }
}
