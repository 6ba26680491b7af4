/** The worker: runs jobs and sweeps. It closes in order: no new sweep, then (by the caller) running jobs to their end, queue, database. */
import type { Config } from '@heatround/platform/config';
import type { Jobs } from '@heatround/platform/jobs';
import type { MailContext } from '@heatround/services/mail';
import { JOBS } from '@heatround/services/reactions';
import { startSchedule } from './schedule.ts';

export interface WorkerParts extends MailContext {
  readonly config: Pick<Config, 'workerConcurrency' | 'sweepIntervalSeconds'>;
  readonly jobs: Jobs;
}

export { openDoor } from './door.ts';

/** A worker without a sign of life for so long is taken for dead and its job is run again by another; locks are renewed by half of it. */
const DEAD_AFTER_MS = 10_000;

/** Starts working in this process. */
export async function startWorker({ config, jobs, ...deps }: WorkerParts): Promise<{ close(): Promise<void> }> {
  await jobs.work(JOBS, deps, { concurrency: config.workerConcurrency, lockDurationMs: DEAD_AFTER_MS });
  const stopSweeping = startSchedule(deps, jobs, config.sweepIntervalSeconds);
  return { close: stopSweeping };
}
