import type { OrderLine } from '@heatround/contract';
import { daysBetween } from '@heatround/domain';
import { clockTime, fullDate, isSameDay, plainDate } from '../format.ts';
import type { StripContent } from './strip.tsx';
import { sayDays, sayStuck, stopped } from './words.ts';

/** When a slot is, in words: "Sat 2 May, 06:00 to 13:00", "Mon 11 to Fri 15 May". */
export function saySlot(slot: { readonly from: number; readonly to: number }, zone: string, now: number): string {
  return isSameDay(slot.from, slot.to, zone)
    ? `${fullDate(slot.from, zone, now)}, ${clockTime(slot.from, zone)} to ${clockTime(slot.to, zone)}`
    : `${fullDate(slot.from, zone, now)} to ${fullDate(slot.to, zone, now)}`;
}

/** One line about an order: what it waits for. */
export function saySituation(line: OrderLine, now: number): string {
  const { order } = line;
  const zone = line.place.zone;
  const due = line.dueAt === null ? 'Due on the next visit of the route.' : `Due ${fullDate(line.dueAt, zone, now)}.`;
  switch (line.state) {
    case 'agreed':
      return order.failedProofs > 0 ? `Not proved, agreed again. ${due}` : due;
    case 'slotted':
      return order.slot === null ? due : `For ${saySlot(order.slot, zone, now)}.`;
    case 'under-way':
      return `Work has begun. ${due}`;
    case 'done': {
      const did = order.did === null ? '' : `${stopped(order.did)} `;
      return line.proofDueAt === null ? `${did}It waits for a proof.` : `${did}Proof by ${fullDate(line.proofDueAt, zone, now)}.`;
    }
    case 'stuck':
      return order.stuck === null ? due : sayStuck(order.stuck);
    case 'living-with':
      return order.livingWith === null ? '' : stopped(order.livingWith.reason);
    case 'proved':
      return order.did === null ? 'The proof was read.' : stopped(order.did);
    default:
      return order.lastMove !== null && 'reason' in order.lastMove && order.lastMove.reason !== undefined
        ? stopped(order.lastMove.reason)
        : '';
  }
}

/** The place of an order in the coming weeks. */
export function orderContent(line: OrderLine, now: number): StripContent {
  const { order } = line;
  const zone = line.place.zone;
  const isOver = line.endedAt !== null;
  const overdue = isOverdue(line) && line.dueAt !== null ? { since: Date.parse(line.dueAt), days: line.overdueDays } : null;
  if (order.livingWith !== null && line.state === 'living-with')
    return { living: { until: order.livingWith.until, words: `until ${plainDate(order.livingWith.until, zone, now)}` } };
  const slots =
    order.slot !== null && (line.state === 'slotted' || line.state === 'under-way' || line.state === 'stuck')
      ? [{ id: 'slot', from: order.slot.from, to: order.slot.to, name: '', kind: 'chosen' as const, daysTooLate: 0 }]
      : [];
  if (line.state === 'done')
    return {
      overdue: proofLate(line, now),
      due:
        line.proofDueAt === null
          ? null
          : { at: Date.parse(line.proofDueAt), words: `proof by ${plainDate(line.proofDueAt, zone, now)}` },
    };
  return {
    slots,
    overdue,
    due:
      isOver || overdue !== null || line.dueAt === null
        ? null
        : { at: Date.parse(line.dueAt), words: `due ${plainDate(line.dueAt, zone, now)}` },
  };
}

/** A proof that should have been read by now. */
function proofLate(line: OrderLine, now: number): { since: number; days: number; words: string } | null {
  const since = line.proofDueAt === null ? null : Date.parse(line.proofDueAt);
  if (since === null || since >= now || line.state !== 'done') return null;
  const days = Math.max(1, daysBetween(since, now, line.place.zone));
  return { since, days, words: `proof ${sayDays(days)} overdue` };
}

/** Past its date and not done: what is done waits for its proof, and that has a date of its own. */
export const isOverdue = (line: Pick<OrderLine, 'overdueDays' | 'endedAt' | 'state'>): boolean =>
  line.overdueDays > 0 && line.endedAt === null && line.state !== 'done' && line.state !== 'living-with';

/** Overdue in words, or null. */
export const sayOverdue = (line: OrderLine, zone: string, now: number): string | null =>
  proofLate(line, now) !== null
    ? `Its proof is ${sayDays((proofLate(line, now) as { days: number }).days)} overdue.`
    : isOverdue(line) && line.dueAt !== null
      ? `${sayDays(line.overdueDays)} overdue, was due ${plainDate(line.dueAt, zone, now)}.`
      : null;
