import type { FastifyInstance } from 'fastify';

/**
 * Scripts and styles come as files of our own, never inside a page; nothing else is loaded, framed or sent anywhere. What the client
 * sets on an element through its style object is no inline style.
 */
const POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self' data: blob:",
  "connect-src 'self'",
  "manifest-src 'self'",
  "worker-src 'self'",
  "form-action 'self'",
  "frame-ancestors 'none'",
  "base-uri 'none'",
].join('; ');

/** What a browser is told about every answer. */
export function securityHeaders(app: FastifyInstance, { isSecure }: { isSecure: boolean }): void {
  app.addHook('onSend', async (request, reply) => {
    void reply.headers({
      'x-request-id': request.id,
      'x-content-type-options': 'nosniff',
      'referrer-policy': 'same-origin',
      'cross-origin-opener-policy': 'same-origin',
      'cross-origin-resource-policy': 'same-origin',
      'content-security-policy': POLICY,
      ...(isSecure ? { 'strict-transport-security': 'max-age=31536000' } : {}),
    });
    if (request.url.startsWith('/api/')) void reply.header('cache-control', 'no-store');
  });
}
