import { GRADES, type Grade, LIMIT_GRADES, type LimitGrade } from '../limits/types.ts';
import type { Gate } from './types.ts';

/** Kinds of evidence that each give a level of their own. */
export const EVIDENCE = ['absolute', 'similar', 'ambient', 'baseline', 'statistical', 'trend', 'zone'] as const;
export type Evidence = (typeof EVIDENCE)[number];
/** Index into GRADES: 0 Fine to 4 Now. */
export type Level = 0 | 1 | 2 | 3 | 4;

export interface CombinedGrade {
  /** null: a bad measurement that cannot clear the point. */
  readonly grade: Grade | null;
  /** Far enough from the limit for the uncertainty of the reading; otherwise borderline. */
  readonly confirmed: boolean;
  /** Relative evidence alone: Plan until a second reading or technique agrees. */
  readonly capped: boolean;
  /** Seen under low load or on too small a target. */
  readonly atLeast: boolean;
  /** Seen under another gate. */
  readonly check: Gate | null;
  /** First blocking gate when there is no grade. */
  readonly gate: Gate | null;
}

const CONFIRMED = 0.95;
/** Highest level relative evidence reaches alone. */
const CAP: Level = 2;
/** Evidence that can carry a level above the cap. */
const CARRYING: readonly Evidence[] = ['absolute', 'similar', 'ambient', 'zone'];
const AT_LEAST: readonly Gate[] = ['load-too-low', 'target-too-small'];

/**
 * One grade from the levels of several criteria: the worst one, capped when only relative evidence speaks, and never a
 * clearance from a bad measurement. Common practice, no source; a point's own limits of relative kind are not capped and pass
 * their level as `absolute`.
 *
 * @param levels missing evidence counts as Fine.
 * @param probabilityBeyond that the true figure lies beyond the limit of the driving criterion, 0 to 1; for Fine beyond the
 *   first limit.
 * @param gates blocking gates, most important first.
 * @example combineGrades({ absolute: 1, similar: 3 }, 0.99, []).grade // 'soon'
 */
export function combineGrades(
  levels: Partial<Readonly<Record<Evidence, Level>>>,
  probabilityBeyond: number,
  gates: readonly Gate[],
): CombinedGrade {
  const worst = Math.max(0, ...EVIDENCE.map((evidence) => levels[evidence] ?? 0)) as Level;
  const capped = worst > CAP && CARRYING.every((evidence) => (levels[evidence] ?? 0) === 0);
  const level = capped ? CAP : worst;
  const confirmed = level === 0 ? probabilityBeyond <= 1 - CONFIRMED : probabilityBeyond >= CONFIRMED;
  const gate = gates[0] ?? null;
  if (gate !== null && level <= 1) return { grade: null, confirmed: false, capped, atLeast: false, check: null, gate };
  return {
    grade: GRADES[level],
    confirmed,
    capped,
    atLeast: gates.some((open) => AT_LEAST.includes(open)),
    check: gates.find((open) => !AT_LEAST.includes(open)) ?? null,
    gate: null,
  };
}

export interface Latch {
  readonly grade: Grade;
  /** Limits of the criterion; null where a grade has none. */
  readonly limits: Readonly<Record<LimitGrade, number | null>>;
  readonly direction: 'high' | 'low';
  /** How far inside the limit a figure must lie to fall: max(2 standard uncertainties, a tenth of limit to baseline). */
  readonly hysteresis: number;
  /** Soon and Now fall only after an acknowledged work order or an explicit release. */
  readonly released: boolean;
}

const READINGS_TO_FALL = 2;

/**
 * Where a grade settles after further readings: it rises at once, and falls one grade after two valid readings in a row inside
 * the limit by the hysteresis. Common practice, no source.
 *
 * @param values in order of time; null is a reading that was not judged, which neither raises nor lowers.
 * @example settleGrade({ grade: 'plan', limits: { watch: null, plan: 70, soon: null, now: null }, direction: 'high', hysteresis: 3, released: true }, [66, 66.5]) // 'watch'
 */
export function settleGrade(latch: Latch, values: readonly (number | null)[]): Grade {
  let level = GRADES.indexOf(latch.grade);
  let inside = 0;
  for (const value of values) {
    if (value === null || !Number.isFinite(value)) continue;
    const reached = levelReached(latch, value);
    if (reached >= level) {
      level = reached;
      inside = 0;
      continue;
    }
    const holding = holdingLimit(latch, level);
    const distance = holding === null ? Number.POSITIVE_INFINITY : beyond(latch, holding, value);
    inside = distance > latch.hysteresis ? inside + 1 : 0;
    const needsRelease = level >= GRADES.indexOf('soon');
    if (inside < READINGS_TO_FALL || (needsRelease && !latch.released)) continue;
    level -= 1;
    inside = 0;
  }
  return GRADES[level] ?? latch.grade;
}

function levelReached(latch: Latch, value: number): number {
  const reached = LIMIT_GRADES.filter((grade) => {
    const limit = latch.limits[grade];
    return limit !== null && beyond(latch, limit, value) <= 0;
  });
  return Math.max(0, ...reached.map((grade) => GRADES.indexOf(grade)));
}

/** The limit that holds a level: its own, or the next worse one where it has none. */
function holdingLimit({ limits }: Latch, level: number): number | null {
  return (
    LIMIT_GRADES.slice(level - 1)
      .map((grade) => limits[grade])
      .find((limit) => limit !== null) ?? null
  );
}

/** How far a value lies on the good side of a limit. */
function beyond({ direction }: Latch, limit: number, value: number): number {
  return direction === 'high' ? limit - value : value - limit;
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
