import { compareUnanswered, type Finding, MOST_COUNTED, type Unanswered } from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, ID, INSTANT, mustBeAllowed, now, readMark, type Scope, WHOLE, writeMark } from '../deps/index.ts';
import { type WindowView, windowsAhead } from '../rounds/index.ts';
import { lastWindowEndOf, type Ranked, rankOf, riskAt, subjectsOf } from './about.ts';
import { lateEvidenceOf } from './second-look.ts';
import {
  type FindingLine,
  type FindingRow,
  type OrderLine,
  type OrderRow,
  toFindingLine,
  toOrderLine,
  toWindowView,
} from './views.ts';

export interface FindingsQuery {
  readonly which: 'to-answer' | 'look-again' | 'open' | 'all';
  readonly siteId?: string | undefined;
  readonly pointId?: string | undefined;
  readonly after?: string | undefined;
  readonly pageSize: number;
}

/**
 * Findings that want an answer, by last sensible window, then risk; or those that want a second look, those that are open, or all,
 * newest first. The first list looks at what is unanswered, the others at one page; none at the history.
 */
export async function listFindings(
  deps: Deps,
  scope: Scope,
  query: FindingsQuery,
): Promise<{ now: Date; findings: FindingLine[]; windows: WindowView[]; next: string | null }> {
  mustBeAllowed(scope, 'see');
  const at = now(deps, scope);
  return deps.database.inTenant(scope, async ({ db }) => {
    const page = query.which === 'to-answer' ? await unansweredPage(db, query, at) : await newestPage(db, query);
    const rows = await findingRows(db, page.ids);
    const { subjects, windows } = await subjectsOf(
      db,
      [...rows.values()].map(({ finding }) => finding.pointId),
      at,
    );
    const asking = [...rows.values()].filter(({ asksPlanner }) => asksPlanner);
    const late = await lateEvidenceOf(
      db,
      asking.map(({ finding }) => finding.id),
    );
    const findings = page.ids.flatMap((id) => {
      const row = rows.get(id);
      const subject = row && subjects.get(row.finding.pointId);
      if (!row || !subject) return [];
      const { risk } = riskAt(subject.about, row.finding.grade, windows, at);
      return [toFindingLine(row, subject, risk, scope, at, late.get(id))];
    });
    return { now: new Date(at), findings, windows: windows.map(toWindowView), next: page.next };
  });
}

interface Page {
  readonly ids: string[];
  readonly next: string | null;
}

export const filtersOf = ({ siteId, pointId }: { siteId?: string | undefined; pointId?: string | undefined }, alias: Sql): Sql =>
  sql`${siteId ? sql`AND ${alias}.site_id = ${siteId}::uuid` : sql.empty} ${pointId ? sql`AND ${alias}.point_id = ${pointId}::uuid` : sql.empty}`;

/** As the partial indexes say it. */
const WHICH: Readonly<Record<FindingsQuery['which'], Sql>> = {
  all: sql.empty,
  open: sql`AND f.ended_at IS NULL AND f.stands <> 'same-as'`,
  'look-again': sql`AND f.asks_planner AND (f.stands <> 'reported' OR f.ended_at IS NOT NULL)`,
  'to-answer': sql`AND f.stands = 'reported' AND f.ended_at IS NULL`,
};

async function newestPage(db: TenantDb, query: FindingsQuery): Promise<Page> {
  const mark = readMark(query.after, [INSTANT, ID]);
  const after = mark ? sql`AND (f.reported_at, f.id) < (${mark[0]}::timestamptz, ${mark[1]}::uuid)` : sql.empty;
  const rows = await db.$queryRaw<{ id: string; at: Date }[]>(sql`
    SELECT f.id, f.reported_at AS at FROM finding f
    WHERE f.organisation_id = current_organisation() ${WHICH[query.which]} ${filtersOf(query, sql`f`)} ${after}
    ORDER BY f.reported_at DESC, f.id DESC LIMIT ${query.pageSize + 1}`);
  const page = rows.slice(0, query.pageSize);
  const last = page.at(-1);
  const next = rows.length > page.length && last ? writeMark(last.at.toISOString(), last.id) : null;
  return { ids: page.map(({ id }) => id), next };
}

interface UnansweredRow extends Omit<Ranked, 'place'> {
  readonly id: string;
  readonly grade: Finding['grade'];
  readonly reportedAt: Date;
  readonly dueAt: Date | null;
  readonly orderId: string | null;
  readonly buildingId: string;
}

/**
 * The last window depends on windows and forecasts of today, so the order is made here and not in an index: of what is unanswered only
 * that is read which decides its place.
 */
async function unansweredPage(db: TenantDb, query: FindingsQuery, at: number): Promise<Page> {
  const queue = await unansweredOf(db, query, at);
  const mark = readUnanswered(query.after);
  const ahead = queue.filter((one) => mark === null || compareUnanswered(one, mark) > 0).sort(compareUnanswered);
  const page = ahead.slice(0, query.pageSize);
  const last = page.at(-1);
  return { ids: page.map(({ id }) => id), next: ahead.length > page.length && last ? writeUnanswered(last) : null };
}

/** What is unanswered, in no order, with what decides its place. */
export async function unansweredOf(
  db: TenantDb,
  query: { readonly siteId?: string | undefined; readonly pointId?: string | undefined },
  at: number,
): Promise<(Unanswered & { readonly orderId: string | null; readonly rank: number })[]> {
  const rows = await db.$queryRaw<UnansweredRow[]>(sql`
    SELECT f.id, f.grade, f.reported_at AS "reportedAt", f.answer_due_at AS "dueAt", f.order_id AS "orderId", f.asset_id AS "assetId",
      a.site_id AS "siteId", a.criticality, a.life_safety AS "lifeSafety", r.building_id AS "buildingId",
      CASE WHEN c.point_id IS NOT NULL
        THEN jsonb_build_object('countsGrade', c.content -> 'countsGrade', 'projections', c.content -> 'projections') END AS conclusion
    FROM finding f
      CROSS JOIN LATERAL (SELECT * FROM asset a WHERE a.organisation_id = f.organisation_id AND a.id = f.asset_id LIMIT 1) a
      CROSS JOIN LATERAL (SELECT * FROM room r WHERE r.organisation_id = a.organisation_id AND r.id = a.room_id LIMIT 1) r
      LEFT JOIN LATERAL (SELECT * FROM conclusion c WHERE c.organisation_id = f.organisation_id AND c.point_id = f.point_id LIMIT 1) c ON true
    WHERE f.organisation_id = current_organisation() ${WHICH['to-answer']} ${filtersOf(query, sql`f`)}`);
  const windows = rows.length > 0 ? await windowsAhead(db, query.siteId ? [query.siteId] : null, at) : [];
  return rows.map(({ id, grade, reportedAt, dueAt, buildingId, orderId, ...row }) => {
    const about: Ranked = { ...row, place: { buildingId } };
    const risked = riskAt(about, grade, windows, at);
    const times = {
      dueAt: dueAt?.getTime() ?? null,
      reportedAt: reportedAt.getTime(),
      lastWindowAt: lastWindowEndOf(about, windows, at),
    };
    const { risk, consequence } = risked;
    return { id, orderId, isCritical: isCritical(about, grade), rank: rankOf(about, grade, risked), risk, consequence, ...times };
  });
}

const isCritical = ({ lifeSafety }: Ranked, grade: Finding['grade']): boolean => lifeSafety || grade === 'now';

const NONE = 'none';
const WHEN = /^(none|-?\d{1,16})$/;

function writeUnanswered({ isCritical: critical, lastWindowAt, risk, consequence, dueAt, reportedAt, id }: Unanswered): string {
  return writeMark(Number(critical), lastWindowAt ?? NONE, risk, consequence, dueAt ?? NONE, reportedAt, id);
}

function readUnanswered(after: string | undefined): Unanswered | null {
  const mark = readMark(after, [/^[01]$/, WHEN, WHOLE, WHOLE, WHEN, WHEN, ID]);
  if (mark === null) return null;
  const [critical, lastWindowAt, risk, consequence, dueAt, reportedAt, id] = mark as [
    string,
    string,
    string,
    string,
    string,
    string,
    string,
  ];
  const when = (text: string): number | null => (text === NONE ? null : Number(text));
  return {
    isCritical: critical === '1',
    lastWindowAt: when(lastWindowAt),
    risk: Number(risk),
    consequence: Number(consequence),
    dueAt: when(dueAt),
    reportedAt: when(reportedAt) ?? 0,
    id,
  };
}

/** Findings by id as their lines tell them. */
export async function findingRows(db: TenantDb, ids: readonly string[]): Promise<Map<string, FindingRow>> {
  if (ids.length === 0) return new Map();
  const rows = await db.$queryRaw<FindingRow[]>(sql`
    SELECT f.number, f.state AS finding, f.reported_at AS "reportedAt", coalesce(m.name, 'somebody no longer here') AS "reportedBy", f.words,
      f.answer_due_at AS "answerDueAt", f.asks_planner AS "asksPlanner", r.number AS repeats, o.number AS "orderNumber",
      (SELECT count(*)::int FROM finding_evidence e WHERE e.organisation_id = f.organisation_id AND e.finding_id = f.id) AS evidence
    FROM finding f LEFT JOIN membership m ON m.organisation_id = f.organisation_id AND m.person_id = f.reported_by
      LEFT JOIN finding r ON r.organisation_id = f.organisation_id AND r.id = f.repeats
      LEFT JOIN work_order o ON o.organisation_id = f.organisation_id AND o.id = f.order_id
    WHERE f.organisation_id = current_organisation() AND f.id = ANY (${[...ids]}::uuid[])`);
  return new Map(rows.map((row) => [row.finding.id, row]));
}

export interface OrdersQuery {
  readonly order: 'risk' | 'overdue';
  readonly which: 'open' | 'mine' | 'ended';
  readonly siteId?: string | undefined;
  readonly pointId?: string | undefined;
  readonly after?: string | undefined;
  readonly pageSize: number;
}

/**
 * Work orders, critical ones first, then by risk, consequence and due date; or by due date, the longest overdue first; or those that
 * ended, newest first. The cost grows with the page, not with what is open or has ended.
 */
export async function listOrders(
  deps: Deps,
  scope: Scope,
  query: OrdersQuery,
): Promise<{
  now: Date;
  counts: { open: number; overdue: number };
  orders: OrderLine[];
  windows: WindowView[];
  next: string | null;
}> {
  mustBeAllowed(scope, 'see');
  const at = now(deps, scope);
  return deps.database.inTenant(scope, async ({ db }) => {
    const { ids, next } = await ordersPage(db, scope, query);
    const rows = await orderRows(db, ids);
    const { subjects, windows } = await subjectsOf(
      db,
      [...rows.values()].map(({ pointId }) => pointId),
      at,
    );
    const orders = ids.flatMap((id) => {
      const row = rows.get(id);
      const subject = row && subjects.get(row.pointId);
      return row && subject ? [toOrderLine(row, subject, scope, at)] : [];
    });
    const counts = await countOrders(db, query, at);
    return { now: new Date(at), counts, orders, windows: windows.map(toWindowView), next };
  });
}

async function ordersPage(db: TenantDb, scope: Scope, query: OrdersQuery): Promise<Page> {
  const limit = query.pageSize + 1;
  const where = sql`o.organisation_id = current_organisation() ${filtersOf(query, sql`o`)}`;
  if (query.which === 'ended') {
    const mark = readMark(query.after, [INSTANT, ID]);
    const after = mark ? sql`AND (o.ended_at, o.id) < (${mark[0]}::timestamptz, ${mark[1]}::uuid)` : sql.empty;
    const rows = await db.$queryRaw<{ id: string; at: Date }[]>(sql`
      SELECT o.id, o.ended_at AS at FROM work_order o WHERE ${where} AND o.ended_at IS NOT NULL ${after}
      ORDER BY o.ended_at DESC, o.id DESC LIMIT ${limit}`);
    return pageOf(rows, query.pageSize, ({ at, id }) => writeMark(at.toISOString(), id));
  }
  const open = sql`${where} AND o.ended_at IS NULL ${query.which === 'mine' ? sql`AND o.owner_id = ${scope.personId}::uuid` : sql.empty}`;
  if (query.order === 'overdue') {
    const mark = readMark(query.after, [INSTANT, ID]);
    const after = mark ? sql`AND (o.queue_at, o.id) > (${mark[0]}::timestamptz, ${mark[1]}::uuid)` : sql.empty;
    const rows = await db.$queryRaw<{ id: string; at: string }[]>(sql`
      SELECT o.id, o.queue_at::text AS at FROM work_order o WHERE ${open} ${after} ORDER BY o.queue_at, o.id LIMIT ${limit}`);
    return pageOf(rows, query.pageSize, ({ at, id }) => writeMark(at, id));
  }
  const mark = readMark(query.after, [WHOLE, INSTANT, ID]);
  const after = mark
    ? sql`AND (o.rank, o.queue_at, o.id) > (${Number(mark[0])}, ${mark[1]}::timestamptz, ${mark[2]}::uuid)`
    : sql.empty;
  const rows = await db.$queryRaw<{ id: string; rank: number; at: string }[]>(sql`
    SELECT o.id, o.rank, o.queue_at::text AS at FROM work_order o WHERE ${open} ${after} ORDER BY o.rank, o.queue_at, o.id LIMIT ${limit}`);
  return pageOf(rows, query.pageSize, ({ rank, at, id }) => writeMark(rank, at, id));
}

function pageOf<Row extends { readonly id: string }>(rows: readonly Row[], size: number, mark: (row: Row) => string): Page {
  const page = rows.slice(0, size);
  const last = page.at(-1);
  return { ids: page.map(({ id }) => id), next: rows.length > size && last ? mark(last) : null };
}

/** Orders by id as their lines tell them. */
export async function orderRows(db: TenantDb, ids: readonly string[]): Promise<Map<string, OrderRow>> {
  if (ids.length === 0) return new Map();
  const rows = await db.$queryRaw<OrderRow[]>(sql`
    SELECT o.number, o.state AS order, o.point_id AS "pointId", o.due_at AS "dueAt", o.risk, o.consequence, o.created_at AS "createdAt",
      o.ended_at AS "endedAt", o.proof_due_at AS "proofDueAt", f.number AS "findingNumber", f.reported_at AS "reportedAt",
      coalesce(r.name, 'somebody no longer here') AS "reportedBy", w.name AS "ownerName"
    FROM work_order o JOIN finding f ON f.organisation_id = o.organisation_id AND f.id = o.finding_id
      LEFT JOIN membership r ON r.organisation_id = f.organisation_id AND r.person_id = f.reported_by
      LEFT JOIN membership w ON w.organisation_id = o.organisation_id AND w.person_id = o.owner_id
    WHERE o.organisation_id = current_organisation() AND o.id = ANY (${[...ids]}::uuid[])`);
  return new Map(rows.map((row) => [row.order.id, row]));
}

async function countOrders(db: TenantDb, query: OrdersQuery, at: number): Promise<{ open: number; overdue: number }> {
  // Overdue ones stand first in this index, so that one pass over its beginning counts both. What is done waits for its proof and
  // what is lived with for its end; neither is overdue.
  const [counts] = await db.$queryRaw<{ open: number; overdue: number }[]>(sql`
    SELECT count(*)::int AS open,
      count(*) FILTER (WHERE x.queue_at < ${new Date(at)}::timestamptz AND x.stands NOT IN ('done', 'living-with'))::int AS overdue FROM (
      SELECT o.queue_at, o.stands FROM work_order o WHERE o.organisation_id = current_organisation() AND o.ended_at IS NULL
        ${filtersOf({ siteId: query.siteId }, sql`o`)} ORDER BY o.queue_at LIMIT ${MOST_COUNTED}) x`);
  return counts!;
}
