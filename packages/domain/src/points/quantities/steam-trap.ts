import { contact, type FigureRule, found, given, lacking, type QuantityDefinition, seen } from './definition.ts';
import { saturationTemperature } from './saturation.ts';

/** An inlet this near to saturation is at line temperature: bare pipe reads some kelvin below its steam (common practice, no source). */
const AT_LINE_K = 15;

/** How far the inlet lies below the saturation of its line: water stands before the trap, or no steam comes. */
const belowSaturation: FigureRule = {
  unit: 'K',
  of: (_point, reading) => {
    const { inlet } = reading.inputs;
    const line = saturationTemperature(reading.conditions.steamPressure ?? Number.NaN);
    if (inlet === undefined || line === null)
      return lacking('K', 'quantity-missing', [
        ...(inlet === undefined ? ['inlet'] : []),
        ...(line === null ? ['steamPressure'] : []),
      ]);
    return found(line - inlet, 'K', { missing: reading.inputs.outlet === undefined ? ['outlet'] : [] });
  },
};

/**
 * How far the outlet lies over the saturation of the return, while the inlet is at line temperature: behind a tight trap only
 * flash steam of the return is left. Where the return itself stands near the pressure of the line nothing can be told.
 */
const overReturn: FigureRule = {
  unit: 'K',
  of: (_point, reading) => {
    const both = given(reading, ['inlet', 'outlet']);
    const line = saturationTemperature(reading.conditions.steamPressure ?? Number.NaN);
    const back = saturationTemperature(reading.conditions.returnPressure ?? 0);
    const nothing = lacking('K', 'quantity-missing', [], { blocks: 'alone' });
    if ('missing' in both || line === null || back === null || line - back < 2 * AT_LINE_K) return nothing;
    return both.values.inlet < line - AT_LINE_K ? nothing : found(both.values.outlet - back, 'K');
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
  figures: { absolute: belowSaturation, 'over-return': overReturn },
  ordinaryChange: 40,
  follows: 'own-zero',
};
