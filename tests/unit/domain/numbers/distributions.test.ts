import { readFileSync } from 'node:fs';
import {
  firstPassage,
  inverseGaussianCdf,
  inverseGaussianQuantile,
  inverseGaussianTail,
  logGamma,
  normalCdf,
  normalQuantile,
  studentCdfExact,
  studentQuantile,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { goldenValues, inputOf, isWithin } from '../golden-values.ts';

interface Table {
  readonly normal: { readonly p: number[]; readonly quantile: number[] };
  readonly student_t: readonly { readonly df: number; p: number[]; quantile: number[]; x: number[]; cdf: number[] }[];
  readonly inverse_gaussian: readonly {
    mean: number;
    shape: number;
    x: number[];
    cdf: number[];
    log_sf: number[];
    p: number[];
    quantile: number[];
  }[];
  readonly wiener_first_passage: {
    readonly cases: readonly {
      gap: number;
      drift: number;
      diffusion: number;
      mean: number;
      shape: number;
      p10: number;
      p50: number;
      p90: number;
    }[];
  };
}
// Source: R 4.2.2 (qnorm, qt, pt; statmod and SuppDists for the inverse Gaussian), SciPy.
const table = JSON.parse(readFileSync(new URL('../../../golden/distributions.json', import.meta.url), 'utf8')) as Table;

function expectClose(actual: number, expected: number, relative: number): void {
  expect(Math.abs(actual - expected), `${actual} is not ${expected}`).toBeLessThanOrEqual(relative * Math.abs(expected) + 1e-300);
}

describe('quantiles against R and SciPy', () => {
  it('normal', () => {
    for (const [i, p] of table.normal.p.entries()) expectClose(normalQuantile(p), table.normal.quantile[i]!, 1e-9);
  });

  it.each(table.student_t)('Student with $df degrees of freedom', ({ df, p, quantile, x, cdf }) => {
    // The upper tail of the file was itself computed from 1 − p, which holds ten digits at p = 0.999999.
    for (const [i, one] of p.entries()) if (quantile[i] !== 0) expectClose(studentQuantile(one, df), quantile[i]!, 1e-8);
    for (const [i, one] of x.entries()) expectClose(studentCdfExact(one, df), cdf[i]!, 1e-11);
  });

  it.each(table.inverse_gaussian)(
    'inverse Gaussian of mean $mean and shape $shape',
    ({ mean, shape, x, cdf, log_sf, p, quantile }) => {
      const law = { mean, shape };
      for (const [i, one] of x.entries()) {
        expectClose(inverseGaussianCdf(one, law), cdf[i]!, 1e-9);
        // Below the mean the tail is 1 less a probability that may be too small to be seen in it.
        const logTail = one <= mean ? Math.log1p(-inverseGaussianCdf(one, law)) : Math.log(inverseGaussianTail(one, law));
        // Beyond e^−700 there is no such double.
        if (log_sf[i]! > -700) expectClose(logTail, log_sf[i]!, 1e-7);
      }
      for (const [i, one] of p.entries()) expectClose(inverseGaussianQuantile(one, law), quantile[i]!, 1e-8);
    },
  );

  it.each(table.wiener_first_passage.cases)('first passage over $gap at $drift a day', (given) => {
    const law = firstPassage(given.gap, given.drift, given.diffusion)!;
    expectClose(law.mean, given.mean, 1e-12);
    expectClose(law.shape, given.shape, 1e-12);
    for (const [p, days] of [
      [0.1, given.p10],
      [0.5, given.p50],
      [0.9, given.p90],
    ] as const)
      expectClose(inverseGaussianQuantile(p, law), days, 1e-8);
  });
});

describe('first passage', () => {
  it.each(goldenValues('prognosis.igCdf'))('%s', (_, value) => {
    const law = firstPassage(inputOf(value, 'd'), inputOf(value, 'b'), Math.sqrt(inputOf<number>(value, 's2')))!;
    expect(isWithin(inverseGaussianCdf(inputOf(value, 't'), law), value.expected as number, value.tolerance)).toBe(true);
  });
  it.each(goldenValues('prognosis.igMean'))('%s', (_, value) => {
    expect(
      isWithin(firstPassage(inputOf(value, 'd'), inputOf(value, 'b'), 1)?.mean, value.expected as number, value.tolerance),
    ).toBe(true);
  });

  it('standing still or drifting away never arrives', () => {
    expect(firstPassage(10, 0, 1)).toBeNull();
    expect(firstPassage(10, -0.1, 1)).toBeNull();
    expect(firstPassage(0, 1, 1)).toBeNull();
    expect(firstPassage(10, 1, 0)).toBeNull();
  });
});

describe('properties', () => {
  const law = fc.record({
    mean: fc.double({ min: 1e-3, max: 1e4, noNaN: true }),
    shape: fc.double({ min: 1e-3, max: 1e6, noNaN: true }),
  });
  it('a quantile gives its probability back', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-9, max: 1 - 1e-9, noNaN: true }), fc.integer({ min: 1, max: 200 }), (p, freedom) => {
        expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 11);
        expect(studentCdfExact(studentQuantile(p, freedom), freedom)).toBeCloseTo(p, 10);
      }),
    );
    fc.assert(
      fc.property(fc.double({ min: 1e-6, max: 1 - 1e-6, noNaN: true }), law, (p, one) => {
        const x = inverseGaussianQuantile(p, one);
        if (x > 0) expect(inverseGaussianCdf(x, one)).toBeCloseTo(p, 8);
      }),
    );
  });
  it('stays between 0 and 1 and never falls', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 1e6, noNaN: true }),
        fc.double({ min: 0, max: 1e6, noNaN: true }),
        law,
        (a, b, one) => {
          const [low, high] = [inverseGaussianCdf(Math.min(a, b), one), inverseGaussianCdf(Math.max(a, b), one)];
          expect(low).toBeGreaterThanOrEqual(0);
          expect(high).toBeLessThanOrEqual(1 + 1e-12);
          expect(high).toBeGreaterThanOrEqual(low - 1e-12);
        },
      ),
    );
  });
  it('ln Γ follows its recurrence', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-3, max: 200, noNaN: true }), (x) => {
        expect(Math.abs(logGamma(x + 1) - logGamma(x) - Math.log(x))).toBeLessThan(1e-11 * Math.max(1, Math.abs(logGamma(x))));
      }),
    );
  });
});
