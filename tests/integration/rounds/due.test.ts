/** The due list, a person's walk, the pack of a round, extra stops and shutdown windows. */
import { randomUUID } from 'node:crypto';
import { sql } from '@heatround/platform/database';
import { closeStops, placeStop, windowsAhead } from '@heatround/services/rounds';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, readingFact, startService, TEST_NOW } from '../../support/harness.ts';
import { handedIn, read, roundPage, route, sweepRounds, taken, walkingHouse } from './walking.ts';

const DAY = 86_400_000;
const NOW = Date.parse(TEST_NOW);
const at = (days: number) => new Date(NOW + days * DAY).toISOString();
const ids = (lines: { id: string }[]) => lines.map(({ id }) => id);

describe('what is to be read', () => {
  let service: Harness;
  beforeAll(async () => {
    service = await startService();
  });
  afterAll(() => service?.close());

  /** One route that can be walked today, one whose window is over, one that comes on Saturday. */
  async function threeRoutes() {
    service.clock.set(TEST_NOW);
    const house = await walkingHouse(service);
    const day = { window: { kind: 'days', daysBefore: 0, daysAfter: 0 }, rule: 'FREQ=MONTHLY' };
    const today = await route(service, house, { ...day, code: 'A', pointIds: house.pointIds.slice(0, 1) });
    const twoDays = { kind: 'minutes', minutesBefore: 2880, minutesAfter: 2880 };
    const over = await route(service, house, {
      ...day,
      code: 'B',
      startLocal: '2026-04-21T08:02',
      window: twoDays,
      graceMs: 30 * DAY,
      pointIds: house.pointIds.slice(1, 2),
    });
    const coming = await route(service, house, { ...day, code: 'C', startLocal: '2026-04-25T08:00' });
    service.clock.advance(60_000);
    return { house, today: today.rounds[0]!, over: over.rounds[0]!, coming: coming.rounds[0]!, overRoute: over };
  }

  it('overdue rounds come first, then those that can be walked, then coming ones by date; closed ones are gone', async () => {
    const { house, today, coming } = await threeRoutes();
    const due = await house.mara.call('listDue');
    expect(due.body.counts).toEqual({ overdue: 0, due: 2, coming: 1 });
    const list = async () => (await house.mara.call('listDue')).body;
    service.clock.advance(120_000);
    const [first, second, third] = (await list()).rounds;
    expect([first.code, second.code, third.code]).toEqual(['B', 'A', 'C']);
    expect(first.standing.isInGrace).toBe(true);
    expect((await list()).counts).toEqual({ overdue: 1, due: 1, coming: 1 });
    expect((await house.mara.call('listDue', { query: { days: '1' } })).body.counts.coming).toBe(0);
    await house.mara.submit([read(today.id, house.pointIds[0]!), handedIn(today.id)]);
    expect(ids((await list()).rounds)).not.toContain(today.id);
    expect(ids((await list()).rounds)).toContain(coming.id);
  });

  it('pages of the list add up to the whole, each round once, though time goes on between them', async () => {
    const { house } = await threeRoutes();
    const whole = ids((await house.mara.call('listDue', { query: { days: '120' } })).body.rounds);
    expect(whole.length).toBeGreaterThan(8);
    const seen: string[] = [];
    for (let after: string | null = ''; after !== null; ) {
      const query: Record<string, string> = { days: '120', pageSize: '2', ...(after ? { after } : {}) };
      const { body } = await house.mara.call('listDue', { query });
      seen.push(...ids(body.rounds));
      after = body.next;
      service.clock.advance(1000);
    }
    expect(seen).toEqual(whole);
    const forged = await house.mara.call('listDue', { query: { after: 'bm9uZQ' } });
    expect(forged).toMatchObject({ status: 422, body: { type: '/problems/invalid-request' } });
  });

  it('a list for one person, and for one site, holds what they have', async () => {
    const { house, today } = await threeRoutes();
    await house.planner.call('giveRound', { params: { roundId: today.id }, body: { walkerId: house.tomasz.personId } });
    const of = async (query: Record<string, string>) => ids((await house.planner.call('listDue', { query })).body.rounds);
    expect(await of({ walkerId: house.tomasz.personId })).toEqual([today.id]);
    expect(await of({ walkerId: house.mara.personId })).toEqual([]);
    expect(await of({ siteId: house.siteId })).toContain(today.id);
    const annex = (await house.planner.call('createSite', { body: { name: 'Annexe', zone: 'Europe/Dublin' } })).body.id;
    expect(await of({ siteId: annex })).toEqual([]);
    const narrowed = await service.person(house.organisationId, ['technician'], { siteIds: [annex] });
    expect((await narrowed.call('listDue')).body).toMatchObject({ rounds: [], counts: { overdue: 0, due: 0, coming: 0 } });
    expect((await narrowed.call('getRound', { params: { roundId: today.id } })).status).toBe(404);
    // What they hand in for it is kept, as for a round that is gone, and moves nothing.
    const kept = (await narrowed.submit([taken(today.id, [])])).body.results[0];
    expect(kept).toMatchObject({ outcome: 'created', notice: expect.stringContaining('no longer planned') });
    expect((await house.planner.call('getRound', { params: { roundId: today.id } })).body).toMatchObject({ takenBy: null });
  });

  it('my walk shows my rounds and free ones with rooms and words, what is safe, and the next one', async () => {
    const { house, today, over, coming } = await threeRoutes();
    await house.planner.call('giveRound', { params: { roundId: today.id }, body: { walkerId: house.tomasz.personId } });
    const mine = (await house.mara.call('myWalk')).body;
    expect(ids(mine.rounds)).toEqual([over.id]);
    expect(mine.rounds[0].rooms).toMatchObject([{ place: { room: 'Pump room' }, stops: 1 }]);
    expect(mine.nextRound.id).toBe(coming.id);
    const theirs = (await house.tomasz.call('myWalk')).body;
    expect(ids(theirs.rounds).sort()).toEqual([today.id, over.id].sort());
    await house.tomasz.submit([
      taken(today.id, house.pointIds.slice(0, 1)),
      read(today.id, house.pointIds[0]!),
      handedIn(today.id),
    ]);
    const after = (await house.tomasz.call('myWalk')).body;
    expect(ids(after.safe)).toEqual([today.id]);
    expect(after.safe[0]).toMatchObject({ answered: 1, read: 1, state: 'handed-in' });
    const guest = await service.person(house.organisationId, ['guest-reader']);
    expect((await guest.call('myWalk')).body).toMatchObject({ rounds: [], nextRound: null, safe: [] });
  });

  it('a pack holds the assets of its stops with limits and last readings, and its revision changes with them', async () => {
    const { house, today } = await threeRoutes();
    await house.mara.submit([readingFact(house.pointIds[0]!, '61')]);
    const pack = () => house.mara.call('roundPack', { params: { roundId: today.id }, query: { readings: '5' } });
    const first = (await pack()).body;
    expect(first.stops).toMatchObject([{ pointId: house.pointIds[0]!, state: 'to-read' }]);
    expect(first.assets).toHaveLength(1);
    expect(first.assets[0].points[0]).toMatchObject({ limits: [{ watch: 70 }], readings: [{ value: 61 }] });
    expect((await pack()).body.revision).toBe(first.revision);
    await house.mara.submit([readingFact(house.pointIds[0]!, '62', { takenAt: at(-1) })]);
    expect((await pack()).body.revision).not.toBe(first.revision);
  });

  it('an extra stop goes onto the next round that can take it, else stands on its own, and repeating it changes nothing', async () => {
    const { house, coming } = await threeRoutes();
    const place = (over: Record<string, unknown>) =>
      service.db.inTenant(house.planner.scope, ({ db }) =>
        placeStop(db, house.planner.scope, {
          id: randomUUID(),
          kind: 'proof',
          pointId: house.pointIds[2]!,
          fromMs: NOW + DAY * 1.2,
          untilMs: NOW + DAY * 7,
          note: 'after the bearing was changed',
          askedBy: null,
          ...over,
        }),
      );
    const id = randomUUID();
    expect(await place({ id })).toMatchObject({ id, roundId: coming.id });
    expect(await place({ id, untilMs: NOW + 40 * DAY, note: 'twice' })).toMatchObject({ id, roundId: coming.id });
    const alone = await place({ untilMs: NOW + DAY * 1.3 });
    expect(alone?.roundId).toBeNull();
    const page = await roundPage(house.mara, coming.id);
    expect(page.extraStops).toMatchObject([
      { id, kind: 'proof', note: 'after the bearing was changed', target: 'below 70.0\u202f°C' },
    ]);
    expect(ids((await house.mara.call('listDue')).body.extraStops).sort()).toEqual([id, alone!.id].sort());
    const closed = () =>
      service.db.inTenant(house.planner.scope, ({ db }) =>
        closeStops(db, { pointId: house.pointIds[2]!, answeredBy: null, at: NOW, kinds: ['proof'] }),
      );
    expect([await closed(), await closed()]).toEqual([2, 0]);
  });

  it('an extra stop left over on a round that ended finds the next one', async () => {
    const house = await walkingHouse(service);
    const { rounds } = await route(service, house);
    const id = randomUUID();
    const asked = { id, roundId: rounds[0]!.id, earliestAt: at(0), latestAt: at(20) };
    expect((await house.planner.call('askForStop', { params: { pointId: house.pointIds[0]! }, body: asked })).status).toBe(201);
    await house.mara.submit([read(rounds[0]!.id, house.pointIds[1]!), handedIn(rounds[0]!.id)]);
    expect((await roundPage(house.mara, rounds[1]!.id)).extraStops).toMatchObject([{ id }]);
  });

  it('a stop that was asked for is answered by the first reading since, in whatever order readings come', async () => {
    const house = await walkingHouse(service);
    const pointId = house.pointIds[0]!;
    const body = { id: randomUUID(), earliestAt: at(0), latestAt: at(2), note: 'before the weekend' };
    expect((await house.planner.call('askForStop', { params: { pointId }, body })).status).toBe(201);
    expect((await house.mara.call('myWalk')).body.extraStops).toMatchObject([{ id: body.id, askedBy: 'Jonas' }]);
    service.clock.advance(DAY);
    const [first, second] = [readingFact(pointId, '60', { takenAt: at(0.3) }), readingFact(pointId, '61', { takenAt: at(0.4) })];
    await house.mara.submit([readingFact(pointId, '59', { takenAt: at(-0.1) })]);
    await house.mara.submit([second]);
    await house.mara.submit([first]);
    const stop = await service.db.inTenant(house.planner.scope, ({ db }) => db.extraStop.findFirst({ where: { id: body.id } }));
    expect(stop).toMatchObject({ answeredBy: first.id });
    expect((await house.mara.call('myWalk')).body.extraStops).toEqual([]);
    service.clock.advance(-DAY);
    const past = { ...body, id: randomUUID(), earliestAt: at(-3), latestAt: at(-2) };
    expect((await house.planner.call('askForStop', { params: { pointId }, body: past })).status).toBe(422);
  });

  it('D38: windows may overlap and be shorter than a job; those over or cancelled are not ahead', async () => {
    const house = await walkingHouse(service);
    const make = async (name: string, from: number, to: number, over: Record<string, unknown> = {}) => {
      const body = { id: randomUUID(), siteId: house.siteId, name, fromAt: at(from), toAt: at(to), ...over };
      expect((await house.planner.call('createWindow', { body })).status).toBe(201);
      return body.id;
    };
    const half = await make('half day', 9, 9.5);
    const long = await make('laundry shutdown', 8, 10, { assetId: house.assetId });
    const gone = await make('cancelled', 20, 21);
    await make('over', -3, -2);
    const cancelled = await house.planner.call('changeWindow', {
      params: { windowId: gone },
      body: { version: 1, cancel: true },
    });
    expect(cancelled.body).toEqual({ id: gone, version: 2, slottedOrders: [] });
    const ahead = await service.db.inTenant(house.planner.scope, ({ db }) => windowsAhead(db, [house.siteId], NOW));
    expect(ids(ahead)).toEqual([long, half]);
    expect(ahead[1]!.window).toEqual({ id: half, from: NOW + 9 * DAY, to: NOW + 9.5 * DAY, words: 'half day' });
    expect((await house.mara.call('listWindows')).body.windows.map((one: { place: string }) => one.place)).toEqual([
      expect.stringContaining('T-'),
      'Works',
    ]);
    expect((await house.mara.call('listWindows', { query: { past: 'true' } })).body.windows).toHaveLength(4);
    const backwards = { siteId: house.siteId, name: 'x', fromAt: at(2), toAt: at(1) };
    expect((await house.planner.call('createWindow', { body: backwards })).status).toBe(422);
    const stale = await house.planner.call('changeWindow', { params: { windowId: gone }, body: { version: 1, name: 'y' } });
    expect(stale).toMatchObject({ status: 412, body: { present: { version: 2 } } });
  });

  it('the clock of a demo organisation goes ahead and never back; that of a real one does not move', async () => {
    const house = await walkingHouse(service);
    const { rounds } = await route(service, house);
    const administrator = await service.person(house.organisationId, ['administrator']);
    const jump = (aheadMinutes: number) => administrator.call('jumpClock', { body: { aheadMinutes } });
    expect((await jump(60)).status).toBe(409);
    await service.db.inTenant(house.planner.scope, ({ db }) => db.$executeRaw(sql`UPDATE organisation SET is_demo = true`));
    expect((await jump(14 * 24 * 60)).body.now).toBe(new Date(service.clock.now() + 14 * DAY).toISOString());
    expect((await jump(-5)).status).toBe(422);
    await sweepRounds(service);
    expect((await roundPage(house.mara, rounds[0]!.id)).state).toBe('missed');
    const people = (await house.mara.call('listPeople')).body.people;
    expect(people.map((one: { name: string }) => one.name)).toEqual(expect.arrayContaining(['Jonas', 'Mara', 'Tomasz']));
  });
});
