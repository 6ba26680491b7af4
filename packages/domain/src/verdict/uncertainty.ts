import type { Reading } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import { ambientOf } from '../points/measure.ts';
import { COMPARING, DEFINITION_OF, unitOfCriterion } from '../points/quantities/index.ts';
import type { Point } from '../points/types.ts';
import {
  budgetOf,
  contactUncertainty,
  differenceUncertainty,
  instrumentUncertainty,
  REFLECTED_UNCERTAINTY_K,
  REPEAT_K,
} from '../uncertainty/index.ts';
import { basisOf } from './correction.ts';

const OF_ANOTHER_DAY: readonly CriterionKind[] = ['above-base', 'change-since-last'];

/** Thermometer of the air (common practice, no source). */
const AIR_K = 0.5;
/**
 * Standard uncertainty of the figure of a criterion before load correction, in the unit of the figure. The point's own figure
 * goes first, then that of its quantity; temperatures and differences follow the budget of a reading. From an emissivity of 0.8 on its
 * instrument and repeat count, by contact those of a thermometer; between 0.5 and 0.8 the whole budget does, with an emissivity from a table and a reflected temperature that
 * was measured or taken for the air.
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
  if (!point.infrared) return ofContact(reading, unitOfCriterion(point.quantity, criterion) === 'K', figure);
  if (criterion !== 'rise-over-ambient' && unitOfCriterion(point.quantity, criterion) === 'K') {
    // One temperature beside what a table says; how well it is known goes by how hot it is.
    if (criterion === 'over-return') return Math.hypot(instrumentUncertainty(reading.inputs.outlet ?? 0), REPEAT_K);
    // The other one is of another day, perhaps of another instrument, so nothing of its error cancels.
    const difference = differenceUncertainty(instrumentUncertainty(0), OF_ANOTHER_DAY.includes(criterion) ? 0 : undefined);
    // Above base, load is corrected through the rise over air, and the air is read with an error of its own.
    return criterion === 'above-base' && basisOf(point, criterion) !== 'raw' ? Math.hypot(difference, AIR_K) : difference;
  }
  const valueC = criterion === 'rise-over-ambient' ? figure + (ambientC ?? 20) : figure;
  const reflected = reading.conditions.reflected;
  const reduced =
    emissivityReduced === null
      ? null
      : budgetOf({
          trueC: valueC,
          emissivity: emissivityReduced,
          reflectedC: reflected ?? ambientC ?? 20,
          reflectedUncertainty: reflected === undefined ? undefined : REFLECTED_UNCERTAINTY_K.measured,
        });
  const air = criterion === 'rise-over-ambient' ? AIR_K : 0;
  return Math.hypot(reduced?.combined ?? Math.hypot(instrumentUncertainty(valueC), REPEAT_K), air);
}

/** One thermometer, or the difference of two. */
function ofContact({ inputs }: Reading, isDifference: boolean, figure: number): number {
  if (!isDifference) return contactUncertainty(figure);
  return Math.SQRT2 * contactUncertainty(Math.max(0, ...Object.values(inputs).map(Math.abs)));
}
