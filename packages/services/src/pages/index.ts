/**
 * What a screen shows in one answer, put together from several areas in one transaction, so that its parts fit each other.
 */
import type { Conclusion, LimitSet } from '@heatround/domain';
import { sql } from '@heatround/platform/database';
import { loadPoints, PLACE, type Place, type RegisteredPoint } from '../assets/index.ts';
import { type Deps, mustBeAllowed, notFound, type Scope } from '../deps/index.ts';
import { limitsOf } from '../limits/index.ts';
import { type ReadingView, readingPages, type WorkView, workOf } from '../readings/index.ts';

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
  readonly version: number;
  readonly points: {
    readonly point: RegisteredPoint['point'] & { spot: string; version: number };
    readonly limits: LimitSet[];
    readonly conclusion: Conclusion | null;
    readonly concludedAt: Date | null;
    readonly isBehind: boolean;
    readonly readings: ReadingView[];
    readonly olderReadings: string | null;
  }[];
  readonly work: WorkView[];
}

/** One asset as its page and a phone at its stops need it. */
export async function assetPage(
  { database }: Deps,
  scope: Scope,
  assetId: string,
  readingsPerPoint: number,
): Promise<AssetPageView> {
  mustBeAllowed(scope, 'see');
  return database.inTenant(scope, async ({ db }) => {
    const [asset] = await db.$queryRaw<Omit<AssetPageView, 'points' | 'work'>[]>(sql`
      SELECT a.id, a.tag, a.name, a.template, a.criticality, a.criticality_reason AS "criticalityReason", a.life_safety AS "lifeSafety",
        a.hazards, a.version, ${PLACE},
        ARRAY(SELECT t.tag FROM asset_tag t WHERE t.organisation_id = a.organisation_id AND t.asset_id = a.id AND NOT t.is_current ORDER BY t.tag) AS "oldTags"
      FROM asset a JOIN room r ON r.organisation_id = a.organisation_id AND r.id = a.room_id
        JOIN building b ON b.organisation_id = r.organisation_id AND b.id = r.building_id
        JOIN site s ON s.organisation_id = b.organisation_id AND s.id = b.site_id
      WHERE a.id = ${assetId}::uuid`);
    if (!asset) throw notFound('asset');
    const registered = await loadPoints(db, { assetId });
    const ids = registered.map(({ point }) => point.id);
    const limits = await limitsOf(db, ids);
    const readings = await readingPages(db, ids, { size: readingsPerPoint });
    const states = await db.$queryRaw<
      { pointId: string; isBehind: boolean; content: Conclusion | null; computedAt: Date | null }[]
    >(sql`
      SELECT r.point_id AS "pointId", r.revision > r.concluded AS "isBehind", c.content, c.computed_at AS "computedAt"
      FROM point_revision r LEFT JOIN conclusion c ON c.organisation_id = r.organisation_id AND c.point_id = r.point_id
      WHERE r.point_id = ANY (${ids}::uuid[])`);
    const stateOf = new Map(states.map((state) => [state.pointId, state]));
    const points = registered.map(({ point, spot, version }) => ({
      point: { ...point, spot, version },
      limits: limits.get(point.id) ?? [],
      conclusion: stateOf.get(point.id)?.content ?? null,
      concludedAt: stateOf.get(point.id)?.computedAt ?? null,
      isBehind: stateOf.get(point.id)?.isBehind ?? false,
      readings: readings.get(point.id)?.readings ?? [],
      olderReadings: readings.get(point.id)?.older ?? null,
    }));
    return { ...asset, points, work: await workOf(db, assetId) };
  });
}
