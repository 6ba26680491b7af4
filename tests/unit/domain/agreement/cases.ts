/** Cases of every kind that a phone and the service have to judge alike: points, limits, entries as typed, and what is known round about. */
import {
  type Around,
  CONDITION_NAMES,
  CRITERIA,
  completePoint,
  conditionsOf,
  criterionFits,
  type Entry,
  inputsOf,
  KINDS_OF_WORK,
  type LimitSet,
  type Point,
  QUANTITIES,
  type ReadingTaken,
  unitsLike,
} from '@heatround/domain';
import fc from 'fast-check';
import { aFact, DAY, START } from '../builders.ts';

export interface Case {
  readonly point: Point;
  readonly limitSets: readonly LimitSet[];
  readonly fact: ReadingTaken;
  readonly work: Around['work'];
  /** Readings before it and those of its twins, as facts. */
  readonly before: readonly ReadingTaken[];
  readonly twins: readonly { readonly point: Point; readonly fact: ReadingTaken }[];
}

const maybe = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: null, freq: 3 });

const aPointOfAnyKind = (id: string): fc.Arbitrary<Point> =>
  fc
    .record({
      quantity: fc.constantFrom(...QUANTITIES),
      loadFamily: fc.constantFrom('electrical' as const, 'thermal-machine' as const, 'none' as const),
      basis: fc.constantFrom('raw' as const, 'corrected' as const),
      needs: fc.subarray([...CONDITION_NAMES], { maxLength: 1 }),
      infrared: fc.boolean(),
      emissivity: fc.constantFrom(0.3, 0.6, 0.93, 0.95, null),
      ratedCurrentA: maybe(fc.constantFrom(70, 400)),
      ratedRangeK: maybe(fc.constantFrom(5, 8)),
      orificeMm: maybe(fc.constantFrom(3, 6)),
      steamPricePerTonne: maybe(fc.constantFrom(28, 45.5)),
      targetMm: maybe(fc.constantFrom(5, 40)),
      base: maybe(fc.constantFrom(40, 90)),
      lifeSafety: fc.boolean(),
      parts: fc.constantFrom(['L1', 'L2', 'L3'], ['1', '2', '3', '4', '5', '6', '7', '8']),
      curve: fc.constantFrom<readonly (readonly [number, number])[]>(
        [],
        [
          [0, 10],
          [60, 8],
        ],
      ),
      regreasingGateHours: fc.constantFrom(0, 24),
    })
    .map(({ base, ...rest }) =>
      completePoint({
        ...rest,
        id,
        letter: 'a',
        name: 'point',
        twins: id === 'own' ? ['twin'] : [],
        base: base === null ? null : { value: base, state: 'confirmed' },
      }),
    );

const someLimits = (point: Point): fc.Arbitrary<LimitSet[]> => {
  const one = fc
    .record({
      criterion: fc.constantFrom(...CRITERIA.filter((criterion) => criterionFits(criterion, point.quantity))),
      direction: fc.constantFrom('high' as const, 'low' as const),
      figures: fc.uniqueArray(fc.integer({ min: -40, max: 160 }), { minLength: 4, maxLength: 4 }),
      left: fc.subarray([0, 1, 2, 3], { maxLength: 3 }),
      holds: fc.constantFrom<LimitSet['holds']>(
        ...[null, null, null, { weather: 'mild' } as const, { weather: 'cold' } as const],
        { season: 'cooling', from: '05-01', until: '09-30' },
      ),
      validFrom: fc.constantFrom(0, START - DAY, START + DAY),
      origin: fc.constantFrom('general' as const, 'point' as const),
    })
    .map(({ figures, left, ...rest }): Omit<LimitSet, 'id' | 'version'> => {
      const sorted = [...figures].sort((a, b) => (rest.direction === 'high' ? a - b : b - a));
      const [watch, plan, soon, now] = sorted.map((figure, i) => (left.includes(i) ? null : figure));
      return {
        ...rest,
        watch: watch!,
        plan: plan!,
        soon: soon!,
        now: now!,
        source: 'a source',
        reason: 'A reason',
        author: '',
        reviewOn: null,
      };
    });
  return fc.array(one, { maxLength: 5 }).map((sets) => sets.map((set, i) => ({ ...set, id: `s${i}`, version: i + 1 })));
};

const text = fc.oneof(
  { weight: 40, arbitrary: fc.integer({ min: 1, max: 1200 }).map((tenths) => (tenths / 10).toString()) },
  { weight: 3, arbitrary: fc.integer({ min: 0, max: 1200 }).map((tenths) => (tenths / 10).toString().replace('.', ',')) },
  { weight: 1, arbitrary: fc.constantFrom('−4', '<0.2', '٤٢', '1e3', '12 5', '1,250', '100', 'NaN', '87 °C') },
);
/** Most readings are taken under usual conditions, so that they can be compared at all. */
const USUAL: Readonly<Record<string, readonly [least: number, most: number]>> = {
  load: [45, 110],
  ambient: [10, 36],
  air: [10, 36],
  emissivity: [0.4, 1],
  minutesRunning: [5, 60],
  wind: [0, 9],
  outdoor: [-5, 20],
};
const typed = (name: string): fc.Arbitrary<string> => {
  const usual = USUAL[name];
  if (usual === undefined) return text;
  const figure = fc.integer({ min: usual[0] * 100, max: usual[1] * 100 }).map((hundredths) => (hundredths / 100).toString());
  return fc.oneof({ weight: 40, arbitrary: figure }, { weight: 1, arbitrary: text });
};
const entryOf = ({ name, unit }: Field): fc.Arbitrary<[string, Entry][]> => {
  const units = fc.oneof(
    { weight: 20, arbitrary: fc.constant(unit) },
    { weight: 1, arbitrary: fc.constantFrom(...unitsLike(unit)) },
  );
  const entry = fc.record({ text: typed(name), unit: units }).map((one): [string, Entry][] => [[name, one]]);
  return fc.oneof({ weight: 6, arbitrary: entry }, { weight: 1, arbitrary: fc.constant<[string, Entry][]>([]) });
};
interface Field {
  readonly name: string;
  readonly unit: Parameters<typeof unitsLike>[0];
}
const entries = (fields: readonly Field[]): fc.Arbitrary<Record<string, Entry>> =>
  fc.tuple(...fields.map(entryOf)).map((given) => Object.fromEntries(given.flat()));

const aFactAt = (point: Point, id: string, takenAt: fc.Arbitrary<number>): fc.Arbitrary<ReadingTaken> =>
  fc
    .record({
      takenAt,
      inputs: entries(inputsOf(point)),
      conditions: entries(conditionsOf(point)),
      running: fc.constantFrom(undefined, undefined, undefined, true, false),
      instrument: fc.constantFrom(undefined, 'TI-1', 'TI-2'),
    })
    .map(({ takenAt: at, ...rest }) => aFact({ ...rest, id, pointId: point.id, takenAt: new Date(at).toISOString() }));

export const aCase: fc.Arbitrary<Case> = fc.tuple(aPointOfAnyKind('own'), aPointOfAnyKind('twin')).chain(([point, twin]) =>
  fc.record({
    point: fc.constant(point),
    limitSets: someLimits(point),
    fact: aFactAt(point, 'now', fc.constant(START)),
    work: fc.array(
      fc.record({ work: fc.constantFrom(...KINDS_OF_WORK), takenAt: fc.integer({ min: START - 3 * DAY, max: START + DAY }) }),
      { maxLength: 2 },
    ),
    before: fc.array(aFactAt(point, 'before', fc.integer({ min: START - 40 * DAY, max: START - 1 })), { maxLength: 2 }),
    twins: fc
      .array(aFactAt(twin, 'of-twin', fc.integer({ min: START - DAY / 2, max: START + DAY / 2 })), { maxLength: 2 })
      .map((facts) => facts.map((fact) => ({ point: twin, fact }))),
  }),
);
