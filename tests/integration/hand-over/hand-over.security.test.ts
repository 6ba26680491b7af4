import { type EndpointDescription, endpoints } from '@heatround/contract';
import { openAccounts } from '@heatround/platform/accounts';
import { silentLog } from '@heatround/platform/log';
import { endMembership, endSessionsOf } from '@heatround/services/identity';
import pg from 'pg';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildApp } from '../../../apps/api/src/app.ts';
import { factId, type Harness, type Person, readingFact, startService } from '../../support/harness.ts';
import { accept, handOver, outcomes, tokenOf, turnAway, waitingFor } from './handing-over.ts';

const DAYS = 86_400_000;

describe('D51: the token of a device', () => {
  let service: Harness;
  let organisationId: string;
  let planner: Person;
  let administrator: Person;
  let mara: Person;
  let stranger: Person;
  let pointId: string;
  beforeAll(async () => {
    service = await startService();
    const { id, roomId } = await service.organisation();
    organisationId = id;
    planner = await service.person(id, ['planner']);
    administrator = await service.person(id, ['administrator']);
    mara = await service.person(id, ['technician']);
    stranger = await service.person((await service.organisation('Elsewhere')).id, ['planner']);
    pointId = (await service.asset(planner, roomId)).pointIds[0]!;
  });
  afterAll(() => service?.close());

  it('is good for 14 days after the last contact and not a second longer, and a contact renews it', async () => {
    const old = await tokenOf(mara);
    service.clock.advance(14 * DAYS - 1000);
    expect(outcomes(await handOver(service, old, [readingFact(pointId, '50')]))).toEqual(['held']);
    const renewed = await tokenOf(mara);
    service.clock.advance(2000);
    const late = await handOver(service, old, [readingFact(pointId, '50')]);
    expect(late).toMatchObject({
      status: 401,
      body: { type: '/problems/not-signed-in', detail: expect.stringContaining('14 days') },
    });
    expect(outcomes(await handOver(service, renewed, [readingFact(pointId, '50')]))).toEqual(['held']);
  });

  it('changed, signed by another, or made for another purpose it opens nothing', async () => {
    const token = await tokenOf(mara);
    const [head, body, signature] = token.split('.') as [string, string, string];
    const claims = JSON.parse(Buffer.from(body, 'base64url').toString());
    const encode = (value: object) => Buffer.from(JSON.stringify(value)).toString('base64url');
    const foreign = openAccounts({
      sweepUrl: service.database.urls.sweep,
      secret: 'another secret, also of enough length',
      publicUrl: 'http://127.0.0.1',
      log: silentLog,
    });
    const theirs = await foreign.handOver.make({
      organisationId,
      personId: mara.personId,
      sessionKey: 'x',
      roles: ['technician'],
      contactAt: service.clock.now(),
    });
    await foreign.close();
    const bad = [
      `${head}.${encode({ ...claims, org: stranger.scope.organisationId })}.${signature}`,
      `${head}.${encode({ ...claims, exp: claims.exp + 60 })}.${signature}`,
      `${encode({ alg: 'none' })}.${body}.`,
      `${head}.${body}.${signature.slice(0, -2)}AA`,
      theirs.token,
      mara.cookie,
      'nonsense',
    ];
    for (const one of bad) {
      const reply = await handOver(service, one, [readingFact(pointId, '50')]);
      expect(reply, one).toMatchObject({ status: 401, body: { type: '/problems/not-signed-in' } });
    }
    expect(outcomes(await handOver(service, token, [readingFact(pointId, '50')]))).toEqual(['held']);
  });

  it('opens no other endpoint', async () => {
    const token = await tokenOf(mara);
    for (const { method, path, access, name } of Object.values(endpoints) as EndpointDescription[]) {
      if (access === 'public') continue;
      for (const headers of [{ authorization: `Bearer ${token}` }, { cookie: `heatround.session_token=${token}` }]) {
        const reply = await service.app.inject({
          method,
          url: path.replace(/:(\w+)/g, factId()),
          headers: { ...headers, 'heatround-organisation': organisationId },
          ...(method === 'GET' ? {} : { payload: { token } }),
        });
        expect(reply.statusCode, name).toBe(401);
      }
    }
  });

  it('tells nothing of the organisation: a point that exists and one that does not get the same answer', async () => {
    const token = await tokenOf(mara);
    const answer = async (id: string) => {
      const { body } = await handOver(service, token, [readingFact(id, '50')]);
      return { ...body, results: body.results.map((one: object) => ({ ...one, id: '' })) };
    };
    expect(await answer(factId())).toEqual(await answer(pointId));
    expect(Object.keys((await handOver(service, token, [readingFact(pointId, '50')])).body).sort()).toEqual([
      'receivedAt',
      'results',
    ]);
  });

  it('of several entries the unreadable ones come back with their reason, the others are held', async () => {
    const token = await tokenOf(mara);
    const good = readingFact(pointId, '50');
    const reply = await handOver(service, token, [
      { kind: 'reading-taken' },
      good,
      { ...readingFact(pointId, '50'), words: 'a\u0000b' },
      { ...readingFact(pointId, '50'), takenAt: '0000-01-01T00:00:00Z' },
      7,
    ]);
    expect(outcomes(reply)).toEqual(['refused', 'held', 'refused', 'refused', 'refused']);
    expect(reply.body.results[1]).toEqual({ id: good.id, outcome: 'held', problem: null });
    expect(reply.body.results[0].problem.errors.length).toBeGreaterThan(0);
  });

  it('too much at once, too often or too much waiting is refused, and nothing is lost by it', async () => {
    const token = await tokenOf(mara);
    const many = Array.from({ length: 501 }, () => readingFact(pointId, '50'));
    expect((await handOver(service, token, many)).status).toBe(422);
    const words = 'x'.repeat(4000);
    expect(
      (
        await handOver(
          service,
          token,
          Array.from({ length: 490 }, () => readingFact(pointId, '50', { words: words + words })),
        )
      ).status,
    ).toBe(413);

    const ready = { queue: async () => undefined, migrations: async () => undefined };
    const slow = await buildApp({ deps: service.deps, ready, handOversPerMinute: 2 });
    const send = () =>
      slow.inject({ method: 'POST', url: '/api/handed-over', payload: { token, facts: [readingFact(pointId, '50')] } });
    expect([(await send()).statusCode, (await send()).statusCode, (await send()).statusCode]).toEqual([200, 200, 429]);
    await slow.close();

    const client = new pg.Client({ connectionString: service.database.urls.owner });
    await client.connect();
    // The owner of the tables is held by the policies as well; only a superuser fills them.
    await client.query('ALTER TABLE handed_over DISABLE ROW LEVEL SECURITY');
    await client.query(
      `INSERT INTO handed_over (organisation_id, id, person_id, fact_id, content, content_hash, taken_at, received_at, roles, contact_at)
       SELECT $1, gen_random_uuid(), $2, gen_random_uuid(), '{"kind":"stop-answered"}', sha256(n::text::bytea), now(), now(), '{technician}', now()
       FROM generate_series(1, 5000) n`,
      [organisationId, mara.personId],
    );
    await client.query('ALTER TABLE handed_over ENABLE ROW LEVEL SECURITY');
    expect(await handOver(service, token, [readingFact(pointId, '50')])).toMatchObject({
      status: 429,
      body: { type: '/problems/too-many-requests' },
    });
    // Another person is not concerned.
    const tomasz = await service.person(organisationId, ['technician']);
    expect(outcomes(await handOver(service, await tokenOf(tomasz), [readingFact(pointId, '50')]))).toEqual(['held']);
    expect((await planner.call('countHandedOver')).body).toEqual({ waiting: 999 });
    await client.query('ALTER TABLE handed_over DISABLE ROW LEVEL SECURITY');
    await client.query(`DELETE FROM handed_over WHERE content = '{"kind":"stop-answered"}'`);
    await client.query('ALTER TABLE handed_over ENABLE ROW LEVEL SECURITY');
    await client.end();
  });

  it('another organisation sees nothing of the list and decides nothing on it', async () => {
    const fact = readingFact(pointId, '50.7');
    await handOver(service, await tokenOf(mara), [fact]);
    const entry = (await waitingFor(planner)).find((one: { fact: { id: string } }) => one.fact.id === fact.id);
    expect(await waitingFor(stranger)).toEqual([]);
    expect((await stranger.call('countHandedOver')).body).toEqual({ waiting: 0 });
    for (const decide of [accept, turnAway])
      expect((await decide(stranger, [entry.id])).body.results).toMatchObject([{ outcome: 'not-found' }]);
    expect((await stranger.call('listHandedOver', { organisationId })).status).toBe(404);
    expect((await waitingFor(planner)).some(({ id }: { id: string }) => id === entry.id)).toBe(true);
  });

  it('a planner narrowed to a site sees and decides only what is about it', async () => {
    const { body: annex } = await planner.call('createSite', { body: { name: 'Annex', zone: 'Europe/Dublin' } });
    const narrowed = await service.person(organisationId, ['planner'], { siteIds: [annex.id] });
    const fact = readingFact(pointId, '50.8');
    await handOver(service, await tokenOf(mara), [fact]);
    const entry = (await waitingFor(planner)).find((one: { fact: { id: string } }) => one.fact.id === fact.id);
    expect(await waitingFor(narrowed)).toEqual([]);
    expect((await narrowed.call('countHandedOver')).body).toEqual({ waiting: 0 });
    expect((await accept(narrowed, [entry.id])).body.results).toMatchObject([{ outcome: 'not-found' }]);
    const home = await service.person(organisationId, ['planner'], {
      siteIds: [entry && (await planner.call('listSites')).body.sites.find((one: { name: string }) => one.name === 'Mill').id],
    });
    expect((await accept(home, [entry.id])).body.results).toMatchObject([{ outcome: 'accepted' }]);
  });

  it('its content cannot be changed or deleted by the service', async () => {
    const client = new pg.Client({ connectionString: service.database.urls.app });
    await client.connect();
    await client.query("SELECT set_config('app.organisation_id', $1, false)", [organisationId]);
    for (const statement of [
      "UPDATE handed_over SET content = '{}'",
      'UPDATE handed_over SET person_id = gen_random_uuid()',
      'DELETE FROM handed_over',
    ])
      await expect(client.query(statement), statement).rejects.toMatchObject({ code: '42501' });
    await client.end();
  });

  it('comes with every signed-in contact, for those who hand in facts, and never in a cookie', async () => {
    const reader = await service.person(organisationId, ['guest-reader']);
    expect((await reader.call('whoAmI')).body.handOver).toEqual([]);
    const signedIn = await service.call('signIn', { body: { email: mara.email, password: 'a password for tests' } });
    expect(signedIn.body.handOver).toHaveLength(1);
    expect(JSON.stringify(signedIn.headers['set-cookie'])).not.toContain(signedIn.body.handOver[0].token);
    expect(signedIn.body).not.toHaveProperty('sessionKey');
  });

  it('a session that somebody ended is told from one that ran out, was left or never was', async () => {
    const tomasz = await service.person(organisationId, ['technician']);
    expect((await service.call('whoAmI')).body.type).toBe('/problems/not-signed-in');
    await tomasz.call('signOut');
    expect((await tomasz.call('whoAmI')).body.type).toBe('/problems/not-signed-in');
    const again = await service.person(organisationId, ['technician']);
    await endSessionsOf(service.deps, administrator.scope, again.personId);
    expect((await again.call('whoAmI')).body.type).toBe('/problems/access-ended');
    // A new sign-in opens again, unless the membership ended as well.
    const fresh = await service.call('signIn', { body: { email: again.email, password: 'a password for tests' } });
    expect(fresh.body.memberships).toHaveLength(1);
    await endMembership(service.deps, administrator.scope, again.personId);
    const last = await service.call('signIn', { body: { email: again.email, password: 'a password for tests' } });
    expect(last.body).toMatchObject({ memberships: [], handOver: [] });
  });
});
