/**
 * Scores of projections against what is known to have happened.
 *
 * answered     share of crossing cases given a projection
 * cover80      of those, share whose P10 to P90 touches the days between which the limit was reached
 * relativeError median |P50 − T| / T of the answered, an open P50 counting as 10
 * pinball      mean pinball loss of ln(days) at 10, 50 and 90 % over all crossing cases, silence counting as ten spans
 * width        median ln(P90/P10) of the answered
 * quietRight   share of cases in which nothing moves that are given no projection
 *
 * Days are clipped to 1 … 10 observed spans, a span counting as at least a week.
 */
export type Truth =
  | { readonly type: 'crosses'; readonly days_to_limit: number; readonly bracket_days: readonly [number, number] }
  | { readonly type: 'no_trend' };

/** A projection, or what another method says in its place. */
export type Dated =
  | { readonly status: 'projection'; readonly p10Days: number; readonly p50Days: number | null; readonly p90Days: number | null }
  | { readonly status: 'no-projection' };

export interface ScoredCase {
  readonly truth: Truth;
  readonly spanDays: number;
  readonly projection: Dated;
}

export interface Scores {
  readonly answered: number;
  readonly cover80: number;
  readonly relativeError: number;
  readonly pinball: number;
  readonly width: number;
  readonly quietRight: number;
}

const QUANTILES = [0.1, 0.5, 0.9] as const;

export function score(cases: readonly ScoredCase[]): Scores {
  let crossing = 0;
  let answered = 0;
  let covered = 0;
  let pinball = 0;
  let quiet = 0;
  let quietRight = 0;
  const relativeErrors: number[] = [];
  const widths: number[] = [];
  for (const { truth, spanDays, projection } of cases) {
    if (truth.type === 'no_trend') {
      quiet++;
      if (projection.status === 'no-projection') quietRight++;
      continue;
    }
    crossing++;
    const cap = 10 * Math.max(7, spanDays);
    const actual = Math.max(1, truth.days_to_limit);
    const logs = logDays(projection, cap);
    pinball += pinballLoss(Math.log(Math.min(actual, cap)), logs);
    if (projection.status === 'no-projection') continue;
    answered++;
    const { p10Days, p50Days, p90Days } = projection;
    if ((p90Days ?? Number.POSITIVE_INFINITY) >= truth.bracket_days[0] && p10Days <= truth.bracket_days[1]) covered++;
    relativeErrors.push(p50Days === null ? 10 : Math.abs(p50Days - actual) / actual);
    widths.push(logs[2] - logs[0]);
  }
  return {
    answered: answered / crossing,
    cover80: covered / answered,
    relativeError: middle(relativeErrors),
    pinball: pinball / crossing,
    width: middle(widths),
    quietRight: quietRight / quiet,
  };
}

function logDays(projection: Dated, cap: number): [number, number, number] {
  const log = (days: number | null): number => Math.log(days === null ? cap : Math.min(Math.max(days, 1), cap));
  return projection.status === 'no-projection'
    ? [log(null), log(null), log(null)]
    : [log(projection.p10Days), log(projection.p50Days), log(projection.p90Days)];
}

function pinballLoss(actual: number, quantiles: readonly number[]): number {
  const losses = QUANTILES.map((share, i) => {
    const distance = actual - (quantiles[i] ?? 0);
    return Math.max(share * distance, (share - 1) * distance);
  });
  return losses.reduce((sum, loss) => sum + loss, 0) / QUANTILES.length;
}

function middle(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (index: number): number => sorted[index] ?? Number.NaN;
  const half = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? at(half) : (at(half - 1) + at(half)) / 2;
}
