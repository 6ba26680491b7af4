/** An asset goes out of service or to another site while a round is being walked and an order is open. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { handedIn, read, roundPage, route, sweepRounds, taken, type Walk, walkingHouse } from '../rounds/walking.ts';
import { HOUR, openWorkshop, type Workshop } from './workshop.ts';

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

    // A phone without signal had read it before.
    const before = new Date(shop.service.clock.now() - 60_000).toISOString();
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
});
