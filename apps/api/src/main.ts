/** The API as a running part: listens, and closes by letting requests under way finish. */
import type { Config } from '@heatround/platform/config';
import type { Jobs } from '@heatround/platform/jobs';
import { oldestDueSeconds } from '@heatround/services/trends';
import { buildApp } from './app.ts';
import type { ApiDeps } from './endpoint.ts';

export interface ApiParts extends ApiDeps {
  readonly config: Pick<Config, 'port' | 'host' | 'publicUrl' | 'proxyHops' | 'metricsToken'>;
  readonly jobs: Jobs;
  readonly webFolder: string | null;
}

/** Starts listening. Migrations were applied before this is called; readiness asks the queue and the database again each time. */
export async function startApi({ config, jobs, webFolder, ...deps }: ApiParts): Promise<{ url: string; close(): Promise<void> }> {
  const ready = { queue: async () => void (await jobs.counts()), migrations: () => deps.database.migrationsAreDone() };
  askQueueAndLag(deps, jobs);
  const { publicUrl, proxyHops, metricsToken } = config;
  const app = await buildApp({
    deps: { ...deps, jobs },
    ready,
    publicUrl,
    proxyHops,
    metricsToken,
    ...(webFolder ? { webFolder } : {}),
  });
  await app.listen({ port: config.port, host: config.host });
  return { url: app.listeningOrigin, close: () => app.close() };
}

/** Figures of the whole installation: every API process tells the same. */
function askQueueAndLag({ database, metrics }: ApiDeps, jobs: Jobs): void {
  metrics?.ask(
    'heatround_queue_age_seconds',
    'For how long the oldest job has been waiting to be taken.',
    async () => (await jobs.oldestWaitingMs()) / 1000,
  );
  metrics?.ask('heatround_worker_lag_seconds', 'For how long the oldest changed point has been waiting for its conclusion.', () =>
    oldestDueSeconds({ database }),
  );
}
