/** How a round settles from its facts: who has it, when it was handed in, what counts; late, doubled, from two phones. */
import { randomUUID } from 'node:crypto';
import { closeRoundsJob } from '@heatround/services/rounds';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, type Harness, startService, TEST_NOW } from '../../support/harness.ts';
import {
  given,
  handedIn,
  read,
  roundPage,
  roundsOf,
  route,
  sweepRounds,
  taken,
  unread,
  type Walk,
  walkingHouse,
} from './walking.ts';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;

describe('a round settles from its facts', () => {
  let service: Harness;
  let house: Walk;
  beforeAll(async () => {
    service = await startService();
    house = await walkingHouse(service);
  });
  afterAll(() => service?.close());
  const later = (ms: number) => new Date(Date.parse(TEST_NOW) + ms).toISOString();
  const ready = async (over: Record<string, unknown> = {}) => {
    const made = await route(service, house, over);
    return { routeId: made.id, round: made.rounds[0]!, next: made.rounds[1]! };
  };
  const stored = async (routeId: string) => (await roundsOf(service, house, routeId))[0]!;
  /** The clock goes on for one test and back again. */
  const inTime = async <T>(ms: number, work: () => Promise<T>): Promise<T> => {
    service.clock.advance(ms);
    try {
      return await work();
    } finally {
      service.clock.advance(-ms);
    }
  };

  it('a walk goes from ready over being walked to handed in and looked over, with its counts', async () => {
    const { routeId, round } = await ready();
    const [a, b, c] = house.pointIds as [string, string, string];
    await house.mara.submit([taken(round.id, house.pointIds), read(round.id, a)]);
    expect(await roundPage(house.tomasz, round.id)).toMatchObject({
      state: 'being-walked',
      takenBy: { name: 'Mara' },
      walker: { name: 'Mara' },
      stops: 3,
      answered: 1,
      read: 1,
    });
    const early = await house.planner.call('lookOverRound', { params: { roundId: round.id }, body: {} });
    expect(early).toMatchObject({
      status: 409,
      body: { type: '/problems/move-not-allowed', allowed: ['take', 'hand-in', 'call-off'] },
    });
    await house.mara.submit([read(round.id, b), unread(round.id, c, 'not-running'), handedIn(round.id)]);
    expect(await roundPage(house.tomasz, round.id)).toMatchObject({
      state: 'handed-in',
      progressInWords: '3 of 3 stops answered: 2 read, 1 not running.',
    });
    expect(await stored(routeId)).toMatchObject({ stopCount: 3, answeredCount: 3, readCount: 2 });
    const over = () => house.planner.call('lookOverRound', { params: { roundId: round.id }, body: {} });
    expect([(await over()).body.state, (await over()).body.state]).toEqual(['looked-over', 'looked-over']);
    expect((await roundPage(house.mara, round.id)).lookedOver.by).toBe('Jonas');
  });

  it('any order, split or repetition of the facts of a round settles to the same round', async () => {
    const { routeId, round } = await ready();
    const [a, b, c] = house.pointIds as [string, string, string];
    const first = read(round.id, b, later(-3 * HOUR));
    const fix = { ...read(round.id, b, later(-2 * HOUR)), corrects: first.id };
    const facts = [
      { by: 'mara', fact: taken(round.id, [a, b], later(-4 * HOUR)) },
      { by: 'mara', fact: unread(round.id, a, 'no-way-in', later(-3.5 * HOUR)) },
      { by: 'mara', fact: first },
      { by: 'mara', fact: fix },
      { by: 'mara', fact: given(round.id, house.tomasz.personId, later(-1.5 * HOUR)) },
      { by: 'tomasz', fact: taken(round.id, [a, b, c], later(-1.4 * HOUR)) },
      { by: 'tomasz', fact: read(round.id, a, later(-1.2 * HOUR)) },
      { by: 'tomasz', fact: unread(round.id, c, 'unsafe', later(-1.1 * HOUR)) },
      { by: 'tomasz', fact: handedIn(round.id, later(-1 * HOUR)) },
      { by: 'mara', fact: handedIn(round.id, later(-0.5 * HOUR)) },
    ] as const;
    const row = async () => {
      const { version: _, ...rest } = (await stored(routeId)) as unknown as Record<string, unknown>;
      return rest;
    };
    const wipe = () => wipeFacts(service, round.id);
    for (const { by, fact } of facts) expect((await house[by].submit([fact])).body.results[0].outcome).toBe('created');
    const straight = await row();
    expect(straight).toMatchObject({
      takenBy: house.mara.personId,
      walkerId: house.tomasz.personId,
      handedInBy: house.tomasz.personId,
      packed: [a, b],
      stopCount: 3,
      answeredCount: 3,
      readCount: 2,
    });
    await fc.assert(
      fc.asyncProperty(
        fc.shuffledSubarray([...facts, ...facts], { minLength: facts.length * 2, maxLength: facts.length * 2 }),
        fc.array(fc.integer({ min: 1, max: 5 }), { minLength: 1, maxLength: 6 }),
        async (order, cuts) => {
          await wipe();
          for (let from = 0, i = 0; from < order.length; i++) {
            const size = cuts[i % cuts.length]!;
            const part = order.slice(from, from + size);
            from += size;
            for (const by of ['mara', 'tomasz'] as const) {
              const own = part.filter((one) => one.by === by).map((one) => one.fact);
              if (own.length > 0) expect((await house[by].submit(own)).status).toBe(200);
            }
          }
          expect(await row()).toEqual(straight);
        },
      ),
      { numRuns: 8, endOnFailure: true },
    );
  }, 60_000);

  it('D33: a phone a year behind, set right in the middle, still hands its round in; one ahead does not make it missed', async () => {
    const { routeId, round } = await ready();
    const [a, b] = house.pointIds as [string, string];
    const wrong = { deviceAt: '2025-04-23T06:00:00.000Z', monotonicMs: 1000, offsetMs: null };
    const right = { deviceAt: '2025-04-23T06:30:00.000Z', monotonicMs: 1_801_000, offsetMs: 365 * DAY };
    const replies = await house.mara.submit([
      { ...taken(round.id, house.pointIds, '2025-04-23T06:00:00.000Z'), clock: wrong },
      { ...read(round.id, a, '2025-04-23T06:05:00.000Z'), clock: wrong },
      { ...read(round.id, b, '2026-04-23T06:30:00.000Z'), clock: right },
      { ...handedIn(round.id, '2026-04-23T06:40:00.000Z'), clock: right },
    ]);
    expect(replies.body.results.map((one: { outcome: string }) => one.outcome)).toEqual(Array(4).fill('created'));
    const page = await roundPage(house.planner, round.id);
    expect(page).toMatchObject({ state: 'handed-in', answered: 2, standing: { isEarly: true, isLate: false } });
    const second = await ready();
    const ahead = { deviceAt: '2027-04-23T07:00:00.000Z', monotonicMs: 1000, offsetMs: null };
    const reply = await house.mara.submit([
      { ...read(second.round.id, a, '2027-04-23T06:50:00.000Z'), clock: ahead },
      { ...handedIn(second.round.id, '2027-04-23T07:00:00.000Z'), clock: ahead },
    ]);
    expect(reply.body.results[1].notice).toContain('future');
    expect((await stored(second.routeId)).handedInAt!.toISOString()).toBe(new Date(TEST_NOW).toISOString());
    expect((await roundPage(house.planner, second.round.id)).state).toBe('handed-in');
    expect((await stored(routeId)).closedAt!.toISOString()).toBe('2026-04-23T06:40:00.000Z');
  });

  it('D34: a round begun before midnight and handed in after it keeps its readings, though its window ended meanwhile', async () => {
    const { round } = await ready({ window: { kind: 'days', daysBefore: 0, daysAfter: 0 } });
    const [a, b, c] = house.pointIds as [string, string, string];
    const before = '2026-04-23T22:50:00.000Z'; // 23:50 in Dublin
    const past = '2026-04-23T23:20:00.000Z';
    await inTime(17 * HOUR, async () => {
      await house.mara.submit([taken(round.id, house.pointIds, before), read(round.id, a, before)]);
      const grace = await roundPage(house.mara, round.id);
      expect(grace).toMatchObject({ state: 'being-walked', standing: { isInGrace: true } });
      await house.mara.submit([read(round.id, b, past), read(round.id, c, past), handedIn(round.id, past)]);
      expect(await roundPage(house.mara, round.id)).toMatchObject({
        state: 'handed-in',
        read: 3,
        standing: { isLate: true, isEarly: false },
      });
    });
  });

  it('a round whose time is over is closed as missed; what a phone without signal handed in in time restores it', async () => {
    const { routeId, round } = await ready();
    await inTime(14 * DAY, async () => {
      await sweepRounds(service);
      expect(await stored(routeId)).toMatchObject({ closedAt: round.endsAt, stopCount: 3, answeredCount: 0 });
      expect((await roundPage(house.mara, round.id)).state).toBe('missed');
      await house.mara.submit([
        taken(round.id, house.pointIds, TEST_NOW),
        read(round.id, house.pointIds[0]!),
        handedIn(round.id, later(HOUR)),
      ]);
      expect(await roundPage(house.mara, round.id)).toMatchObject({ state: 'handed-in', answered: 1, read: 1, stops: 3 });
      expect((await stored(routeId)).closedAt!.toISOString()).toBe(later(HOUR));
    });
  });

  it('handed in after its grace a round stays missed, and its readings count as readings', async () => {
    const { round } = await ready();
    await inTime(9 * DAY, async () => {
      const at = later(8 * DAY);
      await house.mara.submit([read(round.id, house.pointIds[0]!, at), handedIn(round.id, at)]);
      expect(await roundPage(house.mara, round.id)).toMatchObject({ state: 'missed', read: 1, standing: { isLate: true } });
      const readings = await house.mara.call('listReadings', { params: { pointId: house.pointIds[0]! } });
      expect(readings.body.readings.some((one: { takenAt: string }) => one.takenAt === at)).toBe(true);
    });
  });

  it('a round walked and handed in in time stands though somebody called it off meanwhile', async () => {
    const { round } = await ready();
    await house.planner.call('callOffRound', { params: { roundId: round.id }, body: { reason: 'plant stands still' } });
    expect((await roundPage(house.mara, round.id)).state).toBe('called-off');
    await house.mara.submit([read(round.id, house.pointIds[0]!), handedIn(round.id)]);
    expect(await roundPage(house.mara, round.id)).toMatchObject({
      state: 'handed-in',
      standing: { isWalkedThoughCalledOff: true },
    });
  });

  it('D40: a season that turns while a round is away takes nothing from it', async () => {
    const { routeId, round } = await ready({
      season: { fromMonth: 10, toMonth: 4 },
      rule: 'FREQ=WEEKLY;BYDAY=TH',
      startLocal: '2026-04-23T08:00',
      window: { kind: 'days', daysBefore: 1, daysAfter: 20 },
    });
    const all = await roundsOf(service, house, routeId);
    expect(all.map(({ occurrence }) => occurrence.slice(0, 7)).slice(0, 3)).toEqual(['2026-04', '2026-04', '2026-10']);
    await inTime(20 * DAY, async () => {
      const at = later(10 * DAY); // the 3rd of May, asleep since the 1st
      await house.mara.submit([...house.pointIds.map((pointId) => read(round.id, pointId, at)), handedIn(round.id, at)]);
      expect(await roundPage(house.mara, round.id)).toMatchObject({ state: 'handed-in', read: 3, stops: 3 });
    });
  });

  it('D42: of two phones on one round both keep everything, the first answer at a stop counts, the first who took it has it', async () => {
    const { routeId, round } = await ready();
    const [a, b] = house.pointIds as [string, string];
    const mine = read(round.id, a, later(-60_000), { inputs: { value: { text: '61', unit: '°C' } } });
    const theirs = read(round.id, a, later(-30_000), { inputs: { value: { text: '62', unit: '°C' } } });
    const [one, two] = await Promise.all([
      house.mara.submit([taken(round.id, house.pointIds, later(-90_000)), mine]),
      house.tomasz.submit([taken(round.id, house.pointIds, later(-80_000)), theirs, read(round.id, b, later(-20_000))]),
    ]);
    expect([one, two].flatMap(({ body }) => body.results.map((r: { outcome: string }) => r.outcome))).toEqual(
      Array(5).fill('created'),
    );
    const page = await roundPage(house.planner, round.id);
    expect(page).toMatchObject({ answered: 2, read: 2, walker: { name: 'Mara' }, takenBy: { name: 'Mara' } });
    expect(page.stopLines[0]).toMatchObject({ by: 'Mara', state: 'read' });
    expect(await stored(routeId)).toMatchObject({ answeredCount: 2 });
  });

  it('a half-walked round given to a person is theirs; later words count over earlier ones, the planner’s too', async () => {
    const { round } = await ready();
    const asks = async () => (await roundPage(house.planner, round.id)).walker?.name ?? null;
    await house.planner.call('giveRound', { params: { roundId: round.id }, body: { walkerId: house.mara.personId } });
    expect(await asks()).toBe('Mara');
    await inTime(HOUR, () =>
      house.mara.submit([taken(round.id, house.pointIds, later(1000)), given(round.id, house.tomasz.personId, later(2000))]),
    );
    expect(await asks()).toBe('Tomasz');
    expect((await roundPage(house.planner, round.id)).givenNote).toBe('keys are in the box');
    const walk = (await inTime(HOUR, () => house.tomasz.call('myWalk'))).body;
    expect(walk.rounds.map((one: { id: string }) => one.id)).toContain(round.id);
    await inTime(2 * HOUR, () =>
      house.planner.call('giveRound', { params: { roundId: round.id }, body: { walkerId: house.mara.personId } }),
    );
    expect(await asks()).toBe('Mara');
    const stranger = await service.person((await service.organisation()).id, ['technician']);
    const foreign = await house.planner.call('giveRound', {
      params: { roundId: round.id },
      body: { walkerId: stranger.personId },
    });
    expect(foreign.status).toBe(404);
    await house.mara.submit([given(round.id, stranger.personId, later(-1))]);
    expect(await asks()).toBe('Mara');
  });

  it('extra stops walked with a round go along when the rest is given, those of others and answered ones do not', async () => {
    const house = await walkingHouse(service);
    const [a, b, c] = house.pointIds as [string, string, string];
    const { rounds } = await route(service, house, { pointIds: [a] });
    const round = rounds[0]!;
    const ask = async (pointId: string, over: Record<string, unknown>): Promise<string> => {
      const id = randomUUID();
      const body = { id, earliestAt: later(-HOUR), latestAt: later(HOUR * 10), note: 'still rising?', ...over };
      expect((await house.planner.call('askForStop', { params: { pointId }, body })).status).toBe(201);
      return id;
    };
    const onRound = await ask(b, { roundId: round.id, walkerId: house.mara.personId });
    const free = await ask(c, {});
    const theirs = await ask(c, { walkerId: house.planner.personId });
    const kept = await ask(b, { walkerId: house.mara.personId });
    const give = given(round.id, house.tomasz.personId, later(1000), { extraStopIds: [onRound, free, theirs] });
    const stopsOf = async (person: typeof house.mara) =>
      (await person.call('myWalk')).body.extraStops.map((one: { id: string }) => one.id).sort();
    await inTime(HOUR, async () => {
      await house.mara.submit([taken(round.id, [a]), give]);
      await house.mara.submit([give]);
      expect(await stopsOf(house.tomasz)).toEqual([onRound, free].sort());
      expect(await stopsOf(house.mara)).toEqual([kept]);
      expect(await stopsOf(house.planner)).toEqual([theirs]);
      // They are walked with the round, whatever else the other walks.
      expect((await roundPage(house.tomasz, round.id)).extraStops.map((one: { id: string }) => one.id).sort()).toEqual(
        [onRound, free].sort(),
      );
      // Mara's phone tells something older: it has nothing left to give.
      await house.mara.submit([given(round.id, house.planner.personId, later(500), { extraStopIds: [free] })]);
      expect(await stopsOf(house.tomasz)).toEqual([onRound, free].sort());
      const mine = (await house.mara.call('myWalk')).body;
      expect(mine.unfinished).toMatchObject([{ id: round.id, state: 'being-walked', walker: { name: 'Tomasz' } }]);
      await house.tomasz.submit([read(round.id, a, later(HOUR / 2)), handedIn(round.id, later(HOUR / 2))]);
      const after = (await house.mara.call('myWalk')).body;
      expect(after).toMatchObject({ safe: [], unfinished: [{ state: 'handed-in', walker: { name: 'Tomasz' } }] });
      const safe = (await house.tomasz.call('myWalk')).body.safe;
      expect(safe).toMatchObject([{ id: round.id, handedInAt: later(HOUR / 2) }]);
    });
  });

  it('a round that was taken and missed is told to whoever had taken it', async () => {
    const house = await walkingHouse(service);
    const { rounds } = await route(service, house);
    await house.mara.submit([taken(rounds[0]!.id, house.pointIds), read(rounds[0]!.id, house.pointIds[0]!)]);
    expect((await house.mara.call('myWalk')).body.unfinished).toEqual([]);
    await inTime(5 * DAY, async () => {
      const missed = [{ id: rounds[0]!.id, state: 'missed', read: 1, stops: 3 }];
      expect((await house.mara.call('myWalk')).body.unfinished).toMatchObject(missed);
      await sweepRounds(service);
      expect((await house.mara.call('myWalk')).body.unfinished).toMatchObject(missed);
      expect((await house.tomasz.call('myWalk')).body.unfinished).toEqual([]);
    });
  });

  it('D43: a stop added, one taken off and a new order while the round is away: added ones are marked, nothing read is lost', async () => {
    const { routeId, round } = await ready({ pointIds: house.pointIds.slice(0, 2) });
    const [a, b, c] = house.pointIds as [string, string, string];
    await house.mara.submit([taken(round.id, [a, b])]);
    const reply = await house.planner.call('changeRoute', { params: { routeId }, body: { version: 1, pointIds: [c, a] } });
    expect(reply.status).toBe(200);
    await house.mara.submit([read(round.id, a), read(round.id, b), handedIn(round.id)]);
    const page = await roundPage(house.planner, round.id);
    expect(page.stopLines).toMatchObject([
      { pointId: c, state: 'to-read', isAdded: true },
      { pointId: a, state: 'read', isAdded: false },
    ]);
    expect(page.besideRoute).toMatchObject([{ pointId: b, state: 'read' }]);
    expect(page).toMatchObject({ stops: 2, answered: 1, progressInWords: '1 of 2 stops answered: 1 read.' });
    // What a round was stays, whatever becomes of its route.
    await house.planner.call('changeRoute', { params: { routeId }, body: { version: 2, pointIds: [b] } });
    expect((await roundPage(house.planner, round.id)).stopLines.map((one: { pointId: string }) => one.pointId)).toEqual([c, a]);
  });

  it('D43: facts of a round that its route’s new rule has taken away meanwhile are kept, and the reading counts at its point', async () => {
    const house = await walkingHouse(service);
    const { id, rounds } = await route(service, house);
    const coming = rounds.find(({ earliestAt }) => earliestAt.getTime() > Date.parse(TEST_NOW))!;
    const changed = await house.planner.call('changeRoute', {
      params: { routeId: id },
      body: { version: 1, rule: 'FREQ=WEEKLY;BYDAY=MO' },
    });
    expect(changed.status, JSON.stringify(changed.body)).toBe(200);
    expect((await roundsOf(service, house, id)).map((one) => one.id)).not.toContain(coming.id);
    const [pointId, otherId] = house.pointIds as [string, string];
    const facts = [
      taken(coming.id, house.pointIds),
      read(coming.id, pointId),
      unread(coming.id, otherId, 'no-way-in'),
      handedIn(coming.id),
    ];
    const reply = await house.mara.submit(facts);
    for (const result of reply.body.results)
      expect(result).toMatchObject({ outcome: 'created', notice: expect.stringContaining('no longer planned') });
    const again = await house.mara.submit(facts);
    expect(again.body.results.map((one: { outcome: string }) => one.outcome)).toEqual(facts.map(() => 'duplicate'));
    const readings = await house.planner.call('listReadings', { params: { pointId } });
    expect(readings.body.readings).toMatchObject([{ counts: true }]);
    // A round of somebody else looks no different, and nothing of it moves.
    const foreign = await walkingHouse(service);
    const theirs = (await route(service, foreign)).rounds[0]!;
    const strange = await house.mara.submit([read(theirs.id, pointId), handedIn(theirs.id)]);
    for (const result of strange.body.results)
      expect(result).toMatchObject({ outcome: 'created', notice: expect.stringContaining('no longer planned') });
    expect(await roundPage(foreign.planner, theirs.id)).toMatchObject({
      standing: expect.not.objectContaining({ state: 'handed-in' }),
      answered: 0,
    });
  });

  it('D48: the same hand-in sent five times side by side is one round with its readings once', async () => {
    const { routeId, round } = await ready();
    const facts = [
      taken(round.id, house.pointIds),
      ...house.pointIds.map((pointId) => read(round.id, pointId)),
      handedIn(round.id),
    ];
    const replies = await Promise.all(Array.from({ length: 5 }, () => house.mara.submit(facts)));
    const outcomes = replies.flatMap(({ body }) => body.results.map((one: { outcome: string }) => one.outcome));
    expect(outcomes.filter((one) => one === 'created')).toHaveLength(facts.length);
    expect(outcomes.filter((one) => one === 'duplicate')).toHaveLength(4 * facts.length);
    expect(await stored(routeId)).toMatchObject({ answeredCount: 3, readCount: 3, handedInBy: house.mara.personId });
  });

  it('D49: closing that stops half-way, or runs twice at once, closes each round once and the same', async () => {
    const { routeId } = await ready({ rule: 'FREQ=DAILY', window: { kind: 'days', daysBefore: 0, daysAfter: 0 } });
    const payload = { organisationId: house.organisationId };
    await inTime(100 * DAY, async () => {
      const dying = { ...service.deps, database: failingFrom(service, 1) };
      await expect(closeRoundsJob.handle(dying, payload)).rejects.toThrow('worker died');
      await Promise.all([closeRoundsJob.handle(service.deps, payload), closeRoundsJob.handle(service.deps, payload)]);
      const rounds = await roundsOf(service, house, routeId);
      const over = rounds.filter(({ endsAt }) => endsAt.getTime() < service.clock.now());
      expect(over.length).toBeGreaterThan(90);
      expect(over.every(({ closedAt, endsAt }) => closedAt?.getTime() === endsAt.getTime())).toBe(true);
      expect(rounds.filter(({ closedAt }) => closedAt !== null)).toHaveLength(over.length);
    });
  });

  it('D89: a whole round answered "no way in" is answered, not read, and says so', async () => {
    const { routeId, round } = await ready();
    await house.mara.submit([...house.pointIds.map((pointId) => unread(round.id, pointId, 'no-way-in')), handedIn(round.id)]);
    expect(await stored(routeId)).toMatchObject({ stopCount: 3, answeredCount: 3, readCount: 0 });
    expect((await roundPage(house.planner, round.id)).progressInWords).toBe(
      '3 of 3 stops answered, nothing read: no way in throughout.',
    );
  });

  it('of two contents under one id that name two rounds, both rounds settle by the one that counts', async () => {
    const [one, two] = [await ready(), await ready()];
    const id = factId();
    const hand = (roundId: string) => ({ ...handedIn(roundId), id });
    await house.mara.submit([hand(one.round.id)]);
    await house.mara.submit([hand(two.round.id)]);
    const states = async () => Promise.all([one, two].map(async ({ routeId }) => (await stored(routeId)).handedInAt !== null));
    const seen = await states();
    expect(seen.filter(Boolean)).toHaveLength(1);
    await house.mara.submit([hand(one.round.id), hand(two.round.id)]);
    expect(await states()).toEqual(seen);
  });
});

/** Facts are never deleted by the service; a test that tries many orders takes them out as the owner. */
async function wipeFacts(service: Harness, roundId: string): Promise<void> {
  const { default: pg } = await import('pg');
  const client = new pg.Client({ connectionString: service.database.urls.owner });
  await client.connect();
  await client.query('DELETE FROM finding_evidence WHERE fact_id IN (SELECT id FROM fact WHERE round_id = $1)', [roundId]);
  await client.query('DELETE FROM fact WHERE round_id = $1', [roundId]);
  await client.query(
    `UPDATE round SET taken_by = NULL, started_at = NULL, walker_id = named_walker_id, packed = NULL, handed_in_at = NULL,
      handed_in_by = NULL, given_note = NULL, closed_at = NULL, stops = NULL, stop_count = NULL, answered_count = NULL, read_count = NULL
     WHERE id = $1`,
    [roundId],
  );
  await client.end();
}

/** A database whose transactions end before their commit from the n-th on, as if the worker had died. */
function failingFrom(service: Harness, nth: number): Harness['db'] {
  let count = 0;
  return {
    ...service.db,
    inTenant: (scope, work) =>
      service.db.inTenant(scope, async (unit) => {
        const result = await work(unit);
        if (++count >= nth) throw new Error('worker died');
        return result;
      }),
  };
}
