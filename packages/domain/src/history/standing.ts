import { limitsInForce } from '../limits/in-force.ts';
import { type CriterionKind, GRADES, type Grade, type LimitSet } from '../limits/types.ts';
import { median } from '../numbers/index.ts';
import type { Because } from '../verdict/types.ts';
import type { JudgedReading, Standing } from './types.ts';

/** So many comparable readings in a row must be better, each beyond the margin, before a grade falls without work. */
const READINGS_TO_FALL = 2;

interface Held {
  grade: Grade;
  since: number;
  readingId: string;
  because: Because | null;
  /** Brought here by a comparable reading; a grade seen under an open gate gives way to the first comparable one. */
  isSure: boolean;
}

/**
 * The grade a point stands at after its readings since the last reset.
 * It rises at once. It falls only after two comparable readings in a row that lie below the limit by more than
 * h = max(2u, a tenth of the way from where the point began to the limit); a grade that was seen under an open gate falls with
 * the first comparable reading. Readings without a grade change nothing.
 */
export function standingOf(judged: readonly JudgedReading[], limitSets: readonly LimitSet[]): Standing | null {
  const readings = judged.filter(({ isSinceReset }) => isSinceReset);
  const level = (grade: Grade): number => GRADES.indexOf(grade);
  const beginnings = new Map<CriterionKind, number | null>();
  const beginningOf = (criterion: CriterionKind): number | null => {
    let beginning = beginnings.get(criterion);
    if (beginning === undefined) {
      beginning = beginningAt(readings, criterion);
      beginnings.set(criterion, beginning);
    }
    return beginning;
  };
  let held = null as Held | null;
  let better: JudgedReading[] = [];
  for (const item of readings) {
    const { verdict, reading, isComparable } = item;
    const grade = verdict.grade;
    if (grade === null) continue;
    const next: Held = { grade, since: reading.takenAt, readingId: reading.id, because: verdict.because, isSure: isComparable };
    if (held === null || level(grade) > level(held.grade)) {
      held = next;
      better = [];
    } else if (level(grade) === level(held.grade)) {
      held = { ...held, isSure: held.isSure || isComparable, because: isComparable ? verdict.because : held.because };
      better = [];
    } else if (isComparable && !held.isSure) {
      held = next;
      better = [];
    } else if (isComparable) {
      better = isClearlyBetter(item, held, beginningOf, limitSets) ? [...better, item] : [];
      if (better.length >= READINGS_TO_FALL) {
        const worst: JudgedReading = better.reduce((a, b) => (level(b.verdict.grade!) > level(a.verdict.grade!) ? b : a));
        held = { ...next, grade: worst.verdict.grade!, because: worst.verdict.because };
        better = [];
      }
    }
  }
  if (held === null) return null;
  const last = readings.filter(({ isComparable }) => isComparable).at(-1);
  const lastGrade = last?.verdict.grade ?? null;
  const isHeld = lastGrade !== null && level(lastGrade) < level(held.grade);
  return { grade: held.grade, since: held.since, readingId: held.readingId, isHeld };
}

/** Where a criterion began: the median of its first five comparable figures since the reset. */
function beginningAt(readings: readonly JudgedReading[], criterion: CriterionKind): number | null {
  const first: number[] = [];
  for (const { isComparable, verdict } of readings) {
    const { because } = verdict;
    if (isComparable && because !== null && because.criterion === criterion) first.push(because.value);
    if (first.length === 5) break;
  }
  return median(first);
}

function isClearlyBetter(
  item: JudgedReading,
  held: Held,
  beginningOf: (criterion: CriterionKind) => number | null,
  limitSets: readonly LimitSet[],
): boolean {
  const now = item.verdict.because;
  const then = held.because;
  // Another criterion decides now: the one that held is below all its limits that matter.
  if (now === null || then === null || now.criterion !== then.criterion || then.limitGrade === null) return true;
  const inForce = limitsInForce(limitSets, item.reading.takenAt).find(({ set }) => set.criterion === then.criterion);
  const limit = inForce?.set[then.limitGrade] ?? null;
  if (limit === null) return true;
  const beginning = beginningOf(then.criterion) ?? limit;
  const away = then.direction === 'high' ? limit - beginning : beginning - limit;
  const margin = Math.max(2 * now.uncertainty, 0.1 * Math.max(0, away));
  return then.direction === 'high' ? now.value < limit - margin : now.value > limit + margin;
}
