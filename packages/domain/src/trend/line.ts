import { studentQuantile } from '../numbers/index.ts';
import type { TrendSample } from './theil-sen.ts';

/** A straight line by least squares. */
export interface Line {
  /** Unit of the values per unit of time. */
  readonly slope: number;
  /** Value at time 0. */
  readonly intercept: number;
  readonly count: number;
  /** Sum of squared residuals. */
  readonly rss: number;
  /** Standard deviation of the residuals, divisor n − 2; null with two samples. */
  readonly residualSd: number | null;
  readonly slopeSe: number | null;
  /** Share of the variance that the line explains; null when all values are equal. */
  readonly r2: number | null;
  readonly meanTime: number;
  readonly meanValue: number;
  /** Σ(t − t̄)². */
  readonly spread: number;
  readonly firstTime: number;
  readonly lastTime: number;
}

/**
 * Ordinary least squares in centred sums, so that times as large as calendar days lose no digits.
 * https://en.wikipedia.org/wiki/Simple_linear_regression — NIST StRD "Norris" to eleven digits.
 *
 * @param samples any order; not finite ones are left out.
 * @returns null when fewer than two distinct times exist, or the figures are too large for numbers. O(n).
 * @example fitLine([{ time: 0, value: 40 }, { time: 1, value: 41 }, { time: 2, value: 42 }])?.slope // 1
 */
export function fitLine(samples: readonly TrendSample[]): Line | null {
  const kept = samples.filter(({ time, value }) => Number.isFinite(time) && Number.isFinite(value));
  const count = kept.length;
  if (count < 2) return null;
  const meanTime = meanOf(kept.map(({ time }) => time));
  const meanValue = meanOf(kept.map(({ value }) => value));
  let [spread, product, total] = [0, 0, 0];
  for (const { time, value } of kept) {
    spread += (time - meanTime) ** 2;
    product += (time - meanTime) * (value - meanValue);
    total += (value - meanValue) ** 2;
  }
  if (!(spread > 0)) return null;
  const slope = product / spread;
  const intercept = meanValue - slope * meanTime;
  const rss = kept.reduce((sum, { time, value }) => sum + (value - meanValue - slope * (time - meanTime)) ** 2, 0);
  const residualSd = count > 2 ? Math.sqrt(rss / (count - 2)) : null;
  if (![slope, intercept, rss, total].every(Number.isFinite)) return null;
  return {
    slope,
    intercept,
    count,
    rss,
    residualSd,
    slopeSe: residualSd === null ? null : residualSd / Math.sqrt(spread),
    r2: total > 0 ? 1 - rss / total : null,
    meanTime,
    meanValue,
    spread,
    firstTime: Math.min(...kept.map(({ time }) => time)),
    lastTime: Math.max(...kept.map(({ time }) => time)),
  };
}

/** Mean with one correcting pass, which returns the digits that the first sum lost. */
function meanOf(values: readonly number[]): number {
  const rough = values.reduce((sum, value) => sum + value, 0) / values.length;
  return rough + values.reduce((sum, value) => sum + (value - rough), 0) / values.length;
}

/** Of the line itself, or of one further reading about it. */
export type BandKind = 'line' | 'reading';

/**
 * The line at a time, with the two-sided interval of the line or of one further reading.
 * https://en.wikipedia.org/wiki/Prediction_interval#Regression_analysis
 * @param level between 0 and 1, for instance 0.8.
 * @returns low and high null with two samples, which tell nothing about the scatter.
 * @example lineAt(line, 21, 0.8, 'reading') // { value: 54.3, low: 52.0, high: 56.6 }
 */
export function lineAt(
  line: Line,
  time: number,
  level: number,
  kind: BandKind,
): { readonly value: number; readonly low: number | null; readonly high: number | null } {
  const value = line.meanValue + line.slope * (time - line.meanTime);
  if (line.residualSd === null) return { value, low: null, high: null };
  const t = studentQuantile(0.5 + level / 2, line.count - 2);
  const own = kind === 'reading' ? 1 : 0;
  const half = t * line.residualSd * Math.sqrt(own + 1 / line.count + (time - line.meanTime) ** 2 / line.spread);
  return { value, low: value - half, high: value + half };
}

/** When a line and its interval meet a limit; null: never. */
export interface LineCrossing {
  /** The nearer bound of the interval; the last time itself when it is past the limit already. */
  readonly earliest: number | null;
  readonly likely: number | null;
  readonly latest: number | null;
}

/**
 * When the line and the bounds of its two-sided interval meet a limit, from the last sample on: for comparison beside the
 * projection, which it does not replace (a line cannot know about bends, steps or a quiet machine).
 * @param level 0.8 puts earliest and latest at the 10 % and 90 % points.
 * @example lineCrossing(line, 80, 'up', 0.8, 'reading').likely // 42
 */
export function lineCrossing(line: Line, limit: number, direction: 'up' | 'down', level: number, kind: BandKind): LineCrossing {
  const sign = direction === 'up' ? 1 : -1;
  const from = line.lastTime;
  const likely = firstMeeting(sign * (limit - line.meanValue), sign * line.slope, 0, 0, line, from);
  if (line.residualSd === null) return { earliest: null, likely, latest: null };
  const half = studentQuantile(0.5 + level / 2, line.count - 2) * line.residualSd;
  const own = (kind === 'reading' ? 1 : 0) + 1 / line.count;
  const gap = sign * (limit - line.meanValue);
  return {
    earliest: firstMeeting(gap, sign * line.slope, half, own, line, from),
    likely,
    latest: firstMeeting(gap, sign * line.slope, -half, own, line, from),
  };
}

/** First time at or after `from` at which slope·u + half·√(own + u²/spread) ≥ gap, with u from the mean time; a quadratic. */
function firstMeeting(gap: number, slope: number, half: number, own: number, line: Line, from: number): number | null {
  const start = from - line.meanTime;
  const bound = (u: number) => slope * u + half * Math.sqrt(own + (u * u) / line.spread);
  if (bound(start) >= gap) return from;
  if (half === 0) return slope > 0 && Number.isFinite(gap / slope) ? line.meanTime + gap / slope : null;
  const a = slope * slope - (half * half) / line.spread;
  const b = -2 * gap * slope;
  const c = gap * gap - half * half * own;
  const roots = rootsOf(a, b, c).filter((u) => u > start && Math.sign(gap - slope * u) * Math.sign(half) >= 0);
  const meeting = Math.min(...roots);
  return Number.isFinite(meeting) ? line.meanTime + meeting : null;
}

function rootsOf(a: number, b: number, c: number): number[] {
  if (a === 0) return b === 0 ? [] : [-c / b];
  const under = b * b - 4 * a * c;
  if (under < 0) return [];
  // Of the two forms of each root the one without cancellation.
  const q = -(b + (b < 0 ? -1 : 1) * Math.sqrt(under)) / 2;
  return q === 0 ? [0] : [q / a, c / q];
}

/** A straight line through the logarithms: values that grow by a share of themselves. */
export interface ExponentialLine {
  /** Per unit of time; 0.01 is about one percent more each. */
  readonly rate: number;
  /** Of the logarithms. */
  readonly line: Line;
  /** Akaike's criterion without its small-sample term, of the values themselves (Jacobian Σ ln y added), beside that of the straight line. */
  readonly aic: number;
  readonly aicOfLine: number;
  /** Small-sample criterion of the straight line less that of this one: above 2 this one explains the values better. */
  readonly preference: number | null;
}

/** Slope, intercept and scatter are estimated. */
const PARAMETERS = 3;

/**
 * Exponential growth by least squares on the logarithms, and whether it explains the values better than a line.
 * Burnham and Anderson, Model Selection and Multimodel Inference (AICc); Box and Cox for the Jacobian.
 * @returns null where a value is not above zero, fewer than three samples or two distinct times exist.
 * @example fitExponentialLine(readingsOfVibration)?.rate // 0.0056 per day
 */
export function fitExponentialLine(samples: readonly TrendSample[]): ExponentialLine | null {
  const straight = fitLine(samples);
  if (straight === null || straight.count < 3 || samples.some(({ value }) => value <= 0)) return null;
  const line = fitLine(samples.map(({ time, value }) => ({ time, value: Math.log(value) })));
  if (line === null || !(line.rss > 0) || !(straight.rss > 0)) return null;
  const { count } = line;
  const jacobian = 2 * samples.reduce((sum, { value }) => (Number.isFinite(value) ? sum + Math.log(value) : sum), 0);
  const aicOf = (rss: number) => count * (Math.log((2 * Math.PI * rss) / count) + 1) + 2 * PARAMETERS;
  const aic = aicOf(line.rss) + jacobian;
  const aicOfLine = aicOf(straight.rss);
  // Both have the same number of parameters, so their small-sample terms are equal and cancel.
  return { rate: line.slope, line, aic, aicOfLine, preference: count > PARAMETERS + 1 ? aicOfLine - aic : null };
}
