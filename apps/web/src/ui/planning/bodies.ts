import type { Sent } from '../../client/index.ts';
import { type FormContext, latestOf, slotBody, type Typed, untilOf } from './form.tsx';
import type { AnswerKind, MoveKind } from './words.ts';

export type AnswerBody = Sent<'answerFinding'>['body']['answer'];
export type MoveBody = Sent<'moveOrder'>['body']['move'];
const orNull = (id: string): string | null => (id === '' ? null : id);
const orNone = (text: string): { reason?: string } => (text.trim() === '' ? {} : { reason: text.trim() });

/** What an answer sends. @param orderId made here, so that an answer sent twice makes one order. */
export function answerBody(kind: AnswerKind, typed: Typed, context: FormContext, orderId: string): AnswerBody {
  switch (kind) {
    case 'agree':
      return { kind, orderId, ownerId: orNull(typed.owner) };
    case 'read-again': {
      const latestAt = latestOf(typed, context.zone);
      return { kind, ...orNone(typed.reason), ...(latestAt === undefined ? {} : { latestAt }), walkerId: orNull(typed.owner) };
    }
    case 'same-as':
      return { kind, findingId: typed.other };
    case 'turn-down':
      return { kind, reason: typed.reason.trim() };
    case 'live-with':
    case 'ask-to-live-with':
      return { kind, until: untilOf(typed, context.zone), reason: typed.reason.trim() };
  }
}

/** What a move sends. */
export function moveBody(kind: MoveKind, typed: Typed, context: FormContext): MoveBody {
  switch (kind) {
    case 'slot':
      return slotBody(typed, context) ?? { kind: 'slot', windowId: null };
    case 'start':
    case 'free':
      return { kind };
    case 'finish':
      return { kind, found: typed.found.trim(), did: typed.did.trim(), work: typed.work };
    case 'stuck':
      return { kind, cause: typed.cause.trim(), whoFrees: typed.whoFrees.trim() };
    case 'back-to-agreed':
      return { kind, ...orNone(typed.reason) };
    case 'live-with':
    case 'ask-to-live-with':
      return { kind, until: untilOf(typed, context.zone), reason: typed.reason.trim() };
    case 'come-back':
      return { kind, cause: 'ended-early' };
    case 'turn-down':
    case 'close-unproved':
      return { kind, reason: typed.reason.trim() };
    case 'merge-into':
      return { kind, orderId: typed.other };
    case 'give':
      return { kind, ownerId: orNull(typed.owner) };
  }
}
