import { Problem, type Role } from '@heatround/domain';
import type { AccountState } from '@heatround/platform/accounts';
import { sql } from '@heatround/platform/database';
import { mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { type InvitationView, openInvitations } from './invitations.ts';
import { type KeyView, keysOf } from './keys.ts';
import { mustBeSites, type WithAccounts } from './with-accounts.ts';

export interface MemberView extends Partial<AccountState> {
  readonly id: string;
  readonly name: string;
  readonly roles: Role[];
  readonly siteIds: string[] | null;
  readonly endsAt: Date | null;
  readonly hasEnded: boolean;
}

/** Everybody who belongs or belonged here, by name, with what an administrator may know of their accounts; open invitations; keys. */
export async function listMembers(
  deps: WithAccounts,
  scope: Scope,
): Promise<{ members: MemberView[]; invitations: InvitationView[]; keys: KeyView[] }> {
  mustBeAllowed(scope, 'administer');
  const at = now(deps, scope);
  const { members, invitations, keys } = await deps.database.inTenant(scope, async ({ db }) => ({
    members: await db.$queryRaw<Omit<MemberView, 'hasEnded' | keyof AccountState>[]>(sql`
      SELECT person_id AS id, name, roles, site_ids AS "siteIds", ends_at AS "endsAt" FROM membership
      WHERE organisation_id = current_organisation() AND NOT 'service-key' = ANY (roles) ORDER BY name, person_id`),
    invitations: await openInvitations(db, deps.clock.now()),
    keys: await keysOf(db, at),
  }));
  const states = await deps.accounts.statesOf(members.map(({ id }) => id));
  return {
    members: members.map((member) => ({
      ...member,
      ...states.get(member.id),
      hasEnded: member.endsAt !== null && member.endsAt.getTime() <= at,
    })),
    invitations,
    keys,
  };
}

export interface MemberChange {
  readonly name?: string | undefined;
  readonly roles?: readonly Role[] | undefined;
  /** Null: every site. */
  readonly siteIds?: readonly string[] | null | undefined;
  /** Null: without an end. */
  readonly endsAt?: Date | null | undefined;
}

/**
 * Changes name, roles, sites or end of a member. What they do from then on follows it; what they did stays.
 * @throws Problem not-found; move-not-allowed where nobody would be left to administer; invalid-request for unknown sites.
 */
export async function changeMember(deps: WithAccounts, scope: Scope, personId: string, change: MemberChange): Promise<void> {
  mustBeAllowed(scope, 'administer');
  const at = new Date(now(deps, scope));
  await deps.database.inTenant(scope, async ({ db }) => {
    if (change.siteIds != null) await mustBeSites(db, change.siteIds);
    // All administrators are locked, so that two changes at once do not leave nobody.
    const rows = await db.$queryRaw<
      { id: string; name: string; roles: Role[]; siteIds: string[] | null; endsAt: Date | null }[]
    >(sql`
      SELECT person_id AS id, name, roles, site_ids AS "siteIds", ends_at AS "endsAt" FROM membership
      WHERE organisation_id = current_organisation() AND NOT 'service-key' = ANY (roles)
        AND (person_id = ${personId}::uuid OR 'administrator' = ANY (roles)) ORDER BY person_id FOR UPDATE`);
    const present = rows.find(({ id }) => id === personId);
    if (!present) throw notFound('person');
    const next = {
      name: change.name?.trim() ?? present.name,
      roles: change.roles === undefined ? present.roles : [...new Set(change.roles)],
      siteIds: change.siteIds === undefined ? present.siteIds : change.siteIds === null ? null : [...change.siteIds],
      endsAt: change.endsAt === undefined ? present.endsAt : change.endsAt,
    };
    const administers = ({ roles, endsAt }: { roles: readonly Role[]; endsAt: Date | null }): boolean =>
      roles.includes('administrator') && (endsAt === null || endsAt > at);
    const others = rows.filter(({ id }) => id !== personId).some(administers);
    // An end that is still to come would leave nobody one day.
    const staysOn = next.roles.includes('administrator') && next.endsAt === null;
    if (administers(present) && !staysOn && !others)
      throw new Problem('move-not-allowed', 'This is the last administrator here. Make somebody else one first.', [], {
        allowed: [],
      });
    const sameRoles = present.roles.length === next.roles.length && present.roles.every((role) => next.roles.includes(role));
    await db.$executeRaw(sql`
      UPDATE membership SET name = ${next.name}, roles = ${next.roles}, site_ids = ${next.siteIds}::uuid[],
        ends_at = ${next.endsAt}::timestamptz, next_mail_at = NULL, roles_changed_at = CASE WHEN ${sameRoles} THEN roles_changed_at ELSE ${at}::timestamptz END
      WHERE organisation_id = current_organisation() AND person_id = ${personId}::uuid`);
  });
}

/** Takes a lost second factor off a member, who then signs in with the password alone and sets up a new one. */
export async function liftSecondFactor(deps: WithAccounts, scope: Scope, personId: string): Promise<void> {
  mustBeAllowed(scope, 'administer');
  const [member] = await deps.database.inTenant(scope, ({ db }) =>
    db.$queryRaw<{ elsewhere: boolean }[]>(sql`
      SELECT true AS elsewhere FROM membership
      WHERE organisation_id = current_organisation() AND person_id = ${personId}::uuid AND NOT 'service-key' = ANY (roles)`),
  );
  if (!member) throw notFound('person');
  // The account may open other organisations too: there its second factor is not this administrator's to take.
  const memberships = await deps.database.acrossTenants('where else somebody belongs', (db) =>
    db.$queryRaw<{ id: string }[]>(sql`
      SELECT organisation_id AS id FROM membership WHERE person_id = ${personId}::uuid
        AND (ends_at IS NULL OR ends_at > ${new Date(deps.clock.now())}::timestamptz)`),
  );
  if (memberships.some(({ id }) => id !== scope.organisationId))
    throw new Problem(
      'not-allowed',
      'This person belongs to other organisations too. Their own spare codes help; nobody here can take it off.',
    );
  await deps.accounts.liftSecondFactor(personId);
}
