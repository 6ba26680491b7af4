import type { Role } from '@heatround/domain';
import { sql } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import type { Message } from '@heatround/platform/mail';
import * as z from 'zod';
import type { Deps } from '../deps/index.ts';
import type { MailContext } from './context.ts';
import { type SetLetter, setLetter } from './letters.ts';
import { type Language, sayDayIn, WORDS } from './words.ts';

const payload = z.object({ organisationId: z.uuid(), mailId: z.uuid() });
type Payload = z.output<typeof payload>;

/** Whoever claimed a letter so long ago and said nothing since is dead. Longer than a server may take over one letter. */
const DEAD_AFTER_MS = 5 * 60_000;
/** What a server puts off is tried again, with growing pauses; a daily letter for a day, an invitation for three. */
const FIRST_PAUSE_MS = 60_000;
const GIVEN_UP_AFTER_MS = { due: 24 * 3_600_000, invitation: 3 * 24 * 3_600_000 } as const;

/** States that an answer of the server settles; unsure too, when it comes from one that was taken for dead. */
const UNDER_WAY = ['claimed', 'handing-over', 'unsure'] as const;

/** Letters that wait, or that somebody claimed and left; across organisations. */
export async function findMailToSend({ database, clock }: Pick<Deps, 'database' | 'clock'>, most: number): Promise<Payload[]> {
  const at = clock.now();
  return database.acrossTenants('letters to send', (db) =>
    db.$queryRaw<Payload[]>(sql`
      SELECT organisation_id AS "organisationId", id AS "mailId" FROM mail
      WHERE state IN ('waiting', 'claimed', 'handing-over') AND try_at <= ${new Date(at)}::timestamptz
        AND (state = 'waiting' OR state_at <= ${new Date(at - DEAD_AFTER_MS)}::timestamptz)
      ORDER BY try_at LIMIT ${most}`),
  );
}

interface Held {
  kind: 'due' | 'invitation';
  personId: string | null;
  subject: string;
  text: string;
  html: string;
  attempts: number;
  madeAt: Date;
  isDemo: boolean;
  offset: bigint;
  name: string | null;
  wanted: boolean | null;
  invitation: {
    id: string;
    email: string;
    name: string;
    roles: Role[];
    language: Language;
    runsOutAt: string;
    isOpen: boolean;
    invitedBy: string | null;
    organisation: string;
  } | null;
}

/**
 * Sends one letter. Its state is written before each step that cannot be taken back: claimed before a connection is made, handing over
 * before content leaves. Whoever finds a letter left in the latter state cannot know whether it arrived and says so.
 */
export const sendMailJob = defineJob<Payload, MailContext>({
  name: 'send-mail',
  payload,
  key: ({ mailId }) => mailId,
  retry: { attempts: 3, backoffMs: 1000 },
  async handle(context, { organisationId, mailId }) {
    const { database, clock, mailer } = context;
    const tenant = { organisationId, siteIds: null };
    const at = clock.now();
    const held = await database.inTenant(tenant, async ({ db }) => {
      const dead = new Date(at - DEAD_AFTER_MS);
      await db.$executeRaw(sql`
        UPDATE mail SET state = 'unsure', state_at = ${new Date(at)}, answer = 'It was being handed over when the work on it ended.'
        WHERE organisation_id = current_organisation() AND id = ${mailId}::uuid AND state = 'handing-over' AND state_at <= ${dead}`);
      const claimed = await db.$executeRaw(sql`
        UPDATE mail SET state = 'claimed', attempts = attempts + 1, state_at = ${new Date(at)}
        WHERE organisation_id = current_organisation() AND id = ${mailId}::uuid AND try_at <= ${new Date(at)}::timestamptz
          AND (state = 'waiting' OR (state = 'claimed' AND state_at <= ${dead}))`);
      if (claimed === 0) return null;
      const [row] = await db.$queryRaw<Held[]>(sql`
        SELECT l.kind, l.person_id AS "personId", l.subject, l.body_text AS text, l.body_html AS html, l.attempts, l.made_at AS "madeAt",
          o.is_demo AS "isDemo", o.clock_offset_ms AS offset, m.name, m.mail_wanted AS wanted,
          CASE WHEN i.id IS NOT NULL THEN jsonb_build_object('id', i.id, 'email', i.email, 'name', i.name, 'roles', i.roles,
            'language', i.language, 'runsOutAt', i.runs_out_at, 'isOpen', i.accepted_at IS NULL AND i.withdrawn_at IS NULL,
            'organisation', o.name, 'invitedBy', (SELECT b.name FROM membership b
              WHERE b.organisation_id = i.organisation_id AND b.person_id = i.invited_by)) END AS invitation
        FROM mail l JOIN organisation o ON o.organisation_id = l.organisation_id
          LEFT JOIN membership m ON m.organisation_id = l.organisation_id AND m.person_id = l.person_id
          LEFT JOIN invitation i ON i.organisation_id = l.organisation_id AND i.id = l.invitation_id
        WHERE l.organisation_id = current_organisation() AND l.id = ${mailId}::uuid`);
      return row ?? null;
    });
    if (held === null) return;
    // Whoever claims a letter again counts on: what the one taken for dead still has to say about its own try does not touch the new one.
    const set = (state: string, answer: string | null, from: readonly string[] = UNDER_WAY, tryAt: number | null = null) =>
      database.inTenant(tenant, ({ db }) =>
        db.$executeRaw(sql`
          UPDATE mail SET state = ${state}, answer = ${answer}, state_at = ${new Date(clock.now())},
            try_at = coalesce(${tryAt === null ? null : new Date(tryAt)}::timestamptz, try_at)
          WHERE organisation_id = current_organisation() AND id = ${mailId}::uuid AND attempts = ${held.attempts}
            AND state = ANY (${[...from]})`),
      );

    const made = await messageOf(context, organisationId, mailId, held);
    if (typeof made === 'string') {
      await set('refused', made);
      return;
    }
    // A demo writes to nobody, whatever the settings.
    if (held.isDemo || mailer.kind === 'folder') {
      const { outcome, answer } = await mailer.keep(made);
      await set(outcome, answer);
      return;
    }
    const { outcome, answer } = await mailer.send(made, async () => {
      const moved = await set('handing-over', null, ['claimed']);
      if (moved === 0) throw new Error('somebody else has this letter now');
    });
    if (outcome !== 'later') {
      await set(outcome, answer);
      return;
    }
    const isTooLate = clock.now() + Number(held.offset) - held.madeAt.getTime() > GIVEN_UP_AFTER_MS[held.kind];
    if (isTooLate) await set('refused', `Given up after ${held.attempts} tries: ${answer}`);
    else await set('waiting', answer, UNDER_WAY, clock.now() + FIRST_PAUSE_MS * 2 ** Math.min(held.attempts - 1, 6));
  },
});

/** The message as it goes out, or why there is none. */
async function messageOf(context: MailContext, organisationId: string, mailId: string, held: Held): Promise<Message | string> {
  if (held.kind === 'due') {
    if (held.wanted !== true) return 'Letters were stopped meanwhile.';
    const state = (await context.accounts.statesOf([held.personId!])).get(held.personId!);
    if (!state) return 'There is no address any more.';
    const url = `${context.publicUrl}/unsubscribe/${await context.accounts.tokens.unsubscribe.make({ organisationId, personId: held.personId! }, null)}`;
    return {
      id: mailId,
      to: { name: held.name ?? '', address: state.email },
      subject: held.subject,
      text: held.text,
      html: held.html,
      // One click, RFC 8058; programs that open links do not unsubscribe anybody.
      headers: { 'List-Unsubscribe': `<${url}>`, 'List-Unsubscribe-Post': 'List-Unsubscribe=One-Click' },
    };
  }
  const invitation = held.invitation!;
  if (!invitation.isOpen) return 'The invitation was taken up or taken back meanwhile.';
  const token = await context.accounts.tokens.invitation.make(
    { organisationId, invitationId: invitation.id },
    Date.parse(invitation.runsOutAt),
  );
  const set = invitationLetter(invitation, `${context.publicUrl}/invitation#${token}`);
  return { id: mailId, to: { name: invitation.name, address: invitation.email }, ...set };
}

function invitationLetter(invitation: NonNullable<Held['invitation']>, href: string): SetLetter {
  const words = WORDS[invitation.language];
  const roles = invitation.roles.map((role) => words.roles[role]).join(', ');
  return setLetter(
    {
      subject: words.invitationSubject(invitation.organisation),
      greeting: words.hello(invitation.name),
      opening: [words.invitationOpening(invitation.invitedBy ?? invitation.organisation, invitation.organisation, roles)],
      sections: [],
      act: { word: words.takeItUp, href },
      foot: [words.invitationUntil(sayDayIn(invitation.language, Date.parse(invitation.runsOutAt), 'UTC')), words.invitationFoot],
      links: [],
    },
    invitation.language,
  );
}
