/** What may be shown of a projection: never more than the figures carry. Wording and date formats are made elsewhere. */
import { GATE } from './setting.ts';
import type { NoProjectionReason, Projection, ShapeProbabilities, TimeToLimit } from './types.ts';

/** How much weight a shown range bears; the rule stands at `displayProjection`. */
export type Confidence = 'firm' | 'fair' | 'thin';

interface Shown {
  /** Days from the day of asking; the safe side for decisions. */
  readonly notBeforeDays: number;
  readonly probabilityMoving: number;
  readonly readingCount: number;
  readonly confidence: Confidence;
}

export type ProjectionDisplay =
  /** "Not expected before …" and nothing else. */
  | ({ readonly show: 'not-before' } & Shown)
  /** "Likely between … and …, about …"; latestDays null: "or not at all". No date finer than precisionDays. */
  | ({
      readonly show: 'range';
      readonly likelyDays: number;
      readonly latestDays: number | null;
      readonly precisionDays: number;
    } & Shown)
  /** "Rising; further ahead than three times the observed period; not before …". No other date. */
  | ({ readonly show: 'far' } & Shown)
  /** `probabilityMoving` null: not even asked. */
  | {
      readonly show: 'none';
      readonly reason: NoProjectionReason;
      readonly probabilityMoving: number | null;
      readonly stepAtDay: number | null;
      readonly readingCount: number;
    };

const FEWEST_READINGS = 3;
const SHORT_SPAN_DAYS = 14;
/** Without a likely day the movement itself must be more probable than this (common practice). */
const LIKELY_MOVING = 0.8;
const FAR_SPANS = 3;
const FAR_DAYS = 730;
/** Ranges of days this close count as equal to it: three days or five make no plan firmer. */
const NEAR_DAYS = 7;
const FIRM = { readings: 8, width: 3, moving: 0.9 } as const;
const FAIR = { readings: 5, width: 8, moving: 0.75 } as const;

/**
 * What a screen may show of a projection.
 *
 * 1. No projection: `none` with its reason. So is a limit without a likely day (P50 null) that is approached with less than
 *    80 % probability: no usable trend.
 * 2. Three readings, a span under 14 days, or P50 null: `not-before`, P10 only.
 * 3. P50 beyond three observed spans or two years: `far`, P10 only.
 * 4. Otherwise `range` from P10 over P50 to P90, never finer than a tenth of P10 to P90 (P90 null: a fifth of P10 to P50),
 *    and never finer than a day.
 *
 * Confidence (own rule): `firm` from 8 readings, P90 at most 3 × P10 and 90 % probability that it moves; `fair` from
 * 5 readings, 8 × and 75 %; `thin` otherwise. For the ratio both ends count as at least 7 days; P90 null is never firm or fair.
 *
 * @returns days from the day of asking, not rounded. O(1).
 * @example displayProjection(projectTimeToLimit(input)) // { show: 'range', notBeforeDays: 59.3, likelyDays: 70.8, latestDays: 84.7, precisionDays: 2.5, confidence: 'fair', … }
 */
export function displayProjection(projection: Projection): ProjectionDisplay {
  if (projection.status === 'no-projection') {
    const { reason, probabilityMoving, stepAtDay, readingCount } = projection;
    return { show: 'none', reason, probabilityMoving, stepAtDay, readingCount };
  }
  const { p10Days, p50Days, p90Days, probabilityMoving, readingCount, spanDays } = projection;
  if (p50Days === null && probabilityMoving < LIKELY_MOVING)
    return { show: 'none', reason: 'no-usable-trend', probabilityMoving, stepAtDay: null, readingCount };
  const shown: Shown = { notBeforeDays: p10Days, probabilityMoving, readingCount, confidence: confidenceOf(projection) };
  if (readingCount <= FEWEST_READINGS || spanDays < SHORT_SPAN_DAYS || p50Days === null) return { show: 'not-before', ...shown };
  if (p50Days > FAR_SPANS * spanDays || p50Days > FAR_DAYS) return { show: 'far', ...shown };
  const precision = p90Days === null ? (p50Days - p10Days) / 5 : (p90Days - p10Days) / 10;
  return { show: 'range', ...shown, likelyDays: p50Days, latestDays: p90Days, precisionDays: Math.max(1, precision) };
}

function confidenceOf({ p10Days, p90Days, probabilityMoving, readingCount }: TimeToLimit): Confidence {
  if (p90Days === null) return 'thin';
  const width = Math.max(p90Days, NEAR_DAYS) / Math.max(p10Days, NEAR_DAYS);
  const meets = (rule: { readings: number; width: number; moving: number }): boolean =>
    readingCount >= rule.readings && width <= rule.width && probabilityMoving >= rule.moving;
  return meets(FIRM) ? 'firm' : meets(FAIR) ? 'fair' : 'thin';
}

/** How a point behaves, in one word. */
export type TrendWord = 'steady' | 'creeping' | 'running-away' | 'jumped';

/**
 * The trend of a point in one word, from the probabilities of the shapes.
 *
 * `jumped`: a level change that has held is more probable than not. `steady`: the probability of a movement towards the limit
 * is below 0.6. Otherwise `running-away` when the accelerating shapes (exponential, runaway) are together more probable than
 * the straight ones (line, hinge, knee, with or without a step, saturating), else `creeping`.
 *
 * @returns null when the readings were not enough to ask, or the limit is already exceeded. O(1).
 * @example trendWord(projectTimeToLimit(sixReadingsOnALine)) // 'creeping'
 */
export function trendWord({ shapeProbabilities, probabilityMoving }: Projection): TrendWord | null {
  if (shapeProbabilities === null || probabilityMoving === null) return null;
  if (shapeProbabilities.step > 0.5) return 'jumped';
  if (probabilityMoving < GATE) return 'steady';
  return accelerating(shapeProbabilities) > straight(shapeProbabilities) ? 'running-away' : 'creeping';
}

function accelerating(probability: ShapeProbabilities): number {
  return probability.exponential + probability.runaway;
}

function straight(probability: ShapeProbabilities): number {
  const withStep = probability['step-then-rise'] + probability['line-with-step'];
  return probability.line + probability.hinge + probability.knee + withStep + probability.saturating;
}
