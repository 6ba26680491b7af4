/** A Redis server of one's own for the queue tests, without anything kept on disk. */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { createServer } from 'node:net';
import { Redis } from 'ioredis';

/** Whether this machine can run the Redis half of the queue tests; in CI it must. */
export const hasRedisServer = spawnSync('redis-server', ['--version']).status === 0;

export const REDIS_REMEDY = 'no redis-server here: "apt-get install redis-server" runs the queue tests on Redis too';

export async function startRedisServer(): Promise<{ url: string; stop(): Promise<void> }> {
  const port = await new Promise<number>((done) => {
    const probe = createServer().listen(0, '127.0.0.1', () => {
      const { port: free } = probe.address() as { port: number };
      probe.close(() => done(free));
    });
  });
  const options = [
    '--port',
    String(port),
    '--bind',
    '127.0.0.1',
    '--save',
    '',
    '--appendonly',
    'no',
    '--maxmemory-policy',
    'noeviction',
  ];
  const server: ChildProcess = spawn('redis-server', options, { stdio: 'ignore' });
  const ended = new Promise((done) => server.once('exit', done));
  const url = `redis://127.0.0.1:${port}`;
  const probe = new Redis(url, { maxRetriesPerRequest: null, retryStrategy: () => 50 });
  probe.on('error', () => {});
  await probe.ping();
  probe.disconnect();
  return {
    url,
    stop: async () => {
      server.kill('SIGTERM');
      await ended;
    },
  };
}
