import { LEAST_OVER_ROOM_K } from '../../heat/index.ts';
import {
  ambientOf,
  CELSIUS,
  contact,
  type FigureRule,
  field,
  found,
  given,
  lacking,
  overBase,
  type QuantityDefinition,
} from './definition.ts';

function twoSides(
  name: string,
  beside: string,
  [warm, warmLabel]: readonly [string, string],
  [cold, coldLabel]: readonly [string, string],
) {
  const between: FigureRule = {
    unit: 'K',
    of: (_point, reading) => {
      const both = given(reading, [warm, cold]);
      return 'missing' in both
        ? lacking('K', 'quantity-missing', both.missing)
        : found(both.values[warm]! - both.values[cold]!, 'K');
    },
  };
  const definition: QuantityDefinition = {
    name,
    beside,
    criterion: 'absolute',
    unit: 'K',
    decimals: 1,
    start: contact,
    inputs: () => [field(warm, warmLabel, CELSIUS), field(cold, coldLabel, CELSIUS)],
    plain: between,
    figures: { absolute: between },
    ordinaryChange: 15,
    follows: 'own-zero',
  };
  return definition;
}

/** How near the two sides of an exchanger come to each other; it grows as the surface fouls. */
const twoTemperatures = twoSides('Approach', 'between the two sides', ['warm', 'Warm side'], ['cold', 'Cold side']);
export const approach: QuantityDefinition = {
  ...twoTemperatures,
  figures: { ...twoTemperatures.figures, 'above-base': overBase(twoTemperatures.plain) },
};

const flowAndReturn = twoSides('Flow and return', 'between flow and return', ['flow', 'Flow'], ['return', 'Return']);
const spreadOverRoom: FigureRule = {
  unit: 'K',
  of: (point, reading) => {
    const figure = flowAndReturn.plain.of(point, reading);
    const overRoomK = (reading.inputs.flow ?? 0) - (ambientOf(reading) ?? Number.NEGATIVE_INFINITY);
    const isLukewarm = figure.value !== null && overRoomK >= 0 && overRoomK < LEAST_OVER_ROOM_K;
    return isLukewarm ? { ...figure, gate: 'difference-too-small' } : figure;
  },
};
/** Flow less return: too small is overflow or a short circuit, too large is starved or unbalanced. */
export const spread: QuantityDefinition = { ...flowAndReturn, plain: spreadOverRoom, figures: { absolute: spreadOverRoom } };
