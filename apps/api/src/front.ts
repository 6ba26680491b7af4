/**
 * The front of an installation whose parts run as processes of their own: the files of the client, and the way to the API behind it.
 * It keeps nothing, knows nobody and looks into no body, so that any number of it may stand side by side.
 */
import { Agent, request as ask, type IncomingHttpHeaders, type IncomingMessage } from 'node:http';
import compress from '@fastify/compress';
import { Problem } from '@heatround/domain';
import type { Config } from '@heatround/platform/config';
import type { Logger } from '@heatround/platform/log';
import Fastify, {
  type FastifyBaseLogger,
  type FastifyInstance,
  type FastifyReply,
  type FastifyRequest,
  LogController,
} from 'fastify';
import { clientFiles } from './plugins/client-files.ts';
import { problemJson } from './plugins/problem-json.ts';
import { believing } from './plugins/proxies.ts';
import { requestIdOf } from './plugins/request-id.ts';
import { securityHeaders } from './plugins/security-headers.ts';

export interface FrontParts {
  readonly config: Pick<Config, 'port' | 'host' | 'publicUrl' | 'proxyHops' | 'apiUrl'>;
  readonly log: Logger;
  /** The built client. */
  readonly webFolder: string;
}

/** Belongs to one connection and is not passed on (RFC 9110, 7.6.1). */
const OF_ONE_CONNECTION = [
  'connection',
  'keep-alive',
  'proxy-authenticate',
  'proxy-authorization',
  'proxy-connection',
  'te',
  'trailer',
  'transfer-encoding',
  'upgrade',
];
/** Without a word from the API for so long, the front stops waiting. */
const PATIENCE_MS = 120_000;

/** Starts listening. */
export async function startFront({ config, log, webFolder }: FrontParts): Promise<{ url: string; close(): Promise<void> }> {
  const app = Fastify({
    loggerInstance: log as unknown as FastifyBaseLogger,
    logController: new LogController({ disableRequestLogging: true }),
    trustProxy: believing(config.proxyHops),
    genReqId: requestIdOf,
  }) as unknown as FastifyInstance;
  problemJson(app);
  securityHeaders(app, { isSecure: config.publicUrl.startsWith('https:') });
  const agent = new Agent({ keepAlive: true });
  const forward = forwardTo(new URL(config.apiUrl), agent, log);

  await app.register(async (api) => {
    // Bodies pass through as they come; how much is too much is for the API to say.
    api.removeAllContentTypeParsers();
    api.addContentTypeParser('*', (_request, payload, done) => done(null, payload));
    api.all('/api/*', forward);
    // What a mail program sends when its reader stops the letters (RFC 8058).
    api.post('/unsubscribe/*', forward);
    api.get('/readyz', forward);
  });
  app.get('/healthz', async () => ({ status: 'alive' }));
  await app.register(async (client) => {
    // Only here: answers of the API come compressed already.
    await client.register(compress, { threshold: 2048 });
    await clientFiles(client, webFolder);
  });
  await app.listen({ port: config.port, host: config.host });
  return {
    url: app.listeningOrigin,
    close: async () => {
      await app.close();
      agent.destroy();
    },
  };
}

function forwardTo(api: URL, agent: Agent, log: Logger) {
  return (request: FastifyRequest, reply: FastifyReply): Promise<FastifyReply> =>
    new Promise((done, refuse) => {
      const onward = ask({
        host: api.hostname,
        port: api.port || 80,
        method: request.method,
        // The path alone: an address in it leads nowhere else.
        path: request.raw.url ?? '/',
        headers: {
          ...passedOn(request.headers),
          // One address, the one we believe: what a caller claims about itself ends here.
          'x-forwarded-for': request.ip,
          'x-request-id': request.id,
        },
        agent,
        timeout: PATIENCE_MS,
      });
      const failed = (error: Error): void => {
        log.warn({ reason: error.message, requestId: request.id }, 'the API did not answer');
        // What was sent may have arrived: the caller sends it again, which is safe everywhere.
        refuse(new Problem('unavailable', 'The service does not answer right now; what you sent can be sent again.'));
      };
      onward.once('timeout', () => onward.destroy(new Error(`no answer within ${PATIENCE_MS} ms`)));
      onward.once('error', failed);
      onward.once('response', (answer: IncomingMessage) => {
        done(
          reply
            .status(answer.statusCode ?? 502)
            .headers(passedOn(answer.headers))
            .send(answer),
        );
      });
      reply.raw.once('close', () => {
        if (!reply.raw.writableFinished) onward.destroy();
      });
      const { body } = request;
      if (body && typeof (body as IncomingMessage).pipe === 'function') (body as IncomingMessage).pipe(onward);
      else onward.end();
    });
}

function passedOn(headers: IncomingHttpHeaders): IncomingHttpHeaders {
  const named = String(headers.connection ?? '')
    .toLowerCase()
    .split(',')
    .map((name) => name.trim());
  return Object.fromEntries(
    Object.entries(headers).filter(([name]) => !OF_ONE_CONNECTION.includes(name) && !named.includes(name)),
  );
}
