import { Problem } from '@heatround/domain';
import { METRICS_TYPE, type Metrics, mayReadMetrics } from '@heatround/platform/metrics';
import type { FastifyInstance } from 'fastify';

/** Counts every answer, and serves the figures to whoever may read them. */
export function serveMetrics(app: FastifyInstance, metrics: Metrics, token: string | undefined): void {
  app.addHook('onResponse', async (request, reply) => {
    // The route as it is written; what was asked for at an address that there is not is nobody's business.
    const route = request.is404 ? 'none' : (request.routeOptions.url ?? 'none');
    metrics.requests.count({ method: request.method, route, status: reply.statusCode });
  });
  app.get('/metrics', { schema: { hide: true } }, async (request, reply) => {
    const { authorization, forwarded, 'x-forwarded-for': forwardedFor } = request.headers;
    const isForwarded = forwarded !== undefined || forwardedFor !== undefined;
    if (!mayReadMetrics(token, { authorization, address: request.socket.remoteAddress, isForwarded }))
      throw new Problem('not-found', 'There is nothing at this address.');
    return reply.type(METRICS_TYPE).send(await metrics.text());
  });
}
