import { sql } from '@heatround/platform/database';
import type { FailedJob, JobCounts, Jobs } from '@heatround/platform/jobs';
import type { Mailer } from '@heatround/platform/mail';
import { mustBeAllowed, now, type Scope } from '../deps/index.ts';
import type { WithAccounts } from './with-accounts.ts';

/** Points that lag behind are counted no further. */
const MOST_COUNTED = 1000;

export interface EngineRoom {
  readonly now: Date;
  readonly database: boolean;
  readonly migrations: boolean;
  readonly queue: JobCounts | null;
  readonly failed: { readonly name: string; readonly at: Date; readonly attempts: number }[];
  readonly behind: { readonly points: number; readonly isMore: boolean; readonly since: Date | null };
  readonly lastBackup: { readonly at: Date; readonly words: string } | null;
  readonly people: { readonly members: number; readonly administratorsWithoutSecondFactor: number; readonly ended: number };
  readonly lettersInTrouble: number;
  readonly mailIsSent: boolean;
}

/** How the installation is, as far as an administrator of one organisation may know, and how things stand in that organisation. */
export async function engineRoom(
  deps: WithAccounts & { readonly jobs?: Pick<Jobs, 'counts' | 'failed'> | undefined; readonly mailer: Pick<Mailer, 'kind'> },
  scope: Scope,
): Promise<EngineRoom> {
  mustBeAllowed(scope, 'administer');
  const at = new Date(now(deps, scope));
  const orElse = <T, E>(work: Promise<T>, otherwise: E): Promise<T | E> => work.catch(() => otherwise);
  const [database, migrations, queue, failed, lastBackup, own] = await Promise.all([
    orElse(
      deps.database.ping().then(() => true),
      false,
    ),
    orElse(
      deps.database.migrationsAreDone().then(() => true),
      false,
    ),
    deps.jobs === undefined ? null : orElse(deps.jobs.counts(), null),
    deps.jobs === undefined ? [] : orElse(deps.jobs.failed(10), [] as FailedJob[]),
    deps.database.acrossTenants('the last backup', (db) =>
      db.$queryRaw<{ at: Date; words: string }[]>(sql`SELECT at, words FROM installation_event WHERE kind = 'backup'`),
    ),
    deps.database.inTenant(scope, async ({ db }) => ({
      behind: await db.$queryRaw<{ points: number; since: Date | null }[]>(sql`
        SELECT count(*)::int AS points, min(b.due_since) AS since FROM (
          SELECT due_since FROM point_revision WHERE organisation_id = current_organisation() AND revision > concluded
          LIMIT ${MOST_COUNTED + 1}) b`),
      members: await db.$queryRaw<{ id: string; isAdministrator: boolean; hasEnded: boolean }[]>(sql`
        SELECT person_id AS id, 'administrator' = ANY (roles) AS "isAdministrator",
          ends_at IS NOT NULL AND ends_at <= ${at}::timestamptz AS "hasEnded"
        FROM membership WHERE organisation_id = current_organisation() AND NOT 'service-key' = ANY (roles)`),
      letters: await db.$queryRaw<{ count: number }[]>(sql`
        SELECT count(*)::int AS count FROM (SELECT 1 FROM mail WHERE organisation_id = current_organisation()
          AND state IN ('refused', 'bounced', 'unsure') AND state_at > now() - interval '30 days' LIMIT ${MOST_COUNTED}) t`),
    })),
  ]);
  const here = own.members.filter(({ hasEnded }) => !hasEnded);
  const states = await deps.accounts.statesOf(here.filter(({ isAdministrator }) => isAdministrator).map(({ id }) => id));
  const [behind] = own.behind;
  return {
    now: at,
    database,
    migrations,
    queue,
    failed: failed.map(({ name, failedAt, attempts }) => ({ name, at: new Date(failedAt), attempts })),
    behind: {
      points: Math.min(behind!.points, MOST_COUNTED),
      isMore: behind!.points > MOST_COUNTED,
      since: behind!.since,
    },
    lastBackup: lastBackup[0] ?? null,
    people: {
      members: here.length,
      administratorsWithoutSecondFactor: [...states.values()].filter(({ hasSecondFactor }) => !hasSecondFactor).length,
      ended: own.members.length - here.length,
    },
    lettersInTrouble: own.letters[0]!.count,
    mailIsSent: deps.mailer.kind === 'smtp',
  };
}
