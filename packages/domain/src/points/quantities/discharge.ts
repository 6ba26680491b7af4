import { dischargeTemperature } from '../../cooling/index.ts';
import { AIR_BAR } from '../../steam/index.ts';
import { CELSIUS, contact, type FigureRule, field, found, given, lacking, type QuantityDefinition } from './definition.ts';

/** Measured discharge less the calculated one: what valves and cooling add to the heat of compression. */
const over: FigureRule = {
  unit: 'K',
  of: (point, reading) => {
    const all = given(reading, ['suction', 'discharge', 'suctionPressure', 'dischargePressure']);
    if ('missing' in all) return lacking('K', 'quantity-missing', all.missing);
    const { suction, discharge, suctionPressure, dischargePressure } = all.values;
    const [from, to] = [suctionPressure + AIR_BAR, dischargePressure + AIR_BAR];
    const calculated = from > 0 ? dischargeTemperature(suction, to / from, point.gasExponent ?? undefined) : null;
    return calculated === null ? lacking('K', 'quantity-missing', ['dischargePressure']) : found(discharge - calculated, 'K');
  },
};

export const dischargeOverCalculated: QuantityDefinition = {
  name: 'Discharge over the calculated one',
  beside: 'over the calculated discharge',
  criterion: 'absolute',
  unit: 'K',
  decimals: 0,
  start: contact,
  inputs: () => [
    field('suction', 'Suction', CELSIUS),
    field('discharge', 'Discharge', CELSIUS),
    field('suctionPressure', 'Suction pressure', { unit: 'bar' }),
    field('dischargePressure', 'Discharge pressure', { unit: 'bar' }),
  ],
  plain: over,
  figures: { absolute: over },
  ordinaryChange: 30,
  follows: 'own-zero',
  // Efficiency and exponent are known to some per cent; 5 K over a compression (common practice, no source).
  uncertainty: () => 5,
};
