/** Like components: scores against the handbook of NIST, and the faulty ones among groups whose truth is known. */
import { readFileSync } from 'node:fs';
import {
  compareLike,
  figureFor,
  figureOf,
  grubbs,
  LIKENESS,
  type LikeComponent,
  type LikeStanding,
  modifiedZ,
  unlikeOthers,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aPoint, aReading } from '../builders.ts';
import { goldenValues, holds, inputOf } from '../golden-values.ts';

describe('scores', () => {
  it.each(goldenValues('peers.modifiedZ'))('%s', (_, value) => holds(modifiedZ(inputOf(value, 'values'))?.at(-1), value));
  it.each(goldenValues('peers.grubbs'))('%s', (_, value) => {
    const values = inputOf<number[]>(value, 'values');
    holds(grubbs(values)?.g, value);
    expect(grubbs(values)?.index).toBe(values.length - 1);
  });
  it.each(goldenValues('peers.flag'))('%s', (_, value) =>
    expect(unlikeOthers(inputOf(value, 'values'), 0.5, 5)).toEqual(value.expected),
  );

  it('the critical value of Grubbs for eight values at 5 % is 2.13 (two-sided; NIST/SEMATECH 1.3.5.17.1 prints 2.032 one-sided)', () => {
    const values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];
    expect(grubbs(values)?.critical).toBeCloseTo(2.126, 2);
    expect(grubbs(values, 0.1)?.critical).toBeCloseTo(2.032, 2);
  });
  it('without scatter there is no score unless one is given, and nothing is divided by nothing', () => {
    expect([modifiedZ([]), modifiedZ([1, 1, 1]), modifiedZ([1, Number.NaN])]).toEqual([null, null, null]);
    expect(modifiedZ([1, 1, 1], 0.5)).toEqual([0, 0, 0]);
    expect([grubbs([1, 2]), grubbs([1, 1, 1]), grubbs([1, 2, 3], 0)]).toEqual([null, null, null]);
    expect(unlikeOthers([1, 1, 1])).toEqual([]);
  });
  it('unit and offset do not matter', () => {
    const values = fc.array(fc.integer({ min: -50, max: 150 }), { minLength: 3, maxLength: 20 });
    fc.assert(
      fc.property(values, (celsius) => {
        const [a, b] = [modifiedZ(celsius), modifiedZ(celsius.map((one) => one * 1.8 + 32))];
        expect(a === null).toBe(b === null);
        for (const [i, score] of (a ?? []).entries()) expect(b![i]).toBeCloseTo(score, 6);
      }),
    );
  });
});

/**
 * 120 groups of like components on one visit, with load and air, by an outside simulator; groups whose loads, or whose hot room,
 * tempt to a false alarm are among them. The truth is read for scoring only.
 */
const golden = (name: string): string => readFileSync(new URL(`../../../golden/peers/${name}`, import.meta.url), 'utf8');
interface Row extends LikeComponent {
  readonly group: string;
  readonly kind: string;
}
const rows = golden('peers.csv')
  .trim()
  .split('\n')
  .slice(1)
  .map((line): Row => {
    const [group, name, kind, value, load, ambient] = line.split(',') as [string, string, string, string, string, string];
    return { group, name, kind, temperature: Number(value), load: Number(load), ambient: Number(ambient) };
  });
const groups = [...new Set(rows.map(({ group }) => group))].map((group) => rows.filter((row) => row.group === group));
const excess = new Map(
  (JSON.parse(golden('peers_truth.json')) as { faulty: { component: string; excess_K_seen: number }[] }[]).flatMap(({ faulty }) =>
    faulty.map((one) => [one.component, one.excess_K_seen] as const),
  ),
);

/** Share found of those with an excess of 8 K or more, and false alarms per 100 healthy ones. */
function scoreOf(flagged: ReadonlySet<string>) {
  const large = rows.filter(({ name }) => (excess.get(name) ?? 0) >= 8);
  const healthy = rows.filter(({ name }) => !excess.has(name));
  const count = (of: readonly Row[]) => of.filter(({ name }) => flagged.has(name)).length;
  return { recall: count(large) / large.length, falseAlarms: (100 * count(healthy)) / healthy.length, large: large.length };
}
const compared = (group: readonly Row[]): readonly LikeStanding[] =>
  compareLike(group, group[0]!.kind === 'phases' ? LIKENESS.phases : LIKENESS.devices)?.standings ?? [];

describe('the faulty one among like components, on the first visit', () => {
  it('finds those with 8 K or more and leaves the healthy ones alone', () => {
    const score = scoreOf(new Set(groups.flatMap(compared).flatMap(({ name, standsOut }) => (standsOut === null ? [] : name))));
    expect(score.large).toBeGreaterThan(20);
    expect(score.recall).toBeGreaterThanOrEqual(0.95);
    expect(score.falseAlarms).toBeLessThanOrEqual(0.3);
  });

  it('does so through the verdict on twins: over its neighbours by 8 K at reference load', () => {
    const at = (row: Row) => ({
      point: aPoint({ id: row.name, loadFamily: 'thermal-machine', minimumLoadPercent: 0, twins: ['others'] }),
      reading: aReading({
        id: row.name,
        inputs: { value: row.temperature },
        conditions: { load: row.load!, ambient: row.ambient! },
      }),
    });
    const isFlagged = (row: Row, group: readonly Row[]): boolean => {
      const twins = group.filter((one) => one !== row).map(at);
      const { value, isUnremarkable } = figureFor(at(row).point, at(row).reading, 'over-twin', { twins });
      return value! >= 8 && !isUnremarkable;
    };
    const score = scoreOf(
      new Set(groups.flatMap((group) => group.filter((row) => isFlagged(row, group)).map(({ name }) => name))),
    );
    expect(score.recall).toBeGreaterThanOrEqual(0.95);
    expect(score.falseAlarms).toBeLessThanOrEqual(0.3);
  });

  it('does so through the verdict on like parts with their currents: over the others by 5 K', () => {
    const flagged = groups.flatMap((group) => {
      const board = aPoint({
        quantity: 'like-part-difference',
        unit: 'K',
        parts: group.map(({ name }) => name),
        loadFamily: 'electrical',
        loadExponent: 1.8,
      });
      const inputs = Object.fromEntries(
        group.flatMap(({ name, temperature, load }) => [
          [name, temperature],
          [`amps:${name}`, load!],
        ]),
      );
      const reading = aReading({ inputs, conditions: { ambient: group[0]!.ambient! } });
      const { value, standout, isUnremarkable } = figureOf(board, reading, 'like-part-difference');
      return value! >= 5 && !isUnremarkable ? standout!.split(/; also |, /) : [];
    });
    const score = scoreOf(new Set(flagged));
    expect(score.recall).toBeGreaterThanOrEqual(0.95);
    expect(score.falseAlarms).toBeLessThanOrEqual(0.3);
  });

  const breakers = (
    temperatures: readonly number[],
    loads: readonly (number | null)[],
    ambient: number | null = 22,
  ): LikeComponent[] =>
    temperatures.map((temperature, i) => ({ name: `B${i + 1}`, temperature, load: loads[i] ?? null, ambient }));
  const flaggedOf = (components: readonly LikeComponent[]): string[] =>
    (compareLike(components, LIKENESS.devices)?.standings ?? []).flatMap(({ name, standsOut }) =>
      standsOut === null ? [] : name,
    );

  it('a breaker is not faulty because it carries more, nor sound because it carries less', () => {
    // 30 K at full load: 9.9 K at half of it with the exponent 1.6; one at half load shows 12 K more than that.
    const loads = [50, 50, 100, 50, 50, 50];
    expect(flaggedOf(breakers([32, 31.5, 52, 32.4, 31.8, 32.2], loads))).toEqual([]);
    expect(flaggedOf(breakers([32, 31.5, 52, 44, 31.8, 32.2], loads))).toEqual(['B4']);
  });
  it('two faulty ones do not hide each other', () => {
    expect(flaggedOf(breakers([50, 51, 70, 49, 68, 50.5, 49.4], Array(7).fill(90)))).toEqual(['B3', 'B5']);
  });
  it('a hot room makes nobody faulty', () => {
    expect(flaggedOf(breakers([70, 71, 69.4, 70.6], Array(4).fill(90), 42))).toEqual([]);
  });
  it('without the air one load can be compared, unlike loads cannot; fewer than three neither', () => {
    expect(flaggedOf(breakers([50, 51, 70, 49], Array(4).fill(90), null))).toEqual(['B3']);
    expect(compareLike(breakers([50, 51, 70, 49], [90, 40, 90, 60], null), LIKENESS.devices)).toBeNull();
    expect(compareLike(breakers([50, 70], [90, 90]), LIKENESS.devices)).toBeNull();
  });
  it('what carries nothing, or whose load was not read, is left out and named', () => {
    const answer = compareLike(breakers([50, 51, 22, 70, 49, 50], [90, 90, 0, 90, 90, null]), LIKENESS.devices);
    expect(answer?.leftOut).toEqual(['B3', 'B6']);
    expect(answer?.standings.map(({ name }) => name)).toEqual(['B1', 'B2', 'B4', 'B5']);
  });

  const group = fc.array(
    fc.record({
      temperature: fc.double({ min: -50, max: 400, noNaN: true }),
      load: fc.option(fc.double({ min: -10, max: 150, noNaN: true })),
      ambient: fc.option(fc.double({ min: -20, max: 60, noNaN: true }), { freq: 5 }),
    }),
    { minLength: 0, maxLength: 12 },
  );
  const named = (list: readonly Omit<LikeComponent, 'name'>[]): LikeComponent[] =>
    list.map((one, i) => ({ ...one, name: `${i}` }));

  it('whatever was read, every answer is a probability, and the order does not matter', () => {
    fc.assert(
      fc.property(group, fc.constantFrom(...Object.values(LIKENESS)), (list, likeness) => {
        const [forth, back] = [compareLike(named(list), likeness), compareLike(named(list).reverse(), likeness)];
        expect(forth === null).toBe(back === null);
        for (const one of forth?.standings ?? []) {
          for (const share of [one.hotter, one.colder]) expect(share >= 0 && share <= 1).toBe(true);
          expect(Number.isFinite(one.excess)).toBe(true);
          const other = back!.standings.find(({ name }) => name === one.name)!;
          expect(other.hotter).toBeCloseTo(one.hotter, 3);
        }
      }),
    );
  });
  it('figures beyond all reason are answered with a figure or not at all', () => {
    for (const wild of [1e308, -1e308, Number.NaN, Number.POSITIVE_INFINITY]) {
      const answer = compareLike(breakers([50, 51, wild, 49, 50], Array(5).fill(90)), LIKENESS.devices);
      for (const one of answer?.standings ?? []) expect([one.excess, one.hotter, one.colder].every(Number.isFinite)).toBe(true);
    }
  });
  it('a greater excess is never less suspicious', () => {
    const seen = [0, 2, 4, 6, 8, 10, 15, 20, 40, 80].map(
      (more) => compareLike(breakers([50, 51, 49, 50.4, 50 + more], Array(5).fill(90)), LIKENESS.devices)!.standings[4]!.hotter,
    );
    expect([...seen].sort((a, b) => a - b)).toEqual(seen);
    expect(seen[0]).toBeLessThan(0.05);
    expect(seen.at(-1)).toBeGreaterThan(0.99);
  });
});
