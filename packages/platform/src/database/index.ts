/**
 * The one way to the database. It exports two doors and no client: `inTenant` opens a transaction that sees one organisation,
 * `acrossTenants` one that sees memberships and what lags behind, under another database role and with a reason in the log.
 * What always holds: nothing is read or written without an organisation; announcements go out only after the commit.
 */
import { PrismaPg } from '@prisma/adapter-pg';
import type { Logger } from '../log/index.ts';
import { Prisma, PrismaClient } from './generated/client.ts';

declare const tenant: unique symbol;
declare const sweep: unique symbol;

/** Handle of a transaction inside one organisation; nobody else can make one. */
export type TenantDb = Prisma.TransactionClient & { readonly [tenant]: true };
/** Handle of a transaction across organisations, with the few rights of the sweep role. */
export type SweepDb = Prisma.TransactionClient & { readonly [sweep]: true };

/** Composable SQL: values become parameters. `sql` as a template, `sql.join`, `sql.empty`. */
export const sql = Object.assign(Prisma.sql, { join: Prisma.join, empty: Prisma.empty, raw: Prisma.raw });
export type Sql = Prisma.Sql;

/** What a transaction must know of the caller. */
export interface TenantScope {
  readonly organisationId: string;
  /** Null: all sites. */
  readonly siteIds: readonly string[] | null;
}

/** Something that holds from now on, told after the commit to whoever reacts. */
export interface Announcement {
  readonly name: string;
  readonly payload: unknown;
}

/** A transaction: its handle, and what to tell once it is committed. */
export interface Unit {
  readonly db: TenantDb;
  announce(name: string, payload: unknown): void;
}

export interface Database {
  /**
   * Runs the work in one transaction that sees only the organisation of the scope. Keep it short: no mail, no file, no waiting. Where
   * two transactions wait for each other, the database ends one of them, and its work begins again from the start: so the work
   * changes nothing outside of itself.
   * @example await database.inTenant(scope, ({ db }) => db.site.findMany())
   */
  inTenant<T>(scope: TenantScope, work: (unit: Unit) => Promise<T>): Promise<T>;
  /** The same in one transaction of the sweep role. The reason is logged. */
  acrossTenants<T>(reason: string, work: (db: SweepDb) => Promise<T>): Promise<T>;
  /** Resolves when both roles can reach the database. */
  ping(): Promise<void>;
  /** Resolves when no migration is under way or failed; the runner has applied all of this build before anything is opened. */
  migrationsAreDone(): Promise<void>;
  close(): Promise<void>;
}

export interface DatabaseOptions {
  readonly appUrl: string;
  readonly sweepUrl: string;
  readonly log: Logger;
  /** Called after each commit that announced something; must not throw. */
  readonly afterCommit?: (organisationId: string, announcements: readonly Announcement[]) => void;
  readonly connections?: number;
}

const TRANSACTION = { maxWait: 10_000, timeout: 30_000 };
/** Two in each other's way are apart after one try nearly always; a third and fourth are for crowds. */
const TRIES = 4;
/** Deadlock and serialization failure: nothing was done, and the same work may succeed now. */
const IN_EACH_OTHERS_WAY = ['40P01', '40001'];

/** Opens the pools of both roles; connections are made on first use. */
export function openDatabase({ appUrl, sweepUrl, log, afterCommit, connections = 10 }: DatabaseOptions): Database {
  const onPoolError = (error: Error) => log.warn({ reason: error.message }, 'a database connection was lost');
  const client = (connectionString: string, max: number) =>
    new PrismaClient({ adapter: new PrismaPg({ connectionString, max }, { onPoolError, onConnectionError: onPoolError }) });
  const app = client(appUrl, connections);
  const across = client(sweepUrl, 4);
  /** Tries again what only stood in the way of something else. */
  const untilApart = async <T>(attempt: () => Promise<T>): Promise<T> => {
    for (let tried = 1; ; tried++) {
      try {
        return await attempt();
      } catch (error) {
        const code = databaseCode(error) ?? '';
        if (tried === TRIES || !IN_EACH_OTHERS_WAY.includes(code)) throw error;
        log.warn({ code, tried }, 'two transactions stood in each other’s way; one begins again');
        await new Promise((resolve) => setTimeout(resolve, Math.random() * 50 * tried));
      }
    }
  };
  return {
    async inTenant(scope, work) {
      const sites = scope.siteIds ? `{${scope.siteIds.join(',')}}` : '';
      const { result, announcements } = await untilApart(() =>
        app.$transaction(async (tx) => {
          await tx.$queryRaw`SELECT set_config('app.organisation_id', ${scope.organisationId}, true), set_config('app.site_ids', ${sites}, true)`;
          const announcements: Announcement[] = [];
          const announce = (name: string, payload: unknown) => void announcements.push({ name, payload });
          return { result: await work({ db: tx as TenantDb, announce }), announcements };
        }, TRANSACTION),
      );
      if (announcements.length > 0) afterCommit?.(scope.organisationId, announcements);
      return result;
    },
    async acrossTenants(reason, work) {
      log.debug({ reason }, 'across organisations');
      return untilApart(() => across.$transaction((tx) => work(tx as SweepDb), TRANSACTION));
    },
    async ping() {
      await Promise.all([app.$queryRaw`SELECT 1`, across.$queryRaw`SELECT 1`]);
    },
    async migrationsAreDone() {
      const [state] = await across.$queryRaw<{ open: number }[]>`
        SELECT count(*)::int AS open FROM _prisma_migrations WHERE finished_at IS NULL AND rolled_back_at IS NULL`;
      if (!state || state.open > 0) throw new Error('a migration is not finished');
    },
    async close() {
      await Promise.all([app.$disconnect(), across.$disconnect()]);
    },
  };
}

/** SQLSTATE of a refused statement, whichever way the client wrapped it; null for other failures. */
export function databaseCode(error: unknown): string | null {
  const seen = error as {
    code?: string;
    meta?: { code?: string; driverAdapterError?: { cause?: { originalCode?: string } } };
  } | null;
  return seen?.meta?.driverAdapterError?.cause?.originalCode ?? seen?.meta?.code ?? null;
}
