import { convert, kindOf, sayFigure, sayNumber, UNIT_CODES, unitOf, unitsLike, withUnit } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

describe('conversion against published factors', () => {
  // NIST Special Publication 811 (2008), appendix B.8: exact factors and the ones printed with seven digits.
  it.each([
    [212, '°F', '°C', 100, 1e-12],
    [-40, '°F', '°C', -40, 1e-12],
    [9, 'Δ°F', 'K', 5, 1e-12],
    [1, 'in/s', 'mm/s', 25.4, 1e-12],
    [1, 'ft', 'm', 0.3048, 1e-15],
    [1, 'psi', 'kPa', 6.894757, 1e-6],
    [1, 'in', 'mm', 25.4, 1e-12],
  ] as const)('NIST SP 811: %d %s in %s is %d', (value, from, to, expected, tolerance) => {
    expect(Math.abs(convert(value, from, to) - expected)).toBeLessThanOrEqual(tolerance);
  });

  // SI brochure, 9th edition: prefixes; table 8: minute, hour, day; bar = 100 kPa (BIPM note on non-SI units).
  it.each([
    [1, 'bar', 'kPa', 100],
    [1, 'MPa', 'bar', 10],
    [24, 'h', 'd', 1],
    [1, 'h', 'min', 60],
    [50, 'Hz', '1/min', 3000],
    [3.5, 'mm', 'm', 0.0035],
    [1500, 'mV', 'V', 1.5],
  ] as const)('SI brochure: %d %s in %s is %d', (value, from, to, expected) => {
    expect(convert(value, from, to)).toBeCloseTo(expected, 12);
  });

  it('a difference in °F carries no offset of 32', () => {
    expect(convert(20, 'Δ°F', 'K')).toBeCloseTo(11.111, 3);
    expect(convert(20, '°F', '°C')).toBeCloseTo(-6.667, 3);
  });

  it('a temperature is never turned into a difference', () => {
    expect(() => convert(20, '°C', 'K')).toThrow(RangeError);
    expect(() => convert(20, 'Δ°F', '°C')).toThrow(RangeError);
  });

  it('there and back gives the same value for every pair of one kind', () => {
    const pairs = UNIT_CODES.flatMap((from) => unitsLike(from).map((to) => [from, to] as const));
    fc.assert(
      fc.property(fc.constantFrom(...pairs), fc.double({ min: -1e6, max: 1e6, noNaN: true }), ([from, to], value) => {
        const back = convert(convert(value, from, to), to, from);
        expect(kindOf(from)).toBe(kindOf(to));
        expect(Math.abs(back - value)).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(value)));
      }),
    );
  });
});

describe('spellings', () => {
  it.each([
    ['degC', '°C'],
    ['℃', '°C'],
    ['º F', '°F'],
    ['mm / s', 'mm/s'],
    ['RPM', '1/min'],
    ['ips', 'in/s'],
    ['W/m2', 'W/m²'],
    ['ΔºF', 'Δ°F'],
  ])('%s is known', (spelling, code) => {
    expect(unitOf(spelling)).toBe(code);
  });

  it('an unknown spelling, or a prefix that only case decides, is not guessed', () => {
    expect(unitOf('furlong')).toBeNull();
    expect(unitOf('MV')).toBeNull();
    expect(unitOf('mPa')).toBeNull();
  });
});

describe('figures in sentences', () => {
  it('minus is −, zero has no sign, idle zeros of a limit go', () => {
    expect(sayNumber(-4.04, 1)).toBe('−4.0');
    expect(sayNumber(-0.01, 1)).toBe('0.0');
    expect(sayNumber(Number.NaN, 1)).toBe('–');
    expect(sayFigure(70)).toBe('70');
    expect(sayFigure(2.8)).toBe('2.8');
    expect(withUnit('87.0', '°C')).toBe('87.0\u202f°C');
    expect(withUnit('0.95', '1')).toBe('0.95');
  });
});
