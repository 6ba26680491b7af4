import {
  type CombinedGrade,
  combineGrades,
  type Evidence,
  type Gate,
  GRADES,
  type Grade,
  type Latch,
  type Level,
  settleGrade,
  statisticalLimits,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { goldenValues, inputOf, isWithin } from '../golden-values.ts';

/** The golden file's names of our grades. */
const NAME: Readonly<Record<Grade, string>> = { fine: 'ok', watch: 'watch', plan: 'alert', soon: 'alarm', now: 'critical' };
const LISTED = ['absolute', 'similar', 'baseline'] as const satisfies readonly Evidence[];

function say({ grade, gate, confirmed, capped, atLeast, check }: CombinedGrade): string {
  if (grade === null) return `undetermined:${gate}`;
  const marks = [capped ? '(capped)' : '', atLeast ? '+at-least' : '', check === null ? '' : `+check:${check}`];
  return `${NAME[grade]}:${confirmed ? 'confirmed' : 'borderline'}${marks.join('')}`;
}

describe('several criteria give one grade', () => {
  it.each(goldenValues('severity.combine'))('%s', (_, value) => {
    const given = inputOf<Level[] | Partial<Record<Evidence, Level>>>(value, 'levels');
    const levels = Array.isArray(given) ? Object.fromEntries(given.map((level, i) => [LISTED[i], level])) : given;
    expect(say(combineGrades(levels, inputOf(value, 'pExceedTop'), inputOf<Gate[]>(value, 'gates')))).toBe(value.expected);
  });

  it('a bad measurement never clears a point, and never hides a bad one (own rule)', () => {
    expect(say(combineGrades({ absolute: 1 }, 0.99, ['emissivity-unreliable']))).toBe('undetermined:emissivity-unreliable');
    expect(say(combineGrades({ absolute: 3 }, 0.99, ['emissivity-unreliable', 'load-too-low']))).toBe(
      'alarm:confirmed+at-least+check:emissivity-unreliable',
    );
  });

  it('a worse level never gives a better grade', () => {
    const level = fc.integer({ min: 0, max: 4 }) as fc.Arbitrary<Level>;
    fc.assert(
      fc.property(level, level, level, (absolute, baseline, worse) => {
        const before = combineGrades({ absolute, baseline }, 1, []).grade;
        const after = combineGrades({ absolute: Math.max(absolute, worse) as Level, baseline }, 1, []).grade;
        expect(GRADES.indexOf(after ?? 'fine')).toBeGreaterThanOrEqual(GRADES.indexOf(before ?? 'fine'));
      }),
    );
  });
});

describe('a grade rises at once and falls slowly', () => {
  const latch = (overrides: Partial<Latch>): Latch => ({
    grade: 'plan',
    limits: { watch: null, plan: 70, soon: null, now: null },
    direction: 'high',
    hysteresis: 3,
    released: true,
    ...overrides,
  });

  it.each(goldenValues('severity.hysteresis'))('%s', (_, value) => {
    const grade = GRADES[inputOf<number>(value, 'previousLevel')];
    if (grade === undefined) throw new Error('a level is 0 to 4');
    const limits = { watch: null, plan: inputOf<number>(value, 'limit'), soon: null, now: null };
    const settled = settleGrade(latch({ grade, limits, hysteresis: inputOf(value, 'h') }), inputOf<number[]>(value, 'readings'));
    expect(GRADES.indexOf(settled)).toBe(value.expected);
  });

  it('readings that were not judged neither raise nor lower it', () => {
    expect(settleGrade(latch({}), [66, null, null])).toBe('plan');
    expect(settleGrade(latch({}), [66, null, 66])).toBe('watch');
    expect(settleGrade(latch({}), [66, 68, 66])).toBe('plan');
  });

  it('Soon and Now fall only when released', () => {
    const soon = { grade: 'soon', limits: { watch: 60, plan: 70, soon: 80, now: 90 } } as const;
    expect(settleGrade(latch({ ...soon, released: false }), [50, 50, 50, 50])).toBe('soon');
    expect(settleGrade(latch(soon), [50, 50])).toBe('plan');
    expect(settleGrade(latch(soon), [50, 50, 50, 50, 50, 50])).toBe('fine');
  });

  it('limits reached from above are mirrored', () => {
    expect(settleGrade(latch({ grade: 'fine', direction: 'low' }), [69])).toBe('plan');
    expect(settleGrade(latch({ direction: 'low' }), [74, 74])).toBe('watch');
  });
});

describe('limits from a baseline', () => {
  it.each(goldenValues('severity.statisticalLimits'))('%s', (_, value) => {
    const limits = statisticalLimits(inputOf(value, 'baseline'));
    const expected = value.expected as { mean: number; s: number; watch: number; alert: number };
    expect(isWithin(limits?.mean, expected.mean, value.tolerance)).toBe(true);
    expect(isWithin(limits?.standardDeviation, expected.s, value.tolerance)).toBe(true);
    expect(isWithin(limits?.watch, expected.watch, value.tolerance)).toBe(true);
    expect(isWithin(limits?.plan, expected.alert, value.tolerance)).toBe(true);
  });

  it('few values get the wider prediction limit, too few none', () => {
    // t(0.99, 3) = 4.541: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2.
    expect(statisticalLimits([41.2, 40.1, 42, 41.5])?.plan).toBeCloseTo(45.2827, 4);
    expect(statisticalLimits([41, 42, 43])).toMatchObject({ watch: null, plan: null });
    expect(statisticalLimits([41])).toBeNull();
  });

  it('the spread is never taken below the repeatability of the reading', () => {
    expect(statisticalLimits(Array(20).fill(41), 0.5)).toMatchObject({ watch: 42, plan: 42.5 });
  });
});
