/** Step one: a robust quadratic in time with the load effect, only to start from. */
import { medianInPlace } from '../numbers/index.ts';
import { factorise, solveLower, solveUpper, WIDTH } from './cholesky.ts';
import { fillLoadFactor, type Sample, spreadOf } from './sample.ts';
import { LOAD_EXPONENT, ROBUST_FREEDOM } from './setting.ts';

export interface StartCurve {
  /** Exponent of load; 0 unless load is a power. */
  readonly loadExponent: number;
  /** Effect per unit of ln(load/reference); 0 unless load is additive. */
  readonly loadSlope: number;
  /** Robust weight of each reading. */
  readonly weights: Float64Array;
}

const PASSES = 8;
const RIDGES = [1e-9, 1e-6, 1e-2] as const;
const RIDGE_OF_EXPONENT = 1e-6;
const RIDGE_OF_ADDITIVE_LOAD = 1e-3;
/** In units of the sample: what rounding leaves of a perfect fit. */
const SMALLEST_SPREAD = 1e-15;

/** Iteratively reweighted least squares, eight passes; O(n). */
export function fitStartCurve(sample: Sample, limit: number, exponentMean: number): StartCurve {
  const { count, time, value, logLoad, loadModel } = sample;
  const factor = new Float64Array(count);
  const weights = new Float64Array(count).fill(1);
  const residuals = new Float64Array(count);
  const scratch = new Float64Array(count);
  const loadColumn = loadModel === 'power' ? new Float64Array(count) : logLoad;
  const least = smallestSpread(sample, limit, scratch);
  const system = new QuadraticSystem();
  let loadExponent = loadModel === 'power' ? exponentMean : 0;
  let loadSlope = 0;
  for (let pass = 0; pass < PASSES; pass++) {
    fillLoadFactor(sample, loadExponent, factor);
    system.gatherQuadratic(time, value, factor, weights);
    if (loadModel === 'power') {
      system.solve(3);
      const meanSquare = fillFitTimesLoad(sample, factor, system.coefficients, loadColumn);
      system.gatherExtra(time, value, factor, weights, loadColumn, RIDGE_OF_EXPONENT * meanSquare);
    } else if (loadModel === 'additive') {
      system.gatherExtra(time, value, factor, weights, loadColumn, RIDGE_OF_ADDITIVE_LOAD);
    }
    const size = loadModel === 'none' ? 3 : 4;
    system.solve(size);
    const level = system.coefficients[0]!;
    const slope = system.coefficients[1]!;
    const bend = system.coefficients[2]!;
    const ofLoad = size === 4 ? system.coefficients[3]! : 0;
    for (let i = 0; i < count; i++) {
      const u = time[i]!;
      residuals[i] = value[i]! - factor[i]! * (level + u * (slope + u * bend)) - ofLoad * loadColumn[i]!;
    }
    if (loadModel === 'power') loadExponent = clampExponent(loadExponent + ofLoad);
    else loadSlope = ofLoad;
    const spread = Math.max(spreadOf(residuals, scratch), least);
    for (let i = 0; i < count; i++) weights[i] = (ROBUST_FREEDOM + 1) / (ROBUST_FREEDOM + (residuals[i]! / spread) ** 2);
  }
  return { loadExponent, loadSlope, weights };
}

/** Keeps a load exponent within what physics allows for a rise: from no effect to beyond ohmic heat. @example clampExponent(5) // 3 */
export function clampExponent(exponent: number): number {
  return Math.min(Math.max(exponent, LOAD_EXPONENT.least), LOAD_EXPONENT.most);
}

/** A billionth of what moves at all. */
function smallestSpread(sample: Sample, limit: number, scratch: Float64Array): number {
  scratch.set(sample.value);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const value of sample.value) {
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  const toLimit = Math.abs(limit - medianInPlace(scratch, sample.count));
  return Math.max(1e-9 * Math.max(toLimit, high - low), SMALLEST_SPREAD);
}

/** Gauss–Newton column of the exponent: fitted rise × ln load. Returns the mean square of the fitted rise. */
function fillFitTimesLoad(sample: Sample, factor: Float64Array, fit: Float64Array, column: Float64Array): number {
  let squares = 0;
  for (let i = 0; i < sample.count; i++) {
    const u = sample.time[i]!;
    const fitted = factor[i]! * (fit[0]! + u * (fit[1]! + u * fit[2]!));
    squares += fitted * fitted;
    column[i] = fitted * sample.logLoad[i]!;
  }
  return squares / sample.count;
}

/** Weighted normal equations of 1, u, u² (times the load factor) and at most one further column. */
class QuadraticSystem {
  readonly coefficients = new Float64Array(WIDTH);
  private readonly gram = new Float64Array(WIDTH * WIDTH);
  private readonly right = new Float64Array(WIDTH);
  private readonly factor = new Float64Array(WIDTH * WIDTH);
  private readonly forward = new Float64Array(WIDTH);

  gatherQuadratic(time: Float64Array, value: Float64Array, loadFactor: Float64Array, weights: Float64Array): void {
    let u0 = 0;
    let u1 = 0;
    let u2 = 0;
    let u3 = 0;
    let u4 = 0;
    let y0 = 0;
    let y1 = 0;
    let y2 = 0;
    for (let i = 0; i < time.length; i++) {
      const u = time[i]!;
      const wf = weights[i]! * loadFactor[i]!;
      const w = wf * loadFactor[i]!;
      const wu = w * u;
      const wuu = wu * u;
      const y = wf * value[i]!;
      u0 += w;
      u1 += wu;
      u2 += wuu;
      u3 += wuu * u;
      u4 += wuu * u * u;
      y0 += y;
      y1 += y * u;
      y2 += y * u * u;
    }
    const { gram, right } = this;
    gram[0] = u0 + RIDGES[0];
    gram[WIDTH] = u1;
    gram[WIDTH + 1] = u2 + RIDGES[1];
    gram[2 * WIDTH] = u2;
    gram[2 * WIDTH + 1] = u3;
    gram[2 * WIDTH + 2] = u4 + RIDGES[2];
    right[0] = y0;
    right[1] = y1;
    right[2] = y2;
  }

  gatherExtra(
    time: Float64Array,
    value: Float64Array,
    loadFactor: Float64Array,
    weights: Float64Array,
    column: Float64Array,
    ridge: number,
  ): void {
    let e0 = 0;
    let e1 = 0;
    let e2 = 0;
    let ee = 0;
    let ey = 0;
    for (let i = 0; i < time.length; i++) {
      const u = time[i]!;
      const we = weights[i]! * column[i]!;
      const wfe = we * loadFactor[i]!;
      e0 += wfe;
      e1 += wfe * u;
      e2 += wfe * u * u;
      ee += we * column[i]!;
      ey += we * value[i]!;
    }
    const row = 3 * WIDTH;
    this.gram[row] = e0;
    this.gram[row + 1] = e1;
    this.gram[row + 2] = e2;
    this.gram[row + 3] = ee + ridge;
    this.right[3] = ey;
  }

  solve(size: number): void {
    factorise(this.gram, size, this.factor);
    solveLower(this.factor, size, this.right, this.forward);
    solveUpper(this.factor, size, this.forward, this.coefficients);
  }
}
