import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import * as z from 'zod';
import type { Deps } from '../deps/index.ts';
import { HORIZON_DAYS, planRoute } from './plan.ts';
import { findOtherRounds, settleRounds } from './settle.ts';

const DAY = 86_400_000;

/** The organisation's clock, for work that no person asked for. */
export async function organisationNow(db: TenantDb, { clock }: Pick<Deps, 'clock'>): Promise<number> {
  const [found] = await db.$queryRaw<{ offset: bigint }[]>(sql`
    SELECT clock_offset_ms AS offset FROM organisation WHERE organisation_id = current_organisation()`);
  return clock.now() + Number(found?.offset ?? 0);
}

const routePayload = z.object({ organisationId: z.uuid(), routeId: z.uuid() });

/** Makes the rounds of one route ahead, to the horizon. */
export const planRoundsJob = defineJob<z.output<typeof routePayload>, Deps>({
  name: 'plan-rounds',
  payload: routePayload,
  key: ({ routeId }) => routeId,
  retry: { attempts: 5, backoffMs: 500 },
  handle: (deps, { organisationId, routeId }) =>
    deps.database.inTenant({ organisationId, siteIds: null }, async ({ db }) => {
      await planRoute(db, routeId, await organisationNow(db, deps));
    }),
});

const organisationPayload = z.object({ organisationId: z.uuid() });
/** So many rounds are closed in one transaction. */
const AT_ONCE = 200;

/** Rounds that have ended and still hold open stops, whatever left them there. */
const leftOver = (organisation: Sql): Sql => sql`
  SELECT e.round_id AS id FROM extra_stop e CROSS JOIN LATERAL (
    SELECT r.closed_at FROM round r WHERE r.organisation_id = e.organisation_id AND r.id = e.round_id LIMIT 1) r
  WHERE e.organisation_id = ${organisation} AND e.round_id IS NOT NULL AND e.closed_at IS NULL AND r.closed_at IS NOT NULL`;

/** Closes the rounds of an organisation whose time is over, as of the end of their grace; stops left over on ended ones find others. */
export const closeRoundsJob = defineJob<z.output<typeof organisationPayload>, Deps>({
  name: 'close-rounds',
  payload: organisationPayload,
  key: ({ organisationId }) => organisationId,
  retry: { attempts: 5, backoffMs: 500 },
  handle: async (deps, { organisationId }) => {
    for (let closed = AT_ONCE; closed === AT_ONCE; ) {
      closed = await deps.database.inTenant({ organisationId, siteIds: null }, async ({ db }) => {
        const now = await organisationNow(db, deps);
        const over = await db.$queryRaw<{ id: string }[]>(sql`
          SELECT id FROM round WHERE organisation_id = current_organisation() AND closed_at IS NULL AND ends_at < ${new Date(now)}::timestamptz
          ORDER BY ends_at LIMIT ${AT_ONCE}`);
        await settleRounds(
          db,
          over.map(({ id }) => id),
          now,
        );
        return over.length;
      });
    }
    await deps.database.inTenant({ organisationId, siteIds: null }, async ({ db }) => {
      const ended = await db.$queryRaw<{ id: string }[]>(sql`${leftOver(sql`current_organisation()`)} LIMIT ${AT_ONCE}`);
      await findOtherRounds(
        db,
        ended.map(({ id }) => id),
      );
    });
  },
});

/** Routes whose rounds do not reach to the horizon, across organisations; by each one's own clock. */
export function findRoutesToPlan(
  { database, clock }: Pick<Deps, 'database' | 'clock'>,
  most: number,
): Promise<{ organisationId: string; routeId: string }[]> {
  const until = new Date(clock.now() + HORIZON_DAYS * DAY);
  return database.acrossTenants('routes to plan ahead', (db) =>
    db.$queryRaw<{ organisationId: string; routeId: string }[]>(sql`
      SELECT o.organisation_id AS "organisationId", t.id AS "routeId" FROM organisation o CROSS JOIN LATERAL (
        SELECT r.id FROM route r WHERE r.organisation_id = o.organisation_id AND r.retired_at IS NULL AND r.planned_until IS NULL
        UNION ALL
        SELECT r.id FROM route r WHERE r.organisation_id = o.organisation_id AND r.retired_at IS NULL
          AND r.planned_until < ${until}::timestamptz + o.clock_offset_ms * interval '1 millisecond') t
      LIMIT ${most}`),
  );
}

/** Organisations with rounds whose time is over and that are still open, or with stops left over on rounds that have ended. */
export function findRoundsToClose({ database, clock }: Pick<Deps, 'database' | 'clock'>): Promise<{ organisationId: string }[]> {
  return database.acrossTenants('rounds whose time is over', (db) =>
    db.$queryRaw<{ organisationId: string }[]>(sql`
      SELECT o.organisation_id AS "organisationId" FROM organisation o
      WHERE EXISTS (SELECT 1 FROM round r WHERE r.organisation_id = o.organisation_id AND r.closed_at IS NULL
          AND r.ends_at < ${new Date(clock.now())}::timestamptz + o.clock_offset_ms * interval '1 millisecond')
        OR EXISTS (${leftOver(sql`o.organisation_id`)})`),
  );
}
