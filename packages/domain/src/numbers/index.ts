/**
 * Special functions and order statistics shared by verdicts, trends and projections.
 * Hidden here: the rational approximations and the selection algorithm. Always: pure, no allocation beyond the answer,
 * and no NaN for finite input.
 */
export {
  firstPassage,
  type InverseGaussian,
  inverseGaussianCdf,
  inverseGaussianQuantile,
  inverseGaussianTail,
  logGamma,
  normalCdf,
  normalQuantile,
  studentCdf,
  studentCdfExact,
  studentQuantile,
} from './distributions.ts';
export { erfc } from './erfc.ts';
export { median, medianInPlace } from './median.ts';
