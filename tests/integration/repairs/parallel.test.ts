/** Two people, two phones, the same moment: real requests side by side on one database. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, readingFact } from '../../support/harness.ts';
import { A_DAY, inDays, openWorkshop, type Workshop } from './workshop.ts';

describe('at the same moment', () => {
  let shop: Workshop;
  beforeAll(async () => {
    shop = await openWorkshop();
  });
  afterAll(() => shop?.close());
  const now = () => new Date(shop.service.clock.now()).toISOString();

  it('D44: two planners slot the same order: one wins, the other is told the present state, nothing is lost', async () => {
    const second = await shop.service.person(shop.organisationId, ['planner']);
    for (let turn = 0; turn < 5; turn++) {
      const { orderId } = await shop.agreed();
      const other = { ...A_DAY, from: inDays(9), to: inDays(9.2) };
      const replies = await Promise.all([shop.move(shop.planner, orderId, A_DAY, 1), shop.move(second, orderId, other, 1)]);
      expect(replies.map(({ status }) => status).sort()).toEqual([200, 412]);
      const won = replies.find(({ status }) => status === 200)!;
      const lost = replies.find(({ status }) => status === 412)!;
      expect(lost.body.present).toEqual({ version: won.body.version, state: 'slotted' });
      const order = await shop.order(orderId);
      expect(order.moves).toHaveLength(1);
      expect(order.order.slot.from).toBe(Date.parse(replies[0] === won ? A_DAY.from : other.from));
    }
  });

  it('two people agree to one finding: one order is made', async () => {
    const { finding } = await shop.finding();
    const replies = await Promise.all(
      [shop.planner, shop.manager, shop.planner, shop.manager].map((by) => shop.answer(by, finding.id, { kind: 'agree' })),
    );
    expect(new Set(replies.map(({ body }) => body.orderId)).size).toBe(1);
    expect(replies.map(({ status }) => status)).toEqual([200, 200, 200, 200]);
    expect((await shop.order(replies[0]!.body.orderId)).findingMoves).toHaveLength(1);
  });

  it('six phones with the same fault make one finding with six pieces of evidence', async () => {
    const { pointId } = await shop.point();
    const people = await Promise.all(Array.from({ length: 6 }, () => shop.service.person(shop.organisationId, ['technician'])));
    const replies = await Promise.all(
      people.map((by, i) => by.submit([readingFact(pointId, String(85 + i), { takenAt: now() })])),
    );
    for (const reply of replies) expect(reply.body.results[0].outcome).toBe('created');
    const findings = await shop.findings(pointId);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ evidence: 6, grade: 'soon' });
  });

  it('D48: the same upload twice in parallel makes one finding with one piece of evidence', async () => {
    const { pointId } = await shop.point();
    const fact = readingFact(pointId, '95', { takenAt: now() });
    const replies = await Promise.all([1, 2, 3].map(() => shop.technician.submit([fact])));
    expect(replies.map(({ body }) => body.results[0].outcome).sort()).toEqual(['created', 'duplicate', 'duplicate']);
    const findings = await shop.findings(pointId);
    expect(findings).toHaveLength(1);
    expect(findings[0].evidence).toBe(1);
  });

  it('D45: a finding is merged while a third adds evidence: the evidence reaches the one that stands for it', async () => {
    for (let turn = 0; turn < 5; turn++) {
      const [a, b] = [await shop.finding('85'), await shop.finding('85')];
      const fact = readingFact(a.pointId, '92', { takenAt: now(), id: factId(now()) });
      const [merged, added] = await Promise.all([
        shop.answer(shop.planner, a.finding.id, { kind: 'same-as', findingId: b.finding.id }),
        shop.technician.submit([fact]),
      ]);
      expect(merged.status, JSON.stringify(merged.body)).toBe(200);
      expect(added.body.results[0].outcome).toBe('created');
      const head = (await shop.findings(b.pointId))[0];
      expect(head).toMatchObject({ state: 'reported', evidence: 3, grade: 'soon' });
    }
  });

  it('D46: an order is closed unproved while its proof is handed in: it ends once, and the reading is kept', async () => {
    for (let turn = 0; turn < 3; turn++) {
      const { pointId, orderId } = await shop.done();
      const [closed, handed] = await Promise.all([
        shop.move(shop.planner, orderId, { kind: 'close-unproved', reason: 'no access any more' }),
        shop.technician.submit([readingFact(pointId, '60', { takenAt: now() })]),
      ]);
      expect(handed.body.results[0].outcome).toBe('created');
      const order = await shop.order(orderId);
      expect(order.state).toBe(closed.status === 200 ? 'closed-unproved' : 'proved');
      expect(order.moves.filter(({ to }: { to: string }) => to === order.state)).toHaveLength(1);
    }
  });

  it('numbers are given once each, however many findings come at once', async () => {
    const points = await Promise.all(Array.from({ length: 8 }, () => shop.point()));
    await Promise.all(points.map(({ pointId }) => shop.read(pointId, 85)));
    const numbers = (await Promise.all(points.map(({ pointId }) => shop.findings(pointId)))).map(([one]) => one.number);
    expect(new Set(numbers).size).toBe(8);
  });
});
