import { loadGate, STRONG_WIND, windFactor } from '../electrical/index.ts';
import type { Reading } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import { ambientOf, figureOf, loadPercentOf, type Measure } from '../points/measure.ts';
import type { ConditionName, Point } from '../points/types.ts';
import { EMISSIVITY_UNRELIABLE, emissivityReliability, isTargetTooSmall, smallestTarget } from '../radiometry/index.ts';
import { basisOf, HIGHEST_LOAD_PERCENT, LIKE_LOAD_POINTS, lowestLoadPercent } from './correction.ts';
import { GATES, type Gate, type Judgement, type Note } from './types.ts';

/** A reading of another point. */
export interface ReadingAtPoint {
  readonly point: Point;
  readonly reading: Reading;
}

/** The reading before, and how it was judged on its day. */
export interface PreviousReading {
  readonly reading: Reading;
  readonly judgement: Pick<Judgement, 'grade' | 'because'>;
}

/** What is known about a reading beside its own figures. All optional: unknown opens no gate. */
export interface AssessContext {
  /** Newest regreasing of the point not after the reading, epoch milliseconds. */
  readonly lastRegreasedAt?: number | null | undefined;
  /** Day on which the calibration of the instrument ends, epoch milliseconds. */
  readonly calibrationDueAt?: number | null | undefined;
  /** Instrument of the reading before. */
  readonly previousInstrument?: string | null | undefined;
  /** The last comparable reading of the point since work last reset it, with what it was judged by. */
  readonly previous?: PreviousReading | null | undefined;
  /** Readings of its twins on the same visit, each with its own point. */
  readonly twins?: readonly ReadingAtPoint[] | undefined;
  /** The spot was smaller than three picture elements, or than the spot of the thermometer. */
  readonly targetTooSmall?: boolean | undefined;
  /** Load or speed changed, or two readings minutes apart differed. */
  readonly unsteady?: boolean | undefined;
}

/** Running time below which a figure is still climbing, where the point asks for it (common practice, no source). */
export const WARM_UP_MINUTES = { electrical: 10, 'thermal-machine': 30, none: 10 } as const;
/** Beyond this angle from straight on the emissivity of most surfaces falls (common practice, no source). */
export const STEEPEST_ANGLE = 60;
/** No part at work is colder than its air by more than this; sensors may differ by less (common practice, no source). */
const COLDER_THAN_AIR_K = 3;
/** Sun on a collector below which its tubes tell nothing while its pump stands, W/m² (common practice, no source). */
export const LEAST_IRRADIANCE = 500;
const HOUR = 3_600_000;
const DAY = 24 * HOUR;

/** A criterion with its figure, for the gates that depend on it. */
export interface FigureOfCriterion {
  readonly criterion: CriterionKind;
  readonly figure: Measure;
}

/** Emissivity that the reading was taken with: as entered, else as the point prescribes. Null: unknown, or not read by infrared. */
export function emissivityOf(point: Point, reading: Reading): number | null {
  if (!point.infrared) return null;
  return reading.conditions.emissivity ?? point.emissivity;
}

/**
 * Everything that keeps a reading from being compared, most important first.
 * @param figures every criterion that has limits at the point, and the point's own.
 * @param alsoNeeds conditions that its limits ask for, beside what the point needs.
 */
export function gatesOf(
  point: Point,
  reading: Reading,
  figures: readonly FigureOfCriterion[],
  context: AssessContext,
  alsoNeeds: readonly ConditionName[] = [],
): Gate[] {
  const open = new Set<Gate>();
  if (reading.running === false) open.add('not-running');
  for (const { figure } of figures) if (figure.gate !== null && figure.blocks === 'always') open.add(figure.gate);
  loadGates(point, reading, figures, open);
  for (const need of [...point.needs, ...alsoNeeds]) {
    const gate = gateOfNeed(point, reading, need, context);
    if (gate !== null) open.add(gate);
  }
  if (coldInOwnAir(point, reading, figures)) open.add('ambient-missing');
  if (point.infrared) {
    const set = emissivityOf(point, reading);
    if (set === null || set < EMISSIVITY_UNRELIABLE || point.emissivity === null || point.emissivity < EMISSIVITY_UNRELIABLE) {
      open.add('emissivity-unreliable');
    }
  }
  if (context.targetTooSmall === true || isTooNarrow(point, reading)) open.add('target-too-small');
  const { irradiance, wind } = reading.conditions;
  if (point.needs.includes('irradiance') && irradiance !== undefined && irradiance < LEAST_IRRADIANCE && reading.running !== true)
    open.add('sun-too-weak');
  if (wind !== undefined && windFactor(wind) === null) open.add('too-windy');
  const minutes = reading.conditions.minutesRunning;
  if (context.unsteady === true || (minutes !== undefined && minutes < WARM_UP_MINUTES[point.loadFamily])) open.add('not-steady');
  if (hoursSinceRegreasing(reading, context) < point.regreasingGateHours) open.add('after-regreasing');
  return GATES.filter((gate) => open.has(gate));
}

/** Is the target too narrow, where its width, the distance and the element are known? */
function isTooNarrow({ targetMm }: Point, { conditions: { distance, pictureElement } }: Reading): boolean {
  if (targetMm === null || distance === undefined || pictureElement === undefined) return false;
  return isTargetTooSmall(targetMm, smallestTarget(pictureElement, distance));
}

/** Is any of the figures brought to the reference load? */
export function isCorrected(point: Point, figures: readonly FigureOfCriterion[]): boolean {
  return figures.some(({ criterion }) => basisOf(point, criterion) === 'corrected');
}

function loadGates(point: Point, reading: Reading, figures: readonly FigureOfCriterion[], open: Set<Gate>): void {
  if (point.loadFamily === 'none') return;
  const load = loadPercentOf(point, reading);
  const corrected = isCorrected(point, figures);
  const gate = loadGate(load, lowestLoadPercent(point, corrected));
  if (gate === 'load-too-low' || (gate === 'load-missing' && corrected)) open.add(gate);
  if (load === null) return;
  if (load > HIGHEST_LOAD_PERCENT) open.add('load-too-high');
  // Above base, a load off the reference is corrected through the rise over air, which needs the air.
  const aboveBase = figures.some(({ criterion }) => criterion === 'above-base' && basisOf(point, criterion) === 'corrected');
  if (aboveBase && Math.abs(load - point.referenceLoadPercent) > LIKE_LOAD_POINTS && ambientOf(reading) === null)
    open.add('ambient-missing');
}

/** The gate of a condition the point asks for and the reading lacks. */
function gateOfNeed(point: Point, reading: Reading, need: ConditionName, context: AssessContext): Gate | null {
  if (reading.conditions[need] !== undefined) return null;
  switch (need) {
    case 'load':
    case 'current':
      return point.loadFamily === 'none' || loadPercentOf(point, reading) !== null ? null : 'load-missing';
    case 'ambient':
      return ambientOf(reading) === null ? 'ambient-missing' : null;
    case 'emissivity':
      return emissivityOf(point, reading) === null && point.infrared ? 'emissivity-unreliable' : null;
    case 'minutesRunning':
      return 'not-steady';
    case 'hoursSinceRegreasing':
      return context.lastRegreasedAt === undefined ? 'after-regreasing' : null;
    case 'irradiance':
      return reading.running === true ? null : 'sun-too-weak';
    case 'trueEmissivity':
    case 'trueReflected':
      return null;
    default:
      return 'quantity-missing';
  }
}

/**
 * A part clearly colder than the air around it says that the air was read elsewhere: no air to compare with. Asked where a
 * figure rests on the air: a rise over it, or a figure above base that is corrected through its rise.
 */
function coldInOwnAir(point: Point, reading: Reading, figures: readonly FigureOfCriterion[]): boolean {
  const restsOnAir = figures.some(
    ({ criterion }) =>
      criterion === 'rise-over-ambient' || (criterion === 'above-base' && basisOf(point, criterion) === 'corrected'),
  );
  const riseK = restsOnAir ? figureOf(point, reading, 'rise-over-ambient').value : null;
  return riseK !== null && riseK < -COLDER_THAN_AIR_K;
}

/** Hours since the grease was renewed, as entered or as recorded; a large number when nothing is known. */
export function hoursSinceRegreasing(reading: Reading, context: AssessContext): number {
  const entered = reading.conditions.hoursSinceRegreasing ?? Number.MAX_VALUE;
  const at = context.lastRegreasedAt;
  const recorded = at === undefined || at === null || at > reading.takenAt ? Number.MAX_VALUE : (reading.takenAt - at) / HOUR;
  return Math.min(entered, recorded);
}

/** Marks that do not block the judgement. */
export function notesOf(point: Point, reading: Reading, context: AssessContext): Note[] {
  const notes: Note[] = [];
  const emissivity = emissivityOf(point, reading);
  if (emissivity !== null && emissivityReliability(emissivity) === 'reduced') notes.push('emissivity-reduced');
  if (daysOutOfCalibration(reading, context) > 0) notes.push('calibration-expired');
  const before = context.previousInstrument;
  if (typeof before === 'string' && reading.instrument !== null && before !== reading.instrument)
    notes.push('instrument-changed');
  if ((reading.conditions.wind ?? 0) > STRONG_WIND) notes.push('wind');
  if ((reading.conditions.angle ?? 0) > STEEPEST_ANGLE) notes.push('angle');
  return notes;
}

/** An absolute figure of an instrument that lapsed longer ago than this is never firm (common practice, no source). */
export const CALIBRATION_GRACE_DAYS = 30;

/** Days by which the calibration had lapsed; 0 while it holds or is unknown. */
export function daysOutOfCalibration(reading: Reading, context: AssessContext): number {
  const due = context.calibrationDueAt;
  return due === undefined || due === null ? 0 : Math.max(0, (reading.takenAt - due) / DAY);
}
