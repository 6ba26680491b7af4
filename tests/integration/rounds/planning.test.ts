/** Rounds made ahead: when, how often, and what a change of the route does to them. */
import { findRoutesToPlan, planRoundsJob } from '@heatround/services/rounds';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, startService } from '../../support/harness.ts';
import { read, roundPage, roundsOf, route, routeBody, sweepRounds, taken, type Walk, walkingHouse } from './walking.ts';

describe('rounds made ahead', () => {
  let service: Harness;
  let house: Walk;
  beforeAll(async () => {
    service = await startService();
    house = await walkingHouse(service);
  });
  afterAll(() => service?.close());
  const change = (routeId: string, version: number, body: object) =>
    house.planner.call('changeRoute', { params: { routeId }, body: { version, ...body } });

  it('a new route has its rounds for 400 days at once, the first one ready to walk', async () => {
    const { rounds } = await route(service, house);
    expect(rounds[0]).toMatchObject({ occurrence: '2026-04-23T08:00:00', closedAt: null });
    expect(rounds[0]!.earliestAt.toISOString()).toBe('2026-04-21T23:00:00.000Z');
    expect(rounds.at(-1)!.plannedAt.getTime()).toBeGreaterThan(service.clock.now() + 399 * 86_400_000);
    expect(new Set(rounds.map(({ occurrence }) => occurrence)).size).toBe(rounds.length);
    expect((await roundPage(house.mara, rounds[0]!.id)).state).toBe('ready-to-walk');
    expect((await roundPage(house.mara, rounds[1]!.id)).state).toBe('coming');
  });

  it('creating a route twice, or planning it again, late or side by side, makes no round twice', async () => {
    const body = routeBody(house);
    const create = () => house.planner.call('createRoute', { body });
    expect((await Promise.all([create(), create()])).map(({ status }) => status)).toEqual([201, 201]);
    const before = await roundsOf(service, house, body.id);
    const payload = { organisationId: house.organisationId, routeId: body.id };
    await Promise.all([1, 2, 3].map(() => planRoundsJob.handle(service.deps, payload)));
    expect(await roundsOf(service, house, body.id)).toEqual(before);
  });

  it('the sweep finds a route whose rounds do not reach far enough, and goes on where they end', async () => {
    const other = await startService();
    try {
      const home = await walkingHouse(other);
      const { id, rounds } = await route(other, home);
      expect(await findRoutesToPlan(other.deps, 10)).toEqual([]);
      other.clock.advance(60 * 86_400_000);
      expect(await findRoutesToPlan(other.deps, 10)).toEqual([{ organisationId: home.organisationId, routeId: id }]);
      await sweepRounds(other);
      const later = await roundsOf(other, home, id);
      expect(later.length).toBeGreaterThanOrEqual(rounds.length + 8);
      expect(later.slice(0, rounds.length).map((one) => one.id)).toEqual(rounds.map((one) => one.id));
      expect(await findRoutesToPlan(other.deps, 10)).toEqual([]);
    } finally {
      await other.close();
    }
  });

  it('D31: a round planned for 02:30 in the night of the spring change is moved, kept once, and says so', async () => {
    const south = await walkingHouse(service, 1, 'Europe/Berlin');
    const daily = { rule: 'FREQ=DAILY', window: { kind: 'minutes', minutesBefore: 60, minutesAfter: 60 } };
    const { rounds } = await route(service, south, { ...daily, startLocal: '2026-10-24T02:30' });
    const spring = rounds.filter(({ occurrence }) => occurrence.startsWith('2027-03-28'));
    expect(spring).toHaveLength(1);
    expect(spring[0]).toMatchObject({ occurrence: '2027-03-28T02:30:00', movedFrom: '2027-03-28T02:30:00' });
    expect(spring[0]!.plannedAt.toISOString()).toBe('2027-03-28T01:30:00.000Z');
    expect((await roundPage(south.mara, spring[0]!.id)).movedFrom).toBe('2027-03-28T02:30:00');
    // In autumn 02:30 comes twice: one round, at the first of the two.
    const autumn = rounds.filter(({ occurrence }) => occurrence.startsWith('2026-10-25'));
    expect(autumn.map(({ plannedAt }) => plannedAt.toISOString())).toEqual(['2026-10-25T00:30:00.000Z']);
  });

  it('D32: a fortnightly round passes week 53, and a round on the 29th of February waits for leap years', async () => {
    const { rounds } = await route(service, house, { rule: 'FREQ=WEEKLY;INTERVAL=2;BYDAY=TH', startLocal: '2026-12-17T08:00' });
    expect(rounds.slice(0, 3).map(({ occurrence }) => occurrence.slice(0, 10))).toEqual([
      '2026-12-17',
      '2026-12-31',
      '2027-01-14',
    ]);
    const week53 = rounds[1]!;
    expect([week53.earliestAt.toISOString(), week53.latestAt.toISOString()]).toEqual([
      '2026-12-30T00:00:00.000Z',
      '2027-01-01T23:59:59.999Z',
    ]);
    const whole = await route(service, house, { rule: 'FREQ=YEARLY', startLocal: '2026-12-31T08:00', window: { kind: 'week' } });
    expect(whole.rounds[0]!.earliestAt.toISOString()).toBe('2026-12-28T00:00:00.000Z');
    expect(whole.rounds[0]!.latestAt.toISOString()).toBe('2027-01-03T23:59:59.999Z');
    const leap = await route(service, house, { rule: 'FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29', startLocal: '2024-02-29T08:00' });
    expect(leap.rounds).toEqual([]);
  });

  it('a route asleep plans no rounds until it wakes', async () => {
    const { rounds } = await route(service, house, { season: { fromMonth: 5, toMonth: 9 } });
    expect(new Set(rounds.map(({ plannedAt }) => plannedAt.getUTCMonth() + 1))).toEqual(new Set([5, 6, 7, 8, 9]));
  });

  it('a rule that cannot be planned is refused with the part, what was expected and an example', async () => {
    const reply = await house.planner.call('createRoute', { body: routeBody(house, { rule: 'FREQ=HOURLY' }) });
    expect(reply).toMatchObject({ status: 422, body: { type: '/problems/rule-refused' } });
    expect(reply.body.errors[0]).toMatchObject({ pointer: '#/rule', detail: expect.stringContaining('FREQ=WEEKLY;BYDAY=TU') });
    const day = await house.planner.call('createRoute', { body: routeBody(house, { startLocal: '2026-02-30T08:00' }) });
    expect(day.body.errors[0].pointer).toBe('#/startLocal');
    const season = await house.planner.call('createRoute', { body: routeBody(house, { season: { fromMonth: 0, toMonth: 13 } }) });
    expect(season.status).toBe(422);
  });

  it('a code is taken once, whatever its case', async () => {
    await route(service, house, { code: 'RT-ONE' });
    const again = await house.planner.call('createRoute', { body: routeBody(house, { code: 'rt-one' }) });
    expect(again).toMatchObject({ status: 409, body: { type: '/problems/name-taken' } });
  });

  it('points of another house, twice the same point, and points of another site are refused', async () => {
    const stranger = await walkingHouse(service);
    const create = (pointIds: string[]) => house.planner.call('createRoute', { body: routeBody(house, { pointIds }) });
    expect((await create([...house.pointIds, stranger.pointIds[0]!])).status).toBe(404);
    expect((await create([house.pointIds[0]!, house.pointIds[0]!])).body.errors[0].pointer).toBe('#/pointIds');
    const annex = (await house.planner.call('createSite', { body: { name: 'Annexe', zone: 'Europe/Dublin' } })).body.id;
    const elsewhere = await house.planner.call('createRoute', { body: routeBody(house, { siteId: annex }) });
    expect(elsewhere).toMatchObject({ status: 422, body: { type: '/problems/invalid-request' } });
  });

  it('D90: an empty route plans nothing, its first stop brings rounds, taking the only one away takes them back', async () => {
    const { id, rounds } = await route(service, house, { pointIds: [] });
    expect(rounds).toEqual([]);
    expect((await change(id, 1, { pointIds: [house.pointIds[0]] })).body.version).toBe(2);
    const made = await roundsOf(service, house, id);
    expect(made.length).toBeGreaterThan(50);
    await house.mara.submit([taken(made[0]!.id, [house.pointIds[0]!])]);
    expect((await change(id, 2, { pointIds: [] })).status).toBe(200);
    // The round that was begun stays, and can still be handed in.
    expect((await roundsOf(service, house, id)).map((one) => one.id)).toEqual([made[0]!.id]);
    const page = await roundPage(house.mara, made[0]!.id);
    expect(page).toMatchObject({ state: 'being-walked', stops: 0, progressInWords: 'This round has no stops.' });
  });

  it('D90: a route takes 500 stops and is walked, 501 are refused', async () => {
    const big = await walkingHouse(service, 500);
    const { id, rounds } = await route(service, big);
    const page = await roundPage(big.mara, rounds[0]!.id);
    expect(page.stopLines).toHaveLength(500);
    expect(page.stopLines.map((one: { pointId: string }) => one.pointId)).toEqual(big.pointIds);
    const facts = big.pointIds.map((pointId) => read(rounds[0]!.id, pointId));
    expect((await big.mara.submit(facts)).status).toBe(200);
    expect((await roundPage(big.mara, rounds[0]!.id)).progressInWords).toBe('500 of 500 stops answered: 500 read.');
    const more = await big.planner.call('changeRoute', {
      params: { routeId: id },
      body: { version: 1, pointIds: [...big.pointIds, house.pointIds[0]] },
    });
    expect(more.status).toBe(422);
  });

  it('another rule makes coming rounds anew; those begun, named, called off or ready stay', async () => {
    const { id, rounds } = await route(service, house);
    const [ready, named, off, plain] = rounds;
    await house.planner.call('giveRound', { params: { roundId: named!.id }, body: { walkerId: house.mara.personId } });
    await house.planner.call('callOffRound', { params: { roundId: off!.id }, body: { reason: 'holiday' } });
    expect((await change(id, 1, { rule: 'FREQ=WEEKLY;BYDAY=MO', startLocal: '2026-04-27T09:00' })).status).toBe(200);
    const after = await roundsOf(service, house, id);
    const has = (round: { id: string }) => after.some((one) => one.id === round.id);
    expect([ready, named, off, plain].map((one) => has(one!))).toEqual([true, true, true, false]);
    expect(after.filter(({ occurrence }) => occurrence.endsWith('T09:00:00')).length).toBeGreaterThan(50);
    expect((await change(id, 1, { name: 'Late' })).body).toMatchObject({
      type: '/problems/stale-version',
      present: { version: 2 },
    });
  });

  it('another window keeps the rounds and gives the coming ones their new times', async () => {
    const { id, rounds } = await route(service, house);
    await change(id, 1, { window: { kind: 'days', daysBefore: 2, daysAfter: 2 }, walkerId: house.tomasz.personId });
    const after = await roundsOf(service, house, id);
    expect(after.map((one) => one.id)).toEqual(rounds.map((one) => one.id));
    expect(after[0]!.earliestAt).toEqual(rounds[0]!.earliestAt);
    expect(after[1]!.earliestAt.getTime()).toBe(rounds[1]!.earliestAt.getTime() - 86_400_000);
    expect(after[1]!.walkerId).toBe(house.tomasz.personId);
  });

  it('D37: a round called off after it was planned stays called off, whoever plans again, and its extra stop finds another', async () => {
    const own = await walkingHouse(service);
    const { id, rounds } = await route(service, own);
    const stop = {
      id: crypto.randomUUID(),
      roundId: rounds[1]!.id,
      earliestAt: '2026-04-26T08:00:00Z',
      latestAt: '2026-05-30T08:00:00Z',
    };
    expect((await own.planner.call('askForStop', { params: { pointId: own.pointIds[0]! }, body: stop })).status).toBe(201);
    const off = () =>
      own.planner.call('callOffRound', { params: { roundId: rounds[1]!.id }, body: { reason: 'public holiday' } });
    expect((await off()).body.state).toBe('called-off');
    expect((await off()).status).toBe(200);
    await own.planner.call('changeRoute', { params: { routeId: id }, body: { version: 1, graceMs: 0 } });
    await sweepRounds(service);
    const page = await roundPage(own.mara, rounds[1]!.id);
    expect(page).toMatchObject({ state: 'called-off', calledOff: { by: 'Jonas', reason: 'public holiday' }, extraStops: [] });
    expect((await roundPage(own.mara, rounds[2]!.id)).extraStops.map((one: { id: string }) => one.id)).toContain(stop.id);
  });
});
