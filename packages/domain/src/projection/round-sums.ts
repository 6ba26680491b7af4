/**
 * Weighted sums of one round from which the normal equations of every candidate follow.
 * A straight column is 1 − slope·(1 − u) from some reading on, so its products are differences of running sums over the
 * sorted readings: a handful of operations whatever the number of readings. Only bent shapes need a pass of their own.
 */
import { WIDTH } from './cholesky.ts';
import type { Candidate } from './shapes.ts';

/** Level and at most two covariates: the columns all candidates share. */
export const MAX_SHARED = 3;

/** Products of one column of a candidate (rise or shift) with everything else. */
export class ColumnSums {
  square = 0;
  withTarget = 0;
  /** With the level and the covariates. */
  readonly withShared = new Float64Array(MAX_SHARED);
}

export class RoundSums {
  /** Level and covariates among themselves, lower triangle. */
  readonly shared = new Float64Array(WIDTH * WIDTH);
  readonly sharedWithTarget = new Float64Array(MAX_SHARED);
  targetSquare = 0;

  /** Of the candidate last assembled. */
  readonly rise = new ColumnSums();
  readonly shift = new ColumnSums();
  riseWithShift = 0;

  readonly sharedCount: number;
  /** Σ ωf², Σ ωf²v, Σ ωf²v² from each reading to the end, v = 1 − u. */
  private readonly square: Float64Array;
  private readonly squareLeft: Float64Array;
  private readonly squareLeftLeft: Float64Array;
  /** Σ ωf·e and Σ ωf·e·v from each reading to the end, for each covariate and, last, the target. */
  private readonly cross: readonly Float64Array[];
  private readonly crossLeft: readonly Float64Array[];
  private readonly weightedFactor: Float64Array;

  /** @param columns the covariates and, last, the target; their entries may change between rounds. */
  constructor(
    private readonly timeLeft: Float64Array,
    private readonly loadFactor: Float64Array,
    private readonly columns: readonly Float64Array[],
  ) {
    const series = (): Float64Array => new Float64Array(timeLeft.length + 1);
    this.sharedCount = columns.length;
    this.square = series();
    this.squareLeft = series();
    this.squareLeftLeft = series();
    this.cross = columns.map(series);
    this.crossLeft = columns.map(series);
    this.weightedFactor = new Float64Array(timeLeft.length);
  }

  /** Sums for one round; O(n). */
  gather(weights: Float64Array): void {
    this.gatherSquares(weights);
    const { columns, shared, sharedWithTarget, sharedCount } = this;
    const last = columns.length - 1;
    const target = columns[last]!;
    for (let c = 0; c <= last; c++) this.gatherCross(columns[c]!, this.cross[c]!, this.crossLeft[c]!);
    shared[0] = this.square[0]!;
    sharedWithTarget[0] = this.cross[last]![0]!;
    for (let a = 1; a < sharedCount; a++) {
      const covariate = columns[a - 1]!;
      shared[WIDTH * a] = this.cross[a - 1]![0]!;
      for (let b = 1; b <= a; b++) shared[WIDTH * a + b] = weightedProduct(weights, covariate, columns[b - 1]!);
      sharedWithTarget[a] = weightedProduct(weights, covariate, target);
    }
    this.targetSquare = weightedProduct(weights, target, target);
  }

  /** Fills `rise`, `shift` and `riseWithShift` for a candidate. */
  assemble(candidate: Candidate): void {
    const { bend, riseFrom, riseSlope, shiftFrom, shiftSlope } = candidate;
    this.assembleStraight(this.shift, shiftFrom, shiftSlope);
    if (bend === null) {
      this.assembleStraight(this.rise, riseFrom, riseSlope);
      this.riseWithShift = this.product(Math.max(riseFrom, shiftFrom), riseSlope, shiftSlope);
    } else {
      this.assembleBent(bend);
      this.riseWithShift = 0;
    }
  }

  private assembleStraight(sums: ColumnSums, from: number, slope: number): void {
    const last = this.columns.length - 1;
    sums.square = this.product(from, slope, slope);
    sums.withTarget = this.cross[last]![from]! - slope * this.crossLeft[last]![from]!;
    sums.withShared[0] = this.product(from, slope, 0);
    for (let c = 0; c < last; c++) sums.withShared[c + 1] = this.cross[c]![from]! - slope * this.crossLeft[c]![from]!;
  }

  /** Σ ωf²(1 − a·v)(1 − b·v) from a reading on. */
  private product(from: number, a: number, b: number): number {
    return this.square[from]! - (a + b) * this.squareLeft[from]! + a * b * this.squareLeftLeft[from]!;
  }

  private assembleBent(bend: Float64Array): void {
    const { weightedFactor, loadFactor, columns, rise } = this;
    const last = columns.length - 1;
    let withLevel = 0;
    let square = 0;
    for (let i = 0; i < bend.length; i++) {
      const product = weightedFactor[i]! * loadFactor[i]! * bend[i]!;
      withLevel += product;
      square += product * bend[i]!;
    }
    rise.square = square;
    rise.withShared[0] = withLevel;
    for (let c = 0; c < last; c++) rise.withShared[c + 1] = weightedProduct(weightedFactor, bend, columns[c]!);
    rise.withTarget = weightedProduct(weightedFactor, bend, columns[last]!);
  }

  private gatherSquares(weights: Float64Array): void {
    const { timeLeft, loadFactor, weightedFactor, square, squareLeft, squareLeftLeft } = this;
    let sum = 0;
    let sumLeft = 0;
    let sumLeftLeft = 0;
    for (let i = timeLeft.length - 1; i >= 0; i--) {
      const left = timeLeft[i]!;
      const weighted = weights[i]! * loadFactor[i]!;
      const term = weighted * loadFactor[i]!;
      weightedFactor[i] = weighted;
      sum += term;
      sumLeft += term * left;
      sumLeftLeft += term * left * left;
      square[i] = sum;
      squareLeft[i] = sumLeft;
      squareLeftLeft[i] = sumLeftLeft;
    }
  }

  private gatherCross(column: Float64Array, cross: Float64Array, crossLeft: Float64Array): void {
    const { timeLeft, weightedFactor } = this;
    let sum = 0;
    let sumLeft = 0;
    for (let i = timeLeft.length - 1; i >= 0; i--) {
      const term = weightedFactor[i]! * column[i]!;
      sum += term;
      sumLeft += term * timeLeft[i]!;
      cross[i] = sum;
      crossLeft[i] = sumLeft;
    }
  }
}

function weightedProduct(weights: Float64Array, a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < weights.length; i++) sum += weights[i]! * a[i]! * b[i]!;
  return sum;
}
