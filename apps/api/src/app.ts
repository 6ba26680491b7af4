/**
 * The one way to make a server, for main and for tests: plug-ins, every described endpoint, health, the API document, the web client.
 */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import compress from '@fastify/compress';
import rateLimit from '@fastify/rate-limit';
import swagger from '@fastify/swagger';
import { ORGANISATION_HEADER } from '@heatround/contract';
import { PROBLEM_CODES } from '@heatround/domain';
import type { Logger } from '@heatround/platform/log';
import Fastify, { type FastifyBaseLogger, type FastifyInstance, LogController } from 'fastify';
import {
  createJsonSchemaTransform,
  createJsonSchemaTransformObject,
  serializerCompiler,
  validatorCompiler,
} from 'fastify-type-provider-zod';
import * as z from 'zod';
import type { ApiDeps } from './endpoint.ts';
import { carryEndpoints } from './endpoints/carry.endpoints.ts';
import { exportsEndpoints } from './endpoints/exports.endpoints.ts';
import { handOverEndpoints } from './endpoints/hand-over.endpoints.ts';
import { identityEndpoints } from './endpoints/identity.endpoints.ts';
import { importsEndpoints } from './endpoints/imports.endpoints.ts';
import { mailEndpoints } from './endpoints/mail.endpoints.ts';
import { readingsEndpoints } from './endpoints/readings.endpoints.ts';
import { registerEndpoints } from './endpoints/register.endpoints.ts';
import { repairsEndpoints } from './endpoints/repairs.endpoints.ts';
import { roundsEndpoints } from './endpoints/rounds.endpoints.ts';
import { clientFiles } from './plugins/client-files.ts';
import { serveMetrics } from './plugins/metrics.ts';
import { ownOriginOnly } from './plugins/own-origin.ts';
import { HTTP, problemJson, sendNotFound } from './plugins/problem-json.ts';
import { believing } from './plugins/proxies.ts';
import { requestIdOf } from './plugins/request-id.ts';
import { securityHeaders } from './plugins/security-headers.ts';
import { serveReference } from './reference/index.ts';

export interface AppOptions {
  readonly deps: ApiDeps;
  /** Answers when the queue and the migrations are as they should be; refuses with an error otherwise. */
  readonly ready: { readonly queue: () => Promise<void>; readonly migrations: () => Promise<void> };
  /** Folder of the built web client; absent in tests that do not look at it. */
  readonly webFolder?: string;
  /** How many proxies stand in front. */
  readonly proxyHops?: number;
  /** The address people type; what comes from another page changes nothing. */
  readonly publicUrl?: string;
  /** Who shows it may read the figures. */
  readonly metricsToken?: string | undefined;
  /** Requests per minute and address; a test of many requests sets it higher. */
  readonly requestsPerMinute?: number;
  /** Per address, whoever signs in; failed tries are counted by e-mail as well. */
  readonly signInsPerMinute?: number;
  /** Per address, whoever hands over. */
  readonly handOversPerMinute?: number;
}

export async function buildApp({
  deps,
  ready,
  webFolder,
  proxyHops = 0,
  publicUrl,
  metricsToken,
  requestsPerMinute = 3000,
  signInsPerMinute = 300,
  handOversPerMinute = 120,
}: AppOptions): Promise<FastifyInstance> {
  const app = Fastify({
    loggerInstance: deps.log as Logger as unknown as FastifyBaseLogger,
    logController: new LogController({ disableRequestLogging: true }),
    trustProxy: believing(proxyHops),
    bodyLimit: 256 * 1024,
    genReqId: requestIdOf,
  }) as unknown as FastifyInstance;
  app.setValidatorCompiler(validatorCompiler);
  app.setSerializerCompiler(serializerCompiler);
  problemJson(app);

  await app.register(rateLimit, {
    max: requestsPerMinute,
    timeWindow: '1 minute',
    errorResponseBuilder: (_request, context) =>
      Object.assign(new Error(`Too many requests from this address; go on in ${context.after}.`), { statusCode: 429 }),
  });
  await app.register(compress, { threshold: 2048 });
  await app.register(swagger, {
    openapi: {
      openapi: '3.1.0',
      info: { title: 'Heatround', version: '1', description: describeProblems() },
      components: { securitySchemes: { session: { type: 'apiKey', in: 'cookie', name: 'heatround.session_token' } } },
      security: [{ session: [] }],
    },
    transform: createJsonSchemaTransform({ skipList: ['/api/openapi.json'], zodToJsonConfig: { unrepresentable: 'any' } }),
    transformObject: createJsonSchemaTransformObject({ zodToJsonConfig: { unrepresentable: 'any' } }),
  });
  // Each call stands in the area under which it was registered.
  let area = '';
  app.addHook('onRoute', ({ schema }) => {
    if (schema) schema.tags ??= [area];
  });
  securityHeaders(app, { isSecure: publicUrl?.startsWith('https:') === true });
  ownOriginOnly(app, publicUrl);
  if (deps.metrics) serveMetrics(app, deps.metrics, metricsToken);
  app.addHook('onResponse', async (request, reply) => {
    const { organisationId } = (request.log as unknown as { bindings?: () => { organisationId?: string } }).bindings?.() ?? {};
    request.log.debug(
      {
        method: request.method,
        url: request.routeOptions.url,
        status: reply.statusCode,
        organisationId,
        durationMs: Math.round(reply.elapsedTime),
      },
      'request',
    );
  });

  area = 'Is it alive';
  app.get(
    '/healthz',
    { schema: { summary: 'Alive.', security: [], response: { 200: z.object({ status: z.literal('alive') }) } } },
    async () => ({
      status: 'alive' as const,
    }),
  );
  const part = z.enum(['ok', 'not-ready']);
  const readiness = z.object({ database: part, queue: part, migrations: part });
  app.get(
    '/readyz',
    {
      schema: {
        summary: 'Ready to serve: database, queue, migrations.',
        security: [],
        response: { 200: readiness, 503: readiness },
      },
    },
    async (_request, reply) => {
      const check = (work: () => Promise<unknown>) =>
        work().then(
          () => 'ok' as const,
          () => 'not-ready' as const,
        );
      const [database, queue, migrations] = await Promise.all([
        check(() => deps.database.ping()),
        check(ready.queue),
        check(ready.migrations),
      ]);
      const state = { database, queue, migrations };
      return reply.status(Object.values(state).every((one) => one === 'ok') ? 200 : 503).send(state);
    },
  );
  area = 'Signing in';
  identityEndpoints(app, deps, signInsPerMinute);
  area = 'Register and limits';
  registerEndpoints(app, deps);
  area = 'Readings and forecasts';
  readingsEndpoints(app, deps);
  area = 'Handed over without access';
  handOverEndpoints(app, deps, handOversPerMinute);
  area = 'Rounds';
  roundsEndpoints(app, deps);
  area = 'Findings and orders';
  repairsEndpoints(app, deps);
  area = 'Bring in';
  importsEndpoints(app, deps);
  area = 'Take out';
  exportsEndpoints(app, deps);
  area = 'Letters';
  mailEndpoints(app, deps);
  area = 'What we carry';
  carryEndpoints(app, deps);
  app.get('/api/openapi.json', { schema: { hide: true } }, async () => app.swagger());
  serveReference(app);

  if (webFolder && existsSync(join(webFolder, 'index.html'))) await clientFiles(app, webFolder);
  else app.setNotFoundHandler(sendNotFound);
  return app;
}

function describeProblems(): string {
  const codes = PROBLEM_CODES.map(
    (code) => `* \`/problems/${code}\` (${HTTP[code].status}): ${HTTP[code].title}. ${HTTP[code].remedy}`,
  );
  return [
    `Every call about an organisation names it in the \`${ORGANISATION_HEADER}\` header, unless the person belongs to just one.`,
    'Errors are RFC 9457 problem documents (`application/problem+json`). Missing and foreign things look alike (404).',
    ...codes,
  ].join('\n');
}
