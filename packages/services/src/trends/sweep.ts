import { sql } from '@heatround/platform/database';
import type { Deps } from '../deps/index.ts';
import { POINTS_AT_ONCE } from './conclude-points.job.ts';

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

/** For how long the oldest point has been waiting for its conclusion, seconds by the database's clock; 0 when none waits. */
export async function oldestDueSeconds({ database }: Pick<Deps, 'database'>): Promise<number> {
  const [oldest] = await database.acrossTenants('since when the worker lags behind', (db) =>
    db.$queryRaw<{ seconds: number }[]>(sql`
      SELECT greatest(0, extract(epoch FROM clock_timestamp() - due_since))::float8 AS seconds FROM point_revision
      WHERE revision > concluded ORDER BY due_since LIMIT 1`),
  );
  return oldest?.seconds ?? 0;
}

/** The same as work for concludePointsJob: as many points of one organisation at once as it takes. */
export async function findDueConclusions(
  deps: Pick<Deps, 'database'>,
  most: number,
): Promise<{ organisationId: string; pointIds: string[] }[]> {
  const chunks: { organisationId: string; pointIds: string[] }[] = [];
  for (const { organisationId, pointId } of await findDuePoints(deps, most)) {
    const last = chunks.at(-1);
    if (last?.organisationId === organisationId && last.pointIds.length < POINTS_AT_ONCE) last.pointIds.push(pointId);
    else chunks.push({ organisationId, pointIds: [pointId] });
  }
  return chunks;
}
