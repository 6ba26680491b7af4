import type { Reading } from '../facts/types.ts';
import { criterionFits } from '../limits/check.ts';
import { type LimitInForce, limitsInForce } from '../limits/in-force.ts';
import { gradeReached, nextLimit } from '../limits/reached.ts';
import { CRITERIA, type CriterionKind, GRADES, type LimitSet } from '../limits/types.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import { figureOf, loadPercentOf, type Measure } from '../points/measure.ts';
import type { Point } from '../points/types.ts';
import { basisOf, LIKE_LOAD_POINTS, toReferenceLoad } from './correction.ts';
import {
  type AssessContext,
  CALIBRATION_GRACE_DAYS,
  daysOutOfCalibration,
  EMISSIVITY_REDUCED,
  emissivityOf,
  type FigureOfCriterion,
  gatesOf,
  notesOf,
} from './gates.ts';
import { type SentenceParts, saySentence } from './sentence.ts';
import { combineGrades, type Evidence, type Level } from './severity.ts';
import type { Because, Comparability, Gate, Verdict } from './types.ts';
import { probabilityReached, uncertaintyOf } from './uncertainty.ts';

/** Differences to like parts or to the base; a rise over air is limited by what the material bears. */
const RELATIVE: readonly CriterionKind[] = ['like-part-difference', 'above-base'];

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
export function judgeReading(
  point: Point,
  reading: Reading,
  limitSets: readonly LimitSet[],
  context: AssessContext = {},
): Judged {
  const inForce = limitsInForce(limitSets, reading.takenAt).filter(({ set }) => criterionFits(set.criterion, point.quantity));
  const figures = figuresOf(point, reading, inForce);
  const gates = gatesOf(point, reading, figures, context);
  const criteria: CriterionJudged[] = [];
  for (const { criterion, figure } of figures) {
    const limits = inForce.find(({ set }) => set.criterion === criterion) ?? null;
    const judged = judgeCriterion(point, reading, figure, criterion, limits, gates);
    if (judged !== null) criteria.push(judged);
  }
  const limited = criteria.filter(({ because }) => because.limitSetId !== null);
  const combined = combineGrades(limited, gates);
  const { driver } = combined;
  const raised = point.lifeSafety && (combined.grade === 'plan' || combined.grade === 'soon');
  const outdated = driver?.because.criterion === 'absolute' && daysOutOfCalibration(reading, context) > CALIBRATION_GRACE_DAYS;
  return {
    point,
    reading,
    context,
    figures,
    criteria,
    judgement: {
      grade: raised ? GRADES[GRADES.indexOf(combined.grade!) + 1]! : combined.grade,
      comparability: comparabilityOf(point, reading, gates),
      // With something else to check first, the figure may as well be too high.
      atLeast: combined.atLeast && combined.check === null,
      check: combined.check,
      gate: combined.gate,
      notes: notesOf(point, reading, context),
      firm: combined.firm && !outdated,
      because: driver === null ? (criteria[0]?.because ?? null) : { ...driver.because, capped: combined.capped },
    },
    isClose: combined.grade !== null && !combined.firm,
    isOutdated: outdated,
    figure: (driver ?? criteria[0])?.figure ?? figures[0]?.figure ?? null,
    backdated: driver?.backdated ?? false,
    reached: driver !== null && driver.level > 0,
    raised,
  };
}

/** A machine at rest or hardly loaded is cold, whatever its state: a limit reached from above says nothing then. */
function isColdByItself(direction: 'high' | 'low', gates: readonly Gate[]): boolean {
  return direction === 'low' && (gates.includes('not-running') || gates.includes('load-too-low'));
}

/** The figure of every criterion with limits, and of the point's own, in the order of CRITERIA. */
function figuresOf(point: Point, reading: Reading, inForce: readonly LimitInForce[]): FigureOfCriterion[] {
  const wanted = new Set([CRITERION_OF[point.quantity], ...inForce.map(({ set }) => set.criterion)]);
  return CRITERIA.filter((criterion) => wanted.has(criterion)).map((criterion) => ({
    criterion,
    figure: figureOf(point, reading, criterion),
  }));
}

function judgeCriterion(
  point: Point,
  reading: Reading,
  figure: Measure,
  criterion: CriterionKind,
  limits: LimitInForce | null,
  gates: readonly Gate[],
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
  const value = corrected?.value ?? raw;
  const emissivity = emissivityOf(point, reading);
  const reduced = emissivity !== null && emissivity < EMISSIVITY_REDUCED ? emissivity : null;
  const ownUncertainty = uncertaintyOf(point, reading, criterion, raw, reduced);
  const uncertainty =
    corrected === null
      ? ownUncertainty
      : Math.hypot(ownUncertainty * corrected.gain, (corrected.band[1] - corrected.band[0]) / 2 / Math.sqrt(3));
  const set = limits?.set ?? null;
  const reached = set === null ? null : gradeReached(point, set, value);
  const named = set === null ? null : (reached ?? nextLimit(set, null));
  const limit = set === null || named === null ? null : set[named];
  const direction = set?.direction ?? 'high';
  return {
    figure,
    level: reached === null || isColdByItself(direction, gates) ? 0 : (GRADES.indexOf(reached) as Level),
    probability: limit === null ? 0 : probabilityReached(value, limit, uncertainty, direction),
    isRelative: set?.origin === 'general' && RELATIVE.includes(criterion),
    backdated: limits?.backdated ?? false,
    because: {
      criterion,
      basis,
      unit: figure.unit,
      value,
      rawValue: raw,
      band: corrected?.band ?? null,
      limitGrade: named,
      limit,
      direction,
      source: set?.source ?? '',
      reason: set?.reason ?? '',
      limitSetId: set?.id ?? null,
      limitVersion: set?.version ?? null,
      uncertainty,
      capped: false,
    },
  };
}

function comparabilityOf(point: Point, reading: Reading, gates: readonly Gate[]): Comparability {
  if (gates.length > 0) return 'not-judged';
  const loadPercent = loadPercentOf(point, reading);
  if (point.loadFamily === 'none' || loadPercent === null) return 'like-for-like';
  const distance = Math.abs(loadPercent - point.referenceLoadPercent);
  return distance <= LIKE_LOAD_POINTS + 1e-9 ? 'like-for-like' : 'corrected';
}
