import type { Reading } from '../facts/types.ts';
import { limitsInForce } from '../limits/in-force.ts';
import { type CriterionKind, GRADES, type Grade, type LimitSet } from '../limits/types.ts';
import { median } from '../numbers/index.ts';
import { becauseOf, type Judged } from '../verdict/assess.ts';
import { type Graded, isInside, settleGrade } from '../verdict/severity.ts';
import type { JudgedReading, Standing } from './types.ts';

/** Where a point began: the median of so many figures. */
const READINGS_OF_BEGINNING = 5;

/** A judged reading that has a grade. */
interface GradedReading extends Graded {
  readonly reading: Reading;
  readonly judged: Judged;
}

/**
 * The grade a point stands at after its readings since the last reset, by the rule of settleGrade. Clearly better is a figure
 * below the limit by more than h = max(2u, a tenth of the way from where the point began to the limit).
 */
export function standingOf(judged: readonly JudgedReading[], limitSets: readonly LimitSet[]): Standing | null {
  const readings = judged.filter(({ isSinceReset }) => isSinceReset);
  const graded = readings.flatMap(({ reading, judged, isComparable }): GradedReading[] => {
    const { grade } = judged.judgement;
    return grade === null ? [] : [{ grade, isComparable, reading, judged }];
  });
  const beginnings = new Map<CriterionKind, number | null>();
  const beginningOf = (criterion: CriterionKind): number | null => {
    let beginning = beginnings.get(criterion);
    if (beginning === undefined) {
      beginning = beginningAt(readings, criterion);
      beginnings.set(criterion, beginning);
    }
    return beginning;
  };
  const settled = settleGrade(graded, (better, holder) => isClearlyBetter(better, holder, beginningOf, limitSets));
  if (settled === null) return null;
  const { grade, since } = settled;
  const isBetter = (reading: { readonly grade: Grade | null } | undefined): boolean =>
    reading !== undefined && reading.grade !== null && GRADES.indexOf(reading.grade) < GRADES.indexOf(grade);
  const lastComparable = readings.findLast(({ isComparable }) => isComparable);
  // What was seen last under a gate may itself be what the point stands at; then nothing better came after it.
  const isHeld = isBetter(lastComparable?.judged.judgement) && isBetter(graded.at(-1));
  return { grade, since: since.reading.takenAt, readingId: since.reading.id, isHeld };
}

/** Where a criterion began: the median of the first comparable figures since the reset. */
function beginningAt(readings: readonly JudgedReading[], criterion: CriterionKind): number | null {
  const first: number[] = [];
  for (const { isComparable, judged } of readings) {
    const because = isComparable ? becauseOf(judged, criterion) : null;
    if (because !== null) first.push(because.value);
    if (first.length === READINGS_OF_BEGINNING) break;
  }
  return median(first);
}

function isClearlyBetter(
  better: GradedReading,
  holder: GradedReading,
  beginningOf: (criterion: CriterionKind) => number | null,
  limitSets: readonly LimitSet[],
): boolean {
  const then = holder.judged.judgement.because;
  const now = then === null ? null : becauseOf(better.judged, then.criterion);
  // The criterion that held has no figure or no limits any more.
  if (then === null || now === null || then.limitGrade === null) return true;
  const sides = limitsInForce(limitSets, better.reading.takenAt);
  const inForce =
    sides.find(({ set }) => set.id === then.limitSetId) ??
    sides.find(({ set }) => set.criterion === then.criterion && set.direction === then.direction);
  const limit = inForce?.set[then.limitGrade] ?? null;
  if (limit === null) return true;
  const beginning = beginningOf(then.criterion) ?? limit;
  const away = then.direction === 'high' ? limit - beginning : beginning - limit;
  return isInside(now.value, limit, then.direction, Math.max(2 * now.uncertainty, 0.1 * Math.max(0, away)));
}
