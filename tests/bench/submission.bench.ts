import { randomUUID } from 'node:crypto';
import { tmpdir } from 'node:os';
import { ORGANISATION_HEADER } from '@heatround/contract';
import { openAccounts } from '@heatround/platform/accounts';
import { systemClock } from '@heatround/platform/clock';
import { openDatabase } from '@heatround/platform/database';
import { silentLog } from '@heatround/platform/log';
import { openMailer } from '@heatround/platform/mail';
import { createAsset, createBuilding, createRoom, createSite } from '@heatround/services/assets';
import { createOrganisation, openScope, setMembership } from '@heatround/services/identity';
import { concludePoints } from '@heatround/services/trends';
import postgres from 'postgres';
import { buildApp } from '../../apps/api/src/app.ts';
import type { DatabaseUrls } from '../../packages/platform/src/database/migrate.ts';
import { readingFact, testLimits } from '../support/harness.ts';
import type { Line } from './main.ts';
import { medianMs, mediansMs, ms } from './timing.ts';

const POINTS = 40;

/** Handing in through the whole API (session, rights, checks, verdicts, history) against bare multi-row inserts of the same rows. */
export async function submissionBench(urls: DatabaseUrls, secret: string): Promise<Line[]> {
  const database = openDatabase({ appUrl: urls.app, sweepUrl: urls.sweep, log: silentLog });
  const accounts = openAccounts({ sweepUrl: urls.sweep, secret, publicUrl: 'http://127.0.0.1', log: silentLog });
  const mailer = openMailer({ from: 'rounds@example.org', folder: tmpdir() });
  const deps = { database, accounts, mailer, publicUrl: 'http://127.0.0.1', clock: systemClock, log: silentLog };
  const app = await buildApp({ deps, ready: { queue: async () => {}, migrations: async () => {} }, requestsPerMinute: 1e9 });
  const raw = postgres(urls.owner, { max: 4, onnotice: () => {} });
  try {
    const organisationId = randomUUID();
    await createOrganisation(deps, { id: organisationId, name: 'Bench' });
    const { personId } = await accounts.create({ email: 'bench@example.org', name: 'Bench', password: 'a password for benches' });
    await setMembership(deps, { organisationId, personId, name: 'Bench', roles: ['planner'] });
    const scope = await openScope(deps, personId, organisationId);
    const [siteId, buildingId, roomId, assetId] = [randomUUID(), randomUUID(), randomUUID(), randomUUID()];
    await createSite(deps, scope, { id: siteId, name: 'Site', zone: 'Europe/Dublin' });
    await createBuilding(deps, scope, { id: buildingId, siteId, name: 'Building' });
    await createRoom(deps, scope, { id: roomId, buildingId, name: 'Room' });
    const pointIds = Array.from({ length: POINTS }, () => randomUUID());
    await createAsset(deps, scope, {
      id: assetId,
      roomId,
      tag: 'BENCH',
      name: 'Bench',
      template: null,
      criticality: 'B',
      criticalityReason: 'bench',
      lifeSafety: false,
      points: pointIds.map((id, i) => ({
        point: { id, letter: `p${i}`, name: `Point ${i}`, quantity: 'temperature' },
        spot: '',
        limits: [testLimits()],
      })),
    });
    const signedIn = await app.inject({
      method: 'POST',
      url: '/api/sign-in',
      payload: { email: 'bench@example.org', password: 'a password for benches' },
    });
    const cookie = [signedIn.headers['set-cookie']]
      .flat()
      .map((one) => String(one).split(';')[0])
      .join('; ');
    let clock = Date.parse('2025-01-01T00:00:00Z');
    /** Of a real batch, a round or a few, some values in a hundred reach Plan: four of 200, at two points. */
    const usual = (i: number) => (i % 40 === 7 && i % 80 === 7 ? 82 : 55 + (i % 14));
    /** The worst one: every point has a finding open that each reading may concern. */
    const troubled = (i: number) => 60 + (i % 30);
    const batch = (size: number, value: (i: number) => number) =>
      Array.from({ length: size }, (_, i) => {
        clock += 60_000;
        return readingFact(pointIds[i % POINTS]!, value(i).toFixed(1), { takenAt: new Date(clock).toISOString() });
      });
    const submit = async (size: number, value = usual) => {
      const reply = await app.inject({
        method: 'POST',
        url: '/api/submissions',
        headers: { cookie, [ORGANISATION_HEADER]: organisationId },
        payload: { facts: batch(size, value) },
      });
      if (reply.statusCode !== 200 || !reply.body.includes('created')) throw new Error(reply.body);
    };
    await raw`CREATE TABLE raw_fact (LIKE fact INCLUDING ALL)`;
    const rawRows = (size: number) =>
      batch(size, usual).map((fact) => ({
        organisation_id: organisationId,
        id: fact.id,
        kind: fact.kind,
        asset_id: assetId,
        point_id: (fact as { pointId: string }).pointId,
        taken_at: fact.takenAt,
        received_at: fact.takenAt,
        submitted_by: personId,
        may_correct_any: true,
        content: raw.json(fact as never),
        content_hash: Buffer.alloc(32, 1),
        reading: raw.json({ id: fact.id, inputs: { value: 61 }, conditions: { load: 100, ambient: 20 } } as never),
        value: 61,
        grade: 'fine',
        comparability: 'like-for-like',
        verdict: raw.json({ grade: 'fine', comparability: 'like-for-like', because: { limit: 70, value: 61 } } as never),
        domain_version: '1',
      }));
    const insertRaw = async (size: number) => void (await raw`INSERT INTO raw_fact ${raw(rawRows(size))}`);

    const lines: Line[] = [];
    for (const [what, size, runs, value] of [
      ['single submission', 1, 200, usual],
      ['batch of 200 readings, all checks, four of them at Plan', 200, 80, usual],
      ['batch of 200 readings, a finding open at every point', 200, 40, troubled],
    ] as const) {
      const [twin, ours] = (await mediansMs(runs, [() => insertRaw(size), () => submit(size, value)])) as [number, number];
      lines.push({ what, ours: ms(ours), twin: ms(twin), ratio: (twin / ours).toFixed(2) });
    }

    // Concluding a point: whole job with its reads and writes, at growing histories of one point.
    const pointId = pointIds[0]!;
    const own: { readings: number; time: number }[] = [];
    let stored = Number((await raw`SELECT count(*)::int AS n FROM fact WHERE point_id = ${pointId}`)[0]!.n);
    for (const readings of [500, 5000]) {
      for (; stored < readings; stored++) {
        const missing = Math.min(500, readings - stored);
        const facts = Array.from({ length: missing }, () => {
          clock += 3_600_000;
          return readingFact(pointId, (60 + Math.random()).toFixed(2), { takenAt: new Date(clock).toISOString() });
        });
        const reply = await app.inject({
          method: 'POST',
          url: '/api/submissions',
          headers: { cookie, [ORGANISATION_HEADER]: organisationId },
          payload: { facts },
        });
        if (reply.statusCode !== 200) throw new Error(reply.body);
        stored += missing - 1;
      }
      const time = await medianMs(20, async () => {
        await raw`UPDATE point_revision SET concluded = -1 WHERE point_id = ${pointId}`;
        await concludePoints(deps, scope, [pointId]);
      });
      own.push({ readings, time });
    }
    const [short, long] = [own[0]!, own[1]!];
    lines.push({
      what: 'concluding a point through the database, 5,000 readings beside 500',
      ours: ms(long.time),
      twin: ms(short.time),
      ratio: (short.time / long.time).toFixed(2),
    });
    return lines;
  } finally {
    await raw.end();
    await app.close();
    await accounts.close();
    await database.close();
  }
}
