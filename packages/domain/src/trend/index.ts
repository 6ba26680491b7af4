/**
 * Trend: is a point moving at all, and how fast, without assuming a distribution.
 * Hides the count of pairs, ties, exact probabilities and ranks. Always: a label and a figure for people, never a gate for a
 * projection; too few or equal values have a stated answer; no NaN leaves.
 */

export { type Cusum, cusum, type Ewma, ewma, neighbourCorrelation, smoothed } from './charts.ts';
export { type ClassLines, fitClassLines } from './class-lines.ts';
export {
  type BandKind,
  type ExponentialLine,
  fitExponentialLine,
  fitLine,
  type Line,
  type LineCrossing,
  lineAt,
  lineCrossing,
} from './line.ts';
export { type MannKendall, mannKendall, mannKendallExactP } from './mann-kendall.ts';
export { medianLine, type RobustLine, robustLine } from './robust-line.ts';
export { type LevelChange, levelChange, meanHolds, type Pettitt, pettitt } from './steps.ts';
export { type TheilSen, type TrendSample, theilSen } from './theil-sen.ts';
