/** A worker in a process of its own that says when it has begun a job and then never ends it; the test kills it. */
import * as z from 'zod';
import { defineJob, openJobs } from '../../../packages/platform/src/jobs/index.ts';
import { silentLog } from '../../../packages/platform/src/log/index.ts';

const [databaseUrl, redisUrl] = process.argv.slice(2);
const endless = defineJob({
  name: 'measure',
  payload: z.object({ pointId: z.string() }),
  key: ({ pointId }) => pointId,
  retry: { attempts: 3, backoffMs: 10 },
  handle: async () => {
    process.stdout.write('begun\n');
    await new Promise(() => setInterval(() => {}, 1000));
  },
});
const jobs = openJobs({ databaseUrl: databaseUrl!, redisUrl: redisUrl || undefined, log: silentLog });
await jobs.work([endless], {}, { concurrency: 1, lockDurationMs: 1000 });
