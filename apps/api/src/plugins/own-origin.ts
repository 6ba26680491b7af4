import { Problem } from '@heatround/domain';
import type { FastifyInstance, FastifyRequest } from 'fastify';

const HARMLESS = ['GET', 'HEAD', 'OPTIONS'];

/**
 * Nothing is changed by a page of somebody else's: a browser says where a request comes from, and then it must be from here. Programs
 * that are no browser say nothing and carry no cookie but their own.
 */
export function ownOriginOnly(app: FastifyInstance, publicUrl: string | undefined): void {
  const own = publicUrl === undefined ? null : new URL(publicUrl).origin;
  app.addHook('onRequest', async (request) => {
    if (HARMLESS.includes(request.method) || isOwn(request, own)) return;
    throw new Problem('foreign-origin', 'This request comes from a page that is not part of this service; nothing was changed.');
  });
}

function isOwn({ headers }: FastifyRequest, own: string | null): boolean {
  const { origin, host, 'sec-fetch-site': site } = headers;
  // The browser's own word, which no page can write; left out where the connection is not secure.
  if (site !== undefined) return site === 'same-origin' || site === 'none';
  if (origin === undefined) return true;
  if (origin === own) return true;
  // Reached under another name, in the network of a plant for instance: then page and call have that name in common.
  return URL.canParse(origin) && host !== undefined && new URL(origin).host === host.toLowerCase();
}
