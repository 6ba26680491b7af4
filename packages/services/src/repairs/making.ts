import {
  addEvidence,
  answerDueAt,
  endFinding,
  type Finding,
  type FindingMove,
  type FindingOutcome,
  type Grade,
  isOpenFinding,
  type Mover,
  moveFinding,
  moveOrder,
  type NewOrder,
  type OrderMove,
  repairDueAt,
  type WorkOrder,
  worsenOrder,
} from '@heatround/domain';
import type { WindowAhead } from '../rounds/index.ts';
import { type About, projectionThatCounts, rankOf, riskAt } from './about.ts';
import type { Desk, HeldFinding, HeldOrder } from './desk.ts';

/** The service itself, for what follows from dates and readings alone. */
export const service = (at: number): Mover & { isOwner: false } => ({ by: null, roles: [], at, isOwner: false });

/** Bearings get a second proof. The register knows a bearing by its name. */
const isBearing = ({ pointName }: About): boolean => /\bbearings?\b/i.test(pointName);

/**
 * What an order is made with: due by grade, criticality and the forecast, from the day the fault was seen.
 * @param times agreedAt; livedWithUntil: when an accepted risk ended, from when on its days count anew; null: there was none.
 */
export function newOrder(
  about: About,
  finding: Finding,
  id: string,
  ownerId: string | null,
  { agreedAt, livedWithUntil }: { readonly agreedAt: number; readonly livedWithUntil: number | null },
): NewOrder {
  const { grade, reportedAt } = finding;
  const found = { grade, criticality: about.criticality, at: livedWithUntil ?? reportedAt, agreedAt };
  const due = repairDueAt(found, projectionThatCounts(about), about.place.zone);
  return { id, grade, ownerId, originalDueAt: due.at, needsSecondProof: isBearing(about) };
}

/** Puts an order on the desk for a finding that was agreed to. */
export function holdOrder(
  desk: Desk,
  about: About,
  held: HeldFinding,
  order: WorkOrder,
  windows: readonly WindowAhead[],
  beforeFact: string | null = held.factId,
): HeldOrder {
  const risk = riskAt(about, order.grade, windows, desk.at);
  const made: HeldOrder = {
    order,
    number: 0,
    findingId: held.finding.id,
    pointId: held.finding.pointId,
    assetId: about.assetId,
    siteId: about.siteId,
    criterion: held.finding.criterion,
    rank: rankOf(about, order.grade, risk),
    risk: risk.risk,
    consequence: risk.consequence,
    target: null,
    createdAt: desk.at,
    beforeFact,
    afterFact: null,
  };
  desk.addOrder(made);
  return made;
}

/** When somebody must answer a finding that has come, or come back, at an instant; null: at the next review, or nobody's turn. */
export function answerDue(about: About, finding: Finding, at: number): number | null {
  return finding.state === 'reported' && isOpenFinding(finding) ? answerDueAt(finding.grade, at, about.place.zone) : null;
}

/** Brings a finding back to Reported by the service, where its state allows it. */
export function bringBackFinding(
  desk: Desk,
  about: About,
  held: HeldFinding,
  cause: Extract<FindingMove, { kind: 'come-back' }>['cause'],
  mover: Mover = service(desk.at),
): void {
  const moved = moveFinding(held.finding, { kind: 'come-back', cause }, mover);
  if ('refused' in moved || moved.record === null) return;
  held.answerDueAt = answerDue(about, moved.finding, desk.at);
  held.askedAgainAt = null;
  desk.setFinding(held, moved.finding, moved.record);
}

/** A verdict speaks for a finding: evidence, the worst grade, and back to whoever accepted something milder. */
export function joinFinding(desk: Desk, about: About, held: HeldFinding, grade: Grade, factId: string | null): void {
  if (factId) desk.addEvidence(held.finding.id, factId);
  const before = held.finding;
  const { finding, record } = addEvidence(before, grade, desk.at);
  if (finding === before) return;
  const due = answerDue(about, finding, desk.at);
  const sooner = due !== null && (held.answerDueAt === null || due < held.answerDueAt);
  if (record !== null || sooner) held.answerDueAt = due;
  desk.setFinding(held, finding, record);
}

/** The same for its order. One that was lived with comes back, and its finding with it. */
export function worsen(desk: Desk, about: About, held: HeldOrder, grade: Grade, windows: readonly WindowAhead[]): void {
  const { order, record } = worsenOrder(held.order, grade, desk.at);
  if (order === held.order) return;
  desk.setOrder(held, order, record);
  rankAnew(desk, about, held, windows);
  const finding = desk.findings.get(held.findingId);
  if (record !== null && finding) bringBackFinding(desk, about, finding, 'grade-worse');
}

/** Risk and place in the queue, after the grade has changed. */
export function rankAnew(desk: Desk, about: About, held: HeldOrder, windows: readonly WindowAhead[]): void {
  const risk = riskAt(about, held.order.grade, windows, desk.at);
  Object.assign(held, { rank: rankOf(about, held.order.grade, risk), risk: risk.risk, consequence: risk.consequence });
}

/** The findings of a merged order go on with the one it was merged into, and what speaks for them speaks for that one's. */
export async function goOnWith(desk: Desk, merged: HeldOrder, head: HeldOrder, by: string | null): Promise<void> {
  for (const held of desk.findingsOf(merged.order.id)) {
    const { finding } = held;
    await desk.copyEvidence(finding.id, head.findingId);
    const next = { ...finding, orderId: head.order.id, version: finding.version + 1 };
    const record = { move: 'order-merged', from: next.state, to: next.state, by, at: desk.at, why: null };
    desk.setFinding(held, next, { ...record, given: { kind: 'order-merged' } });
  }
}

/** Ends the findings that led to an order, as it ended. */
export function endFindingsOf(desk: Desk, held: HeldOrder, outcome: FindingOutcome, at: number): void {
  for (const finding of desk.findingsOf(held.order.id)) {
    const ended = endFinding(finding.finding, outcome, at);
    if (ended === finding.finding) continue;
    finding.answerDueAt = null;
    desk.setFinding(finding, ended, null);
  }
}

/** Moves an order that the rules let be moved; otherwise leaves it and says no. */
export function tryMove(desk: Desk, held: HeldOrder, move: OrderMove, mover: Mover & { isOwner: boolean }): boolean {
  const moved = moveOrder(held.order, move, mover, { find: desk.orderById });
  if ('refused' in moved) return false;
  desk.setOrder(held, moved.order, moved.record);
  return true;
}
