import { GRADES, type Grade } from '../limits/types.ts';
import { type Action, may } from '../rights/index.ts';

/** Who moves something, and when. */
export interface Mover {
  /** Person; null: the service itself, for what follows from dates and readings alone. */
  readonly by: string | null;
  /** Roles of the person in the organisation. */
  readonly roles: readonly string[];
  /** Epoch milliseconds. */
  readonly at: number;
  /** The version the mover has seen; absent: not compared. */
  readonly seenVersion?: number | undefined;
}

/** Why a move was refused. */
export type MoveRefusal =
  | 'move-not-allowed' // the state forbids it
  | 'not-allowed' // the role forbids it
  | 'not-yours' // only whoever has the ball may, and that is somebody else
  | 'own-request' // nobody answers their own request to live with a fault
  | 'reason-needed' // a word is missing: reason, cause, what was found
  | 'until-needed' // an end date ahead, at most twelve months
  | 'slot-needed' // a time to do the work
  | 'circle' // merged with itself, directly or through others
  | 'ended-already' // merged into something that has ended
  | 'not-comparable' // the reading cannot prove anything
  | 'stale-version'; // somebody else moved it meanwhile

/** A move that was not made: nothing has changed. */
export interface Refused<Move extends string> {
  readonly refused: MoveRefusal;
  /** One sentence: what happened and what to do. */
  readonly detail: string;
  /** The moves open to this person now. */
  readonly allowed: readonly Move[];
}

/** The trace of one accepted move; exactly one for each. */
export interface MoveRecord<State extends string, Move extends { readonly kind: string }> {
  readonly move: Move['kind'];
  readonly from: State;
  readonly to: State;
  readonly by: string | null;
  readonly at: number;
  /** Reason, cause or words; null where the move needs none. */
  readonly why: string | null;
  /** Everything that was given with it. */
  readonly given: Move;
}

/** A request to live with a fault, waiting for somebody else's answer. */
export interface LivingAsked {
  readonly by: string;
  readonly at: number;
  /** Epoch milliseconds. */
  readonly until: number;
  readonly reason: string;
}

/** An accepted risk. */
export interface LivingWith {
  readonly by: string | null;
  readonly since: number;
  /** Epoch milliseconds; at this instant it is over. */
  readonly until: number;
  readonly reason: string;
  /** As it stood when accepted; anything worse ends it. */
  readonly grade: Grade;
}

/** Twelve months, as days: the same date next year is allowed in leap years and whatever the clocks do meanwhile. */
export const LIVING_WITH_DAYS_AT_MOST = 366;
const DAY = 86_400_000;

/** Is a grade worse than another? @example isWorseGrade('soon', 'plan') // true */
export function isWorseGrade(grade: Grade, than: Grade): boolean {
  return GRADES.indexOf(grade) > GRADES.indexOf(than);
}

/** The right to accept a risk of this grade. @example rightToLiveWith('now') // 'live-with-high' */
export function rightToLiveWith(grade: Grade): Action {
  return isWorseGrade(grade, 'plan') ? 'live-with-high' : 'live-with-low';
}

/** Has a move the very content of another? Who made it and when plays no part. O(size). */
export function isSameMove(a: object | null, b: object): boolean {
  return a !== null && wordOf(a) === wordOf(b);
}

/** Content as text, keys in order; absent and undefined are the same. */
function wordOf(value: unknown): string {
  if (typeof value !== 'object' || value === null) return JSON.stringify(value) ?? 'null';
  if (Array.isArray(value)) return `[${value.map(wordOf).join()}]`;
  const entries = Object.entries(value).filter(([, one]) => one !== undefined);
  return `{${entries
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([key, one]) => `${JSON.stringify(key)}:${wordOf(one)}`)
    .join()}}`;
}

/** Is there a word in it? */
export function hasWords(text: string | null | undefined): text is string {
  return typeof text === 'string' && text.trim() !== '';
}

/** What is wrong with an end date and a reason for living with a fault, or null. */
export function checkLivingWith(given: { readonly until: number; readonly reason: string }, at: number): MoveRefusal | null {
  if (!(given.until > at && given.until <= at + LIVING_WITH_DAYS_AT_MOST * DAY)) return 'until-needed';
  return hasWords(given.reason) ? null : 'reason-needed';
}

/**
 * Records a request to live with a fault; it changes no state and waits for somebody else's answer. A later request takes its place.
 * Anybody may ask who may submit facts or answer findings.
 * @param subject a finding or a work order.
 */
export function askToLiveWith<Subject extends { readonly version: number; readonly livingAsked: LivingAsked | null }>(
  subject: Subject,
  request: { readonly until: number; readonly reason: string },
  mover: Mover,
): { readonly subject: Subject } | Refused<never> {
  const mayAsk = mover.by !== null && (['submit-facts', 'answer-findings'] as const).some((right) => may(mover.roles, right));
  if (!mayAsk) return refuse('not-allowed', 'ask to live with this', []);
  const wrong = checkLivingWith(request, mover.at);
  if (wrong !== null) return refuse(wrong, 'ask to live with this', []);
  const { until, reason } = request;
  const livingAsked = { by: mover.by, at: mover.at, until, reason };
  return { subject: { ...subject, version: subject.version + 1, livingAsked } };
}

const DETAILS: Readonly<Record<MoveRefusal, (what: string) => string>> = {
  'move-not-allowed': (what) => `It stands so that nobody can ${what} now. Nothing was changed.`,
  'not-allowed': (what) => `Your role may not ${what}. Nothing was changed; ask somebody who may.`,
  'not-yours': (what) => `Only whoever has the ball may ${what}. Nothing was changed; ask the owner or a planner.`,
  'own-request': () => 'Nobody answers their own request to live with a fault. The request waits for somebody else.',
  'reason-needed': (what) => `To ${what}, say why in a few words, such as "part arrives on 4 May". Nothing was changed.`,
  'until-needed': (what) => `To ${what}, name an end date ahead, at most twelve months away. Nothing was changed.`,
  'slot-needed': (what) => `To ${what}, name a window or a day with an end after its beginning. Nothing was changed.`,
  circle: () => 'These two are one already, or would point at each other in a circle. Nothing was changed.',
  'ended-already': () => 'The one it should be merged into has ended. What was found since is new. Nothing was changed.',
  'not-comparable': () =>
    'This reading cannot prove anything: its conditions differ. It is kept; come back under like conditions.',
  'stale-version': () => 'Somebody else moved it meanwhile. Nothing was changed; look at it again and decide.',
};

/** A refusal in its sentence. @param what the move as a person would say it, such as "turn this down". */
export function refuse<Move extends string>(refused: MoveRefusal, what: string, allowed: readonly Move[]): Refused<Move> {
  return { refused, detail: DETAILS[refused](what), allowed };
}
