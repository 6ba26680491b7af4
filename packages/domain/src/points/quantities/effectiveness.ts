import { temperatureEffectiveness } from '../../heat/index.ts';
import {
  CELSIUS,
  contact,
  type FigureRule,
  field,
  found,
  given,
  lacking,
  overBasePercent,
  type QuantityDefinition,
} from './definition.ts';

/** What the side that changes most takes of all it could, in %. */
const effectivenessPercent: FigureRule = {
  unit: '%',
  of: (_point, reading) => {
    const all = given(reading, ['hotIn', 'hotOut', 'coldIn', 'coldOut']);
    if ('missing' in all) return lacking('%', 'quantity-missing', all.missing);
    const share = temperatureEffectiveness(all.values);
    return typeof share === 'number' ? found(share * 100, '%') : lacking('%', share, []);
  },
};

export const effectiveness: QuantityDefinition = {
  name: 'Effectiveness of an exchanger',
  criterion: 'above-base-percent',
  unit: '%',
  decimals: 1,
  start: contact,
  inputs: () => [
    field('hotIn', 'Hot side in', CELSIUS),
    field('hotOut', 'Hot side out', CELSIUS),
    field('coldIn', 'Cold side in', CELSIUS),
    field('coldOut', 'Cold side out', CELSIUS),
  ],
  plain: effectivenessPercent,
  figures: { absolute: effectivenessPercent, 'above-base-percent': overBasePercent(effectivenessPercent) },
  ordinaryChange: 25,
  follows: 'own-zero',
  // Two temperatures of one thermometer, 0.5 K each against one another (common practice, no source).
  uncertainty: (point, reading, criterion) => {
    const between = (reading.inputs.hotIn ?? 0) - (reading.inputs.coldIn ?? 0);
    const own = between > 0 ? (0.5 * Math.SQRT2 * 100) / between : 0;
    const base = point.base?.value ?? 0;
    return criterion === 'above-base-percent' && base > 0 ? (own / base) * 100 : own;
  },
};
