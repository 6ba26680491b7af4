import { GRADES, type Grade, MOST_COUNTED, may } from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import type { Scope } from '../deps/index.ts';
import type { WindowView } from '../rounds/index.ts';
import { aboutPoints, riskAt, type Subject, subjectsOf } from './about.ts';
import { filtersOf, findingRows, orderRows, unansweredOf } from './lists.ts';
import { type FindingLine, type OrderLine, toFindingLine, toOrderLine, toWindowView } from './views.ts';

/** What is carried: a line of one of the two lists. */
export interface CarriedRef {
  readonly kind: 'finding' | 'order';
  readonly id: string;
}

/** A request that waits for the person who looks. */
export interface Decision extends CarriedRef {
  readonly askedBy: string;
}

export interface OverdueOfGrade {
  readonly grade: Grade;
  readonly count: number;
  /** Calendar days beyond the original due date, of all of them and of the longest. */
  readonly days: number;
  readonly longestDays: number;
}

type AboutPoint = Pick<Subject, 'pointId' | 'assetId' | 'tag' | 'letter' | 'assetName' | 'pointName' | 'criticality' | 'place'>;

/** An accepted risk with its end. */
export interface LivedWith extends AboutPoint {
  readonly kind: 'finding' | 'order';
  readonly id: string;
  readonly number: number;
  readonly grade: Grade;
  /** Null: somebody no longer known here. */
  readonly signedBy: { readonly id: string; readonly name: string } | null;
  readonly since: Date;
  readonly until: Date;
  readonly reason: string;
}

/** Open faults of an organisation as whoever answers for them looks at them. */
export interface Carried {
  /** Requests to live with a fault that this person may accept; worst grade first, then oldest. */
  readonly decisions: Decision[];
  readonly hasMoreDecisions: boolean;
  /** The highest risks without those and without accepted ones, highest first. */
  readonly risks: CarriedRef[];
  readonly findings: FindingLine[];
  readonly orders: OrderLine[];
  readonly windows: WindowView[];
  /** Each counted no further than MOST_COUNTED; together they are what is open. */
  readonly counts: {
    readonly toRepair: number;
    readonly toProve: number;
    readonly livedWithAsOrder: number;
    readonly unanswered: number;
    readonly readAgain: number;
    readonly livedWithAsFinding: number;
  };
  /** Repairs beyond their original due date and not done, worst grade first; of the `toRepair` ones. */
  readonly overdue: OverdueOfGrade[];
  readonly living: LivedWith[];
}

const GONE = 'somebody no longer here';
const MOST_RISKS = 8;
const MOST_DECISIONS = 10;
const MOST_LIVED_WITH = 10;

/**
 * What is carried within one transaction. Every list is a page of an index; only what is unanswered is looked at as a whole, since
 * its risk follows from forecasts and windows of today.
 */
export async function carriedWithin(db: TenantDb, scope: Scope, siteId: string | undefined, at: number): Promise<Carried> {
  const here = { siteId };
  const asked = await decisionsFor(db, scope, here);
  const decisions = asked.slice(0, MOST_DECISIONS);
  const risks = await highestRisks(db, here, decisions, at);
  const refs = [...decisions, ...risks];
  const idsOf = (kind: CarriedRef['kind']) => refs.filter((one) => one.kind === kind).map(({ id }) => id);
  const findings = await findingRows(db, idsOf('finding'));
  const orders = await orderRows(db, idsOf('order'));
  const pointIds = [...findings.values()].map(({ finding }) => finding.pointId);
  pointIds.push(...[...orders.values()].map(({ pointId }) => pointId));
  const { subjects, windows } = await subjectsOf(db, pointIds, at);
  return {
    decisions: decisions.map(({ kind, id, askedBy }) => ({ kind, id, askedBy })),
    hasMoreDecisions: asked.length > decisions.length,
    risks,
    findings: [...findings.values()].flatMap((row) => {
      const subject = subjects.get(row.finding.pointId);
      return subject ? [toFindingLine(row, subject, riskAt(subject.about, row.finding.grade, windows, at).risk, scope, at)] : [];
    }),
    orders: [...orders.values()].flatMap((row) => {
      const subject = subjects.get(row.pointId);
      return subject ? [toOrderLine(row, subject, scope, at)] : [];
    }),
    windows: windows.map(toWindowView),
    counts: await countOpen(db, here),
    overdue: await overdueByGrade(db, here, at),
    living: await livedWith(db, here),
  };
}

interface Here {
  readonly siteId: string | undefined;
}

/** With the order that the finding came back with. */
type Asked = Decision & { readonly orderId: string | null };

/** Requests of others at the grades that this person may accept. */
async function decisionsFor(db: TenantDb, { roles, personId }: Scope, here: Here): Promise<Asked[]> {
  const grades = GRADES.filter((grade) => may(roles, grade === 'soon' || grade === 'now' ? 'live-with-high' : 'live-with-low'));
  if (grades.length === 0) return [];
  const fromOthers = (alias: Sql): Sql =>
    sql`AND (${alias}.state ->> 'livingAsked') IS NOT NULL AND ${alias}.state #>> '{livingAsked,by}' <> ${personId}
      AND ${alias}.grade = ANY (${grades}) ${filtersOf(here, alias)}`;
  const asked = (
    alias: Sql,
  ): Sql => sql`${alias}.grade, (${alias}.state #>> '{livingAsked,at}')::float8 AS at, coalesce((SELECT m.name FROM membership m
    WHERE m.organisation_id = current_organisation() AND m.person_id = (${alias}.state #>> '{livingAsked,by}')::uuid), ${GONE}) AS "askedBy"`;
  const findings = await db.$queryRaw<{ id: string; orderId: string | null; grade: Grade; at: number; askedBy: string }[]>(sql`
    SELECT f.id, f.order_id AS "orderId", ${asked(sql`f`)} FROM finding f
    WHERE f.organisation_id = current_organisation() AND f.stands = 'reported' AND f.ended_at IS NULL ${fromOthers(sql`f`)}
    ORDER BY array_position(${grades}, f.grade) DESC, at, f.id LIMIT ${MOST_DECISIONS + 1}`);
  const orders = await db.$queryRaw<{ id: string; grade: Grade; at: number; askedBy: string }[]>(sql`
    SELECT o.id, ${asked(sql`o`)} FROM work_order o
    WHERE o.organisation_id = current_organisation() AND o.stands = 'agreed' AND o.ended_at IS NULL ${fromOthers(sql`o`)}
    ORDER BY array_position(${grades}, o.grade) DESC, at, o.id LIMIT ${MOST_DECISIONS + 1}`);
  return [
    ...findings.map((one) => ({ kind: 'finding' as const, ...one })),
    ...orders.map((one) => ({ kind: 'order' as const, orderId: null, ...one })),
  ]
    .sort((a, b) => GRADES.indexOf(b.grade) - GRADES.indexOf(a.grade) || a.at - b.at || (a.id < b.id ? -1 : 1))
    .map(({ kind, id, orderId, askedBy }) => ({ kind, id, orderId, askedBy }));
}

/** Orders and unanswered findings in one queue; a finding that came back with its order is that order. */
async function highestRisks(db: TenantDb, here: Here, decisions: readonly Asked[], at: number): Promise<CarriedRef[]> {
  const known = new Set(decisions.flatMap(({ id, orderId }) => [id, ...(orderId ? [orderId] : [])]));
  const orders = await db.$queryRaw<{ id: string; rank: number; at: string | null }[]>(sql`
    SELECT o.id, o.rank, extract(epoch FROM nullif(o.queue_at, 'infinity'))::text AS at FROM work_order o
    WHERE o.organisation_id = current_organisation() AND o.ended_at IS NULL AND o.stands <> 'living-with' ${filtersOf(here, sql`o`)}
    ORDER BY o.rank, o.queue_at, o.id LIMIT ${MOST_RISKS + known.size}`);
  const findings = (await unansweredOf(db, here, at)).filter(({ orderId }) => orderId === null);
  const queue = [
    ...orders.map(({ id, rank, at: dueAt }) => ({
      kind: 'order' as const,
      id,
      rank,
      due: dueAt === null ? Number.POSITIVE_INFINITY : Number(dueAt) * 1000,
    })),
    ...findings.map(({ id, rank, dueAt }) => ({
      kind: 'finding' as const,
      id,
      rank,
      due: dueAt ?? Number.POSITIVE_INFINITY,
    })),
  ];
  return queue
    .filter(({ id }) => !known.has(id))
    .sort((a, b) => a.rank - b.rank || compare(a.due, b.due) || (a.id < b.id ? -1 : 1))
    .slice(0, MOST_RISKS)
    .map(({ kind, id }) => ({ kind, id }));
}

/** None, as infinity, comes last and equals none. */
const compare = (a: number, b: number): number => (a === b ? 0 : a < b ? -1 : 1);

async function countOpen(db: TenantDb, here: Here): Promise<Carried['counts']> {
  const [counts] = await db.$queryRaw<Carried['counts'][]>(sql`
    SELECT o.*, f.* FROM (
      SELECT count(*) FILTER (WHERE x.stands NOT IN ('done', 'living-with'))::int AS "toRepair",
        count(*) FILTER (WHERE x.stands = 'done')::int AS "toProve", count(*) FILTER (WHERE x.stands = 'living-with')::int AS "livedWithAsOrder"
      FROM (SELECT o.stands FROM work_order o WHERE o.organisation_id = current_organisation() AND o.ended_at IS NULL
        ${filtersOf(here, sql`o`)} ORDER BY o.queue_at LIMIT ${MOST_COUNTED}) x) o
    CROSS JOIN (
      SELECT count(*) FILTER (WHERE x.stands = 'reported')::int AS unanswered, count(*) FILTER (WHERE x.stands = 'read-again')::int AS "readAgain",
        count(*) FILTER (WHERE x.stands = 'living-with')::int AS "livedWithAsFinding"
      FROM (SELECT f.stands FROM finding f WHERE f.organisation_id = current_organisation() AND f.ended_at IS NULL AND f.order_id IS NULL
        AND f.stands IN ('reported', 'read-again', 'living-with') ${filtersOf(here, sql`f`)} LIMIT ${MOST_COUNTED}) x) f`);
  return counts!;
}

/** What is done waits for its proof, which has a date of its own; what is lived with has an end. Neither is overdue. */
async function overdueByGrade(db: TenantDb, here: Here, at: number): Promise<OverdueOfGrade[]> {
  const moment = sql`${new Date(at)}::timestamptz`;
  return db.$queryRaw<OverdueOfGrade[]>(sql`
    SELECT x.grade, count(*)::int AS count, sum(x.days)::int AS days, max(x.days)::int AS "longestDays" FROM (
      SELECT o.grade, o.stands, (${moment} AT TIME ZONE s.zone)::date - (o.due_at AT TIME ZONE s.zone)::date AS days
      FROM work_order o CROSS JOIN LATERAL (
        SELECT s.zone FROM site s WHERE s.organisation_id = current_organisation() AND s.id = o.site_id LIMIT 1) s
      WHERE o.organisation_id = current_organisation() AND o.ended_at IS NULL AND o.queue_at < ${moment} ${filtersOf(here, sql`o`)}
      ORDER BY o.queue_at LIMIT ${MOST_COUNTED}) x
    WHERE x.stands NOT IN ('done', 'living-with') GROUP BY x.grade ORDER BY array_position(${[...GRADES]}, x.grade) DESC`);
}

interface LivedWithRow {
  readonly kind: 'finding' | 'order';
  readonly id: string;
  readonly number: number;
  readonly pointId: string;
  readonly grade: Grade;
  readonly until: Date;
  readonly by: string | null;
  readonly name: string | null;
  readonly since: string;
  readonly reason: string;
}

/** Accepted risks, the one that ends first first; where a finding and its order are lived with together, the order stands for both. */
async function livedWith(db: TenantDb, here: Here): Promise<LivedWith[]> {
  const columns = (alias: Sql): Sql =>
    sql`${alias}.id, ${alias}.number, ${alias}.point_id, ${alias}.grade, ${alias}.living_until, ${alias}.state`;
  const rows = await db.$queryRaw<LivedWithRow[]>(sql`
    SELECT x.kind, x.id, x.number, x.point_id AS "pointId", x.grade, x.living_until AS until, x.state #>> '{livingWith,by}' AS by, m.name,
      x.state #>> '{livingWith,since}' AS since, x.state #>> '{livingWith,reason}' AS reason
    FROM (
      (SELECT 'order' AS kind, ${columns(sql`o`)} FROM work_order o
        WHERE o.organisation_id = current_organisation() AND o.living_until IS NOT NULL AND o.ended_at IS NULL ${filtersOf(here, sql`o`)}
        ORDER BY o.living_until, o.id LIMIT ${MOST_LIVED_WITH})
      UNION ALL
      (SELECT 'finding', ${columns(sql`f`)} FROM finding f
        WHERE f.organisation_id = current_organisation() AND f.living_until IS NOT NULL AND f.ended_at IS NULL ${filtersOf(here, sql`f`)}
          AND NOT EXISTS (SELECT 1 FROM work_order o WHERE o.organisation_id = current_organisation() AND o.id = f.order_id
            AND o.living_until IS NOT NULL)
        ORDER BY f.living_until, f.id LIMIT ${MOST_LIVED_WITH})) x
      LEFT JOIN membership m ON m.organisation_id = current_organisation() AND m.person_id = (x.state #>> '{livingWith,by}')::uuid
    ORDER BY x.living_until, x.id LIMIT ${MOST_LIVED_WITH}`);
  const abouts = await aboutPoints(
    db,
    rows.map(({ pointId }) => pointId),
  );
  return rows.flatMap(({ kind, id, number, pointId, grade, until, by, name, since, reason }) => {
    const about = abouts.get(pointId);
    if (about === undefined) return [];
    const { assetId, tag, letter, assetName, pointName, criticality, place } = about;
    const point = { pointId, assetId, tag, letter, assetName, pointName, criticality, place };
    const signedBy = by === null || name === null ? null : { id: by, name };
    return [{ ...point, kind, id, number, grade, signedBy, since: new Date(Number(since)), until, reason }];
  });
}
