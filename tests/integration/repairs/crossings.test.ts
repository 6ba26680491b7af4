/** Findings and orders that were merged, renamed, brought back or sent to be read again, and then met by something else: nothing is left open unseen. */
import { randomUUID } from 'node:crypto';
import { bringBackNow, findLivingOver } from '@heatround/services/repairs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, type Reply, readingFact } from '../../support/harness.ts';
import { A_DAY, DAY, FINISHED, HOUR, openWorkshop, type Workshop } from './workshop.ts';

describe('findings and orders that cross', () => {
  let shop: Workshop;
  beforeAll(async () => {
    shop = await openWorkshop();
  });
  afterAll(() => shop?.close());

  const iso = (ms = 0): string => new Date(shop.service.clock.now() + ms).toISOString();
  const pass = (ms: number) => shop.service.clock.advance(ms);
  const aFact = (kind: string, pointId: string, over: object, ms = 0) => ({
    kind,
    id: factId(iso(ms)),
    takenAt: iso(ms),
    clock: { deviceAt: iso(ms), monotonicMs: 0, offsetMs: 0 },
    pointId,
    ...over,
  });
  const stopsOf = async (where: object): Promise<string[]> => {
    const found = await shop.service.db.inTenant(shop.planner.scope, ({ db }) =>
      db.extraStop.findMany({ where: { closedAt: null, ...where } }),
    );
    return found.map(({ kind }) => kind);
  };
  const good = ({ status, body }: Reply): Reply['body'] => {
    expect(status, JSON.stringify(body)).toBe(200);
    return body;
  };
  const move = async (orderId: string, given: object) => good(await shop.move(shop.planner, orderId, given));
  const answer = async (findingId: string, given: object) => good(await shop.answer(shop.planner, findingId, given));
  const finish = async (orderId: string): Promise<void> => {
    await move(orderId, { ...A_DAY, from: iso(DAY), to: iso(9 * DAY) });
    await move(orderId, { kind: 'start' });
    await move(orderId, FINISHED);
  };
  const rename = async (findingId: string, mode: string) =>
    good(await shop.planner.call('nameMode', { params: { findingId }, body: { mode } }));
  const live = (days = 30) => ({ kind: 'live-with', until: iso(days * DAY), reason: 'later' });
  const READ_AGAIN = { kind: 'read-again', walkerId: null };
  const BACK = { kind: 'come-back', cause: 'ended-early' };
  /** An order that was lived with and came back, its finding asked to be read again. */
  const backAndAsked = async () => {
    const made = await shop.agreed();
    await move(made.orderId, live());
    await move(made.orderId, BACK);
    await answer(made.findingId, READ_AGAIN);
    return made;
  };
  const stateOf = async (pointId: string): Promise<string> => (await shop.findings(pointId))[0].state;

  it('what ended or came back is not asked for again, and a proof stop stays', async () => {
    const down = await backAndAsked();
    await move(down.orderId, { kind: 'turn-down', reason: 'scrapped' });
    expect(await stopsOf({ findingId: down.findingId })).toEqual([]);

    const back = await backAndAsked();
    await finish(back.orderId);
    await answer(back.findingId, BACK);
    expect(await stopsOf({ orderId: back.orderId })).toEqual(['proof']);

    const { finding, pointId } = await shop.finding();
    const first = await shop.service.db.inTenant(shop.planner.scope, ({ db }) => db.fact.findFirst({ where: { pointId } }));
    await answer(finding.id, READ_AGAIN);
    pass(HOUR);
    const work = { work: 'tightened', found: 'loose', did: 'tightened', beforeId: first!.id };
    const sent = await shop.technician.submit([aFact('put-right', pointId, work)]);
    expect(sent.body.results[0].outcome).toBe('created');
    expect(await stopsOf({ pointId })).toEqual(['proof']);
  });

  it('a kind of failure that was named otherwise leaves its key to nobody', async () => {
    const words = (pointId: string, text: string) =>
      shop.technician.submit([aFact('finding-reported', pointId, { grade: 'plan', words: text })]);
    const { pointId } = await shop.point();
    await words(pointId, 'rattles');
    const [rattling] = await shop.findings(pointId);
    await rename(rattling.id, 'loose guard');
    await answer(rattling.id, { kind: 'turn-down', reason: 'no' });
    pass(HOUR);
    expect((await words(pointId, 'smokes')).body.results[0]).toMatchObject({ outcome: 'created' });
    expect(await shop.findings(pointId)).toHaveLength(2);

    const hot = await shop.finding('85');
    await rename(hot.finding.id, 'loose lug');
    await answer(hot.finding.id, { kind: 'turn-down', reason: 'no' });
    pass(HOUR);
    const before = readingFact(hot.pointId, '75', { takenAt: iso() });
    const work = { work: 'tightened', found: 'loose', did: 'tightened', beforeId: before.id };
    const sent = await shop.technician.submit([before, aFact('put-right', hot.pointId, work, 1000)]);
    expect(sent.body.results.map(({ outcome }: Reply['body']) => outcome)).toEqual(['created', 'created']);
    expect(await shop.findings(hot.pointId)).toHaveLength(2);
  });

  it('taken up anew, named otherwise and taken up anew again are three findings', async () => {
    const { pointId, findingId } = await shop.done('93');
    await rename(findingId, 'dry');
    await shop.read(pointId, 60);
    const late = async (value: string, ms: number): Promise<string> => {
      pass(HOUR);
      await shop.technician.submit([readingFact(pointId, value, { takenAt: iso(ms) })]);
      const look = { kind: 'take-up', reason: value };
      return good(await shop.planner.call('lookAgainAt', { params: { findingId }, body: { look } })).taken.id;
    };
    const second = await late('97', -1.5 * HOUR);
    await rename(second, 'wet');
    await answer(second, { kind: 'turn-down', reason: 'no' });
    await late('98', -2.6 * HOUR);
    expect(await shop.findings(pointId)).toHaveLength(3);
  });

  it('of two findings agreed to under one id of an order one gets it, the other is told', async () => {
    const seen: number[] = [];
    for (let turn = 0; turn < 5; turn++) {
      const pair = [await shop.finding(), await shop.finding()];
      const agree = { kind: 'agree', orderId: randomUUID(), ownerId: null };
      const replies = await Promise.all(pair.map(({ finding }) => shop.answer(shop.planner, finding.id, agree)));
      seen.push(...replies.map(({ status }) => status));
    }
    expect([...new Set(seen)].sort()).toEqual([200, 409]);
  });

  it('a worse fault brings back the order it was merged into, however far, and the finding of that one', async () => {
    for (const way of ['same-as', 'merge-into', 'read'] as const) {
      const [a, b] = [await shop.agreed(), await shop.agreed()];
      await move(a.orderId, { kind: 'merge-into', orderId: b.orderId });
      await move(b.orderId, live());
      if (way === 'same-as') {
        const c = await shop.finding('95');
        await answer(c.finding.id, { kind: 'same-as', findingId: a.findingId });
      } else if (way === 'merge-into') {
        const c = await shop.agreed('93');
        await move(c.orderId, { kind: 'merge-into', orderId: a.orderId });
      } else await shop.read(a.pointId, 95);
      expect((await shop.order(b.orderId)).state, way).toBe('agreed');
      expect(await stateOf(b.pointId), way).toBe('reported');
    }
  });

  it('what was turned down with its order takes the others of that order along', async () => {
    const [a, b] = [await shop.agreed(), await shop.agreed()];
    await move(a.orderId, { kind: 'merge-into', orderId: b.orderId });
    await move(b.orderId, live());
    await move(b.orderId, BACK);
    await answer(b.findingId, { kind: 'turn-down', reason: 'both were the painter' });
    for (const { pointId } of [a, b])
      expect((await shop.findings(pointId))[0]).toMatchObject({ finding: { ended: { outcome: 'turned-down' } } });
  });

  it('an ended finding is not brought back by the date until which it was lived with', async () => {
    const [a, b] = [await shop.agreed(), await shop.agreed()];
    await move(a.orderId, live(3));
    await move(a.orderId, BACK);
    await move(a.orderId, { kind: 'merge-into', orderId: b.orderId });
    await answer(a.findingId, live(3));
    await move(b.orderId, BACK);
    await move(b.orderId, { kind: 'turn-down', reason: 'no fault' });
    pass(4 * DAY);
    for (const due of await findLivingOver(shop.service.deps, 100)) await bringBackNow(shop.service.deps, due);
    expect(await findLivingOver(shop.service.deps, 100)).toEqual([]);
  });

  it('faults at two sites are not one, nor are their repairs', async () => {
    const { id: siteId } = (await shop.planner.call('createSite', { body: { name: 'Depot', zone: 'Europe/Dublin' } })).body;
    const building = await shop.planner.call('createBuilding', { params: { siteId }, body: { name: 'Store' } });
    const room = await shop.planner.call('createRoom', { params: { buildingId: building.body.id }, body: { name: 'Bay' } });
    const { pointIds } = await shop.service.asset(shop.planner, room.body.id, { points: [{ name: 'Housing' }] });
    await shop.read(pointIds[0]!, 85);
    const [far] = await shop.findings(pointIds[0]!);
    const { finding } = await shop.finding('85');
    const same = await shop.answer(shop.planner, finding.id, { kind: 'same-as', findingId: far.id });
    expect(same.body).toMatchObject({ status: 409, detail: expect.stringContaining('at another site') });
    const farOrder = (await answer(far.id, { kind: 'agree', ownerId: null })).orderId;
    const { orderId } = await shop.agreed();
    const merged = await shop.move(shop.planner, orderId, { kind: 'merge-into', orderId: farOrder });
    expect(merged.body).toMatchObject({ status: 409, detail: expect.stringContaining('at another site') });
  });

  it('a reading that does not count speaks for a fault, but proves and answers nothing', async () => {
    const { pointId, orderId } = await shop.done();
    const ahead = await shop.technician.submit([readingFact(pointId, '55', { takenAt: iso(365 * DAY) })]);
    expect(ahead.body.results[0]).toMatchObject({ outcome: 'created', notice: expect.stringContaining('does not count') });
    expect(ahead.body.results[0].notice).not.toContain('Proved');
    expect((await shop.order(orderId)).state).toBe('done');
    const hot = await shop.finding();
    await answer(hot.finding.id, READ_AGAIN);
    await shop.technician.submit([readingFact(hot.pointId, '96', { takenAt: iso(365 * DAY) })]);
    expect((await shop.findings(hot.pointId))[0]).toMatchObject({ state: 'read-again', grade: 'soon', evidence: 2 });
  });

  it('of two contents under one id the one that counts makes its finding, whichever came first', async () => {
    const second: boolean[] = [];
    for (let turn = 0; turn < 8; turn++) {
      const { pointId } = await shop.point();
      const mild = readingFact(pointId, '55', { takenAt: iso() });
      await shop.technician.submit([mild]);
      await shop.technician.submit([{ ...mild, inputs: { value: { text: '105', unit: '°C' } } }]);
      const [counts] = (await shop.planner.call('listReadings', { params: { pointId } })).body.readings;
      second.push(counts.value === 105);
      expect(await shop.findings(pointId)).toHaveLength(counts.value === 105 ? 1 : 0);
    }
    expect(new Set(second).size).toBe(2);
  });

  it('what was read and told before a machine went out of service makes its finding, what came after does not', async () => {
    const { pointId, assetId } = await shop.point();
    pass(HOUR);
    const out = { version: 1, outOfService: { reason: 'overhaul' } };
    good(await shop.planner.call('changeAsset', { params: { assetId }, body: out }));
    pass(HOUR);
    const told = { grade: 'now', words: 'burning' };
    await shop.technician.submit([aFact('finding-reported', pointId, told), readingFact(pointId, '120', { takenAt: iso() })]);
    expect(await shop.findings(pointId)).toEqual([]);
    await shop.technician.submit([readingFact(pointId, '120', { takenAt: iso(-1.5 * HOUR) })]);
    await shop.technician.submit([aFact('finding-reported', pointId, told, -1.5 * HOUR)]);
    expect(await shop.findings(pointId)).toMatchObject([{ state: 'reported', grade: 'now', evidence: 2, words: 'burning' }]);
  });

  it('a chain of merges while its head ends: no finding stays with an order that is over', { timeout: 60_000 }, async () => {
    for (let turn = 0; turn < 6; turn++) {
      const [a, b, head] = [await shop.agreed(), await shop.agreed(), await shop.agreed()];
      await move(b.orderId, { kind: 'merge-into', orderId: head.orderId });
      const replies = await Promise.all([
        shop.move(shop.planner, a.orderId, { kind: 'merge-into', orderId: b.orderId }),
        shop.move(shop.manager, head.orderId, { kind: 'turn-down', reason: 'painted' }),
      ]);
      expect(replies.every(({ status }) => status === 200 || status === 409)).toBe(true);
      const [one] = await shop.findings(a.pointId);
      const order = await shop.order(one.finding.orderId);
      expect([one.finding.ended === null, order.order.endedAt === null]).toSatisfy(([x, y]: boolean[]) => x === y);
    }
  });

  it('merges that cross while readings arrive leave one open order, the worst grade on it, every finding with it', {
    timeout: 60_000,
  }, async () => {
    for (let turn = 0; turn < 3; turn++) {
      const made = [await shop.agreed(), await shop.agreed(), await shop.agreed(), await shop.agreed()] as const;
      const [a, b, c, d] = made;
      const merge = (one: typeof a, into: typeof a) =>
        shop.move(shop.planner, one.orderId, { kind: 'merge-into', orderId: into.orderId });
      const read = (...values: [string, string][]) =>
        shop.technician.submit(values.map(([pointId, value]) => readingFact(pointId, value, { takenAt: iso() })));
      const replies = await Promise.all([
        ...[merge(a, b), merge(b, a), merge(c, d), merge(d, a), merge(c, a)],
        read([a.pointId, '99'], [d.pointId, '99']),
        read([d.pointId, '98'], [a.pointId, '98']),
      ]);
      expect(replies.filter(({ status }) => status >= 500)).toEqual([]);
      for (const { body } of replies.slice(5))
        expect(body.results.map(({ outcome }: Reply['body']) => outcome)).toEqual(['created', 'created']);
      const orders = await Promise.all(made.map(({ orderId }) => shop.order(orderId)));
      const open = orders.filter(({ order }) => order.endedAt === null);
      const findings = (await Promise.all(made.map(({ pointId }) => shop.findings(pointId)))).flat();
      const openIds = open.map(({ id }) => id);
      expect(findings.filter(({ finding }) => !openIds.includes(finding.orderId))).toEqual([]);
      for (const { id, grade } of open) {
        const own = findings.filter(({ finding }) => finding.orderId === id);
        expect(
          own.some((one) => one.grade === 'soon'),
          id,
        ).toBe(grade === 'soon');
      }
    }
  });

  it('somebody who may not read is not sent to read, nor given a repair', async () => {
    const guest = await shop.service.person(shop.organisationId, ['guest-reader'], { name: 'Gale Guest' });
    const { finding } = await shop.finding();
    const sent = await shop.answer(shop.planner, finding.id, { kind: 'read-again', walkerId: guest.personId });
    expect(sent.body).toMatchObject({
      status: 409,
      detail: expect.stringMatching(/^Gale Guest may not do that; it belongs to: /),
    });
    const { orderId } = await shop.agreed();
    const given = await shop.move(shop.planner, orderId, { kind: 'give', ownerId: guest.personId });
    expect(given.status).toBe(409);
    const { id: elsewhere } = (await shop.planner.call('createSite', { body: { name: 'Annex', zone: 'Europe/Dublin' } })).body;
    const far = await shop.service.person(shop.organisationId, ['technician'], { name: 'Fay Far', siteIds: [elsewhere] });
    const there = await shop.answer(shop.planner, finding.id, { kind: 'read-again', walkerId: far.personId });
    expect(there.body).toMatchObject({ status: 409, detail: expect.stringMatching(/^Fay Far was not given this site/) });
  });
});
