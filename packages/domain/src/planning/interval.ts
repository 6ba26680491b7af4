/** How often a point is read: from the time a fault needs to become a failure, from its forecast, and from what law and insurer ask. */
import type { Grade } from '../limits/types.ts';
import type { Criticality } from '../points/types.ts';

/** Chance that one reading shows the fault, its season and load included; common practice, no source. */
export const DETECTION = { 'electrical-from-40-percent-load': 0.9, other: 0.7 } as const;
/** Accepted chance that every reading misses it; common practice, no source. */
export const ACCEPTED_MISS: Readonly<Record<Criticality, number>> = { A: 0.001, B: 0.01, C: 0.05 };
/** From the first sign to the failure, days, shortest and longest; common practice, no source. */
export const SIGN_TO_FAILURE_DAYS = {
  'loose-joint': [90, 180],
  'bearing-by-temperature': [7, 14],
  'bearing-by-vibration': [30, 90],
  fouling: [90, 180],
  'steam-trap': [180, 180],
  'insulation-resistance': [365, 730],
} as const satisfies Readonly<Record<string, readonly [shortest: number, longest: number]>>;
/** NFPA 70B: twelve months, six in poor condition; poor is Plan or worse (own rule). Days. */
export const LEGAL_MAXIMUM_DAYS = { usual: 365, poor: 182 } as const;
/** Common practice, no source. */
export const INTERVAL_RULES = { cleanToEndHalving: 2, cleanToLengthen: 6, lengthen: 1.5, shareOfForecast: 1 / 3 } as const;
/** Standby machines are blind after this many days, others after two intervals; common practice, no source. */
export const STANDBY_BLIND_DAYS = 60;
const DAY = 86_400_000;

/**
 * Readings needed between first sign and failure: ln(accepted)/ln(1 − detection). NAVAIR 00-25-403.
 * @param detection and @param accepted between 0 and 1, both ends excluded.
 * @returns a broken number above 0, or null out of range.
 * @example inspectionsNeeded(0.9, 0.001) // 3
 */
export function inspectionsNeeded(detection: number, accepted: number): number | null {
  if (!(detection > 0 && detection < 1 && accepted > 0 && accepted < 1)) return null;
  const needed = Math.log(accepted) / Math.log1p(-detection);
  return Number.isFinite(needed) ? needed : null;
}

/**
 * Interval: time from sign to failure over the whole readings needed (NAVAIR 00-25-403), at most half of it (reliability-centred
 * maintenance practice).
 * @param signToFailureDays above 0. @param detection and @param accepted as inspectionsNeeded.
 * @returns days, or null out of range.
 * @example readingInterval(180, 0.9, 0.001) // 60
 */
export function readingInterval(signToFailureDays: number, detection: number, accepted: number): number | null {
  const needed = inspectionsNeeded(detection, accepted);
  if (needed === null || !(signToFailureDays > 0) || !Number.isFinite(signToFailureDays)) return null;
  // A quotient of logarithms that should be whole may lie a breath above it.
  return signToFailureDays / Math.max(2, Math.ceil(needed - 1e-9));
}

/**
 * Chance that all readings miss the fault: (1 − detection)^readings.
 * @param detection 0 to 1. @param readings from 0.
 * @returns 0 to 1, or null out of range.
 * @example missProbability(0.7, 3) // 0.027
 */
export function missProbability(detection: number, readings: number): number | null {
  return detection >= 0 && detection <= 1 && readings >= 0 && Number.isFinite(readings) ? (1 - detection) ** readings : null;
}

/** What is to be acted on within days is not left alone for weeks (common practice, no source). */
const READ_AGAIN_DAYS = { soon: 7, now: 1 } as const;

/** What decides the next reading. Instants in epoch milliseconds. */
export interface NextReadingInput {
  readonly lastReadAt: number;
  /** Earliest date of the limit that counts; null: no forecast is shown. */
  readonly earliestAt: number | null;
  readonly signToFailureDays: number;
  readonly detection: number;
  readonly criticality: Criticality;
  /** Longest interval that law or insurer allow; null: none. */
  readonly legalMaximumDays: { readonly usual: number; readonly poor: number } | null;
  readonly grade: Grade;
  /** Clean readings in a row up to the last. */
  readonly cleanReadings: number;
  /** Stood at Watch or worse since the last reset, so that clean readings have to be earned. */
  readonly wasWatch: boolean;
  /** What like points show confirms the interval; without it nothing is lengthened. */
  readonly classConfirmed: boolean;
}

export interface NextReading {
  readonly at: number;
  readonly days: number;
  readonly because: 'interval' | 'halved' | 'grade' | 'lengthened' | 'forecast' | 'legal-maximum' | 'limit-may-be-reached';
  readonly sentence: string;
}

/**
 * When a point is read next, and why. The interval, halved from Watch on until two clean readings and lengthened by half after six,
 * never beyond half the time from sign to failure; then at most a third of the time to the earliest date, which is always stricter
 * than the half of it that is common too; then at most what law or insurer allow. The shortest decides and is named.
 *
 * @returns null when a figure is out of range.
 * @example nextReading({ lastReadAt: 0, earliestAt: null, signToFailureDays: 180, detection: 0.9, criticality: 'A',
 *   legalMaximumDays: LEGAL_MAXIMUM_DAYS, grade: 'fine', cleanReadings: 0, wasWatch: false, classConfirmed: false })?.days // 60
 */
export function nextReading(input: NextReadingInput): NextReading | null {
  const { lastReadAt, earliestAt, legalMaximumDays } = input;
  const base = readingInterval(input.signToFailureDays, input.detection, ACCEPTED_MISS[input.criticality]);
  if (base === null || !Number.isFinite(lastReadAt) || (earliestAt !== null && !Number.isFinite(earliestAt))) return null;
  const choices = [paced(base, input)];
  if (earliestAt !== null) choices.push(byForecast((earliestAt - lastReadAt) / DAY));
  if (legalMaximumDays !== null) {
    const isPoor = input.grade !== 'fine' && input.grade !== 'watch';
    const days = isPoor ? legalMaximumDays.poor : legalMaximumDays.usual;
    if (!(days > 0)) return null;
    const sentence = `Law or insurer allow at most ${days} days${isPoor ? ' in poor condition' : ''}.`;
    choices.push({ days, because: 'legal-maximum', sentence });
  }
  const chosen = choices.reduce((shortest, choice) => (choice.days < shortest.days ? choice : shortest));
  return { at: lastReadAt + chosen.days * DAY, ...chosen };
}

type Choice = Omit<NextReading, 'at'>;

function paced(base: number, { grade, cleanReadings, wasWatch, classConfirmed, signToFailureDays }: NextReadingInput): Choice {
  const soonest = grade === 'now' || grade === 'soon' ? READ_AGAIN_DAYS[grade] : null;
  if (soonest !== null && soonest < base / 2) {
    const within = soonest === 1 ? 'a day' : `${soonest} days`;
    return {
      days: soonest,
      because: 'grade',
      sentence: `At ${grade === 'now' ? 'Now' : 'Soon'} within ${within}, until the repair is proved.`,
    };
  }
  if (grade !== 'fine' || (wasWatch && cleanReadings < INTERVAL_RULES.cleanToEndHalving)) {
    return { days: base / 2, because: 'halved', sentence: 'Half the usual interval, until two clean readings in a row.' };
  }
  const longer = Math.min(base * INTERVAL_RULES.lengthen, signToFailureDays / 2);
  if (cleanReadings >= INTERVAL_RULES.cleanToLengthen && classConfirmed && longer > base) {
    return { days: longer, because: 'lengthened', sentence: 'Longer than usual, after six clean readings in a row.' };
  }
  return {
    days: base,
    because: 'interval',
    sentence: 'The usual interval, from the time such a fault takes to become a failure.',
  };
}

function byForecast(daysLeft: number): Choice {
  if (daysLeft <= 0) {
    return { days: 0, because: 'limit-may-be-reached', sentence: 'The limit may be reached already: read at once.' };
  }
  const sentence = 'A third of the time to the earliest date of the forecast.';
  return { days: daysLeft * INTERVAL_RULES.shareOfForecast, because: 'forecast', sentence };
}

/** How long a point has not been seen. */
export interface Unseen {
  readonly isBlind: boolean;
  /** Days beyond one interval, from 0: what the figure of blind days counts. */
  readonly daysBeyondInterval: number;
}

/**
 * Is a point a blind spot? No comparable reading for more than two intervals, standby machines for more than 60 days (common
 * practice, no source).
 * @param since last comparable reading, or since when the point is to be read; epoch milliseconds, like `at`.
 * @param intervalDays above 0.
 * @returns null when a figure is out of range.
 * @example unseen({ since: 0, at: 70 * 86_400_000, intervalDays: 30, isStandby: false }) // { isBlind: true, daysBeyondInterval: 40 }
 */
export function unseen(point: {
  readonly since: number;
  readonly at: number;
  readonly intervalDays: number;
  readonly isStandby: boolean;
}): Unseen | null {
  const days = (point.at - point.since) / DAY;
  if (!Number.isFinite(days) || !(point.intervalDays > 0)) return null;
  const blindAfter = point.isStandby ? STANDBY_BLIND_DAYS : 2 * point.intervalDays;
  return { isBlind: days > blindAfter, daysBeyondInterval: Math.max(0, days - point.intervalDays) };
}
