import { type DiaryForecast, type ForecastOutcome, hitRate, hitRateOf, scoreForecast } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const forecast: DiaryForecast = { cutAt: 0, earliestAt: 10, likelyAt: 15, latestAt: 20, limit: 80, direction: 'high' };
const at = (...pairs: [number, number][]) => pairs.map(([time, value]) => ({ at: time, value }));

describe('what became of a forecast', () => {
  it.each<[string, ForecastOutcome, [number, number][], number[]]>([
    [
      'crossed inside the range',
      'hit',
      [
        [9, 79],
        [14, 81],
      ],
      [],
    ],
    [
      'the limit itself counts as reached',
      'hit',
      [
        [9, 79],
        [14, 80],
      ],
      [],
    ],
    [
      'crossed before it',
      'early',
      [
        [4, 70],
        [8, 85],
      ],
      [],
    ],
    [
      'seen inside, but on the line between the readings crossed before',
      'early',
      [
        [2, 79],
        [12, 90],
      ],
      [],
    ],
    [
      'seen after it, but crossed inside',
      'hit',
      [
        [19, 79],
        [25, 90],
      ],
      [],
    ],
    [
      'crossed after it',
      'late',
      [
        [21, 79],
        [25, 81],
      ],
      [],
    ],
    ['run out without crossing', 'late', [[21, 70]], []],
    ['not run out yet', 'open', [[15, 70]], []],
    ['nothing read since', 'open', [], []],
    [
      'work came first',
      'censored',
      [
        [9, 70],
        [14, 90],
      ],
      [12],
    ],
    [
      'work after the crossing changes nothing',
      'hit',
      [
        [9, 79],
        [14, 81],
      ],
      [16],
    ],
    ['work after it had run out is no excuse', 'late', [[21, 70]], [30]],
    ['work before the cut is no work on it', 'hit', [[14, 81]], [-5, 0]],
    ['readings before the cut do not count', 'open', [[-3, 99]], []],
  ])('%s: %s', (_, outcome, readings, workAt) => {
    expect(scoreForecast(forecast, at(...readings), workAt)).toBe(outcome);
  });

  it('a low limit is reached from above, and a range without an end does not run out', () => {
    expect(scoreForecast({ ...forecast, direction: 'low', limit: 20 }, at([9, 21], [14, 19]), [])).toBe('hit');
    expect(scoreForecast({ ...forecast, latestAt: null }, at([500, 70]), [])).toBe('open');
    expect(scoreForecast({ ...forecast, latestAt: null }, at([499, 79], [500, 81]), [])).toBe('hit');
  });

  it('neither order nor doubles matter', () => {
    const reading = fc.record({ at: fc.integer({ min: -5, max: 40 }), value: fc.integer({ min: 60, max: 100 }) });
    fc.assert(
      fc.property(
        fc.array(reading, { maxLength: 8 }),
        fc.array(fc.integer({ min: -5, max: 40 }), { maxLength: 2 }),
        (readings, workAt) => {
          const outcome = scoreForecast(forecast, readings, workAt);
          expect(scoreForecast(forecast, [...readings, ...readings].reverse(), [...workAt].reverse())).toBe(outcome);
        },
      ),
    );
  });
});

describe('how often the ranges held', () => {
  const outcomes = (hit: number, late: number, censored = 0): ForecastOutcome[] => [
    ...Array<ForecastOutcome>(hit).fill('hit'),
    ...Array<ForecastOutcome>(late).fill('late'),
    ...Array<ForecastOutcome>(censored).fill('censored'),
  ];

  it('Wilson score interval: 8 of 10 is 0.490 to 0.943 (formula of Wilson 1927, worked by hand)', () => {
    const { rate, interval, verdict } = hitRate(outcomes(8, 2));
    expect([rate, verdict]).toEqual([0.8, 'as-promised']);
    expect(interval![0]).toBeCloseTo(0.4902, 4);
    expect(interval![1]).toBeCloseTo(0.9433, 4);
  });

  it('censored and open ones are not misses', () => {
    expect(hitRate([...outcomes(8, 2, 90), 'open'])).toEqual(hitRate(outcomes(8, 2)));
    expect(hitRate(['censored', 'open'])).toEqual({
      counted: 0,
      histories: 0,
      hits: 0,
      rate: null,
      interval: null,
      verdict: 'too-few',
      enough: null,
    });
  });

  it('flagged only once chance is ruled out, and says how many that takes', () => {
    expect(hitRate(outcomes(3, 3))).toMatchObject({ verdict: 'too-few', enough: 12 });
    expect(hitRate(outcomes(6, 6))).toMatchObject({ verdict: 'too-narrow', enough: null });
    expect(hitRate(outcomes(10, 0))).toMatchObject({ verdict: 'too-few', enough: 17 });
    expect(hitRate(outcomes(17, 0))).toMatchObject({ verdict: 'too-wide', enough: null });
    // One miss happens one time in five to ranges that hold what they promise; two in a row one time in 25.
    expect(hitRate(outcomes(0, 1))).toMatchObject({ verdict: 'too-few', enough: 3 });
    expect(hitRate(outcomes(0, 2))).toMatchObject({ verdict: 'too-few', enough: 3 });
    expect(hitRate(outcomes(0, 3))).toMatchObject({ verdict: 'too-narrow' });
  });

  it('forecasts of one history prove as much as that history: interval and verdict count histories', () => {
    // Twenty that all missed, of two machines: as far from telling as two misses.
    expect(hitRateOf(0, 20, 2)).toMatchObject({ ...hitRateOf(0, 2), counted: 20, histories: 2 });
    expect(hitRateOf(0, 20)).toMatchObject({ verdict: 'too-narrow', histories: 20 });
    expect(hitRateOf(12, 40, 20)).toMatchObject({ rate: 0.3, verdict: 'too-narrow', histories: 20 });
    const [low, high] = hitRateOf(27, 34, 9).interval!;
    const [lowAlone, highAlone] = hitRateOf(27, 34).interval!;
    expect(low).toBeLessThan(lowAlone);
    expect(high).toBeGreaterThan(highAlone);
  });

  it('what is flagged is so rare under the 80 % promised that chance does it at most one time in forty on that side (property)', () => {
    /** Whole distribution by adding one outcome after the other. */
    const distribution = (n: number): number[] => {
      let row = [1];
      for (let i = 0; i < n; i++)
        row = Array.from({ length: row.length + 1 }, (_, k) => 0.2 * (row[k] ?? 0) + 0.8 * (row[k - 1] ?? 0));
      return row;
    };
    fc.assert(
      fc.property(fc.nat(60), fc.nat(60), (hit, late) => {
        const { verdict, rate } = hitRate(outcomes(hit, late));
        if (rate === null || verdict === 'as-promised') return;
        const all = distribution(hit + late);
        const tail = (rate < 0.8 ? all.slice(0, hit + 1) : all.slice(hit)).reduce((sum, one) => sum + one, 0);
        if (Math.abs(tail - 0.025) > 1e-9) expect(tail > 0.025).toBe(verdict === 'too-few');
      }),
    );
  });
});
