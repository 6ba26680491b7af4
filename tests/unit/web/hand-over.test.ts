import type { HandedOver, HeldResult } from '@heatround/contract';
import type { Fact } from '@heatround/domain';
import { may } from '@heatround/domain';
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Kept, mergeHeld } from '../../../apps/web/src/outbox/merge.ts';
import { byPerson, sayBeside, sayDecided, sayEntry, sayWaiting } from '../../../apps/web/src/screens/hand-over/words.ts';
import { placesOf, withHandedOver } from '../../../apps/web/src/shell/places.ts';

const kept = (id: string, state: Kept['state'] = 'waiting'): Kept => ({
  id,
  order: 1,
  fact: { kind: 'stop-answered', id } as Fact,
  label: id,
  assetId: null,
  state,
  why: null,
  errors: [],
});
const result = (id: string | null, outcome: HeldResult['outcome'], detail?: string): HeldResult => ({
  id,
  outcome,
  problem: detail === undefined ? null : { code: 'invalid-request', detail, errors: [] },
});

describe('D51: facts handed over without a session', () => {
  test('held and duplicate let go, a refused one stays with its reason, an unmentioned one stays as it was', () => {
    const merged = mergeHeld(
      [kept('a'), kept('b', 'conflict'), kept('c'), kept('d')],
      [result('a', 'held'), result('b', 'duplicate'), result('c', 'refused', 'not as expected')],
    );
    expect(merged.safe).toEqual(['a', 'b']);
    expect(merged.kept).toMatchObject([{ id: 'c', state: 'refused', why: 'not as expected' }]);
  });
  test('an answer without id belongs to the fact in its place', () => {
    const merged = mergeHeld([kept('a'), kept('b')], [result('a', 'held'), result(null, 'refused', 'unreadable')]);
    expect(merged.kept).toMatchObject([{ id: 'b', why: 'unreadable' }]);
  });
  test('no fact is ever let go without its own held or duplicate', () => {
    const outcome = fc.constantFrom<HeldResult['outcome']>('held', 'duplicate', 'refused');
    void fc.assert(
      fc.property(fc.array(fc.record({ outcome, isAnswered: fc.boolean() }), { maxLength: 12 }), (given) => {
        const sent = given.map((_, index) => kept(String(index)));
        const results = given
          .flatMap((one, index) => (one.isAnswered ? [result(String(index), one.outcome, 'why')] : []))
          .reverse();
        const { safe, kept: still } = mergeHeld(sent, results);
        const expected = given.flatMap((one, i) => (one.isAnswered && one.outcome !== 'refused' ? [String(i)] : []));
        expect(safe).toEqual(expected);
        expect(still.every(({ id }) => !safe.includes(id))).toBe(true);
      }),
    );
  });
});

describe('the list of a planner', () => {
  const common = { id: 'x', takenAt: '2026-04-23T07:00:00Z', clock: { deviceAt: '', monotonicMs: 0, offsetMs: 0 } };
  const reading = {
    ...common,
    kind: 'reading-taken',
    pointId: 'p',
    inputs: { value: { text: '87,5', unit: '°C' } },
    conditions: { load: { text: '96', unit: '%' }, ambient: { text: '31', unit: '°C' } },
  } as Fact;

  test('says each kind of entry as it was typed', () => {
    const plain = (fact: Fact): string => sayEntry(fact).replaceAll(/[\u2009\u202f\u00a0]/g, ' ');
    expect(plain(reading)).toBe('87,5 °C; load 96 %, ambient 31 °C');
    const phases = { L1: { text: '41', unit: '°C' }, 'amps:L1': { text: '120', unit: 'A' } };
    expect(plain({ ...reading, inputs: phases, conditions: {}, running: false, corrects: 'y' } as Fact)).toBe(
      'L1 41 °C, current L1 120 A; not running; corrects an earlier reading',
    );
    expect(plain({ ...reading, inputs: {}, conditions: {} } as Fact)).toBe('a reading without a figure');
    expect(plain({ ...common, kind: 'stop-answered', pointId: 'p', answer: 'no-way-in' })).toBe('No way in');
    expect(plain({ ...common, kind: 'work-recorded', assetId: 'a', work: 'regreased' })).toBe('Regreased');
    const reported = { ...common, kind: 'finding-reported', pointId: 'p', grade: 'plan', words: 'it knocks' } as const;
    expect(plain(reported)).toBe('Reported as Plan: it knocks');
    expect(sayBeside(reported)).toBeNull();
    expect(sayBeside({ ...reading, words: 'door open' } as Fact)).toBe('door open');
    expect(plain({ ...common, kind: 'round-handed-in', roundId: 'r' })).toBe('Handed the round in');
  });

  test('gathers what came from one person, and opens with a true sentence', () => {
    const entry = (id: string, person: string) => ({ id, person: { id: person, name: person } }) as HandedOver;
    const groups = byPerson([entry('1', 'Mara'), entry('2', 'Dev'), entry('3', 'Mara')]);
    expect(groups.map(({ name, entries }) => [name, entries.length])).toEqual([
      ['Mara', 2],
      ['Dev', 1],
    ]);
    expect(sayWaiting(3, 2, false)).toBe('3 entries from two people wait for you.');
    expect(sayWaiting(1, 1, false)).toBe('1 entry from one person waits for you.');
    expect(sayWaiting(50, 7, true)).toBe('The first 50 entries from 7 people wait for you.');
    expect(sayWaiting(0, 0, false)).toBe('Nothing handed over waits for you.');
  });

  test('says what became of them, also when only a part could be recorded', () => {
    expect(sayDecided([{ outcome: 'accepted' }, { outcome: 'refused' }])).toBe(
      '1 entry is recorded. 1 entry could not be recorded; the reason stands beside it.',
    );
    expect(sayDecided([{ outcome: 'turned-away' }])).toBe('1 entry is turned away and kept with the reason.');
  });

  test('is among the places of a planner only while something waits, or while one is there', () => {
    const places = placesOf(
      ['planner'],
      (action) => may(['planner'], action),
      () => true,
    );
    const words = (waiting: number, path: string) => withHandedOver(places, waiting, path).map(({ word }) => word);
    expect(words(0, '/answers')).not.toContain('Handed over');
    expect(words(2, '/answers').slice(0, 2)).toEqual(['Answers due', 'Handed over']);
    expect(words(0, '/handed-over')).toContain('Handed over');
  });
});
