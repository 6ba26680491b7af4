/** A small door of the worker for those who run the service: is it alive, is it ready, what did it measure. It serves nobody else. */
import { createServer, type IncomingMessage, type Server } from 'node:http';
import type { Config } from '@heatround/platform/config';
import type { Jobs } from '@heatround/platform/jobs';
import { METRICS_TYPE, mayReadMetrics } from '@heatround/platform/metrics';
import type { Deps } from '@heatround/services/deps';

export interface DoorParts extends Pick<Deps, 'database' | 'metrics'> {
  readonly config: Pick<Config, 'port' | 'host' | 'metricsToken'>;
  readonly jobs: Jobs;
}

/** Opens it. */
export async function openDoor({ config, database, jobs, metrics }: DoorParts): Promise<{ close(): Promise<void> }> {
  const checks = {
    database: () => database.ping(),
    queue: async () => void (await jobs.counts()),
    migrations: () => database.migrationsAreDone(),
  };
  const mayRead = ({ headers, socket }: IncomingMessage): boolean =>
    mayReadMetrics(config.metricsToken, {
      authorization: headers.authorization,
      address: socket.remoteAddress,
      isForwarded: headers.forwarded !== undefined || headers['x-forwarded-for'] !== undefined,
    });
  const server: Server = createServer((request, reply) => {
    const send = (status: number, body: unknown): void => {
      reply.writeHead(status, { 'content-type': 'application/json', 'cache-control': 'no-store' });
      reply.end(JSON.stringify(body));
    };
    const path = request.url?.split('?')[0];
    if (request.method !== 'GET') send(405, { status: 'only GET' });
    else if (path === '/healthz') send(200, { status: 'alive' });
    else if (path === '/readyz') void readiness(checks).then((state) => send(isReady(state) ? 200 : 503, state));
    else if (path === '/metrics' && metrics && mayRead(request))
      void metrics.text().then((text) => reply.writeHead(200, { 'content-type': METRICS_TYPE }).end(text));
    else send(404, { status: 'nothing here' });
  });
  await new Promise<void>((done, refuse) => {
    server.once('error', refuse);
    server.listen({ port: config.port, host: config.host }, done);
  });
  return {
    close: () =>
      new Promise((done) => {
        server.close(() => done());
        server.closeAllConnections();
      }),
  };
}

type State = Record<string, 'ok' | 'not-ready'>;
const isReady = (state: State): boolean => Object.values(state).every((one) => one === 'ok');

async function readiness(checks: Record<string, () => Promise<void>>): Promise<State> {
  const asked = Object.entries(checks).map(async ([name, check]) => {
    const state = await check().then(
      () => 'ok' as const,
      () => 'not-ready' as const,
    );
    return [name, state] as const;
  });
  return Object.fromEntries(await Promise.all(asked));
}
