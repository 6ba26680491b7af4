/**
 * `npm run bench`: how fast, as ratios against a raw twin in the same run, on the same database, with the same rows. A ratio of 0.5
 * means: half as fast as the twin. Times are shown beside them and say more about the machine than about the service.
 * `npm run bench -- scale [million] [explain]`: lists at 10,000 and 100,000 points (and a million), with their query plans, and the
 * queue of repairs at 1,000 and 100,000 open orders.
 * `npm run bench -- orders [explain]`: the lists of repairs alone.
 * `npm run bench -- imports [readings]`: 5,000 assets and a history of so many readings (500,000) brought in from files.
 * `npm run bench -- fleet [points]`: so many points (2,000) of 260 readings each concluded anew through the worker.
 */
import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { startEmbeddedPostgres } from '../../packages/platform/src/database/embedded.ts';
import { prepareDatabase } from '../../packages/platform/src/database/migrate.ts';
import { silentLog } from '../../packages/platform/src/log/index.ts';
import { fleetBench } from './fleet.bench.ts';
import { importsBench } from './imports.bench.ts';
import { ordersBench } from './orders.bench.ts';
import { projectionBench, toolsBench } from './projection.bench.ts';
import { roundsBench } from './rounds.bench.ts';
import { submissionBench } from './submission.bench.ts';

export interface Line {
  readonly what: string;
  readonly ours: string;
  readonly twin: string;
  readonly ratio: string;
}

/** Numbers of points, each ten times the one before. */
const SIZES = [10_000, 100_000, 1_000_000];
const explain = process.argv.includes('explain');
const secret = 'a secret for benchmarks, of enough length';
const folder = await mkdtemp(join(tmpdir(), 'heatround-bench-'));
await chmod(folder, 0o711);
const server = await startEmbeddedPostgres({ dataFolder: join(folder, 'data'), log: silentLog });
try {
  const migrationsFolder = resolve(import.meta.dirname, '../../prisma/migrations');
  const { urls } = await prepareDatabase({ ownerUrl: server.ownerUrl, migrationsFolder, secret });
  const lines: Line[] =
    process.argv[2] === 'fleet'
      ? await fleetBench(urls, Number(process.argv[3] ?? 2000))
      : process.argv[2] === 'imports'
        ? await importsBench(urls, Number(process.argv[3] ?? 500_000))
        : process.argv[2] === 'scale'
          ? [
              ...(await roundsBench(urls, SIZES.slice(0, process.argv.includes('million') ? 3 : 2), explain)),
              ...(await ordersBench(urls, secret, explain)),
            ]
          : process.argv[2] === 'orders'
            ? await ordersBench(urls, secret, explain)
            : [...(await projectionBench()), ...(await toolsBench()), ...(await submissionBench(urls, secret))];
  console.table(lines);
} finally {
  await server.stop();
  await rm(folder, { recursive: true, force: true });
}
