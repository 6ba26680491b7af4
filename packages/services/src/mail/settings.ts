import { isZone, Problem } from '@heatround/domain';
import type { Accounts } from '@heatround/platform/accounts';
import { sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, now, type Scope } from '../deps/index.ts';
import { nextMailAt } from './hours.ts';
import type { Language } from './words.ts';

/** How a member is written to. */
export interface MailSettings {
  readonly language: Language;
  readonly wanted: boolean;
  /** Minutes after midnight. */
  readonly atMinutes: number;
  /** IANA; null: that of the first site given. */
  readonly zone: string | null;
}

async function settingsOf(db: TenantDb, personId: string): Promise<(MailSettings & { siteZone: string | null }) | null> {
  const [row] = await db.$queryRaw<(MailSettings & { siteZone: string | null })[]>(sql`
    SELECT m.language, m.mail_wanted AS wanted, m.mail_at_minutes AS "atMinutes", m.mail_zone AS zone,
      (SELECT s.zone FROM site s WHERE s.organisation_id = m.organisation_id AND (m.site_ids IS NULL OR s.id = ANY (m.site_ids))
        ORDER BY s.name, s.id LIMIT 1) AS "siteZone"
    FROM membership m WHERE m.organisation_id = current_organisation() AND m.person_id = ${personId}::uuid FOR NO KEY UPDATE OF m`);
  return row ?? null;
}

/** How one is written to in this organisation. */
export async function mailSettings(deps: Deps, scope: Scope): Promise<MailSettings & { siteZone: string | null }> {
  mustBeAllowed(scope, 'see');
  const found = await deps.database.inTenant(scope, ({ db }) => settingsOf(db, scope.personId));
  if (found === null) throw new Problem('not-found', 'A key is not written to.');
  return found;
}

/** Changes how one is written to; the next letter comes at the new hour, not before. @throws Problem invalid-request for an unknown zone. */
export async function changeMailSettings(
  deps: Deps,
  scope: Scope,
  change: { readonly [K in keyof MailSettings]?: MailSettings[K] | undefined },
): Promise<MailSettings & { siteZone: string | null }> {
  mustBeAllowed(scope, 'see');
  if (change.zone != null && !isZone(change.zone))
    throw new Problem('invalid-request', `${change.zone} is no time zone that can be reckoned with; nothing was changed.`, [
      { pointer: '#/zone', detail: 'an IANA name such as Europe/Dublin' },
    ]);
  return deps.database.inTenant(scope, async ({ db }) => {
    const present = await settingsOf(db, scope.personId);
    if (present === null) throw new Problem('not-found', 'A key is not written to.');
    const { siteZone, ...before } = present;
    const given = Object.fromEntries(Object.entries(change).filter(([, value]) => value !== undefined));
    const next: MailSettings = { ...before, ...given };
    const nextAt = new Date(nextMailAt(now(deps, scope), next.zone ?? siteZone ?? 'UTC', next.atMinutes));
    await db.$executeRaw(sql`
      UPDATE membership SET language = ${next.language}, mail_wanted = ${next.wanted}, mail_at_minutes = ${next.atMinutes},
        mail_zone = ${next.zone}, next_mail_at = ${nextAt}::timestamptz
      WHERE organisation_id = current_organisation() AND person_id = ${scope.personId}::uuid`);
    return { ...next, siteZone };
  });
}

/**
 * Stops the daily letters of whoever holds the link from one of them (RFC 8058). Twice is once.
 * @throws Problem not-found for a link that is none of ours.
 */
export async function unsubscribe(
  deps: Deps & { readonly accounts: Pick<Accounts, 'tokens'> },
  token: string,
): Promise<{ organisation: string }> {
  const claims = await deps.accounts.tokens.unsubscribe.read(token, deps.clock.now());
  if (typeof claims === 'string')
    throw new Problem('not-found', 'This is no link of ours. Sign in and change it under your name.');
  const { organisationId, personId } = claims;
  return deps.database.inTenant({ organisationId, siteIds: null }, async ({ db }) => {
    const [found] = await db.$queryRaw<{ organisation: string }[]>(sql`
      UPDATE membership m SET mail_wanted = false FROM organisation o
      WHERE o.organisation_id = m.organisation_id AND m.organisation_id = current_organisation() AND m.person_id = ${personId}::uuid
      RETURNING o.name AS organisation`);
    if (!found) throw new Problem('not-found', 'This is no link of ours. Sign in and change it under your name.');
    return found;
  });
}
