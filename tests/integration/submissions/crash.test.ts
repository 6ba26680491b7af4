/** The service as a process of its own, killed with -9 while readings pour in: what was acknowledged is there, once, and is concluded. */

import { ORGANISATION_HEADER } from '@heatround/contract';
import { sql } from '@heatround/platform/database';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { type Harness, type Person, REPOSITORY, readingFact, startService } from '../../support/harness.ts';
import { freePort, type Started, start } from '../launch/checkout.ts';

const WAIT = { timeout: 60_000, interval: 100 };

describe('a service killed with -9', () => {
  let inspector: Harness;
  let planner: Person;
  let pointIds: string[];
  let port: number;
  const started: Started[] = [];
  beforeAll(async () => {
    inspector = await startService();
    const { id, roomId } = await inspector.organisation();
    planner = await inspector.person(id, ['planner']);
    ({ pointIds } = await inspector.asset(planner, roomId, { points: [{}, {}, {}, {}, {}, {}] }));
    port = await freePort();
  });
  afterAll(async () => {
    for (const { child } of started)
      if (child.exitCode === null && child.signalCode === null) process.kill(-child.pid!, 'SIGKILL');
    await inspector?.close();
  });

  async function service(): Promise<Started> {
    const one = start(process.execPath, ['apps/launch/src/start.mjs'], REPOSITORY, {
      PORT: String(port),
      DATABASE_URL: inspector.database.urls.owner,
      DATABASE_ROLE_PREFIX: 'heatround_test',
      HEATROUND_SECRET: inspector.database.secret,
      PUBLIC_URL: 'http://127.0.0.1',
      HEATROUND_DATA: `/tmp/heatround-crash-${port}`,
      SWEEP_INTERVAL_SECONDS: '1',
    });
    started.push(one);
    await vi.waitFor(async () => {
      if (one.child.exitCode !== null) throw new Error(`ended early: ${one.said()}`);
      expect((await fetch(`http://127.0.0.1:${port}/readyz`)).status).toBe(200);
    }, WAIT);
    return one;
  }
  const submit = (facts: unknown[]) =>
    fetch(`http://127.0.0.1:${port}/api/submissions`, {
      method: 'POST',
      headers: {
        'content-type': 'application/json',
        cookie: planner.cookie,
        [ORGANISATION_HEADER]: planner.scope.organisationId,
      },
      body: JSON.stringify({ facts }),
    });
  const kill = async (one: Started) => {
    process.kill(-one.child.pid!, 'SIGKILL');
    await one.ended;
  };

  it('loses nothing that was acknowledged, doubles nothing when it is sent again, and concludes what was left', {
    timeout: 120_000,
  }, async () => {
    const first = await service();
    const sent: ReturnType<typeof readingFact>[] = [];
    const acknowledged = new Set<string>();
    let hour = Date.parse('2026-01-01T00:00:00Z');
    const nextHour = () => {
      hour += 3_600_000;
      return new Date(hour).toISOString();
    };
    let pouring = true;
    const pour = async () => {
      while (pouring) {
        const facts = Array.from({ length: 12 }, (_, i) =>
          readingFact(pointIds[i % pointIds.length]!, String(60 + (i % 9)), {
            takenAt: nextHour(),
          }),
        );
        sent.push(...facts);
        try {
          const reply = await submit(facts);
          if (reply.status !== 200) continue;
          const { results } = (await reply.json()) as { results: { id: string; outcome: string }[] };
          for (const { id, outcome } of results) if (outcome === 'created') acknowledged.add(id);
        } catch {
          pouring = false;
        }
      }
    };
    const streams = [pour(), pour(), pour()];
    await vi.waitFor(() => expect(acknowledged.size).toBeGreaterThan(120), WAIT);
    await kill(first);
    await Promise.all(streams);
    expect(sent.length).toBeGreaterThan(acknowledged.size);

    const second = await service();
    const stored = async () =>
      inspector.db.inTenant(planner.scope, ({ db }) => db.$queryRaw<{ id: string }[]>(sql`SELECT id FROM fact ORDER BY id`));
    const after = (await stored()).map(({ id }) => id);
    expect([...acknowledged].filter((id) => !after.includes(id))).toEqual([]);

    for (let from = 0; from < sent.length; from += 300) {
      const reply = await submit(sent.slice(from, from + 300));
      const { results } = (await reply.json()) as { results: { outcome: string }[] };
      expect(results.every(({ outcome }) => outcome === 'created' || outcome === 'duplicate')).toBe(true);
    }
    expect((await stored()).map(({ id }) => id)).toEqual(sent.map(({ id }) => id).sort());

    // Killed again while the worker is at it; the third start finds in the database what is due.
    await kill(second);
    await service();
    await vi.waitFor(async () => {
      const [state] = await inspector.db.inTenant(planner.scope, ({ db }) =>
        db.$queryRaw<{ due: number; concluded: number }[]>(sql`
          SELECT (SELECT count(*)::int FROM point_revision WHERE revision > concluded) AS due, (SELECT count(*)::int FROM conclusion) AS concluded`),
      );
      expect(state).toEqual({ due: 0, concluded: pointIds.length });
    }, WAIT);
    const doubled = await inspector.db.inTenant(planner.scope, ({ db }) =>
      db.$queryRaw(
        sql`SELECT point_id, limit_grade, cut_at, count(*) FROM forecast GROUP BY 1, 2, 3, revision HAVING count(*) > 1`,
      ),
    );
    expect(doubled).toEqual([]);
    // What the killed workers left is what a fresh one concludes.
    const contents = () =>
      inspector.db.inTenant(planner.scope, ({ db }) =>
        db.$queryRaw(sql`SELECT point_id, content FROM conclusion ORDER BY point_id`),
      );
    const left = await contents();
    await inspector.db.inTenant(planner.scope, ({ db }) => db.$executeRaw(sql`DELETE FROM conclusion`));
    await vi.waitFor(async () => expect(await contents()).toEqual(left), WAIT);
  });
});
