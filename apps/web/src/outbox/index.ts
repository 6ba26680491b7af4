/**
 * What is only on this device, and how it becomes safe on the server. The only code that knows about being without signal:
 * screens record facts here and never call the service with one. Hides the database of the device, the sending loop, the
 * clock. Always: a fact leaves the device only after the service answered created or duplicate; refused and conflicting
 * ones stay with their reason; sending twice, in any order or from two pages changes nothing. When access has ended, nothing
 * stays to be read and what is unsent is handed over without a session; each person's store stays closed to the others.
 */
export { offsetFrom } from './clock.ts';
export {
  endAccess,
  handOver,
  handOverEnded,
  keepHandingOver,
  keepWays,
  onHandOver,
  seen,
  type Unsent,
  whatIsHere,
} from './hand-over.ts';
export { type Kept, type Receipt, saySafety } from './merge.ts';
export { type OnlyHere, onlyHere } from './only-here.ts';
export { type NewFact, Outbox, type OutboxState } from './outbox.ts';
export {
  type AwaitedProof,
  type Carried,
  type Draft,
  EXTRA,
  type KeptWalk,
  type MyRound,
  type OpenFault,
  type Pack,
  type Step,
} from './store.ts';
