import type { FindingState, LimitGrade, OrderState } from '@heatround/domain';
import { sayCounted } from '../format.ts';
import { GRADE_WORDS } from '../marks.tsx';

/** States as they are spoken. */
export const ORDER_STATE_WORDS: Readonly<Record<OrderState, string>> = {
  agreed: 'Agreed',
  slotted: 'Slotted',
  'under-way': 'Under way',
  done: 'Done, prove it',
  stuck: 'Stuck',
  'living-with': 'Living with it',
  proved: 'Proved',
  'closed-unproved': 'Closed unproved',
  'turned-down': 'Turned down',
  merged: 'Same as another',
};
export const FINDING_STATE_WORDS: Readonly<Record<FindingState, string>> = {
  reported: 'Reported',
  agreed: 'Agreed',
  'read-again': 'Read again',
  'same-as': 'Same as another',
  'turned-down': 'Turned down',
  'living-with': 'Living with it',
};

/** What a person can do to a finding. */
export const ANSWER_KINDS = ['agree', 'read-again', 'same-as', 'turn-down', 'live-with', 'ask-to-live-with'] as const;
export type AnswerKind = (typeof ANSWER_KINDS)[number];
export const ANSWER_WORDS: Readonly<Record<AnswerKind, string>> = {
  agree: 'Agreed, another time',
  'read-again': 'Read again',
  'same-as': 'Same as …',
  'turn-down': 'Turn down',
  'live-with': 'Live with it until …',
  'ask-to-live-with': 'Ask to live with it until …',
};

/** What a person can do to an order, in the order in which it is offered. */
export const MOVE_KINDS = [
  'slot',
  'start',
  'finish',
  'free',
  'stuck',
  'back-to-agreed',
  'live-with',
  'ask-to-live-with',
  'come-back',
  'turn-down',
  'merge-into',
  'close-unproved',
  'give',
] as const;
export type MoveKind = (typeof MOVE_KINDS)[number];
export const MOVE_WORDS: Readonly<Record<MoveKind, string>> = {
  slot: 'Slot it',
  start: 'Start the work',
  finish: 'Say what was done',
  free: 'Free it',
  stuck: 'It is stuck',
  'back-to-agreed': 'Give up the slot',
  'live-with': 'Live with it until …',
  'ask-to-live-with': 'Ask to live with it until …',
  'come-back': 'End living with it',
  'turn-down': 'Turn down',
  'merge-into': 'Same as …',
  'close-unproved': 'Close unproved',
  give: 'Give it to …',
};

/** What was done, in the past: the trace of a move. */
const MADE_WORDS: Readonly<Record<string, string>> = {
  report: 'Reported',
  agree: 'Agreed',
  'read-again': 'Asked to read again',
  'same-as': 'Called the same as another',
  'turn-down': 'Turned down',
  'live-with': 'Lives with it',
  'ask-to-live-with': 'Asked to live with it',
  'come-back': 'Came back',
  slot: 'Slotted',
  start: 'Started',
  finish: 'Done, prove it',
  stuck: 'Stuck',
  free: 'Freed',
  'back-to-agreed': 'Slot given up',
  'merge-into': 'Called the same as another',
  prove: 'Proof read',
  'close-unproved': 'Closed unproved',
  give: 'Given',
  'set-target': 'Target set',
  'name-mode': 'Kind of failure named',
  'it-stands': 'Looked at again, it stands',
  'take-up': 'Taken up anew',
  'order-merged': 'Goes on with another order',
};
/** @param nameOf the name of somebody, null for who is no longer among the people. */
export function sayMade(
  { move, to, given }: { readonly move: string; readonly to: string; readonly given: object },
  nameOf: (personId: string) => string | null,
): string {
  if (move === 'prove') return to === 'proved' ? 'Proved' : 'Not proved';
  if (move === 'give' && 'ownerId' in given)
    return typeof given.ownerId === 'string'
      ? `Given to ${nameOf(given.ownerId) ?? 'somebody no longer here'}`
      : 'Given back, nobody has it';
  return MADE_WORDS[move] ?? move.replaceAll('-', ' ');
}

const CAUSES: Readonly<Record<string, string>> = {
  'read-again': 'it was read again',
  'until-ended': 'the end date came',
  'grade-worse': 'it got worse than what was accepted',
  'ended-early': 'ended early by a person',
};
/** The reason beside a move, with the service's own causes in words. */
export const sayWhy = (why: string | null): string | null => (why === null ? null : (CAUSES[why] ?? why));

/** Moves in a sentence, such as "slot it, turn down or give it to". */
export function sayMoves(kinds: readonly string[]): string {
  const words = kinds.map((kind) =>
    (MOVE_WORDS[kind as MoveKind] ?? ANSWER_WORDS[kind as AnswerKind] ?? kind).replace(' …', '').toLowerCase(),
  );
  return words.length < 2 ? (words[0] ?? 'nothing') : `${words.slice(0, -1).join(', ')} or ${words.at(-1)}`;
}

/** Words of a person as a sentence: one full stop at the end. */
export const stopped = (text: string): string => text.replace(/\.?\s*$/, '.');
/** What holds an order up and who can free it, whatever shape the words of that have: a name, or "Ruth, money". */
export const sayStuck = ({ cause, whoFrees }: { readonly cause: string; readonly whoFrees: string }): string =>
  `${stopped(cause)} Who can free it: ${stopped(whoFrees)}`;

export const sayBall = (name: string | null | undefined): string => (name == null ? 'Nobody has it' : `${name} has it`);

const NUMBERS = ['No', 'One', 'Two', 'Three', 'Four', 'Five', 'Six', 'Seven', 'Eight', 'Nine', 'Ten', 'Eleven', 'Twelve'];
/** Counts up to twelve as words, as they are said aloud. @example sayNumberWord(3) // 'Three' */
export const sayNumberWord = (count: number): string => NUMBERS[count] ?? sayCounted(count);

export const limitWord = (grade: LimitGrade): string => GRADE_WORDS[grade];
/** "1 day", "23 days". */
export const sayDays = (count: number): string => (count === 1 ? '1 day' : `${count} days`);
