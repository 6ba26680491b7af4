import {
  type CombinedGrade,
  combineGrades,
  type Evidence,
  type Gate,
  GRADES,
  type Grade,
  type Graded,
  isInside,
  type Level,
  settleGrade,
  statisticalLimits,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { goldenValues, inputOf, isWithin } from '../golden-values.ts';

/** The golden file's names of our grades. */
const NAME: Readonly<Record<Grade, string>> = { fine: 'ok', watch: 'watch', plan: 'alert', soon: 'alarm', now: 'critical' };
/** The golden file's criteria, by figures of the general library; those that show a change but no dangerous state. */
const LISTED = ['absolute', 'similar', 'baseline'] as const;
const RELATIVE = ['similar', 'baseline', 'statistical', 'trend'];

function say({ grade, gate, firm, capped, atLeast, check }: CombinedGrade): string {
  if (grade === null) return `undetermined:${gate}`;
  const marks = [capped ? '(capped)' : '', atLeast ? '+at-least' : '', check === null ? '' : `+check:${check}`];
  return `${NAME[grade]}:${firm ? 'confirmed' : 'borderline'}${marks.join('')}`;
}

const absolute = (level: Level, probability = 0.99): Evidence => ({ level, probability, isRelative: false });
const relative = (level: Level, probability = 0.99): Evidence => ({ level, probability, isRelative: true });

describe('several criteria give one grade', () => {
  it.each(goldenValues('severity.combine'))('%s', (_, value) => {
    const given = inputOf<Level[] | Readonly<Record<string, Level>>>(value, 'levels');
    const levels = Array.isArray(given) ? given.map((level, i) => [LISTED[i], level] as const) : Object.entries(given);
    const probability = inputOf<number>(value, 'pExceedTop');
    const evidence = levels.map(([name, level]) => ({ level, probability, isRelative: RELATIVE.includes(name ?? '') }));
    expect(say(combineGrades(evidence, inputOf<Gate[]>(value, 'gates')))).toBe(value.expected);
  });

  it('relative evidence stays at Plan, however much of it, until evidence of another kind is at least at Watch', () => {
    expect(say(combineGrades([relative(3), relative(4)], []))).toBe('alert:confirmed(capped)');
    expect(say(combineGrades([relative(4), absolute(0)], []))).toBe('alert:confirmed(capped)');
    expect(say(combineGrades([relative(4), absolute(1)], []))).toBe('critical:confirmed');
    expect(say(combineGrades([relative(2)], []))).toBe('alert:confirmed');
  });

  it('a bad measurement never clears a point, and never hides a bad one (own rule)', () => {
    expect(say(combineGrades([absolute(1)], ['emissivity-unreliable']))).toBe('undetermined:emissivity-unreliable');
    expect(say(combineGrades([absolute(3)], ['emissivity-unreliable', 'load-too-low']))).toBe(
      'alarm:confirmed+at-least+check:emissivity-unreliable',
    );
  });

  it('the worst decides, then the surest, then the first', () => {
    const [first, surest, second] = [absolute(2, 0.6), absolute(2, 0.9), absolute(2, 0.6)];
    expect(combineGrades([first, surest, second], []).driver).toBe(surest);
    expect(combineGrades([first, second, absolute(1, 1)], []).driver).toBe(first);
    expect(combineGrades([], [])).toMatchObject({ driver: null, grade: null, firm: false });
  });

  it('a worse level never gives a better grade', () => {
    const level = fc.integer({ min: 0, max: 4 }) as fc.Arbitrary<Level>;
    fc.assert(
      fc.property(level, level, level, fc.boolean(), (a, b, worse, isRelative) => {
        const grade = (one: Level) =>
          combineGrades([{ level: one, probability: 1, isRelative }, relative(b)], []).grade ?? 'fine';
        expect(GRADES.indexOf(grade(Math.max(a, worse) as Level))).toBeGreaterThanOrEqual(GRADES.indexOf(grade(a)));
      }),
    );
  });
});

describe('a grade rises at once and falls slowly', () => {
  interface Seen extends Graded {
    readonly value: number;
  }
  const seen = (grade: Grade, value = 0, isComparable = true): Seen => ({ grade, value, isComparable });
  const always = () => true;

  it.each(goldenValues('severity.hysteresis'))('%s', (_, value) => {
    const limit = inputOf<number>(value, 'limit');
    const before = seen(GRADES[inputOf<number>(value, 'previousLevel')]!, limit);
    // Below the limit of level 2 lies level 1; of its limit the check says nothing.
    const readings = inputOf<number[]>(value, 'readings').map((figure) => seen(figure >= limit ? 'plan' : 'watch', figure));
    const settled = settleGrade([before, ...readings], (better) => isInside(better.value, limit, 'high', inputOf(value, 'h')));
    expect(GRADES.indexOf(settled?.grade ?? 'fine')).toBe(value.expected);
  });

  it('two clearly better readings in a row let it fall, to the worse of the two', () => {
    const clear = (better: Seen) => isInside(better.value, 70, 'high', 3);
    const plan = seen('plan', 71);
    expect(settleGrade([plan, seen('fine', 66)], clear)?.grade).toBe('plan');
    expect(settleGrade([plan, seen('fine', 66), seen('watch', 68), seen('fine', 66)], clear)?.grade).toBe('plan');
    expect(settleGrade([plan, seen('watch', 66), seen('fine', 50)], clear)).toMatchObject({
      grade: 'watch',
      since: { value: 50 },
      holder: { value: 66 },
    });
  });

  it('a grade seen under an open gate gives way to the first comparable reading, and lowers nothing', () => {
    expect(settleGrade([seen('now', 0, false), seen('watch')], always)?.grade).toBe('watch');
    expect(settleGrade([seen('now', 0, false), seen('now'), seen('watch')], always)?.grade).toBe('now');
    expect(settleGrade([seen('now'), seen('plan', 0, false), seen('plan', 0, false)], always)?.grade).toBe('now');
    expect(settleGrade([], always)).toBeNull();
  });

  it('limits reached from above are mirrored', () => {
    expect([66, 67, 68].map((value) => isInside(value, 70, 'high', 3))).toEqual([true, false, false]);
    expect([72, 73, 74].map((value) => isInside(value, 70, 'low', 3))).toEqual([false, false, true]);
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
