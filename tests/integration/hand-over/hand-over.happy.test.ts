import { endMembership, endSessionsOf, setMembership } from '@heatround/services/identity';
import pg from 'pg';
import { afterAll, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { factId, type Harness, type Person, readingFact, startService, TEST_NOW } from '../../support/harness.ts';
import { roundPage, route, taken, walkingHouse } from '../rounds/walking.ts';
import { accept, handOver, outcomes, tokenOf, turnAway, waitingFor } from './handing-over.ts';

const DAY = 86_400_000;

describe('D51: what a device still holds after access ended', () => {
  let service: Harness;
  let organisationId: string;
  let planner: Person;
  let second: Person;
  let administrator: Person;
  let pointId: string;
  beforeAll(async () => {
    service = await startService();
  });
  afterAll(() => service?.close());
  beforeEach(async () => {
    const { id, roomId } = await service.organisation();
    organisationId = id;
    planner = await service.person(id, ['planner'], { name: 'Jonas' });
    second = await service.person(id, ['planner']);
    administrator = await service.person(id, ['administrator']);
    pointId = (await service.asset(planner, roomId, { tag: 'B-IRO-01' })).pointIds[0]!;
  });
  const technician = (name = 'Mara') => service.person(organisationId, ['technician'], { name });
  const readings = async () =>
    (await planner.call('listReadings', { params: { pointId }, query: { all: 'true' } })).body.readings as Record<
      string,
      unknown
    >[];

  it('D51: after all sessions were ended nothing opens, and what was taken before goes up and is recorded as its person’s', async () => {
    const mara = await technician();
    const token = await tokenOf(mara);
    const fact = readingFact(pointId, '86');
    service.clock.advance(60_000);
    expect(await endSessionsOf(service.deps, administrator.scope, mara.personId)).toBe(1);
    for (const [name, options] of [
      ['whoAmI', {}],
      ['listAssets', {}],
      ['myWalk', {}],
      ['submitFacts', { body: { facts: [fact] } }],
    ] as const)
      expect(await mara.call(name, options), name).toMatchObject({ status: 401, body: { type: '/problems/access-ended' } });

    expect(outcomes(await handOver(service, token, [fact]))).toEqual(['held']);
    expect(await readings()).toEqual([]);
    expect((await planner.call('countHandedOver')).body).toEqual({ waiting: 1 });
    const [entry] = await waitingFor(planner);
    expect(entry).toMatchObject({
      person: { id: mara.personId, name: 'Mara' },
      takenAt: '2026-04-23T07:00:00.000Z',
      receivedAt: '2026-04-23T07:01:00.000Z',
      accessEndedAt: '2026-04-23T07:01:00.000Z',
      isAfterEnd: false,
      asset: { tag: 'B-IRO-01' },
      point: { letter: 'a', name: 'Bearing 1' },
      state: 'waiting',
      fact: { inputs: { value: { text: '86', unit: '°C' } } },
    });

    service.clock.advance(DAY);
    expect((await accept(planner, [entry.id])).body.results).toEqual([{ id: entry.id, outcome: 'accepted', told: null }]);
    const [row] = await readings();
    expect(row).toMatchObject({ id: fact.id, by: 'Mara', grade: 'plan', counts: true, receivedAt: '2026-04-23T07:01:00.000Z' });
    // A value that reaches Plan makes its finding, reported by whoever took it.
    const { findings } = (await planner.call('listFindings', { query: { which: 'all' } })).body;
    expect(findings).toMatchObject([{ pointId, grade: 'plan', reportedBy: 'Mara' }]);
    expect((await planner.call('countHandedOver')).body).toEqual({ waiting: 0 });
    const decided = await planner.call('listHandedOver', { query: { which: 'decided' } });
    expect(decided.body.entries).toMatchObject([{ id: entry.id, state: 'accepted', decidedBy: 'Jonas' }]);
  });

  it('D51: after the membership ended every endpoint looks as if nothing were there, and the token still hands over', async () => {
    const mara = await technician();
    const token = await tokenOf(mara);
    const { endedAt } = await endMembership(service.deps, administrator.scope, mara.personId);
    expect((await mara.call('listAssets')).status).toBe(404);
    expect((await mara.call('submitFacts', { body: { facts: [readingFact(pointId, '50')] } })).status).toBe(404);
    const me = await mara.call('whoAmI');
    expect(me.body).toMatchObject({ memberships: [], handOver: [] });
    const [before, after] = [-1, 1].map((s) =>
      readingFact(pointId, '55', { takenAt: new Date(endedAt.getTime() + s * 1000).toISOString() }),
    );
    service.clock.advance(DAY);
    expect(outcomes(await handOver(service, token, [before, after]))).toEqual(['held', 'held']);
    const entries = await waitingFor(planner);
    expect(entries.find((one: { fact: { id: string } }) => one.fact.id === before!.id).isAfterEnd).toBe(false);
    expect(entries.find((one: { fact: { id: string } }) => one.fact.id === after!.id).isAfterEnd).toBe(true);
  });

  it('D51: a role taken away leaves the token of the last contact with it, and no new one comes', async () => {
    const mara = await technician();
    const token = await tokenOf(mara);
    service.clock.advance(1000);
    await setMembership(service.deps, { organisationId, personId: mara.personId, name: 'Mara', roles: ['guest-reader'] });
    expect((await mara.submit([readingFact(pointId, '50')])).status).toBe(403);
    expect((await mara.call('whoAmI')).body.handOver).toEqual([]);
    expect(outcomes(await handOver(service, token, [readingFact(pointId, '50')]))).toEqual(['held']);
    const [entry] = await waitingFor(planner);
    expect(entry.accessEndedAt).toBe(new Date(service.clock.now()).toISOString());
    expect((await accept(planner, [entry.id])).body.results[0].outcome).toBe('accepted');
    expect(await readings()).toMatchObject([{ by: 'Mara', value: 50 }]);
  });

  it('sent twice, and twice at once, it waits once', async () => {
    const token = await tokenOf(await technician());
    const fact = readingFact(pointId, '51');
    const replies = await Promise.all([1, 2, 3, 4].map(() => handOver(service, token, [fact, fact])));
    const all = replies.flatMap(outcomes).sort();
    expect(all).toEqual(['duplicate', 'duplicate', 'duplicate', 'duplicate', 'duplicate', 'duplicate', 'duplicate', 'held']);
    expect(await waitingFor(planner)).toHaveLength(1);
  });

  it('what is recorded already is a duplicate only with the same content; another content under the id waits and joins as a conflict', async () => {
    const mara = await technician();
    const token = await tokenOf(mara);
    const fact = readingFact(pointId, '51');
    await mara.submit([fact]);
    const other = { ...readingFact(pointId, '52'), id: fact.id };
    expect(outcomes(await handOver(service, token, [fact, other]))).toEqual(['duplicate', 'held']);
    const [entry] = await waitingFor(planner);
    const reply = await accept(planner, [entry.id]);
    expect(reply.body.results[0]).toMatchObject({ outcome: 'accepted', told: expect.stringContaining('Both are kept') });
    expect((await planner.call('listOtherContents', { params: { pointId } })).body.contents).toHaveLength(1);
    expect(outcomes(await handOver(service, token, [fact, other]))).toEqual(['duplicate', 'duplicate']);
  });

  it('two planners who accept at the same moment record it once', async () => {
    const token = await tokenOf(await technician());
    await handOver(service, token, [readingFact(pointId, '85'), readingFact(pointId, '86'), readingFact(pointId, '87')]);
    const ids = (await waitingFor(planner)).map(({ id }: { id: string }) => id);
    const replies = await Promise.all(
      [planner, second, planner, second].map((one, i) => accept(one, i % 2 ? [...ids].reverse() : ids)),
    );
    for (const reply of replies)
      expect(reply.body.results.map((one: { outcome: string }) => one.outcome)).toEqual(['accepted', 'accepted', 'accepted']);
    expect(await readings()).toHaveLength(3);
    expect((await planner.call('listFindings', { query: { which: 'all' } })).body.findings).toHaveLength(1);
  });

  it('accepting and turning away at the same moment end in one of the two, and the record agrees', async () => {
    const token = await tokenOf(await technician());
    const client = new pg.Client({ connectionString: service.database.urls.app });
    await client.connect();
    try {
      for (const isAcceptFirst of [true, false, true, false]) {
        const fact = readingFact(pointId, '45');
        await handOver(service, token, [fact]);
        const [{ id }] = await waitingFor(planner);
        // Somebody holds the row until both have read it.
        await client.query('BEGIN');
        await client.query("SELECT set_config('app.organisation_id', $1, true)", [organisationId]);
        await client.query('SELECT 1 FROM handed_over WHERE id = $1 FOR UPDATE', [id]);
        const decisions = isAcceptFirst
          ? [accept(planner, [id]), turnAway(second, [id])]
          : [turnAway(second, [id]), accept(planner, [id])];
        await waitingOnRow(client, 2);
        await client.query('COMMIT');
        const told = (await Promise.all(decisions)).map((reply) => reply.body.results[0].outcome);
        expect(new Set(told).size, told.join()).toBe(1);
        const { entries } = (await planner.call('listHandedOver', { query: { which: 'decided' } })).body;
        const isRecorded = (await readings()).some((one) => one.id === fact.id);
        expect(told[0]).toBe(isRecorded ? 'accepted' : 'turned-away');
        expect(entries.find((one: { id: string }) => one.id === id).state).toBe(told[0]);
      }
    } finally {
      await client.end();
    }
  });

  /** Until so many transactions of this database wait for another one. */
  const waitingOnRow = (client: pg.Client, count: number) =>
    vi.waitFor(
      async () => {
        const { rows } = await client.query(
          'SELECT 1 FROM pg_stat_activity WHERE datname = current_database() AND cardinality(pg_blocking_pids(pid)) > 0',
        );
        expect(rows.length).toBeGreaterThanOrEqual(count);
      },
      { timeout: 10_000, interval: 20 },
    );

  it('turned away it is kept with the reason, records nothing, and can be accepted after all', async () => {
    const token = await tokenOf(await technician());
    const fact = readingFact(pointId, '51');
    await handOver(service, token, [fact]);
    const [{ id }] = await waitingFor(planner);
    expect((await turnAway(planner, [id])).body.results).toEqual([
      { id, outcome: 'turned-away', told: 'taken at the wrong machine' },
    ]);
    expect((await turnAway(second, [id], 'another word')).body.results[0].told).toBe('taken at the wrong machine');
    expect(await readings()).toEqual([]);
    expect(await waitingFor(planner)).toEqual([]);
    const decided = await planner.call('listHandedOver', { query: { which: 'decided' } });
    expect(decided.body.entries).toMatchObject([
      { id, state: 'turned-away', reason: 'taken at the wrong machine', decidedBy: 'Jonas' },
    ]);
    expect(outcomes(await handOver(service, token, [fact]))).toEqual(['duplicate']);
    expect((await accept(second, [id])).body.results[0].outcome).toBe('turned-away');
    expect(await readings()).toEqual([]);
    expect((await accept(second, [id], { evenTurnedAway: true })).body.results[0].outcome).toBe('accepted');
    expect(await readings()).toHaveLength(1);
    expect((await turnAway(planner, [id])).body.results[0].outcome).toBe('accepted');
  });

  it('one that cannot be recorded waits on with its reason, and takes no other down', async () => {
    const token = await tokenOf(await technician());
    const good = readingFact(pointId, '51');
    const nowhere = readingFact(factId(), '52');
    const unread = readingFact(pointId, 'warm');
    expect(outcomes(await handOver(service, token, [nowhere, good, unread]))).toEqual(['held', 'held', 'held']);
    const waiting = await waitingFor(planner);
    expect(waiting.find((one: { fact: { id: string } }) => one.fact.id === nowhere.id)).toMatchObject({
      asset: null,
      point: null,
    });
    const { results } = (
      await accept(
        planner,
        waiting.map(({ id }: { id: string }) => id),
      )
    ).body;
    expect(results.map((one: { outcome: string }) => one.outcome).sort()).toEqual(['accepted', 'refused', 'refused']);
    expect(await readings()).toHaveLength(1);
    const still = await waitingFor(planner);
    expect(still.map((one: { refused: string }) => one.refused).sort()).toEqual([
      expect.stringContaining('A temperature'),
      expect.stringContaining('no such point'),
    ]);
    expect(still.some((one: { refused: string }) => one.refused.includes('your device'))).toBe(false);
  });

  it('a walk handed over is a round that was walked', async () => {
    const house = await walkingHouse(service, 2);
    const { rounds } = await route(service, house);
    const round = rounds[0]!;
    const token = await tokenOf(house.mara);
    const facts = [
      {
        kind: 'round-handed-in',
        id: factId(),
        takenAt: TEST_NOW,
        clock: { deviceAt: TEST_NOW, monotonicMs: 3, offsetMs: 0 },
        roundId: round.id,
      },
      ...house.pointIds.map((id) => readingFact(id, '55', { roundId: round.id, takenAt: '2026-04-23T06:50:00Z' })),
      taken(round.id, house.pointIds, '2026-04-23T06:40:00Z'),
    ];
    expect(new Set(outcomes(await handOver(service, token, facts)))).toEqual(new Set(['held']));
    const ids = (await waitingFor(house.planner)).map(({ id }: { id: string }) => id);
    const replies = await accept(house.planner, ids);
    expect(new Set(replies.body.results.map((one: { outcome: string }) => one.outcome))).toEqual(new Set(['accepted']));
    expect(await roundPage(house.planner, round.id)).toMatchObject({ state: 'handed-in' });
    expect((await readings()).length).toBe(0);
  });

  it('somebody in several organisations gets one token each, and each brings into its own', async () => {
    const mara = await technician();
    const other = await service.organisation('Lowbarrow Baths');
    const there = await service.join(mara, other.id, ['contractor']);
    const elsewhere = await service.person(other.id, ['planner']);
    expect((await mara.call('whoAmI')).body.handOver).toHaveLength(2);
    const [here, away] = [await tokenOf(mara), await tokenOf(there)];
    const fact = readingFact(pointId, '51');
    expect(outcomes(await handOver(service, here, [fact]))).toEqual(['held']);
    expect(outcomes(await handOver(service, away, [fact]))).toEqual(['held']);
    expect((await waitingFor(planner))[0].asset).not.toBeNull();
    expect(await waitingFor(elsewhere)).toMatchObject([{ asset: null, point: null }]);
  });

  it('pages go on by key, oldest first; what came together in the order it was taken', async () => {
    const token = await tokenOf(await technician());
    const sent: string[] = [];
    for (let i = 0; i < 3; i++) {
      const facts = [readingFact(pointId, '51', { takenAt: '2026-04-22T07:00:00Z' }), readingFact(pointId, '52')];
      sent.push(...facts.map(({ id }) => id));
      await handOver(service, token, [...facts].reverse());
      service.clock.advance(1000);
    }
    const seen: string[] = [];
    let after: string | null = null;
    do {
      const page = await planner.call('listHandedOver', { query: { pageSize: '2', ...(after ? { after } : {}) } });
      seen.push(...page.body.entries.map((one: { fact: { id: string } }) => one.fact.id));
      after = page.body.next;
    } while (after !== null);
    expect(seen).toEqual(sent);
    expect((await planner.call('listHandedOver', { query: { after: 'nonsense' } })).status).toBe(422);
  });

  it('memberships end once, and the last administrator stays, also when two end each other at once', async () => {
    const mara = await technician();
    const first = await endMembership(service.deps, administrator.scope, mara.personId);
    service.clock.advance(1000);
    expect(await endMembership(service.deps, administrator.scope, mara.personId)).toEqual(first);
    await expect(endMembership(service.deps, planner.scope, mara.personId)).rejects.toMatchObject({ code: 'not-allowed' });
    await expect(endMembership(service.deps, administrator.scope, factId())).rejects.toMatchObject({ code: 'not-found' });
    await expect(endSessionsOf(service.deps, administrator.scope, factId())).rejects.toMatchObject({ code: 'not-found' });
    await expect(endMembership(service.deps, administrator.scope, administrator.personId)).rejects.toMatchObject({
      code: 'move-not-allowed',
    });
    const twin = await service.person(organisationId, ['administrator']);
    const ends = await Promise.allSettled([
      endMembership(service.deps, administrator.scope, twin.personId),
      endMembership(service.deps, twin.scope, administrator.personId),
    ]);
    expect(ends.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
  });
});
