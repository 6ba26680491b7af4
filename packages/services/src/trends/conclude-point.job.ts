import {
  type Conclusion,
  concludePoint,
  DOMAIN_VERSION,
  isBaseReset,
  isReset,
  type LimitSet,
  PROJECTION_METHOD,
  READINGS_BEFORE_RESET,
  READINGS_FOR_BASE,
  READINGS_SINCE_RESET,
  type Reading,
} from '@heatround/domain';
import { sql, type TenantDb, type TenantScope } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import * as z from 'zod';
import { loadPoints } from '../assets/index.ts';
import type { Deps } from '../deps/index.ts';
import { limitsOf } from '../limits/index.ts';
import { historyOf, newestWork } from '../readings/index.ts';

export type ConclusionContext = Deps;

const payload = z.object({ organisationId: z.uuid(), pointId: z.uuid() });

/** Brings the conclusion of one point up to its facts. */
export const concludePointJob = defineJob<z.output<typeof payload>, ConclusionContext>({
  name: 'conclude-point',
  payload,
  key: ({ pointId }) => pointId,
  retry: { attempts: 5, backoffMs: 500 },
  handle: (deps, { organisationId, pointId }) => concludePointNow(deps, { organisationId, siteIds: null }, pointId),
});

/** The same, at once. A point that is gone or already concluded is a quiet success. */
export async function concludePointNow(
  { database, clock }: ConclusionContext,
  scope: TenantScope,
  pointId: string,
): Promise<void> {
  await database.inTenant(scope, async ({ db }) => {
    const [state] = await db.$queryRaw<{ revision: bigint; concluded: bigint; offset: bigint }[]>(sql`
      SELECT r.revision, r.concluded, o.clock_offset_ms AS offset
      FROM point_revision r JOIN organisation o USING (organisation_id) WHERE r.point_id = ${pointId}::uuid`);
    if (!state || state.concluded >= state.revision) return;
    const computedAt = new Date(clock.now() + Number(state.offset));
    const conclusion = await conclude(db, pointId, computedAt.getTime());
    if (!conclusion) return;
    const written = await db.$executeRaw(sql`
      INSERT INTO conclusion (organisation_id, point_id, revision, grade, content, domain_version, computed_at)
      VALUES (${scope.organisationId}::uuid, ${pointId}::uuid, ${state.revision}, ${conclusion.standing?.grade ?? null}, ${JSON.stringify(conclusion)}::jsonb,
        ${DOMAIN_VERSION}, ${computedAt}::timestamptz)
      ON CONFLICT (organisation_id, point_id) DO UPDATE SET revision = excluded.revision, grade = excluded.grade, content = excluded.content,
        domain_version = excluded.domain_version, computed_at = excluded.computed_at
      WHERE conclusion.revision <= excluded.revision`);
    if (written > 0) await writeDiary(db, scope, pointId, state.revision, conclusion, computedAt);
    await db.$executeRaw(sql`
      UPDATE point_revision SET concluded = greatest(concluded, ${state.revision}) WHERE point_id = ${pointId}::uuid`);
  });
}

/** Reads what the computation needs, a bounded window whatever the length of the history, and computes. */
async function conclude(db: TenantDb, pointId: string, now: number): Promise<Conclusion | null> {
  const [registered] = await loadPoints(db, { pointIds: [pointId] });
  if (!registered) return null;
  const { assetId } = registered;
  // A base that was only concluded must not feed its own successor: the computation learns it anew from the readings.
  const base = registered.point.base?.state === 'confirmed' ? registered.point.base : null;
  const point = { ...registered.point, base };
  const limitSets = (await limitsOf(db, [pointId])).get(pointId) ?? [];
  const work = ((await newestWork(db, [assetId])).get(assetId) ?? []).filter(
    (one) => one.pointId === null || one.pointId === pointId,
  );
  const resetAt = work.find((one) => isReset(point, one.work))?.takenAt ?? null;
  const since = await historyOf(db, pointId, { after: resetAt, until: null, most: READINGS_SINCE_RESET });
  const before =
    resetAt === null ? [] : await historyOf(db, pointId, { after: null, until: resetAt, most: READINGS_BEFORE_RESET });
  const renewedAt = work.find((one) => isBaseReset(one.work))?.takenAt ?? null;
  const baseReadings =
    point.quantity === 'above-base' && base === null
      ? await historyOf(db, pointId, { after: renewedAt, until: null, most: READINGS_FOR_BASE, oldest: true })
      : undefined;
  return concludePoint({
    point,
    likePointNoise: await noiseOfClass(db, pointId),
    limitSets,
    readings: [...before, ...since],
    work,
    baseReadings,
    asOf: asOf(since, limitSets, now),
  });
}

/** How much readings scatter at like points, where the organisation has learned that; the domain decides when it counts. */
async function noiseOfClass(db: TenantDb, pointId: string): Promise<number | null> {
  const [found] = await db.$queryRaw<{ noise: number }[]>(sql`
    SELECT n.noise FROM point p JOIN asset a ON a.organisation_id = p.organisation_id AND a.id = p.asset_id
      JOIN class_noise n ON n.organisation_id = p.organisation_id AND n.template = a.template AND n.quantity = p.quantity
    WHERE p.organisation_id = current_organisation() AND p.id = ${pointId}::uuid`);
  return found?.noise ?? null;
}

/**
 * The moment whose limits are projected: that of the newest reading, or of a limit version that has come into force since. Not
 * the present one, so that the same facts give the same conclusion whenever it is computed.
 */
function asOf(newest: readonly Reading[], limitSets: readonly LimitSet[], now: number): number | undefined {
  const read = newest[0]?.takenAt;
  if (read === undefined) return undefined;
  return Math.max(read, ...limitSets.map((set) => set.validFrom).filter((from) => from <= now));
}

async function writeDiary(
  db: TenantDb,
  scope: TenantScope,
  pointId: string,
  revision: bigint,
  conclusion: Conclusion,
  madeAt: Date,
): Promise<void> {
  if (conclusion.projections.length === 0) return;
  const at = (instant: number | null) => (instant === null ? null : new Date(instant).toISOString());
  const rows = conclusion.projections.map((one) => ({
    ...one,
    cutAt: at(one.cutAt),
    earliestAt: at(one.earliestAt),
    likelyAt: at(one.likelyAt),
    latestAt: at(one.latestAt),
  }));
  await db.$executeRaw(sql`
    INSERT INTO forecast (organisation_id, point_id, limit_grade, revision, method, limit_value, cut_at, made_at, shown, reason, earliest_at,
      likely_at, latest_at, probability_moving, reading_count)
    SELECT ${scope.organisationId}::uuid, ${pointId}::uuid, r.grade, ${revision}, ${PROJECTION_METHOD}, r."limit", r."cutAt", ${madeAt}::timestamptz,
      r.show, r.reason, r."earliestAt", r."likelyAt", r."latestAt", r."probabilityMoving", r."readingCount"
    FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb) AS r(grade text, "limit" float8, "cutAt" timestamptz, show text, reason text,
      "earliestAt" timestamptz, "likelyAt" timestamptz, "latestAt" timestamptz, "probabilityMoving" float8, "readingCount" int)
    ON CONFLICT DO NOTHING`);
}
