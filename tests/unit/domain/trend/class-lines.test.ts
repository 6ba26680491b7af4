import { readFileSync } from 'node:fs';
import { fitClassLines, type TrendSample } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

interface Reference {
  readonly id: string;
  readonly data: { readonly g: string[]; readonly x: number[]; readonly y: number[] };
  readonly lmer_REML: {
    readonly intercept: number;
    readonly slope: number;
    readonly slope_se: number;
    readonly sd_intercept: number;
    readonly sd_slope: number;
    readonly corr: number;
    readonly sd_residual: number;
    readonly logLik: number;
    readonly singular: boolean;
  };
  readonly units: readonly { readonly unit: string; readonly shrunk_slope: number; readonly shrunk_intercept: number }[];
}
// Source: R lme4 1.1.31, REML with random intercept and slope; another optimiser may differ in the fourth digit.
const { fits } = JSON.parse(readFileSync(new URL('../../../golden/mixed.json', import.meta.url), 'utf8')) as {
  fits: Reference[];
};

const near = (actual: number, expected: number, relative: number) =>
  expect(Math.abs(actual - expected), `${actual} is not ${expected}`).toBeLessThanOrEqual(
    relative * Math.max(Math.abs(expected), 1e-3),
  );

describe('lines of a class of like units', () => {
  it.each(fits)('against lme4: $id', ({ data, lmer_REML: wanted, units }) => {
    const samples = units.map(({ unit }) =>
      data.g.flatMap((g, i): TrendSample[] => (g === unit ? [{ time: data.x[i]!, value: data.y[i]! }] : [])),
    );
    const found = fitClassLines(samples)!;
    near(found.intercept, wanted.intercept, 1e-4);
    near(found.slope, wanted.slope, 1e-3);
    near(found.slopeSe, wanted.slope_se, 2e-3);
    near(found.interceptSd, wanted.sd_intercept, 1e-3);
    near(found.residualSd, wanted.sd_residual, 1e-3);
    near(found.logLikelihood, wanted.logLik, 1e-5);
    // At the boundary slopes hardly differ, and then their correlation with the intercepts means nothing.
    if (wanted.singular) expect(found.slopeSd).toBeLessThan(0.01);
    else {
      near(found.slopeSd, wanted.sd_slope, 1e-3);
      near(found.correlation, wanted.corr, 1e-2);
    }
    for (const [i, unit] of units.entries()) {
      near(found.lines[i]!.slope, unit.shrunk_slope, 5e-3);
      near(found.lines[i]!.intercept, unit.shrunk_intercept, 1e-3);
    }
  });

  it('too little to learn from', () => {
    expect(fitClassLines([])).toBeNull();
    expect(fitClassLines([[{ time: 0, value: 1 }], [{ time: 1, value: 2 }]])).toBeNull();
    const flat = [0, 1, 2, 3].map((time) => ({ time, value: 5 }));
    expect(fitClassLines([flat, flat])).toBeNull();
  });

  it('units of time and value change nothing but the figures of their units', () => {
    const unit = fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 4, maxLength: 8 });
    fc.assert(
      fc.property(fc.array(unit, { minLength: 3, maxLength: 6 }), fc.integer({ min: 1, max: 50 }), (noise, factor) => {
        const units = noise.map((values, i) =>
          values.map((value, week) => ({ time: week, value: 20 + i + week * (0.5 + i / 9) + value })),
        );
        const found = fitClassLines(units);
        const scaled = fitClassLines(
          units.map((one) => one.map(({ time, value }) => ({ time: 7 * time, value: factor * value }))),
        );
        expect(found === null).toBe(scaled === null);
        if (found === null || scaled === null) return;
        near(scaled.slope, (found.slope * factor) / 7, 1e-3);
        // Without scatter there is nothing to weigh the differences by; only the line is sure then.
        if (found.residualSd > 0.05) near(scaled.residualSd, found.residualSd * factor, 1e-3);
        for (const one of [found.slope, found.slopeSd, found.interceptSd, found.correlation, found.logLikelihood])
          expect(Number.isFinite(one)).toBe(true);
      }),
      { numRuns: 30 },
    );
  });
});
