import { GRADES, type Grade } from '../limits/types.ts';
import type { Gate } from './types.ts';

/** Index into GRADES: 0 Fine to 4 Now. */
export type Level = 0 | 1 | 2 | 3 | 4;

/** What one criterion says. */
export interface Evidence {
  readonly level: Level;
  /** That the true figure lies beyond the limit of this level, 0 to 1; for Fine, beyond the first limit. */
  readonly probability: number;
  /** A change against like parts, the base or earlier figures, judged by figures of the general library. */
  readonly isRelative: boolean;
  /** Relative evidence that an earlier reading has shown already. */
  readonly isConfirmed?: boolean | undefined;
}

/** One grade out of several criteria and gates. */
export interface CombinedGrade<E extends Evidence = Evidence> {
  /** The evidence that decides, also where it gives no grade; null without any. */
  readonly driver: E | null;
  /** null: nothing to judge by, or a bad measurement that cannot clear the point. */
  readonly grade: Grade | null;
  /** Far enough from the limit for the uncertainty of the reading; otherwise close. False while there is no grade. */
  readonly firm: boolean;
  /** Relative evidence alone: Plan until a second reading or technique agrees. */
  readonly capped: boolean;
  /** Seen under low load or on too small a target. */
  readonly atLeast: boolean;
  /** Seen under another gate. */
  readonly check: Gate | null;
  /** First open gate. */
  readonly gate: Gate | null;
}

/** A grade is firm when it is true with this probability (calculation of JCGM 106; the level is common practice). */
export const FIRM_PROBABILITY = 0.95;
/** Highest level relative evidence reaches alone, and the lowest one that stands under an open gate. */
const PLAN: Level = 2;
/** These hide heat, so that what is seen is a lower bound. */
const AT_LEAST: readonly Gate[] = ['load-too-low', 'target-too-small'];

/**
 * One grade from several criteria: the worst one, then the surest, then the first. Common practice, no source.
 *
 * Relative evidence shows a change, but not yet a dangerous state: it stays at Plan until evidence of another kind is at least
 * at Watch, or a second reading agrees. Limits that were sourced for the point itself are not relative in this sense, whatever they compare.
 * A bad measurement never clears: under an open gate only Plan or worse is a grade, as a lower bound or with the thing to check.
 *
 * @param evidence of criteria that have limits; a missing criterion is simply absent.
 * @param gates open ones, most important first.
 * @example combineGrades([{ level: 3, probability: 0.99, isRelative: true }], []).grade // 'plan'
 */
export function combineGrades<E extends Evidence>(evidence: readonly E[], gates: readonly Gate[]): CombinedGrade<E> {
  const gate = gates[0] ?? null;
  let driver: E | null = null;
  for (const one of evidence) if (driver === null || isWorse(one, driver)) driver = one;
  if (driver === null) return { driver, grade: null, firm: false, capped: false, atLeast: false, check: null, gate };
  const isCarried = driver.isConfirmed === true || evidence.some(({ isRelative, level }) => !isRelative && level > 0);
  const capped = driver.isRelative && !isCarried && driver.level > PLAN;
  const level = capped ? PLAN : driver.level;
  if (gate !== null && level < PLAN) return { driver, grade: null, firm: false, capped, atLeast: false, check: null, gate };
  return {
    driver,
    grade: GRADES[level],
    firm: level === 0 ? driver.probability <= 1 - FIRM_PROBABILITY : driver.probability >= FIRM_PROBABILITY,
    capped,
    atLeast: gates.some((open) => AT_LEAST.includes(open)),
    check: gates.find((open) => !AT_LEAST.includes(open)) ?? null,
    gate,
  };
}

/** The higher level, then the surer one. */
export function isWorse(a: Evidence, b: Evidence): boolean {
  return a.level === b.level ? a.probability > b.probability : a.level > b.level;
}

/** A reading that has a grade, as the latch sees it. */
export interface Graded {
  readonly grade: Grade;
  /** No gate was open. */
  readonly isComparable: boolean;
}

/** The grade that readings settle at. */
export interface Settled<R extends Graded> {
  readonly grade: Grade;
  /** The reading that brought the grade here. */
  readonly since: R;
  /** The reading whose limit must be left behind before the grade falls. */
  readonly holder: R;
  /** A comparable reading has shown this grade. */
  readonly isSure: boolean;
}

/** So many comparable readings in a row must be clearly better before a grade falls without work. */
const READINGS_TO_FALL = 2;

/**
 * Where the grade of a point settles: it rises at once, and falls after two comparable readings in a row that are clearly
 * better, to the worse of the two. A grade that was only seen under an open gate gives way to the first comparable reading.
 * Common practice, no source.
 *
 * @param readings in order of time since work last let go of the grade; those without a grade are left out, since they neither
 *   raise nor lower.
 * @param isClear is a better reading far enough inside the limit that holds? See isInside.
 * @returns null without readings. O(n).
 */
export function settleGrade<R extends Graded>(
  readings: readonly R[],
  isClear: (better: R, holder: R) => boolean,
): Settled<R> | null {
  let held = null as Settled<R> | null;
  let better: R[] = [];
  for (const reading of readings) {
    const { grade, isComparable } = reading;
    const change: number = held === null ? 1 : levelOf(grade) - levelOf(held.grade);
    if (held === null || change > 0 || (change < 0 && isComparable && !held.isSure)) {
      held = { grade, since: reading, holder: reading, isSure: isComparable };
      better = [];
    } else if (change === 0) {
      held = { ...held, holder: isComparable ? reading : held.holder, isSure: held.isSure || isComparable };
      better = [];
    } else if (isComparable) {
      better = isClear(reading, held.holder) ? [...better, reading] : [];
      if (better.length < READINGS_TO_FALL) continue;
      const worst = better.reduce((a, b) => (levelOf(b.grade) > levelOf(a.grade) ? b : a));
      held = { grade: worst.grade, since: reading, holder: worst, isSure: true };
      better = [];
    }
  }
  return held;
}

const levelOf = (grade: Grade): number => GRADES.indexOf(grade);

/** Does a figure lie on the good side of a limit, further from it than the margin? @example isInside(66, 70, 'high', 3) // true */
export function isInside(value: number, limit: number, direction: 'high' | 'low', margin: number): boolean {
  return direction === 'high' ? value < limit - margin : value > limit + margin;
}

export interface StatisticalLimits {
  readonly mean: number;
  readonly standardDeviation: number;
  /** null below twenty values. */
  readonly watch: number | null;
  /** null below four values. Statistics alone never go beyond Plan. */
  readonly plan: number | null;
  readonly count: number;
}

const FEW = 20;
const FEWEST = 4;
/** One-sided 99 % points of Student's t for 3 to 18 degrees of freedom; https://www.itl.nist.gov/div898/handbook/eda/section3/eda3672.htm */
const T_99 = [4.541, 3.747, 3.365, 3.143, 2.998, 2.896, 2.821, 2.764, 2.7181, 2.681, 2.65, 2.624, 2.602, 2.583, 2.567, 2.552];

/**
 * Limits from a baseline: mean + 2 s Watch and mean + 3 s Plan from twenty values on; below, from four on, the 99 % prediction
 * limit mean + t·s·√(1 + 1/n) as Plan, since s itself is uncertain. ISO 17359 allows criteria set statistically.
 *
 * @param baseline in steady, known conditions; not finite values are left out.
 * @param leastDeviation s is never taken below this, usually the repeatability of the reading.
 * @returns null below two values. O(n).
 * @example statisticalLimits([41.2, 40.1, 42, 41.5])?.plan // 45.28
 */
export function statisticalLimits(baseline: readonly number[], leastDeviation = 0): StatisticalLimits | null {
  const kept = baseline.filter(Number.isFinite);
  const count = kept.length;
  if (count < 2) return null;
  const first = kept[0]!;
  const mean = first + kept.reduce((sum, value) => sum + (value - first), 0) / count;
  const squares = kept.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  const standardDeviation = Math.max(leastDeviation, Math.sqrt(squares / (count - 1)));
  const t = T_99[count - FEWEST];
  const prediction = t === undefined ? null : mean + t * standardDeviation * Math.sqrt(1 + 1 / count);
  const limits = { mean, standardDeviation, count };
  if (!Number.isFinite(standardDeviation)) return null;
  if (count < FEW) return { ...limits, watch: null, plan: prediction };
  return { ...limits, watch: mean + 2 * standardDeviation, plan: mean + 3 * standardDeviation };
}
