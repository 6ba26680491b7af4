import { checkRule, RULE_DAYS } from '@heatround/domain';

const DAYS = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'];
const WORKING_DAYS = 'MO,TU,WE,TH,FR';
const ADVERBS: Readonly<Record<string, string>> = {
  daily: 'every day',
  weekly: 'every week',
  fortnightly: 'every second week',
  monthly: 'every month',
  quarterly: 'every third month',
  yearly: 'every year',
  annually: 'every year',
};
const NUMBERS: readonly (readonly string[])[] = [
  ['first', '1st', 'one'],
  ['second', '2nd', 'two', 'other'],
  ['third', '3rd', 'three'],
  ['fourth', '4th', 'four'],
  ['fifth', '5th', 'five'],
  ['sixth', '6th', 'six'],
  ['seventh', '7th', 'seven'],
  ['eighth', '8th', 'eight'],
  ['ninth', '9th', 'nine'],
  ['tenth', '10th', 'ten'],
  ['eleventh', '11th', 'eleven'],
  ['twelfth', '12th', 'twelve'],
];
const EXPECTED =
  'How often, such as every Tuesday, every second Thursday, every working day, every month on the first Monday; or a rule of RFC 5545 such as FREQ=WEEKLY;BYDAY=TU.';

/** @example numberOf('second') // 2 */
function numberOf(word: string): number | null {
  const at = NUMBERS.findIndex((words) => words.includes(word));
  if (at >= 0) return at + 1;
  const found = /^(\d{1,2})(st|nd|rd|th)?$/.exec(word);
  return found === null || Number(found[1]) === 0 ? null : Number(found[1]);
}

const listOf = (text: string): string[] => text.split(/\s*(?:,|\band\b|&)\s*/).filter((one) => one !== '');
const dayOf = (word: string): string | null => {
  const at = DAYS.findIndex(
    (day) => word === day || word === `${day}s` || (word.length >= 2 && word.length <= 4 && day.startsWith(word)),
  );
  return at < 0 ? null : RULE_DAYS[at]!;
};
function daysOf(text: string): string | null {
  const days = listOf(text.replace(/\bevery /g, '')).map(dayOf);
  return days.length === 0 || days.includes(null) ? null : days.join(',');
}

/** A place within a month: the first Monday, the last working day, the 15th and last day. */
function placeOf(text: string): string | null {
  const plain = text.replace(/\bthe /g, '').trim();
  const working = /^(.+) (?:working day|weekday)$/.exec(plain);
  if (working) {
    const nth = nthOf(working[1]!);
    return nth === null ? null : `;BYDAY=${WORKING_DAYS};BYSETPOS=${nth}`;
  }
  const named = listOf(plain).map((one) => {
    const found = /^(.+) (\w+)$/.exec(one);
    const nth = found && nthOf(found[1]!);
    const day = found && dayOf(found[2]!);
    return nth && day && Math.abs(nth) <= 5 ? `${nth}${day}` : null;
  });
  if (named.length > 0 && !named.includes(null)) return `;BYDAY=${named.join(',')}`;
  const dates = listOf(plain).map((one) => nthOf(one.replace(/ day$/, '')));
  return dates.length === 0 || dates.some((date) => date === null || Math.abs(date) > 31)
    ? null
    : `;BYMONTHDAY=${dates.join(',')}`;
}
const nthOf = (text: string): number | null => {
  if (text === 'last') return -1;
  const before = /^(\S+) last$/.exec(text);
  const number = numberOf(before ? before[1]! : text);
  return number === null ? null : before ? -number : number;
};

function ruleInWords(text: string): string | null {
  const plain = text
    .toLowerCase()
    .replace(/\s+/g, ' ')
    .replace(/[.;]+$/, '')
    .replace(/^each /, 'every ')
    .trim();
  const said = ADVERBS[plain.split(' ')[0]!] === undefined ? plain : plain.replace(/^\S+/, ADVERBS[plain.split(' ')[0]!]!);
  if (/^every (working day|weekday)s?$/.test(said)) return `FREQ=WEEKLY;BYDAY=${WORKING_DAYS}`;
  const ofMonth = /^(?:on |every )?(?:the )?(.+) of (?:every|each|the) (?:(\S+) )?months?$/.exec(said);
  const turned = ofMonth ? `every ${ofMonth[2] === undefined ? '' : `${ofMonth[2]} `}month on the ${ofMonth[1]}` : said;
  const period = /^every (?:(\S+) )?(day|week|month|year)s?(?: on (.+))?$/.exec(turned);
  if (period) {
    const [, count, unit, place] = period;
    const interval = count === undefined ? 1 : numberOf(count);
    if (interval === null) return null;
    const every = interval === 1 ? '' : `;INTERVAL=${interval}`;
    if (unit === 'week') {
      const days = place === undefined ? '' : daysOf(place);
      return days === null ? null : `FREQ=WEEKLY${every}${days === '' ? '' : `;BYDAY=${days}`}`;
    }
    if (unit === 'month') {
      const where = place === undefined ? '' : placeOf(place);
      return where === null ? null : `FREQ=MONTHLY${every}${where}`;
    }
    return place === undefined ? `FREQ=${unit === 'day' ? 'DAILY' : 'YEARLY'}${every}` : null;
  }
  const days = /^every (?:(\S+) )?(.+)$/.exec(turned);
  if (!days) return null;
  const all = daysOf(turned.replace(/^every /, ''));
  if (all !== null) return `FREQ=WEEKLY;BYDAY=${all}`;
  const interval = days[1] === undefined ? null : numberOf(days[1]);
  const some = daysOf(days[2]!);
  return interval === null || some === null ? null : `FREQ=WEEKLY;INTERVAL=${interval};BYDAY=${some}`;
}

/**
 * The rule that a cell means: one of RFC 5545, or plain words as they are said back.
 * @example ruleOf('every second Thursday') // { rule: 'FREQ=WEEKLY;INTERVAL=2;BYDAY=TH' }
 */
export function ruleOf(text: string): { readonly rule: string } | { readonly expected: string } {
  const rule = /freq\s*=/i.test(text) ? text.trim() : ruleInWords(text);
  if (rule === null || text.trim() === '') return { expected: EXPECTED };
  const [problem] = checkRule(rule);
  return problem === undefined ? { rule } : { expected: `${problem.part}: ${problem.expected} Example: ${problem.example}` };
}
