import type { Reading, WorkEvent } from '../facts/types.ts';
import type { Grade, LimitGrade, LimitSet } from '../limits/types.ts';
import type { Point } from '../points/types.ts';
import type { Apart, Confidence, NoProjectionReason, TrendWord } from '../projection/index.ts';
import type { Season } from '../rounds/season.ts';
import type { Judged } from '../verdict/assess.ts';
import type { ReadingAtPoint } from '../verdict/gates.ts';
import type { Gate, Verdict } from '../verdict/types.ts';

/** Newest readings since the last reset that a conclusion looks at; the caller loads exactly these. */
export const READINGS_SINCE_RESET = 500;
/** Newest readings before the last reset, for the noise of the point and the effect of load. */
export const READINGS_BEFORE_RESET = 160;

/** Oldest readings since the base was last renewed that a base is learned from. */
export const READINGS_FOR_BASE = 40;

/** Everything a conclusion may depend on. */
export interface ConcludeInput {
  readonly point: Point;
  /** All versions of all criteria. */
  readonly limitSets: readonly LimitSet[];
  /** Those that count (corrected ones left out), any order. */
  readonly readings: readonly Reading[];
  /**
   * Points above base without a stored base: the READINGS_FOR_BASE oldest since the last work that renews the base, so that the
   * base stays where it was learned when the window has moved on. May repeat readings of the window.
   */
  readonly baseReadings?: readonly Reading[] | undefined;
  /** Work on the point and on its whole asset, any order. */
  readonly work: readonly WorkEvent[];
  /** Nothing later counts, and the limits of this time are the ones projected; left out: the time of the newest reading. */
  readonly asOf?: number | undefined;
  /** End of calibration by instrument, epoch milliseconds. */
  readonly calibrationDueAt?: Readonly<Record<string, number>> | undefined;
  /** Readings of the points it is compared with, in the same time. */
  readonly twins?: readonly ReadingAtPoint[] | undefined;
  /** Noise of like points, for a point that has hardly been read; see noiseOfLikePoints. */
  readonly likePointNoise?: number | null | undefined;
  /**
   * Seasons of the routes that come by, where each of them has one: time asleep does not count, so that no forecast runs through it.
   * null or left out: awake all year.
   */
  readonly seasons?: readonly Season[] | null | undefined;
  /** Of the site; asked for where there are seasons, whose months begin by its clocks. */
  readonly zone?: string | undefined;
}

/** A reading as the history judges it. */
export interface JudgedReading {
  readonly reading: Reading;
  readonly judged: Judged;
  /** Enters trend and base: no gate was open. */
  readonly isComparable: boolean;
  readonly isSinceReset: boolean;
}

/** A reading as it was read; its load, in % of rated, where the projection is made for another one. */
export type AsRead =
  | { readonly value: number; readonly loadPercent: number; readonly referenceLoadPercent: number }
  | { readonly value: number; readonly loadPercent: null };

/** When one limit will be reached, in instants, or why that cannot be said. */
export interface LimitProjection {
  readonly grade: LimitGrade;
  readonly limit: number;
  readonly direction: 'high' | 'low';
  /** Time of the last comparable reading: days are counted from there, so that the same facts give the same dates. */
  readonly cutAt: number;
  /** What may be shown; figures beside it serve the queue. */
  readonly show: 'range' | 'not-before' | 'far' | 'none';
  /** With 90 % not before; the safe side for decisions. */
  readonly earliestAt: number | null;
  readonly likelyAt: number | null;
  /** With 90 % by then; null: or not at all. */
  readonly latestAt: number | null;
  /** No date is said finer than this; null where none is said. */
  readonly precisionDays: number | null;
  readonly confidence: Confidence | null;
  readonly probabilityMoving: number | null;
  readonly reason: NoProjectionReason | null;
  /** A change of level that has held since, without known work. */
  readonly stepAt: number | null;
  readonly readingCount: number;
  readonly spanDays: number;
  /** Reason over-limit, although the last comparable reading is not over it: that reading. */
  readonly lastRead?: AsRead | null | undefined;
  /** The dates in days awake from the cut, for a point that sleeps; else they are those of the calendar. */
  readonly awakeDays?: { readonly earliest: number; readonly likely: number | null; readonly latest: number | null } | undefined;
  /** The newest comparable readings, where the projection leans little on them; absent in a kept one of an earlier version. */
  readonly apart?: Apart | null | undefined;
}

/** The grade a point stands at: worse at once, better only when two readings agree, or after work. */
export interface Standing {
  readonly grade: Grade;
  /** Since the reading that brought it here. */
  readonly since: number;
  readonly readingId: string;
  /** The latest comparable reading is better, and nothing as bad was seen after it, but not yet often or far enough. */
  readonly isHeld: boolean;
}

/** A base proposed from the first comparable readings. */
export interface ProposedBase {
  /** At reference load where the point is corrected; unit of the raw input. */
  readonly value: number;
  readonly readingIds: readonly string[];
}

/** What is known about a point from its facts; the same facts in any order give the same conclusion. */
export interface Conclusion {
  readonly pointId: string;
  /** Unit of figures and limits of the main criterion. */
  readonly unit: string;
  readonly decimals: number;
  /** Of the readings looked at. */
  readonly readingCount: number;
  /** Comparable ones since the reset. */
  readonly comparableCount: number;
  /** Those since the reset that were not compared, by the first gate that kept them out, most frequent first; absent in a kept one of an earlier version. */
  readonly leftOut?: readonly { readonly gate: Gate; readonly count: number }[] | undefined;
  readonly latest: { readonly readingId: string; readonly takenAt: number; readonly verdict: Verdict } | null;
  /** Main figure of the last comparable reading, at reference load where corrected. */
  readonly latestComparable: { readonly readingId: string; readonly takenAt: number; readonly value: number } | null;
  readonly standing: Standing | null;
  /** Work has been done and no comparable reading has shown its success yet. */
  readonly isProofAwaited: boolean;
  readonly proposedBase: ProposedBase | null;
  readonly reset: { readonly workId: string; readonly at: number; readonly work: WorkEvent['work'] } | null;
  /** Every limit from Plan upwards that is not reached, mildest first. */
  readonly projections: readonly LimitProjection[];
  /** The limit that counts for due dates: Soon, else the worst that is left. */
  readonly countsGrade: LimitGrade | null;
  readonly trend: TrendWord | null;
  /** When the point is awake, as it was known to the projections; absent or null: all year. */
  readonly seasons?: readonly Season[] | null | undefined;
  readonly confidence: Confidence | null;
  /** Standard deviation of one reading about its curve, in `unit`; null where nothing was fitted. Like points lean on it. */
  readonly noise: number | null;
}
