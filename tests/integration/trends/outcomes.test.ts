/** What became of forecasts: written once, counted once, whoever concludes how often. */
import postgres from 'postgres';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { factId, type Harness, type Person, readingFact, startService } from '../../support/harness.ts';

const WEEK = 7 * 86_400_000;
const DAY = 86_400_000;
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
  // A range without a latest date cannot come too late, so it tests nothing.
  const decided = (await outcomes()).filter(
    ({ outcome, latest }) => outcome !== null && outcome !== 'censored' && latest !== null,
  );
  expect(decided.length).toBeGreaterThan(1);
  const { body } = await planner.call('getHitRates');
  expect(body.all.counted).toBe(decided.length);
  expect(body.all.hits).toBe(decided.filter(({ outcome }) => outcome === 'hit').length);
  expect(body.byQuantity).toMatchObject([{ quantity: 'temperature', counted: decided.length }]);
  // All of them are of one machine between two repairs, so together they prove as much as one.
  expect(body.all.histories).toBe(1);
  await owner`UPDATE point_revision SET revision = revision + 1 WHERE point_id = ${pointId}`;
  await Promise.all([service.concludeAll(), service.concludeAll()]);
  expect((await planner.call('getHitRates')).body.all.counted).toBe(decided.length);
  expect((await stranger.call('getHitRates')).body.all.counted).toBe(0);
});

it('a reading that comes late tells otherwise, and the count follows', async () => {
  const before = (await outcomes()).filter(({ limit, outcome }) => limit === 80 && outcome === 'hit');
  const rates = (await planner.call('getHitRates')).body.all;
  // A phone hands in what it read the day after the fifteenth week: the limit had been passed long before.
  const late = new Date(START + 15 * WEEK + DAY).toISOString();
  await planner.submit([readingFact(pointId, '83.0', { takenAt: late })]);
  await service.concludeAll();
  const after = (await outcomes()).filter(({ limit }) => limit === 80);
  expect(after.filter(({ outcome }) => outcome === 'hit').length).toBeLessThan(before.length);
  expect(after.some(({ outcome }) => outcome === 'early')).toBe(true);
  const revised = (await planner.call('getHitRates')).body.all;
  const counted = (await outcomes()).filter(
    ({ outcome, latest }) => outcome !== null && outcome !== 'censored' && latest !== null,
  );
  expect(revised.counted).toBe(counted.length);
  expect(revised.hits).toBe(counted.filter(({ outcome }) => outcome === 'hit').length);
  expect(revised.hits).toBeLessThan(rates.hits);
  expect(revised.histories).toBe(1);
});

it('stands when so many readings follow that those which decided it are no longer looked at', async () => {
  const before = await outcomes();
  const from = START + 24 * WEEK;
  // A logger that writes every minute, above 80 °C as before.
  for (let batch = 0; batch < 3; batch++) {
    const facts = Array.from({ length: 190 }, (_, i) =>
      readingFact(pointId, '82.0', { takenAt: new Date(from + (batch * 190 + i + 1) * 60_000).toISOString() }),
    );
    expect((await planner.submit(facts)).status).toBe(200);
  }
  await service.concludeAll();
  const after = await outcomes();
  const decided = (rows: typeof before) =>
    rows.filter(({ limit, outcome }) => limit === 80 && outcome !== null).map(({ outcome }) => outcome);
  expect(decided(after)).toEqual(decided(before));
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
