import type { Grade } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import * as z from 'zod';
import type { Deps } from '../deps/index.ts';
import { windowsAhead } from '../rounds/index.ts';
import { aboutPoints, rankOf, riskAt } from './about.ts';
import { lockPoints } from './desk.ts';

/** The next window comes nearer day by day; more often the likelihood classes move only with a new conclusion. */
const RANK_EVERY_MS = 86_400_000;
/** Most points of one job: readings of them wait while it works. */
const POINTS_AT_ONCE = 100;

const payload = z.object({ organisationId: z.uuid(), pointIds: z.array(z.uuid()).min(1).max(POINTS_AT_ONCE) });

/** Gives open orders the risk and the place in the queue that they have today. Repeating it changes nothing. */
export const rankOrdersJob = defineJob<z.output<typeof payload>, Deps>({
  name: 'rank-orders',
  payload,
  key: ({ pointIds }) => `${pointIds[0]}+${pointIds.length}`,
  retry: { attempts: 5, backoffMs: 1000 },
  handle: ({ database, clock }, { organisationId, pointIds }) =>
    database.inTenant({ organisationId, siteIds: null }, async ({ db }) => {
      const [own] = await db.$queryRaw<{ offset: bigint }[]>(
        sql`SELECT clock_offset_ms AS offset FROM organisation WHERE organisation_id = current_organisation()`,
      );
      await lockPoints(db, pointIds);
      await rankAt(db, pointIds, clock.now() + Number(own?.offset ?? 0));
      await db.$executeRaw(sql`
        UPDATE work_order SET ranked_at = ${new Date(clock.now())}::timestamptz
        WHERE organisation_id = current_organisation() AND point_id = ANY (${pointIds}::uuid[]) AND ended_at IS NULL`);
    }),
});

/** Risk and place at an instant by the clock of the organisation; whoever calls holds the points. */
async function rankAt(db: TenantDb, pointIds: readonly string[], at: number): Promise<void> {
  const open = await db.$queryRaw<{ id: string; pointId: string; grade: Grade; rank: number; risk: number }[]>(sql`
    SELECT id, point_id AS "pointId", grade, rank, risk FROM work_order
    WHERE organisation_id = current_organisation() AND point_id = ANY (${[...pointIds]}::uuid[]) AND ended_at IS NULL ORDER BY id FOR UPDATE`);
  if (open.length === 0) return;
  const abouts = await aboutPoints(
    db,
    open.map(({ pointId }) => pointId),
  );
  const windows = await windowsAhead(db, [...new Set([...abouts.values()].map(({ siteId }) => siteId))], at);
  const moved = open.flatMap(({ id, pointId, grade, rank, risk }) => {
    const about = abouts.get(pointId)!;
    const now = riskAt(about, grade, windows, at);
    const one = { id, rank: rankOf(about, grade, now), risk: now.risk, consequence: now.consequence };
    return one.rank === rank && one.risk === risk ? [] : [one];
  });
  if (moved.length === 0) return;
  await db.$executeRaw(sql`
    UPDATE work_order o SET rank = m.rank, risk = m.risk, consequence = m.consequence
    FROM jsonb_to_recordset(${JSON.stringify(moved)}::jsonb) AS m(id uuid, rank int, risk int, consequence int)
    WHERE o.organisation_id = current_organisation() AND o.id = m.id`);
}

/** Points whose open orders were ranked long ago or whose conclusion is newer, across organisations. */
export async function findOrdersToRank(
  { database, clock }: Pick<Deps, 'database' | 'clock'>,
  most: number,
): Promise<z.output<typeof payload>[]> {
  const before = new Date(clock.now() - RANK_EVERY_MS);
  const due = await database.acrossTenants('orders that were ranked long ago', (db) =>
    db.$queryRaw<{ organisationId: string; pointId: string }[]>(sql`
      SELECT organisation_id AS "organisationId", point_id AS "pointId" FROM work_order
      WHERE ended_at IS NULL AND ranked_at < ${before}::timestamptz ORDER BY ranked_at, organisation_id, point_id LIMIT ${most}`),
  );
  const byOrganisation = new Map<string, Set<string>>();
  for (const { organisationId, pointId } of due)
    byOrganisation.set(organisationId, (byOrganisation.get(organisationId) ?? new Set()).add(pointId));
  return [...byOrganisation].flatMap(([organisationId, points]) => {
    const pointIds = [...points].sort();
    return Array.from({ length: Math.ceil(pointIds.length / POINTS_AT_ONCE) }, (_, i) => ({
      organisationId,
      pointIds: pointIds.slice(i * POINTS_AT_ONCE, (i + 1) * POINTS_AT_ONCE),
    }));
  });
}
