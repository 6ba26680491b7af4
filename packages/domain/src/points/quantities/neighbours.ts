import type { Reading } from '../../facts/types.ts';
import { median } from '../../numbers/index.ts';
import { compareLike, LIKENESS } from '../../peers/index.ts';
import type { Point } from '../types.ts';
import {
  CELSIUS,
  contact,
  type FigureRule,
  field,
  found,
  lacking,
  type Measure,
  type QuantityDefinition,
  sayStandouts,
  seen,
} from './definition.ts';

/** From so many components on the scatter of the others says whether one stands out (common practice, no source). */
const LEAST_PEERS = 5;
/** With fewer than this there is nothing to compare. */
const LEAST_COMPONENTS = 3;

interface Component {
  readonly name: string;
  readonly value: number;
}

interface Furthest {
  readonly component: Component;
  readonly deviation: number;
  readonly standsOut: boolean;
  /** Others that stand out as well. */
  readonly also: readonly string[];
}

/**
 * The component that lies furthest from the median of all, above or below it. From five on it has to stand out from the scatter
 * of the others as well; of three or four the distance is taken from the median of the others.
 */
function furthest(components: readonly Component[]): Furthest | null {
  const middle = median(components.map(({ value }) => value));
  if (middle === null || components.length < LEAST_COMPONENTS) return null;
  let component = components[0]!;
  for (const one of components) if (Math.abs(one.value - middle) > Math.abs(component.value - middle)) component = one;
  if (components.length < LEAST_PEERS) {
    const others = median(components.filter((one) => one !== component).map(({ value }) => value))!;
    return { component, deviation: component.value - others, standsOut: true, also: [] };
  }
  const compared = compareLike(
    components.map(({ name, value }) => ({ name, temperature: value, ambient: null, load: null })),
    LIKENESS.neighbours,
  );
  const unlike = compared?.standings.flatMap(({ name, standsOut }) => (standsOut === null ? [] : name)) ?? [];
  return {
    component,
    deviation: component.value - middle,
    standsOut: unlike.includes(component.name),
    also: unlike.filter((name) => name !== component.name),
  };
}

/** Each component by itself, else the coldest, the warmest and the median as one picture shows them. */
function difference(point: Point, reading: Reading): Measure {
  const components = point.parts.flatMap((name): Component[] => {
    const value = reading.inputs[name];
    return value === undefined ? [] : [{ name, value }];
  });
  const missing = point.parts.filter((name) => reading.inputs[name] === undefined);
  if (components.length > 0) {
    const far = furthest(components);
    if (far === null) return lacking('K', 'quantity-missing', missing);
    const name = sayStandouts(`${far.component.name}, ${far.deviation < 0 ? 'the colder' : 'the warmer'}`, far.also);
    return found(Math.abs(far.deviation), 'K', { standout: name, isUnremarkable: !far.standsOut, missing });
  }
  const { coldest, warmest, middle } = reading.inputs;
  if (coldest === undefined || warmest === undefined || middle === undefined) {
    const lack = { coldest, warmest, middle };
    return lacking(
      'K',
      'quantity-missing',
      Object.keys(lack).filter((name) => lack[name as keyof typeof lack] === undefined),
    );
  }
  const [below, above] = [middle - coldest, warmest - middle];
  return found(Math.max(below, above, 0), 'K', { standout: below > above ? 'the coldest' : 'the warmest' });
}

const plain: FigureRule = { unit: 'K', of: difference };

/** Tubes of a collector, strips of a panel, cells, traps of one header: one of many that is unlike the others. */
export const neighbourDifference: QuantityDefinition = {
  name: 'Difference to its neighbours',
  criterion: 'like-part-difference',
  unit: 'K',
  decimals: 1,
  start: { ...contact, infrared: true, emissivity: 0.93 },
  inputs: (point) => [
    ...point.parts.map((part) => ({ ...seen(part, part), required: false, way: 'each' as const })),
    ...(
      [
        ['coldest', 'Coldest'],
        ['middle', 'Median'],
        ['warmest', 'Warmest'],
      ] as const
    ).map(([name, label]) => field(name, label, CELSIUS, { required: false, way: 'picture', isSeen: true })),
  ],
  plain,
  figures: { 'like-part-difference': plain },
  ordinaryChange: 20,
  follows: 'own-zero',
};
