import { windFactor } from '../electrical/index.ts';
import type { Reading } from '../facts/types.ts';
import { GRADE_WORDS } from '../limits/check.ts';
import { ambientOf, loadPercentOf, type Measure } from '../points/measure.ts';
import { DEFINITION_OF } from '../points/quantities/index.ts';
import type { ConditionName, Point } from '../points/types.ts';
import { EMISSIVITY_UNRELIABLE } from '../radiometry/index.ts';
import { differenceUnit, sayFigure, sayNumber, withUnit } from '../units/index.ts';
import { HIGHEST_LOAD_PERCENT, lowestLoadPercent, usualAmbientOf } from './correction.ts';
import {
  type AssessContext,
  CALIBRATION_GRACE_DAYS,
  emissivityOf,
  type FigureOfCriterion,
  hoursSinceRegreasing,
  isCorrected,
  LEAST_IRRADIANCE,
} from './gates.ts';
import type { Because, Gate, Judgement } from './types.ts';

/** What to check first, in the words behind a grade: "Plan, check emissivity". */
export const CHECK_WORDS: Readonly<Record<Gate, string>> = {
  'not-running': 'whether it ran',
  'quantity-missing': 'what was not read',
  'load-missing': 'the load',
  'load-too-low': 'the load',
  'load-too-high': 'the load',
  'ambient-missing': 'the air temperature',
  'base-missing': 'the base',
  'emissivity-unreliable': 'emissivity',
  'target-too-small': 'the distance',
  'not-steady': 'whether it ran steadily',
  'after-regreasing': 'again after a day',
  'sun-too-weak': 'the sun',
  'too-windy': 'the wind',
  'difference-too-small': 'the temperatures',
  'twin-missing': 'its twin',
  'nothing-before': 'again',
};

/** Everything a sentence may need; assembled by the verdict. */
export interface SentenceParts {
  readonly point: Point;
  /** As it is judged, under the true settings of the imager. */
  readonly reading: Reading;
  /** As it was taken. */
  readonly taken: Reading;
  readonly judgement: Judgement;
  readonly context: AssessContext;
  /** Every criterion with limits, and the point's own. */
  readonly figures: readonly FigureOfCriterion[];
  /** Of the criterion that decided. */
  readonly figure: Measure | null;
  readonly backdated: boolean;
  /** Within the uncertainty of the limit. */
  readonly isClose: boolean;
  /** The calibration ended so long ago that an absolute figure is never firm. */
  readonly isOutdated: boolean;
  /** The limit named is reached; otherwise it is the first one ahead. */
  readonly reached: boolean;
  readonly raised: boolean;
  /** Limits depend on the weather, and the outdoor temperature was not read. */
  readonly isWeatherUnknown: boolean;
  /** There are limits here, though perhaps none for this weather. */
  readonly hasOtherLimits: boolean;
}

/**
 * The grade with its reservation, as it is spoken.
 * @example sayGrade(verdict) // 'Plan, check emissivity'
 */
export function sayGrade(verdict: Pick<Judgement, 'grade' | 'atLeast' | 'check'>): string {
  if (verdict.grade === null) return 'Not judged';
  const word = GRADE_WORDS[verdict.grade];
  if (verdict.check !== null) return `${word}, check ${CHECK_WORDS[verdict.check]}`;
  return verdict.atLeast ? `${word} at least` : word;
}

/** Why a verdict is as it is: figure, limit and source first, then what limits its weight. */
export function saySentence(parts: SentenceParts): string {
  const verdict = parts.judgement;
  const because = verdict.because;
  const missing = missingOf(parts);
  const sentences: string[] = [];
  if (verdict.grade === null) {
    if (verdict.gate !== null) sentences.push(`Not judged: ${sayGate(verdict.gate, parts)}.`);
    else if (because === null || because.limitSetId === null)
      sentences.push(`Not judged: no limits ${parts.hasOtherLimits ? 'hold in this weather' : 'are set here yet'}.`);
    if (because !== null) sentences.push(`Read: ${sayFigureRead(parts, because)}.`);
  } else if (because !== null) {
    const reservation = verdict.gate === null ? '' : `${sayGrade(verdict)}: `;
    sentences.push(`${reservation}${sayFigureRead(parts, because)}${sayLimit(parts, because)}${sayKnown(because)}.`);
    if (verdict.gate !== null) sentences.push(`${capitalised(sayGate(verdict.gate, parts))}.`);
    if (because.capped) sentences.push('Counts as Plan until a second reading or technique agrees.');
    if (parts.raised) sentences.push(`Life safety: counts one grade higher, ${GRADE_WORDS[verdict.grade]}.`);
    if (parts.isClose) sentences.push('Close to the limit.');
  }
  if (because?.asRead != null) sentences.push(sayRecomputed(parts, because, because.asRead));
  if (missing.length > 0 && verdict.gate === null) sentences.push(`${listed(missing)} not read.`);
  if (parts.figure?.isUnremarkable === true) sentences.push('It does not stand out from the scatter of the others.');
  if (parts.figure?.evenedCurrents === true) sentences.push('Currents differ, so each rise was brought to the greatest one.');
  if (verdict.grade !== null) sentences.push(...(DEFINITION_OF[parts.point.quantity].tells?.(parts.point, parts.reading) ?? []));
  for (const note of verdict.notes) {
    if (note === 'emissivity-reduced') sentences.push(`Emissivity ${saidEmissivity(parts)} makes it less sure.`);
    if (note === 'calibration-expired') sentences.push(sayCalibration(parts));
    if (note === 'instrument-changed') sentences.push('Another instrument than last time.');
    if (note === 'angle') sentences.push('Seen at a steep angle.');
    if (note === 'wind') sentences.push(sayWind(parts));
    if (note === 'room-not-machine') sentences.push(sayRoom(parts));
    if (note === 'twin-worse') sentences.push('Its twin is the warmer of the two: read that one again.');
  }
  if (parts.backdated && because !== null && because.limit !== null) {
    sentences.push('Older than the first limits here, so judged by those.');
  }
  return sentences.join(' ');
}

/** Inputs that any of the figures lacks. */
const missingOf = ({ figures }: Pick<SentenceParts, 'figures'>): string[] => [
  ...new Set(figures.flatMap(({ figure }) => figure.missing)),
];
const capitalised = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
/** Inputs and conditions as they stand in a sentence, where the key is no word. */
const MISSING_WORDS: Readonly<Record<string, string>> = {
  air: 'the air',
  outdoor: 'the temperature outdoors',
  tenMinutes: 'the resistance after ten minutes',
  hotIn: 'hot side in',
  hotOut: 'hot side out',
  coldIn: 'cold side in',
  coldOut: 'cold side out',
  steamPressure: 'the steam pressure',
  returnPressure: 'the return pressure',
  trueEmissivity: 'the true emissivity',
  humidity: 'the humidity',
  suctionPressure: 'the suction pressure',
  dischargePressure: 'the discharge pressure',
  in: 'fluid in',
  out: 'fluid out',
  middle: 'the median',
};
const listed = (names: readonly string[]): string => {
  const words = names.map((name) => MISSING_WORDS[name] ?? name);
  return words.length === 1 ? `${words[0]} was` : `${words.slice(0, -1).join(', ')} and ${words.at(-1)} were`;
};
const saidEmissivity = ({ point, reading }: SentenceParts): string => {
  const emissivity = emissivityOf(point, reading);
  return emissivity === null ? 'unknown' : sayNumber(emissivity, 2);
};
const sayCalibration = ({ isOutdated, judgement }: SentenceParts): string =>
  isOutdated && judgement.grade !== null
    ? `The calibration of the instrument had ended more than ${CALIBRATION_GRACE_DAYS} days before, so this is not firm.`
    : 'The calibration of the instrument had ended.';
const sayRecomputed = ({ point, reading, taken }: SentenceParts, because: Because, asRead: number): string => {
  const set = taken.conditions.emissivity ?? point.emissivity;
  const [was, is] = [set === null ? 'an unknown one' : sayNumber(set, 2), sayNumber(reading.conditions.emissivity ?? 1, 2)];
  const shown = withUnit(sayNumber(asRead, point.decimals), because.unit);
  const around =
    taken.conditions.trueReflected === undefined
      ? ''
      : ` and ${withUnit(sayNumber(taken.conditions.trueReflected, 0), '°C')} around`;
  return `Recomputed at emissivity ${is}${around}; as read at ${was} it showed ${shown}.`;
};
/** A rise measured in wind would be greater in still air; that is an estimate, so it is said and not judged. */
const sayWind = ({ reading, judgement: { because } }: SentenceParts): string => {
  const factor = windFactor(reading.conditions.wind ?? 0);
  if (factor === null || because === null || because.criterion !== 'rise-over-ambient' || because.value <= 0)
    return 'Wind cooled it.';
  return `Wind cooled it: in still air it may be about ${withUnit(sayNumber(because.value * factor, 0), because.unit)}.`;
};
const sayRoom = ({ point, reading, judgement: { because } }: SentenceParts): string => {
  const ambientC = ambientOf(reading) ?? 0;
  const usualC = usualAmbientOf(point);
  const there = withUnit(sayNumber((because?.value ?? 0) - ambientC + usualC, point.decimals), '°C');
  return `Room, not machine: in air of ${withUnit(sayFigure(usualC, 0), '°C')} it would read ${there} and reach no limit, so look at the ventilation.`;
};
const percent = (value: number): string => withUnit(sayFigure(value, 1), '%');

/** The figure with what it stands over, the load it was read at, and what it is at the reference load. */
function sayFigureRead({ point, reading, figure }: SentenceParts, because: Because): string {
  const decimals = point.decimals;
  const relative = (value: number, over: string, under: string): string =>
    value < 0
      ? `${withUnit(sayNumber(-value, decimals), because.unit)} ${under}`
      : `${withUnit(digitsBeside(value, because.limit, decimals), because.unit)} ${over}`;
  const which = figure?.standout == null ? '' : ` (${figure.standout})`;
  const { beside, criterion: main } = DEFINITION_OF[point.quantity];
  const said = (value: number): string => {
    switch (because.criterion) {
      case 'rise-over-ambient':
        return relative(value, 'over air', 'below air');
      case 'like-part-difference':
        return point.quantity === 'neighbour-difference'
          ? `${withUnit(digitsBeside(value, because.limit, decimals), because.unit)} from its neighbours${which}`
          : `${relative(value, 'over like parts', 'below like parts')}${which}`;
      case 'above-base':
      case 'above-base-percent':
        return relative(value, 'above base', 'below base');
      case 'over-twin':
        return point.twins.length > 1
          ? relative(value, 'over its neighbours', 'below its neighbours')
          : relative(value, 'over its twin', 'below its twin');
      case 'change-since-last':
        return relative(value, 'more than last time', 'less than last time');
      case 'polarisation-index':
        return `polarisation index ${digitsBeside(value, because.limit, 1)}`;
      case 'over-return':
        return relative(value, 'over the saturation of the return', 'below the saturation of the return');
      case 'surface-factor':
        return `surface factor ${digitsBeside(value, because.limit, 2)}`;
      case 'absolute':
        return `${withUnit(digitsBeside(value, because.limit, decimals), because.unit)}${main === 'absolute' && beside !== undefined ? ` ${beside}` : which}`;
    }
  };
  const loadPercent = point.loadFamily === 'none' ? null : loadPercentOf(point, reading);
  const load = loadPercent === null ? '' : ` at ${percent(loadPercent)} load`;
  if (because.band === null) return `${said(because.rawValue)}${load}`;
  const reference = point.referenceLoadPercent === 100 ? 'full load' : `${percent(point.referenceLoadPercent)} load`;
  const full = withUnit(digitsBeside(because.value, because.limit, decimals), because.unit);
  // Brought to the reference load, a figure above base stands in the reference air as well.
  const air =
    because.criterion === 'above-base' && point.referenceAmbientC !== null
      ? ` in air of ${withUnit(sayFigure(point.referenceAmbientC, 1), '°C')}`
      : '';
  return `${said(because.rawValue)}${load}, ${full} at ${reference}${air}`;
}

function sayLimit({ point, reached }: SentenceParts, because: Because): string {
  if (because.limit === null || because.limitGrade === null) return '';
  const limit = withUnit(sayFigure(because.limit), because.unit);
  const word = GRADE_WORDS[because.limitGrade];
  const from =
    because.source === ''
      ? ''
      : ` (${because.source}${because.reason === '' ? '' : `: ${lowerFirst(withoutStop(because.reason))}`})`;
  if (reached) {
    const down = because.direction === 'low' ? ' and below' : '';
    return `; the ${word} limit is ${limit}${down}${from}`;
  }
  const beyond = because.direction === 'low' ? 'above' : 'below';
  const equal =
    because.value === because.limit ||
    sayNumber(because.value, point.decimals + 3) === sayNumber(because.limit, point.decimals + 3);
  return equal ? `, not beyond the ${word} limit of ${limit}${from}` : `, ${beyond} the ${word} limit of ${limit}${from}`;
}

/** How well the figure is known: two standard uncertainties, about 95 %, to two figures. */
function sayKnown({ uncertainty, unit, limit }: Because): string {
  const range = Number((2 * uncertainty).toPrecision(2));
  return range > 0 && limit !== null ? `; known to ±${withUnit(sayFigure(range, 6), differenceUnit(unit))}` : '';
}

const withoutStop = (text: string): string => text.trim().replace(/[.;]+$/, '');
/** Lower case at the start unless the word is an abbreviation or a name with a second capital. */
const lowerFirst = (text: string): string => (/^[A-Z][a-z ]/.test(text) ? text.charAt(0).toLowerCase() + text.slice(1) : text);

/** Decimals of the point, and as many more as it takes that a figure beside its limit does not look equal to it. */
function digitsBeside(value: number, limit: number | null, decimals: number): string {
  if (limit === null || Math.abs(value - limit) < 1e-6) return sayNumber(value, decimals);
  for (let places = decimals; places < decimals + 3; places++) {
    if (sayNumber(value, places) !== sayNumber(limit, places)) return sayNumber(value, places);
  }
  return sayNumber(value, decimals + 3);
}

/** Conditions with a gate and words of their own. */
const SAID_OTHERWISE: readonly ConditionName[] = [
  'load',
  'current',
  'ambient',
  'emissivity',
  'minutesRunning',
  'hoursSinceRegreasing',
  'irradiance',
];
const OUTDOOR: readonly ConditionName[] = ['outdoor'];

/** Why a reading cannot be compared, as a clause without a full stop. */
function sayGate(gate: Gate, parts: SentenceParts): string {
  const { point, reading, context, figures } = parts;
  const loadPercent = loadPercentOf(point, reading);
  switch (gate) {
    case 'not-running':
      return 'it was not running';
    case 'quantity-missing': {
      const missing = missingOf(parts);
      const needed = [
        ...point.needs.filter((need) => !SAID_OTHERWISE.includes(need)),
        ...(parts.isWeatherUnknown ? OUTDOOR : []),
      ];
      const lacking = missing.length > 0 ? missing : needed.filter((need) => reading.conditions[need] === undefined);
      return lacking.length === 0 ? 'something it needs was not read' : `${listed(lacking)} not read`;
    }
    case 'load-missing':
      return 'the load is not known';
    case 'load-too-low': {
      const lowest = lowestLoadPercent(point, isCorrected(point, figures));
      return `load ${percent(loadPercent ?? 0)} is below ${percent(lowest)}; come back at ${percent(lowest)} or more`;
    }
    case 'load-too-high':
      return `load ${percent(loadPercent ?? 0)} is above ${percent(HIGHEST_LOAD_PERCENT)}`;
    case 'ambient-missing': {
      const ambientC = ambientOf(reading);
      return ambientC === null
        ? 'the air temperature is missing'
        : `the air (${withUnit(sayNumber(ambientC, 1), '°C')}) is warmer than the part, so it was read elsewhere`;
    }
    case 'base-missing':
      return 'there is no base yet; it comes from the first five comparable readings';
    case 'emissivity-unreliable': {
      const set = emissivityOf(point, reading);
      if (set !== null && set < EMISSIVITY_UNRELIABLE) return `emissivity ${sayNumber(set, 2)} cannot be relied on`;
      return 'bare metal shows no true temperature; put tape or paint on the spot';
    }
    case 'target-too-small':
      return 'the spot was too small from there; go nearer';
    case 'not-steady':
      return context.unsteady !== true && reading.conditions.minutesRunning === undefined
        ? 'it is not known how long it had been running'
        : 'it had not run steadily for long enough';
    case 'sun-too-weak': {
      const { irradiance } = reading.conditions;
      const sun =
        irradiance === undefined ? 'the sun was not read' : `the sun gives only ${withUnit(sayFigure(irradiance, 0), 'W/m²')}`;
      return `${sun} and the pump was not running; come back at ${withUnit(sayFigure(LEAST_IRRADIANCE, 0), 'W/m²')} or more`;
    }
    case 'too-windy':
      return `wind of ${withUnit(sayFigure(reading.conditions.wind ?? 0, 1), 'm/s')} cools it beyond any correction`;
    case 'difference-too-small':
      return 'the temperatures lie too close together to tell anything';
    case 'twin-missing':
      return 'there is no comparable reading of its twin from this visit';
    case 'nothing-before':
      return 'there is no comparable reading before it';
    case 'after-regreasing': {
      const hours = hoursSinceRegreasing(reading, context);
      const since = hours < 10_000 ? `regreased ${sayFigure(hours, 0)} h before` : 'the time since regreasing is not known';
      return `${since}; bearings stay warm for ${sayFigure(point.regreasingGateHours, 0)} h`;
    }
  }
}
