/**
 * The whole service in one process: settings, database, migrations, demo organisation, API with the web client, worker. Whatever was
 * opened is closed again in the opposite order, on Ctrl-C, on a signal, at the end of the parent, or when a later step fails; the
 * built-in database ends last.
 */
import { mkdir } from 'node:fs/promises';
import { createServer } from 'node:net';
import { type Config, describeConfig, installationSecret, loadConfig, StartRefusal } from '@heatround/platform/config';
import { createLog } from '@heatround/platform/log';
import { loadDemoIfEmpty } from '@heatround/services/demo';
import { asRefusal, startEmbeddedPostgres } from '../../../packages/platform/src/database/embedded.ts';
import { startApi } from '../../api/src/main.ts';
import { startWorker } from '../../worker/src/main.ts';
import { beginFirst, builtClient, type End, type House, migrate, openDeps, sayDemo } from './house.ts';
import { partOf } from './parts.ts';

export { runData } from './data.ts';

export interface LaunchOptions {
  env: Record<string, string | undefined>;
  /** Asked a few times per second; the service ends when it says that whoever started it is gone. */
  isOrphaned(): boolean;
  /** Only this part, beside others in processes of their own; the whole service when left out. */
  part?: string | undefined;
}

/** The end was asked for while the service was still starting. */
class Ended extends Error {}

/**
 * Runs the service, or one part of it, until its end is asked for; the part `migrate` ends by itself.
 *
 * @returns the exit code: 0 after a clean end, 1 when it did not start or lost its database.
 */
export async function launch({ env, isOrphaned, part }: LaunchOptions): Promise<number> {
  const end = watchForEnd(isOrphaned);
  const opened: { name: string; close(): Promise<unknown> }[] = [];
  /** Opens one thing, remembers how to close it, and goes no further once the end was asked for. */
  const open: House['open'] = async (name, work, close) => {
    const one = await work;
    opened.push({ name, close: () => close(one) });
    if (end.reason) throw new Ended();
    return one;
  };
  let dataFolder = '';
  let exitCode = 0;
  try {
    const run = part === undefined ? runAll : partOf(part);
    const config = loadConfig(env);
    dataFolder = config.dataFolder;
    const log = createLog(config.logLevel);
    log.info({ part: part ?? 'all', ...describeConfig(config) }, 'starting');
    if (part !== 'migrate') await checkPort(config);
    await run({ config, log, end, open });
  } catch (error) {
    if (!(error instanceof Ended)) {
      exitCode = 1;
      const refusal = asRefusal(error, dataFolder);
      console.error(refusal ? refusal.message : error);
    }
  }
  if (end.reason) console.log(`Ending (${end.reason}) …`);
  if (end.reason === 'the database server ended') exitCode = 1;
  for (const one of opened.reverse()) {
    await closed(one).catch((error) => console.error(`closing ${one.name}:`, error));
  }
  return exitCode;
}

/** Everything in this process, with the built-in database when no other is given. */
async function runAll(house: House): Promise<void> {
  const { config, log, end, open } = house;
  await mkdir(config.dataFolder, { recursive: true, mode: 0o711 });
  const secret = await installationSecret(config.secret, config.dataFolder);

  let ownerUrl = config.databaseUrl;
  if (ownerUrl === undefined) {
    console.log('Starting the database …');
    const server = await open('database server', startEmbeddedPostgres({ dataFolder: config.dataFolder, log }), (running) =>
      running.stop(),
    );
    ownerUrl = server.ownerUrl;
    void server.lost.then(() => end.now('the database server ended'));
  }
  const urls = await migrate(house, ownerUrl, secret);
  const deps = await openDeps(house, urls, secret);
  const parts = { ...deps, secret, webFolder: builtClient() };
  await beginFirst(deps);
  const signIns = config.demo === 'never' ? [] : await loadDemoIfEmpty(parts);
  await open('worker', startWorker(parts), (running) => running.close());
  await open('api', startApi(parts), (running) => running.close());

  console.log(`\nHeatround is running at ${config.publicUrl}`);
  if (!parts.webFolder) console.log('The web client is not part of this checkout.');
  sayDemo(signIns);
  console.log('Ctrl-C ends it.\n');
  await end.asked;
}

/** A part that does not close in time must not keep the others open. */
async function closed(part: { close(): Promise<unknown> }): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new Error('not closed after 30 s')), 30_000);
  });
  await Promise.race([part.close(), late]).finally(() => clearTimeout(timer));
}

/** Listens for everything that ends the service; asking a second time changes nothing. */
function watchForEnd(isOrphaned: () => boolean): End {
  let resolve = () => {};
  const asked = new Promise<void>((done) => {
    resolve = done;
  });
  const end: End = {
    reason: null,
    asked,
    now: (reason) => {
      end.reason ??= reason;
      resolve();
    },
  };
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, () => end.now(signal));
  setInterval(() => {
    if (isOrphaned()) end.now('the process that started this one ended');
  }, 300).unref();
  return end;
}

/** Looks before anything is opened, so that a second start says so at once and touches no data. */
function checkPort({ host, port }: Config): Promise<void> {
  return new Promise((done, refuse) => {
    const probe = createServer();
    probe.once('error', (error: NodeJS.ErrnoException) => {
      if (error.code === 'EADDRINUSE') {
        const remedy = `end the other program, or choose another port with "PORT=${port < 65535 ? port + 1 : 4600} npm start"`;
        refuse(new StartRefusal(`Port ${port} is in use, perhaps by another Heatround: ${remedy}.`));
      } else {
        refuse(new StartRefusal(`Cannot listen on ${host} port ${port} (${error.code}): set HOST or PORT to something else.`));
      }
    });
    probe.listen({ host, port, exclusive: true }, () => probe.close(() => done()));
  });
}
