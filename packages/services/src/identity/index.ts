/**
 * Who somebody is in an organisation. Memberships are read across organisations (a person may have several) under the sweep role;
 * from then on everything happens inside one of them. A membership that has ended opens nothing, its name stays on what was written.
 */
import { type Action, Problem, type Role } from '@heatround/domain';
import type { Accounts } from '@heatround/platform/accounts';
import { sql } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';

const KEY_USE_SAID_EVERY_MS = 10 * 60_000;

export interface MembershipView {
  readonly organisationId: string;
  readonly organisationName: string;
  readonly name: string;
  readonly roles: Role[];
  readonly siteIds: string[] | null;
  readonly endsAt: Date | null;
  readonly isDemo: boolean;
  readonly clockOffsetMs: number;
}

/** The organisations a person belongs to today, by name. Ends are read by the organisation's own clock. */
export async function membershipsOf(
  { database, clock }: Pick<Deps, 'database' | 'clock'>,
  personId: string,
): Promise<MembershipView[]> {
  const rows = await database.acrossTenants('memberships of a person', (db) =>
    db.$queryRaw<(Omit<MembershipView, 'clockOffsetMs'> & { clockOffsetMs: bigint })[]>(sql`
      SELECT o.organisation_id AS "organisationId", o.name AS "organisationName", m.name, m.roles, m.site_ids AS "siteIds",
        m.ends_at AS "endsAt", o.is_demo AS "isDemo", o.clock_offset_ms AS "clockOffsetMs"
      FROM membership m JOIN organisation o USING (organisation_id)
      WHERE m.person_id = ${personId}::uuid ORDER BY o.name, o.organisation_id`),
  );
  return rows
    .map((row) => ({ ...row, clockOffsetMs: Number(row.clockOffsetMs) }))
    .filter((row) => !row.endsAt || row.endsAt.getTime() > clock.now() + row.clockOffsetMs);
}

/**
 * The scope of a request. Without a named organisation it is the only one the person has.
 * @throws Problem not-found for an organisation one does not belong to, which looks the same as a missing one.
 */
export async function openScope(
  deps: Pick<Deps, 'database' | 'clock'>,
  personId: string,
  organisationId: string | null,
): Promise<Scope> {
  const all = await membershipsOf(deps, personId);
  if (!organisationId && all.length > 1) {
    throw new Problem('invalid-request', 'You belong to several organisations: name one in the Heatround-Organisation header.');
  }
  const chosen = organisationId ? all.find((one) => one.organisationId === organisationId) : all[0];
  if (!chosen) throw new Problem('not-found', 'There is no such organisation, or you do not belong to it.');
  const { siteIds, name, roles, clockOffsetMs } = chosen;
  return { organisationId: chosen.organisationId, siteIds, personId, name, roles, clockOffsetMs };
}

/**
 * The scope of a service key: its organisation, its scopes, itself as author.
 * @param keyHash SHA-256 of the key, hexadecimal. @returns null: unknown, ended or withdrawn.
 */
export async function openKeyScope(
  { database, clock }: Pick<Deps, 'database' | 'clock'>,
  keyHash: string,
): Promise<Scope | null> {
  const at = clock.now();
  const [key] = await database.acrossTenants('whose key this is', (db) =>
    db.$queryRaw<
      (Pick<Scope, 'organisationId' | 'personId' | 'name' | 'siteIds'> & {
        actions: Action[];
        endsAt: Date | null;
        offset: bigint;
        lastUsedAt: Date | null;
      })[]
    >(sql`
      SELECT k.organisation_id AS "organisationId", k.id AS "personId", m.name, m.site_ids AS "siteIds", k.scopes AS actions,
        m.ends_at AS "endsAt", o.clock_offset_ms AS offset, k.last_used_at AS "lastUsedAt"
      FROM service_key k JOIN membership m ON m.organisation_id = k.organisation_id AND m.person_id = k.id
        JOIN organisation o ON o.organisation_id = k.organisation_id
      WHERE k.key_hash = ${keyHash}`),
  );
  if (!key) return null;
  const { endsAt, offset, lastUsedAt, ...scope } = key;
  const clockOffsetMs = Number(offset);
  if (endsAt !== null && endsAt.getTime() <= at + clockOffsetMs) return null;
  // Often enough for a person who wonders whether it is used still.
  if (lastUsedAt === null || at - lastUsedAt.getTime() > KEY_USE_SAID_EVERY_MS)
    await database.acrossTenants('a key was used', (db) =>
      db.$executeRaw(sql`UPDATE service_key SET last_used_at = ${new Date(at)} WHERE key_hash = ${keyHash}`),
    );
  return { ...scope, roles: ['service-key'], clockOffsetMs };
}

/** A new organisation; creating the same id again changes nothing. */
export async function createOrganisation(
  { database }: Pick<Deps, 'database'>,
  organisation: { id: string; name: string; isDemo?: boolean; clockOffsetMs?: number },
): Promise<void> {
  await database.acrossTenants('new organisation', (db) =>
    db.$executeRaw(sql`
      INSERT INTO organisation (organisation_id, name, is_demo, clock_offset_ms)
      VALUES (${organisation.id}::uuid, ${organisation.name}, ${organisation.isDemo ?? false}, ${BigInt(Math.round(organisation.clockOffsetMs ?? 0))})
      ON CONFLICT (organisation_id) DO NOTHING`),
  );
}

/** Makes a person a member, or changes the roles held. */
export async function setMembership(
  { database, clock }: Pick<Deps, 'database' | 'clock'>,
  member: {
    organisationId: string;
    personId: string;
    name: string;
    roles: readonly Role[];
    siteIds?: readonly string[];
    endsAt?: number;
  },
): Promise<void> {
  const sites = member.siteIds ? [...member.siteIds] : null;
  await database.acrossTenants('membership', (db) =>
    db.$executeRaw(sql`
      INSERT INTO membership AS m (organisation_id, person_id, name, roles, site_ids, ends_at)
      VALUES (${member.organisationId}::uuid, ${member.personId}::uuid, ${member.name}, ${[...member.roles]}, ${sites}::uuid[],
        ${member.endsAt ? new Date(member.endsAt) : null}::timestamptz)
      ON CONFLICT (organisation_id, person_id) DO UPDATE
        SET name = excluded.name, roles = excluded.roles, site_ids = excluded.site_ids, ends_at = excluded.ends_at,
          next_mail_at = NULL,
          roles_changed_at = CASE WHEN m.roles @> excluded.roles AND m.roles <@ excluded.roles THEN m.roles_changed_at
            ELSE ${new Date(clock.now())}::timestamptz + (SELECT o.clock_offset_ms FROM organisation o
              WHERE o.organisation_id = m.organisation_id) * interval '1 millisecond' END`),
  );
}

/**
 * Ends a membership now; from the next call on it opens nothing. Name and roles stay on record, as does what the person did.
 * Ending one that has ended changes nothing.
 * @throws Problem not-found for somebody who never belonged here; move-not-allowed for the last administrator.
 */
export async function endMembership(deps: Deps, scope: Scope, personId: string): Promise<{ endedAt: Date }> {
  mustBeAllowed(scope, 'administer');
  const at = new Date(now(deps, scope));
  return deps.database.inTenant(scope, async ({ db }) => {
    // All administrators are locked, so that two who end each other at once do not leave nobody.
    const members = await db.$queryRaw<{ id: string; isAdministrator: boolean; endsAt: Date | null }[]>(sql`
      SELECT person_id AS id, 'administrator' = ANY (roles) AS "isAdministrator", ends_at AS "endsAt" FROM membership
      WHERE organisation_id = current_organisation() AND (person_id = ${personId}::uuid OR 'administrator' = ANY (roles))
      ORDER BY person_id FOR UPDATE`);
    const member = members.find(({ id }) => id === personId);
    if (!member) throw notFound('person');
    const isOver = ({ endsAt }: { endsAt: Date | null }) => endsAt !== null && endsAt <= at;
    if (isOver(member)) return { endedAt: member.endsAt! };
    const others = members.filter((one) => one.id !== personId && one.isAdministrator && !isOver(one));
    if (member.isAdministrator && others.length === 0) {
      throw new Problem('move-not-allowed', 'This is the last administrator here. Make somebody else one first.', [], {
        allowed: [],
      });
    }
    await db.$executeRaw(sql`
      UPDATE membership SET ends_at = ${at}::timestamptz
      WHERE organisation_id = current_organisation() AND person_id = ${personId}::uuid`);
    return { endedAt: at };
  });
}

/**
 * Ends every session of somebody who belongs or belonged here, on every device and in every organisation; the person may sign in
 * anew. @returns how many there were.
 */
export async function endSessionsOf(
  deps: Deps & { readonly accounts: Pick<Accounts, 'endSessions'> },
  scope: Scope,
  personId: string,
): Promise<number> {
  mustBeAllowed(scope, 'administer');
  const [member] = await deps.database.inTenant(scope, ({ db }) =>
    db.$queryRaw<{ id: string }[]>(sql`
      SELECT person_id AS id FROM membership
      WHERE organisation_id = current_organisation() AND person_id = ${personId}::uuid`),
  );
  if (!member) throw notFound('person');
  return deps.accounts.endSessions(personId, deps.clock.now());
}

/** True when the installation holds no organisation yet. */
export async function isEmpty({ database }: Pick<Deps, 'database'>): Promise<boolean> {
  const rows = await database.acrossTenants(
    'is there any organisation',
    (db) => db.$queryRaw<{ found: boolean }[]>`SELECT EXISTS (SELECT 1 FROM organisation) AS found`,
  );
  return !rows[0]?.found;
}

/** People of the organisation whose membership has not ended, by name. */
export async function listPeople(deps: Deps, scope: Scope): Promise<{ id: string; name: string; roles: string[] }[]> {
  mustBeAllowed(scope, 'see');
  return deps.database.inTenant(scope, ({ db }) =>
    db.$queryRaw<{ id: string; name: string; roles: string[] }[]>(sql`
      SELECT person_id AS id, name, roles FROM membership
      WHERE organisation_id = ${scope.organisationId}::uuid AND (ends_at IS NULL OR ends_at > ${new Date(now(deps, scope))}::timestamptz)
        AND NOT 'service-key' = ANY (roles)
      ORDER BY name, person_id`),
  );
}

/**
 * Moves the clock of a demo organisation ahead, never back: what was taken before stays in the past.
 * @throws Problem move-not-allowed for an organisation that lives by the real clock.
 */
export async function jumpClock(deps: Deps, scope: Scope, aheadMinutes: number): Promise<{ now: Date }> {
  mustBeAllowed(scope, 'administer');
  const rows = await deps.database.inTenant(scope, ({ db }) =>
    db.$queryRaw<{ offset: bigint }[]>(sql`
      UPDATE organisation SET clock_offset_ms = clock_offset_ms + ${BigInt(Math.max(0, aheadMinutes) * 60_000)}::bigint
      WHERE organisation_id = ${scope.organisationId}::uuid AND is_demo RETURNING clock_offset_ms AS offset`),
  );
  const [moved] = rows;
  if (!moved) {
    throw new Problem('move-not-allowed', 'This organisation lives by the real clock; only that of a demo can be moved.', [], {
      allowed: [],
    });
  }
  return { now: new Date(deps.clock.now() + Number(moved.offset)) };
}
