import type { Reading, WorkEvent } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import { median } from '../numbers/index.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import { restsOnBase } from '../points/quantities/index.ts';
import type { Point } from '../points/types.ts';
import { becauseOf, judgeReading } from '../verdict/assess.ts';
import { VISIT_MS } from '../verdict/comparisons.ts';
import { baseCriterionOf, contextAt, type EarlierReading, isBaseReset, isReset } from './around.ts';
import {
  type ConcludeInput,
  type JudgedReading,
  type ProposedBase,
  READINGS_BEFORE_RESET,
  READINGS_SINCE_RESET,
} from './types.ts';

/** Readings that a base is proposed from, over at least so many rounds. */
export const BASE_READINGS = 5;
export const BASE_ROUNDS = 3;
/** Readings closer together than this are taken on one round. */
const ROUND_GAP = 8 * 3_600_000;

/** The history in order, judged, with the base used and the reset that cut it. */
export interface JudgedHistory {
  /** In order of (takenAt, id). */
  readonly readings: readonly JudgedReading[];
  readonly reset: WorkEvent | null;
  readonly proposedBase: ProposedBase | null;
  /** The point with the base that was used. */
  readonly point: Point;
}

const byTime = (a: { takenAt: number; id: string }, b: { takenAt: number; id: string }): number =>
  a.takenAt - b.takenAt || (a.id < b.id ? -1 : a.id > b.id ? 1 : 0);

/**
 * Judges every reading of the window by the limits of its own day.
 * Where a point above base has no stored base, one is proposed from the first comparable readings since the last reset that
 * was more than grease, and used at once.
 */
export function judgeHistory(input: ConcludeInput): JudgedHistory {
  const { point, limitSets, asOf = Number.POSITIVE_INFINITY } = input;
  const work = input.work.filter((event) => event.takenAt <= asOf).sort(byTime);
  const reset = work.filter((event) => isReset(point, event.work)).at(-1) ?? null;
  const resetAt = reset?.takenAt ?? Number.NEGATIVE_INFINITY;
  const sorted = input.readings.filter((reading) => reading.takenAt <= asOf).sort(byTime);
  const before = sorted.filter((reading) => reading.takenAt <= resetAt).slice(-READINGS_BEFORE_RESET);
  const since = sorted.filter((reading) => reading.takenAt > resetAt).slice(-READINGS_SINCE_RESET);
  const readings = [...before, ...since];
  const bases = learnBases(input, readings, work);
  const current = bases.at(-1) ?? null;
  const proposedBase = current === null ? null : { value: current.value, readingIds: current.readingIds };
  const withBase = (base: LearnedBase | null): Point =>
    point.base === null && base !== null ? { ...point, base: { value: base.value, state: 'provisional' } } : point;
  const based = withBase(current);
  const isMain = restsOnBase(CRITERION_OF[point.quantity]);
  // A further criterion over a base counts from the reading after those it was learned from until the base is renewed.
  const pointFor = (at: number): Point =>
    isMain ? based : withBase(bases.findLast((base) => base !== null && base.learnedAt < at && at <= base.until) ?? null);
  const twins = [...(input.twins ?? [])].sort((a, b) => byTime(a.reading, b.reading));
  let first = 0;
  // Of all that came before only the last comparable reading and the last instrument matter.
  let comparable: EarlierReading | null = null;
  let instrument: EarlierReading | null = null;
  const judgedReadings = readings.map((reading): JudgedReading => {
    while (first < twins.length && twins[first]!.reading.takenAt < reading.takenAt - VISIT_MS) first++;
    let end = first;
    while (end < twins.length && twins[end]!.reading.takenAt <= reading.takenAt + VISIT_MS) end++;
    const context = contextAt(based, reading, {
      work,
      earlier: [comparable, instrument].filter((one) => one !== null),
      twins: twins.slice(first, end),
      isHindsight: true,
      calibrationDueAt: input.calibrationDueAt,
    });
    const judged = judgeReading(pointFor(reading.takenAt), reading, limitSets, context);
    const isComparable = judged.judgement.comparability !== 'not-judged';
    const one = { reading, judgement: judged.judgement };
    if (isComparable) comparable = one;
    if (reading.instrument !== null) instrument = one;
    return { reading, judged, isComparable, isSinceReset: reading.takenAt > resetAt };
  });
  return { readings: judgedReadings, reset, proposedBase, point: based };
}

interface LearnedBase extends ProposedBase {
  readonly learnedAt: number;
  /** The work that made it obsolete. */
  readonly until: number;
}

/** The base of every time between two renewals, null where too little was read; the last one is that of today. */
function learnBases(input: ConcludeInput, window: readonly Reading[], work: readonly WorkEvent[]): (LearnedBase | null)[] {
  const { point, limitSets, asOf = Number.POSITIVE_INFINITY } = input;
  const criterion = baseCriterionOf(point, limitSets);
  if (criterion === null || point.base !== null) return [];
  const known = new Set(window.map(({ id }) => id));
  const oldest = (input.baseReadings ?? []).filter(({ id }) => !known.has(id));
  const readings = [...window, ...oldest].filter(({ takenAt }) => takenAt <= asOf).sort(byTime);
  const renewals = work.filter((event) => isBaseReset(event.work)).map(({ takenAt }) => takenAt);
  // The main figure rests on the base of today alone: its history is carried on as one series.
  const starts = restsOnBase(CRITERION_OF[point.quantity]) ? renewals.slice(-1) : [Number.NEGATIVE_INFINITY, ...renewals];
  return (starts.length === 0 ? [Number.NEGATIVE_INFINITY] : starts).map((from, i) => {
    const until = starts[i + 1] ?? Number.POSITIVE_INFINITY;
    const learned = learnBase(
      input,
      criterion,
      readings.filter(({ takenAt }) => takenAt > from && takenAt <= until),
      work,
    );
    return learned === null ? null : { ...learned, until };
  });
}

/** The median of the first comparable figures, once there are enough of them over enough rounds. */
function learnBase(
  { point, limitSets, calibrationDueAt }: ConcludeInput,
  criterion: CriterionKind,
  readings: readonly Reading[],
  work: readonly WorkEvent[],
): Omit<LearnedBase, 'until'> | null {
  // Over a base of 0, or in % over one of 100, the figure is the one that stands by itself, at reference load where corrected.
  const start = criterion === 'above-base' ? 0 : 100;
  const overStart: Point = { ...point, base: { value: start, state: 'provisional' } };
  const own = limitSets.filter((set) => set.criterion === criterion);
  const values: number[] = [];
  const readingIds: string[] = [];
  let rounds = 0;
  let last = Number.NEGATIVE_INFINITY;
  const around = { work, calibrationDueAt };
  for (const reading of readings) {
    const judged = judgeReading(overStart, reading, own, contextAt(overStart, reading, around));
    const because = becauseOf(judged, criterion);
    if (judged.judgement.comparability === 'not-judged' || because === null) continue;
    if (reading.takenAt - last >= ROUND_GAP) rounds++;
    last = reading.takenAt;
    values.push(because.value + (criterion === 'above-base' ? 0 : start));
    readingIds.push(reading.id);
    if (values.length >= BASE_READINGS && rounds >= BASE_ROUNDS)
      return { value: median(values) ?? 0, readingIds, learnedAt: reading.takenAt };
  }
  return null;
}
