/**
 * `npm run backup -- <folder>` and `npm run restore -- <folder>`: everything the service keeps, in a folder of files. Both work on the
 * built-in database and on a server of one's own; a backup also while the service runs.
 */
import { chmod, copyFile, mkdir, readFile, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { installationSecret, loadConfig, StartRefusal } from '@heatround/platform/config';
import { createLog } from '@heatround/platform/log';
import { backUpDatabase, restoreDatabase } from '../../../packages/platform/src/database/backup.ts';
import { addressOfRunning, asRefusal, startEmbeddedPostgres } from '../../../packages/platform/src/database/embedded.ts';
import { prepareDatabase } from '../../../packages/platform/src/database/migrate.ts';

const root = resolve(import.meta.dirname, '../../..');
const SECRET = 'secret';

/**
 * Runs one of the two commands.
 *
 * @returns the exit code: 0 when everything is done.
 */
export async function runData(command: string | undefined, target: string | undefined, env: NodeJS.ProcessEnv): Promise<number> {
  if ((command !== 'backup' && command !== 'restore') || !target) {
    console.error('Name a folder: npm run backup -- <folder>, or npm run restore -- <folder>.');
    return 1;
  }
  const folder = resolve(env.INIT_CWD ?? process.cwd(), target);
  const config = loadConfig(env);
  try {
    await mkdir(config.dataFolder, { recursive: true, mode: 0o711 });
    await (command === 'backup' ? backUp(config, folder) : restore(config, folder));
    return 0;
  } catch (error) {
    const refusal = asRefusal(error, config.dataFolder);
    console.error(refusal ? refusal.message : error);
    return 1;
  }
}

type Config = ReturnType<typeof loadConfig>;

async function backUp(config: Config, folder: string): Promise<void> {
  await withDatabase(config, async (ownerUrl) => {
    let rows = 0;
    const manifest = await backUpDatabase(ownerUrl, folder, (kept) => {
      rows += kept.rows;
      console.log(`  ${kept.table.padEnd(32)} ${kept.rows.toLocaleString('en-GB')}`);
    });
    // It signs sessions and encrypts second factors: a backup without it would lock people out.
    const secret = await installationSecret(config.secret, config.dataFolder);
    await writeFile(join(folder, SECRET), `${secret}\n`, { mode: 0o600 });
    console.log(
      `${rows.toLocaleString('en-GB')} rows of ${manifest.tables.length} tables are in ${folder}. It holds the secret of this installation too: keep it where only you can read it.`,
    );
  });
}

async function restore(config: Config, folder: string): Promise<void> {
  const kept = await readFile(join(folder, SECRET), 'utf8').then(
    (text) => text.trim(),
    () => null,
  );
  if (config.secret === undefined && kept !== null) await bringSecret(config.dataFolder, folder);
  if (config.secret !== undefined && kept !== null && config.secret !== kept)
    console.log('HEATROUND_SECRET differs from that of the backup: people sign in again, and second factors are set up anew.');
  await withDatabase(config, async (ownerUrl) => {
    await prepareDatabase({
      ownerUrl,
      migrationsFolder: join(root, 'prisma/migrations'),
      secret: await installationSecret(config.secret, config.dataFolder),
      rolePrefix: config.databaseRolePrefix,
    });
    let rows = 0;
    const manifest = await restoreDatabase(ownerUrl, folder, (table) => {
      rows += table.rows;
      console.log(`  ${table.table.padEnd(32)} ${table.rows.toLocaleString('en-GB')}`);
    });
    console.log(
      `${rows.toLocaleString('en-GB')} rows of ${manifest.tables.length} tables are back, as they were at ${manifest.madeAt}.`,
    );
  });
}

/** A secret that is there already is left: other data may depend on it. */
async function bringSecret(dataFolder: string, folder: string): Promise<void> {
  const file = join(dataFolder, SECRET);
  const known = await readFile(file, 'utf8').catch(() => null);
  if (known !== null) {
    if (known.trim() !== (await readFile(join(folder, SECRET), 'utf8')).trim())
      throw new StartRefusal(
        `The data folder ${dataFolder} belongs to another installation: restore into a new one (HEATROUND_DATA). Nothing was changed.`,
      );
    return;
  }
  await copyFile(join(folder, SECRET), file);
  await chmod(file, 0o600);
}

/** The database that the settings name: a running one as it is, else started for as long as it takes. */
async function withDatabase(config: Config, work: (ownerUrl: string) => Promise<void>): Promise<void> {
  const running = config.databaseUrl ?? (await addressOfRunning(config.dataFolder));
  const server =
    running === null ? await startEmbeddedPostgres({ dataFolder: config.dataFolder, log: createLog(config.logLevel) }) : null;
  try {
    const ownerUrl = running ?? server!.ownerUrl;
    await work(ownerUrl);
  } finally {
    await server?.stop();
  }
}
