import type { CriterionKind } from '../../limits/types.ts';
import { type Expectation, kindOf } from '../../units/index.ts';
import {
  contact,
  type FigureRule,
  field,
  found,
  inputOf,
  lacking,
  overBase,
  overBasePercent,
  type QuantityDefinition,
  rectangular,
} from './definition.ts';

interface Plain {
  readonly name: string;
  readonly label: string;
  readonly expects: Expectation;
  readonly decimals: number;
  readonly ordinaryChange: number;
  /** Half-width of the instrument at a figure. */
  readonly halfWidth: (figure: number) => number;
}

/** A number that stands by itself; it may be judged absolutely, over its base, and over its base in per cent. */
function plainNumber({ name, label, expects, decimals, ordinaryChange, halfWidth }: Plain): QuantityDefinition {
  const { unit } = expects;
  const plain: FigureRule = { unit, of: inputOf('value', unit) };
  const percent = overBasePercent(plain);
  return {
    name,
    criterion: 'absolute',
    unit,
    decimals,
    start: contact,
    inputs: () => [field('value', label, expects)],
    plain,
    figures: {
      absolute: plain,
      'above-base': overBase(plain),
      ...(kindOf(unit) === 'level' ? {} : { 'above-base-percent': percent }),
    },
    ordinaryChange,
    follows: 'level',
    uncertainty: (point, reading, criterion: CriterionKind, figure) => {
      const own = rectangular(halfWidth(reading.inputs.value ?? figure));
      const base = point.base?.value ?? 0;
      return criterion === 'above-base-percent' && base > 0 ? (own / base) * 100 : own;
    },
  };
}

/** ISO 2954 allows an instrument ±10 %. */
export const vibrationVelocity = plainNumber({
  name: 'Vibration velocity',
  label: 'Vibration velocity',
  expects: { unit: 'mm/s' },
  decimals: 2,
  ordinaryChange: 4,
  halfWidth: (figure) => 0.1 * Math.abs(figure),
});

// Half-widths below are common practice, no source.
export const soundLevel = plainNumber({
  name: 'Sound level',
  label: 'Level',
  expects: { unit: 'dB' },
  decimals: 0,
  ordinaryChange: 30,
  halfWidth: () => 1.5,
});
export const pressure = plainNumber({
  name: 'Pressure',
  label: 'Pressure',
  expects: { unit: 'bar' },
  decimals: 2,
  ordinaryChange: 3,
  halfWidth: (figure) => Math.max(0.05, 0.01 * Math.abs(figure)),
});
export const voltage = plainNumber({
  name: 'Voltage',
  label: 'Voltage',
  expects: { unit: 'V' },
  decimals: 2,
  ordinaryChange: 15,
  halfWidth: (figure) => Math.max(0.05, 0.005 * Math.abs(figure)),
});
export const pressureLoss = plainNumber({
  name: 'Pressure loss',
  label: 'Pressure loss',
  expects: { unit: 'mbar', what: 'A pressure loss', min: 0, example: '320 or 320,5' },
  decimals: 0,
  ordinaryChange: 200,
  halfWidth: (figure) => Math.max(2, 0.02 * Math.abs(figure)),
});
export const fillingLevel = plainNumber({
  name: 'Filling level',
  label: 'Filling level',
  expects: { unit: '%', what: 'A filling level', max: 120 },
  decimals: 0,
  ordinaryChange: 40,
  halfWidth: () => 2,
});

const share: FigureRule = {
  unit: '%',
  of: (point, reading) => {
    const { value } = reading.inputs;
    if (value === undefined) return lacking('%', 'quantity-missing', ['value']);
    const rated = point.ratedCurrentA;
    // Multiplied first, so that 77 A of 70 A are 110 % and not a hair more.
    return rated === null || rated <= 0
      ? lacking('%', 'quantity-missing', ['the rated current'])
      : found((value * 100) / rated, '%');
  },
};

/** A clamp meter shows the greatest phase; 3 % half-width (common practice, no source). */
export const currentOfRated: QuantityDefinition = {
  name: 'Current in % of rated',
  beside: 'of the rated current',
  criterion: 'absolute',
  unit: '%',
  decimals: 0,
  start: contact,
  inputs: () => [field('value', 'Current', { unit: 'A' })],
  plain: share,
  figures: { absolute: share },
  ordinaryChange: 60,
  follows: 'level',
  uncertainty: (_point, _reading, _criterion, figure) => rectangular(0.03 * Math.abs(figure)),
};
