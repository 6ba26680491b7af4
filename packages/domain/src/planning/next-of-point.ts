import type { Conclusion } from '../history/types.ts';
import { GRADES, type Grade } from '../limits/types.ts';
import type { Criticality, Point, Quantity } from '../points/types.ts';
import { wakesAfter } from '../rounds/season.ts';
import { DETECTION, LEGAL_MAXIMUM_DAYS, type NextReading, nextReading, SIGN_TO_FAILURE_DAYS } from './interval.ts';

type Fault = keyof typeof SIGN_TO_FAILURE_DAYS;

/** The fault that a quantity is read for where its point says nothing nearer; common practice, no source. */
const FAULTS: Partial<Readonly<Record<Quantity, Fault>>> = {
  'like-part-difference': 'loose-joint',
  'current-unbalance': 'loose-joint',
  'voltage-unbalance': 'loose-joint',
  'vibration-velocity': 'bearing-by-vibration',
  'steam-trap': 'steam-trap',
  'insulation-resistance': 'insulation-resistance',
  approach: 'fouling',
  effectiveness: 'fouling',
  'pressure-loss': 'fouling',
  spread: 'fouling',
  'over-cooling-air': 'fouling',
  'over-wet-bulb': 'fouling',
};

/** null: nobody knows how fast such a fault grows. */
function faultOf({ quantity, loadFamily }: Point): Fault | null {
  if (loadFamily === 'electrical') return FAULTS[quantity] ?? 'loose-joint';
  return FAULTS[quantity] ?? (loadFamily === 'thermal-machine' ? 'bearing-by-temperature' : null);
}

/**
 * When a point that is not well is read next, and why: one at Watch or worse, or with a forecast that names a date. A point at Fine
 * without one keeps the pace of its round. The shortest time from sign to failure counts. What falls into a sleep waits for its end:
 * no round comes by before, and nothing runs.
 *
 * @param recent grades of comparable readings since the last reset, newest first.
 * @param zone of the site; asked for where the point has seasons.
 * @returns null at Fine without a forecast, before any comparable reading, or where the kind of fault is not known.
 * @example nextReadingOf({ point, criticality: 'B', conclusion, recent: ['plan', 'watch'] })?.because // 'forecast'
 */
export function nextReadingOf({
  point,
  criticality,
  conclusion,
  recent,
  zone,
}: {
  readonly point: Point;
  readonly criticality: Criticality;
  readonly conclusion: Pick<Conclusion, 'latestComparable' | 'standing' | 'projections' | 'countsGrade' | 'seasons'>;
  readonly recent: readonly Grade[];
  readonly zone?: string | undefined;
}): NextReading | null {
  const { latestComparable, standing, projections, countsGrade } = conclusion;
  const fault = faultOf(point);
  const grade = standing?.grade ?? 'fine';
  const counting = projections.find((one) => one.grade === countsGrade && one.show === 'range');
  if (latestComparable === null || fault === null || (grade === 'fine' && counting === undefined)) return null;
  const clean = recent.findIndex((one) => one !== 'fine');
  const next = nextReading({
    lastReadAt: latestComparable.takenAt,
    earliestAt: counting?.earliestAt ?? null,
    signToFailureDays: SIGN_TO_FAILURE_DAYS[fault][0],
    detection: point.loadFamily === 'electrical' ? DETECTION['electrical-from-40-percent-load'] : DETECTION.other,
    criticality,
    legalMaximumDays: point.loadFamily === 'electrical' ? LEGAL_MAXIMUM_DAYS : null,
    grade,
    cleanReadings: clean < 0 ? recent.length : clean,
    wasWatch: recent.some((one) => GRADES.indexOf(one) >= 1),
    // What like points show does not confirm intervals yet, so nothing is lengthened.
    classConfirmed: false,
  });
  if (next === null) return null;
  const wakesAt = wakesAfter(conclusion.seasons ?? null, next.at, zone ?? 'UTC');
  return wakesAt === null ? next : { ...next, at: wakesAt, sentence: `${next.sentence} It sleeps until then.` };
}
