import {
  asksForTwins,
  baseCriterionOf,
  type ConcludeInput,
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
  type ReadingAtPoint,
  type Season,
  VISIT_MS,
} from '@heatround/domain';
import { sql, type TenantDb, type TenantScope } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import * as z from 'zod';
import { loadPoints } from '../assets/index.ts';
import type { Deps } from '../deps/index.ts';
import { limitsOf } from '../limits/index.ts';
import { type HistoryWindow, historiesOf, newestWork } from '../readings/index.ts';
import { writeOutcomes } from './outcomes.ts';

export type ConclusionContext = Deps;

const payload = z.object({ organisationId: z.uuid(), pointId: z.uuid() });

/** Brings the conclusion of one point up to its facts: the hint after a change. */
export const concludePointJob = defineJob<z.output<typeof payload>, ConclusionContext>({
  name: 'conclude-point',
  payload,
  key: ({ pointId }) => pointId,
  retry: { attempts: 5, backoffMs: 500 },
  handle: (deps, { organisationId, pointId }) => concludePoints(deps, { organisationId, siteIds: null }, [pointId]),
});

/** Most points of one job of the sweep: what they share is read once, and others that wait for the processor wait no longer than for these. */
export const POINTS_AT_ONCE = 20;
const manyPayload = z.object({ organisationId: z.uuid(), pointIds: z.array(z.uuid()).min(1).max(POINTS_AT_ONCE) });

/** The same for several points of one organisation: what a sweep finds. */
export const concludePointsJob = defineJob<z.output<typeof manyPayload>, ConclusionContext>({
  name: 'conclude-points',
  payload: manyPayload,
  key: ({ pointIds }) => `${pointIds[0]}+${pointIds.length}`,
  retry: { attempts: 5, backoffMs: 500 },
  handle: (deps, { organisationId, pointIds }) => concludePoints(deps, { organisationId, siteIds: null }, pointIds),
});

/** The same, at once. Points that are gone or already concluded are a quiet success. */
export async function concludePoints(
  { database, clock, metrics }: ConclusionContext,
  scope: TenantScope,
  pointIds: readonly string[],
): Promise<void> {
  await database.inTenant(scope, async ({ db }) => {
    const states = await db.$queryRaw<{ pointId: string; revision: bigint; offset: bigint }[]>(sql`
      SELECT r.point_id AS "pointId", r.revision, o.clock_offset_ms AS offset
      FROM point_revision r JOIN organisation o USING (organisation_id)
      WHERE r.organisation_id = current_organisation() AND r.point_id = ANY (${[...pointIds]}::uuid[]) AND r.revision > r.concluded
      ORDER BY r.point_id`);
    if (states.length === 0) return;
    const computedAt = new Date(clock.now() + Number(states[0]!.offset));
    const concluded = await conclude(
      db,
      states.map(({ pointId }) => pointId),
      computedAt.getTime(),
      metrics,
    );
    const made = states.flatMap(({ pointId, revision }) => {
      const conclusion = concluded.get(pointId)?.conclusion;
      return conclusion
        ? [{ pointId, revision: Number(revision), grade: conclusion.standing?.grade ?? null, content: conclusion }]
        : [];
    });
    const written = await db.$queryRaw<{ pointId: string }[]>(sql`
      INSERT INTO conclusion (organisation_id, point_id, revision, grade, content, domain_version, computed_at)
      SELECT current_organisation(), m."pointId", m.revision, m.grade, m.content, ${DOMAIN_VERSION}, ${computedAt}::timestamptz
      FROM jsonb_to_recordset(${JSON.stringify(made)}::jsonb) AS m("pointId" uuid, revision bigint, grade text, content jsonb)
      ORDER BY m."pointId"
      ON CONFLICT (organisation_id, point_id) DO UPDATE SET revision = excluded.revision, grade = excluded.grade, content = excluded.content,
        domain_version = excluded.domain_version, computed_at = excluded.computed_at
      WHERE conclusion.revision <= excluded.revision RETURNING point_id AS "pointId"`);
    const own = new Set(written.map(({ pointId }) => pointId));
    await writeDiary(
      db,
      made.filter(({ pointId }) => own.has(pointId)),
      computedAt,
    );
    await writeOutcomes(
      db,
      [...concluded.values()].filter(({ conclusion }) => own.has(conclusion.pointId)),
      computedAt,
    );
    // A retired point has nothing to conclude and is done with as well; coming back raises its revision.
    await db.$executeRaw(sql`
      UPDATE point_revision r SET concluded = greatest(r.concluded, d.revision)
      FROM unnest(${states.map(({ pointId }) => pointId)}::uuid[], ${states.map(({ revision }) => String(revision))}::bigint[]) AS d(point_id, revision)
      WHERE r.organisation_id = current_organisation() AND r.point_id = d.point_id`);
  });
}

async function conclude(
  db: TenantDb,
  pointIds: readonly string[],
  now: number,
  metrics: ConclusionContext['metrics'],
): Promise<Map<string, { input: ConcludeInput; conclusion: Conclusion }>> {
  const concluded = new Map<string, { input: ConcludeInput; conclusion: Conclusion }>();
  for (const input of await knownOf(db, pointIds, now)) {
    const done = metrics?.refits.begin();
    concluded.set(input.point.id, { input, conclusion: concludePoint(input) });
    done?.();
    // Some milliseconds of computing each: between two points whatever else waits gets its turn.
    await new Promise((resolve) => setImmediate(resolve));
  }
  return concluded;
}

/** Reads what the computation needs, a bounded window whatever the length of the histories; points that are gone are left out. */
export async function knownOf(db: TenantDb, pointIds: readonly string[], now: number): Promise<ConcludeInput[]> {
  const registered = await loadPoints(db, { pointIds });
  const limits = await limitsOf(db, pointIds);
  const noises = await noiseOfClasses(db, pointIds);
  const seasons = await seasonsOf(db, pointIds);
  const workOfAssets = await newestWork(db, [...new Set(registered.map(({ assetId }) => assetId))]);
  const known = registered.map((one) => {
    // A base that was only concluded must not feed its own successor: the computation learns it anew from the readings.
    const point = { ...one.point, base: one.point.base?.state === 'confirmed' ? one.point.base : null };
    const work = (workOfAssets.get(one.assetId) ?? []).filter(({ pointId }) => pointId === null || pointId === point.id);
    const resetAt = work.find((event) => isReset(point, event.work))?.takenAt ?? null;
    const renewedAt = work.find((event) => isBaseReset(event.work))?.takenAt ?? null;
    const learnsBase = point.base === null && baseCriterionOf(point, limits.get(point.id) ?? []) !== null;
    return { point, work, resetAt, renewedAt, learnsBase };
  });
  const windows = (of: (one: (typeof known)[number]) => HistoryWindow | null) => known.flatMap((one) => of(one) ?? []);
  const since = await historiesOf(
    db,
    windows(({ point, resetAt }) => ({ pointId: point.id, after: resetAt, until: null })),
    READINGS_SINCE_RESET,
  );
  const before = await historiesOf(
    db,
    windows(({ point, resetAt }) => (resetAt === null ? null : { pointId: point.id, after: null, until: resetAt })),
    READINGS_BEFORE_RESET,
  );
  const oldest = await historiesOf(
    db,
    windows(({ point, renewedAt, learnsBase }) => (learnsBase ? { pointId: point.id, after: renewedAt, until: null } : null)),
    READINGS_FOR_BASE,
    'oldest',
  );
  const compared = known.filter(({ point }) => point.twins.length > 0 && asksForTwins(limits.get(point.id) ?? []));
  const twins = await twinsOf(
    db,
    compared.map(({ point }) => ({ twins: point.twins, readings: since.get(point.id)! })),
  );
  return known.map(({ point, work }) => {
    const limitSets = limits.get(point.id) ?? [];
    const newest = since.get(point.id)!;
    return {
      point,
      likePointNoise: noises.get(point.id) ?? null,
      ...seasons.get(point.id),
      limitSets,
      readings: [...(before.get(point.id) ?? []), ...newest],
      work,
      baseReadings: oldest.get(point.id),
      twins: twins.filter((twin) => point.twins.includes(twin.point.id)),
      asOf: asOf(newest, limitSets, now),
    };
  });
}

/** Readings of twins in the time of the readings they are compared with, as many at most as a conclusion looks at. */
async function twinsOf(
  db: TenantDb,
  compared: readonly { readonly twins: readonly string[]; readonly readings: readonly Reading[] }[],
): Promise<ReadingAtPoint[]> {
  const first = new Map<string, number>();
  for (const { twins, readings } of compared) {
    const from = Math.min(...readings.map(({ takenAt }) => takenAt));
    for (const id of twins) first.set(id, Math.min(first.get(id) ?? Number.POSITIVE_INFINITY, from));
  }
  const windows = [...first].flatMap(([pointId, from]) =>
    Number.isFinite(from) ? [{ pointId, after: from - VISIT_MS - 1, until: null }] : [],
  );
  if (windows.length === 0) return [];
  const points = await loadPoints(db, { pointIds: windows.map(({ pointId }) => pointId) });
  const readings = await historiesOf(db, windows, READINGS_SINCE_RESET);
  return points.flatMap(({ point }) => readings.get(point.id)!.map((reading) => ({ point, reading })));
}

/** How much readings scatter at like points, where the organisation has learned that; the domain decides when it counts. */
async function noiseOfClasses(db: TenantDb, pointIds: readonly string[]): Promise<Map<string, number>> {
  const rows = await db.$queryRaw<{ id: string; noise: number }[]>(sql`
    SELECT p.id, n.noise FROM point p JOIN asset a ON a.organisation_id = p.organisation_id AND a.id = p.asset_id
      JOIN class_noise n ON n.organisation_id = p.organisation_id AND n.template = a.template AND n.quantity = p.quantity
    WHERE p.organisation_id = current_organisation() AND p.id = ANY (${[...pointIds]}::uuid[])`);
  return new Map(rows.map(({ id, noise }) => [id, noise]));
}

/** When points are awake, for those that sleep at all: every route that comes by has its season. */
async function seasonsOf(
  db: TenantDb,
  pointIds: readonly string[],
): Promise<Map<string, { readonly seasons: readonly Season[]; readonly zone: string }>> {
  const rows = await db.$queryRaw<{ id: string; seasons: Season[]; zone: string }[]>(sql`
    SELECT o.point_id AS id, jsonb_agg(t.season ORDER BY t.id) AS seasons, min(s.zone) AS zone
    FROM route_stop o JOIN route t ON t.organisation_id = o.organisation_id AND t.id = o.route_id
      JOIN site s ON s.organisation_id = t.organisation_id AND s.id = t.site_id
    WHERE o.organisation_id = current_organisation() AND o.point_id = ANY (${[...pointIds]}::uuid[]) AND t.retired_at IS NULL
    GROUP BY o.point_id HAVING bool_and(t.season IS NOT NULL)`);
  return new Map(rows.map(({ id, seasons, zone }) => [id, { seasons, zone }]));
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
  made: readonly { readonly pointId: string; readonly revision: number; readonly content: Conclusion }[],
  madeAt: Date,
): Promise<void> {
  const at = (instant: number | null) => (instant === null ? null : new Date(instant).toISOString());
  const rows = made.flatMap(({ pointId, revision, content }) =>
    content.projections.map((one) => ({
      ...one,
      pointId,
      revision,
      cutAt: at(one.cutAt),
      earliestAt: at(one.earliestAt),
      likelyAt: at(one.likelyAt),
      latestAt: at(one.latestAt),
    })),
  );
  if (rows.length === 0) return;
  await db.$executeRaw(sql`
    INSERT INTO forecast (organisation_id, point_id, limit_grade, revision, method, limit_value, cut_at, made_at, shown, reason, earliest_at,
      likely_at, latest_at, probability_moving, reading_count, direction)
    SELECT current_organisation(), r."pointId", r.grade, r.revision, ${PROJECTION_METHOD}, r."limit", r."cutAt", ${madeAt}::timestamptz,
      r.show, r.reason, r."earliestAt", r."likelyAt", r."latestAt", r."probabilityMoving", r."readingCount", r.direction
    FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb) AS r("pointId" uuid, revision bigint, grade text, "limit" float8, "cutAt" timestamptz,
      show text, reason text, "earliestAt" timestamptz, "likelyAt" timestamptz, "latestAt" timestamptz, "probabilityMoving" float8,
      "readingCount" int, direction text)
    ON CONFLICT DO NOTHING`);
}
