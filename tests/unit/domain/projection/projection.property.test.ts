import { type Projection, type ProjectionInput, type ProjectionReading, projectTimeToLimit } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

/** Histories that look like points: a start, a rise of some shape, noise, some gross errors. */
const history = fc
  .record({
    count: fc.integer({ min: 3, max: 40 }),
    gapDays: fc.integer({ min: 1, max: 30 }),
    start: fc.double({ min: 20, max: 60, noNaN: true }),
    rise: fc.double({ min: -5, max: 20, noNaN: true }),
    bend: fc.constantFrom(0.5, 1, 2, 4),
    noise: fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 40, maxLength: 40 }),
    wildAt: fc.integer({ min: 0, max: 60 }),
    withConditions: fc.boolean(),
  })
  .map(({ count, gapDays, start, rise, bend, noise, wildAt, withConditions }) => {
    const readings = Array.from({ length: count }, (_, i): ProjectionReading => {
      const scatter = (noise[i] ?? 0) + (i === wildAt ? 15 : 0);
      const value = start + rise * (i / count) ** bend + scatter;
      const loadPercent = withConditions ? 60 + ((i * 37) % 41) : null;
      return { day: i * gapDays, value, loadPercent, ambientC: withConditions ? 18 + (noise[39 - i] ?? 0) : null };
    });
    return {
      readings,
      cutDay: (count - 1) * gapDays,
      repairDay: null,
      limit: start + 25,
      direction: 'up',
      referenceLoadPercent: withConditions ? 80 : null,
      referenceAmbientC: withConditions ? 20 : null,
    } satisfies ProjectionInput;
  });

const anyNumber = fc.oneof(
  fc.double(),
  fc.double({ min: -1000, max: 1000 }),
  fc.constantFrom(0, 1, 20, Number.MIN_VALUE, Number.MAX_VALUE),
);
const anyDay = fc.oneof({ arbitrary: anyNumber, weight: 1 }, { arbitrary: fc.integer({ min: 0, max: 400 }), weight: 9 });
const anyReading = fc.record({
  day: anyDay,
  value: anyNumber,
  loadPercent: fc.option(fc.oneof(anyNumber, fc.integer({ min: -10, max: 120 }))),
  ambientC: fc.option(anyNumber),
});
const anything: fc.Arbitrary<ProjectionInput> = fc.record({
  readings: fc.array(anyReading, { maxLength: 30 }),
  cutDay: anyDay,
  repairDay: fc.option(anyDay),
  limit: anyNumber,
  direction: fc.constantFrom('up', 'down'),
  referenceLoadPercent: fc.option(fc.oneof(anyNumber, fc.constant(80))),
  referenceAmbientC: fc.option(anyNumber),
});

function expectSame(a: Projection, b: Projection, tolerance: number): void {
  expect(b.status).toBe(a.status);
  if (a.status === 'no-projection' || b.status === 'no-projection') {
    expect(b).toMatchObject({ readingCount: a.readingCount, ...(a.status === 'no-projection' ? { reason: a.reason } : {}) });
    return;
  }
  for (const key of ['p10Days', 'p50Days', 'p90Days'] as const) {
    const [left, right] = [a[key], b[key]];
    if (left === null || right === null) expect(right).toBe(left);
    else expect(Math.abs(right - left)).toBeLessThanOrEqual(tolerance * Math.max(left, a.spanDays));
  }
}

/** Every number anywhere in an answer. */
function numbersIn(value: unknown): number[] {
  if (typeof value === 'number') return [value];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(numbersIn) : [];
}

/** The gate and the horizon are sharp: an answer this close to one may fall on either side after rounding. */
function isNearGate(projection: Projection): boolean {
  const moving = projection.probabilityMoving;
  const farAway = projection.status === 'projection' && projection.p10Days > 9.9 * projection.spanDays;
  return farAway || (moving !== null && Math.abs(moving - 0.6) < 1e-4);
}

describe('a projection', () => {
  it('does not depend on the order of the readings', () => {
    fc.assert(
      fc.property(history, fc.infiniteStream(fc.nat()), (input, stream) => {
        const keyed = input.readings.map((reading) => ({ reading, key: stream.next().value as number }));
        keyed.sort((a, b) => a.key - b.key);
        const shuffled = { ...input, readings: keyed.map(({ reading }) => reading) };
        expect(projectTimeToLimit(shuffled)).toEqual(projectTimeToLimit(input));
      }),
      { numRuns: 60 },
    );
  });

  it('is the same in kelvin, degrees Celsius and degrees Fahrenheit', () => {
    fc.assert(
      fc.property(history, fc.constantFrom([1, 273.15], [1.8, 32]), (input, [factor = 1, offset = 0]) => {
        const convert = (value: number): number => factor * value + offset;
        const converted: ProjectionInput = {
          ...input,
          readings: input.readings.map((reading) => ({
            ...reading,
            value: convert(reading.value),
            ambientC: reading.ambientC === null ? null : convert(reading.ambientC),
          })),
          limit: convert(input.limit),
          referenceAmbientC: input.referenceAmbientC === null ? null : convert(input.referenceAmbientC),
        };
        const original = projectTimeToLimit(input);
        fc.pre(!isNearGate(original));
        expectSame(original, projectTimeToLimit(converted), 1e-5);
      }),
      { numRuns: 80 },
    );
  });

  it('is the same upside down', () => {
    fc.assert(
      fc.property(history, (input) => {
        const mirrored: ProjectionInput = {
          ...input,
          readings: input.readings.map((reading) => ({
            ...reading,
            value: -reading.value,
            ambientC: reading.ambientC === null ? null : -reading.ambientC,
          })),
          limit: -input.limit,
          referenceAmbientC: input.referenceAmbientC === null ? null : -input.referenceAmbientC,
          direction: 'down',
        };
        const original = projectTimeToLimit(input);
        fc.pre(!isNearGate(original));
        expectSame(original, projectTimeToLimit(mirrored), 1e-9);
      }),
      { numRuns: 60 },
    );
  });

  it('is not changed by readings after the day of asking, nor by a repair after it', () => {
    fc.assert(
      fc.property(history, fc.array(fc.double({ min: 0, max: 500, noNaN: true }), { maxLength: 5 }), (input, later) => {
        const readings = [...input.readings];
        later.forEach((value, i) => {
          readings.push({ day: input.cutDay + 1 + i, value, loadPercent: 70, ambientC: 20 });
        });
        const asked = projectTimeToLimit({ ...input, readings, repairDay: input.cutDay + 3 });
        expect(asked).toEqual(projectTimeToLimit(input));
      }),
      { numRuns: 60 },
    );
  });

  it('never lets NaN or infinity out, whatever comes in', () => {
    fc.assert(
      fc.property(anything, (input) => {
        const projection = projectTimeToLimit(input, { withCurve: true });
        for (const number of numbersIn(projection)) expect(Number.isFinite(number)).toBe(true);
      }),
      { numRuns: 1500 },
    );
  });

  it('never lets NaN or infinity out of believable histories, and keeps its figures in order', () => {
    fc.assert(
      fc.property(history, fc.double({ min: -40, max: 200, noNaN: true }), (input, limit) => {
        const projection = projectTimeToLimit({ ...input, limit }, { withCurve: true });
        for (const number of numbersIn(projection)) expect(Number.isFinite(number)).toBe(true);
        if (projection.status === 'no-projection') return;
        const { p10Days, p50Days, p90Days, fan = [] } = projection;
        expect(p10Days).toBeLessThanOrEqual(p50Days ?? Number.POSITIVE_INFINITY);
        expect(p50Days ?? 0).toBeLessThanOrEqual(p90Days ?? Number.POSITIVE_INFINITY);
        for (const { low, mid, high } of fan) {
          expect(low).toBeLessThanOrEqual(mid);
          expect(mid).toBeLessThanOrEqual(high);
        }
      }),
      { numRuns: 150 },
    );
  });
});
