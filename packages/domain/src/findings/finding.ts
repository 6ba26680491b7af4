import type { CriterionKind, Grade } from '../limits/types.ts';
import { may } from '../rights/index.ts';
import { headOf, mergeTarget } from './head.ts';
import {
  checkLivingWith,
  hasWords,
  isSameMove,
  isWorseGrade,
  type LivingAsked,
  type LivingWith,
  type MoveRecord,
  type MoveRefusal,
  type Mover,
  type Refused,
  refuse,
  rightToLiveWith,
} from './moves.ts';

export const FINDING_STATES = ['reported', 'agreed', 'read-again', 'same-as', 'turned-down', 'living-with'] as const;
/** Reported, or the answer it was given. */
export type FindingState = (typeof FINDING_STATES)[number];

/** How the episode of a finding ended. */
export type FindingOutcome = 'proved' | 'closed-unproved' | 'turned-down';

/** One fault at one point, once: the key of a finding. */
export interface FindingKey {
  readonly pointId: string;
  /** Kind of failure: the criterion that raised it, until a person names another. */
  readonly mode: string;
  /** 1 for the first finding of this mode at this point. */
  readonly episode: number;
}

/** A finding as it stands. Times are epoch milliseconds. */
export interface Finding extends FindingKey {
  readonly id: string;
  /** The criterion whose verdict raised it, kept when the mode is renamed; null: reported by a person. */
  readonly criterion: CriterionKind | null;
  readonly state: FindingState;
  /** Worst grade seen in this episode. */
  readonly grade: Grade;
  readonly reportedAt: number;
  readonly sameAs: string | null;
  readonly livingAsked: LivingAsked | null;
  readonly livingWith: LivingWith | null;
  /** The work order that came of it. */
  readonly orderId: string | null;
  readonly ended: { readonly at: number; readonly outcome: FindingOutcome } | null;
  /** Raised by every change; compared with what a mover has seen. */
  readonly version: number;
  /** The move that led to the present state; null: none yet. */
  readonly lastMove: FindingMove | null;
}

export type FindingMove =
  /** A work order is made of it; its id, where it is made in the same step. */
  | { readonly kind: 'agree'; readonly orderId?: string | undefined }
  /** An extra stop on the next round; comes back as Reported. */
  | { readonly kind: 'read-again'; readonly reason?: string | undefined }
  | { readonly kind: 'same-as'; readonly findingId: string }
  | { readonly kind: 'turn-down'; readonly reason: string }
  | { readonly kind: 'live-with'; readonly until: number; readonly reason: string }
  /** Back to Reported: it was read again, the end date has come, it got worse, or somebody ends the acceptance early. */
  | { readonly kind: 'come-back'; readonly cause: ComeBackCause };
export type FindingMoveKind = FindingMove['kind'];
export type FindingAnswer = Exclude<FindingMoveKind, 'come-back'>;
export type ComeBackCause = 'read-again' | 'until-ended' | 'grade-worse' | 'ended-early';

const ANSWERS: readonly FindingAnswer[] = ['agree', 'read-again', 'same-as', 'turn-down', 'live-with'];

/** The moves each state allows. Agreed comes back when its work order does, from living with it. */
export const FINDING_MOVES: Readonly<Record<FindingState, readonly FindingMoveKind[]>> = {
  reported: ANSWERS,
  'read-again': ['come-back'],
  'living-with': ['come-back'],
  agreed: ['come-back'],
  'same-as': [],
  'turned-down': [],
};

const AFTER: Readonly<Record<FindingMoveKind, FindingState>> = {
  agree: 'agreed',
  'read-again': 'read-again',
  'same-as': 'same-as',
  'turn-down': 'turned-down',
  'live-with': 'living-with',
  'come-back': 'reported',
};

const SAID: Readonly<Record<FindingMoveKind, string>> = {
  agree: 'agree to this finding',
  'read-again': 'have this read again',
  'same-as': 'merge this finding',
  'turn-down': 'turn this finding down',
  'live-with': 'live with this fault',
  'come-back': 'bring this finding back',
};

/** A finding after an accepted move; the record is null when the move had been made already and nothing changed. */
export interface MovedFinding {
  readonly finding: Finding;
  readonly record: MoveRecord<FindingState, FindingMove> | null;
}

/** A finding as it is reported. @example reportFinding({ id, pointId, mode: 'like-part-difference', episode: 1, criterion: 'like-part-difference', grade: 'plan', reportedAt }) */
export function reportFinding(about: FindingKey & Pick<Finding, 'id' | 'criterion' | 'grade' | 'reportedAt'>): Finding {
  const { id, pointId, mode, episode, criterion, grade, reportedAt } = about;
  const nothingYet = { sameAs: null, livingAsked: null, livingWith: null, orderId: null, ended: null, lastMove: null };
  return { id, pointId, mode, episode, criterion, grade, reportedAt, state: 'reported', version: 1, ...nothingYet };
}

/** Is its episode still going on, and does it stand for itself? */
export function isOpenFinding(finding: Finding): boolean {
  return finding.ended === null && finding.state !== 'same-as';
}

function movesOf(finding: Finding): readonly FindingMoveKind[] {
  return finding.ended === null ? FINDING_MOVES[finding.state] : [];
}

/** Why a person may not make a move whatever the state, or null. The service itself only brings findings back. */
function forbiddenTo(finding: Finding, move: FindingMoveKind, { by, roles }: Mover): MoveRefusal | null {
  if (by === null) return move === 'come-back' ? null : 'not-allowed';
  if (move !== 'live-with') return may(roles, 'answer-findings') ? null : 'not-allowed';
  if (!may(roles, rightToLiveWith(finding.grade))) return 'not-allowed';
  return finding.livingAsked?.by === by ? 'own-request' : null;
}

/**
 * The answers a person may give to a finding now. Living with Soon or Now is a manager's to accept, with Watch or Plan a planner's,
 * and never of the one who asked for it; an acceptance nobody asked for is decided by whoever may accept it.
 * @example answersAllowed(finding, { by: 'ruth', roles: ['manager'], at: 0 })
 */
export function answersAllowed(finding: Finding, mover: Mover): FindingAnswer[] {
  const open = movesOf(finding);
  return ANSWERS.filter((answer) => open.includes(answer) && forbiddenTo(finding, answer, mover) === null);
}

/**
 * Moves a finding. Repeating the very move that led to the present state succeeds, changes nothing and leaves no record.
 *
 * @param find findings by id, for "same as": the target is followed to the one it was merged into.
 * @returns the finding and its record, or why nothing was changed. Never throws for what a person can do.
 * @example moveFinding(finding, { kind: 'turn-down', reason: 'painted lug read as bare metal' }, { by: 'jonas', roles: ['planner'], at })
 */
export function moveFinding(
  finding: Finding,
  move: FindingMove,
  mover: Mover,
  find: (id: string) => Finding | undefined = () => undefined,
): MovedFinding | Refused<FindingMoveKind> {
  const refused = (why: MoveRefusal): Refused<FindingMoveKind> => {
    const allowed = movesOf(finding).filter((kind) => forbiddenTo(finding, kind, mover) === null);
    return refuse(why, SAID[move.kind], allowed);
  };
  const forbidden = forbiddenTo(finding, move.kind, mover);
  if (forbidden !== null) return refused(forbidden);
  if (isSameMove(finding.lastMove, move)) return { finding, record: null };
  if (mover.seenVersion !== undefined && mover.seenVersion !== finding.version) return refused('stale-version');
  if (!movesOf(finding).includes(move.kind)) return refused('move-not-allowed');
  const wrong = checkGiven(finding, move, mover, find);
  if (wrong !== null) return refused(wrong);
  const { by, at } = mover;
  const to = AFTER[move.kind];
  const why = 'reason' in move ? (move.reason ?? null) : 'cause' in move ? move.cause : null;
  const record = { move: move.kind, from: finding.state, to, by, at, why, given: move };
  const next: Finding = {
    ...finding,
    state: to,
    version: finding.version + 1,
    lastMove: move,
    ...changesOf(finding, move, mover, find),
  };
  return { finding: next, record };
}

function checkGiven(
  finding: Finding,
  move: FindingMove,
  mover: Mover,
  find: (id: string) => Finding | undefined,
): MoveRefusal | null {
  if (move.kind === 'turn-down') return hasWords(move.reason) ? null : 'reason-needed';
  if (move.kind === 'live-with') return checkLivingWith(move, mover.at);
  if (move.kind !== 'same-as') return null;
  const target = mergeTarget(finding.id, move.findingId, find);
  if (target === null) return 'circle';
  return find(target)?.ended ? 'ended-already' : null;
}

function changesOf(
  finding: Finding,
  move: FindingMove,
  { by, at }: Mover,
  find: (id: string) => Finding | undefined,
): Partial<Finding> {
  switch (move.kind) {
    case 'agree':
      return { orderId: move.orderId ?? finding.orderId };
    case 'same-as':
      return { sameAs: mergeTarget(finding.id, move.findingId, find), livingAsked: null };
    case 'turn-down':
      return { ended: { at, outcome: 'turned-down' }, livingAsked: null };
    case 'live-with':
      return { livingWith: { by, since: at, until: move.until, reason: move.reason, grade: finding.grade }, livingAsked: null };
    case 'come-back':
      return { livingWith: null };
    case 'read-again':
      return {};
  }
}

/**
 * Why a finding has to come back to Reported by itself, or null: its end date has come, or it got worse than what was accepted.
 * "Read again" comes back with its reading, which the caller knows.
 * @param living that of the finding or of its work order. @param grade worst grade seen since.
 */
export function comesBack(living: LivingWith | null, grade: Grade, now: number): ComeBackCause | null {
  if (living === null) return null;
  if (isWorseGrade(grade, living.grade)) return 'grade-worse';
  return now >= living.until ? 'until-ended' : null;
}

/**
 * Adds a verdict to a finding: the worst grade of the episode is kept. An ended one takes evidence and stays as it is.
 * A finding lived with comes back by itself when this is worse than what was accepted.
 */
export function addEvidence(finding: Finding, grade: Grade, at: number): MovedFinding {
  if (finding.ended !== null || !isWorseGrade(grade, finding.grade)) return { finding, record: null };
  const worse: Finding = { ...finding, grade, version: finding.version + 1 };
  if (finding.state !== 'living-with') return { finding: worse, record: null };
  const moved = moveFinding(worse, { kind: 'come-back', cause: 'grade-worse' }, { by: null, roles: [], at });
  return 'refused' in moved ? { finding: worse, record: null } : moved;
}

/** Ends the episode of a finding with its work order. One that has ended stays as it ended. */
export function endFinding(finding: Finding, outcome: FindingOutcome, at: number): Finding {
  return finding.ended === null ? { ...finding, ended: { at, outcome }, version: finding.version + 1 } : finding;
}

/** The finding that stands for this one, where it is at hand. */
export function headFinding(finding: Finding, find: (id: string) => Finding | undefined): Finding | undefined {
  const head = headOf(finding.id, (id) => (id === finding.id ? finding : find(id)));
  return head === finding.id ? finding : find(head);
}
