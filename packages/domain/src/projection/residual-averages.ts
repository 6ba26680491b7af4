/**
 * Level and squared residual at each reading, averaged over hypotheses.
 * The residual of a straight shape is a quadratic in (level at the end, slope, covariate effects), and over a stretch of
 * readings these do not change: so only their products are summed, as steps at the ends of the stretches, and one running
 * sum over the readings evaluates all hypotheses at once. O(hypotheses + readings); bent shapes need a pass each.
 */
import { COVARIATE, LEVEL, RISE, SHIFT } from './hypotheses.ts';
import type { Candidate } from './shapes.ts';

/** Where the products stand in a row of steps; end and slope belong to the level, first and second to the covariates. */
const END = 0;
const SLOPE = 1;
const END_END = 2;
const END_SLOPE = 3;
const SLOPE_SLOPE = 4;
const END_FIRST = 5;
const SLOPE_FIRST = 6;
const END_SECOND = 7;
const SLOPE_SECOND = 8;
const PRODUCTS = 9;

/** Products of one weighting: steps that vary along the readings, and sums that do not. */
class Products {
  readonly steps: Float64Array;
  total = 0;
  first = 0;
  second = 0;
  firstFirst = 0;
  firstSecond = 0;
  secondSecond = 0;

  constructor(count: number) {
    this.steps = new Float64Array((count + 1) * PRODUCTS);
  }

  clear(): void {
    this.steps.fill(0);
    this.total = this.first = this.second = this.firstFirst = this.firstSecond = this.secondSecond = 0;
  }

  addEffects(weight: number, first: number, second: number): void {
    this.total += weight;
    this.first += weight * first;
    this.second += weight * second;
    this.firstFirst += weight * first * first;
    this.firstSecond += weight * first * second;
    this.secondSecond += weight * second * second;
  }

  /** A stretch begins (weight above zero) or ends (below). */
  addStep(at: number, weight: number, end: number, slope: number, first: number, second: number): void {
    const { steps } = this;
    const row = at * PRODUCTS;
    const weightedEnd = weight * end;
    const weightedSlope = weight * slope;
    steps[row + END]! += weightedEnd;
    steps[row + SLOPE]! += weightedSlope;
    steps[row + END_END]! += weightedEnd * end;
    steps[row + END_SLOPE]! += weightedEnd * slope;
    steps[row + SLOPE_SLOPE]! += weightedSlope * slope;
    steps[row + END_FIRST]! += weightedEnd * first;
    steps[row + SLOPE_FIRST]! += weightedSlope * first;
    steps[row + END_SECOND]! += weightedEnd * second;
    steps[row + SLOPE_SECOND]! += weightedSlope * second;
  }

  /** Steps before a reading become the sums at it. */
  accumulate(at: number): void {
    const { steps } = this;
    const row = at * PRODUCTS;
    if (at > 0) for (let k = row; k < row + PRODUCTS; k++) steps[k]! += steps[k - PRODUCTS]!;
  }

  /** Weighted sum of squared residuals at a reading. */
  squareAt(at: number, target: number, factor: number, left: number, first: number, second: number): number {
    const { steps } = this;
    const row = at * PRODUCTS;
    const level = steps[row + END]! + left * steps[row + SLOPE]!;
    const levelSquare = steps[row + END_END]! + left * (2 * steps[row + END_SLOPE]! + left * steps[row + SLOPE_SLOPE]!);
    const levelFirst = steps[row + END_FIRST]! + left * steps[row + SLOPE_FIRST]!;
    const levelSecond = steps[row + END_SECOND]! + left * steps[row + SLOPE_SECOND]!;
    const square =
      target * target * this.total -
      2 * target * (factor * level + first * this.first + second * this.second) +
      factor * (factor * levelSquare + 2 * (first * levelFirst + second * levelSecond)) +
      first * first * this.firstFirst +
      2 * first * second * this.firstSecond +
      second * second * this.secondSecond;
    return Math.max(square, 0);
  }
}

export class ResidualAverages {
  /** Averaged level above the baseline at each reading. */
  readonly level: Float64Array;
  /** Averaged squared residual. */
  readonly square: Float64Array;
  /** Averaged squared residual over the variance of its hypothesis. */
  readonly squareOverVariance: Float64Array;

  private readonly plain: Products;
  private readonly overVariance: Products;
  private readonly first: Float64Array;
  private readonly second: Float64Array;

  constructor(
    private readonly timeLeft: Float64Array,
    private readonly target: Float64Array,
    private readonly loadFactor: Float64Array,
    covariates: readonly Float64Array[],
  ) {
    const count = timeLeft.length;
    this.level = new Float64Array(count);
    this.square = new Float64Array(count);
    this.squareOverVariance = new Float64Array(count);
    this.plain = new Products(count);
    this.overVariance = new Products(count);
    const nothing = new Float64Array(count);
    this.first = covariates[0] ?? nothing;
    this.second = covariates[1] ?? nothing;
  }

  clear(): void {
    this.level.fill(0);
    this.square.fill(0);
    this.squareOverVariance.fill(0);
    this.plain.clear();
    this.overVariance.clear();
  }

  /** @param at where the coefficients of the hypothesis begin; the first is the level above the baseline. */
  add(candidate: Candidate, probability: number, variance: number, coefficients: Float64Array, at: number): void {
    const level = coefficients[at + LEVEL]!;
    const rise = coefficients[at + RISE]!;
    const shift = coefficients[at + SHIFT]!;
    const first = coefficients[at + COVARIATE]!;
    const second = coefficients[at + COVARIATE + 1]!;
    if (candidate.bend !== null) {
      this.addBent(candidate.bend, probability, variance, level, rise, first, second);
      return;
    }
    const { riseFrom, riseSlope, shiftFrom, shiftSlope } = candidate;
    this.plain.addEffects(probability, first, second);
    this.overVariance.addEffects(probability / variance, first, second);
    const risesFirst = riseFrom <= shiftFrom;
    const from = risesFirst ? riseFrom : shiftFrom;
    const to = risesFirst ? shiftFrom : riseFrom;
    const early = risesFirst ? rise : shift;
    const earlySlope = risesFirst ? riseSlope : shiftSlope;
    const whole = level + rise + shift;
    const wholeSlope = -(rise * riseSlope + shift * shiftSlope);
    this.addStretch(0, from, probability, variance, level, 0, first, second);
    this.addStretch(from, to, probability, variance, level + early, -early * earlySlope, first, second);
    this.addStretch(to, this.timeLeft.length, probability, variance, whole, wholeSlope, first, second);
  }

  /** Evaluates the sums at every reading. */
  finish(): void {
    const { timeLeft, target, loadFactor, first, second, plain, overVariance, level, square, squareOverVariance } = this;
    for (let i = 0; i < timeLeft.length; i++) {
      const left = timeLeft[i]!;
      plain.accumulate(i);
      overVariance.accumulate(i);
      level[i]! += plain.steps[i * PRODUCTS + END]! + left * plain.steps[i * PRODUCTS + SLOPE]!;
      square[i]! += plain.squareAt(i, target[i]!, loadFactor[i]!, left, first[i]!, second[i]!);
      squareOverVariance[i]! += overVariance.squareAt(i, target[i]!, loadFactor[i]!, left, first[i]!, second[i]!);
    }
  }

  /** level = end + slope·timeLeft from one reading to another. */
  private addStretch(
    from: number,
    to: number,
    probability: number,
    variance: number,
    end: number,
    slope: number,
    first: number,
    second: number,
  ): void {
    if (from >= to) return;
    const scaled = probability / variance;
    this.plain.addStep(from, probability, end, slope, first, second);
    this.plain.addStep(to, -probability, end, slope, first, second);
    this.overVariance.addStep(from, scaled, end, slope, first, second);
    this.overVariance.addStep(to, -scaled, end, slope, first, second);
  }

  private addBent(
    bend: Float64Array,
    probability: number,
    variance: number,
    start: number,
    rise: number,
    firstEffect: number,
    secondEffect: number,
  ): void {
    const { target, loadFactor, first, second, level, square, squareOverVariance } = this;
    const scaled = probability / variance;
    for (let i = 0; i < bend.length; i++) {
      const here = start + rise * bend[i]!;
      const residual = target[i]! - loadFactor[i]! * here - firstEffect * first[i]! - secondEffect * second[i]!;
      const residualSquare = residual * residual;
      level[i]! += probability * here;
      square[i]! += probability * residualSquare;
      squareOverVariance[i]! += scaled * residualSquare;
    }
  }
}
