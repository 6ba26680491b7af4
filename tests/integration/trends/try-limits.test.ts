/** Trying limits through the service: what comes back is what saving them from the first day would have given; nothing is kept. */
import { afterAll, beforeAll, expect, it } from 'vitest';
import { type Harness, type Person, readingFact, startService } from '../../support/harness.ts';

let service: Harness;
let planner: Person;
let pointId: string;
beforeAll(async () => {
  service = await startService();
  const place = await service.organisation();
  planner = await service.person(place.id, ['planner']);
  pointId = (await service.asset(planner, place.roomId, { points: [{}] })).pointIds[0]!;
  await planner.submit(
    Array.from({ length: 12 }, (_, week) =>
      readingFact(pointId, String(50 + week), {
        takenAt: new Date(Date.parse('2026-01-05T08:00:00Z') + week * 7 * 86_400_000).toISOString(),
      }),
    ),
  );
}, 60_000);
afterAll(() => service?.close());

const figures = (watch: number | null, plan: number | null, soon: number | null, now: number | null) => ({
  criterion: 'absolute',
  direction: 'high',
  watch,
  plan,
  soon,
  now,
});

it('tells of every reading what it is and what it would be', async () => {
  const { status, body } = await planner.call('tryLimits', { params: { pointId }, body: figures(50, 55, 60, 90) });
  expect(status).toBe(200);
  expect(body.readings).toHaveLength(12);
  expect(body.readings.map(({ after }: { after: string }) => after)).toEqual([
    ...Array(5).fill('watch'),
    ...Array(5).fill('plan'),
    ...Array(2).fill('soon'),
  ]);
  expect(body.after.standing.grade).toBe('soon');
  const { body: kept } = await planner.call('listLimits', { params: { pointId } });
  expect(kept.limits).toHaveLength(1);
  await service.concludeAll();
  const { body: rows } = await planner.call('listReadings', { params: { pointId } });
  expect(rows.readings.map(({ grade }: { grade: string }) => grade).reverse()).toEqual(
    body.readings.map(({ before }: { before: string }) => before),
  );
});

it('refuses figures that could not be saved either, naming them', async () => {
  const { status, body } = await planner.call('tryLimits', { params: { pointId }, body: figures(70, 60, null, null) });
  expect(status).toBe(422);
  expect(body.code ?? body.type).toContain('limits-refused');
  expect(JSON.stringify(body.errors)).toMatch(/plan|watch/);
});
