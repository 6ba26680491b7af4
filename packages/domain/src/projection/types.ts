import type { Shape } from './shapes.ts';

/** One reading as the estimator sees it. */
export interface ProjectionReading {
  /** Days since any fixed date, whole or broken; only differences count. */
  readonly day: number;
  /** In the unit of the point. */
  readonly value: number;
  /** Load at the time of reading, in the unit of the reference load; null when unknown. */
  readonly loadPercent: number | null;
  /** Ambient in the unit of the value; null when unknown. */
  readonly ambientC: number | null;
}

/** Everything a projection may depend on: no name of the point, its class or its series. */
export interface ProjectionInput {
  /** Any order. Not finite values and readings after `cutDay` are left out. */
  readonly readings: readonly ProjectionReading[];
  /** The day of asking. */
  readonly cutDay: number;
  /** Day of the last recorded repair; readings up to and including this day only tell about noise and load. */
  readonly repairDay: number | null;
  /** In the unit of the readings. */
  readonly limit: number;
  /** up: the limit is reached from below; down: from above. */
  readonly direction: 'up' | 'down';
  /** Load the projection is made for; null leaves load out. */
  readonly referenceLoadPercent: number | null;
  /** Ambient the projection is made for, in the unit of the readings; null leaves ambient out. */
  readonly referenceAmbientC: number | null;
  /**
   * Standard deviation of one reading about its curve at like points, in the unit of the readings; see noiseOfLikePoints. Looked at
   * only while the point has few readings of its own and no history before a repair. Null or left out: not known.
   */
  readonly likePointNoise?: number | null | undefined;
}

/** The newest readings, when they lie further from the curve than readings scatter, all on one side of it. */
export interface Apart {
  /** How many of them, one after the other up to the last one. */
  readonly readings: number;
  /** Median distance in the unit of the readings; above the curve is positive. */
  readonly by: number;
}

export type NoProjectionReason =
  | 'too-few-readings'
  | 'span-too-short'
  | 'over-limit'
  | 'limit-at-baseline'
  | 'no-usable-trend'
  | 'beyond-horizon';

/** Posterior probability of each shape; they add up to 1. */
export type ShapeProbabilities = Readonly<Record<Shape, number>>;

/** Averaged level at reference conditions on a past day, in the unit of the readings. */
export interface CurveSample {
  readonly day: number;
  readonly level: number;
}

/** 10 %, 50 % and 90 % quantile of the level at reference conditions on a day ahead, given that something moves; low ≤ mid ≤ high. */
export interface FanSample {
  readonly day: number;
  readonly low: number;
  readonly mid: number;
  readonly high: number;
}

export interface TimeToLimit {
  readonly status: 'projection';
  /** Days from the day of asking; 0 means the limit may already be passed. */
  readonly p10Days: number;
  /** null: the limit is not reached with this probability within twenty spans. */
  readonly p50Days: number | null;
  readonly p90Days: number | null;
  /** Probability of a movement towards the limit, 0 to 1. */
  readonly probabilityMoving: number;
  /** The most probable shape that moves. */
  readonly shape: Shape;
  readonly shapeProbabilities: ShapeProbabilities;
  /** Readings behind the projection. */
  readonly readingCount: number;
  /** From the first to the last of them. */
  readonly spanDays: number;
  /** Level at the start, in the unit of the readings at reference conditions. */
  readonly baseline: number;
  /** Averaged level at the last reading, same conditions. */
  readonly levelNow: number;
  /** Standard deviation of one typical reading about the curve, same unit. */
  readonly noise: number;
  /** The curve leans little on these: it takes some more to tell a change from slips. null: the newest reading lies where it is looked for. */
  readonly apart: Apart | null;
  /** Only with `withCurve`: at most 40 days from first to last reading. */
  readonly curve?: readonly CurveSample[];
  /** Only with `withCurve`: at most 30 days from the day of asking on. */
  readonly fan?: readonly FanSample[];
}

export interface NoTimeToLimit {
  readonly status: 'no-projection';
  readonly reason: NoProjectionReason;
  /** null when the readings were not enough to ask. */
  readonly probabilityMoving: number | null;
  /** null when the readings were not enough to ask. */
  readonly shapeProbabilities: ShapeProbabilities | null;
  /** Day of a level change that has held since, when that is more probable than one half. */
  readonly stepAtDay: number | null;
  /** Standard deviation of one typical reading about the curve, unit of the readings; null when nothing was fitted. */
  readonly noise: number | null;
  /** As in TimeToLimit; null as well when nothing was fitted. */
  readonly apart: Apart | null;
  readonly readingCount: number;
  readonly spanDays: number;
}

export type Projection = TimeToLimit | NoTimeToLimit;
