import type { Reading } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import { lacking, type Measure } from './quantities/definition.ts';
import { DEFINITION_OF, unitOfCriterion } from './quantities/index.ts';
import { trueReading } from './true-settings.ts';
import type { Point } from './types.ts';

export { ambientOf, type Measure } from './quantities/definition.ts';
export { SIMILAR_CURRENT_PERCENT } from './quantities/like-parts.ts';

/** Load in % of rated: as entered, else from current and rated current, else as the inputs say it. */
export function loadPercentOf(point: Point, reading: Reading): number | null {
  const { load, current } = reading.conditions;
  if (load !== undefined) return load;
  const rated = point.ratedCurrentA;
  // Multiplied first, so that 77 A of 70 A are 110 % and not a hair more.
  if (current !== undefined && rated !== null && rated > 0) return (current * 100) / rated;
  return DEFINITION_OF[point.quantity].loadPercent?.(point, reading) ?? null;
}

/**
 * The main figure of the point's quantity.
 * @example measure(phases, reading) // { value: 11, unit: 'K', standout: 'L2', missing: [], … }
 */
export function measure(point: Point, reading: Reading): Measure {
  return figureOf(point, reading, DEFINITION_OF[point.quantity].criterion);
}

/** The figure that the limits of one criterion are compared with, under the true settings of the imager; a criterion that does not fit the quantity has none. */
export function figureOf(point: Point, reading: Reading, criterion: CriterionKind): Measure {
  const rule = DEFINITION_OF[point.quantity].figures[criterion];
  return (
    rule?.of(point, trueReading(point, reading)) ?? lacking(unitOfCriterion(point.quantity, criterion), 'quantity-missing', [])
  );
}
