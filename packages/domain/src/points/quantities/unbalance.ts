import { unbalance } from '../../electrical/index.ts';
import type { UnitCode } from '../../units/index.ts';
import { contact, type FigureRule, field, found, lacking, type QuantityDefinition, rectangular } from './definition.ts';

/** Largest distance of a phase from the mean, in % of the mean; a missing phase leaves nothing to compare, unlike a like part. */
function unbalanceOf(name: string, unit: UnitCode, instrumentPercent: number, ordinaryChange: number): QuantityDefinition {
  const figure: FigureRule = {
    unit: '%',
    of: (point, reading) => {
      const missing = point.parts.filter((part) => reading.inputs[part] === undefined);
      const value = unbalance(point.parts.flatMap((part) => reading.inputs[part] ?? []));
      return missing.length > 0 || value === null ? lacking('%', 'quantity-missing', missing) : found(value, '%');
    },
  };
  return {
    name,
    beside: 'of unbalance',
    criterion: 'absolute',
    unit: '%',
    decimals: 1,
    start: contact,
    inputs: (point) => point.parts.map((part) => field(part, part, { unit, min: 0 })),
    plain: figure,
    figures: { absolute: figure },
    ordinaryChange,
    follows: 'level',
    // One instrument reads all phases, so that most of its error is shared.
    uncertainty: () => rectangular(instrumentPercent) * Math.sqrt(2 * (1 - SHARED)),
  };
}

/** Share of the error of one instrument that is the same in every phase (common practice, no source). */
const SHARED = 0.9;

export const voltageUnbalance = unbalanceOf('Voltage unbalance', 'V', 0.5, 3);
export const currentUnbalance = unbalanceOf('Current unbalance', 'A', 3, 20);
