import { dewPoint, humidityAtSurface, LEAST_FACTOR, LEAST_INSIDE_OUTSIDE_K, surfaceFactor } from '../../envelope/index.ts';
import type { Reading } from '../../facts/types.ts';
import { sayNumber, withUnit } from '../../units/index.ts';
import type { Point } from '../types.ts';
import {
  AIR,
  contact,
  type FigureRule,
  field,
  found,
  given,
  lacking,
  type QuantityDefinition,
  rectangular,
  seen,
} from './definition.ts';

const inputs = () => [seen('value', 'Surface'), field('air', 'Air', AIR)];

/** Surface, air and humidity, or what of them is missing. */
function surfaceAndAir(reading: Reading) {
  const both = given(reading, ['value', 'air']);
  const { humidity } = reading.conditions;
  if ('missing' in both) return { missing: [...both.missing, ...(humidity === undefined ? ['humidity'] : [])] };
  return humidity === undefined ? { missing: ['humidity'] } : { surface: both.values.value, air: both.values.air, humidity };
}

const margin: FigureRule = {
  unit: 'K',
  of: (_point, reading) => {
    const known = surfaceAndAir(reading);
    if ('missing' in known) return lacking('K', 'quantity-missing', known.missing);
    const dew = dewPoint(known.air, known.humidity);
    return dew === null ? lacking('K', 'quantity-missing', ['humidity']) : found(known.surface - dew, 'K');
  },
};

/** A surface that is cooled, and how far it stays above the dew point of its room. */
export const overDewPoint: QuantityDefinition = {
  name: 'Surface over the dew point',
  beside: 'over the dew point',
  criterion: 'absolute',
  unit: 'K',
  decimals: 1,
  start: { ...contact, infrared: true, emissivity: 0.93, needs: ['humidity'] },
  inputs,
  plain: margin,
  figures: { absolute: margin },
  ordinaryChange: 8,
  follows: 'own-zero',
  // 1 K of the surface and 3 % of humidity, over which the dew point moves by a kelvin (common practice, no source).
  uncertainty: () => Math.hypot(rectangular(1), rectangular(1)),
};

/** Relative humidity of the air that touches the surface: its vapour over what the surface could hold. */
const humidityThere: FigureRule = {
  unit: '%',
  of: (_point, reading) => {
    const known = surfaceAndAir(reading);
    if ('missing' in known) return lacking('%', 'quantity-missing', known.missing);
    const there = humidityAtSurface(known.surface, known.air, known.humidity);
    return there === null ? lacking('%', 'quantity-missing', ['value']) : found(there, '%');
  },
};

/** How much of the warmth of the room reaches the surface. */
const factor: FigureRule = {
  unit: '1',
  of: (_point, reading) => {
    const both = given(reading, ['value', 'air']);
    const { outdoor } = reading.conditions;
    if ('missing' in both || outdoor === undefined)
      return lacking('1', 'quantity-missing', outdoor === undefined ? ['outdoor'] : [], { blocks: 'alone' });
    const share = surfaceFactor(both.values.value, both.values.air, outdoor);
    if (share === null || Math.abs(both.values.air - outdoor) < LEAST_INSIDE_OUTSIDE_K)
      return lacking('1', 'difference-too-small', [], { blocks: 'while-fine' });
    return found(share, '1');
  },
};

/** The dew point, and the factor beside the least one where inside and outside let it be told. */
function tells(point: Point, reading: Reading): readonly string[] {
  const known = surfaceAndAir(reading);
  const dew = 'missing' in known ? null : dewPoint(known.air, known.humidity);
  const share = factor.of(point, reading).value;
  return [
    ...(dew === null ? [] : [`The dew point of this air is ${withUnit(sayNumber(dew, 1), '°C')}.`]),
    ...(share === null
      ? []
      : [`Surface factor f_Rsi ${sayNumber(share, 2)}; at least ${sayNumber(LEAST_FACTOR, 2)} is asked for (DIN 4108-2).`]),
  ];
}

/** A spot of a wall, as a snapshot: what stands in the air, and how much warmth reaches it. */
export const surfaceHumidity: QuantityDefinition = {
  name: 'Humidity at a surface',
  beside: 'of humidity at the surface',
  criterion: 'absolute',
  unit: '%',
  decimals: 0,
  start: { ...contact, infrared: true, emissivity: 0.93, needs: ['humidity'] },
  inputs,
  plain: humidityThere,
  figures: { absolute: humidityThere, 'surface-factor': factor },
  ordinaryChange: 25,
  follows: 'level',
  tells,
  // 3 % of humidity, and 1 K of the surface, over which it changes by 6.4 % (common practice, no source).
  uncertainty: (_point, reading, criterion, figure) => {
    if (criterion !== 'surface-factor') return Math.hypot(rectangular(3), rectangular(0.064 * Math.abs(figure)));
    const between = Math.abs((reading.inputs.air ?? 0) - (reading.conditions.outdoor ?? 0));
    return between > 0 ? rectangular(1) / between : 0;
  },
};
