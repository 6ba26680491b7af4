import { sql } from '@heatround/platform/database';
import type { Deps } from '../deps/index.ts';

/** Points whose conclusions lag behind their facts, across organisations; the cost grows with what is due, not with what there is. */
export function findDuePoints(
  { database }: Pick<Deps, 'database'>,
  most: number,
): Promise<{ organisationId: string; pointId: string }[]> {
  return database.acrossTenants('points whose conclusions lag behind', (db) =>
    db.$queryRaw<{ organisationId: string; pointId: string }[]>(sql`
      SELECT organisation_id AS "organisationId", point_id AS "pointId" FROM point_revision WHERE revision > concluded
      ORDER BY organisation_id, point_id LIMIT ${most}`),
  );
}
