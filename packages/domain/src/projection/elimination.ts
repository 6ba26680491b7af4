/**
 * The normal equations of all hypotheses of a round, solved with the shared columns (level, covariates) eliminated once:
 * what is left of a candidate is its rise and shift, and of a hypothesis two numbers on the diagonal.
 * https://en.wikipedia.org/wiki/Schur_complement
 */
import { factorise, solveLower, solveUpper, WIDTH } from './cholesky.ts';
import { type ColumnSums, MAX_SHARED, type RoundSums } from './round-sums.ts';

/** A column after the shared ones are taken out of it. */
class Remainder {
  square = 0;
  withTarget = 0;
  /** L⁻¹ times its products with the shared columns. */
  readonly forward = new Float64Array(MAX_SHARED);
  /** How much of each shared column it contains: regression of the column on them. */
  readonly share = new Float64Array(MAX_SHARED);
}

export class Elimination {
  /** Posterior means of the last solution. */
  rise = 0;
  shift = 0;
  /** Level, then covariates. */
  readonly shared = new Float64Array(MAX_SHARED);
  /** yᵀΩy + m₀ᵀΛ₀m₀ − βᵀAβ of the last solution. */
  squares = 0;
  /** |Λ₀|/|A| of the last solution. */
  determinantRatio = 1;

  /** Inverse of the remaining 2×2 matrix. */
  private riseRise = 0;
  private riseShift = 0;
  private shiftShift = 0;

  private readonly riseLeft = new Remainder();
  private readonly shiftLeft = new Remainder();
  private crossLeft = 0;

  private readonly factor = new Float64Array(WIDTH * WIDTH);
  private readonly right = new Float64Array(MAX_SHARED);
  private readonly forward = new Float64Array(MAX_SHARED);
  /** Solution for the shared columns alone. */
  private readonly alone = new Float64Array(MAX_SHARED);
  /** Diagonal of the inverse of the shared block. */
  private readonly inverseAlone = new Float64Array(MAX_SHARED);
  private readonly unit = new Float64Array(MAX_SHARED);
  private sharedSquares = 0;
  private sharedRatio = 1;

  constructor(private readonly sums: RoundSums) {}

  /** Takes the sums of a round and the priors of the shared columns. */
  begin(precision: Float64Array, mean: Float64Array): void {
    const { sums, factor, right, forward, alone } = this;
    const count = sums.sharedCount;
    this.sharedSquares = sums.targetSquare;
    for (let i = 0; i < count; i++) {
      const pull = precision[i]! * mean[i]!;
      sums.shared[(WIDTH + 1) * i]! += precision[i]!;
      right[i] = sums.sharedWithTarget[i]! + pull;
      this.sharedSquares += pull * mean[i]!;
    }
    factorise(sums.shared, count, factor);
    solveLower(factor, count, right, forward);
    solveUpper(factor, count, forward, alone);
    this.sharedRatio = 1;
    for (let i = 0; i < count; i++) {
      const pivot = factor[(WIDTH + 1) * i]!;
      this.sharedRatio *= precision[i]! / (pivot * pivot);
      this.sharedSquares -= forward[i]! * forward[i]!;
      this.inverseAlone[i] = this.invertAt(i);
    }
  }

  /** Takes the candidate the sums were last assembled for. */
  reduce(): void {
    const { sums, riseLeft, shiftLeft } = this;
    this.reduceColumn(sums.rise, riseLeft);
    this.reduceColumn(sums.shift, shiftLeft);
    this.crossLeft = sums.riseWithShift;
    for (let i = 0; i < sums.sharedCount; i++) this.crossLeft -= riseLeft.forward[i]! * shiftLeft.forward[i]!;
  }

  /** Solves for prior precisions of rise and shift; an unused column has sums of zero and precision 1. */
  solve(risePrecision: number, shiftPrecision: number): void {
    const { riseLeft, shiftLeft, crossLeft, alone, shared } = this;
    const risePivot = riseLeft.square + risePrecision;
    const ratio = crossLeft / risePivot;
    // Mathematically never below the prior precision; rounding must not take it there.
    const shiftPivot = Math.max(shiftLeft.square + shiftPrecision - ratio * crossLeft, shiftPrecision);
    const shiftRest = shiftLeft.withTarget - ratio * riseLeft.withTarget;
    this.shift = shiftRest / shiftPivot;
    this.rise = (riseLeft.withTarget - crossLeft * this.shift) / risePivot;
    for (let i = 0; i < shared.length; i++) {
      shared[i] = alone[i]! - riseLeft.share[i]! * this.rise - shiftLeft.share[i]! * this.shift;
    }
    this.squares = this.sharedSquares - (riseLeft.withTarget * riseLeft.withTarget) / risePivot - shiftRest * this.shift;
    this.determinantRatio = this.sharedRatio * (risePrecision / risePivot) * (shiftPrecision / shiftPivot);
    this.shiftShift = 1 / shiftPivot;
    this.riseShift = -ratio / shiftPivot;
    this.riseRise = 1 / risePivot + (ratio * ratio) / shiftPivot;
  }

  /** Upper triangle of the level, rise and shift block of A⁻¹ of the last solution. */
  fillInverse(inverse: Float64Array, at: number): void {
    const ofRise = this.riseLeft.share[0]!;
    const ofShift = this.shiftLeft.share[0]!;
    inverse[at] = this.inverseOfShared(0);
    inverse[at + 1] = -(ofRise * this.riseRise + ofShift * this.riseShift);
    inverse[at + 2] = -(ofRise * this.riseShift + ofShift * this.shiftShift);
    inverse[at + 3] = this.riseRise;
    inverse[at + 4] = this.riseShift;
    inverse[at + 5] = this.shiftShift;
  }

  /** Diagonal entry of A⁻¹ of a shared column of the last solution. */
  inverseOfShared(column: number): number {
    const ofRise = this.riseLeft.share[column]!;
    const ofShift = this.shiftLeft.share[column]!;
    const byRise = ofRise * (ofRise * this.riseRise + 2 * ofShift * this.riseShift);
    return this.inverseAlone[column]! + byRise + ofShift * ofShift * this.shiftShift;
  }

  private reduceColumn(column: ColumnSums, left: Remainder): void {
    const count = this.sums.sharedCount;
    solveLower(this.factor, count, column.withShared, left.forward);
    solveUpper(this.factor, count, left.forward, left.share);
    let square = column.square;
    let withTarget = column.withTarget;
    for (let i = 0; i < count; i++) {
      square -= left.forward[i]! * left.forward[i]!;
      withTarget -= left.forward[i]! * this.forward[i]!;
    }
    left.square = Math.max(square, 0);
    left.withTarget = withTarget;
  }

  private invertAt(column: number): number {
    const { factor, unit, sums } = this;
    unit.fill(0);
    unit[column] = 1;
    solveLower(factor, sums.sharedCount, unit, unit);
    solveUpper(factor, sums.sharedCount, unit, unit);
    return unit[column]!;
  }
}
