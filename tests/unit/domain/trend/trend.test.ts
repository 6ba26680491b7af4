import { mannKendall, mannKendallExactP, predictTemperature, type TrendSample, theilSen } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type GoldenValue, goldenValues, holds, inputOf, isWithin } from '../golden-values.ts';

function samplesOf(value: GoldenValue): TrendSample[] {
  const times = inputOf<number[]>(value, 't');
  return inputOf<number[]>(value, 'y').map((y, i) => ({ time: times[i] ?? Number.NaN, value: y }));
}

describe('Mann–Kendall', () => {
  const figureOf = (value: GoldenValue) => mannKendall(inputOf(value, 'y'));
  it.each(goldenValues('trend.mannKendall.S'))('%s', (_, value) => expect(figureOf(value)?.s).toBe(value.expected));
  it.each(goldenValues('trend.mannKendall.var'))('%s', (_, value) => holds(figureOf(value)?.variance, value));
  it.each(goldenValues('trend.mannKendall.z'))('%s', (_, value) => holds(figureOf(value)?.z, value));
  it.each(goldenValues('trend.mannKendall.p'))('%s', (_, value) => holds(figureOf(value)?.pTwoSided, value));
  it.each(goldenValues('trend.mannKendall.exactP'))('exact: %s', (_, value) => {
    const p = mannKendallExactP(inputOf(value, 'n'), inputOf(value, 'S'));
    expect(isWithin(p, value.expected as number, value.tolerance)).toBe(true);
  });

  it('fewer than three values are no trend, equal values no movement', () => {
    expect(mannKendall([1, 2])).toBeNull();
    expect(mannKendall([1, Number.NaN, 2])).toBeNull();
    expect(mannKendall([5, 5, 5, 5])).toMatchObject({ s: 0, variance: 0, z: 0, pTwoSided: 1, pRisingExact: null });
  });

  it('the exact probability is given up to ten different values', () => {
    expect(mannKendall([1, 2, 3])?.pRisingExact).toBeCloseTo(1 / 6, 12);
    expect(mannKendall([3, 2, 1])?.pRisingExact).toBe(1);
    expect(mannKendall([1, 2, 2])?.pRisingExact).toBeNull();
    expect(mannKendall(Array.from({ length: 11 }, (_, i) => i))?.pRisingExact).toBeNull();
  });
});

describe('a reading at reference load and ambient', () => {
  it.each(goldenValues('trend.normalise'))('%s', (_, value) => {
    const read = {
      temperature: inputOf<number>(value, 't'),
      ambient: inputOf<number>(value, 'ambient'),
      load: inputOf<number>(value, 'load'),
      otherLoad: inputOf<number>(value, 'loadRef'),
      otherAmbient: inputOf<number>(value, 'ambientRef'),
    };
    holds(predictTemperature(read, inputOf(value, 'n')), value);
  });
});

describe('Theil–Sen', () => {
  it.each([...goldenValues('trend.theilSen.slope')])('slope: %s', (_, value) => {
    expect(isWithin(theilSen(samplesOf(value))?.slope, value.expected as number, value.tolerance)).toBe(true);
  });
  it.each(goldenValues('trend.theilSen.intercept'))('intercept: %s', (_, value) => {
    expect(isWithin(theilSen(samplesOf(value))?.intercept, value.expected as number, value.tolerance)).toBe(true);
  });
  it.each(goldenValues('trend.theilSen.ci95'))('95 %% interval: %s', (_, value) => {
    const interval = theilSen(samplesOf(value))?.interval;
    const [low = Number.NaN, high = Number.NaN] = value.expected as number[];
    expect(isWithin(interval?.low, low, value.tolerance)).toBe(true);
    expect(isWithin(interval?.high, high, value.tolerance)).toBe(true);
  });

  it('one time only is no slope, two readings are a slope without interval', () => {
    expect(
      theilSen([
        { time: 1, value: 1 },
        { time: 1, value: 2 },
      ]),
    ).toBeNull();
    expect(theilSen([])).toBeNull();
    expect(
      theilSen([
        { time: 0, value: 1 },
        { time: 2, value: 5 },
      ]),
    ).toEqual({ slope: 2, intercept: 1, interval: null, count: 2 });
  });

  it('one wild reading hardly moves it', () => {
    const straight = Array.from({ length: 21 }, (_, i) => ({ time: i, value: 3 * i }));
    const wild = straight.map((sample, i) => (i === 10 ? { ...sample, value: 1e6 } : sample));
    expect(theilSen(wild)?.slope).toBeCloseTo(3, 9);
  });

  it('order does not matter, and no NaN or infinity leaves', () => {
    const sample = fc.record({ time: fc.double(), value: fc.double() });
    fc.assert(
      fc.property(fc.array(sample, { maxLength: 20 }), (samples) => {
        const trend = theilSen(samples);
        expect(theilSen([...samples].reverse())).toEqual(trend);
        if (trend === null) return;
        const { slope, intercept, interval } = trend;
        for (const number of [slope, intercept, interval?.low ?? 0, interval?.high ?? 0]) {
          expect(Number.isFinite(number)).toBe(true);
        }
      }),
    );
  });
});
