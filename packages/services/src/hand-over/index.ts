/**
 * Facts from a device whose access had ended: held on a list until a planner accepts them or turns them away. Hides the list.
 * What always holds: a device without access learns nothing but that its facts are safe; the same content waits once, however
 * often it is sent; an accepted fact is recorded as its person's by the way every fact goes, in the transaction that marks it,
 * so that it is recorded once and never half; nothing on the list is deleted.
 */
export { acceptHandedOver, type Decided, turnAwayHandedOver } from './decide.ts';
export { type Held, holdFacts } from './hold.ts';
export { countHandedOver, type HandedOverPage, type HandedOverView, listHandedOver } from './list.ts';
