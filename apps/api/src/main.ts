/** The API as a running part: listens, and closes by letting requests under way finish. */
import type { Config } from '@heatround/platform/config';
import type { Jobs } from '@heatround/platform/jobs';
import { buildApp } from './app.ts';
import type { ApiDeps } from './endpoint.ts';

export interface ApiParts extends ApiDeps {
  readonly config: Pick<Config, 'port' | 'host'>;
  readonly jobs: Jobs;
  readonly webFolder: string | null;
}

/** Starts listening. Migrations were applied before this is called; readiness asks the queue and the database again each time. */
export async function startApi({ config, jobs, webFolder, ...deps }: ApiParts): Promise<{ url: string; close(): Promise<void> }> {
  const ready = { queue: async () => void (await jobs.counts()), migrations: () => deps.database.migrationsAreDone() };
  const app = await buildApp({ deps, ready, ...(webFolder ? { webFolder } : {}) });
  await app.listen({ port: config.port, host: config.host });
  return { url: app.listeningOrigin, close: () => app.close() };
}
