import type { LimitProjection } from '../history/types.ts';
import { GRADES, type Grade } from '../limits/types.ts';
import type { Criticality } from '../points/types.ts';

/** 1 … 5, an order and no measure. */
export type Ordinal = 1 | 2 | 3 | 4 | 5;

/** Consequence where the register names none; common practice, no source. */
export const CONSEQUENCE_OF: Readonly<Record<Criticality, Ordinal>> = { A: 5, B: 3, C: 2 };

/** Upper edges of likelihood 1 to 4, each excluded; common practice, no source. */
export const LIKELIHOOD_EDGES: readonly [number, number, number, number] = [0.01, 0.1, 0.3, 0.7];

/** Likelihood, consequence and their product. */
export interface Risk {
  readonly likelihood: Ordinal;
  readonly consequence: Ordinal;
  /** 1 … 25; only to be compared, like its factors. */
  readonly risk: number;
  readonly because: 'forecast' | 'grade';
}

/** Likelihood of a probability. @param probability 0 to 1; beyond counts as the nearer end. @example likelihoodOf(0.15) // 3 */
export function likelihoodOf(probability: number, edges: typeof LIKELIHOOD_EDGES = LIKELIHOOD_EDGES): Ordinal {
  const place = edges.findIndex((edge) => probability < edge);
  return (place < 0 ? 5 : place + 1) as Ordinal;
}

/** Likelihood without a forecast: Fine and Watch 1 and 2, up to Now 5. */
export function likelihoodOfGrade(grade: Grade): Ordinal {
  return (GRADES.indexOf(grade) + 1) as Ordinal;
}

/**
 * Probability that a limit is reached by an instant, read off the three dates of its forecast: 10 % by the earliest, 50 % by the
 * likely, 90 % by the latest, straight in between, from nothing at the last reading, and on at the same pace after the latest. The
 * three dates hold given that something moves, so the figure is multiplied by the probability of that.
 *
 * A date that is missing ("or not at all") adds nothing beyond the one before it: the figure is then a lower bound.
 *
 * @returns 0 to 1, rising with `at`; null where no date is known.
 * @example probabilityBy({ cutAt: 0, earliestAt: 10, likelyAt: 20, latestAt: 40, probabilityMoving: 1 }, 15) // 0.3
 */
export function probabilityBy(
  projection: Pick<LimitProjection, 'cutAt' | 'earliestAt' | 'likelyAt' | 'latestAt' | 'probabilityMoving'>,
  at: number,
): number | null {
  const { cutAt, earliestAt, likelyAt, latestAt, probabilityMoving } = projection;
  if (earliestAt === null) return null;
  const moving = probabilityMoving ?? 1;
  if (at < Math.min(cutAt, earliestAt)) return 0;
  const dates: [number, number][] = [[Math.min(cutAt, earliestAt), 0]];
  for (const [date, share] of [
    [earliestAt, 0.1],
    [likelyAt, 0.5],
    [latestAt, 0.9],
  ] as const) {
    if (date === null) break;
    dates.push([Math.max(date, dates.at(-1)![0]), share]);
  }
  return moving * shareAt(dates, at);
}

/** Straight between the dates; after the last one on at the same pace where that is the latest, else level. */
function shareAt(dates: readonly (readonly [number, number])[], at: number): number {
  const next = dates.findIndex(([date]) => date > at);
  const last = dates.at(-1)!;
  if (next === -1) {
    const [before, beforeShare] = dates.at(-2)!;
    const [date, share] = last;
    if (share < 0.9 || at === date) return share;
    return date === before ? 1 : Math.min(1, share + ((share - beforeShare) * (at - date)) / (date - before));
  }
  if (next === 0) return 0;
  const [from, fromShare] = dates[next - 1]!;
  const [to, toShare] = dates[next]!;
  return fromShare + ((toShare - fromShare) * (at - from)) / (to - from);
}

/**
 * Risk of a finding or order: likelihood of reaching the limit that counts before the next planned opportunity, times consequence.
 * Without a forecast the grade that stands gives the likelihood.
 *
 * @param subject consequence null: that of the criticality.
 * @param forecast projection of the limit that counts and the next planned opportunity; null: from the grade.
 * @example riskOf({ grade: 'soon', criticality: 'A', consequence: null }, null).risk // 20
 */
export function riskOf(
  subject: { readonly grade: Grade; readonly criticality: Criticality; readonly consequence: Ordinal | null },
  forecast: { readonly projection: Parameters<typeof probabilityBy>[0]; readonly opportunityAt: number } | null,
): Risk {
  const consequence = subject.consequence ?? CONSEQUENCE_OF[subject.criticality];
  const probability = forecast === null ? null : probabilityBy(forecast.projection, forecast.opportunityAt);
  const likelihood = probability === null ? likelihoodOfGrade(subject.grade) : likelihoodOf(probability);
  return { likelihood, consequence, risk: likelihood * consequence, because: probability === null ? 'grade' : 'forecast' };
}
