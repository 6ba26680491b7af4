import { GRADE_WORDS } from '../limits/check.ts';
import { sayAbout, sayDate, sayDay } from '../time/say.ts';
import { sayFigure, sayNumber, withUnit } from '../units/index.ts';
import type { Conclusion, LimitProjection } from './types.ts';

const DAY = 86_400_000;
/** No date further ahead than this, nor than three times the observed period. */
const FARTHEST_DAYS = 730;
const FAR_SPANS = 3;

const limitWords = (projection: LimitProjection, unit: string): string => withUnit(sayFigure(projection.limit), unit);

/** May this instant be named as a date at all? */
function isNameable(at: number, { cutAt, spanDays }: LimitProjection): boolean {
  const days = (at - cutAt) / DAY;
  return days <= FARTHEST_DAYS && days <= FAR_SPANS * spanDays;
}

/**
 * A projection in words: dates only as fine as they are known, none beyond two years or three times the observed period, and
 * how probable it is that anything moves. No projection gives the reason.
 *
 * @param unit of the limit.
 * @param zone of the site.
 * @param now when given, dates that have passed are said to have passed.
 * @example sayProjection(projection, '°C', 'Europe/Dublin') // 'Likely at 90 °C between 30 April and 9 May (80 %), about 4 May. …'
 */
export function sayProjection(projection: LimitProjection, unit: string, zone: string, now?: number): string {
  const limit = limitWords(projection, unit);
  if (projection.show === 'none') return sayReason(projection, unit, zone);
  const moving = projection.probabilityMoving ?? 0;
  const sentences = [
    sayDates(projection, limit, zone),
    `It moves with ${withUnit(sayNumber(Math.min(99, Math.floor(moving * 100)), 0), '%')} probability.`,
  ];
  const lastNamed = projection.show === 'range' ? (projection.latestAt ?? projection.likelyAt) : null;
  if (now !== undefined && lastNamed !== null && lastNamed < now) sentences.push('These dates have passed: read it again.');
  return sentences.join(' ');
}

function sayDates(projection: LimitProjection, limit: string, zone: string): string {
  const { show, cutAt, earliestAt, likelyAt, latestAt, precisionDays } = projection;
  const sure = `(90${'\u202f'}%)`;
  const earliest = earliestAt ?? cutAt;
  const about = (at: number): string => sayAbout(at, zone, precisionDays ?? 1, cutAt);
  if (show === 'range' && likelyAt !== null) {
    if (latestAt !== null && isNameable(latestAt, projection)) {
      return earliest <= cutAt
        ? `Likely at ${limit} by ${about(latestAt)} (90${'\u202f'}%), about ${about(likelyAt)}, perhaps already.`
        : `Likely at ${limit} between ${about(earliest)} and ${about(latestAt)} (80${'\u202f'}%), about ${about(likelyAt)}.`;
    }
    const begin = earliest <= cutAt ? `Perhaps already at ${limit}` : `Not at ${limit} before ${about(earliest)} ${sure}`;
    return `${begin}, likely about ${about(likelyAt)}, or not at all.`;
  }
  const before =
    earliest <= cutAt
      ? `perhaps already at ${limit}`
      : isNameable(earliest, projection)
        ? `not before ${sayDate(earliest, zone, cutAt)} ${sure}`
        : null;
  if (show === 'far') {
    const way = projection.direction === 'high' ? 'Rising' : 'Falling';
    return `${way}; ${limit} lies further ahead than three times the observed period${before === null ? '' : `; ${before}`}.`;
  }
  if (earliest <= cutAt) return `Perhaps already at ${limit}.`;
  return before === null
    ? `Not expected at ${limit} within three times the observed period ${sure}.`
    : `Not expected at ${limit} before ${sayDate(earliest, zone, cutAt)} ${sure}.`;
}

/** Why there is no forecast. */
function sayReason(projection: LimitProjection, unit: string, zone: string): string {
  const limit = limitWords(projection, unit);
  const word = GRADE_WORDS[projection.grade];
  switch (projection.reason) {
    case null:
    case 'too-few-readings':
      return `Too few readings for a forecast (${projection.readingCount} of 3).`;
    case 'span-too-short':
      return 'No forecast: all readings are of one day.';
    case 'over-limit':
      return `The ${word} limit of ${limit} is reached.`;
    case 'limit-at-baseline':
      return `No forecast: the ${word} limit of ${limit} lies where this point began, or ${projection.direction === 'high' ? 'below' : 'above'} it. Check the limit.`;
    case 'no-usable-trend':
      return projection.stepAt === null
        ? `No forecast: nothing moves towards ${limit}.`
        : `The level changed about ${sayDate(projection.stepAt, zone, projection.cutAt)} and has held since. Was there work on this point?`;
    case 'beyond-horizon':
      return `Moving, but ${limit} lies far beyond what these readings can tell.`;
  }
}

/** The trend as it is written behind a figure. */
export const TREND_WORDS: Readonly<Record<NonNullable<Conclusion['trend']>, string>> = {
  steady: 'steady',
  creeping: 'creeping',
  'running-away': 'running away',
  jumped: 'jumped',
  asleep: 'asleep',
};

/** One line of the timetable ahead. */
export interface TimetableRow {
  readonly at: number;
  /** The date as it may be said, such as "Tue 28 April" or "mid May". */
  readonly date: string;
  readonly title: string;
  /** What follows from it; empty where nothing does. */
  readonly detail: string;
}

/**
 * What lies ahead of a point, in order of time: likely date of each limit, earliest and latest of the one that counts.
 * Also the text alternative of the fan. Only what may be shown: no date finer than it is known, none too far ahead.
 */
export function timetable(conclusion: Conclusion, zone: string): TimetableRow[] {
  const rows: TimetableRow[] = [];
  for (const projection of conclusion.projections) {
    const limit = limitWords(projection, conclusion.unit);
    const grade = GRADE_WORDS[projection.grade];
    const counts = projection.grade === conclusion.countsGrade;
    const precise = (projection.precisionDays ?? 1) <= 3.5;
    const add = (at: number | null, title: string, detail: string): void => {
      if (at === null || !isNameable(at, projection)) return;
      const date = precise
        ? sayDate(at, zone, projection.cutAt)
        : sayAbout(at, zone, projection.precisionDays ?? 1, projection.cutAt);
      rows.push({ at, date, title, detail });
    };
    if (projection.show === 'range') {
      if (counts) add(projection.earliestAt, `earliest at ${limit}`, `from then on: ${grade}`);
      add(projection.likelyAt, `likely at ${limit}`, counts ? '' : `from then on: ${grade}`);
      if (counts) add(projection.latestAt, `latest at ${limit}`, '');
    } else if (projection.show !== 'none' && counts) {
      add(projection.earliestAt, `not before this at ${limit}`, `then perhaps: ${grade}`);
    }
  }
  return rows.sort((a, b) => a.at - b.at || (a.title < b.title ? -1 : 1));
}

/** A point of an asset with what is known about it. */
export interface PointInWords {
  readonly name: string;
  readonly conclusion: Conclusion;
}

/**
 * The sentence that opens the page of an asset, true as it stands and fit for the radio. The worst thing first: a limit Now or
 * Soon reached without a date ahead, else the first limit a forecast may name, else the worst limit reached, else what is not
 * judged, else that nothing is near a limit.
 * @param asset its name as it is spoken.
 * @example openingSentence({ name: 'Ironer main drive' }, points, 'Europe/Dublin') // 'The gearbox bearing reaches 90 °C between 30 April and 9 May.'
 */
export function openingSentence(asset: { readonly name: string }, points: readonly PointInWords[], zone: string): string {
  const read = points.filter(({ conclusion }) => conclusion.latest !== null);
  if (read.length === 0) return `${asset.name} has not been read yet.`;
  const standing = (grade: string): PointInWords | undefined =>
    read.find(({ conclusion }) => conclusion.standing?.grade === grade);
  const now = standing('now');
  if (now !== undefined) return sayStanding(now, zone);
  const ahead = firstAhead(read);
  if (ahead !== null) return sayAhead(ahead.point, ahead.projection, zone);
  const worst = standing('soon') ?? standing('plan') ?? standing('watch');
  if (worst !== undefined) return sayStanding(worst, zone);
  const fine = read.filter(
    ({ conclusion }) => conclusion.standing?.grade === 'fine' && conclusion.latest?.verdict.grade !== null,
  );
  const rest = points.length - fine.length;
  if (fine.length === 0) {
    const proof = read.find(({ conclusion }) => conclusion.isProofAwaited);
    if (proof !== undefined) return `${spoken(proof.name)} waits for a reading that proves the work on it.`;
    return `Nothing could be judged at the last reading of ${asset.name}.`;
  }
  const last = Math.max(...fine.map(({ conclusion }) => conclusion.latest?.takenAt ?? 0));
  const counted = fine.length === 1 ? 'one point is' : `${fine.length} points are`;
  const others = rest === 0 ? '' : `, ${rest} without a judged reading`;
  return `Nothing is near a limit: ${counted} fine${others}, last read on ${sayDate(last, zone)}.`;
}

/** The first limit ahead by its earliest date, among those a screen may name a range or a likely date for. */
function firstAhead(points: readonly PointInWords[]): { point: PointInWords; projection: LimitProjection } | null {
  let first: { point: PointInWords; projection: LimitProjection } | null = null;
  for (const point of points) {
    const { projections, countsGrade } = point.conclusion;
    const projection = projections.find(({ grade }) => grade === countsGrade);
    if (projection?.show !== 'range' || projection.earliestAt === null) continue;
    if (first === null || projection.earliestAt < (first.projection.earliestAt ?? 0)) first = { point, projection };
  }
  return first;
}

function sayAhead({ name, conclusion }: PointInWords, projection: LimitProjection, zone: string): string {
  const limit = limitWords(projection, conclusion.unit);
  const verb = projection.direction === 'high' ? 'reaches' : 'falls to';
  const { earliestAt, latestAt, likelyAt, cutAt } = projection;
  const about = (at: number): string => sayAbout(at, zone, projection.precisionDays ?? 1, cutAt);
  const begins = earliestAt === null || earliestAt <= cutAt;
  if (latestAt !== null && isNameable(latestAt, projection)) {
    if (begins) return `${spoken(name)} ${verb} ${limit} by ${about(latestAt)}, perhaps already now.`;
    const [from, until] = [about(earliestAt), about(latestAt)];
    // "between late May and late May" says less than it seems to.
    if (from === until) return `${spoken(name)} ${verb} ${limit} about ${from}.`;
    return `${spoken(name)} ${verb} ${limit} between ${from} and ${until}.`;
  }
  const may = projection.direction === 'high' ? 'may reach' : 'may fall to';
  const likely = likelyAt === null ? '' : `, about ${about(likelyAt)}`;
  return begins
    ? `${spoken(name)} ${may} ${limit} any day${likely}.`
    : `${spoken(name)} ${may} ${limit} from ${about(earliestAt)} on${likely}.`;
}

function sayStanding({ name, conclusion }: PointInWords, zone: string): string {
  const { standing, latest, decimals, latestComparable } = conclusion;
  const grade = standing === null ? '' : GRADE_WORDS[standing.grade];
  const because = latest?.verdict.because ?? null;
  if (standing === null || latest === null) return `${spoken(name)} has not been judged yet.`;
  if (standing.isHeld && latestComparable !== null) {
    return `${spoken(name)} stands at ${grade} since ${sayDay(standing.since, zone, latest.takenAt)}; the last reading is better, the next one decides.`;
  }
  if (latest.verdict.grade === null || because === null || because.limit === null || because.limitGrade === null) {
    return `${spoken(name)} stands at ${grade} since ${sayDay(standing.since, zone, latest.takenAt)}; the last reading could not be judged.`;
  }
  const value = withUnit(sayNumber(because.value, decimals), because.unit);
  const limit = withUnit(sayFigure(because.limit), because.unit);
  const on = sayDate(latest.takenAt, zone);
  const reserve = latest.verdict.check !== null || latest.verdict.atLeast ? ', to be read again' : '';
  return `${spoken(name)} was at ${value} on ${on}; its ${GRADE_WORDS[because.limitGrade]} limit is ${limit}${reserve}.`;
}

/** "Gearbox bearing" → "The gearbox bearing"; names that begin with an abbreviation keep it. */
function spoken(name: string): string {
  const trimmed = name.trim();
  const lower = /^\p{Lu}\p{Ll}/u.test(trimmed) ? trimmed.charAt(0).toLowerCase() + trimmed.slice(1) : trimmed;
  return /^the /i.test(lower) ? lower.charAt(0).toUpperCase() + lower.slice(1) : `The ${lower}`;
}
