import type { Reading } from '../../facts/types.ts';
import {
  AIR_BAR,
  belowLine,
  fuelForLoss,
  judgeTrap,
  overReturn,
  steamCost,
  TEMPERATURE_PROVES_NO_TRAP_TIGHT,
  trapLoss,
} from '../../steam/index.ts';
import { sayFigure, withUnit } from '../../units/index.ts';
import type { Point } from '../types.ts';
import { contact, type FigureRule, found, given, lacking, type QuantityDefinition, seen } from './definition.ts';

/** How far the inlet lies below the saturation of its line: water stands before the trap, or no steam comes. */
const belowSaturation: FigureRule = {
  unit: 'K',
  of: (_point, reading) => {
    const { inlet } = reading.inputs;
    const { steamPressure } = reading.conditions;
    const below = belowLine(inlet ?? 0, steamPressure ?? Number.NaN);
    if (inlet === undefined || below === null)
      return lacking('K', 'quantity-missing', [
        ...(inlet === undefined ? ['inlet'] : []),
        ...(below === null ? ['steamPressure'] : []),
      ]);
    return found(below, 'K', { missing: reading.inputs.outlet === undefined ? ['outlet'] : [] });
  },
};

/** How far the outlet lies over the saturation of the return, while the inlet is at line temperature. */
const outletOverReturn: FigureRule = {
  unit: 'K',
  of: (_point, reading) => {
    const both = given(reading, ['inlet', 'outlet']);
    const { steamPressure, returnPressure } = reading.conditions;
    const over =
      'missing' in both || steamPressure === undefined
        ? null
        : overReturn({ ...both.values, lineGaugeBar: steamPressure, returnGaugeBar: returnPressure });
    return over === null ? lacking('K', 'quantity-missing', [], { blocks: 'alone' }) : found(over, 'K');
  },
};

/** Under steam all year, and a usual boiler (common practice, no source). */
const HOURS_A_YEAR = 8760;
const BOILER_EFFICIENCY = 0.85;

/** Two digits: an estimate is known no better. */
const roughly = (value: number): string => sayFigure(Number(value.toPrecision(2)));

/** What passes the trap if it stays half open, and what that is in a year; empty where the orifice is not known. */
function sayLoss({ orificeMm, steamPricePerTonne }: Point, { conditions }: Reading): string[] {
  const bar = (conditions.steamPressure ?? 0) + AIR_BAR;
  const loss = orificeMm === null ? null : trapLoss(orificeMm, bar, (conditions.returnPressure ?? 0) + AIR_BAR);
  if (orificeMm === null || loss === null) return [];
  const inYear = ({ low, high }: { low: number; high: number }): string => {
    if (steamPricePerTonne !== null) {
      const cost = (kilograms: number): string => roughly(steamCost(kilograms, HOURS_A_YEAR, steamPricePerTonne / 1000) ?? 0);
      return `${cost(low)} to ${cost(high)} a year at ${sayFigure(steamPricePerTonne, 2)} a tonne`;
    }
    const fuel = (kilograms: number): number => (fuelForLoss(kilograms, HOURS_A_YEAR, bar, BOILER_EFFICIENCY) ?? 0) / 1000;
    return `${roughly(fuel(low))} to ${withUnit(roughly(fuel(high)), 'MWh')} of fuel a year`;
  };
  const mass = `${roughly(loss.low)} to ${withUnit(roughly(loss.high), 'kg/h')}`;
  const most = loss.isUpperBound ? 'at most ' : '';
  return [`Half open, its orifice of ${withUnit(sayFigure(orificeMm), 'mm')} loses ${most}${mass} of steam, ${inYear(loss)}.`];
}

function tells(point: Point, reading: Reading): readonly string[] {
  const both = given(reading, ['inlet', 'outlet']);
  const { steamPressure, returnPressure } = reading.conditions;
  if ('missing' in both || steamPressure === undefined) return [];
  const state = judgeTrap({ ...both.values, lineGaugeBar: steamPressure, returnGaugeBar: returnPressure });
  if (state === 'suspect-blow-through') return [...sayLoss(point, reading), TEMPERATURE_PROVES_NO_TRAP_TIGHT];
  return state === 'not-proven-tight' ? [TEMPERATURE_PROVES_NO_TRAP_TIGHT] : [];
}

export const steamTrap: QuantityDefinition = {
  name: 'Steam trap, inlet and outlet',
  beside: 'below the saturation of its line',
  criterion: 'absolute',
  unit: 'K',
  decimals: 0,
  start: { ...contact, needs: ['steamPressure'] },
  inputs: () => [seen('inlet', 'Inlet'), seen('outlet', 'Outlet')],
  plain: belowSaturation,
  figures: { absolute: belowSaturation, 'over-return': outletOverReturn },
  ordinaryChange: 40,
  follows: 'own-zero',
  tells,
};
