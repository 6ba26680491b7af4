import { gradeAmbient, gradeNavy, gradeSimilar, loadCorrect, loadGate } from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { goldenValues, inputOf, isWithin } from '../golden-values.ts';

describe('classes of a rise', () => {
  it.each([...goldenValues('electrical.gradeSimilar')])('similar part: %s', (_, value) => {
    expect(gradeSimilar(inputOf(value, 'deltaT'))).toBe(value.expected);
  });
  it.each(goldenValues('electrical.gradeAmbient'))('ambient air: %s', (_, value) => {
    expect(gradeAmbient(inputOf(value, 'deltaT'))).toBe(value.expected);
  });
  it.each(goldenValues('electrical.gradeNavy'))('military scale: %s', (_, value) => {
    expect(gradeNavy(inputOf(value, 'deltaT'))).toBe(value.expected);
  });

  it('upper ends belong to the lower class, and gaps of the printed table close upwards (own rule)', () => {
    expect([1, 3, 3.01, 15, 15.01].map(gradeSimilar)).toEqual(['similar-1', 'similar-1', 'similar-2', 'similar-2', 'similar-4']);
    expect([10, 10.01, 20, 20.01, 40, 40.01].map(gradeAmbient)).toEqual([
      'ambient-1',
      'ambient-2',
      'ambient-2',
      'ambient-3',
      'ambient-3',
      'ambient-4',
    ]);
    expect([9.9, 24.9, 25, 39.9, 40, 69.9, 70].map(gradeNavy)).toEqual([
      'none',
      'desirable',
      'important',
      'important',
      'mandatory',
      'mandatory',
      'immediate',
    ]);
    expect([Number.NaN, -20].map(gradeSimilar)).toEqual(['none', 'none']);
  });
});

describe('load', () => {
  it.each(goldenValues('electrical.loadCorrect'))('rise at another current: %s', (_, value) => {
    const corrected = loadCorrect(inputOf(value, 'rise'), inputOf(value, 'I1'), inputOf(value, 'I2'), inputOf(value, 'n'));
    expect(isWithin(corrected, value.expected as number, value.tolerance)).toBe(true);
  });
  it.each(goldenValues('electrical.loadGate'))('least load: %s', (_, value) => {
    expect(loadGate(inputOf(value, 'load'))).toBe(value.expected);
  });

  it('no current, no correction', () => {
    expect(loadCorrect(10, 0, 100)).toBeNull();
    expect(loadCorrect(10, null, 100)).toBeNull();
    expect(loadCorrect(Number.NaN, 50, 100)).toBeNull();
    expect(loadGate(null)).toBe('load-missing');
  });

  it('currents are never scaled more than two and a half times', () => {
    expect(loadCorrect(10, 10, 100, 2)).toBe(62.5);
  });
});
