import { GRADE_WORDS } from '../limits/check.ts';
import { wakesAfter } from '../rounds/season.ts';
import { sayAbout, sayDate, sayDay, sayMonth } from '../time/say.ts';
import { differenceUnit, sayFigure, sayNumber, withUnit } from '../units/index.ts';
import type { Gate } from '../verdict/types.ts';
import type { Conclusion, LimitProjection } from './types.ts';

const DAY = 86_400_000;
/** No date further ahead than this, nor than three times the observed period. */
const FARTHEST_DAYS = 730;
const FAR_SPANS = 3;
/** A point that was not read for so long tells nothing about the present. */
const LONG_AGO = 90 * DAY;

const limitWords = (projection: LimitProjection, unit: string): string => withUnit(sayFigure(projection.limit), unit);

/** May this instant be named as a date at all? */
function isNameable(at: number, projection: LimitProjection): boolean {
  const { cutAt, spanDays, awakeDays, earliestAt, likelyAt } = projection;
  const days = (at - cutAt) / DAY;
  if (days > FARTHEST_DAYS) return false;
  // The observed period of a point that sleeps is told in days awake, so what lies ahead of it is too.
  const which = at === earliestAt ? 'earliest' : at === likelyAt ? 'likely' : 'latest';
  return (awakeDays?.[which] ?? days) <= FAR_SPANS * spanDays;
}

/** Where and when something is said: years that differ from the present one are named. */
interface Telling {
  readonly zone: string;
  /** The present; null where it is not known: then the last reading is the present. */
  readonly now: number | null;
}

/** The year that needs no saying. */
const yearOf = ({ now }: Telling, else_: number): number => now ?? else_;

/**
 * A projection in words: dates only as fine as they are known, none beyond two years or three times the observed period, and
 * how probable it is that anything moves. No projection gives the reason.
 *
 * @param unit of the limit.
 * @param zone of the site.
 * @param now the present: dates that have passed are said to have passed, and other years are named.
 * @param lastReadAt the last reading of any kind, where it is later than the last comparable one.
 * @example sayProjection(projection, '°C', 'Europe/Dublin') // 'Likely at 90 °C between 30 April and 9 May (80 %), about 4 May. …'
 */
export function sayProjection(
  projection: LimitProjection,
  unit: string,
  zone: string,
  now: number | null = null,
  lastReadAt: number = projection.cutAt,
): string {
  const limit = limitWords(projection, unit);
  const telling: Telling = { zone, now };
  const apart = sayApart(projection, unit);
  if (projection.show === 'none') return `${sayReason(projection, unit, telling)}${apart}`;
  const passed = sayPassed(projection, limit, telling, lastReadAt);
  if (passed !== null) return `It ${passed}.`;
  const moving = projection.probabilityMoving ?? 0;
  const probability = withUnit(sayNumber(Math.min(99, Math.floor(moving * 100)), 0), '%');
  return `${sayDates(projection, limit, telling)} It moves with ${probability} probability.${apart}`;
}

/** " The last 2 readings lie 14 K above …": what the projection leans on little, so that nobody takes its dates for theirs. */
function sayApart({ apart, direction }: LimitProjection, unit: string): string {
  if (apart == null) return '';
  const which = apart.readings === 1 ? 'The last reading lies' : `The last ${apart.readings} readings lie`;
  const size = Math.abs(apart.by);
  const by = withUnit(sayNumber(size, size < 1 ? 2 : size < 10 ? 1 : 0), differenceUnit(unit));
  const whence = `${which} ${by} ${apart.by > 0 ? 'above' : 'below'} what those before say, far more than readings scatter here`;
  const count = apart.readings === 1 ? 'hardly counts' : 'hardly count';
  const nearer = direction === 'high' ? apart.by > 0 : apart.by < 0;
  return ` ${whence}, and ${count} yet.${nearer ? ' Read it again: if it stays there, the limit comes sooner.' : ''}`;
}

/** The trend as it stands at a moment: a point out of its season is asleep. */
export function trendAt(
  { trend, seasons }: Pick<Conclusion, 'trend' | 'seasons'>,
  zone: string,
  now: number,
): Conclusion['trend'] | 'asleep' {
  return wakesAfter(seasons ?? null, now, zone) === null ? trend : 'asleep';
}

/** "asleep until 1 May"; the first of its seasons to begin. */
function saySleep(seasons: Conclusion['seasons'], { zone, now }: Telling): string | null {
  const wakesAt = now === null ? null : wakesAfter(seasons ?? null, now, zone);
  return wakesAt === null ? null : `asleep until ${sayDay(wakesAt, zone, now ?? undefined)}`;
}

/** "was expected at … and has not been read since …: read it now", when every date that may be named has passed; else null. */
function sayPassed(projection: LimitProjection, limit: string, telling: Telling, lastReadAt: number): string | null {
  const { show, latestAt, likelyAt, cutAt, precisionDays } = projection;
  const { zone, now } = telling;
  if (now === null || show !== 'range' || likelyAt === null) return null;
  const isLatestNamed = latestAt !== null && isNameable(latestAt, projection);
  const last = isLatestNamed ? latestAt : likelyAt;
  if (last >= now) return null;
  const date = `${isLatestNamed ? 'by' : 'about'} ${sayAbout(last, zone, precisionDays ?? 1, now)}`;
  const since = lastReadAt > cutAt ? 'could not be judged since' : 'has not been read since';
  return `was expected at ${limit} ${date} and ${since} ${sayDay(cutAt, zone, now)}: read it now`;
}

/** Is the earliest date no longer ahead, so that it promises nothing? */
const hasBegun = (earliestAt: number | null, cutAt: number, now: number | null): boolean =>
  earliestAt === null || earliestAt <= Math.max(cutAt, now ?? cutAt);

function sayDates(projection: LimitProjection, limit: string, telling: Telling): string {
  const { show, cutAt, earliestAt, likelyAt, latestAt, precisionDays } = projection;
  const { zone } = telling;
  const sure = `(90${'\u202f'}%)`;
  const earliest = earliestAt ?? cutAt;
  const begun = hasBegun(earliestAt, cutAt, telling.now);
  const year = yearOf(telling, cutAt);
  const about = (at: number): string => sayAbout(at, zone, precisionDays ?? 1, year);
  if (show === 'range' && likelyAt !== null) {
    if (latestAt !== null && isNameable(latestAt, projection)) {
      return begun
        ? `Likely at ${limit} by ${about(latestAt)} (90${'\u202f'}%), about ${about(likelyAt)}, perhaps already.`
        : `Likely at ${limit} between ${about(earliest)} and ${about(latestAt)} (80${'\u202f'}%), about ${about(likelyAt)}.`;
    }
    const begin = begun ? `Perhaps already at ${limit}` : `Not at ${limit} before ${about(earliest)} ${sure}`;
    return `${begin}, likely about ${about(likelyAt)}, or not at all.`;
  }
  const before = begun
    ? `perhaps already at ${limit}`
    : isNameable(earliest, projection)
      ? `not before ${sayDate(earliest, zone, year)} ${sure}`
      : null;
  if (show === 'far') {
    const way = projection.direction === 'high' ? 'Rising' : 'Falling';
    return `${way}; ${limit} lies further ahead than three times the observed period${before === null ? '' : `; ${before}`}.`;
  }
  if (begun) return `Perhaps already at ${limit}.`;
  return before === null
    ? `Not expected at ${limit} within three times the observed period ${sure}.`
    : `Not expected at ${limit} before ${sayDate(earliest, zone, year)} ${sure}.`;
}

/** Why there is no forecast. */
function sayReason(projection: LimitProjection, unit: string, telling: Telling): string {
  const limit = limitWords(projection, unit);
  const word = GRADE_WORDS[projection.grade];
  switch (projection.reason) {
    case null:
    case 'too-few-readings':
      return `Too few readings for a forecast (${projection.readingCount} of 3).`;
    case 'span-too-short':
      return 'No forecast: all readings are of one day.';
    case 'over-limit':
      return sayBeyond(projection, unit, 'it') ?? `The ${word} limit of ${limit} is reached.`;
    case 'limit-at-baseline':
      return `No forecast: the ${word} limit of ${limit} lies where this point began, or ${projection.direction === 'high' ? 'below' : 'above'} it. Check the limit.`;
    case 'no-usable-trend':
      return projection.stepAt === null
        ? `No forecast: nothing moves towards ${limit}.`
        : `The level changed about ${sayDate(projection.stepAt, telling.zone, yearOf(telling, projection.cutAt))} and has held since. Was there work on this point?`;
    case 'beyond-horizon':
      return `Moving, but ${limit} lies far beyond what these readings can tell.`;
  }
}

/** A limit that is reached at reference conditions while the figure read is not there; null where it is no such projection. */
function sayBeyond({ grade, limit, reason, lastRead }: LimitProjection, unit: string, name: string): string | null {
  if (reason !== 'over-limit' || !lastRead) return null;
  const at = `the ${GRADE_WORDS[grade]} limit of ${withUnit(sayFigure(limit), unit)}`;
  const value = withUnit(sayFigure(lastRead.value, unit === 'mm/s' || unit === 'bar' || unit === 'V' ? 2 : 1), unit);
  if (lastRead.loadPercent === null) return `All readings together put ${name} at ${at} already; the last one is ${value}.`;
  const percent = (load: number): string => withUnit(sayNumber(load, 0), '%');
  const reference = `At its reference load of ${percent(lastRead.referenceLoadPercent)} ${name} would be at ${at} already`;
  return `${reference}; at ${percent(lastRead.loadPercent)} it reads ${value}.`;
}

/** The trend as it is written behind a figure. */
export const TREND_WORDS: Readonly<Record<NonNullable<Conclusion['trend']> | 'asleep', string>> = {
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
 * @param now the present: other years are named, and a "not before" that has passed promises nothing any more.
 */
export function timetable(conclusion: Conclusion, zone: string, now: number | null = null): TimetableRow[] {
  const rows: TimetableRow[] = [];
  for (const projection of conclusion.projections) {
    const limit = limitWords(projection, conclusion.unit);
    const grade = GRADE_WORDS[projection.grade];
    const counts = projection.grade === conclusion.countsGrade;
    const precise = (projection.precisionDays ?? 1) <= 3.5;
    const add = (at: number | null, title: string, detail: string): void => {
      if (at === null || !isNameable(at, projection)) return;
      const year = yearOf({ zone, now }, projection.cutAt);
      const date = precise ? sayDate(at, zone, year) : sayAbout(at, zone, projection.precisionDays ?? 1, year);
      rows.push({ at, date, title, detail });
    };
    if (projection.show === 'range') {
      if (counts) add(projection.earliestAt, `earliest at ${limit}`, `from then on: ${grade}`);
      add(projection.likelyAt, `likely at ${limit}`, counts ? '' : `from then on: ${grade}`);
      if (counts) add(projection.latestAt, `latest at ${limit}`, '');
    } else if (
      projection.show !== 'none' &&
      counts &&
      !(now !== null && hasBegun(projection.earliestAt, projection.cutAt, now))
    ) {
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
 * judged, else that nothing is near a limit. A limit that is reached at reference conditions only, and a point that was not read
 * for long, are no such thing.
 * @param asset its name as it is spoken.
 * @param now the present: other years are named, dates that have passed are said to have passed, and so is a long silence.
 * @example openingSentence({ name: 'Ironer main drive' }, points, 'Europe/Dublin') // 'The gearbox bearing likely reaches 90 °C between 30 April and 9 May.'
 */
export function openingSentence(
  asset: { readonly name: string },
  points: readonly PointInWords[],
  zone: string,
  now: number | null = null,
): string {
  const telling: Telling = { zone, now };
  const read = points.filter(({ conclusion }) => conclusion.latest !== null);
  if (read.length === 0) return `${asset.name} has not been read yet.`;
  const standing = (grade: string): PointInWords | undefined =>
    read.find(({ conclusion }) => conclusion.standing?.grade === grade);
  const worst = standing('now');
  if (worst !== undefined) return sayStanding(worst, telling);
  const ahead = firstAhead(read.filter(({ conclusion }) => saySleep(conclusion.seasons, telling) === null));
  if (ahead !== null) return sayAhead(ahead.point, ahead.projection, telling);
  const soon = standing('soon');
  if (soon !== undefined) return sayStanding(soon, telling);
  for (const { name, conclusion } of read) {
    const counting = conclusion.projections.find(({ grade }) => grade === conclusion.countsGrade);
    const beyond = counting === undefined ? null : sayBeyond(counting, conclusion.unit, inSentence(name));
    if (beyond !== null) return beyond;
  }
  const mild = standing('plan') ?? standing('watch');
  if (mild !== undefined) return sayStanding(mild, telling);
  const sleeps = read.map(({ conclusion }) => saySleep(conclusion.seasons, telling));
  if (sleeps[0] != null && sleeps.every((sleep) => sleep !== null)) return `${asset.name} is ${sleeps[0]}.`;
  return sayFine(asset, points, telling);
}

function sayFine(asset: { readonly name: string }, points: readonly PointInWords[], { zone, now }: Telling): string {
  const read = points.filter(({ conclusion }) => conclusion.latest !== null);
  const readAt = ({ conclusion }: PointInWords): number => conclusion.latest?.takenAt ?? 0;
  const fine = read.filter(
    ({ conclusion }) => conclusion.standing?.grade === 'fine' && conclusion.latest?.verdict.grade !== null,
  );
  // Work that no reading has proved is no good news, however well the other points do.
  const unproved = read.filter(({ conclusion }) => conclusion.isProofAwaited);
  const proof =
    unproved.length > 1
      ? `${unproved.length} points wait for readings that prove the work on them`
      : unproved.map(({ name }) => `${spoken(name)} waits for a reading that proves the work on it`)[0];
  if (fine.length === 0) return proof ? `${proof}.` : `Nothing could be judged at the last reading of ${asset.name}.`;
  const fresh = fine.filter((point) => now === null || now - readAt(point) <= LONG_AGO);
  if (fresh.length === 0 && proof === undefined)
    return `Not read since ${sayDay(Math.max(...read.map(readAt)), zone, now ?? undefined)}.`;
  const last = sayDate(Math.max(...fresh.map(readAt)), zone, now ?? undefined);
  const count = fresh.length === 1 ? 'one point is' : `${fresh.length} points are`;
  if (proof !== undefined) return `${proof}${fresh.length === 0 ? '' : `; ${count} fine, last read on ${last}`}.`;
  const stale = fine.filter((point) => !fresh.includes(point));
  const silent =
    stale.length === 0
      ? ''
      : `, ${stale.length} not read since ${sayDay(Math.min(...stale.map(readAt)), zone, now ?? undefined)}`;
  const rest = points.length - fine.length;
  const others = rest === 0 ? '' : `, ${rest} without a judged reading`;
  return `Nothing is near a limit: ${count} fine${silent}${others}, last read on ${last}.`;
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

function sayAhead({ name, conclusion }: PointInWords, projection: LimitProjection, telling: Telling): string {
  const limit = limitWords(projection, conclusion.unit);
  const verb = projection.direction === 'high' ? 'likely reaches' : 'likely falls to';
  const { earliestAt, latestAt, likelyAt, cutAt } = projection;
  const passed = sayPassed(projection, limit, telling, conclusion.latest?.takenAt ?? cutAt);
  if (passed !== null) return `${spoken(name)} ${passed}.`;
  const year = yearOf(telling, cutAt);
  const about = (at: number): string => sayAbout(at, telling.zone, projection.precisionDays ?? 1, year);
  const begun = earliestAt === null || hasBegun(earliestAt, cutAt, telling.now);
  if (latestAt !== null && isNameable(latestAt, projection)) {
    if (begun) return `${spoken(name)} ${verb} ${limit} by ${about(latestAt)}, perhaps already now.`;
    const [from, until] = [about(earliestAt), about(latestAt)];
    // "between late May and late May" says less than it seems to.
    if (from === until) return `${spoken(name)} ${verb} ${limit} about ${from}.`;
    return `${spoken(name)} ${verb} ${limit} between ${from} and ${until}.`;
  }
  const may = projection.direction === 'high' ? 'may reach' : 'may fall to';
  const likely = likelyAt === null ? '' : `, about ${about(likelyAt)}`;
  return begun
    ? `${spoken(name)} ${may} ${limit} any day${likely}.`
    : `${spoken(name)} ${may} ${limit} from ${about(earliestAt)} on${likely}.`;
}

function sayStanding({ name, conclusion }: PointInWords, telling: Telling): string {
  const { standing, latest, decimals, latestComparable } = conclusion;
  const grade = standing === null ? '' : GRADE_WORDS[standing.grade];
  const because = latest?.verdict.because ?? null;
  if (standing === null || latest === null) return `${spoken(name)} has not been judged yet.`;
  const year = yearOf(telling, latest.takenAt);
  const since = sayDay(standing.since, telling.zone, year);
  if (standing.isHeld && latestComparable !== null) {
    return `${spoken(name)} stands at ${grade} since ${since}; the last reading is better, the next one decides.`;
  }
  if (latest.verdict.grade === null || because === null || because.limit === null || because.limitGrade === null) {
    return `${spoken(name)} stands at ${grade} since ${since}; the last reading could not be judged.`;
  }
  // A figure that was brought to the reference load is not one that was read.
  const at = because.band === null ? '' : ' at reference load';
  const value = `${withUnit(sayNumber(because.value, decimals), because.unit)}${at}`;
  const limit = withUnit(sayFigure(because.limit), because.unit);
  const on = sayDate(latest.takenAt, telling.zone, year);
  const reserve = latest.verdict.check !== null || latest.verdict.atLeast ? ', to be read again' : '';
  return `${spoken(name)} was at ${value} on ${on}; its ${GRADE_WORDS[because.limitGrade]} limit is ${limit}${reserve}.`;
}

/** "Gearbox bearing" → "the gearbox bearing"; names that begin with an abbreviation keep it. */
function inSentence(name: string): string {
  const trimmed = name.trim();
  const lower = /^\p{Lu}\p{Ll}/u.test(trimmed) ? trimmed.charAt(0).toLowerCase() + trimmed.slice(1) : trimmed;
  return /^the /i.test(lower) ? lower : `the ${lower}`;
}

/** The same at the beginning of a sentence. */
function spoken(name: string): string {
  const said = inSentence(name);
  return said.charAt(0).toUpperCase() + said.slice(1);
}

const LEFT_OUT: Readonly<Record<Gate, string>> = {
  'not-running': 'it was not running',
  'quantity-missing': 'a value was missing',
  'load-missing': 'the load was not read',
  'load-too-low': 'the load was too low',
  'load-too-high': 'the load was too high',
  'ambient-missing': 'the room was not read',
  'base-missing': 'there was no base yet',
  'emissivity-unreliable': 'the emissivity could not be relied on',
  'target-too-small': 'the target was too small',
  'not-steady': 'it had not run long enough',
  'after-regreasing': 'it had just been greased',
  'sun-too-weak': 'the sun was too weak',
  'too-windy': 'it was too windy',
  'difference-too-small': 'the temperatures lay too close together',
  'twin-missing': 'its twin was not read',
  'nothing-before': 'there was nothing to compare with',
};

/**
 * What a conclusion rests on: readings used, those left out and why, and since when.
 * @example sayEvidence(conclusion, 'Europe/Dublin', now) // 'Rests on 9 comparable readings. 3 were left out: 2 because the load was not read, 1 because it was not running.'
 */
export function sayEvidence(
  conclusion: Pick<Conclusion, 'comparableCount' | 'leftOut' | 'reset' | 'seasons'>,
  zone: string,
  now: number | null = null,
): string {
  const { comparableCount, leftOut = [], reset } = conclusion;
  const readings = `${comparableCount === 0 ? 'no' : comparableCount} comparable ${comparableCount === 1 ? 'reading' : 'readings'}`;
  const since = reset === null ? '' : ` since the work of ${sayDay(reset.at, zone, now ?? undefined)}`;
  const rests = `Rests on ${readings}${since}.${saySeasons(conclusion.seasons, { zone, now })}`;
  const count = leftOut.reduce((sum, one) => sum + one.count, 0);
  if (count === 0) return rests;
  const [only] = leftOut;
  const causes =
    leftOut.length === 1
      ? ` because ${LEFT_OUT[only!.gate]}`
      : `: ${leftOut.map((one) => `${one.count} because ${LEFT_OUT[one.gate]}`).join(', ')}`;
  return `${rests} ${count} ${count === 1 ? 'was' : 'were'} left out${causes}.`;
}

/** " Only the time awake counts, May to September; asleep until 1 May.": empty for a point that is awake all year. */
function saySeasons(seasons: Conclusion['seasons'], telling: Telling): string {
  if (seasons == null || seasons.length === 0) return '';
  const spans = seasons.map(({ fromMonth, toMonth }) =>
    fromMonth === toMonth ? sayMonth(fromMonth) : `${sayMonth(fromMonth)} to ${sayMonth(toMonth)}`,
  );
  const sleep = saySleep(seasons, telling);
  return ` Only the time awake counts, ${[...new Set(spans)].join(' and ')}${sleep === null ? '' : `; ${sleep}`}.`;
}
