import { belowLine, overReturn } from '../../steam/index.ts';
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
};
