import type { LimitSet, Point, Reading, ReadingTaken } from '@heatround/domain';

export const DAY = 86_400_000;
export const START = Date.UTC(2026, 0, 5, 10);

/** A valid point; overrides replace what matters to the test. */
export function aPoint(overrides: Partial<Point> = {}): Point {
  return {
    id: 'point',
    letter: 'a',
    name: 'bearing',
    quantity: 'temperature',
    unit: '°C',
    decimals: 1,
    loadFamily: 'none',
    basis: 'raw',
    referenceLoadPercent: 100,
    minimumLoadPercent: 40,
    loadExponent: 1,
    ratedCurrentA: null,
    referenceAmbientC: null,
    emissivity: null,
    infrared: false,
    needs: [],
    parts: [],
    twins: [],
    targetMm: null,
    ratedRangeK: null,
    gasExponent: null,
    orificeMm: null,
    steamPricePerTonne: null,
    curve: [],
    base: null,
    lifeSafety: false,
    regreasingGateHours: 0,
    uncertainty: null,
    ...overrides,
  };
}

/** Three phases under load, read by a probe so that emissivity plays no part. */
export const phases = (overrides: Partial<Point> = {}): Point =>
  aPoint({
    name: 'way 4 phase difference',
    quantity: 'like-part-difference',
    unit: 'K',
    loadFamily: 'electrical',
    basis: 'corrected',
    loadExponent: 1.8,
    needs: ['load'],
    parts: ['L1', 'L2', 'L3'],
    ...overrides,
  });

export function aReading(overrides: Partial<Reading> = {}): Reading {
  return { id: 'reading', takenAt: START, inputs: {}, conditions: {}, running: null, instrument: null, ...overrides };
}

/** Phases at a common level with the given difference of L2 over the others. */
export const phaseReading = (differenceK: number, loadPercent: number | null, overrides: Partial<Reading> = {}): Reading =>
  aReading({
    inputs: { L1: 40, L2: 40 + differenceK, L3: 40 },
    conditions: loadPercent === null ? {} : { load: loadPercent },
    ...overrides,
  });

export function aLimitSet(figures: readonly (number | null)[], overrides: Partial<LimitSet> = {}): LimitSet {
  const [watch = null, plan = null, soon = null, now = null] = figures;
  return {
    id: 'limits',
    version: 1,
    criterion: 'absolute',
    direction: 'high',
    watch,
    plan,
    soon,
    now,
    source: 'site practice',
    reason: 'few like-load spares at night',
    author: 'planner',
    validFrom: 0,
    reviewOn: null,
    origin: 'point',
    ...overrides,
  };
}

export function aFact(overrides: Partial<ReadingTaken> = {}): ReadingTaken {
  return {
    id: '0190a0b0-0000-7000-8000-000000000001',
    kind: 'reading-taken',
    takenAt: '2026-04-23T09:14:00+01:00',
    clock: { deviceAt: '2026-04-23T09:14:00+01:00', monotonicMs: 0, offsetMs: 0 },
    pointId: 'point',
    inputs: {},
    conditions: {},
    ...overrides,
  };
}

export const entry = (text: string, unit = '') => ({ text, unit });
