import { KEY_SCOPES, ROLES } from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, empty, id, instant, words } from './endpoint.ts';
import { me } from './identity.ts';

const roles = z
  .array(z.enum(ROLES).exclude(['service-key']))
  .min(1)
  .max(7);
const siteIds = z.array(id).min(1).max(500).nullable();
const password = z.string().min(10, 'at least 10 characters').max(128, 'at most 128 characters');
const token = z.string().min(1).max(2000);
const language = z.enum(['en', 'de']);
export const MAIL_STATES = ['waiting', 'claimed', 'handing-over', 'sent', 'refused', 'bounced', 'kept', 'unsure'] as const;
export type MailState = (typeof MAIL_STATES)[number];

export const member = z
  .object({
    id,
    name: z.string(),
    roles: z.array(z.enum(ROLES)),
    /** Null: all sites. */
    siteIds: z.array(id).nullable(),
    endsAt: instant.nullable(),
    hasEnded: z.boolean(),
    /** Absent where the account is gone. */
    email: z.string().optional(),
    hasSecondFactor: z.boolean().optional(),
    /** Devices signed in. */
    sessions: z.number().int().optional(),
    lastAt: instant.nullable().optional(),
  })
  .meta({ id: 'Member' });
export type Member = z.output<typeof member>;

export const invitation = z
  .object({
    id,
    email: z.string(),
    name: z.string(),
    roles: z.array(z.enum(ROLES)),
    siteIds: z.array(id).nullable(),
    endsAt: instant.nullable(),
    invitedAt: instant,
    runsOutAt: instant,
    hasRunOut: z.boolean(),
    mail: z.object({ state: z.enum(MAIL_STATES), answer: z.string().nullable() }).nullable(),
  })
  .meta({ id: 'Invitation' });

export const serviceKey = z
  .object({
    id,
    name: z.string(),
    scopes: z.array(z.enum(KEY_SCOPES)),
    siteIds: z.array(id).nullable(),
    madeAt: instant,
    endsAt: instant.nullable(),
    hasEnded: z.boolean(),
    lastUsedAt: instant.nullable(),
  })
  .meta({ id: 'ServiceKey' });

export const listMembers = defineEndpoint({
  name: 'listMembers',
  summary: 'Everybody who belongs or belonged here, open invitations and service keys.',
  method: 'GET',
  path: '/api/members',
  access: 'administer',
  status: 200,
  response: z.object({ members: z.array(member), invitations: z.array(invitation), keys: z.array(serviceKey) }),
});

export const changeMember = defineEndpoint({
  name: 'changeMember',
  summary: 'Change name, roles, sites or end of a member. The last administrator stays.',
  method: 'PATCH',
  path: '/api/members/:personId',
  access: 'administer',
  params: z.object({ personId: id }),
  body: z.strictObject({
    name: words(200).optional(),
    roles: roles.optional(),
    siteIds: siteIds.optional(),
    endsAt: instant.nullable().optional(),
  }),
  status: 204,
  response: empty,
});

export const endMember = defineEndpoint({
  name: 'endMember',
  summary: 'End a membership now. Names stay on what was written; what a device still holds can be handed over for 14 days.',
  method: 'POST',
  path: '/api/members/:personId/end',
  access: 'administer',
  params: z.object({ personId: id }),
  status: 200,
  response: z.object({ endedAt: instant }),
});

export const endMemberSessions = defineEndpoint({
  name: 'endMemberSessions',
  summary: 'Sign a member out of every device.',
  method: 'POST',
  path: '/api/members/:personId/end-sessions',
  access: 'administer',
  params: z.object({ personId: id }),
  status: 200,
  response: z.object({ ended: z.number().int() }),
});

export const liftSecondFactor = defineEndpoint({
  name: 'liftSecondFactor',
  summary: 'Take a lost second factor off a member who belongs to this organisation alone.',
  method: 'POST',
  path: '/api/members/:personId/lift-second-factor',
  access: 'administer',
  params: z.object({ personId: id }),
  status: 204,
  response: empty,
});

export const invite = defineEndpoint({
  name: 'invite',
  summary: 'Invite somebody by e-mail. The link comes back once, for handing over by oneself.',
  method: 'POST',
  path: '/api/invitations',
  access: 'administer',
  body: z.strictObject({
    id: id.optional(),
    email: z.email().max(200),
    name: words(200),
    roles,
    siteIds: siteIds.default(null),
    endsAt: instant.nullable().default(null),
    language: language.default('en'),
  }),
  status: 201,
  response: z.object({ id, link: z.string() }),
});

export const withdrawInvitation = defineEndpoint({
  name: 'withdrawInvitation',
  summary: 'Take an open invitation back; its link opens nothing any more.',
  method: 'POST',
  path: '/api/invitations/:invitationId/withdraw',
  access: 'administer',
  params: z.object({ invitationId: id }),
  status: 204,
  response: empty,
});

export const lookAtInvitation = defineEndpoint({
  name: 'lookAtInvitation',
  summary: 'What the link of an invitation says.',
  method: 'POST',
  path: '/api/invitation',
  access: 'public',
  body: z.strictObject({ token }),
  status: 200,
  response: z.object({
    organisation: z.string(),
    email: z.string(),
    name: z.string(),
    roles: z.array(z.enum(ROLES)),
    hasAccount: z.boolean(),
    isAccepted: z.boolean(),
  }),
});

export const acceptInvitation = defineEndpoint({
  name: 'acceptInvitation',
  summary: 'Take up an invitation: with a new password, or signed in with the account of that address.',
  method: 'POST',
  path: '/api/invitation/accept',
  access: 'public',
  body: z.strictObject({ token, password: password.optional() }),
  status: 200,
  response: z.object({ email: z.string(), organisationId: id }),
});

export const forgotPassword = defineEndpoint({
  name: 'forgotPassword',
  summary: 'Ask for a link to set a new password. The answer is the same whether the address is known or not.',
  method: 'POST',
  path: '/api/password/forgotten',
  access: 'public',
  body: z.strictObject({ email: z.email().max(200) }),
  status: 204,
  response: empty,
});

export const renewPassword = defineEndpoint({
  name: 'renewPassword',
  summary: 'Set a new password with the link that was mailed; once, within the hour. Every session ends.',
  method: 'POST',
  path: '/api/password/renew',
  access: 'public',
  body: z.strictObject({ token, password }),
  status: 200,
  response: z.object({ email: z.string() }),
});

export const changePassword = defineEndpoint({
  name: 'changePassword',
  summary: 'Change one’s own password; every other session ends.',
  method: 'POST',
  path: '/api/me/password',
  access: 'signed-in',
  body: z.strictObject({ present: z.string().min(1).max(200), next: password }),
  status: 204,
  response: empty,
});

export const mySessions = defineEndpoint({
  name: 'mySessions',
  summary: 'The devices one is signed in on, and whether a second factor is set up.',
  method: 'GET',
  path: '/api/me/sessions',
  access: 'signed-in',
  status: 200,
  response: z.object({
    hasSecondFactor: z.boolean(),
    sessions: z.array(
      z.object({ key: z.string(), since: instant, lastAt: instant, device: z.string().nullable(), isThis: z.boolean() }),
    ),
  }),
});

export const endMySession = defineEndpoint({
  name: 'endMySession',
  summary: 'Sign one of one’s own devices out.',
  method: 'POST',
  path: '/api/me/sessions/end',
  access: 'signed-in',
  body: z.strictObject({ key: z.string().min(1).max(100) }),
  status: 204,
  response: empty,
});

export const beginSecondFactor = defineEndpoint({
  name: 'beginSecondFactor',
  summary: 'Begin a second factor (TOTP, RFC 6238). It counts once a first code was confirmed. The spare codes are shown once.',
  method: 'POST',
  path: '/api/me/second-factor',
  access: 'signed-in',
  body: z.strictObject({ password: z.string().min(1).max(200) }),
  status: 200,
  response: z.object({ uri: z.string(), secret: z.string(), spareCodes: z.array(z.string()) }),
});

const code = z.string().trim().min(6).max(20);

export const confirmSecondFactor = defineEndpoint({
  name: 'confirmSecondFactor',
  summary: 'Confirm the second factor with a first code.',
  method: 'POST',
  path: '/api/me/second-factor/confirm',
  access: 'signed-in',
  body: z.strictObject({ code }),
  status: 204,
  response: empty,
});

export const endSecondFactor = defineEndpoint({
  name: 'endSecondFactor',
  summary: 'Do without a second factor again.',
  method: 'POST',
  path: '/api/me/second-factor/end',
  access: 'signed-in',
  body: z.strictObject({ password: z.string().min(1).max(200) }),
  status: 204,
  response: empty,
});

export const signInSecond = defineEndpoint({
  name: 'signInSecond',
  summary: 'The second step of signing in: the code, or one of the spare codes, with the cookie of the first step.',
  method: 'POST',
  path: '/api/sign-in/second',
  access: 'public',
  body: z.strictObject({ code }),
  status: 200,
  response: me,
});

export const makeKey = defineEndpoint({
  name: 'makeKey',
  summary: 'A key for a program, sent as Authorization: Bearer. It is told once.',
  method: 'POST',
  path: '/api/service-keys',
  access: 'administer',
  body: z.strictObject({
    id: id.optional(),
    name: words(200),
    scopes: z.array(z.enum(KEY_SCOPES)).min(1),
    siteIds: siteIds.default(null),
    endsAt: instant,
  }),
  status: 201,
  response: z.object({ id, key: z.string() }),
});

export const withdrawKey = defineEndpoint({
  name: 'withdrawKey',
  summary: 'A key opens nothing from now on.',
  method: 'POST',
  path: '/api/service-keys/:keyId/withdraw',
  access: 'administer',
  params: z.object({ keyId: id }),
  status: 204,
  response: empty,
});
