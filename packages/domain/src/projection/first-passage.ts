/** From the fitted shapes to the time of the limit: first passage as a running maximum over a grid, per hypothesis. */
import { studentCdf } from '../numbers/index.ts';
import type { Fit } from './fit.ts';
import { COEFFICIENTS, COVARIANCES, LEVEL, RISE, SHIFT } from './hypotheses.ts';
import { FUTURE_PACE_SD, KEEP, TIMES_AHEAD } from './setting.ts';
import { isMoving, riseAt, type Shape, shiftAt } from './shapes.ts';

/** One kept hypothesis with what it says about the level at any time. */
export interface Forecast {
  readonly shape: Shape;
  readonly parameter: number;
  readonly probability: number;
  /** Posterior means. */
  readonly level: number;
  readonly rise: number;
  readonly shift: number;
  /** Their covariance, upper triangle: level², level·rise, level·shift, rise², rise·shift, shift². */
  readonly covariance: Float64Array;
}

export interface Passage {
  /** P(limit reached by each time of the grid, given that something moves). */
  readonly reached: Float64Array;
  /** Probability of a movement towards the limit. */
  readonly probabilityMoving: number;
}

/** Share of the margin below which a standard deviation counts as none. */
const SMALLEST_SD = 1e-10;
/** Direction is judged over this stretch beyond the last reading, in spans. */
const DIRECTION_STEP = 0.05;
/** A hypothesis this sure to have passed needs no further times. */
const CERTAIN = 1 - 1e-12;

/** The most probable hypotheses: up to 99.5 % of the probability, at most 25. */
export function keepMostProbable({ hypotheses, candidates, baseline }: Fit): Forecast[] {
  const { probability, coefficients, covariance } = hypotheses;
  // All that are less probable than this hold together less than what may be left out.
  const least = (1 - KEEP.mass) / hypotheses.count;
  const order: number[] = [];
  for (let h = 0; h < hypotheses.count; h++) if (probability[h]! >= least) order.push(h);
  order.sort((a, b) => probability[b]! - probability[a]! || a - b);
  const forecasts: Forecast[] = [];
  let mass = 0;
  for (const h of order) {
    const { shape, parameter } = candidates[hypotheses.owner[h]!]!;
    const at = h * COEFFICIENTS;
    forecasts.push({
      shape,
      parameter,
      probability: probability[h]!,
      level: baseline + coefficients[at + LEVEL]!,
      rise: coefficients[at + RISE]!,
      shift: coefficients[at + SHIFT]!,
      covariance: covariance.subarray(h * COVARIANCES, (h + 1) * COVARIANCES),
    });
    mass += probability[h]!;
    if (mass > KEEP.mass || forecasts.length >= KEEP.most) break;
  }
  return forecasts;
}

/** @param elapsed the day of asking in scaled time: 1 on the day of the last reading, more after it. */
export function findPassage(fit: Fit, forecasts: readonly Forecast[], limit: number, elapsed: number): Passage {
  const reached = new Float64Array(TIMES_AHEAD.length);
  const least = (SMALLEST_SD * fit.margin) ** 2;
  let mass = 0;
  let moving = 0;
  let towards = 0;
  for (const forecast of forecasts) {
    mass += forecast.probability;
    if (!isMoving(forecast.shape)) continue;
    moving += forecast.probability;
    towards += forecast.probability * towardsLimit(forecast, least, fit.freedom);
    addPassage(forecast, limit, elapsed, least, fit.freedom, reached);
  }
  if (moving > 0) for (let g = 0; g < reached.length; g++) reached[g]! /= moving;
  return { reached, probabilityMoving: towards / mass };
}

/** Time ahead, in spans, by which the limit is reached with a probability; null when never on the grid. */
export function timeReached(reached: Float64Array, probability: number): number | null {
  if (reached[0]! >= probability) return 0;
  for (let g = 1; g < reached.length; g++) {
    if (reached[g]! < probability) continue;
    const share = (probability - reached[g - 1]!) / (reached[g]! - reached[g - 1]!);
    const before = TIMES_AHEAD[g - 1]!;
    const after = TIMES_AHEAD[g]!;
    return g === 1 ? after * share : before * (after / before) ** share;
  }
  return null;
}

/** Mean of a forecast's level at a scaled time. */
export function meanAt({ shape, parameter, level, rise, shift }: Forecast, u: number): number {
  return level + rise * riseAt(shape, parameter, u) + shift * shiftAt(shape, parameter, u);
}

/** Variance of a forecast's level: of the fit, and of a future pace that differs from the past. */
export function varianceAt(forecast: Forecast, u: number, moved: number): number {
  const { shape, parameter, covariance } = forecast;
  return varianceOf(covariance, 1, riseAt(shape, parameter, u), shiftAt(shape, parameter, u)) + paceVariance(moved);
}

function paceVariance(moved: number): number {
  return (FUTURE_PACE_SD * moved) ** 2;
}

/** xᵀCx for x = (level, rise, shift). */
function varianceOf(covariance: Float64Array, level: number, rise: number, shift: number): number {
  const variance =
    level * (level * covariance[0]! + 2 * rise * covariance[1]! + 2 * shift * covariance[2]!) +
    rise * (rise * covariance[3]! + 2 * shift * covariance[4]!) +
    shift * shift * covariance[5]!;
  return Math.max(variance, 0);
}

/** Probability that the level goes towards the limit just after the last reading. */
function towardsLimit({ shape, parameter, rise, shift, covariance }: Forecast, least: number, freedom: number): number {
  const ofRise = riseAt(shape, parameter, 1 + DIRECTION_STEP) - riseAt(shape, parameter, 1);
  const ofShift = shiftAt(shape, parameter, 1 + DIRECTION_STEP) - shiftAt(shape, parameter, 1);
  const change = ofRise * rise + ofShift * shift;
  return studentCdf(change / Math.sqrt(varianceOf(covariance, 0, ofRise, ofShift) + least), freedom);
}

/** The running maximum is taken per hypothesis, before averaging. */
function addPassage(
  forecast: Forecast,
  limit: number,
  elapsed: number,
  least: number,
  freedom: number,
  reached: Float64Array,
): void {
  const { shape, parameter, probability, level, rise, shift, covariance } = forecast;
  const now = meanAt(forecast, elapsed);
  let most = 0;
  for (let g = 0; g < reached.length; g++) {
    if (most < CERTAIN) {
      const u = elapsed + TIMES_AHEAD[g]!;
      const ofRise = riseAt(shape, parameter, u);
      const ofShift = shiftAt(shape, parameter, u);
      const mean = level + rise * ofRise + shift * ofShift;
      const variance = varianceOf(covariance, 1, ofRise, ofShift) + paceVariance(mean - now) + least;
      most = Math.max(most, studentCdf((mean - limit) / Math.sqrt(variance), freedom));
    }
    reached[g]! += probability * most;
  }
}
