import {
  gradeVibration,
  isSignificantVibrationChange,
  type MachineGroup,
  type Support,
  vibrationAlarm,
  vibrationTrip,
  vibrationZone,
} from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { goldenValues, inputOf, isWithin } from '../golden-values.ts';

describe('vibration of a machine', () => {
  it.each(goldenValues('vibration.zone'))('zone: %s', (_, value) => {
    const group = Number(inputOf<string>(value, 'group')) as MachineGroup;
    const support = inputOf<Support>(value, 'support');
    expect(vibrationZone(group, support, inputOf(value, 'v'), inputOf(value, 'd'))).toBe(value.expected);
  });
  it.each(goldenValues('vibration.alarm'))('alarm: %s', (_, value) => {
    const alarm = vibrationAlarm(inputOf(value, 'baseline'), inputOf(value, 'bc'));
    expect(isWithin(alarm, value.expected as number, value.tolerance)).toBe(true);
  });
  it.each(goldenValues('vibration.trip'))('trip: %s', (_, value) => {
    expect(isWithin(vibrationTrip(inputOf(value, 'cd')), value.expected as number, value.tolerance)).toBe(true);
  });
  it.each(goldenValues('vibration.significantChange'))('change: %s', (_, value) => {
    expect(isSignificantVibrationChange(inputOf(value, 'change'), inputOf(value, 'bc'))).toBe(value.expected);
  });

  it('a boundary itself belongs to the better zone', () => {
    expect(vibrationZone(1, 'rigid', 4.5)).toBe('B');
    expect(vibrationZone(1, 'rigid', 4.51)).toBe('C');
  });

  it('nothing measured is no zone', () => {
    expect(vibrationZone(1, 'rigid', null)).toBeNull();
    expect(vibrationZone(1, 'rigid', Number.NaN)).toBeNull();
    expect(gradeVibration(1, 'rigid', Number.POSITIVE_INFINITY, null)).toBeNull();
  });

  it('grades follow zones, alarm, trip and change (own rule)', () => {
    // Group 1 rigid: B/C 4.5, C/D 7.1, so change 1.125, trip 8.875.
    expect(gradeVibration(1, 'rigid', 2, null)).toBe('fine');
    expect(gradeVibration(1, 'rigid', 2, 1.8)).toBe('fine');
    expect(gradeVibration(1, 'rigid', 2, 3.2)).toBe('watch');
    expect(gradeVibration(1, 'rigid', 3.2, 2)).toBe('plan');
    expect(gradeVibration(1, 'rigid', 5, null)).toBe('plan');
    expect(gradeVibration(1, 'rigid', 7.2, null)).toBe('soon');
    expect(gradeVibration(1, 'rigid', 8.9, null)).toBe('now');
  });
});
