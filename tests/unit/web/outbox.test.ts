import type { FactResult } from '@heatround/contract';
import type { Fact } from '@heatround/domain';
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { offsetFrom, stamp } from '../../../apps/web/src/outbox/clock.ts';
import { type Kept, mergeResults, saySafety } from '../../../apps/web/src/outbox/merge.ts';

const kept = (id: string, over: Partial<Kept> = {}): Kept => ({
  id,
  order: 1,
  fact: {
    kind: 'stop-answered',
    id,
    takenAt: '2026-04-23T07:00:00Z',
    clock: { deviceAt: '2026-04-23T07:00:00Z', monotonicMs: 1, offsetMs: 0 },
    pointId: 'p',
    answer: 'no-way-in',
  } as Fact,
  label: `entry ${id}`,
  assetId: null,
  state: 'waiting',
  why: null,
  errors: [],
  ...over,
});
const result = (id: string | null, outcome: FactResult['outcome'], over: Partial<FactResult> = {}): FactResult => ({
  id,
  outcome,
  verdict: null,
  notice: null,
  problem: null,
  ...over,
});
const AT = '2026-04-23T07:05:00Z';

describe('answers of the service', () => {
  test('created and duplicate let go, conflict and refused stay with their reason', () => {
    const problem = {
      code: 'invalid-request',
      detail: 'A temperature in °C, such as 87.',
      errors: [{ pointer: '/inputs/value', detail: 'A temperature' }],
    };
    const merged = mergeResults(
      [kept('a'), kept('b'), kept('c'), kept('d')],
      [result('a', 'created'), result('b', 'duplicate'), result('c', 'conflict'), result('d', 'refused', { problem })],
      AT,
    );
    expect(merged.safe.map((one) => one.id)).toEqual(['a', 'b']);
    expect(merged.kept.map((one) => [one.id, one.state, one.why])).toEqual([
      ['c', 'conflict', expect.stringContaining('Both are kept')],
      ['d', 'refused', 'A temperature in °C, such as 87.'],
    ]);
  });
  test('what the answer does not mention stays waiting', () => {
    expect(mergeResults([kept('a'), kept('b')], [result('b', 'created')], AT)).toMatchObject({ kept: [], safe: [{ id: 'b' }] });
  });
  test('an answer without id belongs to the fact in its place', () => {
    expect(mergeResults([kept('a'), kept('b')], [result('a', 'created'), result(null, 'refused')], AT).kept[0]).toMatchObject({
      id: 'b',
      state: 'refused',
    });
  });
  test('another verdict of the service is shown beside the one of the phone', () => {
    const verdict = { grade: 'fine', comparability: 'like-for-like', atLeast: false, check: null, sentence: 'here' };
    const fact = {
      kind: 'reading-taken',
      id: 'a',
      takenAt: AT,
      phoneVerdict: { domainVersion: '1', verdict },
    } as unknown as Fact;
    const differs = result('a', 'created', {
      verdict: { ...verdict, grade: 'watch', sentence: 'there' } as unknown as NonNullable<FactResult['verdict']>,
    });
    expect(mergeResults([kept('a', { fact })], [differs], AT).safe[0]?.otherVerdict).toEqual({ here: 'here', there: 'there' });
  });
  test('the order of the answers, and taking them twice, change nothing', () => {
    const outcomes = fc.array(fc.constantFrom<FactResult['outcome']>('created', 'duplicate', 'conflict', 'refused'), {
      minLength: 1,
      maxLength: 12,
    });
    void fc.assert(
      fc.property(outcomes, fc.integer(), (given, seed) => {
        const sent = given.map((_, index) => kept(String(index)));
        const results = given.map((outcome, index) => result(String(index), outcome));
        const shuffled = [...results].sort((a, b) => ((Number(a.id) * 7919 + seed) % 13) - ((Number(b.id) * 7919 + seed) % 13));
        const state = (from: FactResult[]): unknown => {
          const merged = mergeResults(sent, from, AT);
          return [merged.safe.map((one) => one.id).sort(), merged.kept.map((one) => [one.id, one.state]).sort()];
        };
        expect(state(shuffled)).toEqual(state(results));
        expect(state([...results, ...results])).toEqual(state(results));
      }),
    );
  });
});

describe('the clock of the device', () => {
  test('the offset is the server at the middle of the call, plus what the organisation is ahead', () => {
    expect(offsetFrom(1000, 1200, 5100, 0)).toBe(4000);
    expect(offsetFrom(1000, 1200, 5100, -50_000)).toBe(-46_000);
  });
  test('takenAt is the device clock plus the offset; without any contact the offset stays unknown', () => {
    const device = Date.parse('2026-11-25T10:00:00Z');
    expect(stamp(device, 12.4, -3_600_000)).toEqual({
      takenAt: '2026-11-25T09:00:00.000Z',
      clock: { deviceAt: '2026-11-25T10:00:00.000Z', monotonicMs: 12, offsetMs: -3_600_000 },
    });
    expect(stamp(device, 0, null)).toMatchObject({ takenAt: '2026-11-25T10:00:00.000Z', clock: { offsetMs: null } });
  });
});

test('the sentence about the safety of data', () => {
  const tally = { waiting: 0, held: 0, hasSignal: true, safeAt: '11:52' };
  expect(saySafety(tally)).toBe('safe on the server 11:52');
  expect(saySafety({ ...tally, hasSignal: false })).toBe('no signal, all kept here');
  expect(saySafety({ ...tally, waiting: 1 })).toBe('1 reading only on this phone');
  expect(saySafety({ ...tally, waiting: 3, hasSignal: false })).toBe('no signal, 3 readings kept here');
  expect(saySafety({ ...tally, held: 2 })).toBe('2 not taken, kept here');
});
