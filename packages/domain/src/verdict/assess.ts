import type { Reading } from '../facts/types.ts';
import { criterionFits } from '../limits/check.ts';
import { type LimitInForce, limitsInForce } from '../limits/in-force.ts';
import { gradeReached, nextLimit } from '../limits/reached.ts';
import { CRITERIA, GRADES, type Grade, type LimitSet } from '../limits/types.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import { figureOf, loadPercentOf, type Measure } from '../points/measure.ts';
import type { Point } from '../points/types.ts';
import { basisOf, LIKE_LOAD_POINTS, toReferenceLoad } from './correction.ts';
import {
  type AssessContext,
  daysOutOfCalibration,
  EMISSIVITY_REDUCED,
  emissivityOf,
  type FigureOfCriterion,
  gatesOf,
  notesOf,
} from './gates.ts';
import { saySentence } from './sentence.ts';
import type { Because, Comparability, Gate, Verdict } from './types.ts';
import { probabilityReached, uncertaintyOf } from './uncertainty.ts';

/** A grade is firm when it is true with this probability (calculation of JCGM 106; the level is common practice). */
export const FIRM_PROBABILITY = 0.95;
/** An absolute figure of an instrument that lapsed longer ago than this is never firm (common practice, no source). */
export const CALIBRATION_GRACE_DAYS = 30;

/** One criterion, judged for itself. */
interface Judgement {
  readonly because: Because;
  readonly figure: Measure;
  /** 0 Fine … 4 Now, after the cap. */
  readonly level: number;
  /** That the limit named in because is truly reached. */
  readonly probability: number;
  readonly backdated: boolean;
  /** The figures were taken unchanged from the general library. */
  readonly general: boolean;
}

const levelOf = (grade: Grade | null): number => (grade === null ? 0 : GRADES.indexOf(grade));
const PLAN = levelOf('plan');

/**
 * Judges one reading: how comparable it is, which grade it has, how sure that is, and why.
 *
 * Each criterion with limits is judged for itself; the worst counts. Figures whose basis is corrected are brought to the
 * reference load where the load may be compared. While a gate is open, a grade below Plan is no grade (a bad measurement
 * clears nothing) and Plan or worse stands as seen, as a lower bound or with the thing to check. Relative evidence of the
 * general library stays at Plan until something else agrees. Life-safety points count one grade higher from Plan on.
 * A machine at rest or hardly loaded is cold by itself: limits reached from above do not stand under these two gates.
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
  const inForce = limitsInForce(limitSets, reading.takenAt).filter(({ set }) => criterionFits(set.criterion, point.quantity));
  const figures = figuresOf(point, reading, inForce);
  const gates = gatesOf(point, reading, figures, context);
  const notes = notesOf(point, reading, context);
  const judgements = capRelative(
    figures.flatMap(({ criterion, figure }) => {
      const limits = inForce.find(({ set }) => set.criterion === criterion) ?? null;
      return limits === null && criterion !== CRITERION_OF[point.quantity]
        ? []
        : judge(point, reading, figure, criterion, limits, gates);
    }),
  );
  const driver = worstOf(judgements);
  const stands = driver !== null && (gates.length === 0 || (driver.level >= PLAN && !coldByItself(driver, gates)));
  const judged = stands && inForce.length > 0 && driver.because.limitSetId !== null;
  const raised = judged && point.lifeSafety && driver.level >= PLAN && driver.level < levelOf('now');
  const grade = judged ? GRADES[driver.level + (raised ? 1 : 0)]! : null;
  const check = grade === null ? null : (gates.find((gate) => !isLowerBound(gate)) ?? null);
  const comparability = comparabilityOf(point, reading, gates);
  const firm = grade !== null && isFirm(driver!, judgements, reading, context);
  const verdict: Omit<Verdict, 'sentence'> = {
    grade,
    comparability,
    atLeast: grade !== null && check === null && gates.some(isLowerBound),
    check,
    gate: gates[0] ?? null,
    notes,
    firm,
    because: driver?.because ?? null,
  };
  const sentence = saySentence({
    point,
    reading,
    verdict,
    context,
    figure: driver?.figure ?? figures[0]?.figure ?? null,
    missing: [...new Set(figures.flatMap(({ figure }) => figure.missing))],
    backdated: driver?.backdated ?? false,
    reached: driver !== null && driver.level > 0,
    raised,
  });
  return { ...verdict, sentence };
}

/** Low load and a small target hide heat: what is seen is a lower bound. */
function isLowerBound(gate: Gate): boolean {
  return gate === 'load-too-low' || gate === 'target-too-small';
}

function coldByItself(driver: Judgement, gates: readonly Gate[]): boolean {
  return driver.because.direction === 'low' && (gates.includes('not-running') || gates.includes('load-too-low'));
}

/** The figure of every criterion with limits, and of the point's own, in the order of CRITERIA. */
function figuresOf(point: Point, reading: Reading, inForce: readonly LimitInForce[]): FigureOfCriterion[] {
  const wanted = new Set([CRITERION_OF[point.quantity], ...inForce.map(({ set }) => set.criterion)]);
  return CRITERIA.filter((criterion) => wanted.has(criterion)).map((criterion) => ({
    criterion,
    figure: figureOf(point, reading, criterion),
  }));
}

function judge(
  point: Point,
  reading: Reading,
  figure: Measure,
  criterion: (typeof CRITERIA)[number],
  limits: LimitInForce | null,
  gates: readonly Gate[],
): Judgement[] {
  const raw = figure.value;
  if (raw === null) return [];
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
  return [
    {
      figure,
      level: levelOf(reached),
      probability: limit === null ? 0 : probabilityReached(value, limit, uncertainty, direction),
      backdated: limits?.backdated ?? false,
      general: set?.origin === 'general',
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
    },
  ];
}

/**
 * A difference to like parts or to the base, with figures of the general library and nothing else beside it, is evidence of a
 * change but not yet of a dangerous state: Plan until a second reading or technique agrees. A rise over air is no such
 * evidence, since it is limited by what the material bears.
 */
function capRelative(judgements: readonly Judgement[]): Judgement[] {
  return judgements.map((judgement) => {
    const { criterion } = judgement.because;
    const relative = criterion === 'like-part-difference' || criterion === 'above-base';
    const alone = judgements.every((other) => other === judgement || other.level === 0);
    if (!judgement.general || !relative || !alone || judgement.level <= PLAN) return judgement;
    return { ...judgement, level: PLAN, because: { ...judgement.because, capped: true } };
  });
}

/** The criterion that decides: worst level, then the surest, then in the order of CRITERIA; one with limits before one without. */
function worstOf(judgements: readonly Judgement[]): Judgement | null {
  let worst: Judgement | null = null;
  for (const judgement of judgements) {
    if (worst === null || isWorse(judgement, worst)) worst = judgement;
  }
  return worst;
}

function isWorse(a: Judgement, b: Judgement): boolean {
  if (a.level !== b.level) return a.level > b.level;
  const withLimits = (judgement: Judgement): number => (judgement.because.limitSetId === null ? 0 : 1);
  if (withLimits(a) !== withLimits(b)) return withLimits(a) > withLimits(b);
  return a.probability > b.probability;
}

function comparabilityOf(point: Point, reading: Reading, gates: readonly Gate[]): Comparability {
  if (gates.length > 0) return 'not-judged';
  const loadPercent = loadPercentOf(point, reading);
  if (point.loadFamily === 'none' || loadPercent === null) return 'like-for-like';
  const distance = Math.abs(loadPercent - point.referenceLoadPercent);
  return distance <= LIKE_LOAD_POINTS + 1e-9 ? 'like-for-like' : 'corrected';
}

/** A grade is firm when its limit is truly reached with 95 %; Fine when no first limit is reached with more than 5 %. */
function isFirm(driver: Judgement, judgements: readonly Judgement[], reading: Reading, context: AssessContext): boolean {
  if (driver.because.criterion === 'absolute' && daysOutOfCalibration(reading, context) > CALIBRATION_GRACE_DAYS) return false;
  if (driver.level > 0) return driver.probability >= FIRM_PROBABILITY;
  return judgements.every((judgement) => judgement.probability <= 1 - FIRM_PROBABILITY);
}
