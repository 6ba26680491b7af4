import type { Reading, WorkEvent } from '../facts/types.ts';
import { median } from '../numbers/index.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import type { Point } from '../points/types.ts';
import { judgeReading } from '../verdict/assess.ts';
import type { AssessContext } from '../verdict/gates.ts';
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

/** Does this work start the history of the point anew? A changed instrument does not; grease concerns only what is greased. */
export function isReset(point: Point, work: WorkEvent['work']): boolean {
  if (work === 'instrument-changed') return false;
  return work !== 'regreased' || point.regreasingGateHours > 0;
}

/** Does this work make a learned base obsolete? Every reset but grease, which leaves the machine as it was. */
export function isBaseReset(work: WorkEvent['work']): boolean {
  return work !== 'instrument-changed' && work !== 'regreased';
}

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
  const contexts = contextsOf(input, readings, work);
  const proposedBase = proposeBase(input, readings, work);
  const based: Point =
    point.base === null && proposedBase !== null
      ? { ...point, base: { value: proposedBase.value, state: 'provisional' } }
      : point;
  const judgedReadings = readings.map((reading, i): JudgedReading => {
    const judged = judgeReading(based, reading, limitSets, contexts[i]);
    return {
      reading,
      judged,
      isComparable: judged.judgement.comparability !== 'not-judged',
      isSinceReset: reading.takenAt > resetAt,
    };
  });
  return { readings: judgedReadings, reset, proposedBase, point: based };
}

/** What the history knows about each reading: grease before it, the instrument before it, the calibration of its own. */
function contextsOf(input: ConcludeInput, readings: readonly Reading[], work: readonly WorkEvent[]): AssessContext[] {
  const greased = work.filter((event) => event.work === 'regreased').map((event) => event.takenAt);
  let used = 0;
  let previousInstrument: string | null = null;
  return readings.map((reading) => {
    while (used < greased.length && greased[used]! <= reading.takenAt) used++;
    const due = reading.instrument === null ? undefined : input.calibrationDueAt?.[reading.instrument];
    const context: AssessContext = {
      lastRegreasedAt: used === 0 ? null : greased[used - 1]!,
      previousInstrument,
      calibrationDueAt: due ?? null,
    };
    previousInstrument = reading.instrument ?? previousInstrument;
    return context;
  });
}

function proposeBase(input: ConcludeInput, window: readonly Reading[], work: readonly WorkEvent[]): ProposedBase | null {
  const { point, limitSets, asOf = Number.POSITIVE_INFINITY } = input;
  if (CRITERION_OF[point.quantity] !== 'above-base' || point.base !== null) return null;
  const renewedAt = work.filter((event) => isBaseReset(event.work)).at(-1)?.takenAt ?? Number.NEGATIVE_INFINITY;
  const known = new Set(window.map(({ id }) => id));
  const oldest = (input.baseReadings ?? []).filter(({ id }) => !known.has(id));
  const readings = [...window, ...oldest].filter(({ takenAt }) => takenAt > renewedAt && takenAt <= asOf).sort(byTime);
  const contexts = contextsOf(input, readings, work);
  // Over a base of zero the figure above base is the temperature itself, at reference load where the point is corrected.
  const overZero: Point = { ...point, base: { value: 0, state: 'provisional' } };
  const own = limitSets.filter((set) => set.criterion === 'above-base');
  const values: number[] = [];
  const readingIds: string[] = [];
  let rounds = 0;
  let last = Number.NEGATIVE_INFINITY;
  for (const [i, reading] of readings.entries()) {
    const { comparability, because } = judgeReading(overZero, reading, own, contexts[i]).judgement;
    if (comparability === 'not-judged' || because === null) continue;
    if (reading.takenAt - last >= ROUND_GAP) rounds++;
    last = reading.takenAt;
    values.push(because.value);
    readingIds.push(reading.id);
    if (values.length >= BASE_READINGS && rounds >= BASE_ROUNDS) return { value: median(values) ?? 0, readingIds };
  }
  return null;
}
