import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { copyCheckout, freePort, processesOf, type Started, start } from './checkout.ts';

const WAIT = { timeout: 60_000, interval: 50 };
let checkout: ReturnType<typeof copyCheckout>;
let port: number;
const started: Started[] = [];

beforeAll(async () => {
  checkout = copyCheckout();
  port = await freePort();
});

afterAll(() => {
  for (const { child } of started) {
    if (child.exitCode === null && child.signalCode === null && child.pid) process.kill(-child.pid, 'SIGKILL');
  }
  checkout.remove();
});

/** Starts the service directly, or through npm as a person does. */
function service(data: string, env: Record<string, string> = {}, throughNpm = false): Started {
  const [command, args] = throughNpm ? ['npm', ['start', '--silent']] : [process.execPath, ['apps/launch/src/start.mjs']];
  const one = start(command as string, args as string[], checkout.folder, { PORT: String(port), HEATROUND_DATA: data, ...env });
  started.push(one);
  return one;
}

const dataFolder = (name: string) => join(checkout.folder, name);

async function answers(one: Started): Promise<void> {
  await vi.waitFor(async () => {
    if (one.child.exitCode !== null) throw new Error(`ended early: ${one.said()}`);
    expect((await fetch(`http://127.0.0.1:${port}/healthz`)).status).toBe(200);
  }, WAIT);
}

test('it starts, refuses a second start in one sentence, and Ctrl-C leaves no process', { timeout: 120_000 }, async () => {
  const data = dataFolder('data-one');
  const first = service(data);
  await answers(first);

  const samePort = service(data);
  expect(await samePort.ended).toBe(1);
  expect(samePort.said()).toMatch(/^Port \d+ is in use, .*: end the other program, or choose another port .*\.\n$/);

  const sameData = service(data, { PORT: String(await freePort()) });
  expect(await sameData.ended).toBe(1);
  expect(sameData.said()).toMatch(/is in use by another running Heatround: end that one first, or set HEATROUND_DATA/);

  process.kill(-first.child.pid!, 'SIGINT');
  expect(await first.ended).toBe(0);
  expect(processesOf(data)).toEqual([]);
});

test('after a kill -9 the next start recovers, and ends by itself when npm is killed', { timeout: 120_000 }, async () => {
  const data = dataFolder('data-two');
  const first = service(data);
  await answers(first);
  process.kill(first.child.pid!, 'SIGKILL');
  await first.ended;

  const second = service(data, {}, true);
  await answers(second);
  process.kill(second.child.pid!, 'SIGKILL');
  await vi.waitFor(() => expect(processesOf(data)).toEqual([]), WAIT);
  await vi.waitFor(() => expect(fetch(`http://127.0.0.1:${port}/healthz`)).rejects.toThrow(), WAIT);
});

test.each(['SIGTERM', 'SIGHUP'] as const)('%s to npm ends everything', { timeout: 120_000 }, async (signal) => {
  const data = dataFolder('data-two');
  const one = service(data, {}, true);
  await answers(one);
  process.kill(one.child.pid!, signal);
  await one.ended;
  await vi.waitFor(() => expect(processesOf(data)).toEqual([]), WAIT);
});

test('wrong settings are all named at once', async () => {
  const one = service(dataFolder('data-three'), { PORT: 'abc', HEATROUND_SECRET: 'short', REDIS_URL: 'http://x' });
  expect(await one.ended).toBe(1);
  for (const name of ['PORT must', 'HEATROUND_SECRET must', 'REDIS_URL must']) expect(one.said()).toContain(name);
});

test('data of a newer version is refused in one sentence and left alone', async () => {
  const data = dataFolder('data-four');
  mkdirSync(join(data, 'postgres'), { recursive: true });
  writeFileSync(join(data, 'postgres/PG_VERSION'), '99\n');
  const one = service(data);
  expect(await one.ended).toBe(1);
  expect(one.said()).toMatch(/was made by PostgreSQL 99 and this version brings \d+: update this version of Heatround/);
});

test('a full disk is said in one sentence, and leaves no process', { timeout: 60_000 }, async () => {
  const disk = mkdtempSync(join(tmpdir(), 'heatround-disk-'));
  const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=30m,mode=0755', 'tmpfs', disk]);
  if (mounted.status !== 0) {
    console.warn(`a small disk cannot be mounted here (${String(mounted.stderr).trim()}): the full disk was not tried`);
    rmSync(disk, { recursive: true });
    return;
  }
  try {
    const one = service(join(disk, 'data'));
    expect(await one.ended).toBe(1);
    expect(one.said()).toMatch(/The disk that holds .* is full: free at least 200 MB, then start again\.\n$/);
    await vi.waitFor(() => expect(processesOf(disk)).toEqual([]), WAIT);
    expect(existsSync(join(disk, 'data/postgres/PG_VERSION'))).toBe(false);
  } finally {
    spawnSync('umount', ['-l', disk]);
    rmSync(disk, { recursive: true, force: true });
  }
});
