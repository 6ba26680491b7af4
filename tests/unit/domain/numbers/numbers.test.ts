import { erfc, median, normalCdf, studentCdf } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

describe('erfc', () => {
  // Source: math.erfc of Python 3 (the C library), printed in full.
  it.each([
    [0, 1],
    [0.1, 0.8875370839817152],
    [0.46875, 0.507386526782062],
    [0.5, 0.4795001221869535],
    [1, 0.15729920705028513],
    [2, 0.004677734981047265],
    [4, 1.541725790028002e-8],
    [5, 1.5374597944280351e-12],
    [10, 2.088487583762545e-45],
    [20, 5.3958656116079005e-176],
    [26, 5.663192408856143e-296],
    [-0.3, 1.3286267594591274],
    [-3, 1.9999779095030015],
  ])('erfc(%d) to 1e-13', (x, expected) => {
    expect(Math.abs(erfc(x) - expected)).toBeLessThanOrEqual(1e-13 * expected);
  });

  it('has its limits at infinity and mirrors about 1', () => {
    expect(erfc(Number.POSITIVE_INFINITY)).toBe(0);
    expect(erfc(Number.NEGATIVE_INFINITY)).toBe(2);
    fc.assert(
      fc.property(fc.double({ min: -6, max: 6, noNaN: true }), (x) => {
        expect(erfc(x) + erfc(-x)).toBeCloseTo(2, 13);
      }),
    );
  });
});

describe('distributions', () => {
  // Source: R 4.2.2, qnorm.
  it.each([
    [-4.7534243088229, 1e-6],
    [-3.09023230616781, 0.001],
    [-1.95996398454005, 0.025],
    [0, 0.5],
    [1.2815515655446, 0.9],
    [3.09023230616781, 0.999],
  ])('normal: P(z ≤ %d)', (z, p) => {
    expect(Math.abs(normalCdf(z) - p)).toBeLessThanOrEqual(1e-9 * p);
  });

  // Source: R 4.2.2, qt; the approximation promises 3.5e-4 at 5, 1.5e-4 at 8, 3e-5 at 20 degrees of freedom.
  it.each([
    [5, -3.36492999890722, 0.01, 3.5e-4],
    [5, -1.47588404882448, 0.1, 3.5e-4],
    [5, 2.01504837333302, 0.95, 3.5e-4],
    [10, 1.37218364111034, 0.9, 1.5e-4],
    [28, -2.04840714179524, 0.025, 3e-5],
    [100, 1.66023432608534, 0.95, 3e-5],
  ])('Student with %d degrees of freedom: P(t ≤ %d)', (freedom, t, p, tolerance) => {
    expect(Math.abs(studentCdf(t, freedom) - p)).toBeLessThanOrEqual(tolerance);
  });

  it('Student rises from 0 to 1', () => {
    expect(studentCdf(Number.NEGATIVE_INFINITY, 5)).toBe(0);
    expect(studentCdf(0, 5)).toBe(0.5);
    expect(studentCdf(Number.MAX_VALUE, 5)).toBe(1);
  });
});

describe('median', () => {
  it('averages the middle two, ignores what is not finite, and has none of nothing', () => {
    expect(median([3, 1, 10, 2])).toBe(2.5);
    expect(median([3, Number.NaN, 1, Number.POSITIVE_INFINITY, 2])).toBe(2);
    expect(median([])).toBeNull();
    expect(median([Number.NaN])).toBeNull();
  });

  it('agrees with sorting, and leaves its argument alone', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -5, max: 5 }), { minLength: 1, maxLength: 60 }), (values) => {
        const copy = [...values];
        const sorted = [...values].sort((a, b) => a - b);
        const half = Math.floor(sorted.length / 2);
        const expected = sorted.length % 2 === 1 ? sorted[half] : ((sorted[half - 1] ?? 0) + (sorted[half] ?? 0)) / 2;
        expect(median(values)).toBeCloseTo(expected ?? Number.NaN, 12);
        expect(values).toEqual(copy);
      }),
    );
  });
});
