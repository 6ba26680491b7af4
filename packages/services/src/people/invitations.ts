import { randomUUID } from 'node:crypto';
import { Problem, type Role } from '@heatround/domain';
import type { SignedInAccount } from '@heatround/platform/accounts';
import { sql, type TenantDb } from '@heatround/platform/database';
import { mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { createOrganisation, isEmpty, membershipsOf, setMembership } from '../identity/index.ts';
import { mustBeSites, type WithAccounts } from './with-accounts.ts';

const GOOD_FOR_MS = 14 * 86_400_000;

export type MailState = 'waiting' | 'claimed' | 'handing-over' | 'sent' | 'refused' | 'bounced' | 'kept' | 'unsure';

export interface InvitationView {
  readonly id: string;
  readonly email: string;
  readonly name: string;
  readonly roles: Role[];
  readonly siteIds: string[] | null;
  readonly endsAt: Date | null;
  readonly invitedAt: Date;
  readonly runsOutAt: Date;
  readonly hasRunOut: boolean;
  /** What became of the mail; null: none was written. */
  readonly mail: { readonly state: MailState; readonly answer: string | null } | null;
}

/** Invitations that nobody took up or took back, newest first. */
export const openInvitations = (db: TenantDb, realNow: number): Promise<InvitationView[]> =>
  db.$queryRaw<InvitationView[]>(sql`
    SELECT i.id, i.email, i.name, i.roles, i.site_ids AS "siteIds", i.ends_at AS "endsAt", i.invited_at AS "invitedAt",
      i.runs_out_at AS "runsOutAt", i.runs_out_at <= ${new Date(realNow)}::timestamptz AS "hasRunOut",
      (SELECT jsonb_build_object('state', m.state, 'answer', m.answer) FROM mail m
        WHERE m.organisation_id = i.organisation_id AND m.invitation_id = i.id ORDER BY m.made_at DESC LIMIT 1) AS mail
    FROM invitation i WHERE i.organisation_id = current_organisation() AND i.accepted_at IS NULL AND i.withdrawn_at IS NULL
    ORDER BY i.invited_at DESC, i.id LIMIT 200`);

export interface NewInvitation {
  readonly id: string;
  readonly email: string;
  readonly name: string;
  readonly roles: readonly Role[];
  readonly siteIds: readonly string[] | null;
  readonly endsAt: Date | null;
  readonly language: 'en' | 'de';
}

/**
 * Invites somebody by e-mail; sending the same invitation again changes nothing. The link comes back once, to be handed over by the
 * person who invites where no mail goes out.
 * @throws Problem name-taken for somebody who already belongs here; invalid-request for unknown sites.
 */
export async function invite(deps: WithAccounts, scope: Scope, invitation: NewInvitation): Promise<{ token: string }> {
  mustBeAllowed(scope, 'administer');
  const email = invitation.email.trim().toLowerCase();
  const known = await deps.accounts.find(email);
  const runsOutAt = new Date(deps.clock.now() + GOOD_FOR_MS);
  const at = new Date(now(deps, scope));
  await deps.database.inTenant(scope, async ({ db, announce }) => {
    if (invitation.siteIds !== null) await mustBeSites(db, invitation.siteIds);
    if (known !== null) {
      const [member] = await db.$queryRaw<{ name: string }[]>(sql`
        SELECT name FROM membership WHERE organisation_id = current_organisation() AND person_id = ${known.personId}::uuid
          AND (ends_at IS NULL OR ends_at > ${at}::timestamptz)`);
      if (member)
        throw new Problem('name-taken', `${email} belongs here already, as ${member.name}. Change the roles there.`, [
          { pointer: '#/email', detail: 'somebody who is not a member yet' },
        ]);
    }
    const sites = invitation.siteIds === null ? null : [...invitation.siteIds];
    const made = await db.$executeRaw(sql`
      INSERT INTO invitation (organisation_id, id, email, name, roles, site_ids, ends_at, language, invited_by, invited_at, runs_out_at)
      VALUES (current_organisation(), ${invitation.id}::uuid, ${email}, ${invitation.name.trim()}, ${[...new Set(invitation.roles)]},
        ${sites}::uuid[], ${invitation.endsAt}::timestamptz, ${invitation.language}, ${scope.personId}::uuid, ${at}, ${runsOutAt})
      ON CONFLICT (organisation_id, id) DO NOTHING`);
    if (made === 0) return;
    const mailId = randomUUID();
    await db.$executeRaw(sql`
      INSERT INTO mail (organisation_id, id, kind, invitation_id, subject, body_text, body_html, state, try_at, state_at, made_at)
      VALUES (current_organisation(), ${mailId}::uuid, 'invitation', ${invitation.id}::uuid, '', '', '', 'waiting',
        ${new Date(deps.clock.now())}, ${new Date(deps.clock.now())}, ${at})`);
    announce('mail-waits', { mailId });
  });
  return { token: await tokenOf(deps, scope.organisationId, invitation.id, runsOutAt.getTime()) };
}

/**
 * The first organisation of an empty installation, with an invitation for its administrator. Where there is an organisation already,
 * nothing happens, however often it is asked.
 * @returns the token of the invitation; null: the installation is not empty.
 */
export async function inviteFirst(
  deps: WithAccounts,
  { organisation, administrator }: { readonly organisation: string; readonly administrator: string },
): Promise<string | null> {
  if (!(await isEmpty(deps))) return null;
  const organisationId = randomUUID();
  await createOrganisation(deps, { id: organisationId, name: organisation });
  const scope: Scope = {
    organisationId,
    siteIds: null,
    personId: randomUUID(),
    name: 'First start',
    roles: ['administrator'],
    clockOffsetMs: 0,
  };
  const { token } = await invite(deps, scope, {
    id: randomUUID(),
    email: administrator,
    name: administrator.split('@')[0]!,
    // Who begins also sets up the register and the first rounds.
    roles: ['administrator', 'planner'],
    siteIds: null,
    endsAt: null,
    language: 'en',
  });
  return token;
}

const tokenOf = (deps: WithAccounts, organisationId: string, invitationId: string, until: number): Promise<string> =>
  deps.accounts.tokens.invitation.make({ organisationId, invitationId }, until);

/** An open invitation opens nothing any more. Taking it back twice changes nothing. */
export async function withdrawInvitation(deps: WithAccounts, scope: Scope, invitationId: string): Promise<void> {
  mustBeAllowed(scope, 'administer');
  const found = await deps.database.inTenant(scope, ({ db }) =>
    db.$executeRaw(sql`
      UPDATE invitation SET withdrawn_at = coalesce(withdrawn_at, ${new Date(now(deps, scope))}::timestamptz)
      WHERE organisation_id = current_organisation() AND id = ${invitationId}::uuid AND accepted_at IS NULL`),
  );
  if (found === 0) throw notFound('open invitation');
}

interface Held {
  organisationId: string;
  id: string;
  organisation: string;
  email: string;
  name: string;
  roles: Role[];
  siteIds: string[] | null;
  endsAt: Date | null;
  language: 'en' | 'de';
  acceptedBy: string | null;
}

async function held(deps: WithAccounts, token: string): Promise<Held> {
  const gone = (words: string) => new Problem('not-found', words);
  const claims = await deps.accounts.tokens.invitation.read(token, deps.clock.now());
  if (claims === 'run-out') throw gone('This invitation has run out. Ask for a new one.');
  if (claims === 'foreign') throw gone('This is no invitation of this service. Open the whole link from the mail.');
  const [found] = await deps.database.acrossTenants('an invitation by its link', (db) =>
    db.$queryRaw<(Held & { withdrawn: boolean })[]>(sql`
      SELECT i.organisation_id AS "organisationId", i.id, o.name AS organisation, i.email, i.name, i.roles, i.site_ids AS "siteIds",
        i.ends_at AS "endsAt", i.language, i.accepted_by AS "acceptedBy", i.withdrawn_at IS NOT NULL AS withdrawn
      FROM invitation i JOIN organisation o ON o.organisation_id = i.organisation_id
      WHERE i.organisation_id = ${claims.organisationId}::uuid AND i.id = ${claims.invitationId}::uuid`),
  );
  if (!found || found.withdrawn) throw gone('This invitation was taken back. Ask for a new one.');
  return found;
}

/** What a link says to whoever opened it: by whom, for whom, and whether the address has an account already. */
export async function lookAtInvitation(
  deps: WithAccounts,
  token: string,
): Promise<{ organisation: string; email: string; name: string; roles: Role[]; hasAccount: boolean; isAccepted: boolean }> {
  const { organisation, email, name, roles, acceptedBy } = await held(deps, token);
  const hasAccount = (await deps.accounts.find(email)) !== null;
  return { organisation, email, name, roles, hasAccount, isAccepted: acceptedBy !== null };
}

/**
 * Takes up an invitation: with a new account and its password, or signed in with the account of that very address. Twice is once.
 * @throws Problem not-found for a link that opens nothing; not-signed-in where the address has an account and nobody, or somebody else, is
 * signed in.
 */
export async function acceptInvitation(
  deps: WithAccounts,
  token: string,
  given: { readonly password: string | null; readonly account: SignedInAccount | null },
): Promise<{ email: string; organisationId: string }> {
  const invitation = await held(deps, token);
  const { email, organisationId } = invitation;
  const known = await deps.accounts.find(email);
  if (known !== null && given.account?.personId !== known.personId)
    throw new Problem('not-signed-in', `${email} has an account here. Sign in with it, then open the link again.`);
  if (known === null && given.password === null)
    throw new Problem('invalid-request', 'Choose a password of 10 to 128 characters.', [
      { pointer: '#/password', detail: '10 to 128 characters' },
    ]);
  const account = known ?? (await deps.accounts.create({ email, name: invitation.name, password: given.password! }));
  const scope = { organisationId, siteIds: null };
  const taken = await deps.database.inTenant(scope, ({ db }) =>
    db.$executeRaw(sql`
      UPDATE invitation SET accepted_by = ${account.personId}::uuid,
        accepted_at = ${new Date(deps.clock.now())}::timestamptz + (SELECT clock_offset_ms FROM organisation
          WHERE organisation_id = current_organisation()) * interval '1 millisecond'
      WHERE organisation_id = current_organisation() AND id = ${invitation.id}::uuid AND withdrawn_at IS NULL
        AND (accepted_by IS NULL OR accepted_by = ${account.personId}::uuid)`),
  );
  if (taken === 0) throw new Problem('not-found', 'This invitation was taken up by somebody else, or taken back.');
  // Who was changed or has left since is not set back by an old link: used up it makes a member only where the first attempt broke off
  // before there was one, and whoever belongs here stays what they are.
  const [present] = await deps.database.inTenant(scope, ({ db }) =>
    db.$queryRaw<{ exists: boolean }[]>(sql`
      SELECT true AS exists FROM membership WHERE organisation_id = current_organisation() AND person_id = ${account.personId}::uuid`),
  );
  const belongs = (await membershipsOf(deps, account.personId)).some((one) => one.organisationId === organisationId);
  const makesMember = invitation.acceptedBy === null ? !belongs : present === undefined;
  if (makesMember)
    await setMembership(deps, {
      organisationId,
      personId: account.personId,
      name: invitation.name,
      roles: invitation.roles,
      ...(invitation.siteIds === null ? {} : { siteIds: invitation.siteIds }),
      ...(invitation.endsAt === null ? {} : { endsAt: invitation.endsAt.getTime() }),
    });
  if (makesMember)
    await deps.database.inTenant(scope, ({ db }) =>
      db.$executeRaw(sql`
        UPDATE membership SET language = ${invitation.language}
        WHERE organisation_id = current_organisation() AND person_id = ${account.personId}::uuid`),
    );
  return { email, organisationId };
}
