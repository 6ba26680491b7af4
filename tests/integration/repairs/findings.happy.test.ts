/** What findings and orders do by themselves: words, work at the stop, dates that come, readings that come late. */
import { bringBackJob, findLivingOver } from '@heatround/services/repairs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, readingFact } from '../../support/harness.ts';
import { check, run } from '../imports/import-file.ts';
import { A_DAY, DAY, HOUR, openWorkshop, type Workshop } from './workshop.ts';

describe('findings and orders', () => {
  let shop: Workshop;
  beforeAll(async () => {
    shop = await openWorkshop();
  });
  afterAll(() => shop?.close());

  const at = (ms: number) => new Date(shop.service.clock.now() + ms).toISOString();
  const aFact = (kind: string, pointId: string, over: object, ms = 0) => ({
    kind,
    id: factId(at(ms)),
    takenAt: at(ms),
    clock: { deviceAt: at(ms), monotonicMs: 1, offsetMs: 0 },
    pointId,
    ...over,
  });
  const sweep = async () => {
    const due = await findLivingOver(shop.service.deps, 100);
    for (const payload of due) await bringBackJob.handle(shop.service.deps, payload);
    return due.length;
  };

  it('importing a history makes no finding, however bad its values', async () => {
    const { assetId, pointId } = await shop.point();
    const { tag } = (await shop.planner.call('getAsset', { params: { assetId } })).body;
    const text = `tag,takenAt,value\n${tag},2026-02-01T08:00:00Z,97\n${tag},2026-02-02T08:00:00Z,120\n`;
    const seen = await check(shop.service, shop.planner, { text });
    expect(await run(shop.service, shop.planner, seen.id)).toMatchObject({ summary: { created: 2 } });
    expect(await shop.findings(pointId)).toEqual([]);
  });

  it('words make a finding at the grade the person gave, and join the one that is open', async () => {
    const { pointId } = await shop.point();
    await shop.technician.submit([aFact('finding-reported', pointId, { grade: 'watch', words: 'smells of burnt varnish' })]);
    expect((await shop.findings(pointId))[0]).toMatchObject({
      grade: 'watch',
      words: 'smells of burnt varnish',
      answerDueAt: null,
      evidence: 1,
    });
    await shop.trainee.submit([aFact('finding-reported', pointId, { grade: 'now', words: 'smoke' })]);
    const findings = await shop.findings(pointId);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ grade: 'now', words: 'smells of burnt varnish\nsmoke', evidence: 2 });
    expect(Date.parse(findings[0].answerDueAt)).toBe(shop.service.clock.now() + 15 * 60_000);
  });

  it('what was put right at the stop is agreed to and Done at once, and its reading afterwards proves it', async () => {
    const { pointId } = await shop.point();
    const before = readingFact(pointId, '92', { takenAt: at(0) });
    const work = aFact(
      'put-right',
      pointId,
      { work: 'tightened', found: 'loose lug', did: 'tightened', beforeId: before.id },
      1000,
    );
    await shop.technician.submit([before, work]);
    const [finding] = await shop.findings(pointId);
    expect(finding).toMatchObject({ state: 'agreed', grade: 'soon', evidence: 2 });
    const { orderId } = finding.finding;
    const done = await shop.order(orderId);
    expect(done).toMatchObject({ state: 'done', order: { found: 'loose lug', did: 'tightened' }, before: { id: before.id } });
    expect(done.owner.id).toBe(shop.technician.personId);
    expect(done.moves.map((one: { to: string }) => one.to)).toEqual(['done']);
    expect(done.proofStop).not.toBeNull();
    shop.service.clock.advance(HOUR);
    expect((await shop.read(pointId, 60)).notice).toMatch(/^Proved/);
    expect((await shop.order(orderId)).state).toBe('proved');
  });

  it('before, work and after in one batch: proved at once, in whatever order they were sent', async () => {
    const { pointId } = await shop.point();
    shop.service.clock.advance(HOUR);
    const before = readingFact(pointId, '92', { takenAt: at(-HOUR / 2) });
    const work = aFact('put-right', pointId, { work: 'cleaned', found: 'dust', did: 'cleaned', beforeId: before.id }, -HOUR / 3);
    const after = readingFact(pointId, '61', { takenAt: at(-HOUR / 4) });
    const reply = await shop.technician.submit([after, work, before]);
    expect(reply.body.results[0].notice).toMatch(/^Proved/);
    const [finding, ...more] = await shop.findings(pointId);
    expect(more).toEqual([]);
    expect(finding.finding.ended).toMatchObject({ outcome: 'proved' });
    const order = await shop.order(finding.finding.orderId);
    expect(order).toMatchObject({ state: 'proved', proofStop: null, after: { value: 61 } });
  });

  it('new grease keeps its gate, also within one batch: the reading just afterwards proves nothing yet', async () => {
    const { pointId } = await shop.point();
    shop.service.clock.advance(HOUR);
    const before = readingFact(pointId, '92', { takenAt: at(-HOUR / 2) });
    const work = aFact(
      'put-right',
      pointId,
      { work: 'regreased', found: 'dry', did: 'regreased', beforeId: before.id },
      -HOUR / 3,
    );
    const reply = await shop.technician.submit([before, work, readingFact(pointId, '61', { takenAt: at(-HOUR / 4) })]);
    expect(reply.body.results[2].notice).toMatch(/^Not comparable: come back when the grease has settled/);
    const order = await shop.order((await shop.findings(pointId))[0].finding.orderId);
    expect(order.state).toBe('done');
    expect(Date.parse(order.proofStop.earliestAt)).toBe(Date.parse(work.takenAt) + 24 * HOUR);
  });

  it('what is put right while its order is open finishes that order, each step with its trace', async () => {
    const { pointId, orderId } = await shop.agreed('92');
    const beforeId = (await shop.order(orderId)).before.id;
    await shop.technician.submit([
      aFact('put-right', pointId, { work: 'tightened', found: 'loose', did: 'tightened', beforeId }),
    ]);
    const order = await shop.order(orderId);
    expect(order.state).toBe('done');
    expect(order.moves.map((one: { move: string }) => one.move)).toEqual(['slot', 'start', 'finish']);
  });

  it('read again puts an extra stop at the point and comes back to Reported with its reading', async () => {
    const { pointId, finding } = await shop.finding('85');
    const asked = { kind: 'read-again', reason: 'under full load', latestAt: at(5 * DAY) };
    expect((await shop.answer(shop.planner, finding.id, asked)).body.state).toBe('read-again');
    expect((await shop.answer(shop.planner, finding.id, asked)).status).toBe(200);
    const due = (await shop.planner.call('listDue')).body.extraStops.filter(
      (one: { pointId: string }) => one.pointId === pointId,
    );
    expect(due).toHaveLength(1);
    expect(due[0]).toMatchObject({ kind: 'read-again', note: 'under full load', findingId: finding.id });
    // Taken before it was asked for: not the reading that was asked for.
    await shop.read(pointId, 60, { takenAt: at(-2 * HOUR) });
    expect((await shop.findings(pointId))[0].state).toBe('read-again');
    shop.service.clock.advance(HOUR);
    await shop.read(pointId, 75);
    const [back] = await shop.findings(pointId);
    expect(back).toMatchObject({ state: 'reported', evidence: 2 });
    expect(back.answerDueAt).not.toBeNull();
    const after = (await shop.planner.call('listDue')).body.extraStops.filter(
      (one: { pointId: string }) => one.pointId === pointId,
    );
    expect(after).toEqual([]);
  });

  it('living with a fault ends by itself on its date, for findings and for orders with their findings', async () => {
    const { finding } = await shop.finding('85');
    const { orderId, findingId } = await shop.agreed('85');
    const live = { kind: 'live-with', until: at(30 * DAY), reason: 'part arrives in May' };
    expect((await shop.answer(shop.planner, finding.id, live)).body.state).toBe('living-with');
    expect((await shop.move(shop.planner, orderId, live)).body.state).toBe('living-with');
    shop.service.clock.advance(29 * DAY);
    expect(await sweep()).toBe(0);
    shop.service.clock.advance(2 * DAY);
    expect(await sweep()).toBe(2);
    expect(await sweep()).toBe(0);
    const [own] = await shop.findings(finding.pointId);
    expect(own).toMatchObject({ state: 'reported', finding: { livingWith: null } });
    expect(own.answerDueAt).not.toBeNull();
    const order = await shop.order(orderId);
    expect(order).toMatchObject({ state: 'agreed', order: { livingWith: null } });
    expect(order.moves.at(-1)).toMatchObject({ move: 'come-back', why: 'until-ended', by: null });
    expect((await shop.findings(order.pointId))[0]).toMatchObject({ id: findingId, state: 'reported' });
    // Agreed again, it goes on under the same number.
    const again = await shop.answer(shop.planner, findingId, { kind: 'agree' });
    expect(again.body).toMatchObject({ state: 'agreed', orderId, orderNumber: order.number });
  });

  it('living with a fault ends when the grade gets worse than what was accepted', async () => {
    const { pointId, finding } = await shop.finding('85');
    const { orderId, pointId: second } = await shop.agreed('85');
    const live = { kind: 'live-with', until: at(100 * DAY), reason: 'part arrives in May' };
    await shop.answer(shop.planner, finding.id, live);
    await shop.move(shop.planner, orderId, live);
    shop.service.clock.advance(DAY);
    for (const id of [pointId, second]) await shop.read(id, 86);
    expect((await shop.findings(pointId))[0].state).toBe('living-with');
    for (const id of [pointId, second]) await shop.read(id, 94);
    expect((await shop.findings(pointId))[0]).toMatchObject({ state: 'reported', grade: 'soon' });
    expect(await shop.order(orderId)).toMatchObject({ state: 'agreed', grade: 'soon' });
    expect((await shop.findings(second))[0].state).toBe('reported');
  });

  it('D36: a hot reading taken before the proof and handed in later is evidence to the ended finding and asks a planner', async () => {
    const { pointId, findingId, orderId } = await shop.agreed('93');
    const hot = readingFact(pointId, '96', { takenAt: at(60_000) });
    shop.service.clock.advance(HOUR);
    for (const [by, move] of [
      [shop.planner, { ...A_DAY, to: at(DAY) }],
      [shop.technician, { kind: 'start' }],
    ] as const)
      expect((await shop.move(by, orderId, move)).status).toBe(200);
    const finish = { kind: 'finish', found: 'loose', did: 'tightened', work: 'tightened' };
    expect((await shop.move(shop.technician, orderId, finish)).status).toBe(200);
    // Late, and older than the work: it fails no proof.
    await shop.technician.submit([hot]);
    expect(await shop.order(orderId)).toMatchObject({ state: 'done', grade: 'soon' });
    shop.service.clock.advance(HOUR);
    await shop.read(pointId, 60);
    const later = readingFact(pointId, '97', { takenAt: at(-1.5 * HOUR) });
    await shop.technician.submit([later]);
    const findings = await shop.findings(pointId);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ id: findingId, asksPlanner: true, finding: { ended: { outcome: 'proved' } } });
  });

  it('a correction of a reading that speaks for a finding adds itself, asks a planner and deletes nothing', async () => {
    const { pointId } = await shop.point();
    const wrong = readingFact(pointId, '94', { takenAt: at(0) });
    await shop.technician.submit([wrong]);
    await shop.read(pointId, 49, { corrects: wrong.id });
    expect((await shop.findings(pointId))[0]).toMatchObject({ asksPlanner: true, evidence: 2, grade: 'soon', state: 'reported' });
  });

  it('a reading by a device whose clock runs ahead reports no fault of tomorrow', async () => {
    const { pointId } = await shop.point();
    await shop.technician.submit([readingFact(pointId, '94', { takenAt: at(3 * DAY) })]);
    expect(Date.parse((await shop.findings(pointId))[0].reportedAt)).toBe(shop.service.clock.now());
  });

  it('a target of its own decides the proof, and the stop says it', async () => {
    const { pointId, orderId } = await shop.done('93');
    await shop.planner.call('setTarget', { params: { orderId }, body: { target: { value: 65, direction: 'high' } } });
    const note = (await shop.planner.call('listDue', { query: { days: '60' } })).body.extraStops.find(
      (one: { orderId: string }) => one.orderId === orderId,
    ).note;
    expect(note).toMatch(/below 65\.0\s°C/);
    expect((await shop.read(pointId, 68)).notice).toMatch(/^Not proved/);
    expect((await shop.order(orderId)).state).toBe('agreed');
  });

  it('the kind of failure is named by a person, and the criterion still leads there', async () => {
    const { pointId, finding } = await shop.finding('85');
    expect(
      (await shop.planner.call('nameMode', { params: { findingId: finding.id }, body: { mode: 'misaligned' } })).status,
    ).toBe(200);
    await shop.read(pointId, 91);
    const findings = await shop.findings(pointId);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ grade: 'soon', finding: { mode: 'misaligned', criterion: 'absolute' } });
    await shop.answer(shop.planner, finding.id, { kind: 'turn-down', reason: 'no fault' });
    shop.service.clock.advance(HOUR);
    await shop.read(pointId, 85);
    expect((await shop.findings(pointId)).map((one) => one.finding.mode)).toEqual(['absolute', 'misaligned']);
  });

  it('an order that is stuck says why and who frees it, and goes back where it came from', async () => {
    const { orderId } = await shop.agreed();
    const to = at(DAY);
    await shop.move(shop.planner, orderId, { ...A_DAY, from: at(HOUR), to });
    await shop.move(shop.technician, orderId, { kind: 'stuck', cause: 'no spare bearing', whoFrees: shop.manager.personId });
    expect((await shop.order(orderId)).order.stuck).toMatchObject({ cause: 'no spare bearing', from: 'slotted' });
    expect((await shop.move(shop.manager, orderId, { kind: 'free' })).body.state).toBe('slotted');
    expect((await shop.move(shop.planner, orderId, { kind: 'back-to-agreed', reason: 'window moved' })).body.state).toBe(
      'agreed',
    );
  });

  it('the original due date stays, whatever is slotted, stuck or worse', async () => {
    const { pointId, orderId } = await shop.agreed('85');
    const { dueAt } = await shop.order(orderId);
    await shop.move(shop.planner, orderId, { ...A_DAY, from: at(40 * DAY), to: at(41 * DAY) });
    await shop.read(pointId, 101);
    const order = await shop.order(orderId);
    expect(order).toMatchObject({ dueAt, grade: 'now' });
    expect(order.risk).toBe(15);
    shop.service.clock.advance(31 * DAY);
    expect((await shop.order(orderId)).overdueDays).toBe(1);
  });
});
