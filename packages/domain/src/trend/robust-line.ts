import { median } from '../numbers/index.ts';
import type { TrendSample } from './theil-sen.ts';

/** Tukey's bisquare: half the samples may be wrong (breakdown point 0.5), then 95 % efficiency for clean ones. */
const BREAKDOWN_TUNING = 1.547645;
const EFFICIENCY_TUNING = 4.685061;
/** E ρ of a standard normal at the breakdown tuning. */
const HALF = 0.5;
const FINEST = 1e-12;

export interface RobustLine {
  readonly slope: number;
  readonly intercept: number;
  /** Robust standard deviation of the residuals. */
  readonly scale: number;
}

/** ρ of the bisquare, between 0 and 1. */
function rho(z: number, tuning: number): number {
  const u = (z / tuning) ** 2;
  return u >= 1 ? 1 : u * (3 - u * (3 - u));
}
function weight(z: number, tuning: number): number {
  const u = (z / tuning) ** 2;
  return u >= 1 ? 0 : (1 - u) ** 2;
}

/**
 * Line by MM-estimation: the residual scale that half of the samples may spoil, then an efficient line at that scale. For charts
 * beside Theil–Sen; up to half of the readings may be in another unit without moving it.
 * Yohai 1987, Annals of Statistics 15, 642; https://en.wikipedia.org/wiki/Robust_regression
 *
 * @param samples any order; not finite ones are left out. At most about 200: every pair of samples is a candidate.
 * @returns null below five samples, two distinct times, or when half the samples lie on one line (scale zero).
 * @example robustLine(sixYearsInAnotherUnit)?.slope // 1.1
 */
export function robustLine(samples: readonly TrendSample[]): RobustLine | null {
  const kept = samples.filter(({ time, value }) => Number.isFinite(time) && Number.isFinite(value));
  if (kept.length < 5) return null;
  const middle = median(kept.map(({ time }) => time))!;
  const centred = kept.map(({ time, value }) => ({ time: time - middle, value }));
  const start = smallestScale(centred);
  if (start === null || !(start.scale > 0)) return null;
  let line = start;
  for (let step = 0; step < 500; step++) {
    const next = reweighted(centred, line, start.scale, EFFICIENCY_TUNING);
    if (next === null) break;
    const change = Math.hypot(next.slope - line.slope, next.intercept - line.intercept);
    line = { ...next, scale: start.scale };
    if (change <= FINEST * Math.max(1, Math.abs(line.slope), Math.abs(line.intercept))) break;
  }
  return { slope: line.slope, intercept: line.intercept - line.slope * middle, scale: start.scale };
}

/** The S-estimate: of all lines through two samples, each refined, the one whose residuals have the least scale. */
function smallestScale(samples: readonly TrendSample[]): RobustLine | null {
  let best: RobustLine | null = null;
  for (let i = 0; i < samples.length; i++) {
    for (let j = i + 1; j < samples.length; j++) {
      const through = lineThrough(samples[i]!, samples[j]!);
      if (through === null) continue;
      const candidate = refined(samples, through, 2);
      if (candidate !== null && (best === null || candidate.scale < best.scale)) best = candidate;
    }
  }
  return best && refined(samples, best, 500);
}

function lineThrough(a: TrendSample, b: TrendSample): { slope: number; intercept: number } | null {
  if (a.time === b.time) return null;
  const slope = (b.value - a.value) / (b.time - a.time);
  const intercept = a.value - slope * a.time;
  return Number.isFinite(slope) && Number.isFinite(intercept) ? { slope, intercept } : null;
}

function refined(samples: readonly TrendSample[], from: { slope: number; intercept: number }, steps: number): RobustLine | null {
  let line = { ...from, scale: scaleOf(samples, from) };
  for (let step = 0; step < steps && line.scale > 0; step++) {
    const next = reweighted(samples, line, line.scale, BREAKDOWN_TUNING);
    if (next === null) break;
    const scale = scaleOf(samples, next, line.scale);
    const isSettled = Math.abs(scale - line.scale) <= FINEST * line.scale;
    if (scale > line.scale) break;
    line = { ...next, scale };
    if (isSettled) break;
  }
  return Number.isFinite(line.scale) ? line : null;
}

/** The scale at which the mean of ρ, with two parameters spent, is one half. */
function scaleOf(
  samples: readonly TrendSample[],
  { slope, intercept }: { slope: number; intercept: number },
  start?: number,
): number {
  const residuals = samples.map(({ time, value }) => value - intercept - slope * time);
  let scale = start ?? Math.max(...residuals.map(Math.abs));
  if (!(scale > 0)) return 0;
  for (let step = 0; step < 200; step++) {
    const mean = residuals.reduce((sum, residual) => sum + rho(residual / scale, BREAKDOWN_TUNING), 0) / (samples.length - 2);
    const next = scale * Math.sqrt(mean / HALF);
    const isSettled = Math.abs(next - scale) <= FINEST * scale;
    scale = next;
    if (isSettled || !(scale > 0)) break;
  }
  return scale;
}

/** Weighted least squares with the weights of the residuals. */
function reweighted(
  samples: readonly TrendSample[],
  { slope, intercept }: { slope: number; intercept: number },
  scale: number,
  tuning: number,
): { slope: number; intercept: number } | null {
  let [sum, sumTime, sumValue] = [0, 0, 0];
  const weights = samples.map(({ time, value }) => weight((value - intercept - slope * time) / scale, tuning));
  for (const [i, { time, value }] of samples.entries()) {
    sum += weights[i]!;
    sumTime += weights[i]! * time;
    sumValue += weights[i]! * value;
  }
  if (!(sum > 0)) return null;
  const [meanTime, meanValue] = [sumTime / sum, sumValue / sum];
  let [spread, product] = [0, 0];
  for (const [i, { time, value }] of samples.entries()) {
    spread += weights[i]! * (time - meanTime) ** 2;
    product += weights[i]! * (time - meanTime) * (value - meanValue);
  }
  if (!(spread > 0)) return null;
  const next = product / spread;
  return { slope: next, intercept: meanValue - next * meanTime };
}

/**
 * Line of least absolute residuals (median regression): one of those through two samples, so all of them are tried.
 * Koenker and Bassett 1978, Econometrica 46, 33.
 * @param samples any order; not finite ones are left out; at most about 200.
 * @returns null when fewer than two distinct times exist. The one of least slope where several are equally good. O(n³).
 * @example medianLine([{ time: 0, value: 0 }, { time: 1, value: 1 }, { time: 2, value: 9 }])?.slope // 1
 */
export function medianLine(samples: readonly TrendSample[]): Pick<RobustLine, 'slope' | 'intercept'> | null {
  const kept = samples.filter(({ time, value }) => Number.isFinite(time) && Number.isFinite(value));
  kept.sort((a, b) => a.time - b.time || a.value - b.value);
  let best: { slope: number; intercept: number; loss: number } | null = null;
  for (let i = 0; i < kept.length; i++) {
    for (let j = i + 1; j < kept.length; j++) {
      const line = lineThrough(kept[i]!, kept[j]!);
      if (line === null) continue;
      let loss = 0;
      for (const { time, value } of kept) loss += Math.abs(value - line.intercept - line.slope * time);
      if (best === null || loss < best.loss * (1 - FINEST) || (loss <= best.loss * (1 + FINEST) && line.slope < best.slope))
        best = { ...line, loss };
    }
  }
  return best && { slope: best.slope, intercept: best.intercept };
}
