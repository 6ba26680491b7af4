import { GRADES, type Grade, Problem, tagKey } from '@heatround/domain';
import { sql } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, type Scope } from '../deps/index.ts';
import { searchPatterns } from './words.ts';

export interface Place {
  readonly siteId: string;
  readonly site: string;
  readonly zone: string;
  readonly buildingId: string;
  readonly building: string;
  readonly roomId: string;
  readonly room: string;
}

export interface AssetLine {
  readonly id: string;
  readonly tag: string;
  readonly name: string;
  readonly place: Place;
  readonly criticality: 'A' | 'B' | 'C';
  readonly pointCount: number;
  readonly grade: Grade | null;
  readonly lastReadAt: Date | null;
  /** Work was done at one of its points, and no reading has proved it. */
  readonly isProofAwaited: boolean;
  /** Facts have arrived that no conclusion knows yet. */
  readonly isBehind: boolean;
  readonly foundByOldTag: string | null;
}

/** Columns of a place, for queries that join room r, building b and site s. */
export const PLACE = sql`jsonb_build_object('siteId', s.id, 'site', s.name, 'zone', s.zone, 'buildingId', b.id, 'building', b.name,
  'roomId', r.id, 'room', r.name) AS place`;

/**
 * The register in tag order, page by page; with a search, those whose words begin with every word searched for.
 * The cost grows with the page and the search, not with the register.
 */
export async function listAssets(
  { database }: Deps,
  scope: Scope,
  query: {
    search?: string | undefined;
    roomId?: string | undefined;
    outOfService?: boolean | undefined;
    after?: string | undefined;
    pageSize: number;
  },
): Promise<{ assets: AssetLine[]; next: string | null }> {
  mustBeAllowed(scope, 'see');
  const after = query.after ? readCursor(query.after) : null;
  const patterns = searchPatterns(query.search ?? '');
  const conditions = [
    query.outOfService ? sql`a.retired_at IS NOT NULL AND a.taken_back_by IS NULL` : sql`a.retired_at IS NULL`,
    ...(query.roomId ? [sql`a.room_id = ${query.roomId}::uuid`] : []),
    ...(after ? [sql`(a.tag, a.id) > (${after.tag}, ${after.id}::uuid)`] : []),
    ...patterns.map(
      (pattern) =>
        sql`a.id IN (SELECT w.asset_id FROM asset_word w WHERE w.organisation_id = ${scope.organisationId}::uuid AND w.word LIKE ${pattern})`,
    ),
  ];
  const oldTag = query.search
    ? sql`(SELECT t.tag FROM asset_tag t WHERE t.organisation_id = a.organisation_id AND t.asset_id = a.id AND NOT t.is_current
        AND t.tag_key LIKE ${`${tagKey(query.search).replace(/[\\%_]/g, '\\$&')}%`} LIMIT 1)`
    : sql`NULL`;
  const rows = await database.inTenant(scope, ({ db }) =>
    db.$queryRaw<(Omit<AssetLine, 'grade'> & { rank: number | null })[]>(sql`
      WITH page AS (
        SELECT a.* FROM asset a WHERE a.organisation_id = ${scope.organisationId}::uuid AND ${sql.join(conditions, ' AND ')}
        ORDER BY a.tag, a.id LIMIT ${query.pageSize + 1})
      SELECT a.id, a.tag, a.name, a.criticality, ${PLACE}, ${oldTag} AS "foundByOldTag", p."pointCount", p.rank, p."lastReadAt", p."isProofAwaited", p."isBehind"
      FROM page a JOIN room r ON r.organisation_id = a.organisation_id AND r.id = a.room_id
        JOIN building b ON b.organisation_id = r.organisation_id AND b.id = r.building_id
        JOIN site s ON s.organisation_id = b.organisation_id AND s.id = b.site_id
        CROSS JOIN LATERAL (
          SELECT count(*)::int AS "pointCount", max(array_position(${[...GRADES]}, c.grade)) AS rank,
            max((SELECT f.taken_at FROM counted_reading f WHERE f.organisation_id = p.organisation_id AND f.point_id = p.id
              ORDER BY f.taken_at DESC, f.id DESC LIMIT 1)) AS "lastReadAt",
            coalesce(bool_or((c.content ->> 'isProofAwaited')::boolean), false) AS "isProofAwaited",
            coalesce(bool_or(v.revision > v.concluded), false) AS "isBehind"
          FROM point p LEFT JOIN conclusion c ON c.organisation_id = p.organisation_id AND c.point_id = p.id
            LEFT JOIN point_revision v ON v.organisation_id = p.organisation_id AND v.point_id = p.id
          WHERE p.organisation_id = a.organisation_id AND p.asset_id = a.id AND p.retired_at IS NOT DISTINCT FROM a.retired_at) p
      ORDER BY a.tag, a.id`),
  );
  const page = rows.slice(0, query.pageSize);
  const last = page.at(-1);
  return {
    assets: page.map(({ rank, ...row }) => ({ ...row, grade: rank ? GRADES[rank - 1]! : null })),
    next: rows.length > query.pageSize && last ? writeCursor(last) : null,
  };
}

const writeCursor = ({ tag, id }: { tag: string; id: string }) => Buffer.from(JSON.stringify([tag, id])).toString('base64url');

function readCursor(text: string): { tag: string; id: string } {
  try {
    const [tag, id] = JSON.parse(Buffer.from(text, 'base64url').toString()) as unknown[];
    if (typeof tag === 'string' && typeof id === 'string' && /^[0-9a-f-]{36}$/.test(id)) return { tag, id };
  } catch {}
  throw new Problem('invalid-request', 'The page mark is not one of ours; start again without it.', [
    { pointer: '#/after', detail: 'expected the value of next from the page before' },
  ]);
}
