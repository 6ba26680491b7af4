import { moveFinding, proofDueAt } from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import * as z from 'zod';
import { loadPoints } from '../assets/index.ts';
import { type Deps, idOf } from '../deps/index.ts';
import { limitsOf } from '../limits/index.ts';
import { placeStop } from '../rounds/index.ts';
import { aboutPoints } from './about.ts';
import { Desk, type HeldFinding, type HeldOrder } from './desk.ts';
import { answerDue, service } from './making.ts';
import { noteOfProof } from './proof.ts';

const HOUR = 3_600_000;
/** So many are looked after at a time; the next sweep goes on. */
const MOST = 500;

const payload = z.object({ organisationId: z.uuid() });

interface Missing {
  readonly subject: 'finding' | 'order';
  readonly id: string;
}

/**
 * What waits for a reading that nobody is asked for. A repair at a machine out of service waits until that is back. Row by row through the
 * keys (OFFSET 0), as the planner would not if it were free to join.
 */
const missingOf = (organisation: Sql): Sql => sql`
  SELECT 'order' AS subject, o.id FROM work_order o
  WHERE o.organisation_id = ${organisation} AND o.proof_due_at IS NOT NULL
    AND NOT EXISTS (SELECT 1 FROM extra_stop e WHERE e.organisation_id = o.organisation_id AND e.order_id = o.id AND e.closed_at IS NULL OFFSET 0)
    AND EXISTS (SELECT 1 FROM point p WHERE p.organisation_id = o.organisation_id AND p.id = o.point_id AND p.retired_at IS NULL OFFSET 0)
  UNION ALL
  SELECT 'finding', f.id FROM finding f
  WHERE f.organisation_id = ${organisation} AND f.stands = 'read-again' AND f.ended_at IS NULL
    AND NOT EXISTS (SELECT 1 FROM extra_stop e WHERE e.organisation_id = f.organisation_id AND e.finding_id = f.id
      AND e.kind = 'read-again' AND e.closed_at IS NULL OFFSET 0)`;

/**
 * Every repair that waits for its proof has somebody asked for it, and every finding to be read again too: the proof is asked for anew, a
 * finding that nobody reads any more is Reported again, so that it is in nobody's blind spot. Repeating it changes nothing.
 */
export const missingStopsJob = defineJob<z.output<typeof payload>, Deps>({
  name: 'missing-stops',
  payload,
  key: ({ organisationId }) => organisationId,
  retry: { attempts: 5, backoffMs: 1000 },
  handle: async ({ database, clock }, { organisationId }) => {
    const scope = { organisationId, siteIds: null };
    const own = sql`current_organisation()`;
    const missing = await database.inTenant(scope, ({ db }) =>
      db.$queryRaw<Missing[]>(sql`SELECT m.subject, m.id FROM (${missingOf(own)}) m ORDER BY m.id LIMIT ${MOST}`),
    );
    for (const { subject, id } of missing) {
      await database.inTenant(scope, async ({ db }) => {
        const [{ offset }] = await db.$queryRaw<[{ offset: bigint }]>(
          sql`SELECT clock_offset_ms AS offset FROM organisation WHERE organisation_id = current_organisation()`,
        );
        const desk = new Desk(db, scope, clock.now() + Number(offset));
        await desk.takeAround(subject === 'order' ? { orderIds: [id] } : { findingIds: [id] });
        // Somebody may have been asked before all of it was held.
        const [still] = await db.$queryRaw<Missing[]>(
          sql`SELECT m.subject, m.id FROM (${missingOf(own)}) m WHERE m.id = ${id}::uuid`,
        );
        const [order, finding] = [desk.orders.get(id), desk.findings.get(id)];
        if (still && order) await askForProof(db, scope, order, desk.at);
        if (still && finding) await reportAgain(db, desk, finding);
        await desk.save();
      });
    }
  },
});

/** With the times of the stop before, as far as they lie ahead. */
async function askForProof(db: TenantDb, scope: { readonly organisationId: string }, held: HeldOrder, at: number): Promise<void> {
  const { id, grade } = held.order;
  const before = await db.$queryRaw<{ earliestAt: Date; latestAt: Date }[]>(sql`
    SELECT earliest_at AS "earliestAt", latest_at AS "latestAt" FROM extra_stop
    WHERE organisation_id = current_organisation() AND order_id = ${id}::uuid ORDER BY asked_at DESC, latest_at DESC`);
  const [registered] = await loadPoints(db, { pointIds: [held.pointId] });
  if (!registered) return;
  const fromMs = Math.max(at, before[0]?.earliestAt.getTime() ?? at);
  const latest = before[0]?.latestAt.getTime() ?? 0;
  await placeStop(db, scope, {
    id: idOf('proof', id, 'anew', before.length),
    kind: 'proof',
    ...{ pointId: held.pointId, findingId: held.findingId, orderId: id, fromMs },
    untilMs: latest > fromMs + HOUR ? latest : proofDueAt(fromMs, grade),
    note: noteOfProof(registered.point, (await limitsOf(db, [held.pointId])).get(held.pointId) ?? [], held, at),
    askedBy: null,
    askedAtMs: at,
  });
}

/** A planner decides anew: the machine may be out of service, or back. */
async function reportAgain(db: TenantDb, desk: Desk, held: HeldFinding): Promise<void> {
  const moved = moveFinding(held.finding, { kind: 'come-back', cause: 'ended-early' }, service(desk.at));
  if ('refused' in moved || moved.record === null) return;
  const about = (await aboutPoints(db, [held.finding.pointId])).get(held.finding.pointId)!;
  held.answerDueAt = answerDue(about, moved.finding, desk.at);
  held.askedAgainAt = null;
  desk.setFinding(held, moved.finding, { ...moved.record, why: 'nobody goes there to read it any more' });
}

/** Organisations with something that waits for a reading nobody is asked for. */
export function findMissingStops({ database }: Pick<Deps, 'database'>): Promise<{ organisationId: string }[]> {
  return database.acrossTenants('readings that nobody is asked for', (db) =>
    db.$queryRaw<{ organisationId: string }[]>(sql`
      SELECT o.organisation_id AS "organisationId" FROM organisation o WHERE EXISTS (${missingOf(sql`o.organisation_id`)})`),
  );
}
