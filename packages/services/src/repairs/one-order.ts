import type { MoveRecord } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { loadPoints } from '../assets/index.ts';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { limitsOf } from '../limits/index.ts';
import { type ReadingView, readingsById } from '../readings/index.ts';
import type { WindowView } from '../rounds/index.ts';
import { subjectsOf } from './about.ts';
import { Desk, type HeldOrder } from './desk.ts';
import { orderRows } from './lists.ts';
import { targetOf } from './proof.ts';
import { type MoveView, type OrderLine, toOrderLine, toWindowView } from './views.ts';

export interface OrderPage extends OrderLine {
  readonly findingWords: string | null;
  readonly before: ReadingView | null;
  readonly after: ReadingView | null;
  readonly target: { readonly value: number; readonly direction: 'high' | 'low'; readonly inWords: string } | null;
  readonly moves: MoveView[];
  readonly findingMoves: MoveView[];
  readonly evidence: ReadingView[];
  readonly proofStop: {
    readonly id: string;
    readonly earliestAt: Date;
    readonly latestAt: Date;
    readonly roundCode: string | null;
  } | null;
  readonly windows: WindowView[];
}

/** Newest evidence and newest moves that one page shows. */
const MOST_EVIDENCE = 50;
const MOST_MOVES = 200;

/** One work order with what led to it and what became of it. */
export async function getOrder(deps: Deps, scope: Scope, orderId: string): Promise<OrderPage> {
  mustBeAllowed(scope, 'see');
  const at = now(deps, scope);
  return deps.database.inTenant(scope, async ({ db }) => {
    const row = (await orderRows(db, [orderId])).get(orderId);
    if (!row) throw notFound('order');
    const { subjects, windows } = await subjectsOf(db, [row.pointId], at);
    const subject = subjects.get(row.pointId);
    if (!subject) throw notFound('order');
    const desk = new Desk(db, scope, at, false);
    await desk.takeAround({ orderIds: [orderId] });
    const held = desk.orders.get(orderId)!;
    const findingIds = desk.findingsOf(orderId).map(({ finding }) => finding.id);
    const evidenceIds = await evidenceOf(db, findingIds);
    const named = [held.beforeFact, held.afterFact].flatMap((id) => id ?? []);
    const readings = await readingsById(db, [...new Set([...evidenceIds, ...named])]);
    const byId = new Map(readings.map((one) => [one.id, one]));
    return {
      ...toOrderLine(row, subject, scope, at),
      findingWords: desk.findings.get(held.findingId)?.words ?? null,
      before: byId.get(held.beforeFact ?? '') ?? null,
      after: byId.get(held.afterFact ?? '') ?? null,
      target: await targetFor(db, held, at),
      moves: await movesOf(db, [orderId]),
      findingMoves: await movesOf(db, findingIds),
      evidence: readings.filter(({ id }) => evidenceIds.includes(id)),
      proofStop: await proofStopOf(db, orderId),
      windows: windows.map(toWindowView),
    };
  });
}

async function targetFor(db: TenantDb, held: HeldOrder, at: number): Promise<OrderPage['target']> {
  const [registered] = await loadPoints(db, { pointIds: [held.pointId] });
  if (!registered) return null;
  const limits = (await limitsOf(db, [held.pointId])).get(held.pointId) ?? [];
  return targetOf(registered.point, limits, held, at);
}

async function evidenceOf(db: TenantDb, findingIds: readonly string[]): Promise<string[]> {
  const rows = await db.$queryRaw<{ id: string }[]>(sql`
    SELECT DISTINCT ON (e.fact_id) e.fact_id AS id FROM unnest(${[...findingIds]}::uuid[]) AS f(id) CROSS JOIN LATERAL (
      SELECT * FROM finding_evidence e WHERE e.organisation_id = current_organisation() AND e.finding_id = f.id
      ORDER BY e.fact_id DESC LIMIT ${MOST_EVIDENCE}) e`);
  return rows.map(({ id }) => id);
}

type Traced = Omit<MoveView, 'by' | 'at'> & {
  readonly record: MoveRecord<string, { kind: string }>;
  readonly name: string | null;
};

async function movesOf(db: TenantDb, subjectIds: readonly string[]): Promise<MoveView[]> {
  const rows = await db.$queryRaw<Traced[]>(sql`
    SELECT m.record, p.name FROM move m LEFT JOIN membership p ON p.organisation_id = m.organisation_id AND p.person_id = m.moved_by
    WHERE m.organisation_id = current_organisation() AND m.subject_id = ANY (${[...subjectIds]}::uuid[])
    ORDER BY m.moved_at, m.subject_id, m.version LIMIT ${MOST_MOVES}`);
  return rows.map(({ record, name }) => {
    const { move, from, to, by, at, why, given } = record;
    return { move, from, to, by: by ? { id: by, name: name ?? 'somebody no longer here' } : null, at: new Date(at), why, given };
  });
}

async function proofStopOf(db: TenantDb, orderId: string): Promise<OrderPage['proofStop']> {
  const [stop] = await db.$queryRaw<NonNullable<OrderPage['proofStop']>[]>(sql`
    SELECT s.id, s.earliest_at AS "earliestAt", s.latest_at AS "latestAt", t.code AS "roundCode"
    FROM extra_stop s LEFT JOIN round r ON r.organisation_id = s.organisation_id AND r.id = s.round_id
      LEFT JOIN route t ON t.organisation_id = r.organisation_id AND t.id = r.route_id
    WHERE s.organisation_id = current_organisation() AND s.order_id = ${orderId}::uuid AND s.closed_at IS NULL
    ORDER BY s.earliest_at, s.id LIMIT 1`);
  return stop ?? null;
}
