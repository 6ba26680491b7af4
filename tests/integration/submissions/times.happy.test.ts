/** Times that cannot be: kept and shown, but they silence nothing. */
import { sql } from '@heatround/platform/database';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, type Harness, type Person, readingFact, startService, TEST_NOW } from '../../support/harness.ts';

describe('facts dated in the future or long ago', () => {
  let service: Harness;
  let technician: Person;
  let planner: Person;
  let roomId: string;
  beforeAll(async () => {
    service = await startService();
    const place = await service.organisation();
    roomId = place.roomId;
    technician = await service.person(place.id, ['technician']);
    planner = await service.person(place.id, ['planner']);
  });
  afterAll(() => service?.close());

  const AHEAD = '2027-02-01T08:00:00Z';
  const listed = async (pointId: string, all = true) =>
    (await planner.call('listReadings', { params: { pointId }, query: { all: String(all) } })).body.readings as {
      id: string;
      counts: boolean;
      correctedBy: string | null;
    }[];
  const pageOf = async (assetId: string) => {
    await service.concludeAll();
    return (await planner.call('getAsset', { params: { assetId } })).body;
  };

  it('a reading dated 2027 or 1900 is kept and shown, says that it does not count, and hides no real one', async () => {
    const { id, pointIds } = await service.asset(planner, roomId, { tag: 'TIME-1' });
    const [pointId] = pointIds as [string];
    const ahead = readingFact(pointId, '30', { takenAt: AHEAD });
    const ancient = ['0001-01-01T00:00:00Z', '1900-05-01T08:00:00Z', '1999-12-31T23:59:59Z'].map((takenAt) => ({
      ...readingFact(pointId, '31'),
      takenAt,
    }));
    const real = readingFact(pointId, '92', { takenAt: '2026-04-23T06:30:00Z' });
    const { results } = (await technician.submit([ahead, ...ancient, real])).body;
    expect(results.map((one: { outcome: string }) => one.outcome)).toEqual(Array(5).fill('created'));
    expect(results[0].notice).toBe(
      "Kept, but it does not count: its time lies in the future. Set the device's clock right, then correct the reading with the time at which it was taken.",
    );
    for (const one of results.slice(1, 4))
      expect(one.notice).toMatch(/^Kept, but it does not count: its time lies before the year 2000\. /);
    expect(results[4].notice).toBeNull();
    expect((await listed(pointId)).map((one) => [one.id, one.counts])).toEqual([
      [ahead.id, false],
      [real.id, true],
      ...ancient.toReversed().map((one) => [one.id, false]),
    ]);
    expect((await listed(pointId, false)).map((one) => one.id)).toEqual([real.id]);
    const page = await pageOf(id);
    expect(page.points[0].conclusion).toMatchObject({
      latest: { readingId: real.id },
      standing: { grade: 'soon' },
      readingCount: 1,
    });
    const [line] = (await planner.call('listAssets', { query: { search: 'TIME-1' } })).body.assets;
    expect(line).toMatchObject({ lastReadAt: '2026-04-23T06:30:00.000Z', grade: 'soon' });
  });

  it('five minutes ahead of the receipt count, a second more does not', async () => {
    const { pointIds } = await service.asset(planner, roomId);
    const [pointId] = pointIds as [string];
    const at = (ms: number) => readingFact(pointId, '50', { takenAt: new Date(Date.parse(TEST_NOW) + ms).toISOString() });
    const [near, far] = [at(300_000), at(301_000)];
    const { results } = (await technician.submit([near, far])).body;
    expect(results.map((one: { notice: string | null }) => one.notice !== null)).toEqual([false, true]);
    expect((await listed(pointId, false)).map((one) => one.id)).toEqual([near.id]);
  });

  it('a correction to a plausible time counts; one to an impossible time takes nothing away', async () => {
    const { pointIds } = await service.asset(planner, roomId);
    const [pointId] = pointIds as [string];
    const ahead = readingFact(pointId, '75', { takenAt: AHEAD });
    const right = readingFact(pointId, '75', { corrects: ahead.id });
    const good = readingFact(pointId, '60', { takenAt: '2026-04-22T06:00:00Z' });
    const slip = readingFact(pointId, '61', { takenAt: AHEAD, corrects: good.id });
    await technician.submit([ahead, good, slip]);
    expect((await listed(pointId, false)).map((one) => one.id)).toEqual([good.id]);
    expect((await technician.submit([right])).body.results[0].notice).toBeNull();
    expect((await listed(pointId, false)).map((one) => one.id)).toEqual([right.id, good.id]);
    const all = await listed(pointId);
    expect(all.find((one) => one.id === ahead.id)).toMatchObject({ counts: false, correctedBy: right.id });
    expect(all.find((one) => one.id === good.id)).toMatchObject({ counts: true, correctedBy: null });
  });

  it('work dated ahead is kept and flagged, and begins no history anew', async () => {
    const { id, pointIds } = await service.asset(planner, roomId);
    const [pointId] = pointIds as [string];
    await technician.submit([readingFact(pointId, '85', { takenAt: '2026-04-20T06:00:00Z' })]);
    const common = { takenAt: AHEAD, clock: { deviceAt: AHEAD, monotonicMs: 1, offsetMs: null } };
    const { results } = (
      await technician.submit([
        { kind: 'work-recorded', id: factId(), ...common, assetId: id, work: 'replaced' },
        { kind: 'stop-answered', id: factId(), ...common, pointId, answer: 'not-running' },
      ])
    ).body;
    for (const one of results) {
      expect(one).toMatchObject({ outcome: 'created', notice: expect.stringMatching(/^Kept, but nothing follows from it: /) });
    }
    const page = await pageOf(id);
    expect(page.points[0].conclusion).toMatchObject({ reset: null, isProofAwaited: false, standing: { grade: 'plan' } });
    expect(page.work).toMatchObject([{ work: 'replaced' }]);
  });

  it("the organisation's own clock is no fault of the device; a device that is off is told so", async () => {
    const { id, roomId: demoRoom } = await service.organisation();
    const somebody = await service.person(id, ['planner']);
    const offset = -30 * 86_400_000;
    await service.db.inTenant(somebody.scope, ({ db }) =>
      db.$executeRaw(sql`UPDATE organisation SET clock_offset_ms = ${offset}`),
    );
    const { pointIds } = await service.asset(somebody, demoRoom);
    const takenAt = new Date(Date.parse(TEST_NOW) + offset).toISOString();
    const from = (offsetMs: number | null) =>
      readingFact(pointIds[0]!, '50', { takenAt, clock: { deviceAt: TEST_NOW, monotonicMs: 1, offsetMs } });
    const { results } = (
      await somebody.submit([from(offset), from(offset + 60_000), from(null), from(offset + 400_000), from(0)])
    ).body;
    expect(results.map((one: { notice: string | null }) => one.notice !== null)).toEqual([false, false, false, true, true]);
    expect(results[3].notice).toMatch(/^The device's clock is more than 5 minutes off/);
  });
});
