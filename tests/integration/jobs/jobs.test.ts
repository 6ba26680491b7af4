import { spawn } from 'node:child_process';
import { afterAll, afterEach, beforeAll, describe, expect, test, vi } from 'vitest';
import * as z from 'zod';
import { defineJob, type Jobs, openJobs } from '../../../packages/platform/src/jobs/index.ts';
import { createLog, silentLog } from '../../../packages/platform/src/log/index.ts';
import { freshDatabase, type TestDatabase } from '../../support/database.ts';
import { hasRedisServer, REDIS_REMEDY, startRedisServer } from './redis-server.ts';

const inCi = Boolean(process.env.CI);
if (!hasRedisServer && !inCi) console.warn(REDIS_REMEDY);

const payload = z.object({ pointId: z.string() });
type Payload = z.infer<typeof payload>;
/** A dead worker is noticed after a second; a longer time of an earlier test would hold for the queue. */
const QUICK = { lockDurationMs: 1000 };
interface Context {
  run(pointId: string): Promise<void>;
}
const measure = defineJob<Payload, Context>({
  name: 'measure',
  payload,
  key: ({ pointId }) => pointId,
  retry: { attempts: 3, backoffMs: 10 },
  handle: (context, { pointId }) => context.run(pointId),
});

describe.each(['postgresql', 'redis'] as const)('jobs in %s', (store) => {
  describe.skipIf(store === 'redis' && !hasRedisServer && !inCi)('', () => {
    let database: TestDatabase;
    let redis: Awaited<ReturnType<typeof startRedisServer>> | undefined;
    const opened: Jobs[] = [];
    const open = (log = silentLog): Jobs => {
      const jobs = openJobs({ databaseUrl: database.urls.app, redisUrl: redis?.url, log });
      opened.push(jobs);
      return jobs;
    };
    const closeAll = () => Promise.all(opened.splice(0).map((jobs) => jobs.close()));

    beforeAll(async () => {
      database = await freshDatabase();
      if (store === 'redis') redis = await startRedisServer();
    });
    afterEach(closeAll);
    afterAll(async () => {
      await redis?.stop();
      await database.drop();
    });

    test('a job reaches its handler once, with a key that contains a colon', async () => {
      const seen: string[] = [];
      await open().work([measure], { run: async (id) => void seen.push(id) }, QUICK);
      const jobs = open();
      await jobs.enqueue(measure, { pointId: 'org:a' });
      await vi.waitFor(() => expect(seen).toEqual(['org:a']), 5000);
      await vi.waitFor(async () => expect(await jobs.counts()).toMatchObject({ waiting: 0, active: 0, delayed: 0 }), 5000);
    });

    test('the same work asked for twice before it begins is done once', async () => {
      const jobs = open();
      await jobs.enqueueMany(measure, [{ pointId: 'b' }, { pointId: 'b' }, { pointId: 'c' }]);
      await jobs.enqueue(measure, { pointId: 'b' });
      const seen: string[] = [];
      await open().work([measure], { run: async (id) => void seen.push(id) }, QUICK);
      await vi.waitFor(() => expect([...seen].sort()).toEqual(['b', 'c']), 5000);
      await vi.waitFor(async () => expect(await jobs.counts()).toMatchObject({ waiting: 0, active: 0, delayed: 0 }), 5000);
      expect(seen).toHaveLength(2);
    });

    test('work asked for while the same work runs is done again afterwards', async () => {
      const jobs = open();
      let runs = 0;
      let release = () => {};
      const held = new Promise<void>((done) => {
        release = done;
      });
      const run = async () => {
        runs += 1;
        if (runs === 1) await held;
      };
      await open().work([measure], { run }, QUICK);
      await jobs.enqueue(measure, { pointId: 'd' });
      await vi.waitFor(() => expect(runs).toBe(1), 5000);
      await jobs.enqueueMany(measure, [{ pointId: 'd' }, { pointId: 'd' }]);
      release();
      await vi.waitFor(() => expect(runs).toBe(2), 5000);
      await vi.waitFor(async () => expect(await jobs.counts()).toMatchObject({ waiting: 0, active: 0, delayed: 0 }), 5000);
      expect(runs).toBe(2);
    });

    test('a failing job is tried again, then given up, logged as an error and listed', async () => {
      const lines: { level: string; msg: string }[] = [];
      const log = createLog('warn', { write: (line: string) => void lines.push(JSON.parse(line)) });
      let runs = 0;
      const run = async () => {
        runs += 1;
        throw new Error('the sensor is away');
      };
      const jobs = open();
      await open(log).work([measure], { run }, QUICK);
      await jobs.enqueue(measure, { pointId: 'e' });
      await vi.waitFor(() => expect(lines.at(-1)).toMatchObject({ level: 'error', msg: 'job was given up' }), 8000);
      expect(runs).toBe(3);
      const [failed] = await jobs.failed();
      expect(failed).toMatchObject({ name: 'measure', payload: { pointId: 'e' }, reason: 'the sensor is away', attempts: 3 });
    });

    test('a payload of another version is given up at once', async () => {
      const lines: { level: string; msg: string }[] = [];
      const log = createLog('warn', { write: (line: string) => void lines.push(JSON.parse(line)) });
      const older = defineJob({
        ...measure,
        payload: z.object({ assetId: z.string() }),
        key: ({ assetId }) => assetId,
        handle: async () => {},
      });
      await open().enqueue(older, { assetId: 'f' });
      await open(log).work([measure], { run: () => Promise.reject(new Error('must not run')) }, QUICK);
      await vi.waitFor(() => expect(lines.at(-1)).toMatchObject({ level: 'error', msg: 'job was given up' }), 5000);
      expect(JSON.stringify(lines)).not.toContain('must not run');
    });

    test('a job whose worker was killed half-way is run again by another', async () => {
      const jobs = open();
      const file = new URL('./dying-worker.ts', import.meta.url).pathname;
      const child = spawn(process.execPath, ['--import', 'tsx', file, database.urls.app, redis?.url ?? ''], {
        stdio: ['ignore', 'pipe', 'inherit'],
      });
      const begun = new Promise((done) => child.stdout.once('data', done));
      await jobs.enqueue(measure, { pointId: 'g' });
      await begun;
      child.kill('SIGKILL');
      const seen: string[] = [];
      await open().work([measure], { run: async (id) => void seen.push(id) }, QUICK);
      await vi.waitFor(() => expect(seen).toEqual(['g']), 15_000);
    });

    test('closing waits for the running job', async () => {
      const jobs = open();
      let begun = false;
      let ended = false;
      const run = async () => {
        begun = true;
        await new Promise((done) => setTimeout(done, 200));
        ended = true;
      };
      const working = open();
      await working.work([measure], { run }, QUICK);
      await jobs.enqueue(measure, { pointId: 'h' });
      await vi.waitFor(() => expect(begun).toBe(true), 5000);
      await working.close();
      expect(ended).toBe(true);
    });

    if (store === 'redis') {
      test('a queue that is away loses the hint, not the request', async () => {
        const lines: { msg: string }[] = [];
        const log = createLog('warn', { write: (line: string) => void lines.push(JSON.parse(line)) });
        const jobs = openJobs({ databaseUrl: database.urls.app, redisUrl: 'redis://127.0.0.1:9', log });
        await jobs.enqueue(measure, { pointId: 'i' });
        expect(lines.map((line) => line.msg)).toContain('job could not be enqueued; the sweep will find its work');
        await jobs.close();
      });
    }
  });
});
