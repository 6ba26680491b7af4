import { COMPARABLE_RANGE_PERCENT, coolerApproach, wetBulb } from '../../cooling/index.ts';
import type { Reading } from '../../facts/types.ts';
import type { Point } from '../types.ts';
import {
  AIR,
  CELSIUS,
  contact,
  type FigureRule,
  field,
  found,
  given,
  lacking,
  overBase,
  type QuantityDefinition,
  type StartingPoint,
} from './definition.ts';

/** Coolers are compared at a part of their range at rated load. */
const start: StartingPoint = {
  ...contact,
  loadFamily: 'thermal-machine',
  minimumLoadPercent: COMPARABLE_RANGE_PERCENT.least,
};

/** The range shows the load: what the fluid loses, over what it loses at rated load. */
function loadPercent({ ratedRangeK }: Point, reading: Reading): number | null {
  const both = given(reading, ['in', 'out']);
  return ratedRangeK === null || 'missing' in both ? null : ((both.values.in - both.values.out) * 100) / ratedRangeK;
}

/** How near a cooler brings its fluid to the air it works with. */
function overAir(name: string, beside: string, limitOf: (reading: Reading) => number | null, needs: StartingPoint['needs']) {
  const figure: FigureRule = {
    unit: 'K',
    of: (_point, reading) => {
      const both = given(reading, ['out', 'air']);
      if ('missing' in both) return lacking('K', 'quantity-missing', both.missing);
      const coldest = limitOf(reading);
      const over = coldest === null ? null : coolerApproach(both.values.out, coldest);
      return over === null ? lacking('K', 'quantity-missing', ['humidity']) : found(over, 'K');
    },
  };
  const definition: QuantityDefinition = {
    name,
    beside,
    criterion: 'absolute',
    unit: 'K',
    decimals: 1,
    start: { ...start, needs },
    inputs: (point) => [
      field('in', 'Fluid in', CELSIUS, { required: point.ratedRangeK !== null }),
      field('out', 'Fluid out', CELSIUS),
      field('air', 'Air in', AIR),
    ],
    plain: figure,
    figures: { absolute: figure, 'above-base': overBase(figure) },
    ordinaryChange: 8,
    follows: 'own-zero',
    loadPercent,
  };
  return definition;
}

export const overCoolingAir = overAir(
  'Fluid out over the cooling air',
  'over the cooling air',
  ({ inputs }) => inputs.air ?? null,
  [],
);
export const overWetBulb = overAir(
  'Fluid out over the wet bulb',
  'over the wet bulb',
  ({ inputs, conditions }) => wetBulb(inputs.air ?? Number.NaN, conditions.humidity ?? Number.NaN),
  ['humidity'],
);
