import * as z from 'zod';
import { defineEndpoint, id, instant, pageSize } from './endpoint.ts';
import { MAIL_STATES } from './people.ts';

const language = z.enum(['en', 'de']);

export const mailLine = z
  .object({
    id,
    kind: z.enum(['due', 'invitation']),
    to: z.string(),
    /** Empty for an invitation, whose letter is not kept. */
    subject: z.string(),
    state: z.enum(MAIL_STATES),
    /** What the other server said, or where the letter is kept. */
    answer: z.string().nullable(),
    attempts: z.number().int(),
    madeAt: instant,
    stateAt: instant,
  })
  .meta({ id: 'MailLine' });
export type MailLine = z.output<typeof mailLine>;

export const listMail = defineEndpoint({
  name: 'listMail',
  summary: 'Letters that were written, newest first: one’s own, or for an administrator all, or those that did not arrive.',
  method: 'GET',
  path: '/api/mail',
  access: 'see',
  query: z.object({
    which: z.enum(['mine', 'all', 'in-trouble']).default('mine'),
    after: z.string().max(400).optional(),
    pageSize: pageSize(100, 30),
  }),
  status: 200,
  response: z.object({ mail: z.array(mailLine), next: z.string().nullable() }),
});

export const getMail = defineEndpoint({
  name: 'getMail',
  summary: 'One letter as it was written; its links that act for the reader are left out.',
  method: 'GET',
  path: '/api/mail/:mailId',
  access: 'see',
  params: z.object({ mailId: id }),
  status: 200,
  response: mailLine.extend({ text: z.string() }),
});

export const mailSettings = z
  .object({
    language,
    wanted: z.boolean(),
    /** Minutes after midnight. */
    atMinutes: z.number().int().min(0).max(1439),
    /** IANA; null: that of the first site given. */
    zone: z.string().max(60).nullable(),
    siteZone: z.string().nullable(),
  })
  .meta({ id: 'MailSettings' });
export type MailSettingsView = z.output<typeof mailSettings>;

export const getMailSettings = defineEndpoint({
  name: 'getMailSettings',
  summary: 'How one is written to in this organisation.',
  method: 'GET',
  path: '/api/mail-settings',
  access: 'see',
  status: 200,
  response: mailSettings,
});

export const changeMailSettings = defineEndpoint({
  name: 'changeMailSettings',
  summary: 'Change language, hour or zone of the daily letter, or stop it.',
  method: 'PATCH',
  path: '/api/mail-settings',
  access: 'see',
  body: z.strictObject({
    language: language.optional(),
    wanted: z.boolean().optional(),
    atMinutes: z.number().int().min(0).max(1439).optional(),
    zone: z.string().min(1).max(60).nullable().optional(),
  }),
  status: 200,
  response: mailSettings,
});

export const noteBounce = defineEndpoint({
  name: 'noteBounce',
  summary: 'A delivery report (RFC 3464) that came back for a letter.',
  method: 'POST',
  path: '/api/mail-bounces',
  access: 'administer',
  body: z.strictObject({ report: z.string().min(1).max(200_000) }),
  status: 200,
  response: z.object({ state: z.enum(['bounced', 'unchanged']) }),
});

/** Stopped by whoever holds the link of a letter: POST /unsubscribe/<token> with the form field of RFC 8058, or this from the page. */
export const unsubscribe = defineEndpoint({
  name: 'unsubscribe',
  summary: 'Stop the daily letters of whoever holds the link of one.',
  method: 'POST',
  path: '/api/unsubscribe',
  access: 'public',
  body: z.strictObject({ token: z.string().min(1).max(2000) }),
  status: 200,
  response: z.object({ organisation: z.string() }),
});
