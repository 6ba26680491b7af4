/**
 * Findings and work orders: from a bad value to evidence that it was put right. Hides their tables, the locks and the traces.
 * What always holds: one open finding per point and kind of failure, however many report it and at the same moment; an order ends
 * only with evidence or a reason; every move leaves exactly one trace, and of two moves made from one state one counts.
 */

export { type About, type LastValue, lastValuesOf, subjectsOf } from './about.ts';
export { type Answer, type AnsweredView, answerFinding, nameMode } from './answer.ts';
export { type Carried, carriedWithin } from './carried.ts';
export { followFacts } from './follow.ts';
export { listFindings, listOrders } from './lists.ts';
export { bringBackJob, bringBackNow, findLivingOver, type LivingPayload } from './living.job.ts';
export { findMissingStops, missingStopsJob } from './missing-stops.job.ts';
export { type AskedMove, type MovedView, moveOrder, setTarget } from './move.ts';
export { getOrder, type OrderPage } from './one-order.ts';
export { findOrdersToRank, rankOrdersJob } from './rank.job.ts';
export { type LateEvidence, type LookedView, lookAgainAt } from './second-look.ts';
export type { FindingLine, MoveView, OrderLine, PersonName } from './views.ts';
