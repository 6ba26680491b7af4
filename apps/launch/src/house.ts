/** What the whole service and its single parts have in common: how each thing is opened, and that it is closed again. */
import { existsSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { type Accounts, openAccounts } from '@heatround/platform/accounts';
import { systemClock } from '@heatround/platform/clock';
import type { Config } from '@heatround/platform/config';
import { openDatabase } from '@heatround/platform/database';
import { type Jobs, openJobs } from '@heatround/platform/jobs';
import type { Logger } from '@heatround/platform/log';
import { type Mailer, openMailer } from '@heatround/platform/mail';
import { openMetrics } from '@heatround/platform/metrics';
import type { Deps } from '@heatround/services/deps';
import { isEmpty } from '@heatround/services/identity';
import { inviteFirst } from '@heatround/services/people';
import { reactTo } from '@heatround/services/reactions';
import { type DatabaseUrls, prepareDatabase } from '../../../packages/platform/src/database/migrate.ts';

const root = resolve(import.meta.dirname, '../../..');
export const MIGRATIONS = join(root, 'prisma/migrations');

/** A start under way. */
export interface House {
  readonly config: Config;
  readonly log: Logger;
  readonly end: End;
  /** Opens one thing, remembers how to close it, and goes no further once the end was asked for. */
  open<T>(name: string, work: Promise<T> | T, close: (one: T) => Promise<unknown>): Promise<T>;
}

export interface End {
  reason: string | null;
  asked: Promise<void>;
  now(reason: string): void;
}

export interface OpenDeps extends Deps {
  readonly config: Config;
  readonly accounts: Accounts;
  readonly jobs: Jobs;
  readonly mailer: Mailer;
  readonly publicUrl: string;
}

/** Brings the database to this version. */
export async function migrate({ config, log }: House, ownerUrl: string, secret: string): Promise<DatabaseUrls> {
  const { urls, applied } = await prepareDatabase({
    ownerUrl,
    migrationsFolder: MIGRATIONS,
    secret,
    rolePrefix: config.databaseRolePrefix,
  });
  if (applied.length > 0) log.info({ applied }, 'database changed for this version');
  return urls;
}

/** Database, accounts and queue, as requests and jobs use them. */
export async function openDeps(
  { config, log, open }: House,
  urls: Pick<DatabaseUrls, 'app' | 'sweep'>,
  secret: string,
): Promise<OpenDeps> {
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
  const { publicUrl, smtpUrl, mailFrom, dataFolder } = config;
  const mailer = openMailer({ smtpUrl, from: mailFrom, folder: join(dataFolder, 'mail') });
  return { config, log, clock: systemClock, database, accounts, jobs, mailer, publicUrl, metrics: openMetrics() };
}

/** Folder of the built client; null in a checkout without it. */
export function builtClient(): string | null {
  const folder = join(root, 'apps/web/dist');
  return existsSync(join(folder, 'index.html')) ? folder : null;
}

/** An empty installation begins with the organisation that the settings name; without any, it says how to begin. */
export async function beginFirst(deps: OpenDeps): Promise<void> {
  const { first, demo, publicUrl } = deps.config;
  if (first === undefined) {
    if (demo === 'never' && (await isEmpty(deps)))
      console.log('This installation is empty: set FIRST_ORGANISATION and FIRST_ADMINISTRATOR, then start again.');
    return;
  }
  const token = await inviteFirst(deps, first);
  if (token !== null) console.log(`${first.administrator} begins here, within 14 days: ${publicUrl}/invitation#${token}`);
}

/** Names the demo's people at the keyboard. */
export function sayDemo(signIns: readonly { name: string; email: string; password: string }[]): void {
  for (const signIn of signIns) console.log(`  ${signIn.name.padEnd(32)} ${signIn.email}  ${signIn.password}`);
}
