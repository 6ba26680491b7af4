import {
  CRITERION_OF,
  judgeProofReading,
  type KindOfWork,
  type LimitSet,
  moveOrder,
  type Point,
  type ProofJudgement,
  proofDueAt,
  proofTarget,
  type Reading,
  recordSecondProof,
  sayNumber,
  type Verdict,
  WARMING,
  withUnit,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import type { Scope } from '../deps/index.ts';
import { idOf } from '../deps/index.ts';
import { closeStops, placeStop } from '../rounds/index.ts';
import type { Desk, HeldOrder, Target } from './desk.ts';
import { endFindingsOf, service } from './making.ts';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
/** A second proof may be read so many days before or after its day; common practice, no source. */
const SECOND_PROOF_MARGIN_DAYS = 7;

/** How long after some work a reading at this point says nothing yet. */
export const settlingMs = (point: Pick<Point, 'regreasingGateHours'>, work: KindOfWork): number =>
  WARMING.includes(work) ? point.regreasingGateHours * HOUR : 0;

/** What a proof has to show: the target of the order, else below Watch; null where the point has no limit that could be met. */
export function targetOf(
  point: Point,
  limits: readonly LimitSet[],
  order: Pick<HeldOrder, 'target' | 'criterion'>,
  at: number,
): (Target & { readonly inWords: string }) | null {
  const target = proofTarget(limits, order.criterion ?? CRITERION_OF[point.quantity], order.target, at);
  if (target === null) return null;
  const figure = withUnit(sayNumber(target.value, point.decimals), point.unit);
  return { ...target, inWords: `${target.direction === 'high' ? 'below' : 'above'} ${figure}` };
}

/** What stands on the proof stop: the target, and the conditions without which the reading proves nothing. */
export function noteOfProof(point: Point, limits: readonly LimitSet[], held: HeldOrder, at: number, why = ''): string {
  const target = targetOf(point, limits, held, at);
  const load =
    point.loadFamily === 'none' ? '' : `, at ${Math.round(point.minimumLoadPercent)} % load or more, like that of the finding`;
  const wanted = target === null ? `Prove repair ${held.number}` : `Prove repair ${held.number}: ${target.inWords}${load}`;
  return `${wanted}.${why === '' ? '' : ` ${why}`}`;
}

/** A proof stop to be placed once the desk has been put back. */
export interface StopWanted {
  readonly id: string;
  readonly held: HeldOrder;
  readonly fromMs: number;
  readonly untilMs: number;
  readonly why: string;
  readonly askedBy: string | null;
}

/** From when the work has settled until the proof is due. */
export function firstProofStop(held: HeldOrder, point: Point, work: KindOfWork, askedBy: string | null): StopWanted {
  const { id, version, doneAt, proofDueAt: due } = held.order;
  const fromMs = Math.min(doneAt! + settlingMs(point, work), due! - HOUR);
  return { id: idOf('proof', id, version), held, fromMs, untilMs: due!, why: '', askedBy };
}

/** Closes what was asked before for these orders and places the stops anew. */
export async function placeProofStops(
  db: TenantDb,
  scope: Scope,
  wanted: readonly StopWanted[],
  points: ReadonlyMap<string, { readonly point: Point }>,
  limits: ReadonlyMap<string, readonly LimitSet[]>,
  at: number,
): Promise<void> {
  for (const { id, held, fromMs, untilMs, why, askedBy } of wanted) {
    const registered = points.get(held.pointId);
    // A retired point is read no more; its order is closed unproved by a person.
    if (!registered) continue;
    const note = noteOfProof(registered.point, limits.get(held.pointId) ?? [], held, at, why);
    const about = { pointId: held.pointId, findingId: held.findingId, orderId: held.order.id };
    await placeStop(db, scope, { id, kind: 'proof', ...about, fromMs, untilMs, note, askedBy, askedAtMs: at });
  }
}

/** Closes the open proof stops of an order. @param answeredBy the reading; null: no longer needed. */
export const closeProofStops = (db: TenantDb, orderId: string, answeredBy: string | null, at: number): Promise<number> =>
  closeStops(db, { orderId, answeredBy, at });

/** A reading at a point with an order that waits for its proof. */
export interface ProofReading {
  readonly id: string;
  readonly takenAt: number;
  readonly reading: Reading;
  readonly verdict: Verdict;
  /** Work recorded beside it, which the verdict could not know of yet. */
  readonly settledAt: number | null;
}

/** The reading of the finding. */
export interface BeforeReading {
  readonly reading: Reading | null;
  readonly verdict: Verdict | null;
}

/** Readings that could not be judged, or say nothing of the fault, may stand between; further back nothing is looked for. */
const LOOKED_AT = 48;

/** The last comparable reading before some work that still shows the fault; null: none, and the one that raised it stands. */
export async function lastBefore(db: TenantDb, pointId: string, doneAt: number): Promise<string | null> {
  const [last] = await db.$queryRaw<{ id: string }[]>(sql`
    SELECT n.id FROM (
      SELECT k.id, k.taken_at, k.grade, k.comparability FROM counted_reading k
      WHERE k.organisation_id = current_organisation() AND k.point_id = ${pointId}::uuid AND k.taken_at <= ${new Date(doneAt)}::timestamptz
      ORDER BY k.taken_at DESC, k.id DESC LIMIT ${LOOKED_AT}) n
    WHERE n.comparability <> 'not-judged' AND n.grade <> 'fine' ORDER BY n.taken_at DESC, n.id DESC LIMIT 1`);
  return last?.id ?? null;
}

/** Does this reading prove the order? */
export function judge(
  point: Point,
  limits: readonly LimitSet[],
  held: HeldOrder,
  { reading, verdict: own, settledAt, takenAt }: ProofReading,
  before: BeforeReading | undefined,
): ProofJudgement {
  const verdict: Verdict =
    settledAt !== null && takenAt < settledAt && own.gate === null ? { ...own, gate: 'after-regreasing' } : own;
  return judgeProofReading(point, limits, { target: held.target, criterion: held.criterion, before }, { reading, verdict });
}

/** What a proof reading leads to: a stop to place, a stop to close, and a sentence for whoever read it. */
export interface ProofStep {
  readonly notice: string;
  readonly isClosed: boolean;
  readonly stop: StopWanted | null;
}

/**
 * Moves an order by a reading. Proved ends it and its findings; not proved brings it back under the same number; a reading under
 * other conditions moves nothing and asks for another one, with the reason.
 */
export function proveBy(desk: Desk, held: HeldOrder, judgement: ProofJudgement, proof: ProofReading): ProofStep {
  const { sentence } = judgement;
  const { id: readingId, takenAt } = proof;
  const moved = moveOrder(held.order, { kind: 'prove', readingId, judgement }, service(Math.min(takenAt, desk.at)));
  if ('refused' in moved) {
    const due = held.order.proofDueAt!;
    const untilMs = due > desk.at + HOUR ? due : proofDueAt(desk.at, held.order.grade);
    const fromMs = Math.max(takenAt, proof.settledAt ?? takenAt);
    const id = idOf('proof', held.order.id, readingId);
    return { notice: sentence, isClosed: true, stop: { id, held, fromMs, untilMs, why: sentence, askedBy: null } };
  }
  desk.setOrder(held, moved.order, moved.record);
  desk.addEvidence(held.findingId, readingId);
  held.afterFact = readingId;
  if (moved.order.state !== 'proved') return { notice: sentence, isClosed: true, stop: null };
  endFindingsOf(desk, held, 'proved', Math.min(takenAt, desk.at));
  return { notice: sentence, isClosed: true, stop: secondProofStop(held) };
}

function secondProofStop(held: HeldOrder): StopWanted | null {
  const { secondProof, id } = held.order;
  if (secondProof?.state !== 'pending') return null;
  const margin = SECOND_PROOF_MARGIN_DAYS * DAY;
  const [fromMs, untilMs] = [secondProof.dueAt - margin, secondProof.dueAt + margin];
  return { id: idOf('second-proof', id), held, fromMs, untilMs, why: 'Second proof.', askedBy: null };
}

/** Records the second proof of a bearing, when its time has come. */
export function proveAgainBy(desk: Desk, held: HeldOrder, judgement: ProofJudgement, takenAt: number): boolean {
  const { secondProof, state } = held.order;
  if (secondProof?.state !== 'pending' || takenAt < secondProof.dueAt - SECOND_PROOF_MARGIN_DAYS * DAY) return false;
  const next = recordSecondProof(held.order, judgement);
  if (next === held.order) return false;
  const record = { move: 'second-proof', from: state, to: state, by: null, at: desk.at, why: judgement.sentence };
  desk.setOrder(held, next, { ...record, given: { kind: 'second-proof' } });
  return true;
}
