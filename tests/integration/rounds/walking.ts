/** A house with a route, people who walk it, and facts as their phones make them. */
import { randomUUID } from 'node:crypto';
import { closeRoundsJob, findRoundsToClose, findRoutesToPlan, planRoundsJob } from '@heatround/services/rounds';
import { factId, type Harness, type Person, readingFact, TEST_NOW } from '../../support/harness.ts';

export interface Walk {
  readonly organisationId: string;
  readonly siteId: string;
  readonly roomId: string;
  readonly planner: Person;
  readonly mara: Person;
  readonly tomasz: Person;
  readonly pointIds: string[];
  readonly assetId: string;
}

/** Signing in takes its time: the same people belong to every house of a service. */
const known = new WeakMap<Harness, Record<'planner' | 'mara' | 'tomasz', Person>>();

/** An organisation with a planner, two technicians and an asset of some points; no route yet. */
export async function walkingHouse(service: Harness, points = 3, zone = 'Europe/Dublin'): Promise<Walk> {
  const { id } = await service.organisation();
  const people = known.get(service) ?? {
    planner: await service.person(id, ['planner'], { name: 'Jonas' }),
    mara: await service.person(id, ['technician'], { name: 'Mara' }),
    tomasz: await service.person(id, ['technician'], { name: 'Tomasz' }),
  };
  known.set(service, people);
  const planner = await service.join(people.planner, id, ['planner']);
  const mara = await service.join(people.mara, id, ['technician']);
  const tomasz = await service.join(people.tomasz, id, ['technician']);
  const siteId: string = (await planner.call('createSite', { body: { name: 'Works', zone } })).body.id;
  const building = await planner.call('createBuilding', { params: { siteId }, body: { name: 'Boiler house' } });
  const room = await planner.call('createRoom', { params: { buildingId: building.body.id }, body: { name: 'Pump room' } });
  const roomId: string = room.body.id;
  const letters = Array.from({ length: points }, (_, i) => ({ letter: `p${i}`, name: `Bearing ${i}` }));
  const { id: assetId, pointIds } = await service.asset(planner, roomId, { points: letters });
  return { organisationId: id, siteId, roomId, planner, mara, tomasz, pointIds, assetId };
}

export const routeBody = (house: Walk, over: Record<string, unknown> = {}) => ({
  id: randomUUID(),
  siteId: house.siteId,
  code: `R${randomUUID().slice(0, 8)}`,
  name: 'Boiler house',
  rule: 'FREQ=WEEKLY;BYDAY=TH',
  startLocal: '2026-04-23T08:00',
  window: { kind: 'days', daysBefore: 1, daysAfter: 1 },
  pointIds: house.pointIds,
  ...over,
});

/** A new route, with its id and its rounds by planned time. */
export async function route(service: Harness, house: Walk, over: Record<string, unknown> = {}) {
  const body = routeBody(house, over);
  const reply = await house.planner.call('createRoute', { body });
  if (reply.status !== 201) throw new Error(JSON.stringify(reply.body));
  return { id: body.id, rounds: await roundsOf(service, house, body.id) };
}

export interface StoredRound {
  id: string;
  occurrence: string;
  movedFrom: string | null;
  plannedAt: Date;
  earliestAt: Date;
  latestAt: Date;
  endsAt: Date;
  walkerId: string | null;
  takenBy: string | null;
  startedAt: Date | null;
  handedInAt: Date | null;
  closedAt: Date | null;
  calledOff: unknown;
  stopCount: number | null;
  answeredCount: number | null;
  readCount: number | null;
}

/** Rounds of a route as they are stored, by planned time. */
export const roundsOf = (service: Harness, house: Walk, routeId: string): Promise<StoredRound[]> =>
  service.db.inTenant(house.planner.scope, ({ db }) =>
    db.round.findMany({ where: { routeId }, orderBy: { plannedAt: 'asc' } }),
  ) as unknown as Promise<StoredRound[]>;

const fact = (kind: string, at: string, over: Record<string, unknown>) => ({
  kind,
  id: factId(at),
  takenAt: at,
  clock: { deviceAt: at, monotonicMs: 1000, offsetMs: 0 },
  ...over,
});
export const taken = (roundId: string, packed: string[], at = TEST_NOW) => fact('round-taken', at, { roundId, packed });
export const given = (roundId: string, toPersonId: string, at = TEST_NOW, over: Record<string, unknown> = {}) =>
  fact('round-given', at, { roundId, toPersonId, words: 'keys are in the box', ...over });
export const handedIn = (roundId: string, at = TEST_NOW) => fact('round-handed-in', at, { roundId });
export const read = (roundId: string, pointId: string, at = TEST_NOW, over: Record<string, unknown> = {}) =>
  readingFact(pointId, '55', { roundId, takenAt: at, ...over });
export const unread = (roundId: string, pointId: string, answer: string, at = TEST_NOW) =>
  fact('stop-answered', at, { roundId, pointId, answer });

/** What the worker does with a sweep: closes what is over, plans what is missing. */
export async function sweepRounds(service: Harness): Promise<void> {
  for (const payload of await findRoundsToClose(service.deps)) await closeRoundsJob.handle(service.deps, payload);
  for (const payload of await findRoutesToPlan(service.deps, 1000)) await planRoundsJob.handle(service.deps, payload);
}

export const roundPage = async (person: Person, roundId: string) => (await person.call('getRound', { params: { roundId } })).body;
