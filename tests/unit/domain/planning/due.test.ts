import {
  ANSWER_CLOCKS,
  answerDueAt,
  type Criticality,
  compareQueued,
  compareUnanswered,
  DUE_DAYS,
  dueDays,
  endOfWorkingDay,
  GRADES,
  likelihoodOf,
  likelihoodOfGrade,
  type Ordinal,
  overdueDays,
  probabilityBy,
  type Queued,
  repairDueAt,
  riskOf,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { goldenValues, inputOf } from '../golden-values.ts';

const DUBLIN = 'Europe/Dublin';
const DAY = 86_400_000;
const at = (text: string): number => Date.parse(text);
const demo = at('2026-04-23T08:00+01:00');

describe('rules as written down', () => {
  it.each(goldenValues('risk.score'))('%s', (_, value) => {
    // Likelihood 4 and 2 come of moments at which the forecast says 32 % and 5 %.
    const projection = { cutAt: 0, earliestAt: 10, likelyAt: 20, latestAt: 40, probabilityMoving: 1 };
    const opportunityAt = inputOf(value, 'likelihood') === 4 ? 15.5 : 5;
    const subject = { grade: 'fine', criticality: 'C', consequence: inputOf<Ordinal>(value, 'consequence') } as const;
    expect(riskOf(subject, { projection, opportunityAt }).risk).toBe(value.expected);
  });
  it.each(goldenValues('risk.likelihood'))('%s', (_, value) => expect(likelihoodOf(inputOf(value, 'p'))).toBe(value.expected));
  it.each(goldenValues('risk.dueDays'))('%s', (_, value) => {
    const grade = GRADES[inputOf<number>(value, 'level')]!;
    expect(dueDays(grade, inputOf<Criticality>(value, 'criticality'), null)).toBe(value.expected);
  });
  it.each(goldenValues('risk.dueWithPrognosis'))('%s', (_, value) =>
    expect(dueDays('plan', 'B', inputOf(value, 'p10'))).toBe(value.expected),
  );
});

describe('due dates', () => {
  it('are whole days of the site, said by their last instant', () => {
    const due = repairDueAt({ grade: 'plan', criticality: 'A', at: demo }, null, DUBLIN);
    expect(due).toEqual({ at: at('2026-05-08T00:00+01:00') - 1, days: 14, because: 'grade' });
    expect(repairDueAt({ grade: 'now', criticality: 'B', at: demo }, null, DUBLIN).at).toBe(at('2026-04-24T00:00+01:00') - 1);
    expect(repairDueAt({ grade: 'watch', criticality: 'A', at: demo }, null, DUBLIN)).toEqual({
      at: null,
      days: null,
      because: 'next-visit',
    });
  });

  it('a shown forecast shortens them to half the way to its earliest date, and never lengthens', () => {
    const due = (days: number, show: 'range' | 'not-before' | 'far' | 'none' = 'range') =>
      repairDueAt({ grade: 'plan', criticality: 'A', at: demo }, { earliestAt: demo + days * DAY, show }, DUBLIN);
    expect(due(9)).toMatchObject({ days: 4, because: 'forecast' });
    expect(due(200)).toMatchObject({ days: 14, because: 'grade' });
    expect(due(-5)).toMatchObject({ days: 0, because: 'forecast' });
    expect(due(9, 'none')).toMatchObject({ days: 14, because: 'grade' });
    const watch = repairDueAt(
      { grade: 'watch', criticality: 'C', at: demo },
      { earliestAt: demo + 40 * DAY, show: 'not-before' },
      DUBLIN,
    );
    expect(watch).toMatchObject({ days: 20, because: 'forecast' });
  });

  it('where the answer took its time, the forecast halves what is left of it: agreed to and late at once it is by the table only', () => {
    const due = (days: number, waited: number) => {
      const found = { grade: 'plan', criticality: 'B', at: demo, agreedAt: demo + waited * DAY } as const;
      return repairDueAt(found, { earliestAt: demo + days * DAY, show: 'range' }, DUBLIN);
    };
    expect(due(10, 0)).toMatchObject({ days: 5, because: 'forecast' });
    expect(due(10, 6)).toMatchObject({ days: 8, because: 'forecast' });
    expect(due(10, 12)).toMatchObject({ days: 12, because: 'forecast' });
    expect(due(10, 40)).toMatchObject({ days: 30, because: 'grade' });
    expect(due(100, 7)).toMatchObject({ days: 30, because: 'grade' });
  });

  it('an organisation may have its own table', () => {
    const own = { ...DUE_DAYS, plan: { A: 7, B: 21, C: 45 } };
    expect(dueDays('plan', 'B', null, own)).toBe(21);
  });

  it('D35: overdue counts days of the site, not of whoever looks', () => {
    const due = at('2026-04-01T00:00+01:00') - 1;
    expect(overdueDays(due, demo, DUBLIN)).toBe(23);
    expect(overdueDays(due, due, DUBLIN)).toBe(0);
    expect(overdueDays(due, due + 1, DUBLIN)).toBe(1);
    expect(overdueDays(due, due + 1, 'America/New_York')).toBe(0);
    expect(overdueDays(null, demo, DUBLIN)).toBe(0);
  });

  it('D31: the day on which the clocks change is one day overdue', () => {
    const due = at('2026-03-29T00:00Z') - 1;
    expect(overdueDays(due, at('2026-03-29T23:30+01:00'), DUBLIN)).toBe(1);
    expect(overdueDays(due, at('2026-03-30T00:30+01:00'), DUBLIN)).toBe(2);
  });
});

describe('answer clocks', () => {
  it('Now 15 minutes, Soon 4 hours, Plan 3 working days, Watch at the next review', () => {
    expect(answerDueAt('now', demo, DUBLIN)! - demo).toBe(15 * 60_000);
    expect(answerDueAt('soon', demo, DUBLIN)! - demo).toBe(4 * 3_600_000);
    expect(answerDueAt('plan', demo, DUBLIN)).toBe(at('2026-04-29T00:00+01:00') - 1);
    expect([answerDueAt('watch', demo, DUBLIN), answerDueAt('fine', demo, DUBLIN)]).toEqual([null, null]);
    expect(answerDueAt('watch', demo, DUBLIN, { ...ANSWER_CLOCKS, watch: { minutes: 1 } })).toBe(demo + 60_000);
  });

  it('D35: working days are those of the site, holidays and weekends left out', () => {
    const lateFriday = at('2026-04-24T23:30Z');
    expect(endOfWorkingDay(lateFriday, 1, DUBLIN)).toBe(at('2026-04-28T00:00+01:00') - 1);
    expect(endOfWorkingDay(lateFriday, 1, 'America/New_York')).toBe(at('2026-04-28T00:00-04:00') - 1);
    const calendar = { weekdays: [1, 2, 3, 4, 5], holidays: ['2026-05-04'] };
    expect(endOfWorkingDay(at('2026-05-01T08:00+01:00'), 1, DUBLIN, calendar)).toBe(at('2026-05-06T00:00+01:00') - 1);
    expect(endOfWorkingDay(demo, 0, DUBLIN)).toBe(at('2026-04-24T00:00+01:00') - 1);
    expect(endOfWorkingDay(demo, 1, DUBLIN, { weekdays: [], holidays: [] })).toBeNull();
  });

  it('D32: three working days over the end of a year and over 29 February', () => {
    expect(endOfWorkingDay(at('2026-12-31T08:00Z'), 3, DUBLIN)).toBe(at('2027-01-06T00:00Z') - 1);
    expect(endOfWorkingDay(at('2028-02-28T08:00Z'), 1, DUBLIN)).toBe(at('2028-03-01T00:00Z') - 1);
  });
});

describe('risk', () => {
  const projection = { cutAt: 0, earliestAt: 10, likelyAt: 20, latestAt: 40, probabilityMoving: 1 };

  it('probability is 10, 50 and 90 % at the three dates and straight in between', () => {
    const expected = [0, 0, 0.05, 0.1, 0.3, 0.5, 0.7, 0.9];
    [-1, 0, 5, 10, 15, 20, 30, 40].forEach((moment, index) => {
      expect(probabilityBy(projection, moment)).toBeCloseTo(expected[index]!, 12);
    });
    expect(probabilityBy(projection, 45)).toBe(1);
    expect(probabilityBy({ ...projection, probabilityMoving: 0.5 }, 40)).toBe(0.45);
  });

  it('a missing date adds nothing beyond the one before it; no date, no probability', () => {
    expect(probabilityBy({ ...projection, latestAt: null }, 999)).toBe(0.5);
    expect(probabilityBy({ ...projection, likelyAt: null, latestAt: null }, 999)).toBe(0.1);
    expect(probabilityBy({ ...projection, earliestAt: null }, 999)).toBeNull();
  });

  it('probability lies between 0 and 1 and never falls with time, whatever the dates', () => {
    const date = fc.integer({ min: 0, max: 100 });
    fc.assert(
      fc.property(
        fc.tuple(date, date, date),
        fc.tuple(date, date),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (dates, moments, moving) => {
          const [earliestAt, likelyAt, latestAt] = dates.toSorted((a, b) => a - b) as [number, number, number];
          const some = { cutAt: 20, earliestAt, likelyAt, latestAt, probabilityMoving: moving };
          const [early, late] = moments.toSorted((a, b) => a - b).map((moment) => probabilityBy(some, moment)!) as [
            number,
            number,
          ];
          expect(early).toBeGreaterThanOrEqual(0);
          expect(late).toBeLessThanOrEqual(1);
          expect(late).toBeGreaterThanOrEqual(early - 1e-12);
        },
      ),
    );
  });

  it('without a forecast the grade gives the likelihood, and criticality the consequence', () => {
    expect(GRADES.map(likelihoodOfGrade)).toEqual([1, 2, 3, 4, 5]);
    expect(riskOf({ grade: 'soon', criticality: 'A', consequence: null }, null)).toEqual({
      likelihood: 4,
      consequence: 5,
      risk: 20,
      because: 'grade',
    });
    expect(riskOf({ grade: 'plan', criticality: 'C', consequence: null }, null).risk).toBe(6);
    expect(riskOf({ grade: 'plan', criticality: 'B', consequence: 1 }, { projection, opportunityAt: 40 })).toEqual({
      likelihood: 5,
      consequence: 1,
      risk: 5,
      because: 'forecast',
    });
  });

  it('classes are closed below: 1, 10, 30 and 70 % belong to the higher one', () => {
    expect([0, 0.01, 0.1, 0.3, 0.7, 1].map((probability) => likelihoodOf(probability))).toEqual([1, 2, 3, 4, 5, 5]);
  });
});

describe('queues', () => {
  const aQueued = (id: string, overrides: Partial<Queued> = {}): Queued => ({
    id,
    isCritical: false,
    risk: 6,
    consequence: 3,
    dueAt: 100,
    reportedAt: 10,
    ...overrides,
  });

  it('critical, risk, consequence, due date, age', () => {
    const inOrder = [
      aQueued('critical', { isCritical: true, risk: 1 }),
      aQueued('risk', { risk: 12 }),
      aQueued('consequence', { consequence: 5 }),
      aQueued('due', { dueAt: 50 }),
      aQueued('age', { reportedAt: 5 }),
      aQueued('a'),
      aQueued('b'),
      aQueued('no date', { dueAt: null, reportedAt: 1 }),
    ];
    fc.assert(
      fc.property(fc.shuffledSubarray(inOrder, { minLength: inOrder.length }), (shuffled) => {
        expect(shuffled.sort(compareQueued)).toEqual(inOrder);
      }),
    );
  });

  it('answers due go by the last sensible window before risk', () => {
    const window = (id: string, lastWindowAt: number | null, overrides: Partial<Queued> = {}) => ({
      ...aQueued(id, overrides),
      lastWindowAt,
    });
    const inOrder = [
      window('now', null, { isCritical: true }),
      window('early', 5),
      window('late', 9, { risk: 25 }),
      window('none', null, { risk: 25 }),
    ];
    expect(inOrder.toReversed().sort(compareUnanswered)).toEqual(inOrder);
  });
});
