import type { Point } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';

/** A point with what only the register knows of it. */
export interface RegisteredPoint {
  readonly point: Point;
  readonly assetId: string;
  readonly siteId: string;
  readonly spot: string;
  readonly version: number;
}

interface Row extends Omit<Point, 'base' | 'lifeSafety'> {
  assetId: string;
  siteId: string;
  spot: string;
  version: number;
  lifeSafety: boolean;
  confirmedBase: number | null;
  learnedBase: number | null;
}

const toRegistered = (row: Row): RegisteredPoint => {
  const { assetId, siteId, spot, version, confirmedBase, learnedBase, ...rest } = row;
  const base =
    confirmedBase !== null
      ? { value: confirmedBase, state: 'confirmed' as const }
      : learnedBase !== null
        ? { value: learnedBase, state: 'provisional' as const }
        : null;
  return { point: { ...rest, base }, assetId, siteId, spot, version };
};

/**
 * Points by id or by asset, each with the base that counts today: confirmed by a person, else as concluded.
 * Points taken back with their import are left out.
 * @param even those of assets out of service too: what was read there is kept and shown.
 */
export async function loadPoints(
  db: TenantDb,
  wanted: { readonly pointIds: readonly string[] } | { readonly assetId: string },
  even: 'in-service' | 'out-of-service' = 'in-service',
): Promise<RegisteredPoint[]> {
  const where =
    'assetId' in wanted ? sql`p.asset_id = ${wanted.assetId}::uuid` : sql`p.id = ANY (${[...wanted.pointIds]}::uuid[])`;
  const rows = await db.$queryRaw<Row[]>(sql`
    SELECT p.id, p.letter, p.name, p.quantity, p.unit, p.decimals, p.load_family AS "loadFamily", p.basis,
      p.reference_load_percent AS "referenceLoadPercent", p.minimum_load_percent AS "minimumLoadPercent",
      p.load_exponent AS "loadExponent", p.rated_current_a AS "ratedCurrentA", p.reference_ambient_c AS "referenceAmbientC",
      p.emissivity, p.infrared, p.needs, p.parts, p.regreasing_gate_hours AS "regreasingGateHours", p.uncertainty,
      p.target_mm AS "targetMm", p.rated_range_k AS "ratedRangeK", p.gas_exponent AS "gasExponent",
      p.orifice_mm AS "orificeMm", p.steam_price_per_tonne AS "steamPricePerTonne", p.curve,
      ARRAY(SELECT t.twin_id::text FROM point_twin t WHERE t.organisation_id = p.organisation_id AND t.point_id = p.id ORDER BY t.twin_id) AS twins,
      a.life_safety AS "lifeSafety", p.asset_id AS "assetId", p.site_id AS "siteId", p.spot, p.version,
      p.base_value AS "confirmedBase", (c.content #>> '{proposedBase,value}')::float8 AS "learnedBase"
    FROM point p JOIN asset a ON a.organisation_id = p.organisation_id AND a.id = p.asset_id
      LEFT JOIN conclusion c ON c.organisation_id = p.organisation_id AND c.point_id = p.id
    WHERE ${where} AND p.taken_back_by IS NULL AND (${even === 'out-of-service'} OR p.retired_at IS NULL) ORDER BY p.asset_id, p.letter`);
  return rows.map(toRegistered);
}
