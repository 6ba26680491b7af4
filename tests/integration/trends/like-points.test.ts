import { findClassesToLearn, learnClassesJob } from '@heatround/services/trends';
import postgres from 'postgres';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, readingFact, startService } from '../../support/harness.ts';

const WEEK = 7 * 86_400_000;
const LAST = Date.parse('2026-04-20T08:00:00Z');

describe('what like points teach', () => {
  let service: Harness;
  let planner: Person;
  let organisationId: string;
  let roomId: string;
  let owner: postgres.Sql;
  beforeAll(async () => {
    service = await startService();
    owner = postgres(service.database.urls.owner, { max: 1 });
    const place = await service.organisation();
    organisationId = place.id;
    roomId = place.roomId;
    planner = await service.person(organisationId, ['planner']);
  });
  afterAll(async () => {
    await owner.end();
    await service.close();
  });

  /** A bearing that creeps up so much a week, read so often, with this scatter. */
  async function bearing(readings: number, scatter: number, weekly = 1): Promise<string> {
    const { pointIds } = await service.asset(planner, roomId, {
      template: 'motor',
      points: [{ letter: 'z', loadFamily: 'none', needs: [] }],
    });
    const facts = Array.from({ length: readings }, (_, i) =>
      readingFact(pointIds[0]!, (62 - weekly * (readings - i) + scatter * Math.sin(12.9898 * i)).toFixed(2), {
        takenAt: new Date(LAST - (readings - i) * WEEK).toISOString(),
      }),
    );
    expect((await planner.submit(facts)).status).toBe(200);
    return pointIds[0]!;
  }
  const conclusionOf = async (pointId: string) =>
    (
      await owner<{ content: { noise: number; projections: { earliestAt: number | null }[] } }[]>`
      SELECT content FROM conclusion WHERE point_id = ${pointId}`
    )[0]!.content;
  const learn = () => learnClassesJob.handle(service.deps, { organisationId });

  it('widens the range of a new point once five like points are known, brings the same back, and is learned once a month', async () => {
    const fresh = await bearing(5, 0.05, 4);
    for (let i = 0; i < 4; i++) await bearing(16, 5);
    await service.concludeAll();
    const alone = await conclusionOf(fresh);
    await learn();
    expect(await service.concludeAll()).toBe(0);
    expect(await conclusionOf(fresh)).toEqual(alone);

    const fifth = await bearing(16, 5);
    await service.concludeAll();
    await learn();
    // Only the point that leans on the class is concluded again.
    expect(await service.concludeAll()).toBe(1);
    const leaning = await conclusionOf(fresh);
    expect(leaning.noise).toBeGreaterThan(alone.noise);
    // Where like points scatter that much, five readings promise less: an earlier first date, or none.
    expect(alone.projections[0]!.earliestAt).toBeGreaterThan(LAST);
    const earliest = leaning.projections[0]!.earliestAt;
    expect(earliest === null || earliest < alone.projections[0]!.earliestAt!).toBe(true);
    expect((await conclusionOf(fifth)).noise).toBeGreaterThan(1);

    await learn();
    expect(await service.concludeAll()).toBe(0);
    await owner`DELETE FROM conclusion WHERE point_id = ${fresh}`;
    expect(await service.concludeAll()).toBe(1);
    expect(await conclusionOf(fresh)).toEqual(leaning);

    expect(await findClassesToLearn(service.deps)).toEqual([]);
    service.clock.advance(31 * 86_400_000);
    expect(await findClassesToLearn(service.deps)).toEqual([{ organisationId }]);
  });

  it('stays within the organisation', async () => {
    const other = await service.organisation('Elsewhere');
    await learnClassesJob.handle(service.deps, { organisationId: other.id });
    const rows = await owner<{ organisation_id: string }[]>`SELECT organisation_id FROM class_noise`;
    expect(rows.map((row) => row.organisation_id)).toEqual([organisationId]);
  });
});
