/**
 * The demo: an invented hospital campus with sixty weeks behind it, and a second house that must see none of it.
 * Hides names, plant, routes and stories. Always: everything goes in through the same services as people's own entries, answers and
 * moves, with the clock of its moment; nothing is concluded here; every id follows from a name, so that loading again after a crash
 * completes what is missing and two starts at once make one demo.
 */
import { Problem } from '@heatround/domain';
import type { Accounts } from '@heatround/platform/accounts';
import { databaseCode, sql } from '@heatround/platform/database';
import { createBuilding, createRoom, createSite, insertAssets, type NewAsset } from '../assets/index.ts';
import type { Deps, Scope } from '../deps/index.ts';
import { createOrganisation, isEmpty, setMembership } from '../identity/index.ts';
import { insertLimits, type LimitDraft } from '../limits/index.ts';
import { createRoute, createWindow } from '../rounds/index.ts';
import { STORY_NOW, siteInstant, weekOf, ZONE } from './calendar.ts';
import { gearboxBearingLowered, type LimitWords } from './limit-reasons.ts';
import { DEMO_PASSWORD, type DemoPerson, PEOPLE, type PersonKey } from './people.ts';
import { BRACKWATER, type DemoAsset, type DemoHouse, TARNWICK } from './plant.ts';
import { assetId, brackwaterBatches, pointId, type RoundIds, roundKey, tarnwickBatches } from './rounds.ts';
import { BRACKWATER_ROUTES, type DemoRoute, routeId, startOf, TARNWICK_ROUTES, WINDOWS, windowId } from './routes.ts';
import { stableId } from './stable.ts';
import { LAST_STEP, type Teller, tellBrackwater, tellTarnwick } from './telling.ts';

export type DemoDeps = Deps & { readonly accounts: Pick<Accounts, 'create'> };

export interface DemoSignIn {
  readonly name: string;
  readonly email: string;
  readonly password: string;
}

const organisationId = (house: DemoHouse): string => stableId(`${house.key} organisation`);
const siteId = (house: DemoHouse): string => stableId(`${house.key} site`);

/**
 * Fills an installation without any organisation, or completes a load that was cut short.
 * @returns the sign-ins whenever the demo is there, otherwise none.
 */
export async function loadDemoIfEmpty(deps: DemoDeps): Promise<readonly DemoSignIn[]> {
  if ((await clockOffsetOf(deps, TARNWICK)) === null && (await isEmpty(deps))) {
    const clockOffsetMs = STORY_NOW - deps.clock.now();
    await createOrganisation(deps, { id: organisationId(TARNWICK), name: TARNWICK.name, isDemo: true, clockOffsetMs });
  }
  // Asked again: another start may have been faster by a moment, and then its clock counts.
  const offsetMs = await clockOffsetOf(deps, TARNWICK);
  if (offsetMs === null) return [];
  if (!(await isLoaded(deps))) {
    const startedAt = performance.now();
    const factCount = await load(deps, offsetMs);
    deps.log.info({ facts: factCount, ms: Math.round(performance.now() - startedAt) }, 'demo loaded');
  }
  return Object.values(PEOPLE).map(({ name, what, email }) => ({ name: `${name}, ${what}`, email, password: DEMO_PASSWORD }));
}

async function clockOffsetOf({ database }: Pick<Deps, 'database'>, house: DemoHouse): Promise<number | null> {
  const [found] = await database.acrossTenants('is the demo here', (db) =>
    db.$queryRaw<{ offset: bigint }[]>(
      sql`SELECT clock_offset_ms AS offset FROM organisation WHERE organisation_id = ${organisationId(house)}::uuid`,
    ),
  );
  return found ? Number(found.offset) : null;
}

/** The last step is the stop asked for on the eve of the story, and no stop is ever deleted: where it is, everything is. */
async function isLoaded({ database }: Deps): Promise<boolean> {
  const scope = { organisationId: organisationId(TARNWICK), siteIds: null };
  const found = await database.inTenant(scope, ({ db }) =>
    db.extraStop.findFirst({ where: { id: LAST_STEP }, select: { id: true } }),
  );
  return found !== null;
}

async function load(deps: DemoDeps, offsetMs: number): Promise<number> {
  await createOrganisation(deps, {
    id: organisationId(BRACKWATER),
    name: BRACKWATER.name,
    isDemo: true,
    clockOffsetMs: offsetMs,
  });
  const personIds = await createPeople(deps);
  const scopeOf = (house: DemoHouse, key: PersonKey, roles = PEOPLE[key].roles): Scope => ({
    organisationId: organisationId(house),
    siteIds: null,
    personId: personIds[key],
    name: PEOPLE[key].name,
    roles,
    clockOffsetMs: offsetMs,
  });
  // Brackwater has no planner of its own: the contractor entered its register, with a planner's right for that one day.
  await createRegister(deps, BRACKWATER, scopeOf(BRACKWATER, 'dev', ['planner']));
  await createRegister(deps, TARNWICK, scopeOf(TARNWICK, 'niko'), async (db) => {
    const validFrom = siteInstant(22, 'wed', '10:00');
    const draft = limitDraft('tarnwick limits B-IRO-01-a lowered', gearboxBearingLowered, validFrom);
    await insertLimits(db, scopeOf(TARNWICK, 'jonas'), [
      { pointId: pointId(TARNWICK, 'B-IRO-01', 'a'), quantity: 'temperature', draft },
    ]);
  });
  for (const key of Object.keys(PEOPLE) as PersonKey[]) {
    for (const house of key === 'dev' ? [TARNWICK, BRACKWATER] : [TARNWICK])
      await addMember(deps, house, PEOPLE[key], personIds[key]);
  }
  const planner = { [TARNWICK.key]: scopeOf(TARNWICK, 'niko'), [BRACKWATER.key]: scopeOf(BRACKWATER, 'dev', ['planner']) };
  await createWindows(deps, scopeOf(TARNWICK, 'niko'));
  const tellerOf = async (house: DemoHouse, routes: readonly DemoRoute[]): Promise<Teller> => ({
    personIds,
    scopeOf: (by, roles) => scopeOf(house, by, roles),
    at: (moment) => ({ ...deps, clock: { now: () => moment - offsetMs } }),
    rounds: await createRoutes(deps, house, planner[house.key]!, routes, personIds),
  });
  const brackwater = await tellerOf(BRACKWATER, BRACKWATER_ROUTES);
  const tarnwick = await tellerOf(TARNWICK, TARNWICK_ROUTES);
  const batches = { brackwater: brackwaterBatches(brackwater.rounds), tarnwick: tarnwickBatches(tarnwick.rounds) };
  await Promise.all([tellBrackwater(brackwater, batches.brackwater), tellTarnwick(tarnwick, batches.tarnwick)]);
  return [...batches.brackwater, ...batches.tarnwick].reduce((sum, { facts }) => sum + facts.length, 0);
}

async function createWindows(deps: Deps, scope: Scope): Promise<void> {
  for (const { key, name, building, tag, fromAt, toAt } of WINDOWS) {
    await createWindow(deps, scope, {
      id: windowId(key),
      siteId: siteId(TARNWICK),
      name,
      buildingId: building ? buildingId(TARNWICK, building) : null,
      assetId: tag ? assetId(TARNWICK, tag) : null,
      fromAt: new Date(fromAt).toISOString(),
      toAt: new Date(toAt).toISOString(),
    });
  }
}

/** Routes as of the Monday before their first round, with all rounds since. @returns the rounds by route and week. */
async function createRoutes(
  deps: Deps,
  house: DemoHouse,
  scope: Scope,
  routes: readonly DemoRoute[],
  personIds: Readonly<Record<PersonKey, string>>,
): Promise<RoundIds> {
  for (const route of routes) {
    const { code, name, rule, window, season, usual, aboutMinutes, beforeYouLeave, tags, firstWeek } = route;
    const clock = { now: () => siteInstant(firstWeek, 'mon', '07:30') - scope.clockOffsetMs };
    await createRoute({ ...deps, clock }, scope, {
      ...{ code, name, rule, window, season, aboutMinutes, beforeYouLeave },
      id: routeId(house, code),
      siteId: siteId(house),
      startLocal: startOf(route),
      graceMs: null,
      walkerId: personIds[usual],
      pointIds: tags.flatMap((tag) => {
        const asset = house.assets.find((candidate) => candidate.tag === tag)!;
        return asset.points.map(({ letter }) => pointId(house, tag, letter));
      }),
    });
  }
  const ids = new Map(routes.map(({ code }) => [routeId(house, code), code]));
  const rounds = await deps.database.inTenant(scope, ({ db }) =>
    db.round.findMany({ where: { routeId: { in: [...ids.keys()] } }, select: { id: true, routeId: true, plannedAt: true } }),
  );
  return new Map(rounds.map(({ id, routeId, plannedAt }) => [roundKey(ids.get(routeId)!, weekOf(plannedAt.getTime())), id]));
}

async function createPeople({ accounts }: DemoDeps): Promise<Record<PersonKey, string>> {
  const keys = Object.keys(PEOPLE) as PersonKey[];
  const made = await Promise.all(
    keys.map(async (key) => {
      const account = { email: PEOPLE[key].email, name: PEOPLE[key].name, password: DEMO_PASSWORD };
      // A second start may make the same account at the same moment; asking again then finds it.
      const { personId } = await accounts.create(account).catch(() => accounts.create(account));
      return [key, personId] as const;
    }),
  );
  return Object.fromEntries(made) as Record<PersonKey, string>;
}

function addMember(deps: Deps, house: DemoHouse, person: DemoPerson, personId: string): Promise<void> {
  return setMembership(deps, {
    organisationId: organisationId(house),
    personId,
    name: person.name,
    roles: person.roles,
    ...(person.granted ? { siteIds: [siteId(house)] } : {}),
    ...(person.endsAt === undefined ? {} : { endsAt: person.endsAt }),
  });
}

const buildingId = (house: DemoHouse, name: string): string => stableId(`${house.key} building ${name}`);
const roomId = (house: DemoHouse, name: string): string => stableId(`${house.key} room ${name}`);

type AfterAssets = (db: Parameters<typeof insertAssets>[0]) => Promise<void>;

/** Places one by one, then all assets with points and limits in one transaction. */
async function createRegister(deps: Deps, house: DemoHouse, scope: Scope, afterAssets?: AfterAssets): Promise<void> {
  await createSite(deps, scope, { id: siteId(house), name: house.site, zone: ZONE });
  for (const building of house.buildings) {
    const id = buildingId(house, building.name);
    await createBuilding(deps, scope, { id, siteId: siteId(house), name: building.name });
    for (const { name } of building.rooms) await createRoom(deps, scope, { id: roomId(house, name), buildingId: id, name });
  }
  const insert = () =>
    deps.database.inTenant(scope, async ({ db }) => {
      const first = await db.asset.findFirst({ where: { id: assetId(house, house.assets[0]!.tag) }, select: { id: true } });
      if (first) return;
      await insertAssets(
        db,
        scope,
        house.assets.map((asset) => toNewAsset(house, asset)),
      );
      await afterAssets?.(db);
    });
  await insert().catch((error) => {
    // Another start was faster by a moment: what it put in is the same, and now seen.
    if (databaseCode(error) !== '23505' && !(error instanceof Problem && error.code === 'tag-taken')) throw error;
    return insert();
  });
}

function toNewAsset(house: DemoHouse, asset: DemoAsset): NewAsset {
  const { points, room, usualLoad: _, loadSwing: __, ...plain } = asset;
  const validFrom = siteInstant(1, 'mon', '07:00');
  return {
    ...plain,
    id: assetId(house, asset.tag),
    roomId: roomId(house, room),
    lifeSafety: false,
    points: points.map(({ letter, draft, spot, limits }) => ({
      point: { ...draft, id: pointId(house, asset.tag, letter), letter },
      spot,
      limits: [limitDraft(`${house.key} limits ${asset.tag}-${letter}`, limits, validFrom)],
    })),
  };
}

const limitDraft = (name: string, words: LimitWords, validFrom: number): LimitDraft => ({
  ...words,
  id: stableId(name),
  validFrom,
});
