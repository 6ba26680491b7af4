import { comesBack, moveOrder } from '@heatround/domain';
import { sql } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import * as z from 'zod';
import type { Deps } from '../deps/index.ts';
import { aboutPoints } from './about.ts';
import { Desk } from './desk.ts';
import { bringBackFinding, service } from './making.ts';

const payload = z.object({ organisationId: z.uuid(), subject: z.enum(['finding', 'order']), id: z.uuid() });
export type LivingPayload = z.output<typeof payload>;

/** Brings back a fault that was lived with until a date, when the date has come. */
export const bringBackJob = defineJob<LivingPayload, Deps>({
  name: 'bring-back',
  payload,
  key: ({ organisationId, id }) => `${organisationId}/${id}`,
  retry: { attempts: 5, backoffMs: 1000 },
  handle: bringBackNow,
});

/** The same, at once. What has come back already, or is lived with longer by now, is a quiet success. */
export async function bringBackNow({ database, clock }: Deps, { organisationId, subject, id }: LivingPayload): Promise<void> {
  const scope = { organisationId, siteIds: null };
  await database.inTenant(scope, async ({ db }) => {
    const [own] = await db.$queryRaw<{ offset: bigint }[]>(
      sql`SELECT clock_offset_ms AS offset FROM organisation WHERE organisation_id = ${organisationId}::uuid`,
    );
    const desk = new Desk(db, scope, clock.now() + Number(own?.offset ?? 0));
    await desk.takeAround(subject === 'order' ? { orderIds: [id] } : { findingIds: [id] });
    const aboutOf = async (pointId: string) => (await aboutPoints(db, [pointId])).get(pointId)!;
    if (subject === 'order') {
      const held = desk.orders.get(id);
      if (!held) return;
      const cause = comesBack(held.order.livingWith, held.order.grade, desk.at);
      if (cause === null || cause === 'read-again') return;
      const moved = moveOrder(held.order, { kind: 'come-back', cause }, service(desk.at));
      if ('refused' in moved || moved.record === null) return;
      desk.setOrder(held, moved.order, moved.record);
      const finding = desk.findings.get(held.findingId);
      if (finding) bringBackFinding(desk, await aboutOf(finding.finding.pointId), finding, cause);
    } else {
      const held = desk.findings.get(id);
      if (!held) return;
      const cause = comesBack(held.finding.livingWith, held.finding.grade, desk.at);
      if (cause !== null) bringBackFinding(desk, await aboutOf(held.finding.pointId), held, cause);
    }
    await desk.save();
  });
}

/** Faults whose accepted time is over by the clock of their organisation, across organisations. */
export async function findLivingOver(
  { database, clock }: Pick<Deps, 'database' | 'clock'>,
  most: number,
): Promise<LivingPayload[]> {
  const now = new Date(clock.now());
  return database.acrossTenants('accepted risks whose date has come', (db) =>
    db.$queryRaw<LivingPayload[]>(sql`
      SELECT due."organisationId", due.subject, due.id FROM (
        SELECT organisation_id AS "organisationId", 'order' AS subject, id, living_until FROM work_order WHERE living_until IS NOT NULL AND ended_at IS NULL
        UNION ALL
        SELECT organisation_id, 'finding', id, living_until FROM finding WHERE living_until IS NOT NULL AND ended_at IS NULL) due
        JOIN organisation o ON o.organisation_id = due."organisationId"
      WHERE due.living_until <= ${now}::timestamptz + o.clock_offset_ms * interval '1 millisecond'
      ORDER BY due."organisationId", due.id LIMIT ${most}`),
  );
}
