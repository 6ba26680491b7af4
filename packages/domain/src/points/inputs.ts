import type { Reading, ReadingTaken } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import type { ProblemDetail } from '../problem.ts';
import { type Expectation, parseEntry, type UnitCode } from '../units/index.ts';
import { AIR, HUMIDITY, type InputField } from './quantities/definition.ts';
import { DEFINITION_OF } from './quantities/index.ts';
import { CONDITION_NAMES, type ConditionName, type Point, type Quantity } from './types.ts';

export type { InputField } from './quantities/definition.ts';
export { AMPS } from './quantities/like-parts.ts';

/** A condition beside the inputs. */
export interface ConditionField {
  readonly name: ConditionName;
  readonly label: string;
  readonly unit: UnitCode;
  readonly required: boolean;
  readonly expects: Expectation;
}

/** The criterion that the main figure of a quantity belongs to. */
export const CRITERION_OF = Object.fromEntries(
  Object.entries(DEFINITION_OF).map(([quantity, { criterion }]) => [quantity, criterion]),
) as Readonly<Record<Quantity, CriterionKind>>;

/** As a quantity stands in lists: "Rise over air". */
export const nameOfQuantity = (quantity: Quantity): string => DEFINITION_OF[quantity].name;

/**
 * The fields of the entry form, in the order a person reads them.
 * @example inputsOf(phases).map((input) => input.name) // ['L1', 'L2', 'L3', 'amps:L1', 'amps:L2', 'amps:L3']
 */
export const inputsOf = (point: Point): readonly InputField[] => DEFINITION_OF[point.quantity].inputs(point);

const EMISSIVITY: Expectation = {
  unit: '1',
  what: 'An emissivity',
  min: 0,
  minIncluded: false,
  max: 1,
  example: '0.95 or 0,95',
};
const REFLECTED: Expectation = {
  unit: '°C',
  what: 'A reflected temperature',
  min: -100,
  max: 1000,
  example: '21 or 21,5',
};

const CONDITIONS: Readonly<Record<ConditionName, { readonly label: string; readonly expects: Expectation }>> = {
  load: { label: 'Load', expects: { unit: '%', what: 'A load of the rated one' } },
  current: { label: 'Current', expects: { unit: 'A' } },
  ambient: { label: 'Air', expects: AIR },
  emissivity: { label: 'Emissivity set', expects: EMISSIVITY },
  reflected: { label: 'Reflected temperature', expects: REFLECTED },
  distance: { label: 'Distance', expects: { unit: 'm' } },
  angle: { label: 'Angle from straight on', expects: { unit: '°' } },
  minutesRunning: { label: 'Running for', expects: { unit: 'min', what: 'A running time' } },
  outdoor: {
    label: 'Outdoors',
    expects: { unit: '°C', what: 'An outdoor temperature', min: -60, max: 60, example: '−3 or 12,5' },
  },
  speed: { label: 'Speed', expects: { unit: '1/min' } },
  hoursSinceRegreasing: { label: 'Since regreasing', expects: { unit: 'h', what: 'A time since regreasing' } },
  humidity: { label: 'Humidity', expects: HUMIDITY },
  steamPressure: { label: 'Steam pressure', expects: { unit: 'bar', min: 0 } },
  returnPressure: { label: 'Return pressure', expects: { unit: 'bar', min: 0 } },
  irradiance: { label: 'Sun', expects: { unit: 'W/m²' } },
  wind: { label: 'Wind', expects: { unit: 'm/s' } },
  pictureElement: { label: 'One picture element', expects: { unit: 'mrad', min: 0, minIncluded: false } },
  trueEmissivity: { label: 'True emissivity', expects: EMISSIVITY },
  trueReflected: { label: 'True reflected temperature', expects: REFLECTED },
};

/**
 * The conditions to ask for at a point: what it needs, and what would improve the reading.
 * Where load means nothing it is never asked; the air is not asked twice where it is an input already.
 */
export function conditionsOf(point: Point): ConditionField[] {
  const needed = new Set<ConditionName>(point.needs);
  const useful = new Set<ConditionName>(needed);
  if (point.loadFamily !== 'none' && !needed.has('current')) useful.add('load');
  if (point.loadFamily !== 'none' && point.ratedCurrentA !== null && !needed.has('load')) useful.add('current');
  if (point.infrared) useful.add('emissivity');
  if (point.infrared && point.targetMm !== null) useful.add('distance').add('pictureElement');
  if (point.quantity === 'surface-humidity') useful.add('outdoor');
  if (point.quantity === 'steam-trap') useful.add('returnPressure');
  // The load follows from what is read anyway.
  if (point.ratedRangeK !== null) useful.delete('load');
  if (point.loadFamily === 'none') {
    useful.delete('load');
    useful.delete('current');
  }
  if (inputsOf(point).some(({ name }) => name === 'air')) useful.delete('ambient');
  return CONDITION_NAMES.filter((name) => useful.has(name)).map((name) => ({
    name,
    label: CONDITIONS[name].label,
    unit: CONDITIONS[name].expects.unit,
    required: needed.has(name),
    expects: CONDITIONS[name].expects,
  }));
}

/** Fields of some conditions, whatever the point asks for. @example conditionsNamed(['trueEmissivity'])[0]?.unit // '1' */
export const conditionsNamed = (names: readonly ConditionName[]): ConditionField[] =>
  names.map((name) => ({
    name,
    label: CONDITIONS[name].label,
    unit: CONDITIONS[name].expects.unit,
    required: false,
    expects: CONDITIONS[name].expects,
  }));

const escaped = (name: string): string => name.replaceAll('~', '~0').replaceAll('/', '~1');

/**
 * Turns a reading as taken into canonical values, or says for each wrong entry what was expected.
 * A reading must hold at least one of the inputs it exists for; which of them are missing is then judged, not refused, so
 * that a phase behind a stuck cover costs no reading. Every known condition is kept, needed or not.
 *
 * @returns the reading, or problems with pointers relative to the fact, such as /inputs/value.
 */
export function parseReading(
  fact: ReadingTaken,
  point: Point,
): { readonly reading: Reading } | { readonly errors: ProblemDetail[] } {
  const errors: ProblemDetail[] = [];
  const fields = inputsOf(point);
  const inputs: Record<string, number> = {};
  for (const [name, entry] of Object.entries(fact.inputs)) {
    const known = fields.find((candidate) => candidate.name === name);
    const pointer = `/inputs/${escaped(name)}`;
    if (known === undefined) {
      errors.push({ pointer, detail: `This point takes ${fields.map((candidate) => candidate.name).join(', ')}.` });
      continue;
    }
    const parsed = parseEntry(entry, known.expects);
    if ('value' in parsed) inputs[name] = parsed.value;
    else errors.push({ pointer, detail: parsed.expected });
  }
  const conditions: Record<string, number> = {};
  for (const [name, entry] of Object.entries(fact.conditions)) {
    const pointer = `/conditions/${escaped(name)}`;
    if (!(CONDITION_NAMES as readonly string[]).includes(name)) {
      errors.push({ pointer, detail: `A condition is one of ${CONDITION_NAMES.join(', ')}.` });
      continue;
    }
    const parsed = parseEntry(entry, CONDITIONS[name as ConditionName].expects);
    if ('value' in parsed) conditions[name] = parsed.value;
    else errors.push({ pointer, detail: parsed.expected });
  }
  const must = fields.filter((candidate) => candidate.required);
  const asked = must.length > 0 ? must : fields;
  const first = asked[0];
  if (first === undefined) {
    errors.push({ pointer: '/inputs', detail: 'This point has no like parts yet; give it at least two.' });
  } else if (errors.length === 0 && !asked.some((candidate) => candidate.name in inputs)) {
    const parsed = parseEntry({ text: '', unit: '' }, first.expects);
    errors.push({ pointer: `/inputs/${escaped(first.name)}`, detail: 'expected' in parsed ? parsed.expected : '' });
  }
  const takenAt = Date.parse(fact.takenAt);
  if (!Number.isFinite(takenAt)) {
    errors.push({ pointer: '/takenAt', detail: 'A time with its offset, such as 2026-04-23T09:14:00+01:00.' });
  }
  if (errors.length > 0) return { errors };
  return {
    reading: {
      id: fact.id,
      takenAt,
      inputs,
      conditions,
      running: fact.running ?? null,
      instrument: fact.instrument ?? null,
    },
  };
}
