/**
 * A PostgreSQL for the test run: started once, migrated once into a template, and cloned for every test file, so that files run side by
 * side and never see each other's rows. `TEST_DATABASE_URL` (an owner who may create databases and roles) points at another server.
 *
 * @example
 * const database = await freshDatabase();
 * afterAll(() => database.drop());
 */
import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import pg from 'pg';
import type { TestProject } from 'vitest/node';
import { startEmbeddedPostgres } from '../../packages/platform/src/database/embedded.ts';
import { type DatabaseUrls, prepareDatabase } from '../../packages/platform/src/database/migrate.ts';
import { silentLog } from '../../packages/platform/src/log/index.ts';

const TEMPLATE = 'heatround_template';
const SECRET = 'a secret for tests only, of enough length';

declare module 'vitest' {
  interface ProvidedContext {
    templateUrls: DatabaseUrls;
  }
}

/** vitest calls this once, before the first test that needs a database, and what it returns after the last. */
export default async function setup(project: TestProject): Promise<() => Promise<void>> {
  const folder = await mkdtemp(join(tmpdir(), 'heatround-test-'));
  await chmod(folder, 0o711); // started by root, the server runs as another user, who must be able to enter
  const given = process.env.TEST_DATABASE_URL;
  const starting = given ? null : startEmbeddedPostgres({ dataFolder: join(folder, 'data'), log: silentLog, durable: false });
  const close = async () => {
    await (await starting?.catch(() => null))?.stop();
    await rm(folder, { recursive: true, force: true });
  };
  process.once('SIGTERM', () => void close().finally(() => process.exit(1)));
  try {
    project.provide('templateUrls', await makeTemplate(given ?? (await starting!).ownerUrl));
    return close;
  } catch (error) {
    await close();
    throw error;
  }
}

async function makeTemplate(adminUrl: string): Promise<DatabaseUrls> {
  await withAdmin(adminUrl, async (admin) => {
    await admin.query(`DROP DATABASE IF EXISTS ${TEMPLATE} WITH (FORCE)`);
    await admin.query(`CREATE DATABASE ${TEMPLATE}`);
  });
  const { urls } = await prepareDatabase({
    ownerUrl: onDatabase(adminUrl, TEMPLATE),
    migrationsFolder: resolve(import.meta.dirname, '../../prisma/migrations'),
    secret: SECRET,
    rolePrefix: 'heatround_test',
  });
  return urls;
}

export interface TestDatabase {
  urls: DatabaseUrls;
  /** The secret that the users' passwords derive from. */
  secret: string;
  /** Removes the clone, whoever is still connected. */
  drop(): Promise<void>;
}

let counter = 0;

/** A migrated, empty database of one's own, in about 50 ms. */
export async function freshDatabase(): Promise<TestDatabase> {
  const { inject } = await import('vitest');
  const template = inject('templateUrls');
  const name = `heatround_test_${process.pid}_${Date.now().toString(36)}_${++counter}`;
  await withAdmin(template.owner, (admin) => admin.query(`CREATE DATABASE ${name} TEMPLATE ${TEMPLATE}`));
  return {
    urls: {
      owner: onDatabase(template.owner, name),
      app: onDatabase(template.app, name),
      sweep: onDatabase(template.sweep, name),
    },
    secret: SECRET,
    drop: async () => {
      await withAdmin(template.owner, (admin) => admin.query(`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`));
    },
  };
}

/** A database without anything in it, as a server hands it over. @returns its address, as its owner. */
export async function emptyDatabase(): Promise<{ ownerUrl: string; drop(): Promise<void> }> {
  const { inject } = await import('vitest');
  const { owner } = inject('templateUrls');
  const name = `heatround_empty_${process.pid}_${Date.now().toString(36)}_${++counter}`;
  await withAdmin(owner, (admin) => admin.query(`CREATE DATABASE ${name}`));
  return {
    ownerUrl: onDatabase(owner, name),
    drop: async () => {
      await withAdmin(owner, (admin) => admin.query(`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`));
    },
  };
}

/** The template must have no other connection while it is cloned, so the work happens from another database. */
async function withAdmin(url: string, work: (admin: pg.Client) => Promise<unknown>): Promise<void> {
  const admin = new pg.Client({ connectionString: onDatabase(url, 'postgres') });
  admin.on('error', () => {});
  await admin.connect();
  try {
    await work(admin);
  } finally {
    await admin.end();
  }
}

function onDatabase(url: string, name: string): string {
  const changed = new URL(url);
  changed.pathname = `/${name}`;
  return changed.href;
}
