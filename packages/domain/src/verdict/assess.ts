import type { Reading } from '../facts/types.ts';
import { weatherOf, weathersAt } from '../limits/holds.ts';
import { type LimitInForce, limitsInForce } from '../limits/in-force.ts';
import { gradeReached, nextLimit } from '../limits/reached.ts';
import { CRITERIA, type CriterionKind, GRADES, type LimitSet, WEATHERS } from '../limits/types.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import { ambientOf, loadPercentOf, type Measure } from '../points/measure.ts';
import { criterionFits } from '../points/quantities/index.ts';
import { trueReading } from '../points/true-settings.ts';
import type { Point } from '../points/types.ts';
import { EMISSIVITY_REDUCED } from '../radiometry/index.ts';
import { probabilityReached, rectangular } from '../uncertainty/index.ts';
import { figureFor } from './comparisons.ts';
import { basisOf, LIKE_LOAD_POINTS, toReferenceLoad, usualAmbientOf } from './correction.ts';
import {
  type AssessContext,
  CALIBRATION_GRACE_DAYS,
  daysOutOfCalibration,
  emissivityOf,
  type FigureOfCriterion,
  gatesOf,
  notesOf,
  type PreviousReading,
} from './gates.ts';
import { type SentenceParts, saySentence } from './sentence.ts';
import { combineGrades, type Evidence, isWorse, type Level } from './severity.ts';
import { type Because, type Comparability, GATES, type Gate, type Note, type Verdict } from './types.ts';
import { uncertaintyOf } from './uncertainty.ts';

/** Differences to like parts, to the base or to another reading; a rise over air is limited by what the material bears. */
export const RELATIVE: readonly CriterionKind[] = [
  'like-part-difference',
  'above-base',
  'above-base-percent',
  'over-twin',
  'change-since-last',
];
/** A room counts as hot when its air is so much warmer, K (common practice, no source). */
const HOT_ROOM_K = 5;

/** One criterion, judged for itself. */
export interface CriterionJudged extends Evidence {
  readonly because: Because;
  readonly figure: Measure;
  /** The reading is older than the first limits. */
  readonly backdated: boolean;
}

/** A reading as it was judged: everything a verdict and its sentence follow from. */
export interface Judged extends SentenceParts {
  /** Every criterion whose figure could be computed, in the order of CRITERIA. */
  readonly criteria: readonly CriterionJudged[];
}

/**
 * Judges one reading: how comparable it is, which grade it has, how sure that is, and why.
 *
 * Each criterion with limits is judged for itself; combineGrades says which counts. Figures whose basis is corrected are
 * brought to the reference load where the load may be compared. Life-safety points count one grade higher from Plan on. A
 * machine at rest or hardly loaded is cold by itself: limits reached from above do not stand under these two gates.
 *
 * @param limitSets all versions of all criteria, any order.
 * @example assessReading(way4, reading, sets).sentence // '11.0 K over like parts (L2) at 97 % load; the Plan limit is 8 K …'
 */
export function assessReading(
  point: Point,
  reading: Reading,
  limitSets: readonly LimitSet[],
  context: AssessContext = {},
): Verdict {
  return sayVerdict(judgeReading(point, reading, limitSets, context));
}

/** The verdict of a judged reading, with its sentence. */
export function sayVerdict(judged: Judged): Verdict {
  return { ...judged.judgement, sentence: saySentence(judged) };
}

/** What one criterion was judged by; null where its figure could not be computed. */
export function becauseOf({ criteria }: Judged, criterion: CriterionKind): Because | null {
  return criteria.find(({ because }) => because.criterion === criterion)?.because ?? null;
}

/** As assessReading, without the sentence: what a history of hundreds of readings needs. */
export function judgeReading(point: Point, taken: Reading, limitSets: readonly LimitSet[], context: AssessContext = {}): Judged {
  const reading = trueReading(point, taken);
  const all = limitsInForce(limitSets, reading.takenAt).filter(({ set }) => criterionFits(set.criterion, point.quantity));
  const weathers = weathersAt(reading.conditions.outdoor);
  const inForce = all.filter(({ set }) => {
    const weather = weatherOf(set);
    return weather === null || weathers.includes(weather);
  });
  const figures = figuresOf(point, reading, inForce, context);
  const isWeatherUnknown = reading.conditions.outdoor === undefined && all.some(({ set }) => weatherOf(set) !== null);
  const always = gatesOf(point, reading, figures, context, isWeatherUnknown ? ['outdoor'] : []);
  const criteria = figures.flatMap(({ criterion, figure }) => {
    const own = inForce.filter(({ set }) => set.criterion === criterion);
    const judged = judgeCriterion(point, reading, figure, criterion, own, always, context);
    if (judged === null || reading === taken) return judged ?? [];
    return withAsRead(judged, figureFor({ ...point, infrared: false }, taken, criterion, context).value);
  });
  const limited = criteria.filter(({ because }) => because.limitSetId !== null);
  const blocking = withSoftGates(always, figures, limited);
  // What has nothing to be compared with is not judged, but it was well read: the next reading may be compared with it.
  const alone = limited.length > 0 ? [] : figures.flatMap(({ figure }) => (figure.blocks === 'alone' ? (figure.gate ?? []) : []));
  const gates = blocking.length > 0 ? blocking : alone;
  const combined = combineGrades(limited, gates);
  const { driver } = combined;
  const raised = point.lifeSafety && (combined.grade === 'plan' || combined.grade === 'soon');
  const outdated = driver?.because.criterion === 'absolute' && daysOutOfCalibration(reading, context) > CALIBRATION_GRACE_DAYS;
  const notes = [...notesOf(point, reading, context), ...notesOfCriteria(point, reading, driver, criteria, inForce)];
  return {
    point,
    reading,
    taken,
    context,
    figures,
    criteria,
    judgement: {
      grade: raised ? GRADES[GRADES.indexOf(combined.grade!) + 1]! : combined.grade,
      comparability: comparabilityOf(point, reading, blocking),
      // With something else to check first, the figure may as well be too high.
      atLeast: combined.atLeast && combined.check === null,
      check: combined.check,
      gate: combined.gate,
      notes,
      firm: combined.firm && !outdated,
      because: driver === null ? (criteria[0]?.because ?? null) : { ...driver.because, capped: combined.capped },
    },
    isClose: combined.grade !== null && !combined.firm,
    isOutdated: outdated,
    figure: (driver ?? criteria[0])?.figure ?? figures[0]?.figure ?? null,
    backdated: driver?.backdated ?? false,
    reached: driver !== null && driver.level > 0,
    raised,
    isWeatherUnknown,
    hasOtherLimits: all.length > 0,
  };
}

/** Beside the recomputed figure stands the one that was read. */
const withAsRead = (judged: CriterionJudged, asRead: number | null): CriterionJudged => ({
  ...judged,
  because: { ...judged.because, asRead },
});

/** The gates, and those that hold only while nothing is reached. */
function withSoftGates(
  gates: readonly Gate[],
  figures: readonly FigureOfCriterion[],
  limited: readonly CriterionJudged[],
): readonly Gate[] {
  if (limited.some(({ level }) => level > 0)) return gates;
  const open = new Set(gates);
  for (const { figure } of figures) if (figure.gate !== null && figure.blocks === 'while-fine') open.add(figure.gate);
  return open.size === gates.length ? gates : GATES.filter((gate) => open.has(gate));
}

/** What the criteria say beside each other: a warm room behind a raw limit, a twin that is the worse of the two. */
function notesOfCriteria(
  point: Point,
  reading: Reading,
  driver: CriterionJudged | null,
  criteria: readonly CriterionJudged[],
  inForce: readonly LimitInForce[],
): Note[] {
  const notes: Note[] = [];
  if (driver !== null && driver.level > 0 && isRoomNotMachine(point, reading, driver, criteria, inForce))
    notes.push('room-not-machine');
  const overTwin = criteria.find(({ because }) => because.criterion === 'over-twin');
  if (overTwin !== undefined) {
    const { value, limit, direction } = overTwin.because;
    if (limit !== null && limit > 0 && direction === 'high' && overTwin.level === 0 && -value >= limit) notes.push('twin-worse');
  }
  return notes;
}

/**
 * A raw temperature that reaches its limit only because the air is warm: at the usual air it would reach none, and no rise
 * over air does. The limit protects material and stands; what has to be looked at is the room.
 */
function isRoomNotMachine(
  point: Point,
  reading: Reading,
  { because }: CriterionJudged,
  criteria: readonly CriterionJudged[],
  inForce: readonly LimitInForce[],
): boolean {
  const ambientC = ambientOf(reading);
  if (because.criterion !== 'absolute' || because.unit !== '°C' || because.direction !== 'high' || ambientC === null)
    return false;
  const usualC = usualAmbientOf(point);
  if (ambientC < usualC + HOT_ROOM_K) return false;
  const set = inForce.find((one) => one.set.id === because.limitSetId)?.set;
  const isRiseReached = criteria.some((one) => one.because.criterion === 'rise-over-ambient' && one.level > 0);
  return set !== undefined && !isRiseReached && gradeReached(point, set, because.value - ambientC + usualC) === null;
}

/** A machine at rest or hardly loaded is cold, whatever its state: a limit reached from above says nothing then. */
function isColdByItself(direction: 'high' | 'low', gates: readonly Gate[]): boolean {
  return direction === 'low' && (gates.includes('not-running') || gates.includes('load-too-low'));
}

/** The figure of every criterion with limits, and of the point's own, in the order of CRITERIA. */
function figuresOf(
  point: Point,
  reading: Reading,
  inForce: readonly LimitInForce[],
  context: AssessContext,
): FigureOfCriterion[] {
  const wanted = new Set([CRITERION_OF[point.quantity], ...inForce.map(({ set }) => set.criterion)]);
  return CRITERIA.filter((criterion) => wanted.has(criterion)).map((criterion) => ({
    criterion,
    figure: figureFor(point, reading, criterion, context),
  }));
}

/** The figure as it is compared with the limits. */
type Compared = Pick<Because, 'criterion' | 'basis' | 'unit' | 'value' | 'rawValue' | 'band' | 'uncertainty'>;

function judgeCriterion(
  point: Point,
  reading: Reading,
  figure: Measure,
  criterion: CriterionKind,
  limits: readonly LimitInForce[],
  gates: readonly Gate[],
  context: AssessContext,
): CriterionJudged | null {
  const raw = figure.value;
  if (raw === null) return null;
  const loadPercent = loadPercentOf(point, reading);
  const basis = basisOf(point, criterion);
  const outsideLoad = gates.includes('load-too-low') || gates.includes('load-too-high') || gates.includes('not-running');
  const corrected =
    basis === 'corrected' && loadPercent !== null && !outsideLoad
      ? toReferenceLoad(point, reading, criterion, raw, loadPercent)
      : null;
  const emissivity = emissivityOf(point, reading);
  const reduced = emissivity !== null && emissivity < EMISSIVITY_REDUCED ? emissivity : null;
  const ownUncertainty = uncertaintyOf(point, reading, criterion, raw, reduced);
  const compared: Compared = {
    criterion,
    basis,
    unit: figure.unit,
    value: corrected?.value ?? raw,
    rawValue: raw,
    band: corrected?.band ?? null,
    uncertainty:
      corrected === null
        ? ownUncertainty
        : Math.hypot(ownUncertainty * corrected.gain, rectangular((corrected.band[1] - corrected.band[0]) / 2)),
  };
  const side = (one: LimitInForce | null): CriterionJudged => judgeSide(point, figure, compared, one, gates, context);
  // In any weather the worst side counts; between cold and mild the better of the two weathers does.
  const inWeathers = WEATHERS.flatMap((weather) => {
    const own = limits.filter(({ set }) => weatherOf(set) === weather);
    return own.length === 0 ? [] : worstOf(own.map(side));
  });
  const always = limits.filter(({ set }) => weatherOf(set) === null).map(side);
  const sides = inWeathers.length === 0 ? always : [...always, inWeathers.reduce((a, b) => (isWorse(b, a) ? a : b))];
  return sides.length === 0 ? side(null) : worstOf(sides);
}

const worstOf = (sides: readonly CriterionJudged[]): CriterionJudged => sides.reduce((a, b) => (isWorse(b, a) ? b : a));

/** One side of a criterion: which of its limits the figure has reached. */
function judgeSide(
  point: Point,
  figure: Measure,
  compared: Compared,
  limits: LimitInForce | null,
  gates: readonly Gate[],
  context: AssessContext,
): CriterionJudged {
  const { criterion, value, uncertainty } = compared;
  const set = limits?.set ?? null;
  const reached = set === null || figure.isUnremarkable ? null : gradeReached(point, set, value);
  const named = set === null ? null : (reached ?? nextLimit(set, null));
  const limit = set === null || named === null ? null : set[named];
  const direction = set?.direction ?? 'high';
  const isRelative = set?.origin === 'general' && RELATIVE.includes(criterion);
  return {
    figure,
    level: reached === null || isColdByItself(direction, gates) ? 0 : (GRADES.indexOf(reached) as Level),
    probability: limit === null || figure.isUnremarkable ? 0 : probabilityReached(value, limit, uncertainty, direction),
    isRelative,
    isConfirmed: isRelative && confirms(context.previous ?? null, criterion, direction),
    backdated: limits?.backdated ?? false,
    because: {
      ...compared,
      limitGrade: named,
      limit,
      direction,
      source: set?.source ?? '',
      reason: set?.reason ?? '',
      limitSetId: set?.id ?? null,
      limitVersion: set?.version ?? null,
      capped: false,
    },
  };
}

/** Did the reading before show the same beyond Plan? Then this one is the second reading that relative evidence waits for. */
function confirms(previous: PreviousReading | null, criterion: CriterionKind, direction: 'high' | 'low'): boolean {
  const because = previous?.judgement.because ?? null;
  if (previous === null || because === null || because.criterion !== criterion || because.direction !== direction) return false;
  const isBeyondPlan = because.limitGrade === 'soon' || because.limitGrade === 'now';
  return isBeyondPlan && previous.judgement.grade !== null && GRADES.indexOf(previous.judgement.grade) >= GRADES.indexOf('plan');
}

function comparabilityOf(point: Point, reading: Reading, gates: readonly Gate[]): Comparability {
  if (gates.length > 0) return 'not-judged';
  const loadPercent = loadPercentOf(point, reading);
  if (point.loadFamily === 'none' || loadPercent === null) return 'like-for-like';
  const distance = Math.abs(loadPercent - point.referenceLoadPercent);
  return distance <= LIKE_LOAD_POINTS + 1e-9 ? 'like-for-like' : 'corrected';
}
