/**
 * Trend: is a point moving at all, and how fast, without assuming a distribution.
 * Hides the count of pairs, ties, exact probabilities and ranks. Always: a label and a figure for people, never a gate for a
 * projection; too few or equal values have a stated answer; no NaN leaves.
 */
export { type MannKendall, mannKendall, mannKendallExactP } from './mann-kendall.ts';
export { type TheilSen, type TrendSample, theilSen } from './theil-sen.ts';
