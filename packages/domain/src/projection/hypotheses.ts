/** The hypotheses of a fit in columns, in the order that settles ties. */
import type { Candidate } from './shapes.ts';

/** Posterior means of a hypothesis, by place: level above the baseline, rise, shift and at most two covariates. */
export const COEFFICIENTS = 5;
export const LEVEL = 0;
export const RISE = 1;
export const SHIFT = 2;
export const COVARIATE = 3;
/** Upper triangle of the covariance of level, rise and shift. */
export const COVARIANCES = 6;

export class Hypotheses {
  count = 0;
  /** Index of the candidate each belongs to. */
  readonly owner: Int32Array;
  /** Prior standard deviation of the rise, in margins. */
  readonly riseSd: Float64Array;
  readonly probability: Float64Array;
  /** Scale of the noise under this hypothesis, squared. */
  readonly variance: Float64Array;
  /** Five to a hypothesis. */
  readonly coefficients: Float64Array;
  /** Six to a hypothesis, filled in the last round. */
  readonly covariance: Float64Array;
  /** Variance of the first covariate's effect, filled in the last round. */
  readonly covariateVariance: Float64Array;

  constructor(candidates: readonly Candidate[]) {
    let capacity = 0;
    for (const candidate of candidates) capacity += candidate.riseSds.length;
    this.owner = new Int32Array(capacity);
    this.riseSd = new Float64Array(capacity);
    this.probability = new Float64Array(capacity);
    this.variance = new Float64Array(capacity);
    this.coefficients = new Float64Array(capacity * COEFFICIENTS);
    this.covariance = new Float64Array(capacity * COVARIANCES);
    this.covariateVariance = new Float64Array(capacity);
    for (let c = 0; c < candidates.length; c++) {
      for (const sd of candidates[c]!.riseSds) {
        this.owner[this.count] = c;
        this.riseSd[this.count++] = sd;
      }
    }
  }

  /** Probabilities from logarithms, the largest taken out first so that nothing overflows. */
  normalise(logWeights: Float64Array): void {
    let largest = Number.NEGATIVE_INFINITY;
    for (let h = 0; h < this.count; h++) largest = Math.max(largest, logWeights[h]!);
    let sum = 0;
    for (let h = 0; h < this.count; h++) {
      const weight = Math.exp(logWeights[h]! - largest);
      this.probability[h] = weight;
      sum += weight;
    }
    for (let h = 0; h < this.count; h++) this.probability[h]! /= sum;
  }

  /** Keeps hypotheses of at least this probability, order unchanged. */
  drop(below: number): void {
    let kept = 0;
    let sum = 0;
    for (let h = 0; h < this.count; h++) {
      if (this.probability[h]! < below) continue;
      this.owner[kept] = this.owner[h]!;
      this.riseSd[kept] = this.riseSd[h]!;
      this.probability[kept] = this.probability[h]!;
      this.variance[kept] = this.variance[h]!;
      this.coefficients.copyWithin(kept * COEFFICIENTS, h * COEFFICIENTS, (h + 1) * COEFFICIENTS);
      sum += this.probability[kept]!;
      kept++;
    }
    this.count = kept;
    for (let h = 0; h < kept; h++) this.probability[h]! /= sum;
  }
}
