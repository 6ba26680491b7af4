import { weatherOf } from '../limits/holds.ts';
import { limitsInForce } from '../limits/in-force.ts';
import { gradeReached } from '../limits/reached.ts';
import { LIMIT_GRADES, type LimitGrade, type LimitSet } from '../limits/types.ts';
import { median } from '../numbers/index.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import { ambientOf, loadPercentOf, measure } from '../points/measure.ts';
import { DEFINITION_OF } from '../points/quantities/index.ts';
import type { Point } from '../points/types.ts';
import { displayProjection, type Projection, type ProjectionInput, projectTimeToLimit, trendWord } from '../projection/index.ts';
import { awakeTime } from '../rounds/awake-time.ts';
import { seasonsThatSleep } from '../rounds/season.ts';
import { becauseOf, sayVerdict } from '../verdict/assess.ts';
import type { Gate } from '../verdict/types.ts';
import { type JudgedHistory, judgeHistory } from './judge.ts';
import { standingOf } from './standing.ts';
import type { AsRead, ConcludeInput, Conclusion, JudgedReading, LimitProjection } from './types.ts';

const DAY = 86_400_000;

/**
 * Everything that follows from the facts of a point: latest verdict, standing grade, base, reset, trend, and when each limit
 * from Plan upwards is reached. Only comparable readings enter base, trend and projection.
 *
 * Same facts, same conclusion: order and repetition of the call change nothing, and days are counted from the last comparable
 * reading. No NaN or infinity leaves. O(n log n) and at most three projections; about 12 ms for a full window of 660 readings,
 * of which judging takes 2 to 4.
 * @example concludePoint({ point, limitSets, readings, work }).projections[0]?.earliestAt
 */
export function concludePoint(input: ConcludeInput): Conclusion {
  const history = judgeHistory(input);
  const { point } = history;
  const comparable = history.readings.filter(({ isComparable, isSinceReset }) => isComparable && isSinceReset);
  const latest = history.readings.at(-1) ?? null;
  const latestComparable = comparable.at(-1) ?? null;
  const asked = projectSides(input, history);
  const projections = asked.map(({ shown }) => shown);
  const countsGrade = limitThatCounts(projections);
  const counting = asked.find(({ shown }) => shown.grade === countsGrade);
  return {
    pointId: point.id,
    unit: point.unit,
    decimals: point.decimals,
    readingCount: history.readings.length,
    comparableCount: comparable.length,
    leftOut: leftOutOf(history.readings),
    latest:
      latest === null
        ? null
        : { readingId: latest.reading.id, takenAt: latest.reading.takenAt, verdict: sayVerdict(latest.judged) },
    latestComparable:
      latestComparable === null
        ? null
        : {
            readingId: latestComparable.reading.id,
            takenAt: latestComparable.reading.takenAt,
            value: comparedValue(point, latestComparable),
          },
    standing: standingOf(history.readings, input.limitSets),
    isProofAwaited: history.reset !== null && comparable.length === 0,
    proposedBase: history.proposedBase,
    reset: history.reset === null ? null : { workId: history.reset.id, at: history.reset.takenAt, work: history.reset.work },
    projections,
    countsGrade,
    trend: counting === undefined ? null : trendWord(counting.projection),
    seasons: seasonsThatSleep(input.seasons),
    confidence: counting?.shown.confidence ?? null,
    noise: counting?.projection.noise ?? null,
  };
}

function leftOutOf(readings: readonly JudgedReading[]): { readonly gate: Gate; readonly count: number }[] {
  const counts = new Map<Gate, number>();
  for (const { judged, isComparable, isSinceReset } of readings) {
    const { gate } = judged.judgement;
    if (isSinceReset && !isComparable && gate !== null) counts.set(gate, (counts.get(gate) ?? 0) + 1);
  }
  return [...counts].map(([gate, count]) => ({ gate, count })).sort((a, b) => b.count - a.count || (a.gate < b.gate ? -1 : 1));
}

/**
 * The projection of one limit with its past curve and the fan ahead, for the chart of a point; null where there is none to draw.
 * Its days are days awake: `instantOf` says when they are.
 * @param grade left out: the limit that counts.
 */
export function drawProjection(
  input: ConcludeInput,
  grade?: LimitGrade,
): (Projection & { readonly instantOf: (day: number) => number }) | null {
  const history = judgeHistory(input);
  const asked = projectSides(input, history);
  const wanted = grade ?? limitThatCounts(asked.map(({ shown }) => shown));
  const one = asked.find(({ shown }) => shown.grade === wanted)?.shown;
  // A limit that is reached already is drawn as well when it is asked for by name.
  const set = limitsToProject(input, history).find(({ direction }) => one === undefined || direction === one.direction);
  const limit = one?.limit ?? (wanted === null ? null : (set?.[wanted] ?? null));
  const series = seriesOf(history, input);
  if (limit === null || set === undefined || series === null) return null;
  return { ...projectTimeToLimit(inputFor(series, set, limit), { withCurve: true }), instantOf: series.instantOf };
}

/** The main figure as it was compared; the verdict itself may rest on another criterion. Every comparable reading has one. */
export function comparedValue(point: Point, { judged }: JudgedReading): number {
  return becauseOf(judged, CRITERION_OF[point.quantity])?.value ?? 0;
}

/**
 * The sides of the main criterion in force at the time of asking. What holds only in some weather is not projected: which
 * limit will be in force then nobody knows.
 */
function limitsToProject({ limitSets, asOf }: ConcludeInput, { readings, point }: JudgedHistory): LimitSet[] {
  const at = asOf ?? readings.at(-1)?.reading.takenAt;
  if (at === undefined) return [];
  const main = CRITERION_OF[point.quantity];
  return limitsInForce(limitSets, at).flatMap(({ set }) => (set.criterion === main && weatherOf(set) === null ? set : []));
}

/** The projections of the side that will be reached first; of a band without any date, those of the upper one. */
function projectSides(input: ConcludeInput, history: JudgedHistory): Asked[] {
  const sides = limitsToProject(input, history).map((set) => projectLimits(history, set, input));
  const soonest = (side: readonly Asked[]): number =>
    Math.min(...side.map(({ shown }) => shown.likelyAt ?? shown.earliestAt ?? Number.POSITIVE_INFINITY));
  return sides.reduce((best, side) => (best.length === 0 || soonest(side) < soonest(best) ? side : best), [] as Asked[]);
}

interface Series {
  readonly input: Omit<ProjectionInput, 'limit' | 'direction'>;
  /** When a day of the input is, by the calendar. */
  instantOf(day: number): number;
  readonly cutAt: number;
  readonly last: JudgedReading;
  readonly isSeasonal: boolean;
}

/**
 * Rises, differences, figures above base and approaches carry their own zero, so that load acts on them as a factor: ambient and
 * its reference are 0. A temperature is carried with the air around it where load or air matter at the point; elsewhere (water
 * held by a thermostat, a vibration) the air is left out.
 */
function seriesOf({ readings, reset, point }: JudgedHistory, known: ConcludeInput): Series | null {
  const comparable = readings.filter(({ isComparable }) => isComparable);
  const last = comparable.filter(({ isSinceReset }) => isSinceReset).at(-1);
  const first = comparable[0];
  if (last === undefined || first === undefined) return null;
  const startAt = first.reading.takenAt;
  const cutAt = last.reading.takenAt;
  const lived = awakeTime(seasonsThatSleep(known.seasons), known.zone ?? 'UTC');
  const isSeasonal = seasonsThatSleep(known.seasons) !== null;
  const dayOf = (at: number): number => lived.told(startAt, at) / DAY;
  const cutDay = dayOf(cutAt);
  const { follows } = DEFINITION_OF[point.quantity];
  const ownZero = follows === 'own-zero';
  const followsAir =
    follows === 'temperature' &&
    (point.loadFamily !== 'none' || point.referenceAmbientC !== null || point.needs.includes('ambient'));
  const followsLoad = point.loadFamily !== 'none';
  const airs = comparable.flatMap(({ reading }) => ambientOf(reading) ?? []);
  const referenceAmbientC = ownZero ? 0 : followsAir ? (point.referenceAmbientC ?? median(airs)) : null;
  return {
    instantOf(day) {
      if (day >= cutDay) return Math.round(lived.ahead(cutAt, (day - cutDay) * DAY));
      if (!isSeasonal) return Math.round(startAt + day * DAY);
      // The first instant at which this day has come; a sleep is short by days and long by the calendar, so it is searched for.
      let [before, after] = [startAt - 1, cutAt];
      while (after - before > 1) {
        const middle = Math.floor((before + after) / 2);
        if (dayOf(middle) >= day) after = middle;
        else before = middle;
      }
      return after;
    },
    cutAt,
    last,
    isSeasonal,
    input: {
      readings: comparable.flatMap(({ reading }) => {
        const { value } = measure(point, reading);
        if (value === null) return [];
        return {
          day: dayOf(reading.takenAt),
          value,
          loadPercent: followsLoad ? loadPercentOf(point, reading) : null,
          ambientC: ownZero ? 0 : followsAir ? ambientOf(reading) : null,
        };
      }),
      cutDay,
      repairDay: reset === null ? null : dayOf(reset.takenAt),
      referenceLoadPercent: followsLoad ? point.referenceLoadPercent : null,
      referenceAmbientC,
      likePointNoise: known.likePointNoise ?? usualNoise(point),
    },
  };
}

/** A temperature read by hand from a distance scatters by 1.5 K, the difference of two spots of one picture by 1 K (common practice, no source). */
const INFRARED_NOISE_K = { single: 1.5, difference: 1 } as const;

/** What is known about the scatter of a point before any class has taught it: the habits of the trade; null where there are none. */
function usualNoise(point: Point): number | null {
  if (!point.infrared) return null;
  return point.quantity === 'like-part-difference' ? INFRARED_NOISE_K.difference : INFRARED_NOISE_K.single;
}

function inputFor(series: Series, set: LimitSet, limit: number): ProjectionInput {
  return { ...series.input, limit, direction: set.direction === 'high' ? 'up' : 'down' };
}

interface Asked {
  readonly shown: LimitProjection;
  readonly projection: Projection;
}

/** Every limit from Plan upwards that the last comparable reading has not reached. */
function projectLimits(history: JudgedHistory, set: LimitSet, known: ConcludeInput): Asked[] {
  const series = seriesOf(history, known);
  if (series === null) return [];
  const reached = gradeReached(history.point, set, comparedValue(history.point, series.last));
  const worst = reached === null ? -1 : LIMIT_GRADES.indexOf(reached);
  return LIMIT_GRADES.flatMap((grade, i) => {
    const limit = set[grade];
    if (grade === 'watch' || limit === null || i <= worst) return [];
    const projection = projectTimeToLimit(inputFor(series, set, limit));
    return [{ projection, shown: toInstants(history.point, projection, grade, limit, set.direction, series) }];
  });
}

function toInstants(
  point: Point,
  projection: Projection,
  grade: LimitGrade,
  limit: number,
  direction: 'high' | 'low',
  { input: { cutDay }, cutAt, last, instantOf, isSeasonal }: Series,
): LimitProjection {
  const display = displayProjection(projection);
  const at = (days: number | null): number | null => (days === null ? null : instantOf(cutDay + days));
  const common = {
    grade,
    limit,
    direction,
    cutAt,
    show: display.show,
    probabilityMoving: projection.probabilityMoving,
    readingCount: projection.readingCount,
    spanDays: projection.spanDays,
    apart: projection.apart,
  };
  if (projection.status === 'no-projection') {
    const { stepAtDay, reason } = projection;
    const stepAt = stepAtDay === null ? null : instantOf(stepAtDay);
    return {
      ...common,
      earliestAt: null,
      likelyAt: null,
      latestAt: null,
      precisionDays: null,
      confidence: null,
      reason,
      stepAt,
      ...(reason === 'over-limit' ? { lastRead: asRead(point, last) } : {}),
    };
  }
  return {
    ...common,
    ...(isSeasonal
      ? { awakeDays: { earliest: projection.p10Days, likely: projection.p50Days, latest: projection.p90Days } }
      : {}),
    earliestAt: at(projection.p10Days),
    likelyAt: at(projection.p50Days),
    latestAt: at(projection.p90Days),
    precisionDays: display.show === 'range' ? display.precisionDays : null,
    confidence: display.show === 'none' ? null : display.confidence,
    reason: display.show === 'none' ? display.reason : null,
    stepAt: null,
  };
}

/** A reading as it was read, with its load where that is another one than the reference. */
function asRead(point: Point, { reading }: JudgedReading): AsRead | null {
  const value = measure(point, reading).value;
  if (value === null) return null;
  const load = point.loadFamily === 'none' ? null : loadPercentOf(point, reading);
  const { referenceLoadPercent } = point;
  if (load === null || Math.round(load) === Math.round(referenceLoadPercent)) return { value, loadPercent: null };
  return { value, loadPercent: load, referenceLoadPercent };
}

/** Soon where it is still ahead, else the worst limit that is. */
function limitThatCounts(projections: readonly LimitProjection[]): LimitGrade | null {
  const soon = projections.find(({ grade }) => grade === 'soon');
  return soon?.grade ?? projections.at(-1)?.grade ?? null;
}
