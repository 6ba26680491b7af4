import staticFiles from '@fastify/static';
import type { FastifyInstance } from 'fastify';
import { sendNotFound } from './problem-json.ts';

/** Serves the built client; whatever is no file and not below /api/ is one of its screens. */
export async function clientFiles(app: FastifyInstance, webFolder: string): Promise<void> {
  await app.register(staticFiles, {
    root: webFolder,
    setHeaders: (reply, path) => {
      void reply.header('cache-control', /[\\/]assets[\\/]/.test(path) ? 'public, max-age=31536000, immutable' : 'no-cache');
    },
  });
  app.setNotFoundHandler((request, reply) =>
    request.method === 'GET' && !request.url.startsWith('/api/') ? reply.sendFile('index.html') : sendNotFound(request, reply),
  );
}
