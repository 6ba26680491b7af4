import { CELSIUS, contact, type FigureRule, field, found, given, lacking, type QuantityDefinition } from './definition.ts';
import { dischargeTemperature } from './saturation.ts';

/** Of air and other gases of two atoms; refrigerants lie between 1.1 and 1.3 (from memory). */
const AIR_EXPONENT = 1.4;
/** A sound piston machine (common practice, no source). */
const EFFICIENCY = 0.75;

/** Measured discharge less the calculated one: what valves and cooling add to the heat of compression. */
const over: FigureRule = {
  unit: 'K',
  of: (point, reading) => {
    const all = given(reading, ['suction', 'discharge', 'suctionPressure', 'dischargePressure']);
    if ('missing' in all) return lacking('K', 'quantity-missing', all.missing);
    const { suction, discharge, suctionPressure, dischargePressure } = all.values;
    const exponent = point.gasExponent ?? AIR_EXPONENT;
    const calculated = dischargeTemperature(suction, suctionPressure, dischargePressure, exponent, EFFICIENCY);
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
