import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, type Harness, type Person, readingFact, startService } from '../../support/harness.ts';

describe('handing in facts', () => {
  let service: Harness;
  let technician: Person;
  let planner: Person;
  let pointId: string;
  let assetId: string;
  beforeAll(async () => {
    service = await startService();
    const { id, roomId } = await service.organisation();
    technician = await service.person(id, ['technician']);
    planner = await service.person(id, ['planner']);
    ({
      id: assetId,
      pointIds: [pointId],
    } = (await service.asset(planner, roomId)) as { id: string; pointIds: [string] });
  });
  afterAll(() => service?.close());

  it('a reading is created, judged at once, and kept as it was typed', async () => {
    const fact = readingFact(pointId, '87,5');
    const reply = await technician.submit([fact]);
    expect(reply.status).toBe(200);
    expect(reply.body.results[0]).toMatchObject({ id: fact.id, outcome: 'created', problem: null, verdict: { grade: 'plan' } });
    const listed = await technician.call('listReadings', { params: { pointId } });
    expect(listed.body.readings[0]).toMatchObject({
      id: fact.id,
      value: 87.5,
      grade: 'plan',
      inputs: { value: { text: '87,5', unit: '°C' } },
      by: technician.scope.name,
    });
  });

  it('the same fact five times at once gives one row', async () => {
    const fact = readingFact(pointId, '61');
    const replies = await Promise.all([1, 2, 3, 4, 5].map(() => technician.submit([fact])));
    const outcomes = replies.map((reply) => reply.body.results[0].outcome).sort();
    expect(outcomes).toEqual(['created', 'duplicate', 'duplicate', 'duplicate', 'duplicate']);
  });

  it('D85: of two contents under one id the same one counts, whichever came first, and the other is kept', async () => {
    const winners = new Set<string>();
    for (const order of [
      ['50', '60'],
      ['60', '50'],
    ]) {
      const id = factId();
      const pair = (value: string) => ({
        ...readingFact(pointId, value),
        id: '018f0000-0000-7000-8000-00000000aaaa'.replace('aaaa', id.slice(-4)),
      });
      const [first, second] = order.map((value) => pair(value!));
      const shared = { ...second!, id: first!.id };
      expect((await technician.submit([first])).body.results[0].outcome).toBe('created');
      expect((await technician.submit([shared])).body.results[0].outcome).toBe('conflict');
      expect((await technician.submit([shared])).body.results[0].outcome).toMatch(/conflict|duplicate/);
      const kept = await planner.call('listOtherContents', { params: { pointId } });
      expect(kept.body.contents.some((one: { factId: string }) => one.factId === first!.id)).toBe(true);
      const listed = await planner.call('listReadings', { params: { pointId }, query: { pageSize: '500' } });
      winners.add(String(listed.body.readings.filter((one: { id: string }) => one.id === first!.id).length));
    }
    expect([...winners]).toEqual(['1']);
  });

  it('one bad fact does not take the others down', async () => {
    const good = readingFact(pointId, '55');
    const reply = await technician.submit([
      { nonsense: true },
      { ...readingFact(pointId, 'warm'), id: factId() },
      good,
      readingFact('018f0000-0000-7000-8000-000000000000', '55'),
    ]);
    expect(reply.body.results.map((one: { outcome: string }) => one.outcome)).toEqual([
      'refused',
      'refused',
      'created',
      'refused',
    ]);
    expect(reply.body.results[1].problem.errors[0].pointer).toBe('/inputs/value');
    expect(reply.body.results[3].problem.code).toBe('not-found');
  });

  it('stops answered without a reading and work recorded are facts too', async () => {
    const common = {
      takenAt: '2026-04-23T06:00:00Z',
      clock: { deviceAt: '2026-04-23T06:00:00Z', monotonicMs: 1, offsetMs: null },
    };
    const reply = await technician.submit([
      { kind: 'stop-answered', id: factId(), ...common, pointId, answer: 'no-way-in', words: 'key missing' },
      { kind: 'work-recorded', id: factId(), ...common, assetId, work: 'regreased' },
      { kind: 'work-recorded', id: factId(), ...common, assetId, pointId, work: 'tightened' },
    ]);
    expect(reply.body.results.map((one: { outcome: string }) => one.outcome)).toEqual(['created', 'created', 'created']);
    const answers = await technician.call('listAnswers', { params: { pointId } });
    expect(answers.body.answers[0]).toMatchObject({ answer: 'no-way-in', words: 'key missing' });
    const page = await technician.call('getAsset', { params: { assetId } });
    expect(page.status).toBe(200);
    expect(page.body.work.map((one: { work: string }) => one.work).sort()).toEqual(['regreased', 'tightened']);
  });
});
