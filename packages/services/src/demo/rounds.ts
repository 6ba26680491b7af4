import type { CouldNotRead, Entry, Fact, KindOfWork, Quantity } from '@heatround/domain';
import { outdoorC, siteInstant, type Weekday } from './calendar.ts';
import type { PersonKey } from './people.ts';
import { BRACKWATER, type DemoAsset, type DemoHouse, type DemoPoint, type DemoRoom, TARNWICK } from './plant.ts';
import { BRACKWATER_ROUTES, type DemoRoute, LAST_WEEK, TARNWICK_ROUTES } from './routes.ts';
import { factId, noise, stableId } from './stable.ts';
import { COURSES, EXACTLY, EXTRA_STOPS, REPORTS, VISITS, WORDS, WORK, whyNotRead } from './stories.ts';

/** What one person handed in at one moment. */
export interface Batch {
  readonly by: PersonKey;
  readonly receivedAt: number;
  readonly facts: readonly Fact[];
}

export const assetId = (house: DemoHouse, tag: string): string => stableId(`${house.key} asset ${tag}`);
export const pointId = (house: DemoHouse, tag: string, letter: string): string => stableId(`${house.key} point ${tag}-${letter}`);

const MINUTE_MS = 60_000;
/** From the last stop to the place where the phone has contact again. */
const UNTIL_CONTACT_MS = 14 * MINUTE_MS;

/** Ids of rounds as they were planned, by route and week. */
export type RoundIds = ReadonlyMap<string, string>;
export const roundKey = (code: string, week: number): string => `${code} ${week}`;

interface Walk {
  readonly week: number;
  readonly weekday: Weekday;
  readonly time: string;
  readonly by: PersonKey;
  readonly stops: readonly { tag: string; letters: string }[];
  readonly minutesApart: number;
  /** Null: a stop beside the routes. */
  readonly roundId: string | null;
}

const WEEKS = Array.from({ length: LAST_WEEK }, (_, index) => index + 1);

const walksOf = (routes: readonly DemoRoute[], rounds: RoundIds): Walk[] =>
  routes.flatMap((route) =>
    WEEKS.filter((week) => route.isWalked(week)).map((week) => {
      const roundId = rounds.get(roundKey(route.code, week));
      if (roundId === undefined) throw new Error(`${route.code} has no round in week ${week}`);
      const stops = route.tags.map((tag) => ({ tag, letters: 'abc' }));
      const { weekday, minutesApart } = route;
      return { week, weekday, ...route.walker(week), stops, minutesApart, roundId };
    }),
  );

/** Everything handed in at Tarnwick Vale up to the moment of the story. */
export function tarnwickBatches(rounds: RoundIds): Batch[] {
  const extra = EXTRA_STOPS.map(({ tag, letters, week, weekday, time, by }): Walk => {
    return { week, weekday, time, by, stops: [{ tag, letters }], minutesApart: 4, roundId: null };
  });
  const walked = [...walksOf(TARNWICK_ROUTES, rounds), ...extra].map((walk) => toBatch(TARNWICK, walk));
  return [...walked, ...workBatches(), ...reportBatches()];
}

/** The same for Brackwater. */
export const brackwaterBatches = (rounds: RoundIds): Batch[] =>
  walksOf(BRACKWATER_ROUTES, rounds).map((walk) => toBatch(BRACKWATER, walk));

function workBatches(): Batch[] {
  return WORK.map(({ week, weekday, time, by, tag, letter, work, words }) => {
    const takenAt = siteInstant(week, weekday, time);
    const common = commonOf(`tarnwick work ${tag}-${letter} ${week}`, takenAt, by);
    const fact: Fact = {
      ...common,
      kind: 'work-recorded',
      assetId: assetId(TARNWICK, tag),
      pointId: pointId(TARNWICK, tag, letter),
      work: work satisfies KindOfWork,
      words,
    };
    return { by, receivedAt: takenAt + UNTIL_CONTACT_MS, facts: [fact] };
  });
}

function reportBatches(): Batch[] {
  return REPORTS.map(({ week, weekday, time, by, tag, letter, grade, words }) => {
    const takenAt = siteInstant(week, weekday, time);
    const common = commonOf(`tarnwick report ${tag}-${letter} ${week}`, takenAt, by);
    const fact: Fact = { ...common, kind: 'finding-reported', pointId: pointId(TARNWICK, tag, letter), grade, words };
    return { by, receivedAt: takenAt + UNTIL_CONTACT_MS, facts: [fact] };
  });
}

function toBatch(house: DemoHouse, walk: Walk): Batch {
  const begunAt = siteInstant(walk.week, walk.weekday, walk.time);
  let takenAt = begunAt;
  const stops: Fact[] = [];
  for (const { tag, letters } of walk.stops) {
    const asset = house.assets.find((candidate) => candidate.tag === tag)!;
    const visit = visitOf(house, asset, walk, takenAt);
    for (const point of asset.points.filter((candidate) => letters.includes(candidate.letter))) {
      takenAt += MINUTE_MS;
      stops.push(toFact(house, asset, point, visit, takenAt));
    }
    takenAt += walk.minutesApart * MINUTE_MS;
  }
  return { by: walk.by, receivedAt: takenAt + UNTIL_CONTACT_MS, facts: inRound(walk, stops, begunAt, takenAt) };
}

/** Stops of a round between taking it and handing it in. */
function inRound({ roundId, by }: Walk, stops: readonly Fact[], begunAt: number, endedAt: number): Fact[] {
  if (roundId === null) return [...stops];
  const common = (what: string, at: number) => ({ ...commonOf(`${what} ${roundId}`, at, by), roundId });
  const packed = stops.flatMap((stop) => ('pointId' in stop && stop.pointId ? [stop.pointId] : []));
  return [
    { ...common('taken', begunAt - 3 * MINUTE_MS), kind: 'round-taken', packed },
    ...stops.map((stop): Fact => ({ ...stop, roundId }) as Fact),
    { ...common('handed in', endedAt), kind: 'round-handed-in' },
  ];
}

/** The phones of these people are a little off; the services told them so. */
const PHONE_OFFSET_MS: Readonly<Record<string, number>> = { mara: 1_200, tomasz: -3_400, priya: 450, dev: 800 };

function commonOf(name: string, takenAt: number, by: PersonKey) {
  const offsetMs = PHONE_OFFSET_MS[by] ?? 0;
  const startOfDay = takenAt - (takenAt % 86_400_000);
  return {
    id: factId(name, takenAt),
    takenAt: new Date(takenAt).toISOString(),
    clock: { deviceAt: new Date(takenAt - offsetMs).toISOString(), monotonicMs: takenAt - startOfDay, offsetMs },
  };
}

/** One machine on one walk: what holds for all its points. */
interface Visit {
  readonly key: string;
  readonly week: number;
  readonly by: PersonKey;
  readonly loadPercent: number;
  readonly airC: number;
}

function visitOf(house: DemoHouse, asset: DemoAsset, { week, by }: Walk, at: number): Visit {
  const key = `${house.key} ${asset.tag} ${new Date(at).toISOString()}`;
  const told = house === TARNWICK ? VISITS[asset.tag]?.[week] : undefined;
  const room = house.buildings
    .flatMap((building): readonly DemoRoom[] => building.rooms)
    .find(({ name }) => name === asset.room)!;
  const usualAirC = room.airC + room.follows * (outdoorC(at) - 10);
  return {
    key,
    week,
    by,
    loadPercent: told?.load ?? Math.round(Math.min(100, asset.usualLoad + asset.loadSwing * noise(`${key} load`))),
    airC: told?.airC ?? toTenth(usualAirC + 0.6 * noise(`${key} air`)),
  };
}

function toFact(house: DemoHouse, asset: DemoAsset, point: DemoPoint, visit: Visit, takenAt: number): Fact {
  const place = `${asset.tag}-${point.letter}`;
  const { week } = visit;
  const common = {
    ...commonOf(`${visit.key} ${point.letter}`, takenAt, visit.by),
    pointId: pointId(house, asset.tag, point.letter),
  };
  const quantity = point.draft.quantity;
  const why = house === TARNWICK ? whyNotRead(asset.tag, quantity, week) : null;
  if (why) return { ...common, kind: 'stop-answered', answer: why.answer satisfies CouldNotRead, words: why.words };
  const words = house === TARNWICK ? WORDS[place]?.[week] : undefined;
  const instrument = instrumentOf(point, visit.by);
  return {
    ...common,
    kind: 'reading-taken',
    inputs: inputsOf(point, visit, figureOf(house, place, point, visit)),
    conditions: conditionsOf(point, visit),
    ...(isMachine(asset) ? { running: true } : {}),
    ...(instrument ? { instrument } : {}),
    ...(words ? { words } : {}),
  };
}

const isMachine = (asset: DemoAsset): boolean => asset.hazards.includes('rotating');

function instrumentOf({ draft }: DemoPoint, by: PersonKey): string | null {
  if (draft.quantity === 'vibration-velocity') return 'VP-1';
  if (draft.quantity === 'approach' || draft.infrared === false) return null;
  return by === 'mara' || by === 'dev' ? 'TI-1' : 'TI-2';
}

/** Scatter of a reading: share of the figure for vibration, otherwise K as read. */
const SCATTER: Partial<Readonly<Record<Quantity, number>>> = {
  temperature: 0.4,
  'rise-over-ambient': 0.4,
  'like-part-difference': 0.12,
  'above-base': 0.4,
  approach: 0.2,
  'vibration-velocity': 0.03,
};
const ELECTRICAL_EXPONENT = 1.8;

/**
 * The figure as read: level of the week, brought from the reference to the load and air of the visit, with scatter; or the
 * figure that was read exactly so. Temperatures of machines and pipes in °C, everything else in the unit of the limits.
 */
function figureOf(house: DemoHouse, place: string, point: DemoPoint, { key, week, loadPercent, airC }: Visit): number {
  const exactly = house === TARNWICK ? EXACTLY[place]?.[week] : undefined;
  if (exactly !== undefined) return exactly;
  const level = (house === TARNWICK ? COURSES[place]?.(week) : undefined) ?? point.level;
  const { quantity, referenceLoadPercent = 100, referenceAmbientC } = point.draft;
  const scatter = (SCATTER[quantity] ?? 0) * noise(`${key} ${point.letter}`);
  switch (quantity) {
    case 'vibration-velocity':
      return level * (1 + scatter);
    case 'rise-over-ambient':
    case 'like-part-difference':
      return Math.max(0.2, level * (loadPercent / 100) ** ELECTRICAL_EXPONENT + scatter);
    case 'temperature':
    case 'above-base':
      if (referenceAmbientC == null) return level + scatter;
      return airC + (level - referenceAmbientC) * (loadPercent / referenceLoadPercent) + scatter;
    default:
      return level + scatter;
  }
}

const toTenth = (figure: number): number => Math.round(figure * 10) / 10;
const celsius = (figure: number): Entry => ({ text: toTenth(figure).toFixed(1), unit: '°C' });

/** The figure as a person types it: the temperatures it is the difference of, not the difference. */
function inputsOf(point: DemoPoint, { key, loadPercent, airC }: Visit, figure: number): Record<string, Entry> {
  switch (point.draft.quantity) {
    case 'vibration-velocity':
      return { value: { text: figure.toFixed(2), unit: 'mm/s' } };
    case 'rise-over-ambient':
      return { part: celsius(airC + toTenth(figure)), air: celsius(airC) };
    case 'like-part-difference': {
      // The two cooler phases lie evenly around the figure that the hottest is compared with.
      const middle = toTenth(
        airC + 16 * (loadPercent / 100) ** ELECTRICAL_EXPONENT + 0.5 * noise(`${key} ${point.letter} phases`),
      );
      const apart = figure > 0.5 ? 0.1 : 0;
      return { L1: celsius(middle - apart), L2: celsius(middle + toTenth(figure)), L3: celsius(middle + apart) };
    }
    case 'approach': {
      const cold = toTenth((point.coldC ?? 62.5) + 0.5 * noise(`${key} ${point.letter} hot water`));
      return { warm: celsius(cold + toTenth(figure)), cold: celsius(cold) };
    }
    default:
      return { value: celsius(figure) };
  }
}

function conditionsOf({ draft }: DemoPoint, { loadPercent, airC }: Visit): Record<string, Entry> {
  const { quantity, ratedCurrentA, emissivity } = draft;
  if (quantity === 'approach' || (quantity === 'temperature' && draft.infrared === false)) return {};
  const load: Record<string, Entry> = ratedCurrentA
    ? { current: { text: String(Math.round((loadPercent / 100) * ratedCurrentA)), unit: 'A' } }
    : { load: { text: String(loadPercent), unit: '%' } };
  return {
    ...load,
    ...(quantity === 'rise-over-ambient' ? {} : { ambient: celsius(airC) }),
    ...(emissivity ? { emissivity: { text: String(emissivity), unit: '1' } } : {}),
  };
}
