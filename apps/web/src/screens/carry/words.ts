import type { FindingLine, OrderLine } from '@heatround/contract';
import { daysBetween, MOST_COUNTED, TREND_WORDS, trendAt } from '@heatround/domain';
import type { Answer } from '../../client/index.ts';
import { clockTime, fullDate, isSameDay, plainDate, sayCounted, sayUnit, sayValue, sentenceCase } from '../../ui/format.ts';
import { sayOverdue, saySituation } from '../../ui/planning/situation.ts';
import type { StripContent } from '../../ui/planning/strip.tsx';
import { countingOf } from '../../ui/planning/view.ts';
import { sayDays, sayNumberWord, stopped } from '../../ui/planning/words.ts';

export type Carry = Answer<'getCarry'>;
export type Line = OrderLine | FindingLine;
export type Decision = Carry['decisions'][number];
type Cause = Carry['seen']['points']['worst'][number]['cause'];

export const isOrder = (line: Line): line is OrderLine => 'order' in line;

/** A line by where the page names it. */
export function linesOf(carry: Carry): (ref: { kind: 'finding' | 'order'; id: string }) => Line | null {
  const byId = new Map<string, Line>([...carry.findings, ...carry.orders].map((line) => [line.id, line]));
  return ({ id }) => byId.get(id) ?? null;
}

/** Open faults, each once; `isMore`: counting went no further. */
export function openRisks({ counts }: Pick<Carry, 'counts'>): { count: number; isMore: boolean } {
  const orders = counts.toRepair + counts.toProve + counts.livedWithAsOrder;
  const findings = counts.unanswered + counts.readAgain + counts.livedWithAsFinding;
  return { count: orders + findings, isMore: orders >= MOST_COUNTED || findings >= MOST_COUNTED };
}
const sayNumber = (count: number, isMore: boolean): string =>
  isMore ? sayCounted(Math.max(count, MOST_COUNTED)) : sayNumberWord(count);

const sumOf = (rows: readonly { readonly count: number }[]): number => rows.reduce((sum, { count }) => sum + count, 0);
export const overdueCount = ({ overdue }: Pick<Carry, 'overdue'>): number => sumOf(overdue);

/** The opening sentences: what is carried, and what waits or is late. */
export function sayCarry(carry: Carry, now: number): string[] {
  const { count, isMore } = openRisks(carry);
  if (count === 0) return ['Nothing is open.', saySeenShort(carry)];
  const open = `${sayNumber(count, isMore)} open ${count === 1 ? 'risk' : 'risks'}.`;
  const [first] = carry.decisions;
  const line = first === undefined ? null : linesOf(carry)(first);
  if (first !== undefined && line !== null) {
    const asked = askedOf(line);
    const until = asked === null ? '' : `, whether to live with it until ${plainDate(asked.until, line.place.zone, now)}`;
    if (carry.decisions.length === 1) return [open, `One waits for you: ${line.assetName}${until}.`];
    const waiting = carry.hasMoreDecisions ? `More than ${carry.decisions.length}` : sayNumberWord(carry.decisions.length);
    return [open, `${waiting} wait for you, ${line.assetName} first${until}.`];
  }
  const overdue = overdueCount(carry);
  if (overdue === 0) return [open, `No repair is overdue. ${saySeenShort(carry)}`];
  const days = Math.max(...carry.overdue.map(({ longestDays }) => longestDays));
  const late =
    overdue === 1
      ? `One repair is overdue, ${sayDays(days)}.`
      : `${sayNumberWord(overdue)} repairs are overdue, the longest ${sayDays(days)}.`;
  return [open, late];
}

/** What was not seen, in one short sentence. */
function saySeenShort({ seen: { points } }: Carry): string {
  if (points.due === 0) return 'No round is over yet, so nothing can be said of what was seen.';
  const first = points.isCut ? 'the first ' : '';
  const unseen = points.due - points.seen;
  if (unseen === 0)
    return points.due === 1
      ? 'The one point that was due was seen.'
      : `All ${first}${sayPlain(points.due)} points that were due were seen.`;
  return `${sayPlain(unseen)} of ${first}${sayPlain(points.due)} points that were due ${unseen === 1 ? 'was' : 'were'} not seen.`;
}
export const sayPlain = (count: number): string => count.toLocaleString('en-GB');

/** The request to live with it that waits, or null. */
export const askedOf = (line: Line) => (isOrder(line) ? line.order.livingAsked : line.finding.livingAsked);

/** Point, last figure and trend, such as "Gearbox bearing 87.0 °C, running away." */
export function sayState(line: Line, now: number): string {
  const last = line.lastValues.at(-1);
  const value = last === undefined ? 'not read comparably yet' : `${sayValue(last.value, line.decimals)}${sayUnit(line.unit)}`;
  const trend = line.conclusion === null ? null : trendAt(line.conclusion, line.place.zone, now);
  return `${sentenceCase(line.pointName)} ${value}${trend === null ? '' : `, ${TREND_WORDS[trend]}`}.`;
}

/** What it waits for, in words. */
export function sayWait(line: Line, now: number): string {
  if (isOrder(line)) return [saySituation(line, now), sayOverdue(line, line.place.zone, now)].filter(Boolean).join(' ');
  const zone = line.place.zone;
  const words = line.words === null || line.words.trim() === '' ? '' : `“${stopped(line.words)}” `;
  const { window, before } = line.lastWindow;
  const last = window === null && before === null ? '' : ` ${line.lastWindow.sentence}`;
  return `${words}Found by ${line.reportedBy}, ${fullDate(line.reportedAt, zone, now)}.${last}`;
}

/** Who has the ball, after the word "Ball". */
export function sayWhoHas(line: Line, personId: string, now: number): string {
  if (isOrder(line)) return line.owner === null ? 'nobody has it' : line.owner.id === personId ? 'you' : line.owner.name;
  if (line.answerDueAt === null) return 'nobody yet, it wants an answer';
  const zone = line.place.zone;
  const due = Date.parse(line.answerDueAt);
  const day = isSameDay(due, now, zone) ? `today ${clockTime(due, zone)}` : fullDate(due, zone, now);
  return due < now ? `nobody yet, its answer was due ${day}` : `nobody yet, answer by ${day}`;
}

/** When a finding wants or wanted its answer, for the strip. */
export function answerOn(line: Line, now: number): Pick<StripContent, 'due' | 'overdue'> {
  if (isOrder(line) || line.answerDueAt === null) return {};
  const zone = line.place.zone;
  const due = Date.parse(line.answerDueAt);
  if (due >= now) return { due: { at: due, words: `answer by ${plainDate(due, zone, now)}` } };
  const days = daysBetween(due, now, zone);
  return { overdue: { since: due, days, words: days === 0 ? 'answer due today' : `answer ${sayDays(days)} overdue` } };
}

/** The forecast of the limit that counts, for the strip. */
export function reachOf(line: Line, words: string) {
  const counting = countingOf(line.conclusion, line.lastWindow);
  if (counting === null || counting.earliestAt === null) return null;
  return { earliest: counting.earliestAt, likely: counting.likelyAt, latest: counting.latestAt, words };
}

export const CAUSE_WORDS: Readonly<Record<Cause, string>> = {
  'nobody-came': 'nobody came',
  'not-judged': 'read, not comparable',
  'not-running': 'not running',
  'no-way-in': 'no way in',
  unsafe: 'unsafe',
  'instrument-trouble': 'instrument trouble',
  'left-out': 'left out',
};

/** "5 not running, 2 no way in". */
export const sayCauses = (rows: readonly { readonly words: string; readonly count: number }[]): string =>
  rows.map(({ words, count }) => `${sayPlain(count)} ${words}`).join(', ');

/** A share as people may quote it: never 100 % while something is missing, and none of nothing. */
export function sayShare(part: number, whole: number): string {
  if (whole === 0) return '–';
  const percent = (part / whole) * 100;
  const shown = part === whole ? 100 : Math.min(99, Math.round(percent));
  return `${part > 0 ? Math.max(1, shown) : 0} %`;
}

type Trends = Carry['trends']['lines'];
/** The forecast of the limit that counts, or null. */
export const countingIn = ({ projections, countsGrade }: Trends[number]['conclusion']) =>
  projections.find(({ grade }) => grade === countsGrade) ?? null;

const WEEK = 7 * 86_400_000;
/** How far ahead the plots of the trends look: to the last date that one of them names, within half a year. */
export function aheadOf(lines: readonly Pick<Trends[number], 'conclusion'>[], now: number): number {
  const last = lines.reduce((most, { conclusion }) => {
    const counting = countingIn(conclusion);
    return counting === null || counting.show !== 'range'
      ? most
      : Math.max(most, counting.latestAt ?? counting.likelyAt ?? counting.earliestAt ?? now);
  }, now);
  return Math.min(26 * WEEK, Math.max(9 * WEEK, last - now + WEEK));
}

/** Over the list of open risks: how many of how many it holds, and where the others are. */
export function sayListed(carry: Carry): { head: string; elsewhere: string | null } {
  const { count, isMore } = openRisks(carry);
  const { livedWithAsFinding, livedWithAsOrder, readAgain } = carry.counts;
  const listed = carry.decisions.length + carry.risks.length;
  const living = livedWithAsFinding + livedWithAsOrder;
  const rest = count - living - readAgain - listed;
  const words = [
    ...(rest > 0 ? [`${isMore ? 'more than ' : ''}${sayPlain(rest)} further by risk`] : []),
    ...(living > 0 ? [`${sayPlain(living)} lived with, below`] : []),
    ...(readAgain > 0 ? [`${sayPlain(readAgain)} to be read again`] : []),
  ];
  return {
    head:
      listed >= count
        ? 'Open risk, highest first'
        : `${sayNumberWord(listed)} of ${sayNumber(count, isMore).toLowerCase()} open risks, highest first`,
    elsewhere: words.length === 0 ? null : `Not in this list: ${words.join('; ')}.`,
  };
}
