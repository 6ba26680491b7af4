import type { RoundLine } from '@heatround/contract';
import { daysBetween, type RoundState, sayDate, sayTime } from '@heatround/domain';

export const ROUND_WORDS: Readonly<Record<RoundState, string>> = {
  coming: 'Coming',
  'ready-to-walk': 'Ready to walk',
  'being-walked': 'Being walked',
  'handed-in': 'Handed in',
  'looked-over': 'Looked over',
  missed: 'Missed',
  'called-off': 'Called off',
};

export type Standing = 'overdue' | 'due' | 'coming';
export function standingOf(round: Pick<RoundLine, 'earliestAt' | 'latestAt'>, now: number): Standing {
  if (Date.parse(round.latestAt) < now) return 'overdue';
  return Date.parse(round.earliestAt) <= now ? 'due' : 'coming';
}

/** "Mon 20 to Fri 24 April", "Thu 23 April, 10:00 to 14:00", "Thu 23 April". */
export function sayWindow(earliestAt: string, latestAt: string, zone: string, now: number): string {
  const [from, to] = [Date.parse(earliestAt), Date.parse(latestAt)];
  if (daysBetween(from, to, zone) === 0) {
    const isWholeDay = to - from > 23 * 3_600_000;
    return isWholeDay ? sayDate(from, zone, now) : `${sayDate(from, zone, now)}, ${sayTime(from, zone)} to ${sayTime(to, zone)}`;
  }
  const first = sayDate(from, zone, now).split(' ');
  const last = sayDate(to, zone, now).split(' ');
  const short = first[2] === last[2] && first[3] === last[3] ? first.slice(0, 2) : first;
  return `${short.join(' ')} to ${last.join(' ')}`;
}
export const overdueDays = (latestAt: string, now: number, zone: string): number =>
  Math.max(0, daysBetween(Date.parse(latestAt), now, zone));

/** "moved from 02:30: the clocks went forward" */
export const sayMoved = (movedFrom: string): string => `moved from ${movedFrom.slice(11, 16)}, which the clocks skip that night`;
