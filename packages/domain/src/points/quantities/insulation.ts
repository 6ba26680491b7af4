import { insulationAt40, polarisationIndex } from '../../electrical/index.ts';
import { CELSIUS, contact, type FigureRule, field, found, lacking, type QuantityDefinition, rectangular } from './definition.ts';

const RESISTANCE = { unit: 'MΩ', min: 0, minIncluded: false } as const;

/** Resistance after one minute, brought to 40 °C, since it halves with every 10 K. */
const at40: FigureRule = {
  unit: 'MΩ',
  of: (_point, reading) => {
    const { value, winding } = reading.inputs;
    if (value === undefined || winding === undefined) {
      return lacking('MΩ', 'quantity-missing', [
        ...(value === undefined ? ['value'] : []),
        ...(winding === undefined ? ['winding'] : []),
      ]);
    }
    const corrected = insulationAt40(value, winding);
    return corrected === null ? lacking('MΩ', 'quantity-missing', ['winding']) : found(corrected, 'MΩ');
  },
};

/** Resistance after ten minutes over that after one; above 5 GΩ it says nothing. */
const index: FigureRule = {
  unit: '1',
  of: (_point, reading) => {
    const { value, tenMinutes } = reading.inputs;
    if (value === undefined || tenMinutes === undefined)
      return lacking('1', 'quantity-missing', ['tenMinutes'], { blocks: 'alone', missing: [] });
    const ratio = polarisationIndex(value, tenMinutes);
    return ratio.value === null ? lacking('1', 'quantity-missing', [], { blocks: 'alone' }) : found(ratio.value, '1');
  },
};

export const insulationResistance: QuantityDefinition = {
  name: 'Insulation resistance',
  beside: 'at 40 °C',
  criterion: 'absolute',
  unit: 'MΩ',
  decimals: 1,
  start: contact,
  inputs: () => [
    field('value', 'After one minute', RESISTANCE),
    field('winding', 'Winding', CELSIUS),
    field('tenMinutes', 'After ten minutes', RESISTANCE, { required: false }),
  ],
  plain: at40,
  figures: { absolute: at40, 'polarisation-index': index },
  ordinaryChange: 100,
  follows: 'level',
  // 5 % of the instrument, and 2 K of the winding, over which it changes by 14 % (common practice, no source).
  uncertainty: (_point, _reading, criterion, figure) =>
    criterion === 'polarisation-index'
      ? rectangular(0.05 * Math.SQRT2 * Math.abs(figure))
      : Math.hypot(rectangular(0.05), rectangular(0.14)) * Math.abs(figure),
};
