import { type ProjectionInput, type ProjectionReading, projectTimeToLimit } from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { plainInput, wobble } from './cases.ts';

/** A machine whose rise over ambient follows its load and creeps up. */
function loaded(count: number, overrides: Partial<ProjectionInput> = {}): ProjectionInput {
  const readings = Array.from({ length: count }, (_, i): ProjectionReading => {
    const loadPercent = 70 + 25 * Math.sin(i * 1.7);
    const ambientC = 20 + 6 * Math.sin(i / 5);
    const value = ambientC + (20 + (12 * i) / count) * (loadPercent / 75) ** 1.5 + 0.4 * wobble(i);
    return { day: 7 * i, value, loadPercent, ambientC };
  });
  return {
    readings,
    cutDay: 7 * (count - 1),
    repairDay: null,
    limit: 75,
    direction: 'up',
    referenceLoadPercent: 75,
    referenceAmbientC: 24,
    ...overrides,
  };
}

/** The input with a covariate removed at the first `missing` readings. */
function without(input: ProjectionInput, key: 'loadPercent' | 'ambientC', missing: number): ProjectionInput {
  return { ...input, readings: input.readings.map((reading, i) => (i < missing ? { ...reading, [key]: null } : reading)) };
}

// Rules: own, as published at projectTimeToLimit.
describe('missing load and ambient', () => {
  it('missing at fewer than a third, these readings are left out', () => {
    const input = loaded(30);
    const expected = projectTimeToLimit({ ...input, readings: input.readings.slice(9) });
    expect(projectTimeToLimit(without(input, 'loadPercent', 9))).toEqual(expected);
    expect(projectTimeToLimit(without(input, 'ambientC', 9))).toEqual(expected);
    expect(expected.readingCount).toBe(21);
  });

  it('missing at a third or more, it is the covariate that is left out', () => {
    const input = loaded(30);
    const noLoad = projectTimeToLimit({ ...input, referenceLoadPercent: null });
    expect(projectTimeToLimit(without(input, 'loadPercent', 10))).toEqual(noLoad);
    expect(noLoad.readingCount).toBe(30);
    const noAmbient = projectTimeToLimit({ ...input, referenceAmbientC: null });
    expect(projectTimeToLimit(without(input, 'ambientC', 10))).toEqual(noAmbient);
  });

  it('a load of zero or below counts as missing', () => {
    const input = loaded(30);
    const stopped = input.readings.map((reading, i) => (i < 9 ? { ...reading, loadPercent: i - 8 } : reading));
    expect(projectTimeToLimit({ ...input, readings: stopped })).toEqual(projectTimeToLimit(without(input, 'loadPercent', 9)));
  });

  it('a part as warm as its air is quiet at any load', () => {
    const input = loaded(12);
    const cold = input.readings.map((reading) => ({ ...reading, value: reading.ambientC ?? 0 }));
    expect(projectTimeToLimit({ ...input, readings: cold })).toMatchObject({ reason: 'no-usable-trend' });
  });

  it('three readings stay three readings', () => {
    for (const key of ['loadPercent', 'ambientC'] as const) {
      for (let missing = 0; missing <= 4; missing++) {
        expect(projectTimeToLimit(without(loaded(4), key, missing)).readingCount).toBeGreaterThanOrEqual(3);
      }
    }
  });
});

describe('the window', () => {
  const long: [number, number][] = Array.from({ length: 900 }, (_, i) => [2 * i, 50 + i / 100 + 0.5 * wobble(i)]);

  it('only the newest 500 readings since the last repair count', () => {
    const all = projectTimeToLimit(plainInput(long, 80));
    expect(all).toEqual(projectTimeToLimit(plainInput(long.slice(-500), 80)));
    expect(all.readingCount).toBe(500);
  });

  it('of the readings before a repair the newest 160 tell about the noise', () => {
    const repairDay = 2 * 700;
    const all = projectTimeToLimit(plainInput(long, 80, { repairDay }));
    expect(all).toEqual(projectTimeToLimit(plainInput(long.slice(701 - 160), 80, { repairDay })));
    expect(all.readingCount).toBe(199);
  });
});

describe('after a repair', () => {
  it('old readings do not set the level, but tell how much the readings scatter', () => {
    const before: [number, number][] = Array.from({ length: 20 }, (_, i) => [7 * i, 70 + 3 * wobble(i)]);
    const after: [number, number][] = Array.from({ length: 4 }, (_, i) => [150 + 7 * i, 50 + 1.5 * i]);
    const alone = projectTimeToLimit(plainInput(after, 80));
    const known = projectTimeToLimit(plainInput([...before, ...after], 80, { repairDay: 145 }));
    expect(alone.status).toBe('projection');
    expect(known.readingCount).toBe(4);
    expect(known.probabilityMoving ?? 1).toBeLessThan(alone.probabilityMoving ?? 0);
  });

  it('a repair on the day of a reading closes the old history with that reading', () => {
    const samples: [number, number][] = Array.from({ length: 8 }, (_, i) => [7 * i, 50 + i]);
    expect(projectTimeToLimit(plainInput(samples, 80, { repairDay: 21 })).readingCount).toBe(4);
  });
});

describe('reasons for silence', () => {
  const rising: [number, number][] = Array.from({ length: 8 }, (_, i) => [7 * i, 50 + i + 0.1 * wobble(i)]);

  const levellingOff: [number, number][] = Array.from({ length: 12 }, (_, i) => [
    7 * i,
    56 - 6 * Math.exp(-i / 3) + 0.1 * wobble(i),
  ]);

  it.each([
    ['too-few-readings', plainInput(rising.slice(0, 2), 80)],
    [
      'span-too-short',
      plainInput(
        [
          [1, 50],
          [1, 51],
          [1, 52],
        ],
        80,
      ),
    ],
    ['over-limit', plainInput(rising, 55)],
    [
      'limit-at-baseline',
      plainInput(
        rising.map(([day, value]) => [day, 110 - value]),
        58,
      ),
    ],
    [
      'no-usable-trend',
      plainInput(
        rising.map(([day]) => [day, 50]),
        80,
      ),
    ],
    ['beyond-horizon', plainInput(levellingOff, 65)],
  ] as const)('%s', (reason, input) => {
    expect(projectTimeToLimit(input)).toMatchObject({ status: 'no-projection', reason });
  });

  it('a limit or a day of asking that is no number is no crash', () => {
    expect(projectTimeToLimit(plainInput(rising, Number.NaN))).toMatchObject({ reason: 'limit-at-baseline' });
    for (const cutDay of [Number.NaN, Number.POSITIVE_INFINITY, Number.MAX_VALUE]) {
      expect(projectTimeToLimit(plainInput(rising, 80, { cutDay }))).toMatchObject({ reason: 'too-few-readings' });
    }
  });
});
