import { ROLES } from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, empty, id, instant } from './endpoint.ts';

export const membership = z
  .object({
    organisationId: id,
    organisationName: z.string(),
    /** The person's name in this organisation. */
    name: z.string(),
    roles: z.array(z.enum(ROLES)),
    /** Null: all sites. */
    siteIds: z.array(id).nullable(),
    endsAt: instant.nullable(),
    isDemo: z.boolean(),
    /** The organisation's clock, milliseconds beside the real one. */
    clockOffsetMs: z.number(),
  })
  .meta({ id: 'Membership' });

export const me = z
  .object({
    personId: id,
    name: z.string(),
    email: z.string(),
    /** The server's clock, for the offset of a device. */
    serverAt: instant,
    memberships: z.array(membership),
    /**
     * One per organisation in which the person hands in facts: with it the device may hand over what it still holds when access has
     * ended, good for 14 days after this contact. It opens nothing else.
     */
    handOver: z.array(z.object({ organisationId: id, token: z.string(), until: instant })),
  })
  .meta({ id: 'Me' });
export type Me = z.output<typeof me>;
export type Membership = z.output<typeof membership>;

export const signIn = defineEndpoint({
  name: 'signIn',
  summary: 'Sign in with e-mail and password; sets the session cookie, or asks for the code of the second factor.',
  method: 'POST',
  path: '/api/sign-in',
  access: 'public',
  body: z.strictObject({ email: z.email().max(200), password: z.string().min(1).max(200) }),
  status: 200,
  response: z.union([me, z.object({ needsCode: z.literal(true) })]),
});

export const signOut = defineEndpoint({
  name: 'signOut',
  summary: 'End this session. Signing out twice changes nothing.',
  method: 'POST',
  path: '/api/sign-out',
  access: 'public',
  status: 204,
  response: empty,
});

export const whoAmI = defineEndpoint({
  name: 'whoAmI',
  summary: 'The signed-in person, the organisations and roles, and the clock of the server.',
  method: 'GET',
  path: '/api/me',
  access: 'signed-in',
  status: 200,
  response: me,
});
