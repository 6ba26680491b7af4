/** The estimator from readings to a projection, step by step. */

import { median } from '../numbers/index.ts';
import { findBaseline } from './baseline.ts';
import { condense } from './condense.ts';
import { drawLevels } from './draw-levels.ts';
import { findPassage, keepMostProbable, timeReached } from './first-passage.ts';
import { type Fit, type FitPrior, fitShapes } from './fit.ts';
import { COEFFICIENTS, LEVEL, RISE, SHIFT } from './hypotheses.ts';
import { type Selection, SHORTEST_SPAN_DAYS, selectReadings } from './readings.ts';
import { type Frame, toPointUnit, toSample } from './sample.ts';
import { CARRY_OVER, GATE, HORIZON_SPANS, LIKE_POINTS, LOAD_EXPONENT, NOISE_PRIOR } from './setting.ts';
import { isMoving, SHAPES, type Shape } from './shapes.ts';
import { fitStartCurve } from './start-curve.ts';
import type { Apart, NoProjectionReason, NoTimeToLimit, Projection, ProjectionInput, ShapeProbabilities } from './types.ts';

/** Fewer readings than this say nothing about time. */
const MIN_READINGS = 3;
/** A margin below this share of the values is rounding. */
const SMALLEST_MARGIN = 1e-12;
/** A step more probable than this is named. */
const STEP_NAMED = 0.5;
/** Further from the curve than this, in standard deviations, is apart from it. */
const APART_SD = 3;
/** More of them in a row have moved the curve or made a step. */
const MOST_APART = 5;

/** Noise and load exponent taken over from before a repair, or noise from like points; noise in the unit of the point. */
interface CarriedOver {
  readonly freedom: number;
  readonly noise: number;
  readonly exponent: { readonly mean: number; readonly sd: number } | null;
}

/**
 * The whole estimate: readings → frame → fit → first passage → gate. Behind `projectTimeToLimit`, which documents the method.
 * @param withCurve also sample the curve and the fan, for a chart; leaves every other figure as it is.
 */
export function estimate(input: ProjectionInput, withCurve: boolean): Projection {
  const { current, before } = selectReadings(input);
  const counts = { readingCount: current.days.length, spanDays: spanOf(current) };
  const none = (reason: NoProjectionReason): NoTimeToLimit => ({
    status: 'no-projection',
    reason,
    probabilityMoving: null,
    shapeProbabilities: null,
    stepAtDay: null,
    noise: null,
    apart: null,
    ...counts,
  });
  if (counts.readingCount < MIN_READINGS) return none('too-few-readings');
  if (counts.spanDays < SHORTEST_SPAN_DAYS) return none('span-too-short');
  if (!Number.isFinite(input.limit)) return none('limit-at-baseline');

  const carried = carryOver(before, input) ?? fromLikePoints(input, counts.readingCount);
  const { sample: whole, frame } = toSample(current, input.limit, input.direction, input.referenceAmbientC);
  const start = fitStartCurve(whole, frame.limit, carried?.exponent?.mean ?? LOAD_EXPONENT.mean);
  const sample = condense(whole, start);
  const found = findBaseline(sample, start);
  if (found.level >= frame.limit) return none('over-limit');
  const margin = frame.limit - found.baseline;
  if (margin <= SMALLEST_MARGIN) return none('limit-at-baseline');

  const fit = fitShapes(sample, start, found, margin, priorOf(carried, margin, frame));
  const forecasts = keepMostProbable(fit);
  const elapsed = (input.cutDay - frame.firstDay) / frame.spanDays;
  const { reached, probabilityMoving } = findPassage(fit, forecasts, frame.limit, elapsed);
  const shapeProbabilities = probabilityOfShapes(fit);
  const p10 = timeReached(reached, 0.1);
  if (probabilityMoving < GATE || p10 === null || p10 > HORIZON_SPANS) {
    return {
      ...none(probabilityMoving < GATE ? 'no-usable-trend' : 'beyond-horizon'),
      probabilityMoving,
      shapeProbabilities,
      stepAtDay: shapeProbabilities.step > STEP_NAMED ? dayOfStep(fit, frame) : null,
      noise: noiseInUnit(fit, frame),
      apart: apartOf(fit, frame),
    };
  }

  const p50 = timeReached(reached, 0.5);
  const p90 = timeReached(reached, 0.9);
  const inDays = (spans: number | null): number | null => (spans === null ? null : spans * frame.spanDays);
  const drawn = withCurve ? drawLevels(fit, forecasts, frame, elapsed, { p10, p50, p90 }) : {};
  return {
    status: 'projection',
    p10Days: p10 * frame.spanDays,
    p50Days: inDays(p50),
    p90Days: inDays(p90),
    probabilityMoving,
    shape: mostProbableMoving(shapeProbabilities),
    shapeProbabilities,
    ...counts,
    baseline: toPointUnit(frame, found.baseline),
    levelNow: toPointUnit(frame, levelAtEnd(fit)),
    noise: noiseInUnit(fit, frame),
    apart: apartOf(fit, frame),
    ...drawn,
  };
}

/** What the readings before the last repair tell: the whole fit once, without gate. */
function carryOver(before: Selection, input: ProjectionInput): CarriedOver | null {
  const count = before.days.length;
  if (count < CARRY_OVER.minReadings || spanOf(before) < SHORTEST_SPAN_DAYS) return null;
  const { sample: whole, frame } = toSample(before, input.limit, input.direction, input.referenceAmbientC);
  const start = fitStartCurve(whole, frame.limit, LOAD_EXPONENT.mean);
  const sample = condense(whole, start);
  const found = findBaseline(sample, start);
  const moved = Math.abs(found.level - found.baseline);
  const margin = Math.max(frame.limit - found.baseline, moved, 1e-9 * Math.abs(frame.limit), SMALLEST_MARGIN);
  const fit = fitShapes(sample, start, found, margin, priorOf(null, margin, frame));
  return {
    freedom: Math.min(CARRY_OVER.maxFreedom, count / 2),
    noise: noiseOf(fit) * frame.unit,
    exponent:
      sample.loadModel === 'power' ? { mean: fit.loadExponent, sd: Math.max(CARRY_OVER.minExponentSd, exponentSdOf(fit)) } : null,
  };
}

function fromLikePoints({ likePointNoise }: ProjectionInput, readingCount: number): CarriedOver | null {
  if (readingCount > LIKE_POINTS.mostReadings || !(typeof likePointNoise === 'number' && likePointNoise > 0)) return null;
  const noise = likePointNoise * LIKE_POINTS.widening;
  return Number.isFinite(noise) ? { freedom: LIKE_POINTS.freedom, noise, exponent: null } : null;
}

function priorOf(carried: CarriedOver | null, margin: number, frame: Frame): FitPrior {
  return {
    noiseFreedom: carried?.freedom ?? NOISE_PRIOR.freedom,
    noiseScale: carried === null ? NOISE_PRIOR.shareOfMargin * margin : inReach(carried.noise / frame.unit, margin),
    exponentMean: carried?.exponent?.mean ?? LOAD_EXPONENT.mean,
    exponentSd: carried?.exponent?.sd ?? LOAD_EXPONENT.sd,
  };
}

/** Noise a million times below or a thousand times above the margin is no noise of this point, and its square may be no number. */
function inReach(noise: number, margin: number): number {
  return Math.min(Math.max(noise, 1e-6 * margin), 1e3 * margin);
}

function spanOf({ days }: Selection): number {
  return days.length === 0 ? 0 : days[days.length - 1]! - days[0]!;
}

/** Averaged standard deviation of a typical reading, in units of the sample. */
function noiseOf({ hypotheses }: Fit): number {
  let variance = 0;
  for (let h = 0; h < hypotheses.count; h++) variance += hypotheses.probability[h]! * hypotheses.variance[h]!;
  return Math.sqrt(variance);
}

function noiseInUnit(fit: Fit, frame: Frame): number {
  return Math.min(noiseOf(fit) * frame.unit, Number.MAX_VALUE);
}

/** Newest entries stand for one reading each: so many are never condensed. */
function apartOf(fit: Fit, frame: Frame): Apart | null {
  const { residual, residualSize } = fit;
  // A step that is believed has taken them in.
  if (probabilityOfShift(fit) > STEP_NAMED) return null;
  const last = residual.length - 1;
  const side = Math.sign(residual[last]!);
  const isApart = (i: number): boolean => residualSize[i]! > APART_SD ** 2 && Math.sign(residual[i]!) === side;
  let from = residual.length;
  while (from > 0 && residual.length - from < MOST_APART && isApart(from - 1)) from--;
  const readings = residual.length - from;
  // Readings that are apart more often than not are no slips: then the scatter is misjudged, not they.
  if (readings === 0 || readings * 2 > residual.length) return null;
  const by = (median([...residual.subarray(from)]) ?? Number.NaN) * frame.sign * frame.unit;
  return Number.isFinite(by) ? { readings, by } : null;
}

function probabilityOfShift({ hypotheses, candidates }: Fit): number {
  let sum = 0;
  for (let h = 0; h < hypotheses.count; h++) if (candidates[hypotheses.owner[h]!]!.shiftSd > 0) sum += hypotheses.probability[h]!;
  return sum;
}

function exponentSdOf({ hypotheses }: Fit): number {
  let variance = 0;
  for (let h = 0; h < hypotheses.count; h++) variance += hypotheses.probability[h]! * hypotheses.covariateVariance[h]!;
  return Math.sqrt(variance);
}

/** rise(1) = 1 and every shift has come by then: the level at the last reading is the sum of the three coefficients. */
function levelAtEnd({ hypotheses, baseline }: Fit): number {
  let level = baseline;
  for (let h = 0; h < hypotheses.count; h++) {
    const at = h * COEFFICIENTS;
    const { coefficients, probability } = hypotheses;
    level += probability[h]! * (coefficients[at + LEVEL]! + coefficients[at + RISE]! + coefficients[at + SHIFT]!);
  }
  return level;
}

function probabilityOfShapes({ hypotheses, candidates }: Fit): ShapeProbabilities {
  const sums = Object.fromEntries(SHAPES.map((shape) => [shape, 0])) as Record<Shape, number>;
  for (let h = 0; h < hypotheses.count; h++) sums[candidates[hypotheses.owner[h]!]!.shape] += hypotheses.probability[h]!;
  return sums;
}

function mostProbableMoving(probabilities: ShapeProbabilities): Shape {
  return SHAPES.filter(isMoving).reduce((best, shape) => (probabilities[shape] > probabilities[best] ? shape : best), 'line');
}

function dayOfStep({ hypotheses, candidates }: Fit, frame: Frame): number | null {
  let best: number | null = null;
  let most = 0;
  for (let h = 0; h < hypotheses.count; h++) {
    const { shape, parameter } = candidates[hypotheses.owner[h]!]!;
    if (shape !== 'step' || hypotheses.probability[h]! <= most) continue;
    most = hypotheses.probability[h]!;
    best = frame.firstDay + parameter * frame.spanDays;
  }
  return best;
}
