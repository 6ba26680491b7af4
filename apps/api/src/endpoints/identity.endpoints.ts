import { endpoints } from '@heatround/contract';
import { Problem } from '@heatround/domain';
import type { Account } from '@heatround/platform/accounts';
import { membershipsOf } from '@heatround/services/identity';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, headersOf, serve } from '../endpoint.ts';
import { countFailedTries } from '../plugins/failed-tries.ts';

export function identityEndpoints(app: FastifyInstance, deps: ApiDeps, signInsPerMinute: number): void {
  const describe = async (account: Account) => ({
    ...account,
    serverAt: new Date(deps.clock.now()),
    memberships: await membershipsOf(deps, account.personId),
  });

  const failedTries = countFailedTries(deps.clock);
  serve(
    app,
    deps,
    endpoints.signIn,
    async ({ body, request, reply }) => {
      const attempt = failedTries.begin(request.ip, body.email);
      const signedIn = await deps.accounts.signIn(body.email, body.password, headersOf(request));
      if (!signedIn) throw new Problem('wrong-sign-in', 'E-mail or password is wrong.');
      attempt.succeeded();
      for (const cookie of signedIn.cookies) void reply.header('set-cookie', cookie);
      return describe(signedIn.account);
    },
    { rateLimit: { max: signInsPerMinute, timeWindow: '1 minute' } },
  );

  serve(app, deps, endpoints.signOut, async ({ request, reply }) => {
    for (const cookie of await deps.accounts.signOut(headersOf(request))) void reply.header('set-cookie', cookie);
    return null;
  });

  serve(app, deps, endpoints.whoAmI, async ({ account }) => describe(account));
}
