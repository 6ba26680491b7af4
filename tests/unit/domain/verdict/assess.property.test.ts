import {
  assessReading,
  CRITERIA,
  GRADES,
  type Grade,
  type LimitSet,
  type Point,
  parseReading,
  probabilityReached,
  type Reading,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aFact, aLimitSet, aPoint, aReading, entry, phaseReading, phases, START } from '../builders.ts';

const level = (grade: Grade | null): number => (grade === null ? -1 : GRADES.indexOf(grade));
const temperature = fc.double({ min: -60, max: 400, noNaN: true });
const ascending = fc
  .uniqueArray(fc.integer({ min: 1, max: 300 }), { minLength: 4, maxLength: 4 })
  .map((figures) => figures.sort((a, b) => a - b));
const conditions = fc.record(
  {
    load: fc.double({ min: 0, max: 150, noNaN: true }),
    ambient: fc.double({ min: -30, max: 60, noNaN: true }),
    emissivity: fc.double({ min: 0.01, max: 1, noNaN: true }),
    minutesRunning: fc.double({ min: 0, max: 600, noNaN: true }),
    angle: fc.double({ min: 0, max: 90, noNaN: true }),
  },
  { requiredKeys: [] },
);

const machine = aPoint({ loadFamily: 'thermal-machine', infrared: true, emissivity: 0.93, regreasingGateHours: 24 });

describe('for any reading', () => {
  const reading: fc.Arbitrary<Reading> = fc
    .record({ value: temperature, conditions, running: fc.constantFrom(true, false, null) })
    .map(({ value, ...rest }) => aReading({ inputs: { value }, ...rest }));
  const context = fc.record(
    {
      lastRegreasedAt: fc.integer({ min: START - 200 * 3_600_000, max: START + 1000 }),
      targetTooSmall: fc.boolean(),
      unsteady: fc.boolean(),
    },
    { requiredKeys: [] },
  );

  it('a bad measurement never clears: with an open gate the grade is none, or Plan or worse', () => {
    fc.assert(
      fc.property(reading, ascending, context, fc.constantFrom('high', 'low'), (read, figures, known, direction) => {
        const limits = aLimitSet(direction === 'high' ? figures : [...figures].reverse(), { direction });
        const verdict = assessReading(machine, read, [limits], known);
        expect(verdict.comparability === 'not-judged').toBe(verdict.gate !== null);
        if (verdict.gate !== null) expect(verdict.grade === null || level(verdict.grade) >= 2).toBe(true);
        if (verdict.gate === null) expect(verdict.atLeast || verdict.check !== null).toBe(false);
      }),
    );
  });

  it('no figure is NaN or infinite, and no sentence speaks of one', () => {
    const rise = { ...phases(), infrared: true, emissivity: 0.93 };
    const some = fc.record({ L1: temperature, L2: temperature, L3: temperature, 'amps:L1': temperature, 'amps:L2': temperature });
    fc.assert(
      fc.property(some, conditions, ascending, (inputs, around, figures) => {
        const verdict = assessReading(rise, aReading({ inputs, conditions: around }), [
          aLimitSet(figures, { criterion: 'like-part-difference' }),
          aLimitSet(figures, { id: 'rise', criterion: 'rise-over-ambient' }),
        ]);
        const text = JSON.stringify(verdict);
        expect(text).not.toMatch(/NaN|Infinity/);
        // NaN and infinity become null in JSON; these four must never be null.
        for (const key of ['value', 'rawValue', 'uncertainty'] as const) {
          if (verdict.because !== null) expect(Number.isFinite(verdict.because[key])).toBe(true);
        }
      }),
    );
  });

  it('a hotter figure never has a better grade, a colder one never under a falling limit', () => {
    fc.assert(
      fc.property(temperature, temperature, ascending, conditions, (a, b, figures, around) => {
        const grade = (value: number, direction: 'high' | 'low') =>
          level(
            assessReading(machine, aReading({ inputs: { value }, conditions: around }), [
              aLimitSet(direction === 'high' ? figures : [...figures].reverse(), { direction }),
            ]).grade,
          );
        const [cold, hot] = a < b ? [a, b] : [b, a];
        expect(grade(hot, 'high')).toBeGreaterThanOrEqual(grade(cold, 'high'));
        expect(grade(cold, 'low')).toBeGreaterThanOrEqual(grade(hot, 'low'));
      }),
    );
  });

  it('a greater difference under the same load never has a better grade', () => {
    const limits = aLimitSet([3, 8, 15, 30], { criterion: 'like-part-difference' });
    const difference = fc.double({ min: 0, max: 80, noNaN: true });
    fc.assert(
      fc.property(difference, difference, fc.double({ min: 0, max: 140, noNaN: true }), (a, b, load) => {
        const grade = (value: number) => level(assessReading(phases(), phaseReading(value, load), [limits]).grade);
        expect(grade(Math.max(a, b))).toBeGreaterThanOrEqual(grade(Math.min(a, b)));
      }),
    );
  });

  it('under an open gate no point of any kind is Fine or Watch', () => {
    const points = [
      phases({ infrared: true, emissivity: 0.93, ratedCurrentA: 100 }),
      aPoint({ quantity: 'rise-over-ambient', unit: 'K', loadFamily: 'electrical', basis: 'corrected', loadExponent: 1.8 }),
      aPoint({ quantity: 'above-base', unit: 'K', loadFamily: 'thermal-machine', basis: 'corrected', lifeSafety: true }),
      aPoint({ quantity: 'above-base', unit: 'K', base: { value: 40, state: 'confirmed' }, needs: ['load', 'ambient', 'speed'] }),
      aPoint({ quantity: 'vibration-velocity', unit: 'mm/s', needs: ['minutesRunning'] }),
    ];
    const inputs = fc.record(
      {
        value: temperature,
        part: temperature,
        air: temperature,
        L1: temperature,
        L2: temperature,
        L3: temperature,
        'amps:L1': temperature,
      },
      { requiredKeys: [] },
    );
    const origin = fc.constantFrom('general' as const, 'point' as const);
    fc.assert(
      fc.property(
        fc.constantFrom(...points),
        inputs,
        conditions,
        ascending,
        context,
        origin,
        (point, read, around, figures, known, from) => {
          const sets = CRITERIA.map((criterion) => aLimitSet(figures, { id: criterion, criterion, origin: from }));
          const { grade, gate, comparability, firm } = assessReading(
            point,
            aReading({ inputs: read, conditions: around }),
            sets,
            known,
          );
          expect(comparability === 'not-judged').toBe(gate !== null);
          if (gate !== null) expect(grade === null || level(grade) >= 2).toBe(true);
          if (grade === null) expect(firm).toBe(false);
        },
      ),
      { numRuns: 400 },
    );
  });
});

describe('the unit a figure is typed in changes nothing', () => {
  const judged = (point: Point, text: string, unit: string, limits: LimitSet) => {
    const parsed = parseReading(aFact({ inputs: { value: entry(text, unit) } }), point);
    if (!('reading' in parsed)) throw new Error(JSON.stringify(parsed.errors));
    const { grade, comparability, firm, gate } = assessReading(point, parsed.reading, [limits]);
    return { grade, comparability, firm, gate };
  };

  it('°C and °F, exactly on the limits too', () => {
    const tenths = fc.oneof(fc.integer({ min: -500, max: 3000 }), fc.constantFrom(700, 800, 900, 1000));
    const figures = fc.oneof(ascending, fc.constant([70, 80, 90, 100]));
    fc.assert(
      fc.property(tenths, figures, fc.constantFrom('high', 'low'), (value, limits, direction) => {
        const set = aLimitSet(direction === 'high' ? limits : [...limits].reverse(), { direction });
        const fahrenheit = ((value * 18) / 100 + 32).toFixed(2);
        expect(judged(aPoint(), fahrenheit, '°F', set)).toEqual(judged(aPoint(), (value / 10).toFixed(1), '°C', set));
      }),
    );
  });

  it('mm/s and in/s, by the zones of the general library too', () => {
    const shaft = aPoint({ quantity: 'vibration-velocity', unit: 'mm/s', decimals: 2 });
    const origin = fc.constantFrom('general' as const, 'point' as const);
    fc.assert(
      // Whole multiples of 0.0254 mm/s are whole thousandths of an inch.
      fc.property(fc.integer({ min: 0, max: 600 }), fc.integer({ min: 1, max: 200 }), origin, (thousandths, first, from) => {
        const inches = (count: number) => (count * 254) / 10_000;
        const set = aLimitSet([first, first + 40, first + 80, first + 120].map(inches), { origin: from });
        const [metric, imperial] = [inches(thousandths).toFixed(4), (thousandths / 1000).toFixed(4)];
        expect(judged(shaft, imperial, 'in/s', set)).toEqual(judged(shaft, metric, 'mm/s', set));
      }),
    );
  });
});

describe('probability of a reached limit', () => {
  // Normal distribution table; JCGM 106:2012, 7.2.
  it.each([
    [88, 90, 2, 'high', 0.158655253931],
    [95, 90, 2.5, 'high', 0.977249868052],
    [88, 90, 2, 'low', 0.841344746069],
    [90, 90, 0, 'high', 1],
    [89.9, 90, 0, 'high', 0],
  ] as const)('%d against %d with u = %d (%s)', (value, limit, uncertainty, direction, expected) => {
    expect(probabilityReached(value, limit, uncertainty, direction)).toBeCloseTo(expected, 10);
  });
});
