/** People of the demo calling the service. */
import { sql } from '@heatround/platform/database';
import type { loadDemoIfEmpty } from '@heatround/services/demo';
import { expect } from 'vitest';
import type { Harness } from '../../support/harness.ts';

// biome-ignore lint/suspicious/noExplicitAny: a test says what it expects of a reply
export type Body = any;

export type SignIns = Awaited<ReturnType<typeof loadDemoIfEmpty>>;

export interface Client {
  get(endpoint: Parameters<Harness['call']>[0], options?: Parameters<Harness['call']>[1]): Promise<Body>;
}

/** Signs one of the printed people in, for an organisation. */
export async function signInAs(service: Harness, signIns: SignIns, who: string, home: string): Promise<Client> {
  const { email, password } = signIns.find(({ name }) => name.startsWith(who))!;
  const reply = await service.call('signIn', { body: { email, password } });
  expect(reply.status).toBe(200);
  const cookie = [reply.headers['set-cookie']]
    .flat()
    .map((one) => String(one).split(';')[0])
    .join('; ');
  return {
    get: async (endpoint, options = {}) => {
      const answer = await service.call(endpoint, { cookie, organisationId: home, ...options });
      expect(answer.status, JSON.stringify(answer.body)).toBe(200);
      return answer.body;
    },
  };
}

/** Findings, orders and every move of them, as they stand; two ways of loading must end in the same. */
export const repairsOf = (service: Pick<Harness, 'db'>, organisationId: string): Promise<Body[]> =>
  service.db.inTenant({ organisationId, siteIds: null }, async ({ db }) => {
    const people = await db.$queryRaw<{ id: string; name: string }[]>(sql`SELECT person_id AS id, name FROM membership`);
    const rows = await db.$queryRaw<unknown[]>(sql`
      SELECT 'finding' AS what, number, version, grade, answer_due_at::text AS due, words, state FROM finding
      UNION ALL SELECT 'order', number, version, grade, due_at::text, NULL, state FROM work_order
      UNION ALL SELECT m.subject, coalesce(f.number, o.number), m.version, NULL, NULL, NULL, m.record FROM move m
        LEFT JOIN finding f ON f.id = m.subject_id LEFT JOIN work_order o ON o.id = m.subject_id
      UNION ALL SELECT 'stop', NULL, NULL, kind, closed_at::text, note, jsonb_build_object('until', latest_at) FROM extra_stop
      UNION ALL SELECT 'round', NULL, read_count, t.code, closed_at::text, given_note, jsonb_build_object('planned', planned_at, 'by', taken_by,
        'over', looked_over_at) FROM round r JOIN route t ON t.id = r.route_id`);
    // The accounts of two installations have ids of their own.
    const said = people.reduce((text, { id, name }) => text.replaceAll(id, name), JSON.stringify(rows));
    return (JSON.parse(said) as unknown[]).map((row) => JSON.stringify(row)).sort();
  });
