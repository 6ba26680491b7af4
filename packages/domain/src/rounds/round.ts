import { startOfDay, wallTime } from '../time/index.ts';
import { endOfDay } from './local-time.ts';

/**
 * From when to when a round may be walked.
 * days: whole calendar days of the site around the planned day. week: the ISO week of the planned day, Monday to Sunday.
 * minutes: around the planned time, for instance 10:00 to 14:00 for load.
 */
export type RoundWindow =
  | { readonly kind: 'days'; readonly daysBefore: number; readonly daysAfter: number }
  | { readonly kind: 'week' }
  | { readonly kind: 'minutes'; readonly minutesBefore: number; readonly minutesAfter: number };

/** What of a route decides when its rounds may be walked. */
export interface RouteTiming {
  readonly window: RoundWindow;
  /** After the window; null: half of it. */
  readonly graceMs: number | null;
  /** IANA zone of the site. */
  readonly zone: string;
}

/** The times of one round, epoch milliseconds; all ends belong to it. */
export interface RoundTimes {
  readonly plannedAt: number;
  readonly earliestAt: number;
  readonly latestAt: number;
  readonly graceMs: number;
}

/** Grace of a round as a share of its window, where the route names none. */
export const GRACE_SHARE = 0.5;

/** What is recorded about a round. Times are epoch milliseconds as the device or the server took them, null: not yet. */
export interface RoundRecord {
  readonly earliestAt: number;
  readonly latestAt: number;
  readonly graceMs: number;
  /** Person who has the round. */
  readonly takenBy: string | null;
  readonly startedAt: number | null;
  /** When it was handed in on the device; it may reach the server much later. */
  readonly handedInAt: number | null;
  readonly lookedOverAt: number | null;
  readonly calledOff: { readonly at: number; readonly by: string; readonly reason: string } | null;
}

export const ROUND_STATES = [
  'coming',
  'ready-to-walk',
  'being-walked',
  'handed-in',
  'looked-over',
  'missed',
  'called-off',
] as const;
export type RoundState = (typeof ROUND_STATES)[number];

/** The state of a round and what should be said beside it. */
export interface RoundStanding {
  readonly state: RoundState;
  /** Last instant at which it may be handed in: end of the window and grace. */
  readonly endsAt: number;
  /** The window is over and the round still open. */
  readonly isInGrace: boolean;
  /** Begun or handed in before the window. */
  readonly isEarly: boolean;
  /** Handed in after the window; with the state missed, after the grace too. */
  readonly isLate: boolean;
  /** Somebody had called it off, somebody else walked it: what was walked stands. */
  readonly isWalkedThoughCalledOff: boolean;
}

const MINUTE = 60_000;

/**
 * When a round may be walked.
 * @param occurrence as planned, moved by a clock change or not.
 * @throws RangeError for a length that is negative or not finite, and for an unknown zone.
 * @example windowOf({ window: { kind: 'days', daysBefore: 1, daysAfter: 1 }, graceMs: null, zone: 'Europe/Dublin' }, { at })
 * // Tue 08:00 → earliest Mon 00:00, latest Wed 23:59:59.999, grace 36 h
 */
export function windowOf(route: RouteTiming, occurrence: { readonly at: number }): RoundTimes {
  const { window, zone } = route;
  const lengths = [route.graceMs ?? 0, ...Object.values(window).filter((value) => typeof value === 'number')];
  if (lengths.some((length) => !(Number.isFinite(length) && length >= 0)))
    throw new RangeError('Window and grace are lengths of zero or more.');
  const plannedAt = occurrence.at;
  const [earliestAt, latestAt] = endsOf(window, plannedAt, zone);
  const graceMs = route.graceMs ?? Math.round((latestAt - earliestAt) * GRACE_SHARE);
  return { plannedAt, earliestAt, latestAt, graceMs };
}

function endsOf(window: RoundWindow, plannedAt: number, zone: string): readonly [number, number] {
  if (window.kind === 'minutes') return [plannedAt - window.minutesBefore * MINUTE, plannedAt + window.minutesAfter * MINUTE];
  const day = wallTime(plannedAt, zone);
  const before = window.kind === 'week' ? day.weekday - 1 : window.daysBefore;
  const after = window.kind === 'week' ? 7 - day.weekday : window.daysAfter;
  return [startOfDay({ ...day, day: day.day - before }, zone), endOfDay({ ...day, day: day.day + after }, zone)];
}

/**
 * The state of a round, from its records and the moment of asking; nothing is stored, so a hand-in that arrives days later from a
 * phone without signal restores a round that had been taken for missed.
 *
 * Decided here: a round may be begun and handed in until the end of its grace, and what counts is when it was handed in on the
 * device, not when that arrived. Handed in after the grace it stays missed; its readings count as readings all the same. What was
 * walked and handed in in time stands even when somebody called the round off meanwhile. A walk that began early counts.
 *
 * @param now epoch milliseconds.
 * @example roundState({ earliestAt: 0, latestAt: 10, graceMs: 5, takenBy: null, startedAt: 9, handedInAt: 14, lookedOverAt: null, calledOff: null }, 99).state // 'handed-in'
 */
export function roundState(round: RoundRecord, now: number): RoundStanding {
  const { earliestAt, latestAt, startedAt, handedInAt } = round;
  const endsAt = latestAt + round.graceMs;
  const isHandedInInTime = handedInAt !== null && handedInAt <= endsAt;
  const begun = startedAt ?? handedInAt;
  const state = stateOf(round, now, endsAt);
  return {
    state,
    endsAt,
    isInGrace: (state === 'ready-to-walk' || state === 'being-walked') && now > latestAt,
    isEarly: begun !== null && begun < earliestAt,
    isLate: handedInAt !== null && handedInAt > latestAt,
    isWalkedThoughCalledOff: round.calledOff !== null && isHandedInInTime,
  };
}

function stateOf(round: RoundRecord, now: number, endsAt: number): RoundState {
  if (round.handedInAt !== null && round.handedInAt <= endsAt) return round.lookedOverAt === null ? 'handed-in' : 'looked-over';
  if (round.calledOff !== null) return 'called-off';
  if (round.handedInAt !== null || now > endsAt) return 'missed';
  if (round.startedAt !== null) return 'being-walked';
  return now < round.earliestAt ? 'coming' : 'ready-to-walk';
}

/** What can be done with a round as a whole. */
export const ROUND_MOVES = ['take', 'start', 'hand-in', 'look-over', 'call-off'] as const;
export type RoundMove = (typeof ROUND_MOVES)[number];

const MOVES: Readonly<Record<RoundState, readonly RoundMove[]>> = {
  coming: ['take', 'start', 'call-off'],
  'ready-to-walk': ['take', 'start', 'call-off'],
  'being-walked': ['take', 'hand-in', 'call-off'],
  'handed-in': ['look-over'],
  'looked-over': [],
  missed: ['hand-in'],
  'called-off': [],
};

/**
 * The moves a state allows. A missed round may still be handed in, for its readings; calling off needs a reason, and while a round
 * is being walked "take" hands it over to another person.
 */
export function roundMovesAllowed(state: RoundState): readonly RoundMove[] {
  return MOVES[state];
}

/**
 * The round of a route to which something done at a time belongs, or null.
 * First the walk that was going on then (a round begun before midnight keeps its readings after midnight, and after the end of its
 * window), then the round whose window holds the time, then the one whose grace does; among equals the one planned nearest, then the
 * earlier. Rounds called off and never begun take nothing.
 *
 * @param rounds of one route, any order. O(n).
 */
export function roundAt<Round extends RoundTimes & RoundRecord>(rounds: readonly Round[], takenAt: number): Round | null {
  let best: Round | null = null;
  let bestRank: readonly number[] = [];
  for (const round of rounds) {
    const place = placeOf(round, takenAt);
    if (place === null) continue;
    const rank = [place, Math.abs(round.plannedAt - takenAt), round.plannedAt];
    if (best === null || isBefore(rank, bestRank)) {
      best = round;
      bestRank = rank;
    }
  }
  return best;
}

/** 0 during its walk, 1 in its window, 2 in its grace, null outside. */
function placeOf(round: RoundTimes & RoundRecord, takenAt: number): number | null {
  const { startedAt, handedInAt, earliestAt, latestAt, graceMs } = round;
  if (startedAt !== null && startedAt <= takenAt && takenAt <= (handedInAt ?? latestAt + graceMs)) return 0;
  if (round.calledOff !== null && startedAt === null) return null;
  if (earliestAt <= takenAt && takenAt <= latestAt) return 1;
  return latestAt < takenAt && takenAt <= latestAt + graceMs ? 2 : null;
}

function isBefore(a: readonly number[], b: readonly number[]): boolean {
  const at = a.findIndex((value, index) => value !== b[index]);
  return at >= 0 && a[at]! < b[at]!;
}
