import { normalCdf, normalQuantile, studentQuantile } from '../numbers/index.ts';

/**
 * Probability that the true figure is beyond the limit, for a normally distributed error (JCGM 106, 7.2).
 * @param uncertainty standard uncertainty; 0 gives 0 or 1, and 1 exactly on the limit.
 * @example probabilityReached(88, 90, 2, 'high') // 0.1587
 */
export function probabilityReached(value: number, limit: number, uncertainty: number, direction: 'high' | 'low'): number {
  const beyond = direction === 'high' ? value - limit : limit - value;
  if (!(uncertainty > 0)) return beyond >= 0 ? 1 : 0;
  return normalCdf(beyond / uncertainty);
}

/**
 * How far below a limit a figure must stay so that it is below with the given probability (JCGM 106, 8.3).
 * @param probability one-sided, 0.5 to below 1. @returns unit of the uncertainty. @example guardBand(2) // 3.29
 */
export const guardBand = (uncertainty: number, probability = 0.95): number => uncertainty * normalQuantile(probability);

/**
 * Factor of a two-sided range, from Student's t (GUM, annex G).
 * @param probability above 0 and below 1. @param degreesOfFreedom effective ones, above 0. @example coverageFactor(0.95, 5) // 2.57
 */
export const coverageFactor = (probability: number, degreesOfFreedom: number): number =>
  studentQuantile((1 + probability) / 2, degreesOfFreedom);
