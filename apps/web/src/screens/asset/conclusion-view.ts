import type { AssetPage, PointPage } from '@heatround/contract';
import {
  type LimitProjection,
  nextReadingOf,
  openingSentence,
  sayDay,
  sayProjection,
  type TimetableRow,
  TREND_WORDS,
  timetable,
  trendAt,
} from '@heatround/domain';
import { sayCount, sayLimit, sayUnit, sayValue, sentenceCase, whenReadAmong } from '../../ui/format.ts';
import { GRADE_WORDS } from '../../ui/marks.tsx';

const DAY = 86_400_000;
const WEEK = 7 * DAY;

/** The one sentence of the page. What is not concluded yet is said so, never guessed. */
export function sayOpening(page: AssetPage, now: number): string {
  const known = page.points.flatMap(({ point, conclusion }) => (conclusion === null ? [] : [{ name: point.name, conclusion }]));
  if (page.points.length === 0) return `${page.name} has no point to read yet.`;
  if (known.length === 0) {
    return page.points.some((one) => one.readings.length > 0)
      ? `${page.name} was read; what follows from it is being worked out.`
      : `${page.name} has not been read yet.`;
  }
  return openingSentence({ name: page.name }, known, page.place.zone, now);
}

export interface View {
  /** The limit that counts, as far as it may be shown. */
  readonly counting: LimitProjection | null;
  readonly rows: readonly TimetableRow[];
  /** The forecast in words, or why there is none. */
  readonly words: string;
  /** A fan may be drawn. */
  readonly isDrawn: boolean;
  /** End of the panel ahead. */
  readonly to: number;
}

/** What may be shown ahead of a point. */
export function lookAhead(at: PointPage, zone: string, now: number): View {
  const { conclusion, point } = at;
  const counting = conclusion?.projections.find((one) => one.grade === conclusion.countsGrade) ?? null;
  const rows = conclusion === null ? [] : timetable(conclusion, zone, now).filter((row) => row.at >= now);
  // A forecast whose dates have all passed has nothing ahead to draw; its sentence says that they passed.
  const isPast = counting !== null && counting.latestAt !== null && counting.latestAt <= now;
  const isDrawn = counting !== null && counting.show === 'range' && !isPast;
  const last = counting === null ? now : Math.max(counting.latestAt ?? 0, counting.likelyAt ?? 0, counting.earliestAt ?? 0);
  const reach = isDrawn ? Math.min(last + Math.max(WEEK, (last - now) * 0.45), now + 104 * WEEK) : now;
  const to = Math.max(now + 4 * WEEK, reach);
  const words =
    conclusion === null
      ? at.readings.length === 0
        ? 'No forecast because nothing was read yet.'
        : 'The forecast is being worked out.'
      : counting !== null
        ? sayProjection(counting, point.unit, zone, now, conclusion.latest?.takenAt)
        : at.limits.length === 0
          ? 'No forecast because no limits are set here yet.'
          : conclusion.comparableCount === 0
            ? 'No forecast because no reading could be compared yet.'
            : 'No forecast because every limit from Plan upwards is reached.';
  return { counting, rows, words, isDrawn, to };
}

/** When a point was read, as far as it counts. */
export const timesOf = (at: PointPage): string[] => at.readings.filter((row) => row.counts).map((row) => row.takenAt);

/** Value today, trend and how sure: the line behind the grade. */
export function sayTrend(page: AssetPage, at: PointPage, now: number): string {
  const { point } = at;
  const last = at.readings.find((row) => row.counts && row.value !== null) ?? null;
  const pieces: string[] = [];
  if (last?.value != null) {
    const figure = last.verdict?.because?.value ?? last.value;
    const limit = last.verdict?.because?.limit ?? null;
    const grade = last.verdict?.because?.limitGrade ?? null;
    const isJudged = last.comparability !== 'not-judged';
    const beside = !isJudged
      ? ', not judged'
      : limit === null || grade === null
        ? ''
        : `, limit ${sayLimit(limit)} for ${GRADE_WORDS[grade]}`;
    pieces.push(
      `${sayValue(figure, point.decimals)}${sayUnit(point.unit)} ${onDay(whenReadAmong(last.takenAt, timesOf(at), page.place.zone, now))}${beside}.`,
    );
  }
  pieces.push(...trendWords(at, page.place.zone, now));
  return pieces.join(' ');
}

export function trendWords({ conclusion, isBehind }: PointPage, zone: string, now: number): string[] {
  const pieces: string[] = [];
  if (conclusion?.standing?.isHeld) pieces.push('Better at the last reading; the next one decides.');
  if (conclusion?.isProofAwaited) pieces.push('Work was done; a reading has to prove it.');
  const trend = conclusion === null ? null : trendAt(conclusion, zone, now);
  if (trend !== null) pieces.push(`${sentenceCase(TREND_WORDS[trend])}.`);
  const counting = conclusion?.projections.find((one) => one.grade === conclusion.countsGrade);
  if (conclusion?.confidence != null && counting?.show === 'range') {
    pieces.push(`Forecast ${conclusion.confidence}, from ${sayCount(counting.readingCount, 'reading')}.`);
  }
  if (isBehind) pieces.push('Newer facts are being worked in.');
  return pieces;
}

const onDay = (when: string): string => (when.startsWith('today') ? when : `on ${when}`);

/** When a point that is not well is to be read next, and why; null where the pace of its round is enough. */
export function sayNextReading(page: AssetPage, at: PointPage, now: number): string | null {
  if (at.conclusion === null) return null;
  const since = at.conclusion.reset?.at ?? Number.NEGATIVE_INFINITY;
  const recent = at.readings.flatMap((row) =>
    row.counts && row.grade !== null && row.comparability !== 'not-judged' && Date.parse(row.takenAt) > since ? row.grade : [],
  );
  const next = nextReadingOf({
    point: at.point,
    criticality: page.criticality,
    conclusion: at.conclusion,
    recent,
    zone: page.place.zone,
  });
  if (next === null) return null;
  const day = sayDay(next.at, page.place.zone, now);
  const due = next.at <= now ? `Read it now: the next reading was to come by ${day}.` : `Read it again by ${day}.`;
  return `${due} ${next.sentence}`;
}
