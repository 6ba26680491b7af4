import { parseEntry, type UnitCode } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const read = (text: string, unit = '°C', expected: UnitCode = '°C') => parseEntry({ text, unit }, { unit: expected });
const valueFrom = (text: string, unit = '°C', expected: UnitCode = '°C') => {
  const parsed = read(text, unit, expected);
  if ('problem' in parsed) throw new Error(`${text}: ${parsed.problem}`);
  return parsed.value;
};

describe('what a person may type', () => {
  it.each([
    ['12.5', 12.5],
    ['12,5', 12.5],
    ['  12,5  ', 12.5],
    ['12.5 °C', 12.5],
    ['12.5\u202f℃', 12.5],
    ['+12.5', 12.5],
    ['-5', -5],
    ['−5', -5],
    ['–5', -5],
    ['- 5', -5],
    ['－５', -5],
    ['٨٧٫٥', 87.5],
    ['८७.५', 87.5],
    ['８７．５', 87.5],
    ['1e3', 1000],
    ['1.2E+01', 12],
    ['.5', 0.5],
    ['87.', 87],
    ['0,125', 0.125],
    ['\u200e87\u200f', 87],
  ])('%j is a figure', (text, value) => {
    expect(valueFrom(text)).toBeCloseTo(value, 12);
  });

  it('nothing below zero is written as minus zero', () => {
    expect(Object.is(valueFrom('-0'), 0)).toBe(true);
    expect(Object.is(valueFrom('−0,0'), 0)).toBe(true);
  });

  it('a unit behind the number counts before the unit of the form', () => {
    expect(valueFrom('212 °F', '°C')).toBeCloseTo(100, 10);
    expect(valueFrom('0.1 in/s', 'mm/s', 'mm/s')).toBeCloseTo(2.54, 10);
    expect(valueFrom('87', '')).toBe(87);
  });

  it('where a difference is expected, °F is a difference', () => {
    expect(valueFrom('18', '°F', 'K')).toBeCloseTo(10, 12);
    expect(valueFrom('10', '°C', 'K')).toBe(10);
  });

  it('three decimals are taken where a thousand times the figure cannot be', () => {
    expect(valueFrom('2,125', 'mm/s', 'mm/s')).toBe(2.125);
    expect(valueFrom('87.125')).toBe(87.125);
  });
});

describe('what is refused, and what was expected instead', () => {
  it.each([
    ['', 'empty'],
    ['   ', 'empty'],
    ['NaN', 'not-a-number'],
    ['∞', 'not-a-number'],
    ['-Infinity', 'not-a-number'],
    ['warm', 'not-a-number'],
    ['12 5', 'not-a-number'],
    ['--5', 'not-a-number'],
    ['0x10', 'not-a-number'],
    ['1e999', 'out-of-range'],
    ['9999', 'out-of-range'],
    ['-300', 'out-of-range'],
    ['<0.2', 'below-detection'],
    ['≤ 0,2', 'below-detection'],
    ['1,250', 'ambiguous'],
    ['1.250,5', 'ambiguous'],
    ['1 250', 'ambiguous'],
    ['1\u202f250', 'ambiguous'],
    ["1'250", 'ambiguous'],
    ['1.2.3', 'ambiguous'],
    ['12.5 furlong', 'unit-unknown'],
    ['12.5 mm/s', 'unit-not-fitting'],
    ['12.5 K', 'unit-not-fitting'],
  ])('%j: %s', (text, problem) => {
    expect(read(text)).toEqual({ problem, expected: 'A temperature in °C, such as 87 or 87,5.' });
  });

  it('an emissivity of 0 or 1.2 is refused, 1 is taken', () => {
    const emissivity = { unit: '1', min: 0, minIncluded: false, max: 1, what: 'An emissivity' } as const;
    expect(parseEntry({ text: '0', unit: '1' }, emissivity)).toMatchObject({ problem: 'out-of-range' });
    expect(parseEntry({ text: '1.2', unit: '1' }, emissivity)).toEqual({
      problem: 'out-of-range',
      expected: 'An emissivity, such as 0.95 or 0,95.',
    });
    expect(parseEntry({ text: '1', unit: '' }, emissivity)).toEqual({ value: 1 });
  });

  it('whatever is typed gives a finite value in range or a sentence, never an exception', () => {
    const odd = fc.oneof(
      fc.string({ unit: 'grapheme', maxLength: 30 }),
      fc.string({ unit: fc.constantFrom(...'0123456789.,-+eE °CFK<−٣'), maxLength: 14 }),
    );
    fc.assert(
      fc.property(odd, fc.constantFrom('°C', '°F', '', 'K', 'x'), (text, unit) => {
        const parsed = read(text, unit);
        if ('value' in parsed) expect(parsed.value >= -273.15 && parsed.value <= 1500).toBe(true);
        else expect(parsed.expected).toMatch(/such as/);
      }),
      { numRuns: 400 },
    );
  });

  it('a figure in °F and the same figure in °C are the same value', () => {
    fc.assert(
      fc.property(fc.integer({ min: -400, max: 9000 }), (tenths) => {
        const celsius = tenths / 10;
        const fahrenheit = (celsius * 1.8 + 32).toFixed(6);
        expect(valueFrom(`${fahrenheit} °F`)).toBeCloseTo(valueFrom(celsius.toFixed(2)), 5);
      }),
    );
  });
});
