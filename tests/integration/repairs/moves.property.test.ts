/**
 * Random moves through the API: each is answered as the rules of the domain say, what is stored is what they make of it, every change
 * of state has its trace, and a refused move leaves no trace at all.
 */
import {
  type Finding,
  type FindingMove,
  type MoveRefusal,
  moveFinding,
  moveOrder,
  type OrderMove,
  type OrderState,
  type WorkOrder,
} from '@heatround/domain';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Person } from '../../support/harness.ts';
import { DAY, HOUR, openWorkshop, type Workshop } from './workshop.ts';

const STATUS: Partial<Record<MoveRefusal, number>> = {
  'not-allowed': 403,
  'not-yours': 403,
  'own-request': 403,
  'reason-needed': 422,
  'until-needed': 422,
  'slot-needed': 422,
  'stale-version': 412,
};

type Step = { who: 'planner' | 'technician' | 'manager'; what: string; value: number };
const step = (whats: readonly string[]): fc.Arbitrary<Step> =>
  fc.record({
    who: fc.constantFrom('planner', 'technician', 'manager'),
    what: fc.constantFrom(...whats),
    value: fc.constantFrom(60, 75, 85, 95),
  });

describe('random moves', () => {
  let shop: Workshop;
  beforeAll(async () => {
    shop = await openWorkshop();
  });
  afterAll(() => shop?.close());

  const now = () => shop.service.clock.now();
  const iso = (ms: number) => new Date(ms).toISOString();

  /** A move as it is sent, and as the domain takes it. */
  const orderMoves: Record<string, () => { sent: object; move: OrderMove }> = {
    slot: () => {
      const [from, to] = [now() + DAY, now() + 2 * DAY];
      return {
        sent: { kind: 'slot', windowId: null, from: iso(from), to: iso(to) },
        move: { kind: 'slot', windowId: null, from, to },
      };
    },
    start: () => same({ kind: 'start' }),
    finish: () => same({ kind: 'finish', found: 'loose lug', did: 'tightened' }),
    stuck: () => same({ kind: 'stuck', cause: 'no ladder', whoFrees: 'stores' }),
    free: () => same({ kind: 'free' }),
    'back-to-agreed': () => same({ kind: 'back-to-agreed', reason: 'window moved' }),
    'live-with': () => {
      const until = now() + 90 * DAY;
      return {
        sent: { kind: 'live-with', until: iso(until), reason: 'later' },
        move: { kind: 'live-with', until, reason: 'later' },
      };
    },
    'come-back': () => same({ kind: 'come-back', cause: 'ended-early' }),
    'turn-down': () => same({ kind: 'turn-down', reason: 'scrapped' }),
    'close-unproved': () => same({ kind: 'close-unproved', reason: 'no access' }),
  };
  const same = <Move extends OrderMove | FindingMove>(move: Move) => ({ sent: move, move });
  const as = (who: Step['who']): Person => shop[who];

  async function tracesFit(orderId: string): Promise<void> {
    const page = await shop.order(orderId);
    let state: OrderState = 'agreed';
    for (const move of page.moves as { from: OrderState; to: OrderState }[]) {
      expect(move.from).toBe(state);
      state = move.to;
    }
    expect(page.state).toBe(state);
    expect(page.order.state).toBe(page.state);
    let answer = 'reported';
    for (const move of page.findingMoves as { from: string; to: string }[]) {
      expect(move.from).toBe(answer);
      answer = move.to;
    }
    // A finding that came up anew after this one was turned down stands beside it.
    const own = (await shop.findings(page.pointId)).find(({ finding }) => finding.orderId === orderId);
    expect(own?.state).toBe(answer);
  }

  it('of an order are answered, stored and traced as the rules say', async () => {
    const whats = [...Object.keys(orderMoves), 'slot', 'start', 'finish', 'read', 'read'];
    await fc.assert(
      fc.asyncProperty(fc.array(step(whats), { minLength: 4, maxLength: 14 }), async (steps) => {
        const { orderId, pointId } = await shop.agreed('85');
        for (const { who, what, value } of steps) {
          shop.service.clock.advance(HOUR);
          const before = (await shop.order(orderId)) as { order: WorkOrder; moves: unknown[] };
          if (what === 'read') {
            await shop.read(pointId, value);
            const { order } = (await shop.order(orderId)) as { order: WorkOrder };
            const proves = before.order.state === 'done';
            if (proves) expect(order.state).toBe(value < 70 ? 'proved' : 'agreed');
            else if (order.state !== before.order.state)
              expect([before.order.state, order.state]).toEqual(['living-with', 'agreed']);
            continue;
          }
          const { sent, move } = orderMoves[what]!();
          const by = as(who);
          const { order } = before;
          const mover = { by: by.personId, roles: by.scope.roles, at: now(), isOwner: order.ownerId === by.personId };
          const wanted = moveOrder(order, move, mover);
          const reply = await shop.move(by, orderId, what === 'finish' ? { ...sent, work: 'tightened' } : sent);
          const after = (await shop.order(orderId)) as { order: WorkOrder; moves: unknown[] };
          if ('refused' in wanted) {
            expect(reply.status, JSON.stringify(reply.body)).toBe(STATUS[wanted.refused] ?? 409);
            expect(reply.body.allowed).toEqual(wanted.allowed);
            expect(after).toMatchObject({ order, moves: before.moves });
          } else {
            expect(reply.status, JSON.stringify(reply.body)).toBe(200);
            expect(after.order).toEqual(JSON.parse(JSON.stringify(wanted.order)));
            expect(after.moves).toHaveLength(before.moves.length + (wanted.record === null ? 0 : 1));
          }
        }
        await tracesFit(orderId);
      }),
      { numRuns: 5 },
    );
  }, 300_000);

  it('of a finding are answered, stored and traced as the rules say', async () => {
    const answers: Record<string, () => { sent: object; move: FindingMove }> = {
      'read-again': () => same({ kind: 'read-again', reason: 'under load' }),
      'turn-down': () => same({ kind: 'turn-down', reason: 'painted lug' }),
      'live-with': orderMoves['live-with'] as () => { sent: object; move: FindingMove },
      'come-back': () => same({ kind: 'come-back', cause: 'ended-early' }),
    };
    await fc.assert(
      fc.asyncProperty(fc.array(step([...Object.keys(answers), 'read']), { minLength: 3, maxLength: 10 }), async (steps) => {
        const { pointId, finding: first } = await shop.finding('85');
        const look = async () => {
          const all = await shop.findings(pointId);
          return all.find((one) => one.id === first.id) as { state: string; finding: Finding; evidence: number };
        };
        for (const { who, what, value } of steps) {
          shop.service.clock.advance(HOUR);
          const before = await look();
          if (what === 'read') {
            await shop.read(pointId, value);
            const after = await look();
            if (before.state === 'read-again') expect(after.state).toBe('reported');
            const open = (await shop.findings(pointId)).filter((one) => one.finding.ended === null);
            expect(open.length).toBeLessThanOrEqual(1);
            continue;
          }
          const { sent, move } = answers[what]!();
          const by = as(who);
          const mover = { by: by.personId, roles: by.scope.roles, at: now() };
          const wanted = moveFinding(before.finding, move, mover);
          const reply = await shop.answer(by, first.id, sent);
          const after = await look();
          if ('refused' in wanted) {
            expect(reply.status, JSON.stringify(reply.body)).toBe(STATUS[wanted.refused] ?? 409);
            expect(after.finding).toEqual(before.finding);
          } else {
            expect(reply.status, JSON.stringify(reply.body)).toBe(200);
            expect(after.finding).toEqual(JSON.parse(JSON.stringify(wanted.finding)));
          }
        }
      }),
      { numRuns: 4 },
    );
  }, 300_000);
});
