/**
 * Limits of points: versions that are added, never edited. A version without source or reason, or out of order, does not get in.
 * The database raises the point's revision by itself, so that conclusions follow.
 */
import {
  type CriterionKind,
  checkLimitSet,
  type LimitHolds,
  type LimitSet,
  Problem,
  type ProblemDetail,
  type Quantity,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';

/** A version as somebody proposes it. */
export interface LimitDraft {
  readonly id: string;
  readonly criterion: CriterionKind;
  readonly direction: 'high' | 'low';
  readonly watch: number | null;
  readonly plan: number | null;
  readonly soon: number | null;
  readonly now: number | null;
  readonly holds?: LimitHolds | null | undefined;
  readonly source: string;
  readonly reason: string;
  /** Epoch milliseconds. */
  readonly validFrom: number;
  readonly reviewOn: string | null;
  readonly origin: 'general' | 'point';
}

type Row = Omit<LimitSet, 'validFrom' | 'author'> & { pointId: string; validFrom: Date; author: string | null };

const toLimitSet = ({ pointId: _, validFrom, author, ...rest }: Row): LimitSet => ({
  ...rest,
  validFrom: validFrom.getTime(),
  author: author ?? 'somebody no longer here',
});

/** All versions of several points, by point, oldest first. */
export async function limitsOf(db: TenantDb, pointIds: readonly string[]): Promise<Map<string, LimitSet[]>> {
  const rows = await db.$queryRaw<Row[]>(sql`
    SELECT l.point_id AS "pointId", l.id, l.version, l.criterion, l.direction, l.watch, l.plan, l.soon, l.now, l.holds, l.source, l.reason,
      m.name AS author, l.valid_from AS "validFrom", l.review_on::text AS "reviewOn", l.origin
    FROM limit_set l LEFT JOIN membership m ON m.organisation_id = l.organisation_id AND m.person_id = l.author_id
    WHERE l.point_id = ANY (${[...pointIds]}::uuid[]) ORDER BY l.point_id, l.valid_from, l.version`);
  const byPoint = new Map<string, LimitSet[]>(pointIds.map((id) => [id, []]));
  for (const row of rows) byPoint.get(row.pointId)?.push(toLimitSet(row));
  return byPoint;
}

/**
 * Stores versions of limits for points that exist, numbering them on from what is there.
 * @param present versions there already; left out for new points.
 * @throws Problem limits-refused naming every figure, source or reason that is wrong; pointers begin with the given prefix.
 */
export async function insertLimits(
  db: TenantDb,
  scope: Pick<Scope, 'organisationId' | 'personId'>,
  drafts: readonly { pointId: string; quantity: Quantity; draft: LimitDraft; pointer?: string }[],
  present: readonly LimitSet[] = [],
): Promise<void> {
  if (drafts.length === 0) return;
  // Drafts of one call see each other, so that the two sides of a band come in together and still leave room between them.
  const errors: ProblemDetail[] = drafts.flatMap(({ draft, pointId, quantity, pointer = '' }, index) => {
    const beside = drafts.slice(0, index).filter((one) => one.pointId === pointId);
    const there = [...present, ...beside.map((one) => ({ ...one.draft, version: 0, author: '' }))];
    return checkLimitSet(draft, quantity, there, draft.validFrom).map((found) => ({
      ...found,
      pointer: `#${pointer}${found.pointer.replace(/^#/, '')}`,
    }));
  });
  if (errors.length > 0) throw new Problem('limits-refused', 'These limits were not saved; nothing was changed.', errors);
  const rows = drafts.map(({ pointId, draft }, position) => ({
    ...draft,
    pointId,
    position,
    holds: draft.holds ?? null,
    validFrom: new Date(draft.validFrom).toISOString(),
    source: draft.source.trim(),
    reason: draft.reason.trim(),
  }));
  await db.$executeRaw(sql`
    INSERT INTO limit_set (organisation_id, id, point_id, version, criterion, direction, watch, plan, soon, now, holds, source, reason,
      author_id, valid_from, review_on, origin)
    SELECT ${scope.organisationId}::uuid, r.id, r."pointId",
      coalesce((SELECT max(version) FROM limit_set l WHERE l.organisation_id = ${scope.organisationId}::uuid AND l.point_id = r."pointId"
        AND l.criterion = r.criterion), 0) + row_number() OVER (PARTITION BY r."pointId", r.criterion ORDER BY r.position),
      r.criterion, r.direction, r.watch, r.plan, r.soon, r.now, nullif(r.holds, 'null'), r.source, r.reason, ${scope.personId}::uuid, r."validFrom", r."reviewOn", r.origin
    FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb) AS r(position int, id uuid, "pointId" uuid, criterion text, direction text, watch float8, plan float8,
      soon float8, now float8, holds jsonb, source text, reason text, "validFrom" timestamptz, "reviewOn" date, origin text)`);
}

/** Adds a version; by default it holds from now on. Needs the right to edit the register. */
export async function addLimits(
  deps: Deps,
  scope: Scope,
  pointId: string,
  draft: Omit<LimitDraft, 'validFrom'> & { validFrom?: number | undefined },
): Promise<LimitSet> {
  mustBeAllowed(scope, 'edit-register');
  return deps.database.inTenant(scope, async ({ db, announce }) => {
    // The row is locked so that two planners get two numbers.
    const points = await db.$queryRaw<{ quantity: Quantity }[]>(
      sql`SELECT quantity FROM point WHERE id = ${pointId}::uuid FOR UPDATE`,
    );
    const [point] = points;
    if (!point) throw notFound('point');
    const present = (await limitsOf(db, [pointId])).get(pointId) ?? [];
    const whole = { ...draft, validFrom: draft.validFrom ?? now(deps, scope) };
    await insertLimits(db, scope, [{ pointId, quantity: point.quantity, draft: whole }], present);
    announce('point-changed', { pointIds: [pointId] });
    const all = (await limitsOf(db, [pointId])).get(pointId) ?? [];
    return all.find((set) => set.id === draft.id)!;
  });
}

/** All versions of a point, oldest first. */
export async function listLimits({ database }: Deps, scope: Scope, pointId: string): Promise<LimitSet[]> {
  mustBeAllowed(scope, 'see');
  return database.inTenant(scope, async ({ db }) => {
    if (!(await db.point.findFirst({ where: { id: pointId }, select: { id: true } }))) throw notFound('point');
    return (await limitsOf(db, [pointId])).get(pointId) ?? [];
  });
}
