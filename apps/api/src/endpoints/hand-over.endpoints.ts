import { endpoints } from '@heatround/contract';
import { Problem } from '@heatround/domain';
import { acceptHandedOver, countHandedOver, holdFacts, listHandedOver, turnAwayHandedOver } from '@heatround/services/hand-over';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, serve } from '../endpoint.ts';
import { idOf, notAsExpected, readFact } from '../sent-fact.ts';

export function handOverEndpoints(app: FastifyInstance, deps: ApiDeps, handOversPerMinute: number): void {
  const { accounts, clock } = deps;
  serve(
    app,
    deps,
    endpoints.handOver,
    async ({ body, request }) => {
      const claims = await accounts.handOver.read(body.token, clock.now());
      if (claims === 'run-out')
        throw new Problem(
          'not-signed-in',
          'More than 14 days have passed since the last contact, so this can only be sent signed in. What you entered stays on your device.',
        );
      if (claims === 'foreign')
        throw new Problem('not-signed-in', 'This cannot be handed over. Sign in; what you entered stays on your device.');
      request.log = request.log.child({ organisationId: claims.organisationId });
      const read = body.facts.map(readFact);
      const good = read.flatMap((one) => ('fact' in one ? [one.fact] : []));
      const { receivedAt, results } = await holdFacts(deps, claims, await accounts.endOfSession(claims.sessionKey), good);
      const held = results.values();
      return {
        receivedAt: new Date(receivedAt),
        results: read.map((one, position) => {
          const outcome = 'fact' in one ? held.next().value! : 'refused';
          const errors = 'fact' in one ? [] : one.errors;
          const id = 'fact' in one ? one.fact.id : idOf(body.facts[position]);
          return { id, outcome, problem: outcome === 'refused' ? notAsExpected(errors) : null };
        }),
      };
    },
    {
      bodyLimit: 2 * 1024 * 1024,
      rateLimit: { max: handOversPerMinute, timeWindow: '1 minute' },
      ownTextCheck: ['facts'],
    },
  );

  serve(app, deps, endpoints.listHandedOver, ({ scope, query }) => listHandedOver(deps, scope, query));
  serve(app, deps, endpoints.countHandedOver, ({ scope }) => countHandedOver(deps, scope));
  serve(app, deps, endpoints.acceptHandedOver, async ({ scope, body }) => ({
    results: await acceptHandedOver(deps, scope, body.ids, body.evenTurnedAway),
  }));
  serve(app, deps, endpoints.turnAwayHandedOver, async ({ scope, body }) => ({
    results: await turnAwayHandedOver(deps, scope, body.ids, body.reason),
  }));
}
