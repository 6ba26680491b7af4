/** Kinds of limits beside one upper or lower one: bands, twins, changes, per cent of a base, weather and seasons. */
import {
  assessReading,
  checkLimitSet,
  concludePoint,
  contextAt,
  type LimitSet,
  limitsInForce,
  type Point,
  type Reading,
  type Verdict,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aLimitSet, aPoint, aReading, DAY, START } from '../builders.ts';

const HOUR = 3_600_000;
const draft = (figures: readonly (number | null)[], over: Partial<LimitSet> = {}) => aLimitSet(figures, over);

describe('a band is two sides of one criterion', () => {
  const level = aPoint({ quantity: 'filling-level', unit: '%', decimals: 0 });
  const sides = [aLimitSet([80, 90, 95, 100], { id: 'high' }), aLimitSet([30, 20, 10, null], { id: 'low', direction: 'low' })];
  const grade = (value: number, sets = sides) => assessReading(level, aReading({ inputs: { value } }), sets).grade;

  it('either side is reached by itself, the order of the sides does not matter', () => {
    expect([5, 10, 20, 30, 31, 79, 80, 90, 95, 100].map((value) => grade(value))).toEqual([
      ...['soon', 'soon', 'plan', 'watch', 'fine', 'fine', 'watch', 'plan', 'soon', 'now'],
    ]);
    fc.assert(fc.property(fc.integer({ min: 0, max: 120 }), (value) => grade(value) === grade(value, [...sides].reverse())));
  });

  it('names the nearer side while nothing is reached', () => {
    const read = (value: number) => assessReading(level, aReading({ inputs: { value } }), sides).because;
    expect(read(75)).toMatchObject({ direction: 'high', limit: 80 });
    expect(read(35)).toMatchObject({ direction: 'low', limit: 30 });
  });

  it('D3: a band with only its low side says nothing above, until the other side is added', () => {
    const [high, low] = sides as [LimitSet, LimitSet];
    expect(grade(100, [low])).toBe('fine');
    expect(grade(100, [low, { ...high, validFrom: START - 1 }])).toBe('now');
    // Limits that were added later judge nothing before them as long as the criterion had others.
    expect(grade(100, [low, { ...high, validFrom: START + 1 }])).toBe('fine');
  });

  it('a side without figures withdraws it and leaves the other one', () => {
    const withdrawn = aLimitSet([], { id: 'gone', version: 2, validFrom: START - 1 });
    expect(grade(100, [...sides, withdrawn])).toBe('fine');
    expect(grade(20, [...sides, withdrawn])).toBe('plan');
    expect(checkLimitSet(draft([]), 'filling-level', sides)).toEqual([]);
    expect(checkLimitSet(draft([]), 'filling-level').map(({ pointer }) => pointer)).toEqual(['/watch']);
  });
});

describe('what may not be saved', () => {
  const pointers = (...of: Parameters<typeof checkLimitSet>) => checkLimitSet(...of).map(({ pointer }) => pointer);

  it('D2: figures reversed, equal or only one of them', () => {
    expect(pointers(draft([80, 70, 90, 100]))).toEqual(['/plan']);
    expect(pointers(draft([70, 70, 90, 100]))).toEqual(['/plan']);
    expect(pointers(draft([null, null, null, 100]))).toEqual([]);
    expect(pointers(draft([70, 80], { direction: 'low' }))).toEqual(['/plan']);
    expect(pointers(draft([80, 70], { direction: 'low' }))).toEqual([]);
    expect(checkLimitSet(draft([80, 70]))[0]?.detail).toBe('Plan must lie above Watch (80); it is 70.');
  });

  it('two sides that leave no room between them', () => {
    const low = aLimitSet([30, 20], { direction: 'low', validFrom: START });
    expect(pointers(draft([30, 40]), undefined, [low])).toEqual(['/watch']);
    expect(pointers(draft([31, 40]), undefined, [low])).toEqual([]);
    expect(pointers(draft([50, 40], { direction: 'low' }), undefined, [aLimitSet([50, 60])])).toEqual(['/watch']);
  });

  it('no reason, no source, a season without days', () => {
    expect(pointers(draft([1], { reason: ' ', source: '' }))).toEqual(['/source', '/reason']);
    const season = { season: ' ', from: '02-30', until: '13-01' };
    expect(pointers(draft([1], { holds: season }))).toEqual(['/holds/season', '/holds/until']);
  });
});

describe('over its twin, on the same visit', () => {
  const bearing = (id: string): Point =>
    aPoint({ id, loadFamily: 'thermal-machine', minimumLoadPercent: 50, twins: id === 'de' ? ['nde'] : ['de'] });
  // 12 K over the twin at like load: Plan, Soon with a second reading (common practice, no source).
  const overTwin = aLimitSet([8, null, 12, 25], { id: 'twin', criterion: 'over-twin', origin: 'general' });
  const housing = aLimitSet([70, 80, 90, 100]);
  const read = (value: number, load: number, over: Partial<Reading> = {}, ambient: number | null = 22) =>
    aReading({ inputs: { value }, conditions: { load, ...(ambient === null ? {} : { ambient }) }, ...over });
  const assess = (own: Reading, twin: Reading | null, previous: Verdict | null = null): Verdict => {
    const earlier =
      previous === null ? [] : [{ reading: { ...own, id: 'before', takenAt: START - 7 * DAY }, judgement: previous }];
    const twins = twin === null ? [] : [{ point: bearing('nde'), reading: twin }];
    return assessReading(bearing('de'), own, [housing, overTwin], contextAt(bearing('de'), own, { work: [], twins, earlier }));
  };

  it('works on the first visit: 12 K over it is Plan, and Soon when the next reading shows it again', () => {
    const first = assess(read(62, 90), read(50, 90, { takenAt: START - HOUR }));
    expect(first).toMatchObject({ grade: 'plan', because: { criterion: 'over-twin', value: 12, capped: true } });
    expect(first.sentence).toMatch(/^12\.0.K over its twin at 90.% load; the Soon limit is 12.K .*Counts as Plan until a second/);
    expect(assess(read(62, 90), read(50, 90), first)).toMatchObject({ grade: 'soon', because: { capped: false } });
  });

  it('each over its own air and at reference load where the loads differ; not at all without the air', () => {
    // 30 K at 60 % is 50 K at full load, 34 K at 100 %: 16 K over it, though as read it is the cooler one.
    expect(assess(read(52, 60), read(56, 100)).because).toMatchObject({ criterion: 'over-twin', value: expect.closeTo(16, 9) });
    expect(assess(read(52, 60, {}, null), read(56, 100)).because?.criterion).toBe('absolute');
  });

  it('another visit, a twin at rest or hardly loaded is no twin; the rest is judged', () => {
    for (const twin of [read(50, 90, { takenAt: START - 9 * HOUR }), read(30, 90, { running: false }), read(30, 20), null]) {
      const verdict = assess(read(62, 90), twin);
      expect(verdict).toMatchObject({ grade: 'fine', notes: [], because: { criterion: 'absolute' } });
    }
  });

  it('at the stop a twin read later is not known; looking back it is', () => {
    const [own, later] = [read(62, 90), read(50, 90, { takenAt: START + HOUR })];
    expect(assess(own, later)).toMatchObject({ grade: 'fine', because: { criterion: 'absolute' } });
    const known = { point: bearing('de'), limitSets: [housing, overTwin], work: [] };
    const twins = [{ point: bearing('nde'), reading: later }];
    expect(concludePoint({ ...known, readings: [own], twins }).latest?.verdict).toMatchObject({ grade: 'plan' });
  });

  it('says that the twin is the warmer one', () => {
    expect(assess(read(50, 90), read(62, 90))).toMatchObject({ grade: 'fine', notes: ['twin-worse'] });
  });

  it('where nothing else is limited, a missing twin is why nothing is judged', () => {
    const own = read(62, 90);
    const alone = assessReading(bearing('de'), own, [overTwin], contextAt(bearing('de'), own, { work: [] }));
    expect(alone).toMatchObject({ grade: null, gate: 'twin-missing' });
    expect(alone.sentence).toContain('no comparable reading of its twin from this visit');
  });

  it('neighbours on one header: against the median of the others', () => {
    const trap = (id: string): Point => aPoint({ id, twins: id === 'a' ? ['b', 'c', 'd'] : [] });
    const own = aReading({ inputs: { value: 128 } });
    const twins = [100, 101, 140].map((value, i) => ({
      point: trap('bcd'[i]!),
      reading: aReading({ id: `n${i}`, inputs: { value } }),
    }));
    const verdict = assessReading(trap('a'), own, [overTwin], contextAt(trap('a'), own, { work: [], twins }));
    expect(verdict.because).toMatchObject({ criterion: 'over-twin', value: 27 });
    expect(verdict.sentence).toContain('over its neighbours');
  });
});

describe('since the last comparable reading', () => {
  const point = aPoint({ loadFamily: 'thermal-machine', minimumLoadPercent: 50, regreasingGateHours: 24 });
  const change = aLimitSet([null, 10, 15, null], { criterion: 'change-since-last' });
  const at = (value: number, day: number, ambient = 22, load = 90) =>
    aReading({ id: `d${day}`, takenAt: START + day * DAY, inputs: { value }, conditions: { ambient, load } });
  const judge = (own: Reading, before: Reading, work: { takenAt: number; work: 'replaced' | 'regreased' }[] = []) => {
    const judgement = assessReading(point, before, [change]);
    return assessReading(point, own, [change], contextAt(point, own, { work, earlier: [{ reading: before, judgement }] }));
  };

  it('10 K more than last time is Plan, 15 K Soon (common practice, no source)', () => {
    expect(judge(at(60, 7), at(50, 0))).toMatchObject({ grade: 'plan', because: { value: 10 } });
    expect(judge(at(65, 7), at(50, 0)).grade).toBe('soon');
    expect(judge(at(65, 7), at(50, 0)).sentence).toMatch(/^15\.0.K more than last time/);
  });

  it('a warmer room is no change of the machine', () => {
    expect(judge(at(62, 7, 34), at(50, 0, 22)).grade).toBe('fine');
  });

  it('after work there is nothing to compare with, and a bad measurement is nothing either', () => {
    const gate = { grade: null, gate: 'nothing-before' };
    expect(judge(at(65, 7), at(50, 0), [{ work: 'replaced', takenAt: START + 3 * DAY }])).toMatchObject(gate);
    expect(judge(at(65, 7), at(50, 0, 22, 20))).toMatchObject(gate);
  });
});

describe('weather (spread of flow and return; common practice, no source)', () => {
  const circuit = aPoint({ quantity: 'spread', unit: 'K' });
  const mild = { weather: 'mild' } as const;
  const cold = { weather: 'cold' } as const;
  const sets = [
    aLimitSet([10, 15, 20, null], { id: 'mh', holds: mild }),
    aLimitSet([5], { id: 'ml', holds: mild, direction: 'low' }),
    aLimitSet([18.75, 22.5, 26.25, 30], { id: 'ch', holds: cold }),
    aLimitSet([12, 9, 6, 4], { id: 'cl', holds: cold, direction: 'low' }),
  ];
  const grade = (spread: number, outdoor: number | null) =>
    assessReading(
      circuit,
      aReading({ inputs: { flow: 40 + spread, return: 40 }, conditions: outdoor === null ? {} : { outdoor } }),
      sets,
    ).grade;

  it('in mild weather a small spread is usual and a large one wants balancing', () => {
    expect([4, 7, 12, 17, 20].map((spread) => grade(spread, 12))).toEqual(['watch', 'fine', 'watch', 'plan', 'soon']);
  });

  it('in cold weather the same small spread is overflow', () => {
    expect([4, 7, 15, 20, 24, 27, 30].map((spread) => grade(spread, -2))).toEqual([
      ...['now', 'plan', 'fine', 'watch', 'plan', 'soon', 'now'],
    ]);
  });

  it('between 5 and 10 °C only the lower of the two grades counts', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 35 }), fc.double({ min: 5, max: 9.99, noNaN: true }), (spread, outdoor) => {
        const order = ['fine', 'watch', 'plan', 'soon', 'now'];
        const lower = Math.min(order.indexOf(grade(spread, 12)!), order.indexOf(grade(spread, 0)!));
        expect(grade(spread, outdoor)).toBe(order[lower]);
      }),
    );
    expect([grade(7, 10), grade(7, 9.9), grade(7, 5), grade(7, 4.9)]).toEqual(['fine', 'fine', 'fine', 'plan']);
  });

  it('without the outdoor temperature nothing is cleared, and what is bad in any weather stands', () => {
    expect(grade(7, null)).toBeNull();
    expect(grade(28, null)).toBe('soon');
  });

  it('limits for one weather only say so in another', () => {
    const verdict = assessReading(
      circuit,
      aReading({ inputs: { flow: 47, return: 40 }, conditions: { outdoor: 0 } }),
      sets.slice(0, 2),
    );
    expect(verdict).toMatchObject({ grade: null, gate: null });
    expect(verdict.sentence).toMatch(/^Not judged: no limits hold in this weather\./);
  });
});

describe('seasons', () => {
  const set = aLimitSet([40], { holds: { season: 'cooling', from: '05-01', until: '09-30' } });
  const winter = aLimitSet([50], { id: 'w', holds: { season: 'heating', from: '10-01', until: '04-30' } });
  it('only the set of the season is in force, also over the new year', () => {
    const ids = (...date: [number, number, number]) => limitsInForce([set, winter], Date.UTC(...date)).map((one) => one.set.id);
    expect([ids(2026, 4, 1), ids(2026, 8, 30), ids(2026, 9, 1), ids(2026, 11, 31), ids(2027, 3, 30)]).toEqual([
      ['limits'],
      ['limits'],
      ['w'],
      ['w'],
      ['w'],
    ]);
  });
});

describe('room, not machine', () => {
  const compressor = aPoint({ needs: ['ambient'] });
  const outlet = aLimitSet([90, 95, 100, 105], { reason: 'the trip of the maker is 110 °C' });
  const rise = aLimitSet([65, 75, 85, 95], { id: 'rise', criterion: 'rise-over-ambient' });
  const judge = (value: number, ambient: number, sets = [outlet]) =>
    assessReading(compressor, aReading({ inputs: { value }, conditions: { ambient } }), sets);

  it('92 °C in a room of 34 °C: Watch as read, and the room is named', () => {
    expect(judge(92, 34)).toMatchObject({ grade: 'watch', notes: ['room-not-machine'] });
    expect(judge(92, 34).sentence).toMatch(/Room, not machine: in air of 25.°C it would read 83\.0.°C and reach no limit/);
  });

  it('not in usual air, not when the rise itself is too high, not when it would be too hot anyway', () => {
    expect(judge(92, 24).notes).toEqual([]);
    expect(judge(101, 35, [outlet, rise]).notes).toEqual([]);
    expect(judge(99, 30).grade).toBe('plan');
    expect(judge(101, 31).notes).toEqual([]);
  });
});

describe('gates of place and weather', () => {
  it('a target smaller than three picture elements hides heat', () => {
    const joint = aPoint({ infrared: true, emissivity: 0.95, targetMm: 10 });
    const from = (distance: number, value: number) =>
      assessReading(joint, aReading({ inputs: { value }, conditions: { distance, pictureElement: 1.4 } }), [
        aLimitSet([70, 80, 90, 100]),
      ]);
    expect(from(2, 50)).toMatchObject({ grade: 'fine' });
    expect(from(3, 50)).toMatchObject({ grade: null, gate: 'target-too-small' });
    expect(from(3, 85)).toMatchObject({ grade: 'plan', atLeast: true });
  });

  it('wind is said above 5 m/s with what it may hide, and blocks above 8 m/s', () => {
    const outdoors = aPoint({ quantity: 'rise-over-ambient', unit: 'K', needs: ['wind'] });
    const in_ = (wind: number) =>
      assessReading(outdoors, aReading({ inputs: { part: 20, air: 10 }, conditions: { wind } }), [
        aLimitSet([30, 40], { criterion: 'rise-over-ambient' }),
      ]);
    expect(in_(3)).toMatchObject({ grade: 'fine', notes: [] });
    expect(in_(6).notes).toEqual(['wind']);
    expect(in_(6).sentence).toMatch(/Wind cooled it: in still air it may be about 22.K\./);
    expect(in_(9)).toMatchObject({ grade: null, gate: 'too-windy' });
  });

  it('a collector tells nothing under a weak sun unless its pump runs', () => {
    const header = aPoint({ needs: ['irradiance'] });
    const under = (irradiance: number | undefined, running: boolean | null) =>
      assessReading(
        header,
        aReading({ inputs: { value: 40 }, conditions: irradiance === undefined ? {} : { irradiance }, running }),
        [aLimitSet([70])],
      );
    expect(under(500, null).grade).toBe('fine');
    expect(under(499, null)).toMatchObject({ grade: null, gate: 'sun-too-weak' });
    expect(under(undefined, null)).toMatchObject({ grade: null, gate: 'sun-too-weak' });
    expect(under(300, true).grade).toBe('fine');
  });
});
