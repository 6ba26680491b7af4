import { endpoints } from '@heatround/contract';
import { may, Problem } from '@heatround/domain';
import type { SignedInAccount } from '@heatround/platform/accounts';
import { membershipsOf } from '@heatround/services/identity';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, headersOf, serve } from '../endpoint.ts';
import { beginTry } from '../plugins/failed-tries.ts';
import { peopleEndpoints } from './people.endpoints.ts';

export function identityEndpoints(app: FastifyInstance, deps: ApiDeps, signInsPerMinute: number): void {
  /** Who somebody is; every such answer is a contact, from which on the device may hand over for another 14 days. */
  const describe = async ({ sessionKey, ...account }: SignedInAccount) => {
    const contactAt = deps.clock.now();
    const memberships = await membershipsOf(deps, account.personId);
    const handOver = memberships
      .filter(({ roles }) => may(roles, 'submit-facts'))
      .map(async ({ organisationId, roles }) => ({
        organisationId,
        ...(await deps.accounts.handOver.make({ organisationId, personId: account.personId, sessionKey, roles, contactAt })),
      }));
    return { ...account, serverAt: new Date(contactAt), memberships, handOver: await Promise.all(handOver) };
  };

  serve(
    app,
    deps,
    endpoints.signIn,
    async ({ body, request, reply }) => {
      const attempt = await beginTry(deps, request.ip, body.email);
      const signedIn = await deps.accounts.signIn(body.email, body.password, headersOf(request));
      if (!signedIn) throw new Problem('wrong-sign-in', 'E-mail or password is wrong.');
      // With a second factor only the code ends the count: else each right password would give new guesses of it.
      if (signedIn.account !== null) await attempt.succeeded();
      for (const cookie of signedIn.cookies) void reply.header('set-cookie', cookie);
      return signedIn.account === null ? { needsCode: true as const } : describe(signedIn.account);
    },
    { rateLimit: { max: signInsPerMinute, timeWindow: '1 minute' } },
  );

  serve(app, deps, endpoints.signOut, async ({ request, reply }) => {
    for (const cookie of await deps.accounts.signOut(headersOf(request))) void reply.header('set-cookie', cookie);
    return null;
  });

  serve(app, deps, endpoints.whoAmI, async ({ account }) => describe(account));

  peopleEndpoints(app, deps, describe, signInsPerMinute);
}
