import type { IncomingHttpHeaders } from 'node:http';

/** The id under which a request stands in every log: the caller's own when it is harmless, else a new one. */
export function requestIdOf({ headers }: { headers: IncomingHttpHeaders }): string {
  const sent = headers['x-request-id'];
  return typeof sent === 'string' && /^[\w-]{8,64}$/.test(sent) ? sent : `req-${crypto.randomUUID().slice(0, 13)}`;
}
