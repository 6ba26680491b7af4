/** The queues: their order, their pages, and that no page is paid for with history. */

import { findOrdersToRank, rankOrdersJob } from '@heatround/services/repairs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { DAY, openWorkshop, type Workshop } from './workshop.ts';

describe('the queues', () => {
  let shop: Workshop;
  beforeAll(async () => {
    shop = await openWorkshop();
  });
  afterAll(() => shop?.close());

  const pages = async (name: 'listOrders' | 'listFindings', what: 'orders' | 'findings', query: Record<string, string>) => {
    const found: { id: string; number: number; risk: number; grade: string; dueAt: string | null; overdueDays: number }[] = [];
    for (let after: string | null = ''; after !== null; ) {
      const reply = await shop.planner.call(name, { query: { ...query, pageSize: '2', ...(after ? { after } : {}) } });
      expect(reply.status, JSON.stringify(reply.body)).toBe(200);
      expect(reply.body[what].length).toBeLessThanOrEqual(2);
      found.push(...reply.body[what]);
      after = reply.body.next;
    }
    return found;
  };

  it('orders come critical first, then by risk, then by due date, page by page without gaps or repetitions', async () => {
    for (const value of ['85', '101', '93', '86', '94', '87', '102']) {
      await shop.agreed(value);
      shop.service.clock.advance(DAY);
    }
    const orders = await pages('listOrders', 'orders', {});
    expect(orders.map(({ grade }) => grade)).toEqual(['now', 'now', 'soon', 'soon', 'plan', 'plan', 'plan']);
    const plans = orders.filter(({ grade }) => grade === 'plan').map(({ dueAt }) => dueAt!);
    expect(plans).toEqual([...plans].sort());
    expect(new Set(orders.map(({ id }) => id)).size).toBe(7);
    const { counts } = (await shop.planner.call('listOrders')).body;
    expect(counts).toEqual({ open: 7, overdue: orders.filter(({ overdueDays }) => overdueDays > 0).length });
  });

  it('by due date, the longest overdue comes first', async () => {
    const orders = await pages('listOrders', 'orders', { order: 'overdue' });
    const due = orders.map(({ dueAt }) => dueAt!);
    expect(due).toEqual([...due].sort());
    expect(orders[0]!.overdueDays).toBeGreaterThan(0);
  });

  it('mine are those whose ball I have; ended ones come newest first', async () => {
    expect((await shop.technician.call('listOrders', { query: { which: 'mine' } })).body.orders).toHaveLength(7);
    expect((await shop.manager.call('listOrders', { query: { which: 'mine' } })).body.orders).toEqual([]);
    const [first, second] = await pages('listOrders', 'orders', {});
    for (const order of [first!, second!]) {
      await shop.move(shop.planner, order.id, { kind: 'turn-down', reason: 'scrapped' });
      shop.service.clock.advance(DAY);
    }
    expect((await pages('listOrders', 'orders', { which: 'ended' })).map(({ id }) => id)).toEqual([second!.id, first!.id]);
    expect(await pages('listOrders', 'orders', {})).toHaveLength(5);
  });

  it('findings to answer come by grade Now first, then by last sensible window, then by risk, page by page', async () => {
    for (const value of ['85', '101', '93', '86']) {
      await shop.finding(value);
      shop.service.clock.advance(DAY);
    }
    const findings = await pages('listFindings', 'findings', {});
    expect(findings.map(({ grade }) => grade)).toEqual(['now', 'soon', 'plan', 'plan']);
    const all = await pages('listFindings', 'findings', { which: 'all' });
    expect(all.map(({ number }) => number)).toEqual(all.map(({ number }) => number).sort((a, b) => b - a));
  });

  it('a line names the last window before the fault gets worse, and those that come too late', async () => {
    const { assetId, pointId } = await shop.point();
    const start = shop.service.clock.now() - 60 * DAY;
    for (let i = 0; i < 20; i++) {
      const takenAt = new Date(start + i * 3 * DAY).toISOString();
      await shop.read(pointId, (70 + i * 0.8 + (i % 3) * 0.2).toFixed(1), { takenAt });
    }
    await shop.service.concludeAll();
    const near = { siteId: shop.siteId, name: 'Near', fromAt: new Date(shop.service.clock.now() + DAY).toISOString() };
    const far = { ...near, name: 'Far', fromAt: new Date(shop.service.clock.now() + 300 * DAY).toISOString() };
    for (const one of [near, far]) {
      const toAt = new Date(Date.parse(one.fromAt) + DAY / 3).toISOString();
      expect((await shop.planner.call('createWindow', { body: { ...one, toAt } })).status).toBe(201);
    }
    const [finding] = await shop.findings(pointId);
    expect(finding.conclusion.projections.length).toBeGreaterThan(0);
    expect(finding.lastWindow.window.words).toBe('Near');
    expect(finding.lastWindow.tooLate.map((one: { window: { words: string } }) => one.window.words)).toEqual(['Far']);
    expect(finding.lastValues).toHaveLength(12);
    // The queue puts it before others of its kind that have no window to lose.
    const { findings } = (await shop.planner.call('listFindings')).body;
    const plans = findings.filter((one: { grade: string }) => one.grade === 'plan');
    expect(plans[0].pointId).toBe(pointId);
    expect(plans[0].assetId).toBe(assetId);
  });

  it('the risk of an open order follows its forecast, and the next window as it comes nearer', async () => {
    const { orderId, pointId } = await shop.agreed('81');
    const rank = async () => {
      for (const payload of await findOrdersToRank(shop.service.deps, 100))
        await rankOrdersJob.handle(shop.service.deps, payload);
      return shop.order(orderId);
    };
    const window = { siteId: shop.siteId, name: 'Soon', fromAt: new Date(shop.service.clock.now() + 100 * DAY).toISOString() };
    const toAt = new Date(Date.parse(window.fromAt) + DAY / 3).toISOString();
    expect((await shop.planner.call('createWindow', { body: { ...window, toAt } })).status).toBe(201);
    const before = await rank();
    for (let i = 0; i < 20; i++) {
      shop.service.clock.advance(2 * DAY);
      await shop.read(pointId, (81 + i * 0.4 + (i % 3) * 0.1).toFixed(1));
    }
    await shop.service.concludeAll();
    const after = await rank();
    expect(after.risk).toBeGreaterThan(before.risk);
    expect(await findOrdersToRank(shop.service.deps, 100)).toEqual([]);
  });

  it('a mark that is not ours is refused', async () => {
    for (const [name, after] of [
      ['listOrders', 'x'],
      ['listFindings', 'W10='],
    ] as const)
      expect((await shop.planner.call(name, { query: { after } })).status).toBe(422);
  });
});
