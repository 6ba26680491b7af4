/**
 * What a row of a queue shows: which shutdown windows concern it, which is the last sensible one, what the forecast says about the
 * limit that counts. Pure; times are epoch milliseconds.
 */
import type { FindingLine, OrderLine, WindowView } from '@heatround/contract';
import { type Conclusion, type LastWindow, type LimitGrade, type LimitProjection, startOfDay, wallTime } from '@heatround/domain';
import { clockTime, fullDate, isSameDay, plainDate, sayCount, sayLimit, withSign } from '../format.ts';
import { isOverdue } from './situation.ts';
import { limitWord, sayDays, sayNumberWord } from './words.ts';

export const WEEK = 7 * 86_400_000;

export type Subject = Pick<FindingLine, 'assetId' | 'place' | 'conclusion' | 'lastWindow' | 'unit'>;

/** last: the last that fits; fits: an earlier one; late, short: of no use; open: nothing says by when; chosen: slotted. */
export type SlotKind = 'last' | 'fits' | 'late' | 'short' | 'open' | 'chosen';
export interface SlotView {
  readonly id: string;
  readonly from: number;
  readonly to: number;
  readonly name: string;
  readonly kind: SlotKind;
  readonly daysTooLate: number;
}

/** May this window stop this machine? */
export function concerns(window: WindowView, subject: Pick<Subject, 'assetId' | 'place'>): boolean {
  return (
    window.cancelledAt === null &&
    window.siteId === subject.place.siteId &&
    (window.assetId === null || window.assetId === subject.assetId) &&
    (window.buildingId === null || window.buildingId === subject.place.buildingId)
  );
}

/** The windows ahead that concern a row, by time. */
export function slotsOf(subject: Subject, windows: readonly WindowView[], now: number): SlotView[] {
  const { lastWindow } = subject;
  const kindOf = (id: string): Pick<SlotView, 'kind' | 'daysTooLate'> => {
    const late = lastWindow.tooLate.find(({ window }) => window.id === id);
    if (late !== undefined) return { kind: 'late', daysTooLate: late.daysTooLate };
    if (lastWindow.tooShort.some((window) => window.id === id)) return { kind: 'short', daysTooLate: 0 };
    if (lastWindow.window?.id === id) return { kind: 'last', daysTooLate: 0 };
    return { kind: lastWindow.window === null ? 'open' : 'fits', daysTooLate: 0 };
  };
  return windows
    .filter((window) => concerns(window, subject) && Date.parse(window.toAt) > now)
    .map((window) => ({
      id: window.id,
      from: Date.parse(window.fromAt),
      to: Date.parse(window.toAt),
      name: window.name,
      ...kindOf(window.id),
    }))
    .sort((a, b) => a.from - b.from || a.to - b.to);
}

/** How late a window is: counted to its end, which is said where it lasts for days and may begin in time. */
export const sayTooLate = ({ from, to, daysTooLate }: Pick<SlotView, 'from' | 'to' | 'daysTooLate'>, zone: string): string =>
  `${isSameDay(from, to, zone) ? '' : 'ends '}${sayDays(daysTooLate)} too late`;

/** How many windows fit. */
const countFits = (slots: readonly SlotView[]): number => slots.filter(({ kind }) => kind === 'last' || kind === 'fits').length;

/** The forecast of the limit that the window is about, where a range may be shown. */
export function countingOf(conclusion: Conclusion | null, lastWindow: LastWindow): LimitProjection | null {
  const grade: LimitGrade | null = lastWindow.before ?? conclusion?.countsGrade ?? null;
  const found = conclusion?.projections.find((one) => one.grade === grade) ?? null;
  return found !== null && found.show === 'range' && found.earliestAt !== null ? found : null;
}

/** Why nothing says by when. */
const sayNoForecast = (conclusion: Conclusion | null): string =>
  conclusion === null
    ? 'The forecast is being worked out.'
    : `No forecast${conclusion.comparableCount > 0 ? ` from ${sayCount(conclusion.comparableCount, 'reading')}` : ''}.`;

/** The column "Last window": its day, and why it is that one. */
export function sayLastWindow(subject: Subject, slots: readonly SlotView[], now: number): { title: string; note: string } {
  const { lastWindow } = subject;
  const zone = subject.place.zone;
  const { window, before, earliestAt } = lastWindow;
  const limit =
    before === null || earliestAt === null ? '' : `${limitWord(before)}, earliest ${plainDate(earliestAt, zone, now)}`;
  if (window === null) {
    if (before === null) return { title: 'No date yet', note: sayNoForecast(subject.conclusion) };
    return (earliestAt as number) <= now
      ? { title: 'Do not wait', note: `The earliest date of ${limitWord(before)} is past.` }
      : { title: 'No window', note: `None lies before ${limit}. Ask for one.` };
  }
  const name = slots.find(({ id }) => id === window.id)?.name ?? window.words ?? '';
  const missed = before === 'now' ? ' None lies before Soon.' : '';
  const which = countFits(slots) === 1 ? 'the only one' : 'the last one';
  const said = name === '' ? which : `${name}, ${which}`;
  return {
    title: fullDate(window.from, zone, now),
    note: `${said.charAt(0).toUpperCase()}${said.slice(1)} before ${limit}.${missed}`,
  };
}

/** What the first row of Answers due says after its name. */
function sayUrgency(line: FindingLine, slots: readonly SlotView[], now: number): string {
  const { window, before, earliestAt } = line.lastWindow;
  const zone = line.place.zone;
  if (window !== null) {
    const day = fullDate(window.from, zone, now);
    return countFits(slots) === 1 ? `only ${day} fits` : `${day} is the last window that fits`;
  }
  if (before !== null && earliestAt !== null)
    return earliestAt <= now
      ? `its earliest date of ${limitWord(before)} is past`
      : `no window lies before ${plainDate(earliestAt, zone, now)}`;
  const since = Date.parse(line.reportedAt);
  return `it has waited since ${isSameDay(since, now, zone) ? `${clockTime(since, zone)} today` : fullDate(since, zone, now)}`;
}

/** The opening sentence of Answers due. */
export function sayAnswersDue(
  lines: readonly FindingLine[],
  windows: readonly WindowView[],
  now: number,
  more: boolean,
  again = 0,
): string[] {
  const first = lines[0];
  if (first === undefined && again > 0)
    return [`${sayNumberWord(again)} ${again === 1 ? 'thing wants' : 'things want'} a second look.`];
  if (first === undefined) return ['Nothing wants your answer.'];
  const urgency = sayUrgency(first, slotsOf(first, windows, now), now);
  const count = more ? `More than ${lines.length}` : sayNumberWord(lines.length);
  if (lines.length === 1 && !more) return ['One thing wants your answer.', `${first.assetName}: ${urgency}.`];
  return [`${count} things want your answer.`, `${first.assetName} first: ${urgency}.`];
}

/** The opening sentence of Orders. */
export function sayOrders(
  which: 'open' | 'mine' | 'ended',
  lines: readonly OrderLine[],
  counts: { readonly open: number; readonly overdue: number },
  hasMore: boolean,
): string {
  if (which === 'ended')
    return lines.length === 0
      ? 'No order has ended yet.'
      : `${hasMore ? `The last ${lines.length}` : sayNumberWord(lines.length)} ${lines.length === 1 ? 'order that has' : 'orders that have'} ended.`;
  if (which === 'mine')
    return lines.length === 0
      ? 'You have no order.'
      : lines.length === 1 && !hasMore
        ? `You have one order: ${lines[0]!.assetName}.`
        : `You have ${hasMore ? `more than ${lines.length}` : sayNumberWord(lines.length).toLowerCase()} orders.`;
  if (counts.open === 0) return 'No order is open.';
  const open = counts.open === 1 ? 'One order is open' : `${sayNumberWord(counts.open)} orders are open`;
  if (counts.overdue === 0) return `${open}, none overdue.`;
  const worst = lines.reduce<OrderLine | null>(
    (most, line) => (isOverdue(line) && line.overdueDays > (most?.overdueDays ?? 0) ? line : most),
    null,
  );
  const named = worst === null ? '' : `: ${worst.assetName}, ${sayDays(worst.overdueDays)}`;
  if (counts.open === 1) return `${open} and overdue${named}.`;
  const overdue = counts.overdue === 1 ? 'One is overdue' : `${sayNumberWord(counts.overdue)} are overdue`;
  return counts.overdue === 1 ? `${open}. ${overdue}${named}.` : `${open}. ${overdue}, longest${named.replace(':', '')}.`;
}

/** Name of the limit and its figure, such as "100 °C, Now". */
export const sayLimitOf = (projection: LimitProjection, unit: string): string =>
  `${withSign(sayLimit(projection.limit), unit)}, ${limitWord(projection.grade)}`;

/** Monday, 00:00 in the zone, of the week an instant lies in. */
export function mondayOf(at: number, zone: string): number {
  const { year, month, day, weekday } = wallTime(at, zone);
  return startOfDay({ year, month, day: day - (weekday - 1) }, zone);
}
