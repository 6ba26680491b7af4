/**
 * Brings a database to the state this build needs: the roles, the migrations of `prisma/migrations`, the job queue's tables. Safe to
 * run at every start, twice, or by two starts at once: everything happens under one lock, each migration is one transaction, and the
 * bookkeeping is Prisma's own table, so that `prisma migrate status` and `migrate dev` agree with it.
 *
 * Roles. Migrations name two roles, which only collect rights and cannot sign in: `heatround_app` and `heatround_sweep`. The service
 * signs in as `<prefix>_app_login` and `<prefix>_sweep_login`, members of these. Neither owns a table, neither passes by row-level
 * security. Their passwords are derived from the installation's secret, so that nobody has to keep them.
 */
import { createHash, createHmac, randomUUID } from 'node:crypto';
import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { runMigrations } from 'bullmq';
import pg from 'pg';
import { StartRefusal } from '../config/start-refusal.ts';

/** Where each part of the service signs in. */
export interface DatabaseUrls {
  /** Owns the tables; migrations only. */
  owner: string;
  /** Requests and jobs: one organisation at a time. */
  app: string;
  /** Signing in and finding due work across organisations. */
  sweep: string;
}

export interface PrepareOptions {
  /** Address of the database, as its owner. */
  ownerUrl: string;
  /** Folder with one folder per migration, each holding `migration.sql`. */
  migrationsFolder: string;
  /** The installation's secret. */
  secret: string;
  /** Begin of the names of the two users; two installations on one server need different ones. */
  rolePrefix?: string;
}

export interface PreparedDatabase {
  urls: DatabaseUrls;
  /** Names of the migrations that were applied by this call. */
  applied: string[];
}

/** The roles that migrations grant rights to. */
export const APP_ROLE = 'heatround_app';
export const SWEEP_ROLE = 'heatround_sweep';

/** Prisma's own advisory lock, so that its command line and this runner also exclude each other. */
const MIGRATION_LOCK = 72707369;
const QUEUE_SCHEMA = 'bullmq';
const quoted = pg.escapeIdentifier;

/**
 * Makes the roles, applies what is missing and answers with the three addresses.
 *
 * @throws StartRefusal when the database belongs to a newer version, when a migration was edited, or when the owner may not make roles.
 */
export async function prepareDatabase(options: PrepareOptions): Promise<PreparedDatabase> {
  const { ownerUrl, migrationsFolder, secret, rolePrefix = 'heatround' } = options;
  const client = await connect(ownerUrl);
  try {
    await client.query('SELECT pg_advisory_lock($1)', [MIGRATION_LOCK]);
    const logins = loginsOf(secret, rolePrefix);
    await retryOnRace(() => ensureRoles(client, ownerUrl, logins));
    const applied = await applyMigrations(client, migrationsFolder);
    await prepareQueue(client);
    return { urls: { owner: ownerUrl, ...serviceUrls({ databaseUrl: ownerUrl, secret, rolePrefix }) }, applied };
  } finally {
    await client.end();
  }
}

/**
 * Where requests, jobs and sweeps sign in, without asking the database. Of the address only host, port and database count, so that
 * a part which needs no owner need not know the owner's password.
 */
export function serviceUrls(of: {
  databaseUrl: string;
  secret: string;
  rolePrefix: string;
}): Pick<DatabaseUrls, 'app' | 'sweep'> {
  const [app, sweep] = loginsOf(of.secret, of.rolePrefix);
  return { app: signInAs(of.databaseUrl, app), sweep: signInAs(of.databaseUrl, sweep) };
}

/**
 * Waits until another process has brought the database to the state this build needs.
 *
 * @param sweepUrl as `serviceUrls` gives it; that user may read the bookkeeping.
 * @throws StartRefusal when that did not happen in time, or when the database belongs to a newer version.
 */
export async function awaitPrepared(options: {
  sweepUrl: string;
  migrationsFolder: string;
  patienceMs: number;
  /** Asked between two looks: true gives up waiting without a word. */
  isEnded(): boolean;
  /** Told once, when it is not ready at the first look. */
  onWait(why: string): void;
}): Promise<void> {
  const migrations = await readMigrations(options.migrationsFolder);
  const until = Date.now() + options.patienceMs;
  for (let isFirst = true; ; isFirst = false) {
    const state = await missingIn(options.sweepUrl, migrations).catch((error: unknown) => {
      if (error instanceof StartRefusal) throw error;
      return error instanceof Error ? error.message : String(error);
    });
    if (Array.isArray(state) && state.length === 0) return;
    if (options.isEnded()) return;
    const why = Array.isArray(state) ? `it lacks ${state.length} changes, the first of them "${state[0]}"` : state;
    if (isFirst) options.onWait(why);
    if (Date.now() > until) {
      throw new StartRefusal(
        `The database is not ready for this version (${why}): run the part "migrate" first, with the same HEATROUND_SECRET and DATABASE_ROLE_PREFIX.`,
      );
    }
    await new Promise((resolve) => setTimeout(resolve, 500));
  }
}

/** Names of migrations of this build that are not applied. */
async function missingIn(url: string, migrations: readonly Migration[]): Promise<string[]> {
  const client = new pg.Client({ connectionString: url, connectionTimeoutMillis: 5_000 });
  client.on('error', () => {});
  try {
    await client.connect();
    const { rows } = await client.query<{ name: string }>(
      'SELECT migration_name AS name FROM _prisma_migrations WHERE finished_at IS NOT NULL AND rolled_back_at IS NULL',
    );
    const applied = rows.map(({ name }) => name);
    mustNotBeNewer(applied, migrations);
    return migrations.map(({ name }) => name).filter((name) => !applied.includes(name));
  } finally {
    await client.end().catch(() => {});
  }
}

function mustNotBeNewer(applied: readonly string[], migrations: readonly Migration[]): void {
  const known = new Set(migrations.map(({ name }) => name));
  const foreign = applied.find((name) => !known.has(name));
  if (foreign !== undefined)
    throw new StartRefusal(
      `The database holds the change "${foreign}" of a newer version of Heatround: update this version, or point HEATROUND_DATA (or DATABASE_URL) at other data.`,
    );
}

async function connect(ownerUrl: string): Promise<pg.Client> {
  const client = new pg.Client({ connectionString: ownerUrl, connectionTimeoutMillis: 10_000 });
  client.on('error', () => {}); // a lost connection also fails the query that waits for it
  try {
    await client.connect();
    return client;
  } catch (error) {
    const { host } = new URL(ownerUrl);
    const reason = error instanceof Error && error.message ? error.message : String((error as { code?: string }).code ?? error);
    throw new StartRefusal(`The database at ${host} cannot be used (${reason}): check DATABASE_URL and that the server runs.`);
  }
}

interface Login {
  role: string;
  name: string;
  password: string;
}

function loginsOf(secret: string, rolePrefix: string): readonly [Login, Login] {
  return [
    { role: APP_ROLE, name: `${rolePrefix}_app_login`, password: derivePassword(secret, 'database app') },
    { role: SWEEP_ROLE, name: `${rolePrefix}_sweep_login`, password: derivePassword(secret, 'database sweep') },
  ];
}

function derivePassword(secret: string, purpose: string): string {
  return createHmac('sha256', secret).update(purpose).digest('base64url');
}

function signInAs(ownerUrl: string, login: Login): string {
  const url = new URL(ownerUrl);
  url.username = login.name;
  url.password = login.password;
  return url.href;
}

/** Roles belong to the whole server while our lock belongs to one database: two databases prepared at once can still collide. */
async function retryOnRace(work: () => Promise<void>): Promise<void> {
  for (let attempt = 1; ; attempt++) {
    try {
      return await work();
    } catch (error) {
      const code = (error as { code?: string }).code ?? '';
      const collided = ['42710', '23505', 'XX000', '40001'].includes(code);
      if (!collided || attempt === 10) throw error;
      await new Promise((resolve) => setTimeout(resolve, 20 * attempt));
    }
  }
}

async function ensureRoles(client: pg.Client, ownerUrl: string, logins: readonly Login[]): Promise<void> {
  await client.query('BEGIN');
  try {
    for (const login of logins) {
      await ensureRole(client, login.role, 'NOLOGIN');
      const made = await ensureRole(client, login.name, `LOGIN PASSWORD ${pg.escapeLiteral(login.password)}`);
      if (!made && !(await canSignIn(signInAs(ownerUrl, login)))) {
        await client.query(`ALTER ROLE ${quoted(login.name)} LOGIN PASSWORD ${pg.escapeLiteral(login.password)}`);
      }
      await ensureMember(client, login);
      await setHowToAsk(client, login.name);
    }
    await client.query('COMMIT');
  } catch (error) {
    await client.query('ROLLBACK').catch(() => {});
    if ((error as { code?: string }).code !== '42501') throw error;
    const names = logins.flatMap((login) => [login.role, login.name]).join(', ');
    throw new StartRefusal(
      `The database user of DATABASE_URL may not make or change the roles ${names}: give it CREATEROLE, or set another DATABASE_ROLE_PREFIX if another installation made them.`,
    );
  }
}

/** @returns whether the role had to be made. */
async function ensureRole(client: pg.Client, name: string, options: string): Promise<boolean> {
  const { rows } = await client.query<{ safe: boolean }>(
    'SELECT NOT (rolsuper OR rolbypassrls OR rolcreatedb OR rolcreaterole) AS safe FROM pg_roles WHERE rolname = $1',
    [name],
  );
  const role = rows[0];
  const harmless = 'NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE';
  if (!role) await client.query(`CREATE ROLE ${quoted(name)} ${harmless} ${options}`);
  else if (!role.safe) await client.query(`ALTER ROLE ${quoted(name)} ${harmless}`);
  return !role;
}

/**
 * Pages are made of many small questions: starting helpers for one of them costs more than answering it. And they ask for the first few
 * of an order, of which the planner believes there are few in all, not knowing the organisation: with the usual price of a page out of
 * turn, meant for turning disks, it then reads and sorts a whole table. A value that somebody has set for the role stays; so do roles
 * that somebody else has made and the owner may not change.
 */
const OF_ASKING = { max_parallel_workers_per_gather: '0', random_page_cost: '1.1' } as const;

async function setHowToAsk(client: pg.Client, name: string): Promise<void> {
  const { rows } = await client.query<{ config: string[] | null }>(
    'SELECT rolconfig AS config FROM pg_roles WHERE rolname = $1',
    [name],
  );
  const set = new Set((rows[0]?.config ?? []).map((entry) => entry.split('=')[0]));
  for (const [setting, value] of Object.entries(OF_ASKING)) {
    if (set.has(setting)) continue;
    await client.query('SAVEPOINT how_to_ask');
    try {
      await client.query(`ALTER ROLE ${quoted(name)} SET ${setting} = ${value}`);
    } catch (error) {
      if ((error as { code?: string }).code !== '42501') throw error;
      await client.query('ROLLBACK TO SAVEPOINT how_to_ask');
    }
  }
}

async function ensureMember(client: pg.Client, login: Login): Promise<void> {
  const { rows } = await client.query<{ member: boolean; connects: boolean }>(
    `SELECT pg_has_role($1, $2, 'MEMBER') AS member, has_database_privilege($1, current_database(), 'CONNECT') AS connects`,
    [login.name, login.role],
  );
  if (!rows[0]?.member) await client.query(`GRANT ${quoted(login.role)} TO ${quoted(login.name)}`);
  if (!rows[0]?.connects) {
    const { rows: databases } = await client.query<{ name: string }>('SELECT current_database() AS name');
    await client.query(`GRANT CONNECT ON DATABASE ${quoted(databases[0]!.name)} TO ${quoted(login.role)}`);
  }
}

async function canSignIn(url: string): Promise<boolean> {
  const client = new pg.Client({ connectionString: url, connectionTimeoutMillis: 5_000 });
  client.on('error', () => {});
  try {
    await client.connect();
    return true;
  } catch {
    return false;
  } finally {
    await client.end().catch(() => {});
  }
}

interface Migration {
  name: string;
  sql: string;
  checksum: string;
}

async function readMigrations(folder: string): Promise<Migration[]> {
  const entries = await readdir(folder, { withFileTypes: true });
  const names = entries.filter((entry) => entry.isDirectory()).map((entry) => entry.name);
  return Promise.all(
    names.sort().map(async (name) => {
      const sql = await readFile(join(folder, name, 'migration.sql'), 'utf8');
      return { name, sql, checksum: createHash('sha256').update(sql).digest('hex') };
    }),
  );
}

const BOOKKEEPING = `CREATE TABLE IF NOT EXISTS _prisma_migrations (
  id VARCHAR(36) PRIMARY KEY NOT NULL, checksum VARCHAR(64) NOT NULL, finished_at TIMESTAMPTZ, migration_name VARCHAR(255) NOT NULL,
  logs TEXT, rolled_back_at TIMESTAMPTZ, started_at TIMESTAMPTZ NOT NULL DEFAULT now(), applied_steps_count INTEGER NOT NULL DEFAULT 0)`;

async function applyMigrations(client: pg.Client, folder: string): Promise<string[]> {
  const migrations = await readMigrations(folder);
  if (migrations.length === 0) throw new Error(`no migrations in ${folder}`);
  await client.query(BOOKKEEPING);
  const { rows } = await client.query<{ migration_name: string; checksum: string; finished_at: Date | null }>(
    'SELECT migration_name, checksum, finished_at FROM _prisma_migrations WHERE rolled_back_at IS NULL',
  );
  mustNotBeNewer(
    rows.map((row) => row.migration_name),
    migrations,
  );
  for (const row of rows) {
    if (row.finished_at === null) {
      throw new StartRefusal(
        `The migration "${row.migration_name}" was begun by hand and never finished: see "npx prisma migrate resolve".`,
      );
    }
  }
  const done = new Map(rows.map((row) => [row.migration_name, row.checksum]));
  const applied: string[] = [];
  for (const migration of migrations) {
    const checksum = done.get(migration.name);
    if (checksum === undefined) {
      await applyMigration(client, migration);
      applied.push(migration.name);
    } else if (checksum !== migration.checksum) {
      throw new StartRefusal(
        `The migration "${migration.name}" was edited after it was applied: restore the file and add a new migration instead.`,
      );
    }
  }
  return applied;
}

/** One transaction with its bookkeeping: a process killed half-way leaves nothing behind. */
async function applyMigration(client: pg.Client, migration: Migration): Promise<void> {
  await client.query('BEGIN');
  try {
    await client.query(migration.sql);
    await client.query(
      `INSERT INTO _prisma_migrations (id, checksum, migration_name, started_at, finished_at, applied_steps_count)
       VALUES ($1, $2, $3, now(), clock_timestamp(), 1)`,
      [randomUUID(), migration.checksum, migration.name],
    );
    await client.query('COMMIT');
  } catch (error) {
    await client.query('ROLLBACK').catch(() => {});
    if (error instanceof Error) error.message = `migration ${migration.name}: ${error.message}`;
    throw error;
  }
}

/** The queue's tables live beside ours and are made by the owner; the queue makes one sequence per queue at first use. */
async function prepareQueue(client: pg.Client): Promise<void> {
  await runMigrations(client, QUEUE_SCHEMA);
  const schema = quoted(QUEUE_SCHEMA);
  const role = quoted(APP_ROLE);
  const { rows } = await client.query<{ missing: boolean }>(
    `SELECT NOT has_schema_privilege($1, $2, 'CREATE')
       OR bool_or(NOT has_table_privilege($1, c.oid, 'SELECT, INSERT, UPDATE, DELETE')) AS missing
     FROM pg_class c WHERE c.relnamespace = $2::regnamespace AND c.relkind IN ('r', 'p')`,
    [APP_ROLE, QUEUE_SCHEMA],
  );
  if (rows[0]?.missing === false) return;
  await client.query('BEGIN');
  await client.query(`GRANT USAGE, CREATE ON SCHEMA ${schema} TO ${role}`);
  await client.query(`GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA ${schema} TO ${role}`);
  await client.query(`GRANT USAGE, SELECT, UPDATE ON ALL SEQUENCES IN SCHEMA ${schema} TO ${role}`);
  await client.query(`GRANT EXECUTE ON ALL FUNCTIONS IN SCHEMA ${schema} TO ${role}`);
  await client.query('COMMIT');
}
