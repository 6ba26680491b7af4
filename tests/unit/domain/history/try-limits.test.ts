/** Limits that are tried on a history before anybody saves them. */
import { concludePoint, GRADES, type Grade, tryLimits } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aLimitSet, aPoint, aReading } from '../builders.ts';

const WEEK = 7 * 86_400_000;
const START = Date.UTC(2026, 0, 5, 8);
const readings = (values: readonly number[]) =>
  values.map((value, week) => aReading({ id: `r${week}`, takenAt: START + week * WEEK, inputs: { value } }));
const set = aLimitSet([60, 70, 80, 90], { id: 'l', validFrom: START - WEEK });
const tried = ([watch, plan, soon, now]: readonly number[]) => ({
  criterion: set.criterion,
  direction: set.direction,
  watch: watch!,
  plan: plan!,
  soon: soon!,
  now: now!,
});
const inputOf = (values: readonly number[]) => ({ point: aPoint(), limitSets: [set], readings: readings(values), work: [] });
const rank = (grade: Grade | null): number => (grade === null ? -1 : GRADES.indexOf(grade));

describe('limits tried on a history', () => {
  it('judge every reading again, and nothing of it is kept', () => {
    const input = inputOf([55, 58, 64, 66]);
    const before = JSON.stringify(input);
    const trial = tryLimits(input, tried([50, 57, 65, 75]));
    expect(trial.readings.map(({ before: was, after }) => [was, after])).toEqual([
      ['fine', 'watch'],
      ['fine', 'plan'],
      ['watch', 'plan'],
      ['watch', 'soon'],
    ]);
    expect(trial.after.standing?.grade).toBe('soon');
    expect(trial.before).toEqual(concludePoint(input));
    expect(JSON.stringify(input)).toBe(before);
  });
  it('hold from the first day, whatever held since when', () => {
    const wide = aLimitSet([80, 85, 90, 95], { id: 'wide', validFrom: START - WEEK });
    const late = { ...inputOf([72, 72, 72]), limitSets: [wide, { ...set, version: 2, validFrom: START + WEEK }] };
    const trial = tryLimits(late, tried([60, 70, 80, 90]));
    expect(trial.readings.map(({ before, after }) => [before, after])).toEqual([
      ['fine', 'plan'],
      ['plan', 'plan'],
      ['plan', 'plan'],
    ]);
  });
  it('of another side leave this one', () => {
    const trial = tryLimits(inputOf([72]), { ...tried([20, 15, 10, 5]), direction: 'low' });
    expect(trial.readings).toMatchObject([{ before: 'plan', after: 'plan' }]);
  });
  it('the same figures change nothing; tighter ones make no reading milder (property)', () => {
    const value = fc.integer({ min: 400, max: 1000 }).map((tenth) => tenth / 10);
    fc.assert(
      fc.property(fc.array(value, { minLength: 1, maxLength: 20 }), fc.integer({ min: 0, max: 30 }), (values, by) => {
        const input = inputOf(values);
        const same = tryLimits(input, tried([60, 70, 80, 90]));
        expect(same.after.standing).toEqual(same.before.standing);
        expect(same.after.projections).toEqual(same.before.projections);
        for (const { before, after } of same.readings) expect(after).toBe(before);
        const tighter = tryLimits(input, tried([60 - by, 70 - by, 80 - by, 90 - by]));
        for (const { before, after } of tighter.readings) expect(rank(after)).toBeGreaterThanOrEqual(rank(before));
      }),
      { numRuns: 60 },
    );
  });
});
