import type { FastifyInstance } from 'fastify';
import { type ApiDocument, referencePage } from './page.ts';
import { REFERENCE_STYLE } from './style.ts';

/** The API reference for people, beside the document for programs. */
export function serveReference(app: FastifyInstance): void {
  // The document does not change while the service runs.
  let page: string | undefined;
  app.get('/api/reference', { schema: { hide: true } }, async (_request, reply) => {
    page ??= referencePage(app.swagger() as ApiDocument);
    return reply.type('text/html; charset=utf-8').send(page);
  });
  app.get('/api/reference.css', { schema: { hide: true } }, async (_request, reply) =>
    reply.type('text/css; charset=utf-8').send(REFERENCE_STYLE),
  );
}
