/** What became of forecasts: written once, counted once, whoever concludes how often. */
import postgres from 'postgres';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { factId, type Harness, type Person, readingFact, startService } from '../../support/harness.ts';

const WEEK = 7 * 86_400_000;
const START = Date.parse('2025-10-06T08:00:00Z');

let service: Harness;
let planner: Person;
let stranger: Person;
let owner: postgres.Sql;
let pointId: string;
let assetId: string;
const read = (week: number, value: number) =>
  readingFact(pointId, value.toFixed(1), { takenAt: new Date(START + week * WEEK).toISOString() });
const risen = (week: number): number => 60 + 0.9 * week + 0.3 * Math.sin(5 * week);

beforeAll(async () => {
  service = await startService();
  owner = postgres(service.database.urls.owner, { max: 1 });
  const place = await service.organisation();
  planner = await service.person(place.id, ['planner']);
  stranger = await service.person((await service.organisation('Elsewhere')).id, ['planner']);
  const made = await service.asset(planner, place.roomId, { points: [{ loadFamily: 'none', needs: [] }] });
  [assetId, pointId] = [made.id, made.pointIds[0]!];
}, 60_000);
afterAll(async () => {
  await owner?.end();
  await service?.close();
});

const outcomes = async () =>
  await owner<{ outcome: string | null; latest: Date | null; limit: number }[]>`
    SELECT outcome, latest_at AS latest, limit_value AS limit FROM forecast WHERE point_id = ${pointId} AND shown = 'range' ORDER BY cut_at`;

it('a range that was given holds when the limit is reached inside it', async () => {
  await planner.submit(Array.from({ length: 16 }, (_, week) => read(week, risen(week))));
  await service.concludeAll();
  const given = await outcomes();
  expect(given.length).toBeGreaterThan(0);
  expect(given.every(({ outcome }) => outcome === null)).toBe(true);
  const { body: none } = await planner.call('getHitRates');
  expect(none.all).toMatchObject({ counted: 0, rate: null, verdict: 'too-few' });

  for (let week = 16; week <= 24; week++) {
    await planner.submit([read(week, risen(week))]);
    await service.concludeAll();
  }
  const now = await outcomes();
  const plan = now.filter(({ limit }) => limit === 80);
  expect(plan.length).toBeGreaterThan(1);
  expect(plan.every(({ outcome }) => outcome !== null)).toBe(true);
  expect(plan.filter(({ outcome }) => outcome === 'hit').length).toBeGreaterThan(plan.length / 2);
  // 90 is not reached: those forecasts are still watched.
  expect(now.filter(({ limit }) => limit === 90).every(({ outcome }) => outcome === null)).toBe(true);
});

it('is counted once, and seen by this organisation alone', async () => {
  const decided = (await outcomes()).filter(({ outcome }) => outcome !== null && outcome !== 'censored');
  const { body } = await planner.call('getHitRates');
  expect(body.all.counted).toBe(decided.length);
  expect(body.all.hits).toBe(decided.filter(({ outcome }) => outcome === 'hit').length);
  expect(body.byQuantity).toMatchObject([{ quantity: 'temperature', counted: decided.length }]);
  await owner`UPDATE point_revision SET revision = revision + 1 WHERE point_id = ${pointId}`;
  await Promise.all([service.concludeAll(), service.concludeAll()]);
  expect((await planner.call('getHitRates')).body.all.counted).toBe(decided.length);
  expect((await stranger.call('getHitRates')).body.all.counted).toBe(0);
});

it('work that comes first ends the watch; the diary says so', async () => {
  const at = new Date(START + 25 * WEEK).toISOString();
  const { body: reply } = await planner.submit([
    {
      kind: 'work-recorded',
      id: factId(),
      takenAt: at,
      clock: { deviceAt: at, monotonicMs: 1, offsetMs: null },
      assetId,
      work: 'replaced',
    },
  ]);
  expect(reply.results[0].outcome).toBe('created');
  await planner.submit([read(26, 55), read(27, 55)]);
  await service.concludeAll();
  expect((await outcomes()).filter(({ limit }) => limit === 90).map(({ outcome }) => outcome)).toContain('censored');
  const { body } = await planner.call('listForecasts', { params: { pointId } });
  expect(body.forecasts.some(({ outcome }: { outcome: string | null }) => outcome === 'hit')).toBe(true);
  expect(body.forecasts.some(({ outcome }: { outcome: string | null }) => outcome === 'censored')).toBe(true);
});
