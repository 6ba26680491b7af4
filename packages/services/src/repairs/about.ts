import {
  type Conclusion,
  type Criticality,
  type Grade,
  type LastWindow,
  LIMIT_GRADES,
  type LimitProjection,
  type LimitSet,
  lastSensibleWindow,
  lastWindowEnd,
  limitsInForce,
  type Risk,
  riskOf,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { PLACE, type Place } from '../assets/index.ts';
import { limitsOf } from '../limits/index.ts';
import { type WindowAhead, windowsAhead } from '../rounds/index.ts';

/** What a queue needs to know of a point. */
export interface About {
  readonly pointId: string;
  readonly assetId: string;
  readonly siteId: string;
  readonly tag: string;
  readonly letter: string;
  readonly assetName: string;
  readonly pointName: string;
  readonly unit: string;
  readonly decimals: number;
  readonly place: Place;
  readonly criticality: Criticality;
  readonly lifeSafety: boolean;
  /** Null until the worker has concluded for the first time. */
  readonly conclusion: Conclusion | null;
}

/** Points by id with their place and their conclusion; retired ones too, since their orders go on. */
export async function aboutPoints(db: TenantDb, pointIds: readonly string[]): Promise<Map<string, About>> {
  if (pointIds.length === 0) return new Map();
  const rows = await db.$queryRaw<About[]>(sql`
    SELECT p.id AS "pointId", p.asset_id AS "assetId", p.site_id AS "siteId", a.tag, p.letter, a.name AS "assetName", p.name AS "pointName",
      p.unit, p.decimals, a.criticality, a.life_safety AS "lifeSafety", c.content AS conclusion, ${PLACE}
    FROM point p JOIN asset a ON a.organisation_id = p.organisation_id AND a.id = p.asset_id
      JOIN room r ON r.organisation_id = a.organisation_id AND r.id = a.room_id
      JOIN building b ON b.organisation_id = r.organisation_id AND b.id = r.building_id
      JOIN site s ON s.organisation_id = b.organisation_id AND s.id = b.site_id
      LEFT JOIN conclusion c ON c.organisation_id = p.organisation_id AND c.point_id = p.id
    WHERE p.organisation_id = current_organisation() AND p.id = ANY (${[...new Set(pointIds)]}::uuid[])`);
  return new Map(rows.map((row) => [row.pointId, row]));
}

/** What of a point decides where its fault stands in a queue. */
export interface Ranked extends Pick<About, 'assetId' | 'siteId' | 'criticality' | 'lifeSafety'> {
  readonly place: Pick<Place, 'buildingId'>;
  readonly conclusion: Pick<Conclusion, 'projections' | 'countsGrade'> | null;
}

/** Windows in which this asset stands still. */
export const windowsFor = (about: Ranked, windows: readonly WindowAhead[]): WindowAhead[] =>
  windows.filter(
    ({ siteId, buildingId, assetId }) =>
      siteId === about.siteId &&
      (assetId === null || assetId === about.assetId) &&
      (buildingId === null || buildingId === about.place.buildingId),
  );

/** The projection of the limit that counts for due date and risk. */
export function projectionThatCounts({ conclusion }: Pick<Ranked, 'conclusion'>): LimitProjection | null {
  return conclusion?.projections.find(({ grade }) => grade === conclusion.countsGrade) ?? null;
}

/**
 * Risk of a fault: likelihood of reaching the limit that counts before the next window, times consequence. Without a window ahead or
 * a forecast the grade gives the likelihood.
 */
export function riskAt(about: Ranked, grade: Grade, windows: readonly WindowAhead[], now: number): Risk {
  const projection = projectionThatCounts(about);
  const next = windowsFor(about, windows)[0];
  const forecast = projection && next ? { projection, opportunityAt: Math.max(now, next.window.from) } : null;
  return riskOf({ grade, criticality: about.criticality, consequence: null }, forecast);
}

/** Place in the queue of work as one figure, smaller first: life safety and Now, then risk, then consequence. */
export function rankOf(about: Pick<About, 'lifeSafety'>, grade: Grade, { risk, consequence }: Risk): number {
  const isCritical = about.lifeSafety || grade === 'now';
  return (isCritical ? 0 : 1000) + (25 - risk) * 10 + (5 - consequence);
}

export interface LastValue {
  readonly at: Date;
  readonly value: number;
  readonly comparability: string;
}

/** The part of a line that is about its point. */
export interface Subject extends Omit<About, 'siteId' | 'lifeSafety'> {
  readonly lastValues: readonly LastValue[];
  readonly limits: readonly { readonly grade: string; readonly value: number }[];
  readonly lastWindow: LastWindow;
}

const LAST_VALUES = 12;
/** Readings that could not be judged may stand between the comparable ones; further back nothing is looked for. */
const LOOKED_AT = 48;

/** Subjects of several points, in few queries whatever their history. */
export async function subjectsOf(
  db: TenantDb,
  pointIds: readonly string[],
  now: number,
): Promise<{ subjects: Map<string, Subject & { readonly about: About }>; windows: WindowAhead[] }> {
  const ids = [...new Set(pointIds)];
  if (ids.length === 0) return { subjects: new Map(), windows: [] };
  const abouts = await aboutPoints(db, ids);
  const limits = await limitsOf(db, ids);
  const values = await lastValuesOf(db, ids);
  const windows = await windowsAhead(db, [...new Set([...abouts.values()].map(({ siteId }) => siteId))], now);
  const subjects = new Map(
    [...abouts.values()].map((about) => {
      const { siteId: _, lifeSafety: __, ...rest } = about;
      const lastWindow = lastWindowOf(about, windows, now);
      const subject = {
        ...rest,
        lastValues: values.get(about.pointId) ?? [],
        limits: limitsToday(limits.get(about.pointId) ?? [], now),
      };
      return [about.pointId, { ...subject, lastWindow, about }];
    }),
  );
  return { subjects, windows };
}

/** The last sensible window of a point, of those in which its machine stands still. */
const lastWindowOf = (about: About, windows: readonly WindowAhead[], now: number): LastWindow =>
  lastSensibleWindow({ ...windowQuestion(about, windows, now), zone: about.place.zone });

/** Its end alone; null: there is none. */
export const lastWindowEndOf = (about: Ranked, windows: readonly WindowAhead[], now: number): number | null =>
  lastWindowEnd(windowQuestion(about, windows, now));

const windowQuestion = (about: Ranked, windows: readonly WindowAhead[], now: number) => ({
  windows: windowsFor(about, windows).map(({ window }) => window),
  projections: about.conclusion?.projections ?? [],
  jobMs: 0,
  now,
});

/** Limits of the first criterion in force, mildest first. */
function limitsToday(sets: readonly LimitSet[], now: number): { grade: string; value: number }[] {
  const set = limitsInForce(sets, now)[0]?.set;
  return set ? LIMIT_GRADES.flatMap((grade) => (set[grade] === null ? [] : [{ grade, value: set[grade] }])) : [];
}

/** The newest comparable figures of points, oldest first, as they were compared with the limits. @param lookedAt readings among which they are looked for. */
export async function lastValuesOf(
  db: TenantDb,
  pointIds: readonly string[],
  most = LAST_VALUES,
  lookedAt = LOOKED_AT,
): Promise<Map<string, LastValue[]>> {
  const rows = await db.$queryRaw<(LastValue & { pointId: string })[]>(sql`
    SELECT p.id AS "pointId", f.taken_at AS at, f.value, f.comparability
    FROM unnest(${[...pointIds]}::uuid[]) AS p(id) CROSS JOIN LATERAL (
      SELECT n.* FROM (
        SELECT k.taken_at, k.id, k.comparability, coalesce((k.verdict #>> '{because,value}')::float8, k.value) AS value FROM counted_reading k
        WHERE k.organisation_id = current_organisation() AND k.point_id = p.id ORDER BY k.taken_at DESC, k.id DESC LIMIT ${lookedAt}) n
      WHERE n.comparability <> 'not-judged' AND n.value IS NOT NULL ORDER BY n.taken_at DESC, n.id DESC LIMIT ${most}) f
    ORDER BY p.id, f.taken_at, f.id`);
  const byPoint = new Map<string, LastValue[]>();
  for (const { pointId, ...value } of rows) byPoint.set(pointId, [...(byPoint.get(pointId) ?? []), value]);
  return byPoint;
}
