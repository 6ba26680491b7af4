import { type Conclusion, type Grade, MOST_COUNTED } from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { type About, type Carried, carriedWithin, type LastValue, lastValuesOf, subjectsOf } from '../repairs/index.ts';
import { type Seen, seenWithin } from '../rounds/index.ts';

/** A point on its way to the limit that counts. */
export interface TrendLine
  extends Pick<
    About,
    'pointId' | 'assetId' | 'tag' | 'letter' | 'assetName' | 'pointName' | 'unit' | 'decimals' | 'place' | 'criticality'
  > {
  readonly grade: Grade | null;
  readonly values: readonly LastValue[];
  readonly limits: readonly { readonly grade: string; readonly value: number }[];
  readonly conclusion: Conclusion;
}

/** What an organisation carries, and what it has not seen: the page of whoever answers for it. */
export interface CarryPage extends Carried {
  readonly now: Date;
  /** The one site that this is about; null: everything that this person may see. */
  readonly site: { readonly id: string; readonly name: string } | null;
  readonly seen: Seen;
  readonly trends: {
    /** Soonest date first. */
    readonly lines: TrendLine[];
    /** Points with a date, counted no further than MOST_COUNTED. */
    readonly count: number;
  };
  /** Orders that ended in the same time as the rounds of `seen`, counted no further than MOST_COUNTED. */
  readonly ended: { readonly proved: number; readonly unproved: number };
  readonly hasPoints: boolean;
  readonly hasRoutes: boolean;
}

const MOST_TRENDS = 6;
/** Dates among which those of a site are looked for. */
const MOST_DATES = 2000;
const VALUES_OF_TREND = 60;
const LOOKED_AT = 120;

/** Everything in one transaction, so that its figures fit each other. A person narrowed to one site sees the figures of that site. */
export async function carryPage(deps: Deps, scope: Scope, query: { siteId?: string | undefined }): Promise<CarryPage> {
  mustBeAllowed(scope, 'see');
  const at = now(deps, scope);
  // Named, so that the indexes of one site serve.
  const siteId = query.siteId ?? (scope.siteIds?.length === 1 ? scope.siteIds[0] : undefined);
  return deps.database.inTenant(scope, async ({ db }) => {
    const site = siteId ? await db.site.findFirst({ where: { id: siteId }, select: { id: true, name: true } }) : null;
    if (siteId && site === null) throw notFound('site');
    const seen = await seenWithin(db, siteId, at);
    return {
      now: new Date(at),
      site,
      ...(await carriedWithin(db, scope, siteId, at)),
      seen,
      trends: await soonestTrends(db, siteId, at),
      ended: await endedSince(db, siteId, seen.rounds.from),
      ...(await beginnings(db, siteId)),
    };
  });
}

const atSite = (alias: Sql, siteId: string | undefined): Sql =>
  siteId ? sql`AND ${alias}.site_id = ${siteId}::uuid` : sql.empty;

async function soonestTrends(db: TenantDb, siteId: string | undefined, at: number): Promise<CarryPage['trends']> {
  const rows = await db.$queryRaw<{ pointId: string }[]>(sql`
    SELECT c.point_id AS "pointId" FROM (
      SELECT c.point_id, c.reaches_ms FROM conclusion c WHERE c.organisation_id = current_organisation() AND c.reaches_ms IS NOT NULL
      ORDER BY c.reaches_ms, c.point_id LIMIT ${MOST_DATES}) c
    CROSS JOIN LATERAL (SELECT 1 FROM point p WHERE p.organisation_id = current_organisation() AND p.id = c.point_id
      AND p.retired_at IS NULL ${atSite(sql`p`, siteId)} LIMIT 1) p
    ORDER BY c.reaches_ms, c.point_id LIMIT ${MOST_COUNTED}`);
  const ids = rows.slice(0, MOST_TRENDS).map(({ pointId }) => pointId);
  if (ids.length === 0) return { lines: [], count: 0 };
  const { subjects } = await subjectsOf(db, ids, at);
  const values = await lastValuesOf(db, ids, VALUES_OF_TREND, LOOKED_AT);
  const lines = ids.flatMap((pointId): TrendLine[] => {
    const subject = subjects.get(pointId);
    if (!subject?.conclusion) return [];
    const { assetId, tag, letter, assetName, pointName, unit, decimals, place, criticality, limits, conclusion } = subject;
    const point = { pointId, assetId, tag, letter, assetName, pointName, unit, decimals, place, criticality };
    return [{ ...point, grade: conclusion.standing?.grade ?? null, values: values.get(pointId) ?? [], limits, conclusion }];
  });
  return { lines, count: rows.length };
}

async function endedSince(db: TenantDb, siteId: string | undefined, from: Date): Promise<CarryPage['ended']> {
  const [ended] = await db.$queryRaw<CarryPage['ended'][]>(sql`
    SELECT count(*) FILTER (WHERE x.stands = 'proved')::int AS proved, count(*) FILTER (WHERE x.stands = 'closed-unproved')::int AS unproved
    FROM (SELECT o.stands FROM work_order o WHERE o.organisation_id = current_organisation() AND o.ended_at >= ${from}::timestamptz
      ${atSite(sql`o`, siteId)} ORDER BY o.ended_at DESC LIMIT ${MOST_COUNTED}) x`);
  return ended!;
}

/** Has anything been set up that could be carried? */
async function beginnings(db: TenantDb, siteId: string | undefined): Promise<Pick<CarryPage, 'hasPoints' | 'hasRoutes'>> {
  const [found] = await db.$queryRaw<Pick<CarryPage, 'hasPoints' | 'hasRoutes'>[]>(sql`
    SELECT EXISTS (SELECT 1 FROM point p WHERE p.organisation_id = current_organisation() AND p.retired_at IS NULL
        ${atSite(sql`p`, siteId)}) AS "hasPoints",
      EXISTS (SELECT 1 FROM route t WHERE t.organisation_id = current_organisation() AND t.retired_at IS NULL
        ${atSite(sql`t`, siteId)}) AS "hasRoutes"`);
  return found!;
}
