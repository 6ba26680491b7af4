import { LEAST_LOAD_PERCENT, LOAD_EXPONENT } from '../../electrical/index.ts';
import {
  AIR,
  type FigureRule,
  field,
  infrared,
  inputOf,
  overBase,
  type QuantityDefinition,
  riseOf,
  type StartingPoint,
  seen,
} from './definition.ts';

/** Electrical parts: at least 40 % of rated load (survey practice of NFPA 70B), brought to full load with the exponent 1.8. */
export const electrical: StartingPoint = {
  ...infrared,
  loadFamily: 'electrical',
  basis: 'corrected',
  minimumLoadPercent: LEAST_LOAD_PERCENT,
  loadExponent: LOAD_EXPONENT,
  needs: ['load'],
};

const value: FigureRule = { unit: '°C', of: inputOf('value', '°C') };
const part: FigureRule = { unit: '°C', of: inputOf('part', '°C') };

export const temperature: QuantityDefinition = {
  name: 'Temperature',
  criterion: 'absolute',
  unit: '°C',
  decimals: 1,
  start: infrared,
  inputs: () => [seen('value', 'Temperature')],
  plain: value,
  figures: { absolute: value, 'rise-over-ambient': riseOf(value.of), 'above-base': overBase(value) },
  ordinaryChange: 30,
  follows: 'temperature',
};

export const aboveBase: QuantityDefinition = {
  ...temperature,
  name: 'Temperature above base',
  criterion: 'above-base',
  unit: 'K',
  follows: 'own-zero',
};

export const riseOverAmbient: QuantityDefinition = {
  name: 'Rise over air',
  criterion: 'rise-over-ambient',
  unit: 'K',
  decimals: 1,
  start: electrical,
  inputs: () => [seen('part', 'Part'), field('air', 'Air', AIR)],
  plain: part,
  figures: { absolute: part, 'rise-over-ambient': riseOf(part.of) },
  ordinaryChange: 25,
  follows: 'own-zero',
};
