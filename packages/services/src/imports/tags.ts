import { sql, type TenantDb } from '@heatround/platform/database';
import { loadPoints, type RegisteredPoint } from '../assets/index.ts';

/** What the register knows of a tag. */
export interface KnownTag {
  /** Null: the tag is taken by something retired or out of sight. */
  readonly assetId: string | null;
  readonly zone: string;
  readonly points: readonly RegisteredPoint[];
}

/** Assets and points behind tags, old tags included, by comparison key; what nobody ever named is absent, and so is what was taken back. */
export async function knownTags(db: TenantDb, keys: readonly string[]): Promise<Map<string, KnownTag>> {
  if (keys.length === 0) return new Map();
  const rows = await db.$queryRaw<{ key: string; assetId: string | null; zone: string | null; pointIds: string[] }[]>(sql`
    SELECT t.tag_key AS key, a.id AS "assetId", s.zone,
      ARRAY(SELECT p.id::text FROM point p WHERE p.organisation_id = a.organisation_id AND p.asset_id = a.id AND p.retired_at IS NULL) AS "pointIds"
    FROM asset_tag t LEFT JOIN asset a ON a.organisation_id = t.organisation_id AND a.id = t.asset_id AND a.retired_at IS NULL
      LEFT JOIN asset b ON b.organisation_id = t.organisation_id AND b.id = t.asset_id
      LEFT JOIN site s ON s.organisation_id = a.organisation_id AND s.id = a.site_id
    WHERE t.tag_key = ANY (${[...keys]}) AND b.taken_back_by IS NULL`);
  const pointIds = rows.flatMap((row) => row.pointIds);
  const points = pointIds.length > 0 ? await loadPoints(db, { pointIds }) : [];
  const byAsset = new Map<string, RegisteredPoint[]>();
  for (const point of points) byAsset.set(point.assetId, [...(byAsset.get(point.assetId) ?? []), point]);
  return new Map(
    rows.map(({ key, assetId, zone }) => [
      key,
      { assetId, zone: zone ?? 'UTC', points: assetId ? (byAsset.get(assetId) ?? []) : [] },
    ]),
  );
}
