/**
 * Every hypothesis (shape, parameter, prior scale) as a conjugate normal–inverse-gamma regression, averaged by marginal
 * likelihood; weights, noise and load exponent are renewed in rounds from the averages.
 * Textbook material: Gelman and others, Bayesian Data Analysis; Hoeting and others 1999, Bayesian Model Averaging.
 * https://en.wikipedia.org/wiki/Bayesian_linear_regression
 */
import type { Baseline } from './baseline.ts';
import { Elimination } from './elimination.ts';
import { COEFFICIENTS, COVARIANCES, COVARIATE, Hypotheses, LEVEL, RISE, SHIFT } from './hypotheses.ts';
import { ResidualAverages } from './residual-averages.ts';
import { MAX_SHARED, RoundSums } from './round-sums.ts';
import { fillLoadFactor, type Sample } from './sample.ts';
import {
  AMBIENT_EFFECT_SD,
  DROP_BELOW,
  INTERCEPT_SD,
  LOAD_EFFECT_SD,
  NEGLIGIBLE,
  NOISE_GROWTH,
  ROBUST_FREEDOM,
  ROUNDS,
} from './setting.ts';
import { type Candidate, listCandidates } from './shapes.ts';
import { clampExponent, type StartCurve } from './start-curve.ts';

/** What is known about noise and load before the readings are seen; scale in units of the sample. */
export interface FitPrior {
  readonly noiseFreedom: number;
  readonly noiseScale: number;
  readonly exponentMean: number;
  readonly exponentSd: number;
}

export interface Fit {
  readonly candidates: readonly Candidate[];
  readonly hypotheses: Hypotheses;
  /** Degrees of freedom of the posterior. */
  readonly freedom: number;
  readonly baseline: number;
  readonly margin: number;
  readonly loadExponent: number;
  /** Residual of each entry under the most probable hypothesis without a shift, value minus curve, in units of the sample. */
  readonly residual: Float64Array;
  /** The same in standard deviations of that entry, squared. */
  readonly residualSize: Float64Array;
}

/** Fits all hypotheses. Cost is bounded by 160 entries and 202 hypotheses, whatever the history. */
export function fitShapes(sample: Sample, start: StartCurve, found: Baseline, margin: number, prior: FitPrior): Fit {
  return new ShapeFit(sample, start, found, margin, prior).run();
}

class ShapeFit {
  private readonly candidates: readonly Candidate[];
  private readonly hypotheses: Hypotheses;
  private readonly sums: RoundSums;
  private readonly elimination: Elimination;
  /** (ν₀ + N)/2 */
  private readonly alpha: number;
  private readonly noisePriorSquares: number;
  private readonly baseline: number;

  /** Averaged noise variance. */
  private variance: number;
  private loadExponent: number;
  private readonly weights: Float64Array;
  /** How much larger the noise is at this reading, as a factor. */
  private readonly growth: Float64Array;
  private readonly loadFactor: Float64Array;
  private readonly totalWeights: Float64Array;
  private readonly target: Float64Array;
  private readonly exponentColumn: Float64Array;
  /** Averaged level at each reading. */
  private readonly level: Float64Array;
  private readonly covariates: readonly Float64Array[];
  private readonly averages: ResidualAverages;

  /** Priors of level and covariates. */
  private readonly precision = new Float64Array(MAX_SHARED);
  private readonly mean = new Float64Array(MAX_SHARED);
  private readonly logWeights: Float64Array;

  constructor(
    private readonly sample: Sample,
    start: StartCurve,
    found: Baseline,
    private readonly margin: number,
    private readonly prior: FitPrior,
  ) {
    const { count } = sample;
    this.candidates = listCandidates(sample.time);
    this.hypotheses = new Hypotheses(this.candidates);
    this.logWeights = new Float64Array(this.hypotheses.count);
    this.baseline = found.baseline;
    this.alpha = (prior.noiseFreedom + count) / 2;
    this.noisePriorSquares = prior.noiseFreedom * prior.noiseScale ** 2;
    this.loadExponent = start.loadExponent;
    this.growth = new Float64Array(count).fill(1);
    this.loadFactor = new Float64Array(count);
    this.totalWeights = new Float64Array(count);
    this.target = new Float64Array(count);
    this.exponentColumn = new Float64Array(count);
    this.level = new Float64Array(count).fill(found.baseline);

    const covariates: Float64Array[] = [];
    if (sample.loadModel === 'power') covariates.push(this.exponentColumn);
    else if (sample.loadModel === 'additive') covariates.push(sample.logLoad);
    if (sample.hasAmbient) covariates.push(sample.ambientOffset);
    this.covariates = covariates;
    this.sums = new RoundSums(sample.timeLeft, this.loadFactor, [...covariates, this.target]);
    this.elimination = new Elimination(this.sums);
    this.averages = new ResidualAverages(sample.timeLeft, this.target, this.loadFactor, covariates);

    const spread = Math.max(found.localSpread, 1e-9 * margin);
    this.variance = (this.noisePriorSquares + count * spread ** 2) / (prior.noiseFreedom + count);
    this.weights = new Float64Array(count);
    for (let i = 0; i < count; i++) {
      const size = found.localResiduals[i]! ** 2 * sample.groupWeight[i]!;
      this.weights[i] = (ROBUST_FREEDOM + 1) / (ROBUST_FREEDOM + size / this.variance);
    }
  }

  run(): Fit {
    for (let round = 1; round <= ROUNDS; round++) {
      this.prepareColumns();
      this.solveAll(round === ROUNDS);
      if (round === ROUNDS) break;
      if (round === 1) this.hypotheses.drop(DROP_BELOW);
      this.average();
      if (this.sample.count >= NOISE_GROWTH.minReadings) this.renewGrowth();
      this.renewWeights();
    }
    return {
      candidates: this.candidates,
      hypotheses: this.hypotheses,
      freedom: 2 * this.alpha,
      baseline: this.baseline,
      margin: this.margin,
      loadExponent: this.loadExponent,
      ...this.residuals(),
    };
  }

  /** Of the most probable hypothesis without a shift: a step would take the newest readings for its own. */
  private residuals(): Pick<Fit, 'residual' | 'residualSize'> {
    const { hypotheses, candidates, sample, target, loadFactor, covariates, growth } = this;
    let best = 0;
    let most = -1;
    for (let h = 0; h < hypotheses.count; h++) {
      if (candidates[hypotheses.owner[h]!]!.shiftSd > 0 || hypotheses.probability[h]! <= most) continue;
      [best, most] = [h, hypotheses.probability[h]!];
    }
    const { bend, riseFrom, riseSlope } = candidates[hypotheses.owner[best]!]!;
    const at = best * COEFFICIENTS;
    const { coefficients } = hypotheses;
    const residual = target.map((value, i) => {
      const rise = bend !== null ? bend[i]! : i < riseFrom ? 0 : 1 - riseSlope * sample.timeLeft[i]!;
      const level = coefficients[at + LEVEL]! + coefficients[at + RISE]! * rise;
      const effects = covariates.reduce((sum, column, c) => sum + coefficients[at + COVARIATE + c]! * column[i]!, 0);
      return value - loadFactor[i]! * level - effects;
    });
    const variance = hypotheses.variance[best]!;
    const residualSize = residual.map((one, i) => (sample.groupWeight[i]! * one * one) / (variance * growth[i]! * growth[i]!));
    return { residual, residualSize };
  }

  /** Covariates, target (baseline taken out, or cancellation eats the noise) and the running sums of this round. */
  private prepareColumns(): void {
    const { sample, loadFactor, weights, growth, totalWeights, target, level, exponentColumn } = this;
    fillLoadFactor(sample, this.loadExponent, loadFactor);
    for (let i = 0; i < sample.count; i++) {
      const factor = loadFactor[i]!;
      totalWeights[i] = (weights[i]! * sample.groupWeight[i]!) / (growth[i]! * growth[i]!);
      target[i] = sample.value[i]! - this.baseline * factor;
      exponentColumn[i] = level[i]! * factor * sample.logLoad[i]!;
    }
    this.sums.gather(totalWeights);
  }

  private solveAll(isLast: boolean): void {
    const { hypotheses, candidates, logWeights, sums, elimination } = this;
    this.preparePriors();
    elimination.begin(this.precision, this.mean);
    let reduced = -1;
    for (let h = 0; h < hypotheses.count; h++) {
      const owner = hypotheses.owner[h]!;
      const candidate = candidates[owner]!;
      if (owner !== reduced) {
        sums.assemble(candidate);
        elimination.reduce();
        reduced = owner;
      }
      elimination.solve(this.precisionOf(hypotheses.riseSd[h]!), this.precisionOf(candidate.shiftSd));
      logWeights[h] = candidate.logWeight + this.keepSolution(h);
      if (isLast) this.keepCovariance(h);
    }
    hypotheses.normalise(logWeights);
  }

  /** Of the level, and of the covariates in their order; in units of the current noise. */
  private preparePriors(): void {
    const { precision, mean, variance, margin, sample, prior } = this;
    precision[0] = variance / (INTERCEPT_SD * margin) ** 2;
    let column = 1;
    if (sample.loadModel === 'power') {
      mean[column] = prior.exponentMean - this.loadExponent;
      precision[column++] = variance / prior.exponentSd ** 2;
    } else if (sample.loadModel === 'additive') {
      precision[column++] = variance / (LOAD_EFFECT_SD * margin) ** 2;
    }
    if (sample.hasAmbient) precision[column] = variance / AMBIENT_EFFECT_SD ** 2;
  }

  /** Precision of a prior in units of the current noise; an unused column gets 1 and drops out of everything. */
  private precisionOf(sdInMargins: number): number {
    return sdInMargins > 0 ? this.variance / (sdInMargins * this.margin) ** 2 : 1;
  }

  /** Stores the last solution. Returns the logarithm of its marginal likelihood, terms equal for all left out. */
  private keepSolution(h: number): number {
    const { elimination, hypotheses } = this;
    const at = h * COEFFICIENTS;
    hypotheses.coefficients[at + LEVEL] = elimination.shared[0]!;
    hypotheses.coefficients[at + RISE] = elimination.rise;
    hypotheses.coefficients[at + SHIFT] = elimination.shift;
    hypotheses.coefficients[at + COVARIATE] = elimination.shared[1]!;
    hypotheses.coefficients[at + COVARIATE + 1] = elimination.shared[2]!;
    const scale = (this.noisePriorSquares + Math.max(0, elimination.squares)) / 2;
    hypotheses.variance[h] = scale / this.alpha;
    return 0.5 * Math.log(elimination.determinantRatio) - this.alpha * Math.log(scale);
  }

  private keepCovariance(h: number): void {
    const { hypotheses, elimination } = this;
    const { covariance, variance } = hypotheses;
    const from = h * COVARIANCES;
    elimination.fillInverse(covariance, from);
    for (let k = from; k < from + COVARIANCES; k++) covariance[k]! *= variance[h]!;
    if (this.sums.sharedCount > 1) hypotheses.covariateVariance[h] = variance[h]! * elimination.inverseOfShared(1);
  }

  /** Noise, load exponent and, at each reading, level and squared residual, averaged over the hypotheses. */
  private average(): void {
    const { hypotheses, candidates, averages, level } = this;
    const { probability, coefficients } = hypotheses;
    averages.clear();
    let variance = 0;
    let exponentStep = 0;
    for (let h = 0; h < hypotheses.count; h++) {
      const at = h * COEFFICIENTS;
      variance += probability[h]! * hypotheses.variance[h]!;
      exponentStep += probability[h]! * coefficients[at + COVARIATE]!;
      if (probability[h]! < NEGLIGIBLE) continue;
      averages.add(candidates[hypotheses.owner[h]!]!, probability[h]!, hypotheses.variance[h]!, coefficients, at);
    }
    averages.finish();
    for (let i = 0; i < level.length; i++) level[i] = this.baseline + averages.level[i]!;
    this.variance = variance;
    if (this.sample.loadModel === 'power') this.loadExponent = clampExponent(this.loadExponent + exponentStep);
  }

  /** Noise that grows with the rise: three fixed growths, averaged by how well they explain the residuals. */
  private renewGrowth(): void {
    const { sample, averages, weights, growth, margin } = this;
    const { level, square } = averages;
    const { factors } = NOISE_GROWTH;
    const logWeights = factors.map((factor, f) => {
      let logs = 0;
      let squares = this.noisePriorSquares;
      for (let i = 0; i < sample.count; i++) {
        const grown = 1 + factor * clampToUnit(level[i]! / margin);
        if (factor > 0) logs += Math.log(grown);
        squares += (weights[i]! * sample.groupWeight[i]! * square[i]!) / (grown * grown);
      }
      return Math.log(NOISE_GROWTH.weights[f]!) - logs - this.alpha * Math.log(squares);
    });
    const largest = Math.max(...logWeights);
    const shares = logWeights.map((logWeight) => Math.exp(logWeight - largest));
    const total = shares.reduce((sum, share) => sum + share, 0);
    const factor = shares.reduce((sum, share, f) => sum + (share / total) * factors[f]!, 0);
    for (let i = 0; i < sample.count; i++) growth[i] = 1 + factor * clampToUnit(level[i]! / margin);
  }

  private renewWeights(): void {
    const { sample, weights, growth } = this;
    const { squareOverVariance } = this.averages;
    for (let i = 0; i < sample.count; i++) {
      const size = (sample.groupWeight[i]! * squareOverVariance[i]!) / (growth[i]! * growth[i]!);
      weights[i] = (ROBUST_FREEDOM + 1) / (ROBUST_FREEDOM + size);
    }
  }
}

function clampToUnit(share: number): number {
  return Math.min(Math.max(share, 0), 1);
}
