/** Points of seasonal routes: their forecasts pause while they sleep, and follow when a season changes. */
import type { Conclusion } from '@heatround/domain';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { type Harness, type Person, readingFact, startService, TEST_NOW } from '../../support/harness.ts';

const DAY = 86_400_000;
const MAY = Date.parse('2026-04-30T23:00:00Z');

let service: Harness;
let planner: Person;
let assetId: string;
let pointId: string;
let siteId: string;
let routeId: string;
let version = 1;

beforeAll(async () => {
  service = await startService();
  const place = await service.organisation();
  siteId = place.siteId;
  planner = await service.person(place.id, ['planner']);
  const made = await service.asset(planner, place.roomId, { points: [{ loadFamily: 'none', needs: [] }] });
  [assetId, pointId] = [made.id, made.pointIds[0]!];
  // A recooler fan that got warmer all summer, last read on 25 September; now it is April.
  const from = Date.parse('2025-05-08T09:00:00Z');
  const facts = Array.from({ length: 21 }, (_, week) =>
    readingFact(pointId, (62 + 0.45 * week + 0.3 * Math.sin(5 * week)).toFixed(1), {
      takenAt: new Date(from + week * 7 * DAY).toISOString(),
    }),
  );
  await planner.submit(facts);
}, 60_000);
afterAll(() => service?.close());

const concluded = async (): Promise<Conclusion> => {
  await service.concludeAll();
  return (await planner.call('getAsset', { params: { assetId } })).body.points[0].conclusion;
};
const likely = (conclusion: Conclusion): number => conclusion.projections.find(({ grade }) => grade === 'plan')!.likelyAt!;
const change = async (body: object): Promise<void> => {
  const reply = await planner.call('changeRoute', { params: { routeId }, body: { version, ...body } });
  expect(reply.status, JSON.stringify(reply.body)).toBe(200);
  version = reply.body.version;
};
const route = async (code: string, season: object | null): Promise<string> => {
  const reply = await planner.call('createRoute', {
    body: {
      siteId,
      code,
      name: code,
      rule: 'FREQ=WEEKLY;BYDAY=TH',
      startLocal: '2026-04-30T09:00',
      window: { kind: 'days', daysBefore: 1, daysAfter: 1 },
      season,
      pointIds: [pointId],
    },
  });
  expect(reply.status, JSON.stringify(reply.body)).toBe(201);
  return reply.body.id;
};

it('a forecast runs on by the calendar until the point has a season, and then waits for it', async () => {
  const always = await concluded();
  expect(always.seasons).toBeNull();
  // 80 °C at 0.45 K a week: some 19 weeks after September.
  expect(likely(always)).toBeLessThan(Date.parse(TEST_NOW));

  routeId = await route('RT6', { fromMonth: 5, toMonth: 9 });
  const seasonal = await concluded();
  expect(seasonal.seasons).toEqual([{ fromMonth: 5, toMonth: 9 }]);
  expect(likely(seasonal)).toBeGreaterThan(MAY);
  expect(likely(seasonal) - likely(always)).toBeGreaterThan(200 * DAY);
});

it('another season is another forecast, and none is the first one again', async () => {
  const seasonal = likely(await concluded());
  await change({ season: { fromMonth: 4, toMonth: 9 } });
  const longer = likely(await concluded());
  expect(longer).toBeLessThan(seasonal);
  expect(longer).toBeGreaterThan(Date.parse(TEST_NOW));
  await change({ season: null });
  expect((await concluded()).seasons).toBeNull();
  await change({ season: { fromMonth: 5, toMonth: 9 } });
  expect(likely(await concluded())).toBe(seasonal);
});

it('a route that comes by all year keeps the point awake, until its stop is gone', async () => {
  const seasonal = likely(await concluded());
  const other = await route('RT9', null);
  expect((await concluded()).seasons).toBeNull();
  const reply = await planner.call('changeRoute', { params: { routeId: other }, body: { version: 1, pointIds: [] } });
  expect(reply.status, JSON.stringify(reply.body)).toBe(200);
  expect(likely(await concluded())).toBe(seasonal);
  await change({ pointIds: [] });
  expect((await concluded()).seasons).toBeNull();
});
