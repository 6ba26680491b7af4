/**
 * The service in parts, each a process of its own: `migrate` prepares the database once and ends, `api` answers requests, `worker`
 * runs jobs, `web` stands in front with the client's files. None of them keeps anything but in the database and the queue, so that any
 * number of each may run side by side, and any of them may be killed.
 */
import { StartRefusal } from '@heatround/platform/config';
import { loadDemoIfEmpty } from '@heatround/services/demo';
import { awaitPrepared, type DatabaseUrls, serviceUrls } from '../../../packages/platform/src/database/migrate.ts';
import { startFront } from '../../api/src/front.ts';
import { startApi } from '../../api/src/main.ts';
import { openDoor, startWorker } from '../../worker/src/main.ts';
import { beginFirst, builtClient, type House, MIGRATIONS, migrate, openDeps, sayDemo } from './house.ts';

/** How long a part waits for `migrate`; a big change of a big database takes its time. */
const PATIENCE_MS = 10 * 60_000;

const PARTS: Readonly<Record<string, (house: House) => Promise<void>>> = {
  async migrate(house) {
    const { databaseUrl, secret } = sharedOf(house);
    const urls = await migrate(house, databaseUrl, secret);
    const deps = await openDeps(house, urls, secret);
    await beginFirst(deps);
    if (house.config.demo !== 'never') sayDemo(await loadDemoIfEmpty(deps));
  },
  async api(house) {
    const deps = await openPrepared(house);
    await house.open('api', startApi({ ...deps, webFolder: null }), (running) => running.close());
    await untilAsked(house);
  },
  async worker(house) {
    const deps = await openPrepared(house);
    await house.open('worker', startWorker(deps), (running) => running.close());
    await house.open('door', openDoor(deps), (running) => running.close());
    await untilAsked(house);
  },
  async web(house) {
    const webFolder = builtClient();
    if (webFolder === null) throw new StartRefusal('The web client is not built: run "npm run build" first.');
    await house.open('web', startFront({ ...house, webFolder }), (running) => running.close());
    await untilAsked(house);
  },
};

/** @throws StartRefusal for a name that is none. */
export function partOf(name: string): (house: House) => Promise<void> {
  const part = Object.hasOwn(PARTS, name) ? PARTS[name] : undefined;
  if (!part) throw new StartRefusal(`There is no part "${name}": ${Object.keys(PARTS).join(', ')}.`);
  return part;
}

/** What every part must be told, since none of them has a data folder. */
function sharedOf({ config }: House): { databaseUrl: string; secret: string } {
  const { databaseUrl, secret } = config;
  if (databaseUrl === undefined || secret === undefined)
    throw new StartRefusal('Parts share one database and one secret: set DATABASE_URL and HEATROUND_SECRET for each of them.');
  return { databaseUrl, secret };
}

async function openPrepared(house: House) {
  const { databaseUrl, secret } = sharedOf(house);
  const urls: Pick<DatabaseUrls, 'app' | 'sweep'> = serviceUrls({
    databaseUrl,
    secret,
    rolePrefix: house.config.databaseRolePrefix,
  });
  await awaitPrepared({
    sweepUrl: urls.sweep,
    migrationsFolder: MIGRATIONS,
    patienceMs: PATIENCE_MS,
    isEnded: () => house.end.reason !== null,
    onWait: (reason) => house.log.info({ reason }, 'waiting for the part "migrate"'),
  });
  return openDeps(house, urls, secret);
}

async function untilAsked({ end, log }: House): Promise<void> {
  log.info('running');
  await end.asked;
}
