import type { KindOfWork, Reading, WorkEvent } from '../facts/types.ts';
import type { CriterionKind, LimitSet } from '../limits/types.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import { restsOnBase } from '../points/quantities/index.ts';
import type { Point } from '../points/types.ts';
import { RELATIVE } from '../verdict/assess.ts';
import { VISIT_MS } from '../verdict/comparisons.ts';
import type { AssessContext, PreviousReading, ReadingAtPoint } from '../verdict/gates.ts';
import type { Judgement } from '../verdict/types.ts';

/** Work after which a machine stays warm for a while: new grease, and new or opened bearings. */
export const WARMING: readonly KindOfWork[] = ['regreased', 'replaced', 'repaired'];

/** Does this work start the history of the point anew? A changed instrument does not; grease concerns only what is greased. */
export function isReset(point: Pick<Point, 'regreasingGateHours'>, work: KindOfWork): boolean {
  if (work === 'instrument-changed') return false;
  return work !== 'regreased' || point.regreasingGateHours > 0;
}

/** Does this work make a learned base obsolete? Every reset but grease, which leaves the machine as it was. */
export function isBaseReset(work: KindOfWork): boolean {
  return work !== 'instrument-changed' && work !== 'regreased';
}

/** The criterion that a base is learned for at a point, or null: its own, or that of limits over a base. */
export function baseCriterionOf(point: Pick<Point, 'quantity'>, limitSets: readonly LimitSet[]): CriterionKind | null {
  const main = CRITERION_OF[point.quantity];
  if (restsOnBase(main)) return main;
  return limitSets.find((set) => restsOnBase(set.criterion))?.criterion ?? null;
}

/** Does a verdict by these limits depend on the reading before? A change does, and relative evidence waits for a second reading. */
export const asksForEarlier = (limitSets: readonly LimitSet[]): boolean =>
  limitSets.some(
    (set) => set.criterion === 'change-since-last' || (set.origin === 'general' && RELATIVE.includes(set.criterion)),
  );

/** Does a verdict by these limits depend on a twin? */
export const asksForTwins = (limitSets: readonly LimitSet[]): boolean => limitSets.some((set) => set.criterion === 'over-twin');

/** A reading of the point with what it was judged to be. */
export interface EarlierReading {
  readonly reading: Reading;
  readonly judgement: Pick<Judgement, 'grade' | 'because' | 'comparability'>;
}

/** What is known round about a point, on the phone as on the server. */
export interface Around {
  /** Work on the point and on its whole asset, any order. */
  readonly work: readonly Pick<WorkEvent, 'takenAt' | 'work'>[];
  /** Readings of the point that count, any order; those that are not earlier do not matter. */
  readonly earlier?: readonly EarlierReading[] | undefined;
  /** Readings of its twins that count, any order; of each twin the one nearest in time is taken. */
  readonly twins?: readonly ReadingAtPoint[] | undefined;
  /** Looking back, readings of twins from later on the same visit are known as well; at the stop they are not. */
  readonly isHindsight?: boolean | undefined;
  /** End of calibration by instrument, epoch milliseconds. */
  readonly calibrationDueAt?: Readonly<Record<string, number>> | undefined;
}

/**
 * What a verdict has to know beside the reading itself, out of what is known round about: grease before it, the last comparable
 * reading since the last reset, the instrument before it, the readings of its twins on the same visit. O(readings given).
 */
export function contextAt(
  point: Point,
  reading: Reading,
  { work, earlier = [], twins = [], isHindsight = false, calibrationDueAt }: Around,
): AssessContext {
  let warmedAt: number | null = null;
  let resetAt = Number.NEGATIVE_INFINITY;
  for (const event of work) {
    if (event.takenAt > reading.takenAt) continue;
    if (WARMING.includes(event.work)) warmedAt = Math.max(warmedAt ?? event.takenAt, event.takenAt);
    if (isReset(point, event.work)) resetAt = Math.max(resetAt, event.takenAt);
  }
  let previous: EarlierReading | null = null;
  let before: Reading | null = null;
  for (const one of earlier) {
    if (!isBefore(one.reading, reading)) continue;
    if (one.reading.instrument !== null && (before === null || isBefore(before, one.reading))) before = one.reading;
    const counts = one.judgement.comparability !== 'not-judged' && one.reading.takenAt > resetAt;
    if (counts && (previous === null || isBefore(previous.reading, one.reading))) previous = one;
  }
  return {
    lastRegreasedAt: warmedAt,
    previous: previous satisfies PreviousReading | null,
    previousInstrument: before?.instrument ?? null,
    twins: onSameVisit(reading, isHindsight ? twins : twins.filter((twin) => !isBefore(reading, twin.reading))),
    calibrationDueAt: (reading.instrument === null ? undefined : calibrationDueAt?.[reading.instrument]) ?? null,
  };
}

/** In the order of (takenAt, id). */
const isBefore = (a: Reading, b: Reading): boolean => a.takenAt < b.takenAt || (a.takenAt === b.takenAt && a.id < b.id);

/** Of each twin the reading nearest in time, if it belongs to this visit; ties go to the earlier one, then to the smaller id. */
function onSameVisit(reading: Reading, twins: readonly ReadingAtPoint[]): ReadingAtPoint[] {
  const nearest = new Map<string, ReadingAtPoint>();
  for (const twin of twins) {
    const away = Math.abs(twin.reading.takenAt - reading.takenAt);
    if (away > VISIT_MS) continue;
    const known = nearest.get(twin.point.id);
    const knownAway = known === undefined ? Number.POSITIVE_INFINITY : Math.abs(known.reading.takenAt - reading.takenAt);
    if (known === undefined || away < knownAway || (away === knownAway && isBefore(twin.reading, known.reading)))
      nearest.set(twin.point.id, twin);
  }
  return [...nearest.values()].sort((a, b) => (a.point.id < b.point.id ? -1 : 1));
}
