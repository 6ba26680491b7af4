/** From a bad value to evidence that it was put right, through the endpoints alone. */
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, readingFact } from '../../support/harness.ts';
import { A_DAY, DAY, FINISHED, HOUR, openWorkshop, type Workshop } from './workshop.ts';

describe('a repair from the value to its proof', () => {
  let shop: Workshop;
  beforeAll(async () => {
    shop = await openWorkshop();
  });
  afterAll(() => shop?.close());

  it('a value of Plan or worse becomes one finding, with a number, a reporter and a date to be answered by', async () => {
    const { pointId, finding } = await shop.finding('85');
    expect(finding).toMatchObject({
      pointId,
      grade: 'plan',
      state: 'reported',
      evidence: 1,
      reportedBy: shop.technician.scope.name,
    });
    expect(finding.number).toBeGreaterThan(0);
    // Plan: three working days from Thursday, to the end of Tuesday.
    expect(finding.answerDueAt).toBe('2026-04-28T22:59:59.999Z');
    expect(finding.lastValues.map((one: { value: number }) => one.value)).toEqual([85]);
    expect(finding.limits).toContainEqual({ grade: 'soon', value: 90 });
    expect(finding.lastWindow.sentence).toContain('No forecast');
    expect(finding.allowed).toEqual(['agree', 'read-again', 'same-as', 'turn-down', 'live-with', 'ask-to-live-with']);
  });

  it('a value of Watch makes none', async () => {
    const { pointId } = await shop.point();
    await shop.read(pointId, 75);
    expect(await shop.findings(pointId)).toEqual([]);
  });

  it('a second reporter joins: more evidence and the worse grade, no second finding', async () => {
    const { pointId, finding } = await shop.finding('85');
    const reply = await shop.planner.submit([readingFact(pointId, '93')]);
    expect(reply.body.results[0].outcome).toBe('created');
    const [joined, ...more] = await shop.findings(pointId);
    expect(more).toEqual([]);
    expect(joined).toMatchObject({ id: finding.id, grade: 'soon', evidence: 2, reportedBy: shop.technician.scope.name });
    expect(Date.parse(joined.answerDueAt)).toBe(shop.service.clock.now() + 4 * HOUR);
  });

  it('planner agrees and slots, technician works, a proof at low load is refused with its reason, a good one proves', async () => {
    const { pointId, finding } = await shop.finding('93');
    await shop.service.concludeAll();
    const agreed = await shop.answer(
      shop.planner,
      finding.id,
      { kind: 'agree', ownerId: shop.technician.personId },
      finding.finding.version,
    );
    expect(agreed).toMatchObject({ status: 200, body: { state: 'agreed' } });
    const { orderId } = agreed.body;
    // Soon on a B machine: seven days.
    expect((await shop.order(orderId)).dueAt).toBe('2026-04-30T22:59:59.999Z');
    expect((await shop.move(shop.planner, orderId, A_DAY)).body.state).toBe('slotted');
    expect((await shop.move(shop.technician, orderId, { kind: 'start' })).body.state).toBe('under-way');
    const finished = await shop.move(shop.technician, orderId, FINISHED);
    expect(finished.body.state).toBe('done');

    const done = await shop.order(orderId);
    expect(done.proofStop).not.toBeNull();
    expect(Date.parse(done.proofDueAt)).toBe(shop.service.clock.now() + 7 * DAY);
    expect(done.target).toEqual({ value: 70, direction: 'high', inWords: expect.stringMatching(/^below 70\.0\s°C$/) });
    expect(done.before.value).toBe(93);
    await shop.service.concludeAll();
    const page = async () => (await shop.planner.call('getAsset', { params: { assetId: done.assetId } })).body;
    expect((await page()).work[0]).toMatchObject({ work: 'tightened', words: FINISHED.did, pointId });
    expect((await page()).points[0].conclusion.reset).toMatchObject({ work: 'tightened' });

    shop.service.clock.advance(2 * HOUR);
    const low = await shop.read(pointId, 45, {
      conditions: { load: { text: '45', unit: '%' }, ambient: { text: '20', unit: '°C' } },
    });
    expect(low.notice).toMatch(/^Not comparable at 45 % load: come back at ≥ 50 % load\./);
    const waiting = await shop.order(orderId);
    expect(waiting.state).toBe('done');
    expect(waiting.proofStop.id).not.toBe(done.proofStop.id);

    shop.service.clock.advance(HOUR);
    const good = await shop.read(pointId, 61);
    expect(good.notice).toMatch(/^Proved: /);
    const proved = await shop.order(orderId);
    expect(proved).toMatchObject({ state: 'proved', after: { value: 61 }, proofStop: null });
    expect(proved.moves.map((one: { move: string }) => one.move)).toEqual(['slot', 'start', 'finish', 'prove']);
    expect(proved.moves.at(-1).by).toBeNull();
    expect((await shop.findings(pointId))[0].finding.ended).toMatchObject({ outcome: 'proved' });
  });

  it('a proof that fails brings the repair back to Agreed under the same number, and counts', async () => {
    const { pointId, orderId } = await shop.done('93');
    const { number } = await shop.order(orderId);
    const bad = await shop.read(pointId, 84);
    expect(bad.notice).toMatch(/^Not proved: /);
    const back = await shop.order(orderId);
    expect(back).toMatchObject({ state: 'agreed', number, proofStop: null, order: { failedProofs: 1 } });
    expect((await shop.findings(pointId)).length).toBe(1);
  });

  it('a new fault after the proof is a new finding that names the one it repeats', async () => {
    const { pointId } = await shop.done('93');
    await shop.read(pointId, 60);
    shop.service.clock.advance(DAY);
    await shop.read(pointId, 88);
    const [again, first] = await shop.findings(pointId);
    expect(again).toMatchObject({ state: 'reported', repeats: first.number, grade: 'plan' });
  });

  it('a bearing is read a second time: its stop is asked for with the first proof', async () => {
    const { pointId, orderId } = await shop.done('93', { name: 'Drive end bearing' });
    await shop.read(pointId, 60);
    const proved = await shop.order(orderId);
    expect(proved).toMatchObject({ state: 'proved', order: { secondProof: { state: 'pending' } } });
    expect(proved.proofStop).not.toBeNull();
    shop.service.clock.advance(28 * DAY);
    expect((await shop.read(pointId, 58)).notice).toMatch(/^Proved: /);
    const again = await shop.order(orderId);
    expect(again).toMatchObject({ state: 'proved', proofStop: null, order: { secondProof: { state: 'proved' } } });
    expect(again.moves.at(-1).move).toBe('second-proof');
  });

  it('a proof read and handed in with its own round in one go stays a stop of that round', async () => {
    const made = await shop.agreed('93');
    const route = {
      id: randomUUID(),
      siteId: shop.siteId,
      code: `P${made.orderId.slice(0, 8)}`,
      name: 'Pumps',
      rule: 'FREQ=DAILY',
      startLocal: '2026-04-23T08:00',
      window: { kind: 'days', daysBefore: 0, daysAfter: 0 },
      pointIds: [made.pointId],
    };
    expect((await shop.planner.call('createRoute', { body: route })).status).toBe(201);
    for (const [by, move] of [
      [shop.planner, A_DAY],
      [shop.technician, { kind: 'start' }],
      [shop.technician, FINISHED],
    ] as const)
      expect((await shop.move(by, made.orderId, move)).status).toBe(200);
    const { proofStop } = await shop.order(made.orderId);

    // Its day has come: the phone without signal sends the whole walk at once.
    const line = await shop.service.db.inTenant(shop.planner.scope, ({ db }) =>
      db.extraStop
        .findFirstOrThrow({ where: { id: proofStop.id } })
        .then(({ roundId }) => db.round.findFirstOrThrow({ where: { id: roundId! } })),
    );
    const begun = Math.max(shop.service.clock.now(), line.earliestAt.getTime()) + HOUR;
    const at = (minutes: number) => new Date(begun + minutes * 60_000).toISOString();
    shop.service.clock.set(at(30));
    const round = (kind: string, minutes: number, over: object) => ({
      ...{ kind, id: factId(at(minutes)), takenAt: at(minutes), roundId: line.id },
      clock: { deviceAt: at(minutes), monotonicMs: 1000, offsetMs: 0 },
      ...over,
    });
    const reply = await shop.technician.submit([
      round('round-taken', 1, { packed: [made.pointId] }),
      readingFact(made.pointId, '61', { takenAt: at(10), roundId: line.id }),
      round('round-handed-in', 20, {}),
    ]);
    expect(reply.body.results.map((one: { outcome: string }) => one.outcome)).toEqual(['created', 'created', 'created']);
    expect(reply.body.results[1].notice).toMatch(/^Proved: /);
    const stops = await shop.service.db.inTenant(shop.planner.scope, ({ db }) =>
      db.extraStop.findMany({ where: { orderId: made.orderId, kind: 'proof' } }),
    );
    expect(stops.filter(({ id }) => id === proofStop.id)).toMatchObject([{ roundId: line.id, answeredBy: expect.any(String) }]);
  });
});
