import type { Reading } from '../../facts/types.ts';
import type { CriterionKind } from '../../limits/types.ts';
import type { Expectation, UnitCode } from '../../units/index.ts';
import type { Gate } from '../../verdict/types.ts';
import type { Basis, ConditionName, LoadFamily, Point } from '../types.ts';

/** One field of the entry form of a point. */
export interface InputField {
  /** Key in the fact: value, part, air, warm, cold, the name of a like part, or amps:<part>. */
  readonly name: string;
  readonly label: string;
  /** Canonical unit. */
  readonly unit: UnitCode;
  /** The form asks for it; a reading without it is kept and says what is missing. */
  readonly required: boolean;
  readonly expects: Expectation;
  /** One of two ways of filling the form: each component by itself, or what one picture shows of all. Absent: always asked. */
  readonly way?: 'each' | 'picture' | undefined;
  /** A temperature that the imager sees, so that it follows a correction of emissivity. */
  readonly isSeen?: boolean | undefined;
}

/** A figure computed from the inputs of one reading, before any correction to the reference load. */
export interface Measure {
  /** Null when it cannot be computed; gate then says why. */
  readonly value: number | null;
  readonly unit: string;
  readonly gate: Gate | null;
  /** What the gate keeps from being judged: the reading, the reading while nothing else is reached, or only if there is nothing else. */
  readonly blocks: 'always' | 'while-fine' | 'alone';
  /** Like parts and components: the one that the figure is about; null otherwise. */
  readonly standout: string | null;
  /** Components: it does not stand out from the scatter of the others, so that no limit counts as reached. */
  readonly isUnremarkable: boolean;
  /** Inputs that are missing, also where the figure could be computed without them. */
  readonly missing: readonly string[];
  /** Like parts under unequal currents: the rises were brought to the greatest current first. */
  readonly evenedCurrents: boolean;
}

/** How the figure of one criterion comes from a reading. */
export interface FigureRule {
  /** Of the figure, and so of its limits. */
  readonly unit: UnitCode;
  readonly of: (point: Point, reading: Reading) => Measure;
}

/** What a point of a quantity starts with when nobody says otherwise. */
export interface StartingPoint {
  readonly loadFamily: LoadFamily;
  readonly basis: Basis;
  readonly minimumLoadPercent: number;
  readonly loadExponent: number;
  readonly emissivity: number | null;
  readonly infrared: boolean;
  readonly needs: readonly ConditionName[];
}

/** Everything that belongs to one quantity. */
export interface QuantityDefinition {
  /** As it stands in a list: "Rise over air". */
  readonly name: string;
  /** Words behind the figure in a sentence, such as "between the two sides". */
  readonly beside?: string | undefined;
  /** The criterion that the main figure belongs to. */
  readonly criterion: CriterionKind;
  /** Unit and decimals of the main figure. */
  readonly unit: UnitCode;
  readonly decimals: number;
  readonly start: StartingPoint;
  /** The entry form, in the order a person reads it. */
  readonly inputs: (point: Point) => readonly InputField[];
  readonly figures: Readonly<Partial<Record<CriterionKind, FigureRule>>>;
  /** The figure as it stands by itself, before base, twin and earlier readings. */
  readonly plain: FigureRule;
  /** A change of the main figure that is never questioned: ordinary for the quantity (common practice, no source). */
  readonly ordinaryChange: number;
  /** own-zero: load acts on the figure as a factor. temperature: on its rise over the air. level: neither. */
  readonly follows: 'own-zero' | 'temperature' | 'level';
  /** Standard uncertainty of a figure of a criterion; null: the budget of temperatures and their differences. */
  readonly uncertainty?:
    | ((point: Point, reading: Reading, criterion: CriterionKind, figure: number) => number | null)
    | undefined;
  /** Whole sentences that go beside a judged reading: what follows from it for people, and what it cannot show. */
  readonly tells?: ((point: Point, reading: Reading) => readonly string[]) | undefined;
  /** Load in % of rated, where it follows from the inputs. */
  readonly loadPercent?: ((point: Point, reading: Reading) => number | null) | undefined;
}

const usual = { blocks: 'always', standout: null, isUnremarkable: false, evenedCurrents: false } as const;

export const found = (value: number, unit: string, more: Partial<Measure> = {}): Measure => ({
  value,
  unit,
  gate: null,
  missing: [],
  ...usual,
  ...more,
});

export const lacking = (unit: string, gate: Gate, missing: readonly string[], more: Partial<Measure> = {}): Measure => ({
  value: null,
  unit,
  gate,
  missing,
  ...usual,
  ...more,
});

export const field = (name: string, label: string, expects: Expectation, more: Partial<InputField> = {}): InputField => ({
  name,
  label,
  unit: expects.unit,
  required: true,
  expects,
  ...more,
});

export const CELSIUS: Expectation = { unit: '°C' };
export const AIR: Expectation = { unit: '°C', what: 'An air temperature', min: -60, max: 100, example: '21 or 21,5' };
export const HUMIDITY: Expectation = { unit: '%', what: 'A relative humidity', max: 100, example: '48 or 48,5' };
export const seen = (name: string, label: string): InputField => field(name, label, CELSIUS, { isSeen: true });

/** Several inputs at once, or which of them are missing. */
export function given<Name extends string>(
  reading: Reading,
  names: readonly Name[],
): { readonly values: Readonly<Record<Name, number>> } | { readonly missing: readonly Name[] } {
  const missing = names.filter((name) => reading.inputs[name] === undefined);
  return missing.length > 0 ? { missing } : { values: reading.inputs as Readonly<Record<Name, number>> };
}

/** The figure of one input. */
export const inputOf =
  (name: string, unit: UnitCode) =>
  (_point: Point, reading: Reading): Measure => {
    const value = reading.inputs[name];
    return value === undefined ? lacking(unit, 'quantity-missing', [name]) : found(value, unit);
  };

/** Air temperature: the input where there is one, else the condition. */
export function ambientOf(reading: Reading): number | null {
  return reading.inputs.air ?? reading.conditions.ambient ?? null;
}

/** A temperature over its own air. */
export const riseOf = (temperature: FigureRule['of']): FigureRule => ({
  unit: 'K',
  of: (point, reading) => {
    const part = temperature(point, reading);
    if (part.value === null) return { ...part, unit: 'K' };
    const ambient = ambientOf(reading);
    return ambient === null ? lacking('K', 'ambient-missing', ['air']) : { ...part, value: part.value - ambient, unit: 'K' };
  },
});

/** A figure over the base of its point, in the unit of the figure. */
export const overBase = (plain: FigureRule): FigureRule => {
  const unit = plain.unit === '°C' ? 'K' : plain.unit;
  return {
    unit,
    of: (point, reading) => {
      const raw = plain.of(point, reading);
      if (raw.value === null) return raw;
      return point.base === null ? lacking(unit, 'base-missing', []) : { ...raw, value: raw.value - point.base.value, unit };
    },
  };
};

/** A figure over the base of its point, in per cent of the base; a base of 0 has no per cent. */
export const overBasePercent = (plain: FigureRule): FigureRule => ({
  unit: '%',
  of: (point, reading) => {
    const raw = plain.of(point, reading);
    if (raw.value === null) return { ...raw, unit: '%' };
    const base = point.base?.value ?? 0;
    if (base <= 0) return lacking('%', 'base-missing', []);
    const value = (raw.value / base - 1) * 100;
    return Number.isFinite(value) ? { ...raw, value, unit: '%' } : lacking('%', 'base-missing', []);
  },
});

export const contact: StartingPoint = {
  loadFamily: 'none',
  basis: 'raw',
  minimumLoadPercent: 0,
  loadExponent: 1,
  emissivity: null,
  infrared: false,
  needs: [],
};
/** Emissivity of painted or lacquered metal. */
export const infrared: StartingPoint = {
  ...contact,
  loadFamily: 'thermal-machine',
  minimumLoadPercent: 50,
  emissivity: 0.93,
  infrared: true,
  needs: ['load', 'ambient'],
};

/** The one that a figure is about, and others beside it. @example sayStandouts('B8', ['B2', 'B3']) // 'B8; also B2, B3' */
export const sayStandouts = (first: string, also: readonly string[]): string =>
  also.length === 0 ? first : `${first}; also ${also.join(', ')}`;

export { rectangular } from '../../uncertainty/index.ts';
