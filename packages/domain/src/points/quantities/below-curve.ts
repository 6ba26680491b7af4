import type { Point } from '../types.ts';
import { contact, type FigureRule, field, found, lacking, type QuantityDefinition, rectangular } from './definition.ts';

/**
 * The value of a curve at a place, straight between its points.
 * @returns null beyond its ends, or without a curve.
 */
export function curveAt(curve: Point['curve'], at: number): number | null {
  const after = curve.findIndex(([x]) => x >= at);
  const [x1, y1] = curve[after] ?? [];
  if (x1 === undefined || y1 === undefined) return null;
  if (x1 === at) return y1;
  const [x0, y0] = curve[after - 1] ?? [];
  return x0 === undefined || y0 === undefined ? null : y0 + ((y1 - y0) * (at - x0)) / (x1 - x0);
}

/** A pressure below the acceptance curve at the flow it was read at, in % of the curve. Without a flow: at no flow. */
const below: FigureRule = {
  unit: '%',
  of: (point, reading) => {
    const { value, at = 0 } = reading.inputs;
    if (value === undefined) return lacking('%', 'quantity-missing', ['value']);
    const wanted = curveAt(point.curve, at);
    if (wanted === null || wanted <= 0)
      return lacking('%', 'quantity-missing', [point.curve.length === 0 ? 'the curve' : 'the curve at this flow']);
    return found((1 - value / wanted) * 100, '%');
  },
};

export const belowCurve: QuantityDefinition = {
  name: 'Pressure below its curve',
  beside: 'below the curve',
  criterion: 'absolute',
  unit: '%',
  decimals: 1,
  start: contact,
  inputs: () => [
    field('value', 'Pressure', { unit: 'bar' }),
    field('at', 'Flow, if it flows', { unit: 'm³/h' }, { required: false }),
  ],
  plain: below,
  figures: { absolute: below },
  ordinaryChange: 15,
  follows: 'level',
  // A gauge of class 1 (common practice, no source).
  uncertainty: () => rectangular(1),
};
