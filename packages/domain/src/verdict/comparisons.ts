import { loadCorrect } from '../electrical/index.ts';
import type { Reading } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import { median } from '../numbers/index.ts';
import { compareLike, LIKENESS, type LikeComponent } from '../peers/index.ts';
import { ambientOf, figureOf, loadPercentOf, type Measure, measure } from '../points/measure.ts';
import { found, lacking } from '../points/quantities/definition.ts';
import { DEFINITION_OF, unitOfCriterion } from '../points/quantities/index.ts';
import { trueReading } from '../points/true-settings.ts';
import type { Point } from '../points/types.ts';
import { LIKE_LOAD_POINTS } from './correction.ts';
import { type AssessContext, gatesOf, type ReadingAtPoint } from './gates.ts';

/** Readings of two points within this time belong to one visit. */
export const VISIT_MS = 8 * 3_600_000;

/**
 * The figure of one criterion, also where it takes another reading: over the twin of the same visit, or over the median of the
 * neighbours; since the last comparable reading. Without that reading there is no figure, which blocks nothing while
 * anything else is judged.
 */
export function figureFor(point: Point, reading: Reading, criterion: CriterionKind, context: AssessContext): Measure {
  const { plain, criterion: main } = DEFINITION_OF[point.quantity];
  const unit = unitOfCriterion(point.quantity, criterion);
  const own = { point, reading };
  switch (criterion) {
    case 'over-twin': {
      const twins = (context.twins ?? []).filter(isComparable);
      const middle = median(twins.flatMap((twin) => differenceOf(own, twin) ?? []));
      if (middle === null) return lacking(unit, 'twin-missing', [], { blocks: 'alone' });
      return found(middle, unit, { isUnremarkable: !standsOut(own, twins) });
    }
    case 'change-since-last': {
      const before = context.previous ?? null;
      const change = before === null ? null : differenceOf(own, { point, reading: before.reading });
      if (change !== null) return found(change, unit);
      const itself = plain.of(point, reading);
      return itself.value === null ? { ...itself, unit } : lacking(unit, 'nothing-before', [], { blocks: 'alone' });
    }
    default: {
      const figure = figureOf(point, reading, criterion);
      return figure.gate === 'base-missing' && criterion !== main ? { ...figure, blocks: 'alone' } : figure;
    }
  }
}

/** Is the reading of the other point good enough to be compared with? A missing base does not concern its plain figure. */
function isComparable({ point, reading }: ReadingAtPoint): boolean {
  const own = { criterion: DEFINITION_OF[point.quantity].criterion, figure: measure(point, reading) };
  return gatesOf(point, reading, [own], {}).every((gate) => gate === 'base-missing');
}

/**
 * By how much one figure lies over the other, like with like: temperatures over their own air where both airs are known, and
 * each rise at the reference load where the loads differ by more than ten points.
 * @returns null where they cannot be compared: another unit, no figure, or loads that differ without the air.
 */
function differenceOf(a: ReadingAtPoint, b: ReadingAtPoint): number | null {
  const [one, other] = [plainOf(a), plainOf(b)];
  if (one === null || other === null || one.unit !== other.unit) return null;
  const [loadA, loadB] = [loadOf(a), loadOf(b)];
  const isLikeLoad = loadA === null || loadB === null || Math.abs(loadA - loadB) <= LIKE_LOAD_POINTS;
  if (one.unit !== '°C') return one.value - other.value;
  const [airA, airB] = [ambientOf(a.reading), ambientOf(b.reading)];
  if (airA === null || airB === null) return isLikeLoad ? one.value - other.value : null;
  const [riseA, riseB] = [one.value - airA, other.value - airB];
  if (isLikeLoad) return riseA - riseB;
  return atReference(a.point, riseA, loadA) - atReference(b.point, riseB, loadB);
}

/**
 * Is it unlike its neighbours, each at its own load? With one twin, or where loads and air do not let several be compared,
 * the difference speaks for itself.
 */
function standsOut(own: ReadingAtPoint, twins: readonly ReadingAtPoint[]): boolean {
  const components = [own, ...twins].flatMap((one): LikeComponent[] => {
    const figure = plainOf(one);
    if (figure?.unit !== '°C') return [];
    return [{ name: one.point.id, temperature: figure.value, ambient: ambientOf(one.reading), load: loadOf(one) }];
  });
  const standing = compareLike(components, LIKENESS.devices)?.standings.find(({ name }) => name === own.point.id);
  return standing === undefined || standing.standsOut !== null;
}

function plainOf({ point, reading }: ReadingAtPoint): { readonly value: number; readonly unit: string } | null {
  const { plain } = DEFINITION_OF[point.quantity];
  const { value } = plain.of(point, trueReading(point, reading));
  return value === null ? null : { value, unit: plain.unit };
}

const loadOf = ({ point, reading }: ReadingAtPoint): number | null =>
  point.loadFamily === 'none' ? null : loadPercentOf(point, reading);

/** Heat that is not there does not grow with the load. */
const atReference = (point: Point, riseK: number, load: number): number =>
  riseK <= 0 ? riseK : (loadCorrect(riseK, load, point.referenceLoadPercent, point.loadExponent) ?? riseK);
