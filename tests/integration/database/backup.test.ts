/** A backup brings everything back: the demo, restored into an empty database, is the same to the last byte, and people sign in. */
import { createHash, randomUUID } from 'node:crypto';
import { appendFile, mkdtemp, readdir, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { openAccounts } from '@heatround/platform/accounts';
import { openDatabase } from '@heatround/platform/database';
import { silentLog } from '@heatround/platform/log';
import { loadDemoIfEmpty } from '@heatround/services/demo';
import pg from 'pg';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildApp } from '../../../apps/api/src/app.ts';
import { backUpDatabase, type Manifest, restoreDatabase } from '../../../packages/platform/src/database/backup.ts';
import { prepareDatabase } from '../../../packages/platform/src/database/migrate.ts';
import { freshDatabase, type TestDatabase } from '../../support/database.ts';
import { type Harness, readingFact, startService } from '../../support/harness.ts';

describe('backup', () => {
  let service: Harness;
  let folder: string;
  let plain: { ownerUrl: string; drop(): Promise<void> };
  const others: TestDatabase[] = [];
  let signIns: Awaited<ReturnType<typeof loadDemoIfEmpty>>;
  let manifest: Manifest;
  beforeAll(async () => {
    service = await startService();
    signIns = await loadDemoIfEmpty(service.deps as never);
    await service.concludeAll();
    folder = await mkdtemp(join(tmpdir(), 'heatround-backup-'));
    plain = await plainlyOwned(service.database);
    manifest = await backUpDatabase(service.database.urls.owner, join(folder, 'one'));
  }, 120_000);
  afterAll(async () => {
    for (const other of others) await other.drop();
    await plain?.drop();
    await service?.close();
    await rm(folder, { recursive: true, force: true });
  });
  const another = async (): Promise<TestDatabase> => {
    const made = await freshDatabase();
    others.push(made);
    return made;
  };
  /** Rows may stand in another order; their number and their content may not differ. */
  const contents = async (at: string, { tables }: Manifest): Promise<Record<string, string>> => {
    const all = await Promise.all(
      tables.map(async ({ table, file, rows }) => {
        const lines = gunzipSync(await readFile(join(folder, at, file)))
          .toString()
          .split('\n')
          .slice(0, -1)
          .sort();
        expect(lines.length, table).toBe(rows);
        return [table, createHash('sha256').update(lines.join('\n')).digest('hex')] as const;
      }),
    );
    return Object.fromEntries(all);
  };

  it('holds every table of the service, readable by its owner alone', async () => {
    const rows = new Map(manifest.tables.map((one) => [one.table, one.rows]));
    for (const table of ['public.fact', 'public.conclusion', 'public.work_order', 'public.move', 'auth.user', 'auth.account'])
      expect(rows.get(table), table).toBeGreaterThan(0);
    expect((await readdir(join(folder, 'one'))).sort()).toEqual(
      [...manifest.tables.map(({ file }) => file), 'manifest.json'].sort(),
    );
    for (const file of await readdir(join(folder, 'one')))
      expect((await stat(join(folder, 'one', file))).mode & 0o077, file).toBe(0);
  });

  it('restored into an empty database by an owner whom row-level security binds, everything is the same and people sign in', async () => {
    await restoreDatabase(plain.ownerUrl, join(folder, 'one'));
    const again = await backUpDatabase(plain.ownerUrl, join(folder, 'again'));
    expect(again.tables.map(({ table, rows }) => ({ table, rows }))).toEqual(
      manifest.tables.map(({ table, rows }) => ({ table, rows })),
    );
    expect(await contents('again', again)).toEqual(await contents('one', manifest));
    const { urls } = await prepareDatabase(prepared(plain.ownerUrl, service.database));
    const database = openDatabase({ appUrl: urls.app, sweepUrl: urls.sweep, log: silentLog });
    const accounts = openAccounts({
      sweepUrl: urls.sweep,
      secret: service.database.secret,
      publicUrl: 'http://127.0.0.1',
      log: silentLog,
    });
    const app = await buildApp({
      deps: { ...service.deps, database, accounts },
      ready: { queue: async () => {}, migrations: () => database.migrationsAreDone() },
    });
    const { email, password } = signIns[0]!;
    const reply = await app.inject({ method: 'POST', url: '/api/sign-in', payload: { email, password } });
    expect(reply.statusCode, reply.body).toBe(200);
    await app.close();
    await accounts.close();
    await database.close();
  });

  it('what happens in the database afterwards goes on as before: triggers are back', async () => {
    const client = new pg.Client({ connectionString: plain.ownerUrl });
    await client.connect();
    const { rows } = await client.query(
      `SELECT count(*)::int AS off FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid WHERE NOT t.tgisinternal AND t.tgenabled = 'D'`,
    );
    await client.end();
    expect(rows[0].off).toBe(0);
  });

  it('the owner is bound by row-level security again', async () => {
    const client = new pg.Client({ connectionString: plain.ownerUrl });
    await client.connect();
    const { rows } = await client.query(
      'SELECT (SELECT count(*)::int FROM fact) AS seen, relforcerowsecurity AS forced FROM pg_class WHERE oid = $1::regclass',
      ['fact'],
    );
    await client.end();
    expect(rows).toEqual([{ seen: 0, forced: true }]);
  });

  it('is one moment, while people go on working', async () => {
    const place = await service.organisation();
    const planner = await service.person(place.id, ['planner']);
    const asset = await service.asset(planner, place.roomId, { points: [{}] });
    let isDone = false;
    const pouring = (async () => {
      for (let i = 0; !isDone; i++)
        await planner.submit([
          readingFact(asset.pointIds[0]!, '55', {
            takenAt: new Date(Date.parse('2026-01-01T00:00:00Z') + i * 60_000).toISOString(),
          }),
        ]);
    })();
    const busy = await backUpDatabase(service.database.urls.owner, join(folder, 'busy'));
    isDone = true;
    await pouring;
    const target = await another();
    await restoreDatabase(target.urls.owner, join(folder, 'busy'));
    // One transaction writes a fact and raises the revision of its point by one: torn apart they would differ.
    const client = new pg.Client({ connectionString: target.urls.owner });
    await client.connect();
    const { rows } = await client.query(
      `SELECT (SELECT count(*)::int FROM fact WHERE point_id = $1) AS facts, (SELECT revision::int FROM point_revision WHERE point_id = $1) AS revision`,
      [asset.pointIds[0]],
    );
    await client.end();
    expect(rows[0].revision - rows[0].facts).toBe(1);
    expect(busy.tables.find(({ table }) => table === 'public.fact')!.rows).toBeGreaterThan(0);
  });

  it('refuses a folder with something in it, a database with something in it, a damaged file and a half-made backup', async () => {
    await expect(backUpDatabase(service.database.urls.owner, join(folder, 'one'))).rejects.toThrow('is not empty');
    await expect(restoreDatabase(service.database.urls.owner, join(folder, 'one'))).rejects.toThrow(/not empty/);
    const target = await another();
    await expect(restoreDatabase(target.urls.owner, join(folder, 'nowhere'))).rejects.toThrow('no whole backup');
    await appendFile(join(folder, 'busy', 'public.fact.copy.gz'), 'x');
    await expect(restoreDatabase(target.urls.owner, join(folder, 'busy'))).rejects.toThrow(/damaged|Nothing was changed/);
    const client = new pg.Client({ connectionString: target.urls.owner });
    await client.connect();
    const { rows } = await client.query('SELECT count(*)::int AS n FROM organisation');
    await client.end();
    expect(rows[0].n).toBe(0);
  });

  it('refuses a backup of another version, saying which way to go', async () => {
    const target = await another();
    const at = join(folder, 'again', 'manifest.json');
    const known = JSON.parse(await readFile(at, 'utf8')) as Manifest;
    const changed = async (migrations: readonly string[]) => writeFile(at, JSON.stringify({ ...known, migrations }));
    await changed([...known.migrations, '29990101000000_later']);
    await expect(restoreDatabase(target.urls.owner, join(folder, 'again'))).rejects.toThrow('newer version');
    await changed(known.migrations.slice(0, -1));
    await expect(restoreDatabase(target.urls.owner, join(folder, 'again'))).rejects.toThrow('older version');
  });
});

const prepared = (ownerUrl: string, { secret }: TestDatabase) => ({
  ownerUrl,
  migrationsFolder: resolve(import.meta.dirname, '../../../prisma/migrations'),
  secret,
  rolePrefix: 'heatround_test',
});

/** A prepared, empty database whose owner is an ordinary role, as on a server of one's own. */
async function plainlyOwned(database: TestDatabase): Promise<{ ownerUrl: string; drop(): Promise<void> }> {
  const name = `heatround_plain_${randomUUID().slice(0, 8)}`;
  const admin = async (sql: string) => {
    const client = new pg.Client({ connectionString: database.urls.owner });
    await client.connect();
    try {
      await client.query(sql);
    } finally {
      await client.end();
    }
  };
  await admin(`CREATE ROLE ${name} LOGIN PASSWORD 'plain' NOSUPERUSER NOBYPASSRLS`);
  await admin(`CREATE DATABASE ${name} OWNER ${name}`);
  const url = new URL(database.urls.owner);
  Object.assign(url, { username: name, password: 'plain', pathname: `/${name}` });
  await prepareDatabase(prepared(url.href, database));
  return {
    ownerUrl: url.href,
    drop: async () => {
      await admin(`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`);
      await admin(`DROP ROLE IF EXISTS ${name}`);
    },
  };
}
