import {
  inspectionsNeeded,
  LEGAL_MAXIMUM_DAYS,
  missProbability,
  type NextReadingInput,
  nextReading,
  readingInterval,
  unseen,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type GoldenValue, goldenValues, inputOf, isWithin } from '../golden-values.ts';

const DAY = 86_400_000;
const holds = (actual: number | null, value: GoldenValue) => isWithin(actual, value.expected as number, value.tolerance);

describe('interval', () => {
  it.each(goldenValues('interval.inspections'))('readings needed: %s', (_, value) => {
    expect(holds(inspectionsNeeded(inputOf(value, 'theta'), inputOf(value, 'pAcc')), value)).toBe(true);
  });
  it.each(goldenValues('interval.interval'))('interval: %s', (_, value) => {
    expect(holds(readingInterval(inputOf(value, 'PF'), inputOf(value, 'theta'), inputOf(value, 'pAcc')), value)).toBe(true);
  });
  it.each(goldenValues('interval.missProbability'))('miss: %s', (_, value) => {
    expect(holds(missProbability(inputOf(value, 'theta'), inputOf(value, 'n')), value)).toBe(true);
  });

  it('keeps its promise: the readings that fit miss no more often than accepted', () => {
    const chance = fc.double({ min: 0.01, max: 0.99, noNaN: true });
    fc.assert(
      fc.property(chance, chance, (detection, accepted) => {
        const readings = Math.round(100 / readingInterval(100, detection, accepted)!);
        expect(missProbability(detection, readings)!).toBeLessThanOrEqual(accepted * (1 + 1e-6));
        expect(readings).toBeGreaterThanOrEqual(2);
      }),
    );
  });

  it('no answer out of range', () => {
    expect([inspectionsNeeded(1, 0.1), inspectionsNeeded(0.5, 0), readingInterval(0, 0.9, 0.1), missProbability(2, 1)]).toEqual([
      null,
      null,
      null,
      null,
    ]);
  });
});

describe('next reading', () => {
  const usual: NextReadingInput = {
    lastReadAt: 1000 * DAY,
    earliestAt: null,
    signToFailureDays: 180,
    detection: 0.9,
    criticality: 'A',
    legalMaximumDays: LEGAL_MAXIMUM_DAYS,
    grade: 'fine',
    cleanReadings: 0,
    wasWatch: false,
    classConfirmed: true,
  };
  const days = (change: Partial<NextReadingInput>) => {
    const next = nextReading({ ...usual, ...change })!;
    return [next.days, next.because];
  };

  it('halved from Watch on until two clean readings, lengthened only after six (common practice, no source)', () => {
    expect(days({})).toEqual([60, 'interval']);
    expect(days({ grade: 'watch' })).toEqual([30, 'halved']);
    expect(days({ wasWatch: true, cleanReadings: 1 })).toEqual([30, 'halved']);
    expect(days({ wasWatch: true, cleanReadings: 2 })).toEqual([60, 'interval']);
    expect(days({ cleanReadings: 5 })).toEqual([60, 'interval']);
    expect(days({ cleanReadings: 6 })).toEqual([90, 'lengthened']);
    expect(days({ cleanReadings: 6, classConfirmed: false })).toEqual([60, 'interval']);
  });

  it('at most a third of the time to the earliest date; past it at once', () => {
    expect(days({ earliestAt: usual.lastReadAt + 90 * DAY })[0]).toBeCloseTo(30, 9);
    expect(days({ earliestAt: usual.lastReadAt + 90 * DAY })[1]).toBe('forecast');
    expect(days({ earliestAt: usual.lastReadAt - DAY })).toEqual([0, 'limit-may-be-reached']);
  });

  it('never beyond what law or insurer allow: 12 months, 6 in poor condition (NFPA 70B)', () => {
    expect(days({ signToFailureDays: 3000 })).toEqual([365, 'legal-maximum']);
    expect(days({ signToFailureDays: 3000, grade: 'plan' })).toEqual([182, 'legal-maximum']);
    expect(days({ signToFailureDays: 3000, legalMaximumDays: null })).toEqual([1000, 'interval']);
  });

  it('whatever the figures, no bound is exceeded, and worse is never later', () => {
    const span = fc.double({ min: 1, max: 5000, noNaN: true });
    fc.assert(
      fc.property(span, span, fc.nat(9), fc.boolean(), (signToFailureDays, left, cleanReadings, wasWatch) => {
        const input = { ...usual, signToFailureDays, earliestAt: usual.lastReadAt + left * DAY, cleanReadings, wasWatch };
        const fine = nextReading(input)!;
        expect(fine.days).toBeLessThanOrEqual(Math.min(signToFailureDays / 2, left / 3, 365) + 1e-6);
        expect(nextReading({ ...input, grade: 'plan' })!.days).toBeLessThanOrEqual(fine.days);
      }),
    );
    expect(nextReading({ ...usual, detection: 2 })).toBeNull();
  });
});

it('blind spots: more than two intervals, standby machines more than 60 days (common practice, no source)', () => {
  const at = (days: number, isStandby = false) => unseen({ since: 0, at: days * DAY, intervalDays: 30, isStandby });
  expect(at(60)).toEqual({ isBlind: false, daysBeyondInterval: 30 });
  expect(at(61)).toEqual({ isBlind: true, daysBeyondInterval: 31 });
  expect(at(20)).toEqual({ isBlind: false, daysBeyondInterval: 0 });
  expect(unseen({ since: 0, at: 61 * DAY, intervalDays: 90, isStandby: true })).toEqual({ isBlind: true, daysBeyondInterval: 0 });
  expect(unseen({ since: 0, at: DAY, intervalDays: 0, isStandby: false })).toBeNull();
});
