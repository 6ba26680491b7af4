import type { FastifyInstance } from 'fastify';

/** What a browser is told about every answer. */
export function securityHeaders(app: FastifyInstance): void {
  app.addHook('onSend', async (request, reply) => {
    void reply.headers({
      'x-request-id': request.id,
      'x-content-type-options': 'nosniff',
      'referrer-policy': 'same-origin',
      'content-security-policy':
        "default-src 'self'; img-src 'self' data: blob:; style-src 'self' 'unsafe-inline'; connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'",
    });
    if (request.url.startsWith('/api/')) void reply.header('cache-control', 'no-store');
  });
}
