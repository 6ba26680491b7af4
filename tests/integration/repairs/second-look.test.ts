/** What comes after a finding was answered is put before a planner, who says what becomes of it: once, whoever presses. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Person, readingFact } from '../../support/harness.ts';
import { HOUR, openWorkshop, type Workshop } from './workshop.ts';

describe('a second look', () => {
  let shop: Workshop;
  beforeAll(async () => {
    shop = await openWorkshop();
  });
  afterAll(() => shop?.close());

  const at = (ms: number) => new Date(shop.service.clock.now() + ms).toISOString();
  const asking = async (pointId: string) =>
    (await shop.planner.call('listFindings', { query: { which: 'look-again', pointId } })).body.findings;
  const look = (by: Person, findingId: string, kind: string, more: object = {}) =>
    by.call('lookAgainAt', { params: { findingId }, body: { look: { kind }, ...more } });
  /** Proved, and then a hot reading arrives that was taken before the proof. */
  const provedWithLate = async (value = '97') => {
    const made = await shop.done('93');
    await shop.read(made.pointId, 60);
    shop.service.clock.advance(HOUR);
    const late = readingFact(made.pointId, value, { takenAt: at(-1.5 * HOUR) });
    await shop.technician.submit([late]);
    return { ...made, late };
  };

  it('what came late is told with who read it and when it arrived, and stands nowhere once it was decided', async () => {
    const { pointId, findingId, late } = await provedWithLate();
    const [line] = await asking(pointId);
    expect(line).toMatchObject({ id: findingId, asksPlanner: true, finding: { ended: { outcome: 'proved' } } });
    expect(line.late).toEqual([
      {
        factId: late.id,
        takenAt: new Date(late.takenAt).toISOString(),
        receivedAt: at(0),
        by: expect.any(String),
        value: 97,
        grade: 'soon',
        corrects: null,
      },
    ]);
    expect((await look(shop.technician, findingId, 'it-stands')).status).toBe(403);
    const stands = await look(shop.planner, findingId, 'it-stands', { version: line.finding.version });
    expect(stands).toMatchObject({ status: 200, body: { id: findingId, taken: null } });
    expect(await asking(pointId)).toEqual([]);
    // The very decision again is a quiet success, another one comes too late.
    expect((await look(shop.manager, findingId, 'it-stands')).body).toEqual(stands.body);
    expect((await look(shop.planner, findingId, 'take-up')).body).toMatchObject({ status: 409, allowed: [] });
    expect(await shop.findings(pointId)).toHaveLength(1);
  });

  it('taken up anew it is a finding of its own with that evidence, a repeat of the proved one, and wants its answer', async () => {
    const { pointId, findingId, orderId, late } = await provedWithLate();
    const taken = await look(shop.planner, findingId, 'take-up', {
      look: { kind: 'take-up', reason: 'it was hot on the night shift' },
    });
    expect(taken.status, JSON.stringify(taken.body)).toBe(200);
    const [made, old] = (await shop.findings(pointId)).sort((a, b) => b.number - a.number);
    expect(made).toMatchObject({
      id: taken.body.taken.id,
      number: taken.body.taken.number,
      state: 'reported',
      grade: 'soon',
      repeats: old.number,
      evidence: 1,
      words: 'it was hot on the night shift',
    });
    expect(Date.parse(made.answerDueAt)).toBeGreaterThan(shop.service.clock.now());
    expect(old).toMatchObject({ id: findingId, asksPlanner: false, late: [] });
    const again = await look(shop.manager, findingId, 'take-up', {
      look: { kind: 'take-up', reason: 'it was hot on the night shift' },
    });
    expect(again.body).toEqual(taken.body);
    expect(await shop.findings(pointId)).toHaveLength(2);
    const waiting = (await shop.planner.call('listFindings', { query: { pointId } })).body.findings;
    expect(waiting.map(({ id }: { id: string }) => id)).toEqual([made.id]);
    // The order of the old one tells what was decided; the reading after it reaches the new one.
    const page = await shop.order(orderId);
    expect(page.findingMoves.at(-1)).toMatchObject({ move: 'take-up', why: 'it was hot on the night shift' });
    await shop.read(pointId, 99);
    expect((await shop.findings(pointId)).find(({ id }) => id === made.id)).toMatchObject({ evidence: 2 });
    expect(late.id).toBeTruthy();
  });

  it('of much that came late only the newest is told, and all of it goes along with the worst grade', async () => {
    const { pointId, findingId } = await provedWithLate('105');
    for (let minute = 1; minute <= 6; minute++) {
      shop.service.clock.advance(60_000);
      await shop.technician.submit([readingFact(pointId, '85', { takenAt: at(-2 * HOUR + minute) })]);
    }
    expect((await asking(pointId))[0].late).toHaveLength(5);
    const taken = await look(shop.planner, findingId, 'take-up');
    const made = (await shop.findings(pointId)).find(({ id }) => id === taken.body.taken.id);
    expect(made).toMatchObject({ grade: 'now', evidence: 7 });
  });

  it('where the fault is open anew already, what came late speaks for that one', async () => {
    const { pointId, findingId } = await provedWithLate();
    await shop.read(pointId, 85);
    const open = (await shop.findings(pointId)).find(({ id }) => id !== findingId);
    expect(open).toMatchObject({ grade: 'plan', evidence: 1 });
    const taken = await look(shop.planner, findingId, 'take-up');
    expect(taken.body.taken).toEqual({ id: open.id, number: open.number });
    expect((await shop.findings(pointId)).find(({ id }) => id === open.id)).toMatchObject({ grade: 'soon', evidence: 2 });
  });

  it('a correction of what a repair was agreed on asks as well; that answer stands, or its order is moved', async () => {
    const { pointId, findingId, orderId } = await shop.agreed('94');
    const [first] = (await shop.order(orderId)).evidence;
    shop.service.clock.advance(HOUR);
    await shop.technician.submit([readingFact(pointId, '49', { takenAt: first.takenAt, corrects: first.id })]);
    const [line] = await asking(pointId);
    expect(line).toMatchObject({ state: 'agreed', orderNumber: expect.any(Number) });
    expect(line.late).toMatchObject([{ value: 49, grade: 'fine', corrects: { value: 94, grade: 'soon' } }]);
    expect((await look(shop.planner, findingId, 'take-up')).body).toMatchObject({ status: 409, allowed: ['it-stands'] });
    expect((await look(shop.manager, findingId, 'it-stands')).status).toBe(200);
    expect(await asking(pointId)).toEqual([]);
    expect((await shop.order(orderId)).state).toBe('agreed');
  });

  it('of two who decide at the same moment one counts, the other is told; a new late reading asks again', async () => {
    const { pointId, findingId } = await provedWithLate();
    const [line] = await asking(pointId);
    const version = { version: line.finding.version };
    const replies = await Promise.all([
      look(shop.planner, findingId, 'it-stands', version),
      look(shop.manager, findingId, 'take-up', version),
    ]);
    expect(replies.map(({ status }) => status).sort()).toEqual([200, 409]);
    const decided = (await shop.findings(pointId)).length;
    shop.service.clock.advance(HOUR);
    await shop.technician.submit([readingFact(pointId, '98', { takenAt: at(-2.5 * HOUR) })]);
    expect((await asking(pointId))[0].late).toMatchObject([{ value: 98 }]);
    expect(await shop.findings(pointId)).toHaveLength(decided);
    expect((await look(shop.planner, findingId, 'it-stands', version)).status).toBe(412);
  });
});
