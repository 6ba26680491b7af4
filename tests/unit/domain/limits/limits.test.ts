import { checkLimitSet, gradeReached, limitsInForce } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aLimitSet, aPoint, phases } from '../builders.ts';

describe('a limit set that may be kept', () => {
  const pointers = (...args: Parameters<typeof checkLimitSet>) => checkLimitSet(...args).map((problem) => problem.pointer);

  it('has a strict order in the direction of its limits', () => {
    expect(checkLimitSet(aLimitSet([70, 80, 90, 100]))).toEqual([]);
    expect(checkLimitSet(aLimitSet([61, 60, 57, 55], { direction: 'low' }))).toEqual([]);
    expect(pointers(aLimitSet([61, 60, 57, 55]))).toEqual(['/plan', '/soon', '/now']);
    expect(pointers(aLimitSet([70, 80, 90, 100], { direction: 'low' }))).toEqual(['/plan', '/soon', '/now']);
  });

  it('refuses equal figures, also across a grade left out', () => {
    expect(pointers(aLimitSet([70, 70, 90, 100]))).toEqual(['/plan']);
    expect(pointers(aLimitSet([70, null, 70, null]))).toEqual(['/soon']);
    expect(checkLimitSet(aLimitSet([70, 70, 90, 100]))[0]?.detail).toBe('Plan must lie above Watch (70); it is 70.');
  });

  it('may hold one grade only, but never none', () => {
    expect(checkLimitSet(aLimitSet([null, null, 80, null]))).toEqual([]);
    expect(pointers(aLimitSet([null, null, null, null]))).toEqual(['/watch']);
  });

  it('needs a source, a reason and finite figures', () => {
    expect(pointers(aLimitSet([70], { source: ' ', reason: '' }))).toEqual(['/source', '/reason']);
    expect(pointers(aLimitSet([Number.NaN, 80, Number.POSITIVE_INFINITY, null]))).toEqual(['/watch', '/soon']);
  });

  it('has a criterion that fits what the point measures', () => {
    expect(checkLimitSet(aLimitSet([70]), 'like-part-difference')).toEqual([]);
    expect(pointers(aLimitSet([70], { criterion: 'rise-over-ambient' }), 'vibration-velocity')).toEqual(['/criterion']);
    expect(pointers(aLimitSet([70], { criterion: 'like-part-difference' }), 'temperature')).toEqual(['/criterion']);
  });
});

describe('the version that judges', () => {
  const first = aLimitSet([75], { id: 'first', version: 1, validFrom: 100 });
  const second = aLimitSet([70], { id: 'second', version: 2, validFrom: 200 });
  const corrected = aLimitSet([71], { id: 'corrected', version: 3, validFrom: 200 });

  it('is the newest one valid at the time; of two from one moment the higher version', () => {
    expect(limitsInForce([second, first], 199)).toEqual([{ set: first, backdated: false }]);
    expect(limitsInForce([second, first], 200)).toEqual([{ set: second, backdated: false }]);
    expect(limitsInForce([corrected, second, first], 5000)).toEqual([{ set: corrected, backdated: false }]);
  });

  it('is the first one, marked, for a reading older than every version', () => {
    expect(limitsInForce([second, first], 50)).toEqual([{ set: first, backdated: true }]);
    expect(limitsInForce([], 50)).toEqual([]);
  });

  it('does not depend on the order of the versions', () => {
    const sets = [first, second, corrected];
    fc.assert(
      fc.property(fc.shuffledSubarray(sets, { minLength: 3 }), fc.integer({ min: 0, max: 400 }), (shuffled, at) => {
        expect(limitsInForce(shuffled, at)).toEqual(limitsInForce(sets, at));
      }),
    );
  });
});

describe('when a limit counts as reached', () => {
  it('by exactly its figure, from below and from above', () => {
    expect(gradeReached(aPoint(), aLimitSet([70, 80, 90, 100]), 80)).toBe('plan');
    expect(gradeReached(aPoint(), aLimitSet([57, 55, 53, 50], { direction: 'low' }), 55)).toBe('plan');
    expect(gradeReached(aPoint(), aLimitSet([57, 55, 53, 50], { direction: 'low' }), 55.01)).toBe('watch');
    // 30.3 − 22.3 is 8 but for the last bit.
    expect(gradeReached(aPoint(), aLimitSet([3, 8]), 30.3 - 22.3)).toBe('plan');
  });

  // ANSI/NETA MTS table 100.18: 1–3, 4–15 and above 15 K over a similar part; the printed gaps are closed upwards (own rule).
  it.each([
    [0.5, null],
    [1, 'watch'],
    [3, 'watch'],
    [3.6, 'plan'],
    [10, 'plan'],
    [15, 'plan'],
    [16, 'now'],
  ] as const)('ANSI/NETA MTS table 100.18: %d K over a similar part', (differenceK, grade) => {
    const table = aLimitSet([1, 3, null, 15], { criterion: 'like-part-difference', origin: 'general' });
    expect(gradeReached(phases(), table, differenceK)).toBe(grade);
  });

  // ISO 10816-3:2009, group 2, rigid (kept in ISO 20816-3): zone B up to and including 2.8 mm/s, C up to 4.5.
  it.each([
    [2.8, 'watch'],
    [2.81, 'plan'],
    [4.5, 'plan'],
    [4.6, 'soon'],
  ] as const)('ISO 20816-3, medium machine on a rigid base: %d mm/s', (velocity, grade) => {
    const shaft = aPoint({ quantity: 'vibration-velocity', unit: 'mm/s' });
    expect(gradeReached(shaft, aLimitSet([1.4, 2.8, 4.5, 7.1], { origin: 'general' }), velocity)).toBe(grade);
  });
});
