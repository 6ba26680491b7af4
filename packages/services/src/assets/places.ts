import { Problem } from '@heatround/domain';
import { databaseCode, sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, type Scope } from '../deps/index.ts';

export interface SiteTree {
  readonly id: string;
  readonly name: string;
  readonly zone: string;
  readonly buildings: { id: string; name: string; rooms: { id: string; name: string; assetCount: number }[] }[];
}

/** Sites with buildings and rooms, each by name. */
export async function listSites({ database }: Deps, scope: Scope): Promise<SiteTree[]> {
  mustBeAllowed(scope, 'see');
  const { sites, buildings, rooms } = await database.inTenant(scope, async ({ db }) => {
    const sites = await db.site.findMany({ orderBy: { name: 'asc' } });
    const within = { siteId: { in: sites.map((site) => site.id) } };
    const buildings = await db.building.findMany({ where: within, orderBy: { name: 'asc' } });
    const rooms = await db.$queryRaw<{ id: string; name: string; buildingId: string; assetCount: number }[]>(sql`
      SELECT r.id, r.name, r.building_id AS "buildingId",
        (SELECT count(*)::int FROM asset a WHERE a.organisation_id = r.organisation_id AND a.room_id = r.id AND a.retired_at IS NULL) AS "assetCount"
      FROM room r WHERE r.site_id = ANY (${within.siteId.in}::uuid[]) ORDER BY r.name`);
    return { sites, buildings, rooms };
  });
  return sites.map(({ id, name, zone }) => ({
    id,
    name,
    zone,
    buildings: buildings
      .filter((building) => building.siteId === id)
      .map((building) => ({
        id: building.id,
        name: building.name,
        rooms: rooms.filter((room) => room.buildingId === building.id).map(({ buildingId: _, ...room }) => room),
      })),
  }));
}

function mustBeZone(zone: string): void {
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone });
  } catch {
    throw new Problem('invalid-request', 'The time zone is not known.', [
      { pointer: '#/zone', detail: `expected an IANA name such as Europe/Dublin, found ${zone}` },
    ]);
  }
}

/** Turns a doubled name into a refusal that says so; the same id again changes nothing. */
async function withOwnName(what: string, name: string, work: () => Promise<unknown>): Promise<void> {
  try {
    await work();
  } catch (error) {
    if (databaseCode(error) !== '23505') throw error;
    throw new Problem('name-taken', `There is already a ${what} called ${name} here.`, [
      { pointer: '#/name', detail: 'choose another name' },
    ]);
  }
}

export const insertSite = (db: TenantDb, scope: Scope, site: { id: string; name: string; zone: string }) =>
  db.$executeRaw(sql`INSERT INTO site (organisation_id, id, name, zone) VALUES (${scope.organisationId}::uuid, ${site.id}::uuid, ${site.name.trim()}, ${site.zone})
    ON CONFLICT (organisation_id, id) DO NOTHING`);

export const insertBuilding = (db: TenantDb, scope: Scope, building: { id: string; siteId: string; name: string }) =>
  db.$executeRaw(sql`INSERT INTO building (organisation_id, id, site_id, name)
    VALUES (${scope.organisationId}::uuid, ${building.id}::uuid, ${building.siteId}::uuid, ${building.name.trim()}) ON CONFLICT (organisation_id, id) DO NOTHING`);

export const insertRoom = (db: TenantDb, scope: Scope, room: { id: string; buildingId: string; name: string }) =>
  db.$executeRaw(sql`INSERT INTO room (organisation_id, id, building_id, site_id, name)
    SELECT ${scope.organisationId}::uuid, ${room.id}::uuid, b.id, b.site_id, ${room.name.trim()} FROM building b
    WHERE b.organisation_id = ${scope.organisationId}::uuid AND b.id = ${room.buildingId}::uuid ON CONFLICT (organisation_id, id) DO NOTHING`);

/** A new site. @throws Problem name-taken, invalid-request for an unknown zone. */
export async function createSite(
  { database }: Deps,
  scope: Scope,
  site: { id: string; name: string; zone: string },
): Promise<void> {
  mustBeAllowed(scope, 'edit-register');
  mustBeZone(site.zone);
  await withOwnName('site', site.name, () => database.inTenant(scope, ({ db }) => insertSite(db, scope, site)));
}

/** A new building of a site. */
export async function createBuilding(
  { database }: Deps,
  scope: Scope,
  building: { id: string; siteId: string; name: string },
): Promise<void> {
  mustBeAllowed(scope, 'edit-register');
  await withOwnName('building', building.name, () =>
    database.inTenant(scope, async ({ db }) => {
      if (!(await db.site.findFirst({ where: { id: building.siteId }, select: { id: true } }))) throw notFound('site');
      await insertBuilding(db, scope, building);
    }),
  );
}

/** A new room of a building. */
export async function createRoom(
  { database }: Deps,
  scope: Scope,
  room: { id: string; buildingId: string; name: string },
): Promise<void> {
  mustBeAllowed(scope, 'edit-register');
  await withOwnName('room', room.name, () =>
    database.inTenant(scope, async ({ db }) => {
      const building = await db.building.findFirst({ where: { id: room.buildingId }, select: { siteId: true } });
      const visible = building && (await db.site.findFirst({ where: { id: building.siteId }, select: { id: true } }));
      if (!visible) throw notFound('building');
      await insertRoom(db, scope, room);
    }),
  );
}
