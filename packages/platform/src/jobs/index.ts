/**
 * Work to be done soon, outside the request: a thin promise over a job queue that lives in PostgreSQL, or in Redis when an address is
 * given. A job is only a hint. PostgreSQL holds what is due, a sweep enqueues again what got lost, and a handler re-reads before it
 * writes; so a job that is lost, doubled, late or out of order changes nothing but the time at which the work is done.
 *
 * What always holds: jobs of one key never run at the same time as one that waits is merged with it; a job enqueued while its like is
 * running runs again afterwards; a job whose worker died is run again by another; a failed job is tried again with growing pauses and
 * the last failure is logged as an error and stays listed.
 */
import {
  createPostgresBackend,
  createRedisBackend,
  type Job,
  type JobsOptions,
  type PostgresConnectionOptions,
  type Queue,
  UnrecoverableError,
  type Worker,
  withBackend,
} from 'bullmq';
import { Redis } from 'ioredis';
import pg from 'pg';
import type * as z from 'zod';
import type { Logger } from '../log/index.ts';

/**
 * One kind of job. `payload` holds ids only, never data that may have changed when the job runs.
 *
 * @typeParam P the payload.
 * @typeParam C what the handler works with: database, clock, log, other jobs.
 */
export interface JobDefinition<P, C = unknown> {
  /** Unique, lower-case with dashes, such as `refit-trend`. */
  name: string;
  payload: z.ZodType<P>;
  /** Jobs of the same kind and key are the same work: one waits for all of them. */
  key(payload: P): string;
  /** The pause before the n-th repetition is `backoffMs · 2ⁿ⁻¹`. */
  retry: { attempts: number; backoffMs: number };
  handle(context: C, payload: P): Promise<void>;
}

/** Declares a kind of job with its types inferred; adds nothing. */
export function defineJob<P, C = unknown>(definition: JobDefinition<P, C>): JobDefinition<P, C> {
  return definition;
}

export interface JobCounts {
  waiting: number;
  active: number;
  /** Waiting for the pause before a repetition. */
  delayed: number;
  /** Given up; kept for a fortnight. */
  failed: number;
}

export interface FailedJob {
  id: string;
  name: string;
  payload: unknown;
  reason: string;
  attempts: number;
  /** Epoch milliseconds. */
  failedAt: number;
}

export interface WorkOptions {
  /** How many jobs are worked at a time; 4 when omitted. */
  concurrency?: number;
  /** After this long without a sign of life a worker counts as dead and its job is run again; 30 s when omitted. */
  lockDurationMs?: number;
}

export interface Jobs {
  /** Asks for work to be done soon. Never fails for want of the queue: a lost hint is logged and found again by the sweep. */
  enqueue<P>(definition: JobDefinition<P, never>, payload: P): Promise<void>;
  /** The same for many, in few round trips. */
  enqueueMany<P>(definition: JobDefinition<P, never>, payloads: readonly P[]): Promise<void>;
  /** Starts working; call once per process with every kind of job. */
  work<C>(definitions: readonly JobDefinition<unknown, C>[], context: C, options?: WorkOptions): Promise<void>;
  counts(): Promise<JobCounts>;
  /** How long the oldest job has been waiting to be taken, milliseconds by the real clock; 0 when none waits. */
  oldestWaitingMs(): Promise<number>;
  /** Jobs that were given up, newest first. */
  failed(limit?: number): Promise<FailedJob[]>;
  /** Stops taking jobs, lets running ones finish (at most 20 s), then lets go of the queue and its connections. */
  close(): Promise<void>;
}

export interface QueueOptions {
  /** Address of the database as the application's user; used when no Redis is given. */
  databaseUrl: string;
  redisUrl?: string | undefined;
  log: Logger;
}

const QUEUE = 'heatround';
const CHUNK = 500;
const ENQUEUE_TIMEOUT_MS = 3_000;
const CLOSE_TIMEOUT_MS = 20_000;
const DAY_SECONDS = 24 * 60 * 60;
const KEPT = { removeOnComplete: { age: DAY_SECONDS, count: 200 }, removeOnFail: { age: 14 * DAY_SECONDS, count: 1000 } };

/** Opens the queue. Its tables must exist (`prepareDatabase`); Redis needs nothing. */
export function openJobs(options: QueueOptions): Jobs {
  const { log } = options;
  const store = options.redisUrl === undefined ? openPostgres(options.databaseUrl, log) : openRedis(options.redisUrl, log);
  const { queue } = store;
  let worker: Worker | undefined;
  let closing: Promise<void> | undefined;
  const warn = (message: string) => (error: Error) => {
    if (!closing) log.warn({ reason: error.message }, message); // connections end one by one while closing
  };
  queue.on('error', warn('job queue is out of reach'));

  const enqueueMany = async <P>(definition: JobDefinition<P, never>, payloads: readonly P[]): Promise<void> => {
    const jobs = payloads.map((payload) => {
      const data = definition.payload.parse(payload);
      return { name: definition.name, data, opts: jobOptions(definition, definition.key(data)) };
    });
    try {
      for (let start = 0; start < jobs.length; start += CHUNK) {
        await withinMs(ENQUEUE_TIMEOUT_MS, queue.addBulk(jobs.slice(start, start + CHUNK)));
      }
    } catch (error) {
      log.warn(
        { err: error, job: definition.name, count: jobs.length },
        'job could not be enqueued; the sweep will find its work',
      );
    }
  };

  const close = async (): Promise<void> => {
    if (worker) {
      const running = worker;
      await withinMs(CLOSE_TIMEOUT_MS, running.close()).catch(() => withinMs(2_000, running.close(true)).catch(() => {}));
    }
    await withinMs(5_000, queue.close()).catch(() => {});
    await store.close();
  };

  return {
    enqueue: (definition, payload) => enqueueMany(definition, [payload]),
    enqueueMany,
    work: async (definitions, context, { concurrency = 4, lockDurationMs = 30_000 } = {}) => {
      if (worker) throw new Error('this process works already');
      const byName = new Map(definitions.map((definition) => [definition.name, definition]));
      if (byName.size !== definitions.length) throw new Error('two kinds of job have the same name');
      worker = store.worker(
        async (job) => {
          const definition = byName.get(job.name);
          if (!definition) throw new UnrecoverableError(`unknown kind of job: ${job.name}`);
          const payload = definition.payload.safeParse(job.data);
          if (!payload.success) throw new UnrecoverableError(`invalid payload: ${payload.error.message}`);
          await definition.handle(context, payload.data);
        },
        {
          concurrency,
          lockDuration: lockDurationMs,
          stalledInterval: Math.ceil(lockDurationMs / 2),
          maxStalledCount: 5,
          drainDelay: 1,
          runRetryDelay: 2_000,
        },
      );
      worker.on('error', warn('worker lost touch with the job queue'));
      worker.on('failed', (job, error) => logFailure(log, job, error));
      await worker.waitUntilReady();
    },
    counts: async () => {
      const counts = await queue.getJobCounts('waiting', 'prioritized', 'active', 'delayed', 'failed');
      const of = (state: string) => counts[state] ?? 0;
      return {
        waiting: of('waiting') + of('prioritized'),
        active: of('active'),
        delayed: of('delayed'),
        failed: of('failed'),
      };
    },
    oldestWaitingMs: async () => {
      const oldest = await Promise.all(
        (['waiting', 'prioritized'] as const).map(async (state) => (await queue.getJobs([state], 0, 0, true))[0]),
      );
      const since = oldest.flatMap((job) => (job ? [job.timestamp + (job.opts.delay ?? 0)] : []));
      return since.length === 0 ? 0 : Math.max(0, Date.now() - Math.min(...since));
    },
    failed: async (limit = 50) => {
      const jobs = await queue.getJobs(['failed'], 0, limit - 1, false);
      return jobs.map((job) => ({
        id: String(job.id),
        name: job.name,
        payload: job.data,
        reason: job.failedReason ?? '',
        attempts: job.attemptsMade,
        failedAt: job.finishedOn ?? job.timestamp,
      }));
    },
    close: () => {
      closing ??= close();
      return closing;
    },
  };
}

function jobOptions<P>(definition: JobDefinition<P, never>, key: string): JobsOptions {
  // The queue gives ':' in ids a meaning of its own. Not `jobId`: a job added while its like runs would be lost.
  const id = `${definition.name}/${key}`.replaceAll('%', '%25').replaceAll(':', '%3A');
  return {
    ...KEPT,
    deduplication: { id, keepLastIfActive: true },
    attempts: definition.retry.attempts,
    backoff: { type: 'exponential', delay: definition.retry.backoffMs },
  };
}

function logFailure(log: Logger, job: Job | undefined, error: Error): void {
  const attempts = job?.attemptsMade ?? 0;
  const isLast =
    !job || error instanceof UnrecoverableError || job.finishedOn !== undefined || attempts >= (job.opts.attempts ?? 1);
  const fields = { err: error, job: job?.name, jobId: job?.id, payload: job?.data, attempts };
  if (isLast) log.error(fields, 'job was given up');
  else log.warn(fields, 'job failed and will be tried again');
}

/** Where the queue lives; both stores behave alike, which the tests check on both. */
interface Store {
  queue: Queue;
  worker(process: (job: Job) => Promise<void>, options: StoreWorkerOptions): Worker;
  close(): Promise<void>;
}

interface StoreWorkerOptions {
  concurrency: number;
  lockDuration: number;
  stalledInterval: number;
  maxStalledCount: number;
  /** Seconds until an idle worker looks again by itself; a job taken over from a dead worker is noticed no sooner. */
  drainDelay: number;
  /** Milliseconds until a worker that lost its connection tries again. */
  runRetryDelay: number;
}

function openPostgres(databaseUrl: string, log: Logger): Store {
  const pool = new pg.Pool({
    connectionString: databaseUrl,
    max: 8,
    keepAlive: true,
    application_name: 'heatround jobs',
    options: '-c search_path=bullmq',
  });
  pool.on('error', (error) => log.debug({ err: error }, 'job queue lost an idle connection'));
  const backend = withBackend(createPostgresBackend);
  const connection = pool as unknown as PostgresConnectionOptions; // its types know an older shape of the same pool
  return {
    queue: new backend.Queue(QUEUE, { connection }) as unknown as Queue,
    worker: (process, options) => new backend.Worker(QUEUE, process, { connection, ...options }) as unknown as Worker,
    close: () => pool.end(),
  };
}

function openRedis(redisUrl: string, log: Logger): Store {
  const connections: Redis[] = [];
  const connect = (maxRetriesPerRequest: number | null) => {
    const connection = new Redis(redisUrl, { maxRetriesPerRequest, connectTimeout: 2_000 });
    connection.on('error', (error: Error) => log.debug({ err: error }, 'job queue lost a connection'));
    connections.push(connection);
    return connection;
  };
  const backend = withBackend(createRedisBackend);
  return {
    queue: new backend.Queue(QUEUE, { connection: connect(1), prefix: QUEUE, skipWaitingForReady: true }) as unknown as Queue,
    worker: (process, options) =>
      new backend.Worker(QUEUE, process, { connection: connect(null), prefix: QUEUE, ...options }) as unknown as Worker,
    close: async () => {
      for (const connection of connections) connection.disconnect();
    },
  };
}

async function withinMs<T>(limitMs: number, work: Promise<T>): Promise<T> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new Error(`no answer within ${limitMs} ms`)), limitMs);
  });
  try {
    return await Promise.race([work, late]);
  } finally {
    clearTimeout(timer);
  }
}
