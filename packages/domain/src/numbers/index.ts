/**
 * Special functions and order statistics shared by verdicts, trends and projections.
 * Hidden here: the rational approximations and the selection algorithm. Always: pure, no allocation beyond the answer,
 * and no NaN for finite input.
 */
export { normalCdf, studentCdf } from './distributions.ts';
export { erfc } from './erfc.ts';
export { median, medianInPlace } from './median.ts';
