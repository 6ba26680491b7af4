/** Stops are placed while the rounds they go on are made anew, called off, handed in or taken away, and while machines leave. */
import { randomUUID } from 'node:crypto';
import { setTimeout } from 'node:timers/promises';
import type { TenantDb } from '@heatround/platform/database';
import { endRoutes, placeStop, settleRounds } from '@heatround/services/rounds';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Reply } from '../../support/harness.ts';
import { handedIn, route, sweepRounds, type Walk } from '../rounds/walking.ts';
import { A_DAY, DAY, FINISHED, openWorkshop, type Workshop } from './workshop.ts';

/** So many turns of two at once; a gap between them showed in every second one. */
const TURNS = 12;

describe('stops and rounds at the same moment', { timeout: 60_000 }, () => {
  let shop: Workshop;
  beforeAll(async () => {
    shop = await openWorkshop();
  });
  afterAll(() => shop?.close());
  const now = () => new Date(shop.service.clock.now()).toISOString();
  const routeOf = (pointIds: string[], over: Record<string, unknown> = {}) => {
    const { organisationId, siteId, roomId, planner, technician } = shop;
    const house: Walk = { organisationId, siteId, roomId, planner, mara: technician, tomasz: technician, pointIds, assetId: '' };
    return route(shop.service, house, over);
  };
  /** Open stops at a point, with the end of the round they are on. */
  const open = async (pointId: string) =>
    shop.service.db.inTenant(shop.planner.scope, async ({ db }) => {
      const stops = await db.extraStop.findMany({ where: { pointId, closedAt: null } });
      const rounds = await db.round.findMany({ where: { id: { in: stops.flatMap(({ roundId }) => roundId ?? []) } } });
      const byId = new Map(rounds.map((round) => [round.id, round]));
      return stops.map(({ kind, roundId }) => ({
        kind,
        roundId,
        isOver: roundId !== null && byId.get(roundId)!.closedAt !== null,
      }));
    });
  const statuses = (replies: Reply[]) => replies.map(({ status, body }) => (status === 200 ? 200 : `${status} ${body.detail}`));
  /** The second begins when the first has done its work, and before it is stored. */
  async function inTurn<T>(first: (db: TenantDb) => Promise<unknown>, second: () => Promise<T>): Promise<T> {
    let begun: Promise<T> | undefined;
    await shop.service.db.inTenant(shop.planner.scope, async ({ db }) => {
      await first(db);
      begun = second();
      // Long enough for the second to come as far as it can.
      await Promise.race([begun.catch(() => undefined), setTimeout(300)]);
    });
    return begun!;
  }
  const readAgain = (findingId: string) => shop.answer(shop.planner, findingId, { kind: 'read-again', walkerId: null });
  const change = (routeId: string, body: object) =>
    shop.planner.call('changeRoute', { params: { routeId }, body: { version: 1, ...body } });
  const takeOut = (assetId: string) =>
    shop.planner.call('changeAsset', { params: { assetId }, body: { version: 1, outOfService: { reason: 'replaced' } } });
  const underWay = async () => {
    const made = await shop.agreed();
    for (const move of [A_DAY, { kind: 'start' }]) expect((await shop.move(shop.planner, made.orderId, move)).status).toBe(200);
    return made;
  };

  it('a finding is sent to be read again while the route is planned anew: both succeed, and the stop stands on a round that is there', async () => {
    for (let turn = 0; turn < TURNS; turn++) {
      const { pointId, finding } = await shop.finding();
      const { id } = await routeOf([pointId], { startLocal: '2026-04-26T08:00', rule: 'FREQ=WEEKLY' });
      const replies = await Promise.all([change(id, { startLocal: '2026-04-27T09:00' }), readAgain(finding.id)]);
      expect(statuses(replies)).toEqual([200, 200]);
      expect(await open(pointId)).toMatchObject([{ kind: 'read-again', isOver: false }]);
    }
  });

  it('a repair is finished while the last stop leaves its route: both succeed, and its proof is asked for', async () => {
    for (let turn = 0; turn < TURNS; turn++) {
      const { pointId, orderId } = await underWay();
      const { id } = await routeOf([pointId], { startLocal: '2026-04-26T08:00', rule: 'FREQ=WEEKLY' });
      const replies = await Promise.all([change(id, { pointIds: [] }), shop.move(shop.technician, orderId, FINISHED)]);
      expect(statuses(replies)).toEqual([200, 200]);
      expect(await open(pointId)).toMatchObject([{ kind: 'proof', isOver: false }]);
    }
  });

  it('a route ends with its import while a stop is placed on it: both succeed, and the stop finds another place', async () => {
    const { pointId } = await shop.point();
    const { id, rounds } = await routeOf([pointId], { startLocal: '2026-04-26T08:00', rule: 'FREQ=WEEKLY' });
    const fromMs = shop.service.clock.now();
    const stop = {
      id: randomUUID(),
      kind: 'proof',
      pointId,
      fromMs,
      untilMs: fromMs + 20 * DAY,
      note: '',
      askedBy: null,
    } as const;
    await inTurn(
      async (db) => expect((await placeStop(db, shop.planner.scope, stop))?.roundId).toBe(rounds[0]!.id),
      () => shop.service.db.inTenant(shop.planner.scope, ({ db }) => endRoutes(db, [id], new Date(fromMs))),
    );
    const [placed] = await open(pointId);
    expect(placed).toMatchObject({ kind: 'proof', isOver: false });
    expect(rounds.map((round) => round.id)).not.toContain(placed!.roundId);
  });

  it.each(['called off', 'handed in'])('a stop is placed while its round is %s: it stands on none that is over', async (how) => {
    for (let turn = 0; turn < TURNS; turn++) {
      const { pointId, finding } = await shop.finding();
      const { rounds } = await routeOf([pointId], { startLocal: '2026-04-23T08:00', rule: 'FREQ=WEEKLY' });
      const roundId = rounds[0]!.id;
      const ending =
        how === 'called off'
          ? shop.planner.call('callOffRound', { params: { roundId }, body: { reason: 'no lift today' } })
          : shop.technician.submit([handedIn(roundId, now())]);
      expect(statuses(await Promise.all([ending, readAgain(finding.id)]))).toEqual([200, 200]);
      expect(await open(pointId)).toMatchObject([{ kind: 'read-again', isOver: false }]);
    }
  });

  it('a stop asked for on a round that is called off in the same moment is refused', async () => {
    const { pointId } = await shop.point();
    const { rounds } = await routeOf([pointId]);
    const roundId = rounds[0]!.id;
    const at = shop.service.clock.now();
    const record = { at: now(), by: shop.planner.personId, reason: 'no lift today' };
    const asked = await inTurn(
      async (db) => {
        await db.round.updateMany({ where: { id: roundId }, data: { calledOff: record } });
        await settleRounds(db, [roundId], at);
      },
      () => {
        const body = { id: randomUUID(), roundId, earliestAt: now(), latestAt: new Date(at + 20 * DAY).toISOString() };
        return shop.planner.call('askForStop', { params: { pointId }, body });
      },
    );
    expect(asked.status).toBe(422);
    expect(await open(pointId)).toEqual([]);
  });

  it('a stop that was left on a round that is over is found by the sweep, and somebody has it on their walk', async () => {
    const { pointId, finding } = await shop.finding();
    const { rounds } = await routeOf([pointId]);
    expect((await readAgain(finding.id)).status).toBe(200);
    const off = await shop.planner.call('callOffRound', { params: { roundId: rounds[0]!.id }, body: { reason: 'no lift' } });
    expect(off.status).toBe(200);
    await shop.service.db.inTenant(shop.planner.scope, ({ db }) =>
      db.extraStop.updateMany({ where: { pointId }, data: { roundId: rounds[0]!.id } }),
    );
    expect(await open(pointId)).toMatchObject([{ isOver: true }]);
    await sweepRounds(shop.service);
    expect(await open(pointId)).toMatchObject([{ isOver: false }]);
  });

  it('a machine leaves while somebody is sent to it or its repair is finished: nobody is sent there, and no Finish is lost', async () => {
    for (let turn = 0; turn < TURNS; turn++) {
      const [done, asked] = [await underWay(), await shop.finding()];
      expect(statuses(await Promise.all([takeOut(done.assetId), shop.move(shop.technician, done.orderId, FINISHED)]))).toEqual([
        200, 200,
      ]);
      const [out, answer] = await Promise.all([takeOut(asked.assetId), readAgain(asked.finding.id)]);
      expect(out.status).toBe(200);
      expect([200, 409]).toContain(answer.status);
      expect([...(await open(done.pointId)), ...(await open(asked.pointId))]).toEqual([]);
    }
  });
});
