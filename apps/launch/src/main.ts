/**
 * The whole service in one process: settings, database, migrations, demo organisation, API with the web client, worker. Whatever was
 * opened is closed again in the opposite order, on Ctrl-C, on a signal, at the end of the parent, or when a later step fails; the
 * built-in database ends last.
 */
import { existsSync } from 'node:fs';
import { mkdir } from 'node:fs/promises';
import { createServer } from 'node:net';
import { join, resolve } from 'node:path';
import { openAccounts } from '@heatround/platform/accounts';
import { systemClock } from '@heatround/platform/clock';
import { type Config, describeConfig, installationSecret, loadConfig, StartRefusal } from '@heatround/platform/config';
import { openDatabase } from '@heatround/platform/database';
import { openJobs } from '@heatround/platform/jobs';
import { createLog } from '@heatround/platform/log';
import { openMailer } from '@heatround/platform/mail';
import { loadDemoIfEmpty } from '@heatround/services/demo';
import { reactTo } from '@heatround/services/reactions';
import { asRefusal, startEmbeddedPostgres } from '../../../packages/platform/src/database/embedded.ts';
import { prepareDatabase } from '../../../packages/platform/src/database/migrate.ts';
import { startApi } from '../../api/src/main.ts';
import { startWorker } from '../../worker/src/main.ts';

export { runData } from './data.ts';

const root = resolve(import.meta.dirname, '../../..');

export interface LaunchOptions {
  env: Record<string, string | undefined>;
  /** Asked a few times per second; the service ends when it says that whoever started it is gone. */
  isOrphaned(): boolean;
}

/** The end was asked for while the service was still starting. */
class Ended extends Error {}

/**
 * Runs the service until its end is asked for.
 *
 * @returns the exit code: 0 after a clean end, 1 when it did not start or lost its database.
 */
export async function launch({ env, isOrphaned }: LaunchOptions): Promise<number> {
  const end = watchForEnd(isOrphaned);
  const opened: { name: string; close(): Promise<unknown> }[] = [];
  /** Opens one thing, remembers how to close it, and goes no further once the end was asked for. */
  const open = async <T>(name: string, work: Promise<T> | T, close: (part: T) => Promise<unknown>): Promise<T> => {
    const part = await work;
    opened.push({ name, close: () => close(part) });
    if (end.reason) throw new Ended();
    return part;
  };
  let dataFolder = '';
  let exitCode = 0;
  try {
    const config = loadConfig(env);
    dataFolder = config.dataFolder;
    const log = createLog(config.logLevel);
    log.info(describeConfig(config), 'starting');
    await checkPort(config);
    await mkdir(dataFolder, { recursive: true, mode: 0o711 });
    const secret = await installationSecret(config.secret, dataFolder);

    let ownerUrl = config.databaseUrl;
    if (ownerUrl === undefined) {
      console.log('Starting the database …');
      const server = await open('database server', startEmbeddedPostgres({ dataFolder, log }), (running) => running.stop());
      ownerUrl = server.ownerUrl;
      void server.lost.then(() => end.now('the database server ended'));
    }
    const { urls, applied } = await prepareDatabase({
      ownerUrl,
      migrationsFolder: join(root, 'prisma/migrations'),
      secret,
      rolePrefix: config.databaseRolePrefix,
    });
    if (applied.length > 0) log.info({ applied }, 'database changed for this version');

    // Jobs are opened after the database, because running ones still need it when they close; what a commit causes comes from them.
    let react: ReturnType<typeof reactTo> = () => {};
    const database = await open(
      'database',
      openDatabase({
        appUrl: urls.app,
        sweepUrl: urls.sweep,
        log,
        afterCommit: (organisationId, announcements) => react(organisationId, announcements),
      }),
      (running) => running.close(),
    );
    const accounts = await open(
      'accounts',
      openAccounts({ sweepUrl: urls.sweep, secret, publicUrl: config.publicUrl, log }),
      (running) => running.close(),
    );
    const jobs = await open('jobs', openJobs({ databaseUrl: urls.app, redisUrl: config.redisUrl, log }), (running) =>
      running.close(),
    );

    react = reactTo(jobs);

    const webFolder = join(root, 'apps/web/dist');
    const deps = {
      config,
      secret,
      log,
      clock: systemClock,
      database,
      accounts,
      mailer: openMailer({ smtpUrl: config.smtpUrl, from: config.mailFrom, folder: join(dataFolder, 'mail') }),
      publicUrl: config.publicUrl,
      jobs,
      webFolder: existsSync(join(webFolder, 'index.html')) ? webFolder : null,
    };
    const signIns = config.demo === 'never' ? [] : await loadDemoIfEmpty(deps);
    await open('worker', startWorker(deps), (running) => running.close());
    await open('api', startApi(deps), (running) => running.close());

    console.log(`\nHeatround is running at ${config.publicUrl}`);
    if (!deps.webFolder) console.log('The web client is not part of this checkout.');
    for (const signIn of signIns) console.log(`  ${signIn.name.padEnd(32)} ${signIn.email}  ${signIn.password}`);
    console.log('Ctrl-C ends it.\n');
    await end.asked;
  } catch (error) {
    if (!(error instanceof Ended)) {
      exitCode = 1;
      const refusal = asRefusal(error, dataFolder);
      console.error(refusal ? refusal.message : error);
    }
  }
  if (end.reason) console.log(`Ending (${end.reason}) …`);
  if (end.reason === 'the database server ended') exitCode = 1;
  for (const part of opened.reverse()) {
    await closed(part).catch((error) => console.error(`closing ${part.name}:`, error));
  }
  return exitCode;
}

/** A part that does not close in time must not keep the others open. */
async function closed(part: { close(): Promise<unknown> }): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new Error('not closed after 30 s')), 30_000);
  });
  await Promise.race([part.close(), late]).finally(() => clearTimeout(timer));
}

interface End {
  reason: string | null;
  asked: Promise<void>;
  now(reason: string): void;
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
