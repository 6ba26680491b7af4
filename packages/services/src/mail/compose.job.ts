import { isZone, type Role } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import * as z from 'zod';
import { type Deps, idOf, type Scope } from '../deps/index.ts';
import type { MailContext } from './context.ts';
import { dueLetter } from './due.ts';
import { dayOf, nextMailAt } from './hours.ts';
import { setLetter } from './letters.ts';
import type { Language } from './words.ts';

const payload = z.object({ organisationId: z.uuid(), personId: z.uuid() });
type Payload = z.output<typeof payload>;

/** A letter that could not be made in time is not made up for: what is due is said tomorrow. */
const LATEST_MS = 12 * 3_600_000;

/** Members whose daily letter is due, across organisations and by the clock of each. The cost grows with what is due. */
export async function findDailyDue({ database, clock }: Pick<Deps, 'database' | 'clock'>, most: number): Promise<Payload[]> {
  const at = new Date(clock.now());
  // Clocks of demos run ahead, never behind, and there are few of them: first those due by the real clock, then those of demos.
  return database.acrossTenants('whose daily letter is due', (db) =>
    db.$queryRaw<Payload[]>(sql`
      (SELECT m.organisation_id AS "organisationId", m.person_id AS "personId" FROM membership m
        WHERE m.mail_wanted AND (m.next_mail_at IS NULL OR m.next_mail_at <= ${at}::timestamptz) ORDER BY m.next_mail_at NULLS FIRST LIMIT ${most})
      UNION
      (SELECT m.organisation_id, m.person_id FROM organisation o JOIN membership m USING (organisation_id)
        WHERE o.is_demo AND o.clock_offset_ms > 0 AND m.mail_wanted
          AND m.next_mail_at <= ${at}::timestamptz + o.clock_offset_ms * interval '1 millisecond' LIMIT ${most})`),
  );
}

interface Member {
  name: string;
  roles: Role[];
  siteIds: string[] | null;
  endsAt: Date | null;
  language: Language;
  wanted: boolean;
  minutes: number;
  nextAt: Date | null;
  zone: string | null;
  organisation: string;
  offset: bigint;
}

/**
 * Makes the daily letter of one person, or finds that nothing is due, and sets when the next one is. In one transaction: a letter is
 * never made without the next date, so a day is never written for twice.
 */
export const composeDailyJob = defineJob<Payload, MailContext>({
  name: 'compose-daily',
  payload,
  key: ({ organisationId, personId }) => `${organisationId}:${personId}`,
  retry: { attempts: 5, backoffMs: 1000 },
  async handle(context, { organisationId, personId }) {
    const tenant = { organisationId, siteIds: null };
    const member = await context.database.inTenant(tenant, ({ db }) => memberOf(db, personId, false));
    if (member === null || !member.wanted) return;
    const clockOffsetMs = Number(member.offset);
    const at = context.clock.now() + clockOffsetMs;
    const zone = zoneOf(member);
    const isDue = member.nextAt !== null && member.nextAt.getTime() <= at;
    const nextAt = new Date(nextMailAt(at, zone, member.minutes));
    const isOver = member.endsAt !== null && member.endsAt.getTime() <= at;
    const isKey = member.roles.includes('service-key');
    const makes = isDue && !isOver && !isKey && at - member.nextAt!.getTime() <= LATEST_MS;
    const scope: Scope = { ...tenant, siteIds: member.siteIds, personId, name: member.name, roles: member.roles, clockOffsetMs };
    const letter = makes
      ? await dueLetter(context, scope, await readerOf(context, organisationId, personId, member, zone))
      : null;
    await context.database.inTenant(tenant, async ({ db, announce }) => {
      const present = await memberOf(db, personId, true);
      // Somebody was faster, or changed hour or wish meanwhile: the sweep comes back to it.
      if (present === null || present.nextAt?.getTime() !== member.nextAt?.getTime() || present.wanted !== member.wanted) return;
      await db.$executeRaw(sql`
        UPDATE membership SET next_mail_at = ${isOver || isKey ? FAR : nextAt}::timestamptz
        WHERE organisation_id = current_organisation() AND person_id = ${personId}::uuid`);
      if (letter === null) return;
      const day = dayOf(member.nextAt!.getTime(), zone);
      const { subject, text, html } = setLetter(letter, member.language);
      const real = new Date(context.clock.now());
      await db.$executeRaw(sql`
        INSERT INTO mail (organisation_id, id, kind, person_id, day, subject, body_text, body_html, state, try_at, state_at, made_at)
        VALUES (current_organisation(), ${idOf('mail', organisationId, personId, day)}::uuid, 'due', ${personId}::uuid, ${day}::date,
          ${subject}, ${text}, ${html}, 'waiting', ${real}, ${real}, ${new Date(at)})
        ON CONFLICT DO NOTHING`);
      announce('mail-waits', { mailId: idOf('mail', organisationId, personId, day) });
    });
  },
});

/** Nobody is written to any more; found again when the end is taken back, since that sets the date anew. */
const FAR = new Date(Date.UTC(9999, 0, 1));

const zoneOf = ({ zone }: Pick<Member, 'zone'>): string => (zone !== null && isZone(zone) ? zone : 'UTC');

async function memberOf(db: TenantDb, personId: string, lock: boolean): Promise<Member | null> {
  const [member] = await db.$queryRaw<Member[]>(sql`
    SELECT m.name, m.roles, m.site_ids AS "siteIds", m.ends_at AS "endsAt", m.language, m.mail_wanted AS wanted,
      m.mail_at_minutes AS minutes, m.next_mail_at AS "nextAt", o.name AS organisation, o.clock_offset_ms AS offset,
      coalesce(m.mail_zone, (SELECT s.zone FROM site s WHERE s.organisation_id = m.organisation_id
        AND (m.site_ids IS NULL OR s.id = ANY (m.site_ids)) ORDER BY s.name, s.id LIMIT 1)) AS zone
    FROM membership m JOIN organisation o ON o.organisation_id = m.organisation_id
    WHERE m.organisation_id = current_organisation() AND m.person_id = ${personId}::uuid
    ${lock ? sql`FOR NO KEY UPDATE OF m` : sql.empty}`);
  return member ?? null;
}

async function readerOf(context: MailContext, organisationId: string, personId: string, member: Member, zone: string) {
  const token = await context.accounts.tokens.unsubscribe.make({ organisationId, personId }, null);
  return {
    organisation: member.organisation,
    language: member.language,
    zone,
    publicUrl: context.publicUrl,
    unsubscribeUrl: `${context.publicUrl}/unsubscribe/${token}`,
  };
}
