import { CELSIUS, contact, type FigureRule, field, found, given, lacking, type QuantityDefinition } from './definition.ts';

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
export const approach = twoSides('Approach', 'between the two sides', ['warm', 'Warm side'], ['cold', 'Cold side']);

/** Flow less return: too small is overflow or a short circuit, too large is starved or unbalanced. */
export const spread = twoSides('Flow and return', 'between flow and return', ['flow', 'Flow'], ['return', 'Return']);
