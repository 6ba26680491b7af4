import { mergeTarget } from '../findings/head.ts';
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
} from '../findings/moves.ts';
import type { Grade } from '../limits/types.ts';
import { may } from '../rights/index.ts';
import { type ProofJudgement, type ProofWindows, proofDueAt, SECOND_PROOF_DAYS } from './proof.ts';

export const ORDER_STATES = [
  'agreed',
  'slotted',
  'under-way',
  'done',
  'stuck',
  'living-with',
  'proved',
  'closed-unproved',
  'turned-down',
  'merged',
] as const;
/** done is spoken "Done, prove it". Not proved is no state: the order is back in Agreed, under the same number. */
export type OrderState = (typeof ORDER_STATES)[number];

/** States that nothing leads out of. */
export const ORDER_ENDS: readonly OrderState[] = ['proved', 'closed-unproved', 'turned-down', 'merged'];

/** When the work is to be done: a shutdown window, or a day of its own (windowId null). Epoch milliseconds. */
export interface Slot {
  readonly windowId: string | null;
  readonly from: number;
  readonly to: number;
}

export type OrderMove =
  | ({ readonly kind: 'slot' } & Slot)
  | { readonly kind: 'start' }
  | { readonly kind: 'finish'; readonly found: string; readonly did: string }
  | { readonly kind: 'stuck'; readonly cause: string; readonly whoFrees: string }
  | { readonly kind: 'free' }
  /** From Slotted: the slot is given up. */
  | { readonly kind: 'back-to-agreed'; readonly reason?: string | undefined }
  | { readonly kind: 'live-with'; readonly until: number; readonly reason: string }
  /** From Living with it: the end date has come, it got worse, or somebody ends the acceptance early. */
  | { readonly kind: 'come-back'; readonly cause: 'until-ended' | 'grade-worse' | 'ended-early' }
  | { readonly kind: 'turn-down'; readonly reason: string }
  | { readonly kind: 'merge-into'; readonly orderId: string }
  | { readonly kind: 'prove'; readonly readingId: string; readonly judgement: ProofJudgement }
  | { readonly kind: 'close-unproved'; readonly reason: string };
export type OrderMoveKind = OrderMove['kind'];

/** A work order as it stands. Times are epoch milliseconds. */
export interface WorkOrder {
  readonly id: string;
  readonly state: OrderState;
  /** Raised by every change; compared with what a mover has seen. */
  readonly version: number;
  /** Worst grade of its findings. */
  readonly grade: Grade;
  /** Who has the ball. */
  readonly ownerId: string | null;
  /** As first given; never moved, whatever is slotted: overdue counts from here. */
  readonly originalDueAt: number | null;
  readonly slot: Slot | null;
  readonly stuck: { readonly from: OrderState; readonly cause: string; readonly whoFrees: string; readonly since: number } | null;
  readonly livingAsked: LivingAsked | null;
  readonly livingWith: LivingWith | null;
  /** The order it was merged into. */
  readonly sameAs: string | null;
  readonly found: string | null;
  readonly did: string | null;
  readonly doneAt: number | null;
  readonly proofDueAt: number | null;
  /** Comparable proof readings that did not prove. */
  readonly failedProofs: number;
  /** Bearings get a second proof. */
  readonly needsSecondProof: boolean;
  /** Beside Proved: pending until its reading, which may also show that the fault is back. */
  readonly secondProof: { readonly dueAt: number; readonly state: 'pending' | 'proved' | 'not-proved' } | null;
  readonly endedAt: number | null;
  /** The move that led to the present state; null: none yet. */
  readonly lastMove: OrderMove | null;
}

/** The moves each state allows; anything else is refused, naming these. */
export const ORDER_MOVES: Readonly<Record<OrderState, readonly OrderMoveKind[]>> = {
  agreed: ['slot', 'stuck', 'live-with', 'turn-down', 'merge-into'],
  slotted: ['start', 'back-to-agreed', 'stuck'],
  'under-way': ['finish', 'slot', 'stuck'],
  stuck: ['free', 'turn-down'],
  done: ['prove', 'close-unproved'],
  'living-with': ['come-back'],
  proved: [],
  'closed-unproved': [],
  'turned-down': [],
  merged: [],
};

const SAID: Readonly<Record<OrderMoveKind, string>> = {
  slot: 'slot this order',
  start: 'start this order',
  finish: 'finish this order',
  stuck: 'call this order stuck',
  free: 'free this order',
  'back-to-agreed': 'take this order out of its slot',
  'live-with': 'live with this fault',
  'come-back': 'bring this order back',
  'turn-down': 'turn this order down',
  'merge-into': 'merge this order',
  prove: 'prove this order',
  'close-unproved': 'close this order unproved',
};

/** Moves of whoever has the ball, or of a planner. */
const OF_THE_OWNER: readonly OrderMoveKind[] = ['start', 'finish', 'stuck', 'free'];

/** Who moves an order, and whether they have the ball. */
export interface OrderMover extends Mover {
  readonly isOwner: boolean;
}

/** What of the organisation a move may need. */
export interface OrderRules {
  /** Orders by id, for merging: the target is followed to the one it was merged into. */
  readonly find?: ((id: string) => WorkOrder | undefined) | undefined;
  /** Left out: PROOF_WINDOW_HOURS. */
  readonly proofWindows?: ProofWindows | undefined;
}

/** An order after an accepted move; the record is null when the move had been made already and nothing changed. */
export interface MovedOrder {
  readonly order: WorkOrder;
  readonly record: MoveRecord<OrderState, OrderMove> | null;
}

/** What an order is made with. */
export type NewOrder = Pick<WorkOrder, 'id' | 'grade' | 'ownerId' | 'originalDueAt' | 'needsSecondProof'>;

/** An order as it is born by Agreed. @example agreeOrder({ id, grade: 'soon', ownerId: null, originalDueAt, needsSecondProof: true }).state // 'agreed' */
export function agreeOrder({ id, grade, ownerId, originalDueAt, needsSecondProof }: NewOrder): WorkOrder {
  return {
    id,
    state: 'agreed',
    version: 1,
    grade,
    ownerId,
    originalDueAt,
    slot: null,
    stuck: null,
    livingAsked: null,
    livingWith: null,
    sameAs: null,
    found: null,
    did: null,
    doneAt: null,
    proofDueAt: null,
    failedProofs: 0,
    needsSecondProof,
    secondProof: null,
    endedAt: null,
    lastMove: null,
  };
}

/** An order for what was put right on the spot: born Done, to be proved. */
export function orderPutRight(
  made: NewOrder,
  work: { readonly found: string; readonly did: string; readonly at: number },
  proofWindows?: ProofWindows,
): WorkOrder {
  const { found, did, at } = work;
  return { ...agreeOrder(made), state: 'done', found, did, doneAt: at, proofDueAt: proofDueAt(at, made.grade, proofWindows) };
}

/** Why a person may not make a move whatever the state, or null. The service itself proves by a reading and brings orders back. */
function forbiddenTo(order: WorkOrder, kind: OrderMoveKind, mover: OrderMover): MoveRefusal | null {
  const { by, roles, isOwner } = mover;
  if (by === null) return kind === 'prove' || kind === 'come-back' ? null : 'not-allowed';
  if (kind === 'prove') return may(roles, 'submit-facts') ? null : 'not-allowed';
  if (kind === 'live-with') {
    if (!may(roles, rightToLiveWith(order.grade))) return 'not-allowed';
    return order.livingAsked?.by === by ? 'own-request' : null;
  }
  if (!OF_THE_OWNER.includes(kind)) return may(roles, 'answer-findings') ? null : 'not-allowed';
  // Whoever was named as able to free it may free it, a manager too.
  if (may(roles, 'move-any-order') || (kind === 'free' && order.stuck?.whoFrees === by)) return null;
  if (!may(roles, 'move-own-order')) return 'not-allowed';
  return isOwner ? null : 'not-yours';
}

/** The moves open to a person now: those of the state that their roles, and having the ball, allow. */
export function orderMovesAllowed(order: WorkOrder, mover: OrderMover): OrderMoveKind[] {
  return ORDER_MOVES[order.state].filter((kind) => forbiddenTo(order, kind, mover) === null);
}

/**
 * Moves a work order. Repeating the very move that led to the present state succeeds, changes nothing and leaves no record, so that
 * a phone may send it again. With `seenVersion`, of two moves made from one version the first wins and the second is told.
 *
 * A proof reading under other conditions moves nothing: refused as not comparable, in the words of its judgement. A proof that fails
 * is recorded and brings the order back to Agreed under the same number.
 *
 * @returns the order and its record, or why nothing was changed. Never throws for what a person can do.
 * @example moveOrder(order, { kind: 'start' }, { by: 'mara', roles: ['technician'], isOwner: true, at })
 */
export function moveOrder(
  order: WorkOrder,
  move: OrderMove,
  mover: OrderMover,
  rules: OrderRules = {},
): MovedOrder | Refused<OrderMoveKind> {
  const { find = () => undefined } = rules;
  const refused = (why: MoveRefusal): Refused<OrderMoveKind> => refuse(why, SAID[move.kind], orderMovesAllowed(order, mover));
  const forbidden = forbiddenTo(order, move.kind, mover);
  const isRepeated = isVeryMove(order.lastMove, move);
  // Whoever was named as able to free the order may send it again, though the name is gone with the trouble.
  const hasFreed = isRepeated && move.kind === 'free' && may(mover.roles, 'answer-findings');
  if (forbidden !== null && !hasFreed) return refused(forbidden);
  if (isRepeated) return { order, record: null };
  if (mover.seenVersion !== undefined && mover.seenVersion !== order.version) return refused('stale-version');
  if (!ORDER_MOVES[order.state].includes(move.kind)) return refused('move-not-allowed');
  const wrong = checkGiven(order, move, mover.at, find);
  if (wrong === 'not-comparable' && move.kind === 'prove') return { ...refused(wrong), detail: move.judgement.sentence };
  if (wrong !== null) return refused(wrong);
  const { by, at } = mover;
  const changes = changesOf(order, move, mover, rules);
  const ended = ORDER_ENDS.includes(changes.state) ? { endedAt: at, livingAsked: null } : {};
  const next: WorkOrder = { ...order, version: order.version + 1, lastMove: move, ...changes, ...ended };
  return { order: next, record: { move: move.kind, from: order.state, to: next.state, by, at, why: whyOf(move), given: move } };
}

/** A reading proves once, however its judgement is worded when it arrives again. */
function isVeryMove(last: OrderMove | null, move: OrderMove): boolean {
  if (last?.kind === 'prove' && move.kind === 'prove') return last.readingId === move.readingId;
  return isSameMove(last, move);
}

function checkGiven(
  order: WorkOrder,
  move: OrderMove,
  at: number,
  find: (id: string) => WorkOrder | undefined,
): MoveRefusal | null {
  switch (move.kind) {
    case 'slot':
      return move.from < move.to ? null : 'slot-needed';
    case 'finish':
      return hasWords(move.found) && hasWords(move.did) ? null : 'reason-needed';
    case 'stuck':
      return hasWords(move.cause) && hasWords(move.whoFrees) ? null : 'reason-needed';
    case 'turn-down':
    case 'close-unproved':
      return hasWords(move.reason) ? null : 'reason-needed';
    case 'live-with':
      return checkLivingWith(move, at);
    case 'prove':
      return move.judgement.result === 'not-comparable' ? 'not-comparable' : null;
    case 'merge-into': {
      const target = mergeTarget(order.id, move.orderId, find);
      if (target === null) return 'circle';
      return ORDER_ENDS.includes(find(target)?.state ?? 'agreed') ? 'ended-already' : null;
    }
    default:
      return null;
  }
}

/** The new state and what comes with it. */
function changesOf(
  order: WorkOrder,
  move: OrderMove,
  { by, at }: OrderMover,
  { find = () => undefined, proofWindows }: OrderRules,
): Partial<WorkOrder> & { readonly state: OrderState } {
  switch (move.kind) {
    case 'slot':
      return { state: 'slotted', slot: { windowId: move.windowId, from: move.from, to: move.to } };
    case 'start':
      return { state: 'under-way' };
    case 'finish':
      return {
        state: 'done',
        found: move.found,
        did: move.did,
        doneAt: at,
        proofDueAt: proofDueAt(at, order.grade, proofWindows),
      };
    case 'stuck':
      return { state: 'stuck', stuck: { from: order.state, cause: move.cause, whoFrees: move.whoFrees, since: at } };
    case 'free':
      return { state: order.stuck?.from ?? 'agreed', stuck: null };
    case 'back-to-agreed':
      return { state: 'agreed', slot: null };
    case 'live-with': {
      const livingWith = { by, since: at, until: move.until, reason: move.reason, grade: order.grade };
      return { state: 'living-with', livingWith, livingAsked: null };
    }
    case 'come-back':
      return { state: 'agreed', livingWith: null };
    case 'turn-down':
      return { state: 'turned-down', stuck: null };
    case 'merge-into':
      return { state: 'merged', sameAs: mergeTarget(order.id, move.orderId, find) };
    case 'close-unproved':
      return { state: 'closed-unproved' };
    case 'prove': {
      if (move.judgement.result !== 'proved')
        return { state: 'agreed', slot: null, doneAt: null, proofDueAt: null, failedProofs: order.failedProofs + 1 };
      const dueAt = at + SECOND_PROOF_DAYS * 86_400_000;
      return { state: 'proved', secondProof: order.needsSecondProof ? { dueAt, state: 'pending' } : null };
    }
  }
}

function whyOf(move: OrderMove): string | null {
  switch (move.kind) {
    case 'finish':
      return `${move.found} / ${move.did}`;
    case 'stuck':
    case 'come-back':
      return move.cause;
    case 'prove':
      return move.judgement.sentence;
    case 'slot':
    case 'start':
    case 'free':
    case 'merge-into':
      return null;
    default:
      return move.reason ?? null;
  }
}

/**
 * Adds a verdict to an order: the worst grade counts, and an order lived with comes back to Agreed when this is worse than what was
 * accepted. An order that has ended stays as it is.
 */
export function worsenOrder(order: WorkOrder, grade: Grade, at: number): MovedOrder {
  if (order.endedAt !== null || !isWorseGrade(grade, order.grade)) return { order, record: null };
  const worse: WorkOrder = { ...order, grade, version: order.version + 1 };
  if (order.state !== 'living-with') return { order: worse, record: null };
  const service = { by: null, roles: [], isOwner: false, at };
  const moved = moveOrder(worse, { kind: 'come-back', cause: 'grade-worse' }, service);
  return 'refused' in moved ? { order: worse, record: null } : moved;
}

/**
 * Records the second proof of a bearing. The order stays Proved either way: a fault that is back is a new finding, a repeat of this
 * one. A reading that is not comparable, and any further one, changes nothing.
 */
export function recordSecondProof(order: WorkOrder, judgement: ProofJudgement): WorkOrder {
  if (order.secondProof?.state !== 'pending' || judgement.result === 'not-comparable') return order;
  return { ...order, version: order.version + 1, secondProof: { ...order.secondProof, state: judgement.result } };
}
