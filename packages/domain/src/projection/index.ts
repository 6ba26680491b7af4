/**
 * Projection: when a point will reach its limit, and when nothing can be said.
 * Hidden here: ten shapes of a fault fitted together with load and ambient, averaged by how well they explain the readings,
 * and the first passage of the average through the limit.
 * Always: closed form, no random numbers, no clock; the order of the readings does not matter; no NaN or infinity leaves;
 * a range comes with the readings behind it, silence comes with its reason.
 */

import { median } from '../numbers/index.ts';
import { estimate } from './estimate.ts';
import { LIKE_POINTS } from './setting.ts';
import type { Projection, ProjectionInput } from './types.ts';

export { type Confidence, displayProjection, type ProjectionDisplay, type TrendWord, trendWord } from './display.ts';
export { PROJECTION_METHOD } from './setting.ts';
export { SHAPES, type Shape } from './shapes.ts';
export type {
  Apart,
  CurveSample,
  FanSample,
  NoProjectionReason,
  NoTimeToLimit,
  Projection,
  ProjectionInput,
  ProjectionReading,
  ShapeProbabilities,
  TimeToLimit,
} from './types.ts';

export interface ProjectionOptions {
  /** Also draw the past curve and the fan ahead; costs some milliseconds, so a refit leaves it out. */
  readonly withCurve?: boolean;
}

/**
 * Time from the day of asking to the limit, as the 10 %, 50 % and 90 % points of its distribution, or the reason for silence.
 *
 * Method `PROJECTION_METHOD`: Bayesian model average over fault shapes, each a conjugate regression with Student-t weights
 * (Gelman and others, Bayesian Data Analysis; Hoeting and others 1999, Bayesian Model Averaging; Lange, Little and Taylor 1989),
 * then first passage as a running maximum over a grid of times. https://en.wikipedia.org/wiki/Bayesian_model_averaging
 *
 * The distribution is given that something moves towards the limit; whether it does is `probabilityMoving`, and below 0.6
 * nothing is projected. A covariate missing at fewer than a third of the readings costs those readings, otherwise it is left
 * out. Load together with ambient acts as a power on the rise over ambient, alone as an additive effect.
 *
 * Window: the newest 500 readings since the last repair, and for the noise taken over from before it the newest 160 before;
 * beyond 160 readings older ones are grouped, so a refit costs at most about a millisecond whatever the history, twice that
 * after a repair.
 *
 * @param input values, limit and ambient share one unit and zero (K, °C, °F and mm/s give the same days); any order; readings
 *   that are not finite, lie after `cutDay` or beyond ±1e8 days are left out. A limit that is not finite answers
 *   `limit-at-baseline`.
 * @returns days from `cutDay`, at most twenty observed spans ahead; null where the limit is not reached with that probability.
 * @example
 * const readings = [50.2, 51.9, 54.4, 55.8, 58.1, 60.0].map((value, week) => ({ day: 7 * week, value, loadPercent: null, ambientC: null }));
 * projectTimeToLimit({ readings, cutDay: 35, repairDay: null, limit: 80, direction: 'up', referenceLoadPercent: null, referenceAmbientC: null })
 * // { status: 'projection', p10Days: 59.3, p50Days: 70.8, p90Days: 84.7, shape: 'line', readingCount: 6, … }
 */
export function projectTimeToLimit(input: ProjectionInput, options: ProjectionOptions = {}): Projection {
  return estimate(input, options.withCurve === true);
}

/**
 * What the noise of like points tells about one that has hardly been read: their median, once there are five of them.
 * Pooling the scatter over a class is what helps most at three to six readings (own trials; see LIKE_POINTS in setting.ts).
 *
 * @param noises standard deviations of single readings, one per point, same quantity and unit; not finite ones and those not above
 *   zero are left out.
 * @returns same unit, or null while there are too few.
 * @example noiseOfLikePoints([0.9, 1.1, 1.4, 1.0, 1.2]) // 1.1
 */
export function noiseOfLikePoints(noises: readonly number[]): number | null {
  const kept = noises.filter((noise) => Number.isFinite(noise) && noise > 0);
  return kept.length < LIKE_POINTS.fewest ? null : median(kept);
}
