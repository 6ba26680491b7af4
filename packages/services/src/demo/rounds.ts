import type { CouldNotRead, Entry, Fact, KindOfWork, Quantity } from '@heatround/domain';
import { outdoorC, siteInstant, type Weekday } from './calendar.ts';
import type { PersonKey } from './people.ts';
import { BRACKWATER, type DemoAsset, type DemoHouse, type DemoPoint, type DemoRoom, TARNWICK } from './plant.ts';
import { factId, noise, stableId } from './stable.ts';
import { COURSES, EXACTLY, EXTRA_STOPS, VISITS, WORDS, WORK, whyNotRead } from './stories.ts';

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
const LAST_WEEK = 60;

interface Walk {
  readonly week: number;
  readonly weekday: Weekday;
  readonly time: string;
  readonly by: PersonKey;
  readonly stops: readonly { tag: string; letters: string }[];
}

interface Route {
  readonly weekday: Weekday;
  readonly tags: readonly string[];
  isWalked(week: number): boolean;
  walker(week: number): { by: PersonKey; time: string };
}

const every = (tags: readonly string[], letters = 'abc') => tags.map((tag) => ({ tag, letters }));
const late = { by: 'tomasz', time: '14:40' } as const;

const ROUTES: readonly Route[] = [
  {
    weekday: 'tue',
    tags: ['B-FWP-01', 'B-FWP-02'],
    isWalked: () => true,
    // Week 43 is the one between the years.
    walker: (week) => (week === 43 ? { by: 'priya', time: '09:20' } : week % 5 === 0 ? late : { by: 'mara', time: '08:50' }),
  },
  {
    weekday: 'thu',
    tags: ['B-IRO-01'],
    isWalked: (week) => week % 2 === 1 && week !== 43,
    walker: (week) => (week % 6 === 1 ? late : { by: 'mara', time: '09:30' }),
  },
  {
    weekday: 'wed',
    tags: ['W-LVP-01', 'W-LVP-02', 'W-LVP-03', 'B-LVP-01', 'E-LVP-01', 'E-LVP-02'],
    isWalked: (week) => week % 4 === 2,
    walker: (week) => ({ by: week === 26 ? 'priya' : week % 12 === 10 ? 'dev' : 'mara', time: '10:15' }),
  },
  {
    weekday: 'fri',
    tags: ['W-DHW-01', 'W-DHW-02'],
    // The one of week 60 is still to be walked.
    isWalked: (week) => week % 4 === 0 && week < LAST_WEEK,
    walker: (week) => (week % 8 === 0 ? { by: 'tomasz', time: '15:05' } : { by: 'mara', time: '10:00' }),
  },
];

const BRACKWATER_ROUTE: Route = {
  weekday: 'wed',
  tags: BRACKWATER.assets.map((asset) => asset.tag),
  isWalked: (week) => week % 4 === 0 && week >= 32,
  walker: () => ({ by: 'dev', time: '08:30' }),
};

const walksOf = (route: Route): Walk[] => {
  const weeks = Array.from({ length: LAST_WEEK }, (_, index) => index + 1).filter((week) => route.isWalked(week));
  return weeks.map((week) => ({ week, weekday: route.weekday, ...route.walker(week), stops: every(route.tags) }));
};

/** Everything handed in at Tarnwick Vale up to the moment of the story, oldest first. */
export function tarnwickBatches(): Batch[] {
  const extra = EXTRA_STOPS.map(({ tag, letters, ...walk }): Walk => ({ ...walk, stops: [{ tag, letters }] }));
  const walked = [...ROUTES.flatMap(walksOf), ...extra].map((walk) => toBatch(TARNWICK, walk));
  return [...walked, ...workBatches()].sort((one, other) => one.receivedAt - other.receivedAt);
}

/** The same for Brackwater. */
export const brackwaterBatches = (): Batch[] => walksOf(BRACKWATER_ROUTE).map((walk) => toBatch(BRACKWATER, walk));

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

function toBatch(house: DemoHouse, walk: Walk): Batch {
  let takenAt = siteInstant(walk.week, walk.weekday, walk.time);
  const facts: Fact[] = [];
  for (const { tag, letters } of walk.stops) {
    const asset = house.assets.find((candidate) => candidate.tag === tag)!;
    const visit = visitOf(house, asset, walk, takenAt);
    for (const point of asset.points.filter((candidate) => letters.includes(candidate.letter))) {
      takenAt += MINUTE_MS;
      facts.push(toFact(house, asset, point, visit, takenAt));
    }
    takenAt += 4 * MINUTE_MS;
  }
  return { by: walk.by, receivedAt: takenAt + UNTIL_CONTACT_MS, facts };
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
const SCATTER: Readonly<Record<Quantity, number>> = {
  temperature: 0.4,
  'rise-over-ambient': 0.4,
  'like-part-difference': 0.12,
  'above-base': 0.4,
  approach: 0.2,
  'vibration-velocity': 0.03,
  'sound-level': 0,
  pressure: 0,
  voltage: 0,
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
  const scatter = SCATTER[quantity] * noise(`${key} ${point.letter}`);
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
      const cold = toTenth(62.5 + 0.5 * noise(`${key} ${point.letter} hot water`));
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
