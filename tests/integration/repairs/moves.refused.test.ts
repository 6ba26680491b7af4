/** What is refused, why, and that nothing was changed by it. */
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { A_DAY, DAY, FINISHED, inDays, openWorkshop, type Workshop } from './workshop.ts';

describe('refused answers and moves', () => {
  let shop: Workshop;
  beforeAll(async () => {
    shop = await openWorkshop();
  });
  afterAll(() => shop?.close());

  const window = async (over: object = {}) => {
    const body = { siteId: shop.siteId, name: 'Laundry shutdown', fromAt: inDays(16), toAt: inDays(16.3), ...over };
    return (await shop.planner.call('createWindow', { body })).body.id as string;
  };

  it('a forbidden move is a 409 that names the moves that are open, and changes nothing', async () => {
    const { orderId } = await shop.agreed();
    const reply = await shop.move(shop.planner, orderId, FINISHED);
    expect(reply).toMatchObject({ status: 409, body: { type: '/problems/move-not-allowed' } });
    expect(reply.body.allowed).toEqual(['slot', 'stuck', 'live-with', 'turn-down', 'merge-into']);
    expect(await shop.order(orderId)).toMatchObject({ state: 'agreed', moves: [] });
  });

  it('a forbidden answer is a 409 that names the answers that are open', async () => {
    const { finding } = await shop.finding();
    expect((await shop.answer(shop.planner, finding.id, { kind: 'turn-down', reason: 'painted lug' })).status).toBe(200);
    const late = await shop.answer(shop.planner, finding.id, { kind: 'agree' });
    expect(late).toMatchObject({ status: 409, body: { type: '/problems/move-not-allowed', allowed: [] } });
  });

  it('a move from an older version is a 412 that tells the present state', async () => {
    const { orderId } = await shop.agreed();
    await shop.move(shop.planner, orderId, A_DAY, 1);
    const stale = await shop.move(shop.planner, orderId, { kind: 'turn-down', reason: 'scrapped' }, 1);
    expect(stale).toMatchObject({
      status: 412,
      body: { type: '/problems/stale-version', present: { version: 2, state: 'slotted' } },
    });
  });

  it('a role that may not answer is a 403 that names who may', async () => {
    const { finding } = await shop.finding();
    const reply = await shop.answer(shop.technician, finding.id, { kind: 'agree' });
    expect(reply).toMatchObject({ status: 403, body: { type: '/problems/not-allowed' } });
    expect(reply.body.detail).toContain('planner, manager');
  });

  it('D56: a trainee hands in readings but answers nothing and moves nothing', async () => {
    const { finding } = await shop.finding();
    const { orderId } = await shop.agreed();
    for (const answer of [{ kind: 'agree' }, { kind: 'read-again' }, { kind: 'turn-down', reason: 'no fault' }])
      expect((await shop.answer(shop.trainee, finding.id, answer)).status).toBe(403);
    expect((await shop.move(shop.trainee, orderId, { kind: 'stuck', cause: 'no ladder', whoFrees: 'stores' })).status).toBe(403);
  });

  it('D57: nobody accepts a risk they asked to accept themselves', async () => {
    const { finding } = await shop.finding('85');
    const request = { until: inDays(60), reason: 'part arrives in June' };
    expect((await shop.answer(shop.planner, finding.id, { kind: 'ask-to-live-with', ...request })).status).toBe(200);
    const own = await shop.answer(shop.planner, finding.id, { kind: 'live-with', ...request });
    expect(own).toMatchObject({ status: 403, body: { type: '/problems/not-allowed' } });
    expect(own.body.detail).toContain('their own request');
    const second = await shop.service.person(shop.organisationId, ['planner']);
    expect((await shop.answer(second, finding.id, { kind: 'live-with', ...request })).body.state).toBe('living-with');
  });

  it('living with Soon is a manager’s to accept, with Plan a planner’s', async () => {
    const live = { kind: 'live-with', until: inDays(20), reason: 'tenant moves out' };
    const soon = (await shop.finding('93')).finding.id;
    expect((await shop.answer(shop.planner, soon, live)).status).toBe(403);
    expect((await shop.answer(shop.manager, soon, live)).status).toBe(200);
    const plan = (await shop.finding('85')).finding.id;
    expect((await shop.answer(shop.manager, plan, live)).status).toBe(403);
    expect((await shop.answer(shop.planner, plan, live)).status).toBe(200);
  });

  it('living with a fault needs an end date ahead, at most twelve months away', async () => {
    const { finding } = await shop.finding();
    for (const until of [inDays(-1), inDays(400)]) {
      const reply = await shop.answer(shop.planner, finding.id, { kind: 'live-with', until, reason: 'later' });
      expect(reply).toMatchObject({ status: 422, body: { type: '/problems/reason-needed' } });
    }
  });

  it('only whoever has the ball, or a planner, starts and finishes', async () => {
    const { orderId } = await shop.agreed();
    await shop.move(shop.planner, orderId, A_DAY);
    const other = await shop.service.person(shop.organisationId, ['technician']);
    expect((await shop.move(other, orderId, { kind: 'start' })).status).toBe(403);
    await shop.move(shop.planner, orderId, { kind: 'give', ownerId: other.personId });
    expect((await shop.move(shop.technician, orderId, { kind: 'start' })).status).toBe(403);
    expect((await shop.move(other, orderId, { kind: 'start' })).status).toBe(200);
  });

  it('the ball is given to members only', async () => {
    const { orderId } = await shop.agreed();
    expect((await shop.move(shop.planner, orderId, { kind: 'give', ownerId: randomUUID() })).status).toBe(404);
  });

  it('an order goes into a window that is ahead, not called off, and stops its machine', async () => {
    const { orderId } = await shop.agreed();
    const other = await shop.agreed();
    const slot = (windowId: string) => shop.move(shop.planner, orderId, { kind: 'slot', windowId });
    expect((await slot(randomUUID())).status).toBe(404);
    expect((await slot(await window({ fromAt: inDays(-2), toAt: inDays(-1) }))).status).toBe(422);
    const cancelled = await window();
    await shop.planner.call('changeWindow', { params: { windowId: cancelled }, body: { version: 1, cancel: true } });
    expect((await slot(cancelled)).body).toMatchObject({ type: '/problems/reason-needed' });
    expect((await slot(await window({ assetId: other.assetId }))).status).toBe(422);
    const good = await window();
    expect((await slot(good)).body.state).toBe('slotted');
    expect((await shop.order(orderId)).order.slot).toMatchObject({ windowId: good, from: Date.parse(inDays(16)) });
    expect((await shop.move(shop.planner, orderId, { ...A_DAY, from: inDays(-2), to: inDays(-1) })).status).toBe(409);
  });

  it('a day that is over is no slot', async () => {
    const { orderId } = await shop.agreed();
    expect((await shop.move(shop.planner, orderId, { ...A_DAY, from: inDays(-2), to: inDays(-1) })).status).toBe(422);
    expect((await shop.move(shop.planner, orderId, { kind: 'slot' })).status).toBe(422);
  });

  it('D53: merging in a circle is refused, directly and through others', async () => {
    const [a, b, c] = [(await shop.finding()).finding, (await shop.finding()).finding, (await shop.finding()).finding];
    const same = (one: { id: string }, other: { id: string }) =>
      shop.answer(shop.planner, one.id, { kind: 'same-as', findingId: other.id });
    expect((await same(a, a)).status).toBe(409);
    expect((await same(a, b)).status).toBe(200);
    expect((await same(b, a)).status).toBe(409);
    expect((await same(b, c)).status).toBe(200);
    expect((await same(c, a)).status).toBe(409);
    const head = (await shop.findings(c.pointId))[0];
    expect(head).toMatchObject({ state: 'reported', evidence: 3 });
  });

  it('D53: orders merge without circles, and their findings go along', async () => {
    const [a, b] = [await shop.agreed('85'), await shop.agreed('93')];
    const merge = (one: string, other: string) => shop.move(shop.planner, one, { kind: 'merge-into', orderId: other });
    expect((await merge(a.orderId, a.orderId)).status).toBe(409);
    expect((await merge(b.orderId, a.orderId)).body.state).toBe('merged');
    expect((await merge(a.orderId, b.orderId)).status).toBe(409);
    const head = await shop.order(a.orderId);
    expect(head).toMatchObject({ state: 'agreed', grade: 'soon' });
    expect(head.evidence.map((one: { value: number }) => one.value).sort()).toEqual([85, 93]);
    await shop.move(shop.planner, a.orderId, { kind: 'turn-down', reason: 'both machines are scrapped' });
    for (const { pointId } of [a, b])
      expect((await shop.findings(pointId))[0].finding.ended).toMatchObject({ outcome: 'turned-down' });
  });

  it('D87: a lower raw figure at a lower load than that of the finding proves nothing', async () => {
    const { pointId, orderId } = await shop.done('93');
    const load = { load: { text: '70', unit: '%' }, ambient: { text: '20', unit: '°C' } };
    const refused = await shop.read(pointId, 50, { conditions: load });
    expect(refused.notice).toMatch(/^Not comparable at 70 % load: come back at 85 to 110 % load\./);
    expect(await shop.order(orderId)).toMatchObject({ state: 'done', order: { failedProofs: 0 } });
  });

  it('a repair that cannot be proved is closed by a person with a reason, and its stop goes', async () => {
    const { pointId, orderId } = await shop.done();
    const reply = await shop.move(shop.manager, orderId, { kind: 'close-unproved', reason: 'machine taken out' });
    expect(reply.body.state).toBe('closed-unproved');
    expect((await shop.order(orderId)).proofStop).toBeNull();
    expect((await shop.findings(pointId))[0].finding.ended).toMatchObject({ outcome: 'closed-unproved' });
  });

  it('work cannot have been finished later than now, and is of a known kind', async () => {
    const { orderId } = await shop.agreed();
    await shop.move(shop.planner, orderId, A_DAY);
    await shop.move(shop.technician, orderId, { kind: 'start' });
    const ahead = new Date(shop.service.clock.now() + DAY).toISOString();
    expect((await shop.move(shop.technician, orderId, { ...FINISHED, at: ahead })).status).toBe(422);
    expect((await shop.move(shop.technician, orderId, { ...FINISHED, work: 'painted' })).status).toBe(422);
    expect((await shop.order(orderId)).state).toBe('under-way');
  });

  it('a foreign organisation sees no finding and no order, by list or by id', async () => {
    const { findingId, orderId } = await shop.agreed();
    const away = await shop.service.organisation('Elsewhere');
    const stranger = await shop.service.person(away.id, ['planner', 'manager']);
    expect((await stranger.call('listFindings', { query: { which: 'all' } })).body.findings).toEqual([]);
    expect((await stranger.call('listOrders')).body).toMatchObject({ orders: [], counts: { open: 0, overdue: 0 } });
    expect((await stranger.call('getOrder', { params: { orderId } })).status).toBe(404);
    expect((await shop.answer(stranger, findingId, { kind: 'turn-down', reason: 'mine' })).status).toBe(404);
    expect((await shop.move(stranger, orderId, { kind: 'turn-down', reason: 'mine' })).status).toBe(404);
  });
});
