import { chmod, cp, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import pg from 'pg';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { type EmbeddedPostgres, startEmbeddedPostgres } from '../../../packages/platform/src/database/embedded.ts';
import { prepareDatabase } from '../../../packages/platform/src/database/migrate.ts';
import { silentLog } from '../../../packages/platform/src/log/index.ts';
import { freshDatabase, type TestDatabase } from '../../support/database.ts';

const migrationsFolder = resolve(import.meta.dirname, '../../../prisma/migrations');

async function ask<T>(url: string, question: string): Promise<T[]> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return (await client.query(question)).rows as T[];
  } finally {
    await client.end();
  }
}

describe('preparing a database', () => {
  let database: TestDatabase;
  let folder: string;
  beforeAll(async () => {
    database = await freshDatabase();
  });
  afterAll(() => database.drop());
  beforeEach(async () => {
    folder = await mkdtemp(join(tmpdir(), 'heatround-migrations-'));
    await cp(migrationsFolder, folder, { recursive: true });
  });
  afterEach(() => rm(folder, { recursive: true, force: true }));

  const prepare = (from = folder, secret = database.secret) =>
    prepareDatabase({ ownerUrl: database.urls.owner, migrationsFolder: from, secret, rolePrefix: 'heatround_test' });

  const addMigration = async (name: string, text: string) => {
    await mkdir(join(folder, name));
    await writeFile(join(folder, name, 'migration.sql'), text);
  };

  test('a prepared database is left as it is', async () => {
    expect((await prepare()).applied).toEqual([]);
  });

  test('two starts at once apply a migration once', async () => {
    await addMigration('29990101000000_once', 'CREATE TABLE once (id int); INSERT INTO once VALUES (1);');
    const results = await Promise.all([prepare(), prepare(), prepare()]);
    expect(results.flatMap((result) => result.applied)).toEqual(['29990101000000_once']);
    expect(await ask(database.urls.owner, 'SELECT id FROM once')).toEqual([{ id: 1 }]);
    await ask(
      database.urls.owner,
      `WITH gone AS (DELETE FROM _prisma_migrations WHERE migration_name LIKE '2999%' RETURNING 1) SELECT count(*) FROM gone`,
    );
  });

  test('a migration that fails half-way leaves nothing behind and is tried again', async () => {
    await addMigration('29990101000000_half', 'CREATE TABLE half (id int); SELECT 1 / 0;');
    await expect(prepare()).rejects.toThrow(/29990101000000_half: division by zero/);
    expect(await ask(database.urls.owner, `SELECT to_regclass('half') AS half`)).toEqual([{ half: null }]);
    await writeFile(join(folder, '29990101000000_half/migration.sql'), 'SELECT 1;');
    expect((await prepare()).applied).toEqual(['29990101000000_half']);
    await expect(prepare(migrationsFolder)).rejects.toThrow(
      /"29990101000000_half" of a newer version of Heatround: update this version/,
    );
    await writeFile(join(folder, '29990101000000_half/migration.sql'), 'SELECT 2;');
    await expect(prepare()).rejects.toThrow(/was edited after it was applied/);
    await ask(database.urls.owner, `DELETE FROM _prisma_migrations WHERE migration_name LIKE '2999%'`);
  });

  test('the roles the service signs in as bypass nothing and own no table of ours', async () => {
    for (const url of [database.urls.app, database.urls.sweep]) {
      expect(
        await ask(
          url,
          `SELECT bool_or(rolsuper OR rolbypassrls OR rolcreatedb OR rolcreaterole) AS powerful FROM pg_roles
           WHERE pg_has_role(current_user, oid, 'MEMBER')`,
        ),
      ).toEqual([{ powerful: false }]);
      expect(
        await ask(url, `SELECT relname FROM pg_class WHERE relkind = 'r' AND pg_has_role(current_user, relowner, 'MEMBER')`),
      ).toEqual([]);
    }
  });
});

describe('the built-in server', () => {
  let folder: string;
  let running: EmbeddedPostgres | undefined;
  beforeEach(async () => {
    folder = await mkdtemp(join(tmpdir(), 'heatround-server-'));
  });
  afterEach(async () => {
    await running?.stop();
    running = undefined;
    // Started by root, data under a 0700 folder lies elsewhere.
    const { folder: place = '' } = JSON.parse(await readFile(join(folder, 'data/postgres.json'), 'utf8').catch(() => '{}'));
    if (place.startsWith('/var/lib/heatround/')) await rm(dirname(place), { recursive: true, force: true });
    await rm(folder, { recursive: true, force: true });
  });
  const begin = async () => {
    running = await startEmbeddedPostgres({ dataFolder: join(folder, 'data'), log: silentLog, durable: false });
    return running;
  };

  test.each(['700', '711'])('in a folder of mode %s it starts, and finds its data again', { timeout: 60_000 }, async (mode) => {
    await chmod(folder, Number.parseInt(mode, 8));
    const first = await begin();
    await ask(first.ownerUrl, 'CREATE TABLE kept AS SELECT 42 AS answer');
    await expect(startEmbeddedPostgres({ dataFolder: join(folder, 'data'), log: silentLog })).rejects.toThrow(
      /is in use by another/,
    );
    await first.stop();
    const second = await begin();
    expect(await ask(second.ownerUrl, 'SELECT answer FROM kept')).toEqual([{ answer: 42 }]);
  });
});
