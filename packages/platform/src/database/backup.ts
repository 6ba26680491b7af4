/**
 * The whole database as a folder of files, and back again: one file per table, compressed, as the database's own COPY writes it, and
 * a manifest with the number of rows and the SHA-256 of each. A backup is one moment: everything is read in one transaction, while
 * people go on working. The queue is left out, since the sweep finds again what is due.
 *
 * Row-level security binds the owner of the tables too. A backup passes by it with policies of its own, which hold only in a
 * transaction that says so and only for the owner; they are made when they are missing, so that new tables need no thought.
 */
import { createHash } from 'node:crypto';
import { createReadStream, createWriteStream } from 'node:fs';
import { mkdir, readdir, readFile, rename, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { createGunzip, createGzip } from 'node:zlib';
import pg from 'pg';
import { from as copyFrom, to as copyTo } from 'pg-copy-streams';
import { StartRefusal } from '../config/start-refusal.ts';

const SCHEMAS = ['public', 'auth'];
const BOOKKEEPING = '_prisma_migrations';
const FORMAT = 1;

export interface TableKept {
  /** With its schema. */
  readonly table: string;
  readonly columns: readonly string[];
  readonly rows: number;
  /** Of the uncompressed copy. */
  readonly sha256: string;
  readonly file: string;
}

export interface Manifest {
  readonly format: number;
  /** ISO 8601, UTC. */
  readonly madeAt: string;
  readonly migrations: readonly string[];
  readonly tables: readonly TableKept[];
}

async function connect(ownerUrl: string): Promise<pg.Client> {
  const db = new pg.Client({ connectionString: ownerUrl });
  // What breaks the connection also fails the query that waits on it.
  db.on('error', () => {});
  await db.connect();
  return db;
}

async function inTransaction<T>(db: pg.Client, mode: string, work: () => Promise<T>): Promise<T> {
  await db.query(`BEGIN ${mode}`);
  try {
    const result = await work();
    await db.query('COMMIT');
    return result;
  } catch (error) {
    await db.query('ROLLBACK').catch(() => {});
    throw error;
  }
}

const quoted = (name: string): string => `"${name.replaceAll('"', '""')}"`;
const named = (table: string): string => table.split('.').map(quoted).join('.');

/**
 * Writes a backup into a folder that does not exist yet or is empty.
 *
 * @param onTable told after each table.
 * @throws StartRefusal when the folder holds something.
 */
export async function backUpDatabase(
  ownerUrl: string,
  folder: string,
  onTable: (kept: TableKept) => void = () => {},
): Promise<Manifest> {
  await mkdir(folder, { recursive: true, mode: 0o700 });
  if ((await readdir(folder)).length > 0)
    throw new StartRefusal(`The folder ${folder} is not empty: name a new one for this backup. Nothing was written.`);
  const db = await connect(ownerUrl);
  try {
    await makePolicies(db);
    const manifest = await inTransaction(db, 'ISOLATION LEVEL REPEATABLE READ READ ONLY', async () => {
      await passBySecurity(db);
      const tables: TableKept[] = [];
      for (const { table, columns } of await tablesOf(db)) {
        const kept = await writeTable(db, table, columns, folder);
        tables.push(kept);
        onTable(kept);
      }
      return { format: FORMAT, madeAt: new Date().toISOString(), migrations: await migrationsOf(db), tables };
    });
    // Written last and at once: a folder without it is no backup.
    await writeFile(join(folder, 'manifest.part'), `${JSON.stringify(manifest, null, 2)}\n`, { mode: 0o600 });
    await rename(join(folder, 'manifest.part'), join(folder, 'manifest.json'));
    // For who looks after the service; the folder may lie anywhere, so its name stays out.
    const rows = manifest.tables.reduce((sum, one) => sum + one.rows, 0);
    await db.query(
      `INSERT INTO installation_event (kind, at, words) VALUES ('backup', $1, $2)
       ON CONFLICT (kind) DO UPDATE SET at = excluded.at, words = excluded.words`,
      [manifest.madeAt, `${rows} rows of ${manifest.tables.length} tables`],
    );
    return manifest;
  } finally {
    await db.end();
  }
}

/**
 * Reads a backup into a prepared database in which nobody has done anything yet; all of it or nothing.
 *
 * @throws StartRefusal when the backup is damaged or of another version, or when the database holds something.
 */
export async function restoreDatabase(
  ownerUrl: string,
  folder: string,
  onTable: (kept: TableKept) => void = () => {},
): Promise<Manifest> {
  const manifest = await readManifest(folder);
  const db = await connect(ownerUrl);
  try {
    await inTransaction(db, '', async () => {
      const present = await tablesOf(db);
      const forced = await forcedTables(db);
      // COPY does not write where row-level security binds; outside this transaction it binds the owner all the while.
      for (const table of forced) await db.query(`ALTER TABLE ${named(table)} NO FORCE ROW LEVEL SECURITY`);
      mustFit(manifest, await migrationsOf(db), present);
      for (const { table } of present) {
        const { rowCount } = await db.query(`SELECT 1 FROM ${named(table)} LIMIT 1`);
        if (rowCount)
          throw new StartRefusal(`The database is not empty (${table} holds rows): restore into a new one. Nothing was changed.`);
      }
      // What triggers would write is part of the backup.
      for (const { table } of present) await db.query(`ALTER TABLE ${named(table)} DISABLE TRIGGER USER`);
      for (const kept of inOrder(manifest.tables, await referencesOf(db))) {
        await readTable(db, kept, folder);
        onTable(kept);
      }
      for (const { table } of present) await db.query(`ALTER TABLE ${named(table)} ENABLE TRIGGER USER`);
      for (const table of forced) await db.query(`ALTER TABLE ${named(table)} FORCE ROW LEVEL SECURITY`);
    });
    // The planner takes tables for empty until they are analysed.
    await db.query('ANALYZE');
    return manifest;
  } finally {
    await db.end();
  }
}

async function readManifest(folder: string): Promise<Manifest> {
  const text = await readFile(join(folder, 'manifest.json'), 'utf8').catch(() => null);
  if (text === null)
    throw new StartRefusal(`There is no whole backup in ${folder}: its manifest.json is missing. Nothing was changed.`);
  try {
    const manifest = JSON.parse(text) as Manifest;
    if (manifest.format === FORMAT && Array.isArray(manifest.tables)) return manifest;
  } catch {}
  throw new StartRefusal(`The manifest.json in ${folder} is damaged or of a newer version. Nothing was changed.`);
}

function mustFit(manifest: Manifest, migrations: readonly string[], present: readonly { readonly table: string }[]): void {
  const missing = manifest.migrations.filter((name) => !migrations.includes(name));
  if (missing.length > 0)
    throw new StartRefusal(
      `The backup was made by a newer version of Heatround (it has "${missing[0]}"): restore it with that version. Nothing was changed.`,
    );
  const added = migrations.filter((name) => !manifest.migrations.includes(name));
  if (added.length > 0)
    throw new StartRefusal(
      `The backup was made by an older version of Heatround (it lacks "${added[0]}"): restore it with that version, then start this one, which brings it up to date. Nothing was changed.`,
    );
  const known = new Set(present.map(({ table }) => table));
  const strange = manifest.tables.find(({ table }) => !known.has(table));
  if (strange) throw new StartRefusal(`The backup holds the unknown table ${strange.table}. Nothing was changed.`);
}

async function migrationsOf(db: pg.Client): Promise<string[]> {
  const { rows } = await db.query(`SELECT migration_name AS name FROM ${BOOKKEEPING} WHERE finished_at IS NOT NULL ORDER BY 1`);
  return rows.map(({ name }) => name as string);
}

/** Tables with the columns that are written; those that the database computes are not. */
async function tablesOf(db: pg.Client): Promise<{ table: string; columns: string[] }[]> {
  const { rows } = await db.query(
    `SELECT n.nspname || '.' || c.relname AS "table", array_agg(a.attname::text ORDER BY a.attnum) AS columns
     FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
       JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped AND a.attgenerated = ''
     WHERE c.relkind = 'r' AND n.nspname = ANY ($1) AND c.relname <> $2 GROUP BY 1 ORDER BY 1`,
    [SCHEMAS, BOOKKEEPING],
  );
  return rows.map(({ table, columns }) => ({ table: table as string, columns: columns as string[] }));
}

async function forcedTables(db: pg.Client): Promise<string[]> {
  const { rows } = await db.query(
    `SELECT n.nspname || '.' || c.relname AS "table" FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
     WHERE c.relkind = 'r' AND c.relforcerowsecurity AND n.nspname = ANY ($1)`,
    [SCHEMAS],
  );
  return rows.map(({ table }) => table as string);
}

async function makePolicies(db: pg.Client): Promise<void> {
  const { rows } = await db.query(
    `SELECT n.nspname || '.' || c.relname AS "table" FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
     WHERE c.relkind = 'r' AND c.relrowsecurity AND n.nspname = ANY ($1)
       AND NOT EXISTS (SELECT 1 FROM pg_policy p WHERE p.polrelid = c.oid AND p.polname = 'owner_copies')`,
    [SCHEMAS],
  );
  for (const { table } of rows)
    await db.query(
      `CREATE POLICY owner_copies ON ${named(table as string)} TO CURRENT_USER
         USING (current_setting('app.copies_all', true) = 'yes') WITH CHECK (current_setting('app.copies_all', true) = 'yes')`,
    );
}

const passBySecurity = (db: pg.Client) => db.query(`SELECT set_config('app.copies_all', 'yes', true)`);

/** Counts and hashes what passes; a row of COPY's text is one line. */
function measuring() {
  const hash = createHash('sha256');
  let rows = 0;
  const stream = new Transform({
    transform(chunk: Buffer, _encoding, done) {
      hash.update(chunk);
      for (let at = chunk.indexOf(10); at >= 0; at = chunk.indexOf(10, at + 1)) rows++;
      done(null, chunk);
    },
  });
  return { stream, result: () => ({ rows, sha256: hash.digest('hex') }) };
}

const columnsOf = (columns: readonly string[]): string => columns.map(quoted).join(', ');

async function writeTable(db: pg.Client, table: string, columns: readonly string[], folder: string): Promise<TableKept> {
  const file = `${table}.copy.gz`;
  const measure = measuring();
  const rows = db.query(copyTo(`COPY ${named(table)} (${columnsOf(columns)}) TO STDOUT`));
  await pipeline(rows, measure.stream, createGzip({ level: 4 }), createWriteStream(join(folder, file), { mode: 0o600 }));
  return { table, columns, ...measure.result(), file };
}

async function readTable(db: pg.Client, kept: TableKept, folder: string): Promise<void> {
  const measure = measuring();
  const into = db.query(copyFrom(`COPY ${named(kept.table)} (${columnsOf(kept.columns)}) FROM STDIN`));
  await pipeline(createReadStream(join(folder, kept.file)), createGunzip(), measure.stream, into).catch((error) => {
    if ((error as { code?: string }).code?.startsWith('Z_') || (error as { code?: string }).code === 'ENOENT')
      throw damaged(kept);
    throw error;
  });
  const { rows, sha256 } = measure.result();
  if (rows !== kept.rows || sha256 !== kept.sha256) throw damaged(kept);
}

const damaged = ({ file }: TableKept): StartRefusal =>
  new StartRefusal(`The file ${file} of the backup is damaged: it is not what was written. Nothing was changed.`);

async function referencesOf(db: pg.Client): Promise<Map<string, string[]>> {
  const { rows } = await db.query(
    `SELECT DISTINCT n.nspname || '.' || c.relname AS "table", m.nspname || '.' || d.relname AS needs
     FROM pg_constraint k JOIN pg_class c ON c.oid = k.conrelid JOIN pg_namespace n ON n.oid = c.relnamespace
       JOIN pg_class d ON d.oid = k.confrelid JOIN pg_namespace m ON m.oid = d.relnamespace
     WHERE k.contype = 'f' AND c.oid <> d.oid`,
  );
  const needs = new Map<string, string[]>();
  for (const row of rows) needs.set(row.table, [...(needs.get(row.table) ?? []), row.needs]);
  return needs;
}

/** Every table after those that it refers to. */
function inOrder(tables: readonly TableKept[], needs: ReadonlyMap<string, readonly string[]>): TableKept[] {
  const left = new Map(tables.map((kept) => [kept.table, kept]));
  const order: TableKept[] = [];
  while (left.size > 0) {
    const next = [...left.values()].find(({ table }) => (needs.get(table) ?? []).every((needed) => !left.has(needed)));
    if (!next) throw new Error(`tables refer to each other in a circle: ${[...left.keys()].join(', ')}`);
    order.push(next);
    left.delete(next.table);
  }
  return order;
}
