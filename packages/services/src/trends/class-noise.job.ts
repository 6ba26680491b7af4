import { noiseOfLikePoints } from '@heatround/domain';
import { sql } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import * as z from 'zod';
import type { Deps } from '../deps/index.ts';

const DAY = 86_400_000;
/** Learned anew so often; the scatter of a class is a matter of instruments and habits, which change slowly. */
const LEARN_EVERY_DAYS = 30;
/** Readings since the last reset from which the scatter of a point is its own and no longer leaned on others. */
const OWN_READINGS = 13;
/** With fewer there is no projection that could lean on anything. */
const FEWEST_READINGS = 3;
/** A change below this share moves no date by more than it is said with: the record stays as it was. */
const NOTABLE = 0.1;
/** Newest points of a class that are looked at. */
const MOST_POINTS = 500;

const payload = z.object({ organisationId: z.uuid() });

/**
 * Learns from like points (same template, same quantity) how much their readings scatter, and has points that lean on it concluded
 * again where that changed. Repeating it changes nothing.
 */
export const learnClassesJob = defineJob<z.output<typeof payload>, Deps>({
  name: 'learn-classes',
  payload,
  key: ({ organisationId }) => organisationId,
  retry: { attempts: 5, backoffMs: 500 },
  handle: ({ database, clock }, { organisationId }) =>
    database.inTenant({ organisationId, siteIds: null }, async ({ db }) => {
      const [own] = await db.$queryRaw<{ offset: bigint }[]>(sql`
        SELECT clock_offset_ms AS offset FROM organisation WHERE organisation_id = current_organisation() FOR NO KEY UPDATE`);
      if (!own) return;
      const now = new Date(clock.now() + Number(own.offset));
      const classes = await db.$queryRaw<{ template: string; quantity: string; noises: number[]; known: number | null }[]>(sql`
        SELECT l.template, l.quantity, array_agg(l.noise) AS noises, max(n.noise) AS known FROM (
          SELECT a.template, p.quantity, (c.content ->> 'noise')::float8 AS noise,
            row_number() OVER (PARTITION BY a.template, p.quantity ORDER BY c.computed_at DESC, p.id) AS place
          FROM conclusion c JOIN point p ON p.organisation_id = c.organisation_id AND p.id = c.point_id
            JOIN asset a ON a.organisation_id = p.organisation_id AND a.id = p.asset_id
          WHERE c.organisation_id = current_organisation() AND a.template IS NOT NULL AND p.retired_at IS NULL
            AND (c.content ->> 'comparableCount')::int >= ${OWN_READINGS} AND c.content ->> 'noise' IS NOT NULL) l
        LEFT JOIN class_noise n ON n.organisation_id = current_organisation() AND n.template = l.template AND n.quantity = l.quantity
        WHERE l.place <= ${MOST_POINTS} GROUP BY l.template, l.quantity`);
      for (const { template, quantity, noises, known } of classes) {
        const noise = noiseOfLikePoints(noises);
        if (noise === null || (known !== null && Math.abs(noise - known) <= NOTABLE * known)) continue;
        await db.$executeRaw(sql`
          INSERT INTO class_noise (organisation_id, template, quantity, noise, point_count, learned_at)
          VALUES (current_organisation(), ${template}, ${quantity}, ${noise}, ${noises.length}, ${now}::timestamptz)
          ON CONFLICT (organisation_id, template, quantity) DO UPDATE
          SET noise = excluded.noise, point_count = excluded.point_count, learned_at = excluded.learned_at`);
        await db.$executeRaw(sql`
          UPDATE point_revision r SET revision = r.revision + 1 FROM conclusion c
            JOIN point p ON p.organisation_id = c.organisation_id AND p.id = c.point_id
            JOIN asset a ON a.organisation_id = p.organisation_id AND a.id = p.asset_id
          WHERE c.organisation_id = current_organisation() AND a.template = ${template} AND p.quantity = ${quantity}
            AND (c.content ->> 'comparableCount')::int BETWEEN ${FEWEST_READINGS} AND ${OWN_READINGS - 1}
            AND r.organisation_id = c.organisation_id AND r.point_id = c.point_id`);
      }
      await db.$executeRaw(sql`
        UPDATE organisation SET classes_learned_at = ${now}::timestamptz WHERE organisation_id = current_organisation()`);
    }),
});

/** Organisations that have not learned for a while, by their own clocks. */
export function findClassesToLearn({ database, clock }: Pick<Deps, 'database' | 'clock'>): Promise<{ organisationId: string }[]> {
  const before = new Date(clock.now() - LEARN_EVERY_DAYS * DAY);
  return database.acrossTenants('organisations that have not learned for a while', (db) =>
    db.$queryRaw<{ organisationId: string }[]>(sql`
      SELECT organisation_id AS "organisationId" FROM organisation
      WHERE classes_learned_at IS NULL OR classes_learned_at < ${before}::timestamptz + clock_offset_ms * interval '1 millisecond'`),
  );
}
