import type { Reading } from '../facts/types.ts';
import { median } from '../numbers/index.ts';
import { convert, sayFigure, sayNumber, withUnit } from '../units/index.ts';
import { measure } from './measure.ts';
import { DEFINITION_OF } from './quantities/index.ts';
import type { Point } from './types.ts';

/** Scatter of the last values beyond which a change is questioned: 8 robust standard deviations (common practice, no source). */
const UNLIKELY_DEVIATIONS = 8;

/**
 * Asks once whether an unlikely value is meant, before it is kept; a question, never a refusal.
 * Unlikely is a change from the last value beyond what is ordinary for the quantity, beyond 8 standard deviations of the last
 * values and beyond half of the last value. The question also names °F or in/s where the figure would fit in that unit.
 *
 * @param lastValues main figures of earlier readings of the point, newest last; empty gives no question.
 * @example questionUnlikely(bearing, reading, [83.2]) // '870 °C? The last was 83.2.'
 */
export function questionUnlikely(point: Point, reading: Reading, lastValues: readonly number[]): string | null {
  const { value, unit } = measure(point, reading);
  const known = lastValues.filter((candidate) => Number.isFinite(candidate));
  const last = known.at(-1);
  if (value === null || last === undefined) return null;
  const middle = median(known) ?? last;
  const spread = 1.4826 * (median(known.map((candidate) => Math.abs(candidate - middle))) ?? 0);
  const ordinary = Math.max(DEFINITION_OF[point.quantity].ordinaryChange, UNLIKELY_DEVIATIONS * spread, Math.abs(last) / 2);
  // A figure above base differs from what was typed by the base, so the question is put in typed figures.
  const shift = point.quantity === 'above-base' ? (point.base?.value ?? 0) : 0;
  const typed = value + shift;
  const before = last + shift;
  const typedUnit = point.quantity === 'above-base' ? '°C' : unit;
  const inInches = typedUnit === 'mm/s' && before >= 0.5 && Math.abs(convert(typed, 'in/s', 'mm/s') - before) <= before * 0.2;
  if (Math.abs(value - last) <= ordinary && !inInches) return null;
  const question = `${withUnit(sayFigure(typed, point.decimals), typedUnit)}? The last was ${sayNumber(before, point.decimals)}.`;
  if (inInches) return `${question} Was that in/s?`;
  const inFahrenheit =
    typedUnit === '°C' && Math.abs(convert(typed, '°F', '°C') - before) <= Math.max(3, Math.abs(before) * 0.08);
  return inFahrenheit ? `${question} Was that °F?` : question;
}
