/** An asset goes out of service or to another site while a round is being walked and an order is open. */

import { findMissingStops, missingStopsJob } from '@heatround/services/repairs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { handedIn, read, roundPage, route, sweepRounds, taken, type Walk, walkingHouse } from '../rounds/walking.ts';
import { DAY, HOUR, openWorkshop, type Workshop } from './workshop.ts';

/** What the worker does with a sweep. */
async function lookAfterStops({ service }: Workshop): Promise<void> {
  for (const payload of await findMissingStops(service.deps)) await missingStopsJob.handle(service.deps, payload);
}

describe('D29: an asset leaves', () => {
  let shop: Workshop;
  let house: Walk;
  beforeAll(async () => {
    shop = await openWorkshop();
    house = await walkingHouse(shop.service, 2);
  });
  afterAll(() => shop?.close());
  const page = async (assetId: string) => (await shop.planner.call('getAsset', { params: { assetId } })).body;
  const change = (assetId: string, version: number, body: object) =>
    shop.planner.call('changeAsset', { params: { assetId }, body: { version, ...body } });

  it('D29: out of service with an open order: the order goes on until a person ends it, nothing read is lost, and it can come back', async () => {
    const made = await shop.done('93');
    const numbers = [(await shop.order(made.orderId)).number];
    const out = await change(made.assetId, 1, { outOfService: { reason: 'replaced by the new line' } });
    expect(out).toMatchObject({ status: 200, body: { version: 2, openOrders: numbers, leftRoutes: [] } });

    // A phone without signal had read it before the work.
    const before = new Date(shop.service.clock.now() - 2 * HOUR).toISOString();
    await shop.read(made.pointId, '66', { takenAt: before });
    expect(await page(made.assetId)).toMatchObject({
      outOfService: { reason: 'replaced by the new line', byName: shop.planner.scope.name },
      points: [{ point: { id: made.pointId }, readings: [{ counts: true }, { counts: true }] }],
    });
    // What it shows now opens nothing new, and asks nobody to go there.
    await shop.read(made.pointId, '120', { takenAt: new Date(shop.service.clock.now()).toISOString() });
    expect(await shop.findings(made.pointId)).toHaveLength(1);
    const order = await shop.order(made.orderId);
    expect(order).toMatchObject({ state: 'done', proofStop: null });

    const list = async (query: Record<string, string>) =>
      (await shop.planner.call('listAssets', { query: { pageSize: '200', ...query } })).body.assets.map(
        (one: { id: string }) => one.id,
      );
    expect(await list({})).not.toContain(made.assetId);
    expect(await list({ outOfService: 'true' })).toEqual([made.assetId]);

    const closed = await shop.move(shop.planner, made.orderId, { kind: 'close-unproved', reason: 'the machine is gone' });
    expect(closed).toMatchObject({ status: 200, body: { state: 'closed-unproved' } });
    expect(await change(made.assetId, 2, { outOfService: null })).toMatchObject({ status: 200, body: { openOrders: [] } });
    expect(await page(made.assetId)).toMatchObject({ outOfService: null, points: [{ point: { id: made.pointId } }] });
    shop.service.clock.advance(HOUR);
    await shop.read(made.pointId, '95');
    expect(await shop.findings(made.pointId)).toHaveLength(2);
  });

  it('D29: a reason is asked for, and taking out twice is once', async () => {
    const { assetId } = await shop.point();
    expect(await change(assetId, 1, { outOfService: { reason: ' ' } })).toMatchObject({ status: 422 });
    expect((await change(assetId, 1, { outOfService: { reason: 'scrapped' } })).status).toBe(200);
    expect(await change(assetId, 1, { outOfService: { reason: 'scrapped' } })).toMatchObject({ status: 412 });
    expect((await change(assetId, 2, { outOfService: { reason: 'again' } })).status).toBe(200);
    expect((await page(assetId)).outOfService.reason).toBe('scrapped');
  });

  it('D29: to another site while its round is being walked: what was read counts, the route is left, finding and order go along', async () => {
    const { id: routeId, rounds } = await route(shop.service, house);
    const [round, next] = rounds as [(typeof rounds)[0], (typeof rounds)[0]];
    const [a, b] = house.pointIds as [string, string];
    await house.mara.submit([
      taken(round.id, house.pointIds),
      read(round.id, a, undefined, { inputs: { value: { text: '95', unit: '°C' } } }),
    ]);
    const other: string = (await house.planner.call('createSite', { body: { name: 'Depot', zone: 'Europe/Dublin' } })).body.id;
    const building = await house.planner.call('createBuilding', { params: { siteId: other }, body: { name: 'Store' } });
    const room = await house.planner.call('createRoom', { params: { buildingId: building.body.id }, body: { name: 'Bay 1' } });
    const code = (await house.planner.call('listRoutes', {})).body.routes.find((one: { id: string }) => one.id === routeId).code;
    const moved = await house.planner.call('changeAsset', {
      params: { assetId: house.assetId },
      body: { version: 1, roomId: room.body.id },
    });
    expect(moved).toMatchObject({ status: 200, body: { leftRoutes: [code] } });

    // The walker knows nothing of it and hands in.
    const reply = await house.mara.submit([read(round.id, b), handedIn(round.id)]);
    expect(reply.body.results.map((one: { outcome: string }) => one.outcome)).toEqual(['created', 'created']);
    const walked = await roundPage(house.planner, round.id);
    expect(walked.state).toBe('handed-in');
    const beside = walked.besideRoute.map((one: { pointId: string; state: string }) => `${one.pointId} ${one.state}`);
    expect(beside.sort()).toEqual([`${a} read`, `${b} read`].sort());
    const readings = await house.planner.call('listReadings', { params: { pointId: b } });
    expect(readings.body.readings).toMatchObject([{ counts: true }]);
    expect((await roundPage(house.planner, next.id)).stopLines).toEqual([]);
    const at = (await house.planner.call('getAsset', { params: { assetId: house.assetId } })).body.place;
    expect(at).toMatchObject({ siteId: other, room: 'Bay 1' });
    // Who sees only the new site sees its findings.
    const there = await shop.service.person(house.organisationId, ['planner'], { siteIds: [other] });
    const found = (await there.call('listFindings', { query: { which: 'all', pointId: a } })).body.findings;
    expect(found).toHaveLength(1);
    const left = await shop.service.person(house.organisationId, ['planner'], { siteIds: [house.siteId] });
    expect((await left.call('listFindings', { query: { which: 'all', pointId: a } })).body.findings).toEqual([]);
    // Nor can somebody send it where he has no business.
    const back = await there.call('changeAsset', {
      params: { assetId: house.assetId },
      body: { version: 2, roomId: house.roomId },
    });
    expect(back.status).toBe(404);
    await sweepRounds(shop.service);
  });

  const stops = (pointId: string) =>
    shop.service.db.inTenant(shop.planner.scope, ({ db }) =>
      db.extraStop.findMany({ where: { pointId, closedAt: null }, orderBy: { latestAt: 'asc' } }),
    );

  it('D29: out and back again, as often as one likes: a repair that is done is still to be proved, by the time it was due', async () => {
    const { assetId, pointId, orderId } = await shop.done('93');
    const [before] = await stops(pointId);
    for (const version of [1, 3]) {
      expect((await change(assetId, version, { outOfService: { reason: 'on loan' } })).status).toBe(200);
      await lookAfterStops(shop);
      expect(await stops(pointId)).toEqual([]);
      expect((await change(assetId, version + 1, { outOfService: null })).status).toBe(200);
      for (let again = 0; again < 2; again++) await lookAfterStops(shop);
      expect(await stops(pointId)).toMatchObject([{ kind: 'proof', orderId, latestAt: before!.latestAt, note: before!.note }]);
    }
    expect(await findMissingStops(shop.service.deps)).toEqual([]);
    await shop.read(pointId, '55');
    expect((await shop.order(orderId)).state).toBe('proved');
    expect(await stops(pointId)).toEqual([]);
  });

  it('D29: back after its proof was due: it is asked for anew', async () => {
    const { assetId, pointId, orderId } = await shop.done('93');
    await change(assetId, 1, { outOfService: { reason: 'on loan' } });
    shop.service.clock.advance(60 * DAY);
    await change(assetId, 2, { outOfService: null });
    await lookAfterStops(shop);
    const [stop] = await stops(pointId);
    expect(stop).toMatchObject({ kind: 'proof', orderId });
    expect(stop!.latestAt.getTime()).toBeGreaterThan(shop.service.clock.now());
  });

  it('D29: the second proof of a bearing is not lost either', async () => {
    const { assetId, pointId, orderId } = await shop.done('93', { name: 'Bearing' });
    await shop.read(pointId, '55');
    const [second] = await stops(pointId);
    expect(second).toMatchObject({ kind: 'proof', orderId });
    await change(assetId, 1, { outOfService: { reason: 'on loan' } });
    await change(assetId, 2, { outOfService: null });
    await lookAfterStops(shop);
    expect(await stops(pointId)).toMatchObject([
      { kind: 'proof', orderId, earliestAt: second!.earliestAt, latestAt: second!.latestAt },
    ]);
  });

  it('D29: what was to be read again waits for an answer instead, and says why', async () => {
    const { assetId, pointId, finding } = await shop.finding();
    expect((await shop.answer(shop.planner, finding.id, { kind: 'read-again', walkerId: null })).status).toBe(200);
    await lookAfterStops(shop);
    expect((await shop.findings(pointId))[0]).toMatchObject({ state: 'read-again' });
    await change(assetId, 1, { outOfService: { reason: 'on loan' } });
    for (let again = 0; again < 2; again++) await lookAfterStops(shop);
    const [reported] = await shop.findings(pointId);
    expect(reported).toMatchObject({ state: 'reported' });
    expect(reported.answerDueAt).not.toBeNull();
    const due = (await shop.planner.call('listFindings', { query: { which: 'to-answer' } })).body.findings;
    expect(due.map(({ id }: { id: string }) => id)).toContain(finding.id);
    const told = (await shop.technician.call('myWalk')).body.became.find(
      (one: { findingId: string }) => one.findingId === finding.id,
    );
    expect(told.said).toBe('Waiting for an answer again: nobody goes there to read it any more');
    await change(assetId, 2, { outOfService: null });
    expect((await shop.answer(shop.planner, finding.id, { kind: 'read-again', walkerId: null })).status).toBe(200);
    expect(await stops(pointId)).toMatchObject([{ kind: 'read-again', findingId: finding.id }]);
  });
});

describe('with a worker', () => {
  let shop: Workshop;
  beforeAll(async () => {
    shop = await openWorkshop({ withWorker: true });
  });
  afterAll(() => shop?.close());

  it('D29: an asset that comes back has its repair asked for without anybody doing anything', async () => {
    const { assetId, orderId } = await shop.done('93');
    const change = (version: number, outOfService: object | null) =>
      shop.planner.call('changeAsset', { params: { assetId }, body: { version, outOfService } });
    await change(1, { reason: 'on loan' });
    expect((await shop.order(orderId)).proofStop).toBeNull();
    await change(2, null);
    await expect.poll(async () => (await shop.order(orderId)).proofStop, { timeout: 20_000 }).not.toBeNull();
  });
});
