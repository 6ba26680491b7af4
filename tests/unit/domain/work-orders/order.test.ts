import {
  agreeOrder,
  askToLiveWith,
  headOf,
  moveOrder,
  ORDER_ENDS,
  ORDER_MOVES,
  ORDER_STATES,
  type OrderMove,
  type OrderMoveKind,
  type OrderMover,
  type OrderState,
  orderMovesAllowed,
  orderPutRight,
  type ProofJudgement,
  recordSecondProof,
  SECOND_PROOF_DAYS,
  type WorkOrder,
  worsenOrder,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { anOrder, guest, manager, owner, planner, service, stranger } from './builders.ts';

const HOUR = 3_600_000;
const proved: ProofJudgement = { result: 'proved', sentence: 'Proved: 41 °C.' };
const notProved: ProofJudgement = { result: 'not-proved', sentence: 'Not proved: 88 °C.' };
const tooLow: ProofJudgement = {
  result: 'not-comparable',
  reason: 'load-too-low',
  comeBackAt: { fromPercent: 40, toPercent: null },
  sentence: 'Not comparable at 31 % load: come back at ≥ 40 % load.',
};
const slot: OrderMove = { kind: 'slot', windowId: 'w1', from: 2000, to: 3000 };
const finish: OrderMove = { kind: 'finish', found: 'loose lug', did: 'tightened' };
const stuck: OrderMove = { kind: 'stuck', cause: 'part on order', whoFrees: 'ruth' };

const moved = (order: WorkOrder, move: OrderMove, mover = planner): WorkOrder => {
  const result = moveOrder(order, move, mover);
  if ('refused' in result) throw new Error(`${move.kind}: ${result.detail}`);
  return result.order;
};
const through = (...moves: OrderMove[]): WorkOrder => moves.reduce((order, move) => moved(order, move), anOrder());
const done = (): WorkOrder => through(slot, { kind: 'start' }, finish);

describe('the moves of an order', () => {
  it('its usual way: Agreed, Slotted, Under way, Done, Proved', () => {
    const order = moved(done(), { kind: 'prove', readingId: 'r', judgement: proved }, service);
    expect(order).toMatchObject({
      state: 'proved',
      version: 5,
      found: 'loose lug',
      did: 'tightened',
      endedAt: 1000,
      secondProof: null,
    });
  });

  // The complete table; what is not in it is refused.
  const table: Readonly<Record<OrderState, Partial<Record<OrderMoveKind, OrderState>>>> = {
    agreed: { slot: 'slotted', stuck: 'stuck', 'live-with': 'living-with', 'turn-down': 'turned-down', 'merge-into': 'merged' },
    slotted: { start: 'under-way', 'back-to-agreed': 'agreed', stuck: 'stuck' },
    'under-way': { finish: 'done', slot: 'slotted', stuck: 'stuck' },
    stuck: { free: 'under-way', 'turn-down': 'turned-down' },
    done: { prove: 'proved', 'close-unproved': 'closed-unproved' },
    'living-with': { 'come-back': 'agreed' },
    proved: {},
    'closed-unproved': {},
    'turned-down': {},
    merged: {},
  };
  const every: Readonly<Record<OrderMoveKind, OrderMove>> = {
    slot,
    start: { kind: 'start' },
    finish,
    stuck,
    free: { kind: 'free' },
    'back-to-agreed': { kind: 'back-to-agreed' },
    'live-with': { kind: 'live-with', until: 9000, reason: 'refit' },
    'come-back': { kind: 'come-back', cause: 'until-ended' },
    'turn-down': { kind: 'turn-down', reason: 'no fault' },
    'merge-into': { kind: 'merge-into', orderId: 'other' },
    prove: { kind: 'prove', readingId: 'r', judgement: proved },
    'close-unproved': { kind: 'close-unproved', reason: 'taken out of use' },
  };

  it.each(ORDER_STATES)('from %s exactly the moves of the table lead on, and a refusal names them', (state) => {
    const order = anOrder({
      state,
      stuck: state === 'stuck' ? { from: 'under-way', cause: 'part', whoFrees: 'ruth', since: 1 } : null,
    });
    const names = Object.keys(table[state]);
    expect([...ORDER_MOVES[state]].sort()).toEqual(names.sort());
    for (const move of Object.values(every)) {
      const result = moveOrder(order, move, planner);
      const to = table[state][move.kind];
      if (to === undefined) expect(result).toMatchObject({ refused: 'move-not-allowed', allowed: ORDER_MOVES[state] });
      else
        expect(result).toMatchObject({
          order: { state: to },
          record: { move: move.kind, from: state, to, by: 'jonas', at: 1000 },
        });
    }
  });

  it('not proved is recorded and lands in Agreed, the same order', () => {
    const result = moveOrder(done(), { kind: 'prove', readingId: 'r', judgement: notProved }, service);
    expect(result).toMatchObject({
      order: { id: 'order', state: 'agreed', failedProofs: 1, doneAt: null, slot: null, endedAt: null, originalDueAt: 5000 },
      record: { move: 'prove', from: 'done', to: 'agreed', why: 'Not proved: 88 °C.' },
    });
  });

  it('D87: a proof reading that is not comparable moves nothing and says what to come back with', () => {
    const order = done();
    expect(moveOrder(order, { kind: 'prove', readingId: 'r', judgement: tooLow }, service)).toEqual({
      refused: 'not-comparable',
      detail: 'Not comparable at 31 % load: come back at ≥ 40 % load.',
      allowed: ['prove'],
    });
  });

  it('D46: a proof arriving after the order was closed unproved is refused and changes nothing', () => {
    const closed = moved(done(), { kind: 'close-unproved', reason: 'taken out of use' });
    expect(moveOrder(closed, { kind: 'prove', readingId: 'r', judgement: proved }, service)).toMatchObject({
      refused: 'move-not-allowed',
      allowed: [],
    });
  });

  it('stuck remembers where it came from', () => {
    for (const before of [through(), through(slot), through(slot, { kind: 'start' })]) {
      const freed = moved(moved(before, stuck), { kind: 'free' });
      expect(freed).toMatchObject({ state: before.state, slot: before.slot, stuck: null });
    }
  });

  it('the original due date is kept when the order is slotted again', () => {
    const again = through(
      slot,
      { kind: 'back-to-agreed', reason: 'no permit' },
      { ...slot, windowId: 'w2', from: 7000, to: 8000 },
    );
    expect(again).toMatchObject({ originalDueAt: 5000, slot: { windowId: 'w2' } });
  });

  it('the proof is due by the grade: 48 hours, 7 days, 35 days', () => {
    const due = (grade: WorkOrder['grade']) => moved(anOrder({ state: 'under-way', grade }), finish).proofDueAt! - 1000;
    expect([due('now'), due('soon'), due('plan'), due('watch'), due('fine')].map((ms) => ms / HOUR)).toEqual([
      48, 168, 840, 840, 840,
    ]);
    const own = moveOrder(anOrder({ state: 'under-way' }), finish, planner, {
      proofWindows: { now: 1, soon: 2, plan: 3, watch: 4 },
    });
    expect(own).toMatchObject({ order: { proofDueAt: 1000 + 3 * HOUR } });
  });

  it('what was put right on the spot is born Done and wants its proof', () => {
    const made = { id: 'o', grade: 'soon', ownerId: 'mara', originalDueAt: null, needsSecondProof: false } as const;
    const order = orderPutRight(made, { found: 'loose lug', did: 'tightened', at: 50 });
    expect(order).toMatchObject({ state: 'done', doneAt: 50, proofDueAt: 50 + 168 * HOUR });
    expect(agreeOrder(made).state).toBe('agreed');
  });

  it('a bearing is proved with a second proof pending; its failure reopens nothing', () => {
    const order = moved({ ...done(), needsSecondProof: true }, { kind: 'prove', readingId: 'r', judgement: proved }, service);
    expect(order).toMatchObject({
      state: 'proved',
      secondProof: { state: 'pending', dueAt: 1000 + SECOND_PROOF_DAYS * 24 * HOUR },
    });
    expect(recordSecondProof(order, tooLow)).toBe(order);
    const failed = recordSecondProof(order, notProved);
    expect(failed).toMatchObject({ state: 'proved', secondProof: { state: 'not-proved' } });
    expect(recordSecondProof(failed, proved)).toBe(failed);
  });

  it.each([
    [through(), { ...slot, to: 2000 }, 'slot-needed'],
    [through(), { ...stuck, cause: ' ' }, 'reason-needed'],
    [through(), { ...stuck, whoFrees: '' }, 'reason-needed'],
    [through(), { kind: 'turn-down', reason: '' }, 'reason-needed'],
    [through(), { kind: 'live-with', until: 500, reason: 'refit' }, 'until-needed'],
    [through(), { kind: 'live-with', until: 9000, reason: '' }, 'reason-needed'],
    [through(), { kind: 'merge-into', orderId: 'order' }, 'circle'],
    [through(slot, { kind: 'start' }), { ...finish, did: '' }, 'reason-needed'],
    [done(), { kind: 'close-unproved', reason: '' }, 'reason-needed'],
  ] as const)('a move that lacks something is refused, saying what (%#)', (order, move, refused) => {
    expect(moveOrder(order, move, planner)).toMatchObject({ refused, allowed: ORDER_MOVES[order.state] });
  });
});

describe('who may', () => {
  const codeOf = (order: WorkOrder, move: OrderMove, mover: OrderMover) => {
    const result = moveOrder(order, move, mover);
    return 'refused' in result ? result.refused : 'moved';
  };

  it('the owner starts, finishes, calls stuck; another technician may not; a planner may', () => {
    const order = through(slot);
    expect([owner, stranger, planner, manager, guest].map((who) => codeOf(order, { kind: 'start' }, who))).toEqual([
      'moved',
      'not-yours',
      'moved',
      'not-allowed',
      'not-allowed',
    ]);
    expect(codeOf(through(), slot, owner)).toBe('not-allowed');
    expect(codeOf(through(), slot, manager)).toBe('moved');
  });

  it('whoever was named frees a stuck order, and may send it again', () => {
    const freed = moved(moved(through(slot), stuck), { kind: 'free' }, manager);
    expect(freed.state).toBe('slotted');
    expect(moveOrder(freed, { kind: 'free' }, manager)).toEqual({ order: freed, record: null });
    expect(codeOf(moved(through(), { ...stuck, whoFrees: 'stores' }), { kind: 'free' }, manager)).toBe('not-allowed');
  });

  it('the service alone proves by a reading and brings back, nothing else', () => {
    for (const move of [slot, stuck, { kind: 'turn-down', reason: 'x' }] as const)
      expect(codeOf(through(), move, service)).toBe('not-allowed');
    expect(codeOf(done(), { kind: 'prove', readingId: 'r', judgement: proved }, owner)).toBe('moved');
    expect(codeOf(done(), { kind: 'prove', readingId: 'r', judgement: proved }, guest)).toBe('not-allowed');
  });

  it("D57: living with Soon is a manager's, with Plan a planner's, and never of the one who asked", () => {
    const live: OrderMove = { kind: 'live-with', until: 9000, reason: 'refit' };
    expect(codeOf(anOrder({ grade: 'soon' }), live, planner)).toBe('not-allowed');
    expect(codeOf(anOrder({ grade: 'soon' }), live, manager)).toBe('moved');
    const asked = askToLiveWith(anOrder(), { until: 9000, reason: 'refit' }, planner);
    if ('refused' in asked) throw new Error(asked.detail);
    expect(codeOf(asked.subject, live, planner)).toBe('own-request');
    expect(codeOf(asked.subject, live, { ...planner, by: 'another' })).toBe('moved');
    expect(orderMovesAllowed(asked.subject, planner)).not.toContain('live-with');
  });
});

describe('worse while waiting', () => {
  it('an order lived with comes back to Agreed at a worse grade; an ended one stays', () => {
    const living = moved(anOrder(), { kind: 'live-with', until: 9000, reason: 'refit' });
    expect(worsenOrder(living, 'plan', 2000).order).toBe(living);
    expect(worsenOrder(living, 'soon', 2000)).toMatchObject({
      order: { state: 'agreed', grade: 'soon', livingWith: null },
      record: { why: 'grade-worse' },
    });
    expect(worsenOrder(through(slot), 'now', 2000)).toMatchObject({ order: { state: 'slotted', grade: 'now' }, record: null });
    const ended = anOrder({ state: 'proved', endedAt: 1 });
    expect(worsenOrder(ended, 'now', 2000).order).toBe(ended);
  });
});

describe('two at once', () => {
  it('D44: two planners slot the same order from one version: the first wins, the second is told', () => {
    const seen = { ...planner, seenVersion: 1 };
    const first = moved(anOrder(), slot, seen);
    const other: OrderMove = { kind: 'slot', windowId: 'w2', from: 4000, to: 5000 };
    expect(moveOrder(first, other, { ...seen, by: 'second' })).toMatchObject({
      refused: 'stale-version',
      allowed: ORDER_MOVES.slotted,
    });
    expect(moveOrder(first, slot, { ...seen, by: 'second' })).toEqual({ order: first, record: null });
  });

  it('D53: no sequence of merges makes a circle, and nothing is merged into what has ended', () => {
    const ids = ['a', 'b', 'c', 'd'];
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.constantFrom(...ids), fc.constantFrom(...ids)), { maxLength: 16 }), (pairs) => {
        const all = new Map(ids.map((id) => [id, anOrder({ id })]));
        for (const [from, orderId] of pairs) {
          const result = moveOrder(all.get(from)!, { kind: 'merge-into', orderId }, planner, { find: (id) => all.get(id) });
          if (!('refused' in result)) all.set(from, result.order);
        }
        for (const id of ids) expect(all.get(headOf(id, (one) => all.get(one)))?.sameAs).toBeNull();
      }),
    );
    const over = anOrder({ id: 'over', state: 'turned-down' });
    expect(moveOrder(anOrder(), { kind: 'merge-into', orderId: 'over' }, planner, { find: () => over })).toMatchObject({
      refused: 'ended-already',
    });
  });
});

describe('every path', () => {
  const judgement = fc.constantFrom(proved, notProved, tooLow);
  const move: fc.Arbitrary<OrderMove> = fc.oneof(
    fc.constantFrom<OrderMove>(
      slot,
      { ...slot, windowId: null },
      { kind: 'start' },
      finish,
      stuck,
      { kind: 'free' },
      { kind: 'back-to-agreed' },
      { kind: 'live-with', until: 9000, reason: 'refit' },
      { kind: 'come-back', cause: 'until-ended' },
      { kind: 'turn-down', reason: 'no fault' },
      { kind: 'merge-into', orderId: 'other' },
      { kind: 'close-unproved', reason: 'taken out of use' },
    ),
    fc.record({ kind: fc.constant('prove' as const), readingId: fc.constantFrom('r', 's'), judgement }),
  );
  const mover = fc.oneof(
    { weight: 3, arbitrary: fc.constant(planner) },
    fc.constantFrom(owner, stranger, manager, guest, service),
  );
  const steps = fc.array(fc.tuple(move, mover), { minLength: 10, maxLength: 40 });

  it('an accepted move leaves one record, a refused one changes nothing and names the open ones, a repeated one neither', () => {
    fc.assert(
      fc.property(steps, fc.constantFrom('watch' as const, 'soon' as const), (list, grade) => {
        let order = anOrder({ grade });
        let records = 0;
        for (const [given, who] of list) {
          const before = JSON.stringify(order);
          const result = moveOrder(order, given, who);
          expect(JSON.stringify(order)).toBe(before);
          if ('refused' in result) {
            expect(result.allowed).toEqual(orderMovesAllowed(order, who));
            continue;
          }
          if (result.record === null) {
            expect(result.order).toBe(order);
            continue;
          }
          records += 1;
          expect(ORDER_MOVES[order.state]).toContain(given.kind);
          expect(result.record).toMatchObject({ move: given.kind, from: order.state, to: result.order.state, by: who.by });
          expect(result.order.originalDueAt).toBe(order.originalDueAt);
          order = result.order;
          expect(order.version).toBe(records + 1);
          expect(moveOrder(order, given, who)).toEqual({ order, record: null });
        }
      }),
      { numRuns: 300 },
    );
  });

  it('an order ends Proved, Closed unproved, Turned down or merged, and from everywhere else there is a way on', () => {
    for (const state of ORDER_STATES) expect(ORDER_MOVES[state].length === 0).toBe(ORDER_ENDS.includes(state));
    fc.assert(
      fc.property(steps, (list) => {
        let order = anOrder();
        let passedProof = false;
        for (const [given, who] of list) {
          const result = moveOrder(order, given, who);
          if ('refused' in result || result.record === null) continue;
          passedProof ||= given.kind === 'prove' && given.judgement.result === 'proved';
          order = result.order;
        }
        expect(order.state === 'proved').toBe(passedProof);
        expect(order.endedAt !== null).toBe(['proved', 'closed-unproved', 'turned-down', 'merged'].includes(order.state));
      }),
      { numRuns: 300 },
    );
  });
});
