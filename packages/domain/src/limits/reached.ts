import { AMBIENT_K, SIMILAR_K } from '../electrical/index.ts';
import type { Point, Quantity } from '../points/types.ts';
import { weatherOf } from './holds.ts';
import { type CriterionKind, LIMIT_GRADES, type LimitGrade, type LimitSet } from './types.ts';

/** Relative to 1 or to the limit: arithmetic on typed decimals leaves noise far below this, instruments show digits far above. */
const NOISE = 1e-9;

/** Upper ends of the classes of ANSI/NETA MTS table 100.18: exactly such a figure is still in the class below. */
const CLASS_ENDS_K: Partial<Readonly<Record<CriterionKind, readonly number[]>>> = {
  'like-part-difference': [SIMILAR_K.first, SIMILAR_K.second],
  'rise-over-ambient': [AMBIENT_K.first, AMBIENT_K.second, AMBIENT_K.third],
};

/** "Not exceeded": zones of ISO 20816-3, and the unbalance that NEMA MG 1 allows. */
const CLOSED_ABOVE: readonly Quantity[] = ['vibration-velocity', 'voltage-unbalance', 'current-unbalance'];

/**
 * Does a limit count as reached by exactly its figure? Yes everywhere (≥, ≤), except where the table the figures are taken from
 * closes its classes otherwise: the classes of ANSI/NETA MTS table 100.18 above the first ("more than 3 K"), and the zone
 * boundaries of ISO 20816-3 ("not exceeded"). Both hold only while the figures are taken unchanged from the general library.
 * A permitted rise, such as the 70 K of IEC 61439-1 at terminals, is used up when it is reached.
 */
export function countsWhenEqual(point: Point, set: LimitSet, grade: LimitGrade): boolean {
  if (set.origin !== 'general') return true;
  // Spread in mild weather: 5 to 10 K is fine, up to 15 Watch, up to 20 Plan, and only 20 itself is Soon.
  if (point.quantity === 'spread' && weatherOf(set) === 'mild') return grade === 'soon';
  // Least resistance, index and factor are enough when they are reached.
  if (point.quantity === 'insulation-resistance' || set.criterion === 'surface-factor') return false;
  if (set.direction !== 'high') return true;
  if (CLOSED_ABOVE.includes(point.quantity) && set.criterion === 'absolute') return false;
  const figure = set[grade];
  const ends = point.loadFamily === 'electrical' ? CLASS_ENDS_K[set.criterion] : undefined;
  return figure === null || ends?.includes(figure) !== true;
}

/** Is the limit reached? Figures equal but for noise of the arithmetic are equal. */
export function isReached(value: number, limit: number, direction: 'high' | 'low', whenEqual: boolean): boolean {
  const beyond = direction === 'high' ? value - limit : limit - value;
  const noise = NOISE * Math.max(1, Math.abs(limit));
  return whenEqual ? beyond >= -noise : beyond > noise;
}

/** The worst grade whose limit is reached, or null. */
export function gradeReached(point: Point, set: LimitSet, value: number): LimitGrade | null {
  let reached: LimitGrade | null = null;
  for (const grade of LIMIT_GRADES) {
    const limit = set[grade];
    if (limit !== null && isReached(value, limit, set.direction, countsWhenEqual(point, set, grade))) reached = grade;
  }
  return reached;
}

/** The next limit ahead of a grade, or null when the worst one is reached. */
export function nextLimit(set: LimitSet, reached: LimitGrade | null): LimitGrade | null {
  const from = reached === null ? 0 : LIMIT_GRADES.indexOf(reached) + 1;
  return LIMIT_GRADES.slice(from).find((grade) => set[grade] !== null) ?? null;
}
