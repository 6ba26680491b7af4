/**
 * What a screen shows in one answer, put together from several areas in one transaction, so that its parts fit each other.
 */
import { createHash } from 'node:crypto';
import type { Conclusion, LimitSet } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { loadPoints, PLACE, type Place, type RegisteredPoint } from '../assets/index.ts';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { limitsOf } from '../limits/index.ts';
import { type ReadingView, readingPages, type WorkView, workOf } from '../readings/index.ts';
import { type ExtraStopLine, roundWithin, type StopLine } from '../rounds/index.ts';

export { type CarryPage, carryPage } from './carry.ts';

export interface TwinView {
  readonly point: RegisteredPoint['point'] & { spot: string; version: number };
  readonly readings: readonly ReadingView[];
}

export interface AssetPageView {
  readonly id: string;
  readonly tag: string;
  readonly oldTags: string[];
  readonly name: string;
  readonly place: Place;
  readonly template: string | null;
  readonly criticality: 'A' | 'B' | 'C';
  readonly criticalityReason: string;
  readonly lifeSafety: boolean;
  readonly hazards: string[];
  readonly outOfService: { readonly at: string; readonly reason: string; readonly byName: string | null } | null;
  readonly version: number;
  readonly points: {
    readonly point: RegisteredPoint['point'] & { spot: string; version: number };
    readonly limits: LimitSet[];
    /** The points it is compared with on the same visit, with their last readings. */
    readonly twins: readonly TwinView[];
    readonly conclusion: Conclusion | null;
    readonly concludedAt: Date | null;
    readonly isBehind: boolean;
    readonly readings: ReadingView[];
    readonly olderReadings: string | null;
  }[];
  readonly work: WorkView[];
}

/** One asset as its page and a phone at its stops need it. */
export async function assetPage(deps: Deps, scope: Scope, assetId: string, readingsPerPoint: number): Promise<AssetPageView> {
  mustBeAllowed(scope, 'see');
  return deps.database.inTenant(scope, async ({ db }) => {
    const [page] = await pagesWithin(db, [assetId], readingsPerPoint);
    if (!page) throw notFound('asset');
    return page;
  });
}

/** Everything a phone needs to walk a round without signal. */
export interface RoundPack {
  readonly roundId: string;
  /** Changes with anything in the pack. */
  readonly revision: string;
  readonly stops: StopLine[];
  readonly extraStops: ExtraStopLine[];
  /** In the order of the stops; those of extra stops last. */
  readonly assets: AssetPageView[];
}

/** The assets of the stops of a round with points, limits and last readings, and how the stops stand, cut at one moment. */
export async function roundPack(deps: Deps, scope: Scope, roundId: string, readingsPerPoint: number): Promise<RoundPack> {
  mustBeAllowed(scope, 'see');
  return deps.database.inTenant(scope, async ({ db }) => {
    const { stopLines, extraStops } = await roundWithin(db, roundId, now(deps, scope));
    const assetIds = [...new Set([...stopLines, ...extraStops].map(({ assetId }) => assetId))];
    const assets = await pagesWithin(db, assetIds, readingsPerPoint);
    const content = { stops: stopLines, extraStops, assets };
    const revision = createHash('sha256').update(JSON.stringify(content)).digest('base64url').slice(0, 22);
    return { roundId, revision, ...content };
  });
}

/** Newest readings of a twin that a visit may be compared with. */
const READINGS_OF_TWIN = 4;

/** Pages of assets in the order named, with a fixed number of statements but for their work; unknown ones are left out. */
async function pagesWithin(db: TenantDb, assetIds: readonly string[], readingsPerPoint: number): Promise<AssetPageView[]> {
  const assets = await db.$queryRaw<Omit<AssetPageView, 'points' | 'work'>[]>(sql`
    SELECT a.id, a.tag, a.name, a.template, a.criticality, a.criticality_reason AS "criticalityReason", a.life_safety AS "lifeSafety",
      a.hazards, a.version, ${PLACE},
      CASE WHEN a.retired_at IS NOT NULL THEN jsonb_build_object('at', a.retired_at, 'reason', a.retired_reason, 'byName', (SELECT m.name FROM membership m
        WHERE m.organisation_id = a.organisation_id AND m.person_id = a.retired_by)) END AS "outOfService",
      ARRAY(SELECT t.tag FROM asset_tag t WHERE t.organisation_id = a.organisation_id AND t.asset_id = a.id AND NOT t.is_current ORDER BY t.tag) AS "oldTags"
    FROM asset a JOIN room r ON r.organisation_id = a.organisation_id AND r.id = a.room_id
      JOIN building b ON b.organisation_id = r.organisation_id AND b.id = r.building_id
      JOIN site s ON s.organisation_id = b.organisation_id AND s.id = b.site_id
    WHERE a.id = ANY (${[...assetIds]}::uuid[]) AND a.taken_back_by IS NULL
    ORDER BY array_position(${[...assetIds]}::uuid[], a.id)`);
  const states = await db.$queryRaw<
    { pointId: string; isBehind: boolean; content: Conclusion | null; computedAt: Date | null }[]
  >(sql`
    SELECT r.point_id AS "pointId", r.revision > r.concluded AS "isBehind", c.content, c.computed_at AS "computedAt"
    FROM point p JOIN point_revision r ON r.organisation_id = p.organisation_id AND r.point_id = p.id
      LEFT JOIN conclusion c ON c.organisation_id = r.organisation_id AND c.point_id = r.point_id
    WHERE p.organisation_id = current_organisation() AND p.asset_id = ANY (${[...assetIds]}::uuid[])`);
  const stateOf = new Map(states.map((state) => [state.pointId, state]));
  const pointIds = [...stateOf.keys()];
  const registered = await loadPoints(db, { pointIds }, 'out-of-service');
  const limits = await limitsOf(db, pointIds);
  const readings = await readingPages(db, pointIds, { size: readingsPerPoint });
  const twinIds = [...new Set(registered.flatMap(({ point }) => point.twins))];
  const twins = twinIds.length === 0 ? [] : await loadPoints(db, { pointIds: twinIds });
  const twinReadings = twinIds.length === 0 ? null : await readingPages(db, twinIds, { size: READINGS_OF_TWIN });
  const twinsOf = (point: RegisteredPoint['point']): TwinView[] =>
    twins
      .filter((twin) => point.twins.includes(twin.point.id))
      .map((twin) => ({
        point: { ...twin.point, spot: twin.spot, version: twin.version },
        readings: twinReadings?.get(twin.point.id)?.readings ?? [],
      }));
  const pages: AssetPageView[] = [];
  for (const asset of assets) {
    const points = registered
      .filter(({ assetId }) => assetId === asset.id)
      .map(({ point, spot, version }) => ({
        point: { ...point, spot, version },
        limits: limits.get(point.id) ?? [],
        twins: twinsOf(point),
        conclusion: stateOf.get(point.id)?.content ?? null,
        concludedAt: stateOf.get(point.id)?.computedAt ?? null,
        isBehind: stateOf.get(point.id)?.isBehind ?? false,
        readings: readings.get(point.id)?.readings ?? [],
        olderReadings: readings.get(point.id)?.older ?? null,
      }));
    pages.push({ ...asset, points, work: await workOf(db, asset.id) });
  }
  return pages;
}
