/**
 * The installation of docker-compose.yml without a container engine: the same commands as processes, in the file's order, with its
 * settings; only addresses are replaced, since here all parts share one machine. What the engine itself does is not shown.
 */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { request as ask, createServer, type IncomingMessage, type Server } from 'node:http';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { ORGANISATION_HEADER } from '@heatround/contract';
import { CONFIG_NAMES } from '@heatround/platform/config';
import pg from 'pg';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
// @ts-expect-error plain JavaScript, since nothing is installed yet when it runs first
import { setUp } from '../../../apps/launch/src/setup.mjs';
import { serviceUrls } from '../../../packages/platform/src/database/migrate.ts';
import { emptyDatabase } from '../../support/database.ts';
import { type Harness, type Person, REPOSITORY, readingFact, startService, TEST_PASSWORD } from '../../support/harness.ts';
import { hasRedisServer, REDIS_REMEDY } from '../jobs/redis-server.ts';
import { freePort, type Started, start } from './checkout.ts';
import { type ComposePart, interpolate, readCompose } from './compose.ts';

const WAIT = { timeout: 60_000, interval: 100 };
const SECRET = 'a secret for the parts only, of enough length';
const PREFIX = `heatround_parts_${process.pid}`;
const given = { POSTGRES_PASSWORD: 'pw', HEATROUND_SECRET: SECRET, DATABASE_ROLE_PREFIX: PREFIX, LOG_LEVEL: 'info' };
const OURS = ['migrate', 'api', 'worker', 'web'];

describe('docker-compose.yml and Dockerfile', () => {
  const parts = readCompose(REPOSITORY, given);
  const part = (name: string): ComposePart => parts.find((one) => one.name === name)!;

  it('starts each part after what it needs, and no part without its secrets', () => {
    const names = parts.map(({ name }) => name);
    expect([...names].sort()).toEqual(['postgres', 'redis', ...OURS].sort());
    expect(names.indexOf('migrate')).toBeGreaterThan(names.indexOf('postgres'));
    expect(names.at(-1)).toBe('web');
    for (const name of ['api', 'worker']) expect(part(name).after.migrate).toBe('service_completed_successfully');
    expect(() => readCompose(REPOSITORY, {})).toThrow(/HEATROUND_SECRET|POSTGRES_PASSWORD/);
    const filled = ['a$', '{X:-b}c'].join('');
    expect(interpolate(filled, {})).toBe('abc');
    expect(interpolate(filled, { X: 'x' })).toBe('axc');
  });

  it('names only settings that there are, and the owner’s password to one part alone', () => {
    for (const name of OURS) {
      const unknown = Object.keys(part(name).environment).filter((one) => !CONFIG_NAMES.includes(one));
      expect(unknown, name).toEqual([]);
    }
    const knowing = parts.filter(({ environment }) => JSON.stringify(environment).includes(':pw@'));
    expect(knowing.map(({ name }) => name)).toEqual(['migrate']);
  });

  it('gives no part more than it needs', () => {
    for (const one of parts) {
      expect(one.raw, one.name).toMatchObject({ read_only: true, cap_drop: ['ALL'], security_opt: ['no-new-privileges:true'] });
      expect(one.health === null, one.name).toBe(one.name === 'migrate');
    }
    for (const name of OURS) expect(part(name).raw, name).toMatchObject({ user: 'node', tmpfs: ['/tmp'] });
    expect(parts.filter(({ raw }) => raw.ports).map(({ name }) => name)).toEqual(['web']);
    expect(part('redis').command.join(' ')).toContain('--appendonly yes --maxmemory-policy noeviction');
  });

  it('builds from the lock file, with every workspace, and ends as an unprivileged user', () => {
    const lines = readFileSync(join(REPOSITORY, 'Dockerfile'), 'utf8').split('\n');
    expect(lines.filter((line) => line.startsWith('RUN npm')).every((line) => line.startsWith('RUN npm ci'))).toBe(true);
    expect(lines.filter((line) => line.startsWith('USER'))).toEqual(['USER node']);
    const copied = lines.flatMap((line) => /^COPY (?!--from)(.+) \S+$/.exec(line)?.[1]?.split(' ') ?? []);
    expect(copied.filter((path) => !existsSync(join(REPOSITORY, path)))).toEqual([]);
    const { packages } = JSON.parse(readFileSync(join(REPOSITORY, 'package-lock.json'), 'utf8'));
    const workspaces = Object.keys(packages).filter((path) => path !== '' && !path.includes('node_modules/'));
    expect(workspaces.length).toBeGreaterThan(7);
    expect(workspaces.filter((path) => !copied.includes(`${path}/package.json`))).toEqual([]);
  });
});

/** The address of a plain proxy that sends each request to the next of several, and passes over those that are gone. */
async function roundRobin(targets: readonly number[]): Promise<{ port: number; asked: Map<number, number>; server: Server }> {
  const asked = new Map(targets.map((port) => [port, 0]));
  let turn = 0;
  const server = createServer((incoming, reply) => {
    const port = targets[turn++ % targets.length]!;
    const onward = ask(
      { host: '127.0.0.1', port, path: incoming.url, method: incoming.method, headers: incoming.headers, agent: false },
      (answer: IncomingMessage) => {
        asked.set(port, asked.get(port)! + 1);
        reply.writeHead(answer.statusCode!, answer.headers);
        answer.pipe(reply);
        answer.once('error', () => reply.destroy());
      },
    );
    onward.once('error', () => (reply.headersSent ? reply.destroy() : reply.writeHead(502).end()));
    incoming.pipe(onward);
  });
  const port = await freePort();
  await new Promise<void>((done) => server.listen(port, '127.0.0.1', done));
  return { port, asked, server };
}

/** Somebody who may read the checkout and write nothing in it, as in the container; root only, and where the folder can be reached. */
function unprivileged(): { uid: number; gid: number } | Record<string, never> {
  if (process.getuid?.() !== 0) return {};
  for (let folder = REPOSITORY; ; folder = dirname(folder)) {
    if ((statSync(folder).mode & 0o005) !== 0o005) return {};
    if (folder === dirname(folder)) return { uid: 65534, gid: 65534 };
  }
}

describe('the parts as processes, two of each', () => {
  const parts = readCompose(REPOSITORY, given);
  let database: Awaited<ReturnType<typeof emptyDatabase>>;
  let inspector: Harness;
  let owner: pg.Client;
  let redis: { url: string; process: ChildProcess; folder: string } | null = null;
  let planner: Person;
  let assetId: string;
  let pointIds: string[];
  let proxy: Awaited<ReturnType<typeof roundRobin>>;
  const running: (Started & { name: string; port: number })[] = [];
  let front = '';

  /** Starts a part as the file says, and waits until it is what the file calls healthy. */
  async function begin(name: string, replaced: Record<string, string> = {}): Promise<(typeof running)[number]> {
    const { command, environment, health } = parts.find((one) => one.name === name)!;
    const port = await freePort();
    const settings: Record<string, string> = { ...environment, HOST: '127.0.0.1', PORT: String(port), ...replaced };
    const address = new URL(database.ownerUrl);
    if (name !== 'migrate') Object.assign(address, { username: '', password: '' });
    if (settings.DATABASE_URL) settings.DATABASE_URL = address.href;
    if (settings.REDIS_URL) settings.REDIS_URL = redis?.url ?? '';
    const [program, ...args] = command as [string, ...string[]];
    expect(program).toBe('node');
    const one = Object.assign(start(process.execPath, args, REPOSITORY, settings, unprivileged()), { name, port });
    running.push(one);
    if (health === null) return one;
    expect(health[0]).toBe('node');
    await vi.waitFor(async () => {
      if (one.child.exitCode !== null) throw new Error(`${name} ended early: ${one.said()}`);
      expect(await start(process.execPath, health.slice(1), REPOSITORY, settings).ended, one.said()).toBe(0);
    }, WAIT);
    return one;
  }

  const of = (name: string) => running.filter((one) => one.name === name && one.child.exitCode === null && !one.child.killed);
  const at = (port: number) => `http://127.0.0.1:${port}`;
  const call = async (base: string, path: string, body?: unknown) => {
    const reply = await fetch(`${base}${path}`, {
      method: body === undefined ? 'GET' : 'POST',
      headers: {
        ...(body === undefined ? {} : { 'content-type': 'application/json' }),
        cookie: planner.cookie,
        [ORGANISATION_HEADER]: planner.scope.organisationId,
      },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    return { status: reply.status, body: reply.headers.get('content-type')?.includes('json') ? await reply.json() : null };
  };
  /** As a phone does it: again until there is an answer. */
  const handIn = async (facts: readonly { id: string }[]): Promise<string[]> => {
    for (let attempt = 0; attempt < 200; attempt++) {
      const reply = await call(front, '/api/submissions', { facts }).catch(() => null);
      if (reply?.status === 200) return reply.body.results.map((one: { outcome: string }) => one.outcome);
      await new Promise((done) => setTimeout(done, 50));
    }
    throw new Error('no answer');
  };
  const storedFacts = async (): Promise<number> => Number((await owner.query('SELECT count(*) AS n FROM fact')).rows[0].n);
  const behind = async (): Promise<number> =>
    Number((await owner.query('SELECT count(*) AS n FROM point_revision WHERE revision > concluded')).rows[0].n);
  /** Points that each worker has concluded so far. */
  const refits = (): Promise<number[]> =>
    Promise.all(
      of('worker').map(async ({ port }) => {
        const text = await (await fetch(`${at(port)}/metrics`)).text();
        return Number(/^heatround_refit_seconds_count (\d+)$/m.exec(text)![1]);
      }),
    );
  const kill = async (one: Started): Promise<void> => {
    process.kill(-one.child.pid!, 'SIGKILL');
    await one.ended;
  };

  beforeAll(async () => {
    await setUp(() => {});
    database = await emptyDatabase();
    if (hasRedisServer) redis = await startRedis(parts.find(({ name }) => name === 'redis')!.command);
    else console.warn(`${REDIS_REMEDY}; here the queue lies in PostgreSQL`);

    // The file's order; what it makes wait, waits here.
    const early = start(
      process.execPath,
      ['apps/launch/src/part.mjs', 'api'],
      REPOSITORY,
      { PORT: String(await freePort()), HEATROUND_SECRET: SECRET },
      unprivileged(),
    );
    expect(await early.ended).toBe(1);
    expect(early.said()).toContain('set DATABASE_URL and HEATROUND_SECRET');
    for (const { name } of parts.filter((one) => OURS.includes(one.name))) {
      if (name === 'migrate') {
        expect(await (await begin('migrate')).ended, running.at(-1)!.said()).toBe(0);
      } else if (name === 'web') {
        proxy = await roundRobin(of('api').map(({ port }) => port));
        front = at((await begin('web', { API_URL: at(proxy.port) })).port);
      } else {
        // No sweep but the first one: what is seen is the queue's own work, until a test asks for the other way.
        for (let i = 0; i < 2; i++) await begin(name, { SWEEP_INTERVAL_SECONDS: '3600' });
      }
    }

    owner = new pg.Client({ connectionString: database.ownerUrl });
    await owner.connect();
    const urls = serviceUrls({ databaseUrl: database.ownerUrl, secret: SECRET, rolePrefix: PREFIX });
    inspector = await startService({
      database: { urls: { owner: database.ownerUrl, ...urls }, secret: SECRET, drop: database.drop },
    });
    const { id, roomId } = await inspector.organisation();
    planner = await inspector.person(id, ['planner']);
    ({ id: assetId, pointIds } = await inspector.asset(planner, roomId, { points: Array.from({ length: 8 }, () => ({})) }));
  }, 180_000);

  afterAll(async () => {
    for (const one of running) if (one.child.exitCode === null && one.child.signalCode === null) await kill(one);
    proxy?.server.closeAllConnections();
    proxy?.server.close();
    await owner?.end();
    await inspector?.close();
    redis?.process.kill('SIGKILL');
    if (redis) rmSync(redis.folder, { recursive: true, force: true });
  }, 60_000);

  it('serves the client in front, and passes what is meant for the API on', { timeout: 60_000 }, async () => {
    expect((await (await fetch(front)).text()).includes('<title>Heatround</title>')).toBe(true);
    expect((await fetch(`${front}/assets`)).headers.get('content-security-policy')).toContain("script-src 'self'");
    expect((await fetch(`${front}/healthz`)).status).toBe(200);
    expect(await (await fetch(`${front}/readyz`)).json()).toEqual({ database: 'ok', queue: 'ok', migrations: 'ok' });
    const document = await fetch(`${front}/api/openapi.json`);
    expect(document.headers.get('content-encoding')).toMatch(/gzip|br|deflate|zstd/);
    expect(((await document.json()) as { openapi: string }).openapi).toBe('3.1.0');
    expect((await fetch(`${front}/api/nothing-here`)).status).toBe(404);
    for (const one of of('worker')) expect(await (await fetch(`${at(one.port)}/healthz`)).json()).toEqual({ status: 'alive' });
  });

  it('signs in through the front, and the session works on both API processes', { timeout: 60_000 }, async () => {
    const signedIn = await fetch(`${front}/api/sign-in`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ email: planner.email, password: TEST_PASSWORD }),
    });
    expect(signedIn.status).toBe(200);
    const [cookie] = signedIn.headers.getSetCookie().map((one) => one.split(';')[0]!);
    const before = new Map(proxy.asked);
    for (let turn = 0; turn < 4; turn++) {
      const me = await fetch(`${front}/api/me`, { headers: { cookie: cookie! } });
      expect(me.status).toBe(200);
      expect(((await me.json()) as { email: string }).email).toBe(planner.email);
    }
    for (const [port, count] of proxy.asked) expect(count - before.get(port)!).toBe(2);
    // And is over on both, wherever it was ended.
    expect((await fetch(`${front}/api/sign-out`, { method: 'POST', headers: { cookie: cookie! } })).status).toBe(204);
    for (const { port } of of('api'))
      expect((await fetch(`${at(port)}/api/me`, { headers: { cookie: cookie! } })).status).toBe(401);
  });

  it('concludes a reading that is handed in', { timeout: 60_000 }, async () => {
    expect(await handIn([readingFact(pointIds[0]!, '85')])).toEqual(['created']);
    await vi.waitFor(async () => {
      const { body } = await call(front, `/api/assets/${assetId}`);
      const page = body.points.find((one: { point: { id: string } }) => one.point.id === pointIds[0]);
      expect(page.isBehind).toBe(false);
      expect(page.conclusion.standing.grade).toBe('plan');
    }, WAIT);
  });

  it('D48: what is sent to both at once is stored once', { timeout: 60_000 }, async () => {
    const before = await storedFacts();
    for (let round = 0; round < 5; round++) {
      const facts = pointIds.map((pointId) => readingFact(pointId, '61', { takenAt: `2026-04-2${round}T06:00:00Z` }));
      const replies = await Promise.all(of('api').map(({ port }) => call(at(port), '/api/submissions', { facts })));
      const outcomes = replies.map(({ body }) => body.results.map((one: { outcome: string }) => one.outcome));
      for (const i of facts.keys()) expect(outcomes.map((one) => one[i]).sort()).toEqual(['created', 'duplicate']);
    }
    expect((await storedFacts()) - before).toBe(5 * pointIds.length);
  });

  it('works each job once, whichever of the two workers takes it', { timeout: 90_000 }, async () => {
    await vi.waitFor(async () => expect(await behind()).toBe(0), WAIT);
    const before = await refits();
    // One change per point, and no sweep in between: what is computed twice would be seen.
    for (const [i, pointId] of pointIds.entries())
      await handIn([readingFact(pointId, '66', { takenAt: new Date(Date.UTC(2026, 0, 5, i)).toISOString() })]);
    await vi.waitFor(async () => expect(await behind()).toBe(0), WAIT);
    const after = await refits();
    expect(after.reduce((sum, one) => sum + one, 0) - before.reduce((sum, one) => sum + one, 0)).toBe(pointIds.length);
  });

  it('tells its figures on each part that does work, and through the front on none', { timeout: 60_000 }, async () => {
    for (const { port } of of('api')) {
      const text = await (await fetch(`${at(port)}/metrics`)).text();
      expect(text).toMatch(/^heatround_worker_lag_seconds 0$/m);
      expect(text).toMatch(/^heatround_queue_age_seconds \d/m);
      expect(text).toMatch(/^heatround_submissions_total\{answer="created"\} [1-9]/m);
    }
    // The front serves one of the client's screens at every address that is not the API's.
    expect((await fetch(`${front}/metrics`)).headers.get('content-type')).toContain('text/html');
    expect((await fetch(`${front}/api/../metrics`)).headers.get('content-type')).toContain('text/html');
  });

  it('loses nothing and doubles nothing when an API and a worker are killed in mid-work', { timeout: 120_000 }, async () => {
    const before = await storedFacts();
    const batches = Array.from({ length: 40 }, (_, i) =>
      pointIds.map((pointId) =>
        readingFact(pointId, String(60 + (i % 5)), { takenAt: new Date(Date.UTC(2026, 1, 1, i)).toISOString() }),
      ),
    );
    const [doomedApi] = of('api');
    const [doomedWorker] = of('worker');
    let answered = 0;
    const outcomes: string[] = [];
    const walk = async (from: number): Promise<void> => {
      for (let i = from; i < batches.length; i += 3) {
        outcomes.push(...(await handIn(batches[i]!)));
        answered++;
      }
    };
    const walking = [walk(0), walk(1), walk(2)];
    await vi.waitFor(() => expect(answered).toBeGreaterThan(6), WAIT);
    await Promise.all([kill(doomedApi!), kill(doomedWorker!)]);
    const atDeath = answered;
    // The engine starts another one in their place; what was committed without a hint is found by its sweep.
    await begin('worker', { SWEEP_INTERVAL_SECONDS: '2' });
    await Promise.all(walking);
    expect(atDeath).toBeLessThan(batches.length);
    expect(outcomes.every((one) => one === 'created' || one === 'duplicate')).toBe(true);
    expect((await storedFacts()) - before).toBe(batches.length * pointIds.length);
    await vi.waitFor(async () => expect(await behind()).toBe(0), WAIT);
  });

  it('an emptied queue loses nothing: the sweep finds what is due', { timeout: 90_000 }, async () => {
    if (!redis) return console.warn(REDIS_REMEDY);
    const flush = () => spawnSync('redis-cli', ['-u', redis!.url, 'flushall'], { encoding: 'utf8' });
    for (let i = 0; i < 10; i++) {
      await handIn(
        pointIds.map((pointId) => readingFact(pointId, '64', { takenAt: new Date(Date.UTC(2026, 2, 1, i)).toISOString() })),
      );
      if (i % 3 === 0) expect(flush().stdout.trim()).toBe('OK');
    }
    expect(flush().stdout.trim()).toBe('OK');
    await vi.waitFor(async () => expect(await behind()).toBe(0), { timeout: 80_000, interval: 200 });
  });

  it('ends in order when it is asked to', { timeout: 60_000 }, async () => {
    for (const one of running.filter(({ child }) => child.exitCode === null && child.signalCode === null)) {
      one.child.kill('SIGTERM');
      expect(await one.ended, one.said()).toBe(0);
    }
  });
});

async function startRedis(command: readonly string[]): Promise<{ url: string; process: ChildProcess; folder: string }> {
  const port = await freePort();
  const folder = mkdtempSync(join(tmpdir(), 'heatround-redis-'));
  const [program, ...args] = command as [string, ...string[]];
  const server = spawn(program, [...args, '--port', String(port), '--bind', '127.0.0.1', '--dir', folder], { stdio: 'ignore' });
  const url = `redis://127.0.0.1:${port}`;
  await vi.waitFor(
    () => expect(spawnSync('redis-cli', ['-u', url, 'ping'], { encoding: 'utf8' }).stdout.trim()).toBe('PONG'),
    WAIT,
  );
  return { url, process: server, folder };
}
