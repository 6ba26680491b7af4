import type { Reading } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import { ambientOf } from '../points/measure.ts';
import { COMPARING, DEFINITION_OF, unitOfCriterion } from '../points/quantities/index.ts';
import type { Point } from '../points/types.ts';
import { sensitivitiesAt } from '../radiometry/index.ts';
import { differenceUncertainty, EMISSIVITY_UNCERTAINTY, instrumentUncertainty, REPEAT_K } from '../uncertainty/index.ts';

/** Thermometer of the air (common practice, no source). */
const AIR_K = 0.5;
/**
 * Standard uncertainty of the figure of a criterion before load correction, in the unit of the figure. The point's own figure
 * goes first, then that of its quantity; temperatures and differences follow the budget above. An emissivity between 0.5 and 0.8 adds its own line of the budget, as one from a table.
 */
export function uncertaintyOf(
  point: Point,
  reading: Reading,
  criterion: CriterionKind,
  figure: number,
  emissivityReduced: number | null,
): number {
  if (point.uncertainty !== null && criterion === CRITERION_OF[point.quantity]) return Math.max(0, point.uncertainty);
  const definition = DEFINITION_OF[point.quantity];
  const own = definition.uncertainty?.(point, reading, criterion, figure) ?? null;
  if (own !== null) return COMPARING.includes(criterion) ? own * Math.SQRT2 : own;
  const ambientC = ambientOf(reading);
  if (criterion !== 'rise-over-ambient' && unitOfCriterion(point.quantity, criterion) === 'K')
    return differenceUncertainty(instrumentUncertainty(0));
  const valueC = criterion === 'rise-over-ambient' ? figure + (ambientC ?? 20) : figure;
  const reflectedC = reading.conditions.reflected ?? ambientC ?? 20;
  const perEmissivity =
    emissivityReduced === null ? null : sensitivitiesAt(valueC, { emissivity: emissivityReduced, reflectedC });
  const emissivity = Math.abs(perEmissivity?.emissivity ?? 0) * EMISSIVITY_UNCERTAINTY.table;
  const air = criterion === 'rise-over-ambient' ? AIR_K : 0;
  return Math.hypot(instrumentUncertainty(valueC), REPEAT_K, emissivity, air);
}
