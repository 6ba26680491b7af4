import { Problem, type Role } from '@heatround/domain';
import { sql, type TenantDb, type TenantScope } from '@heatround/platform/database';
import { type Deps, notFound, now, type Scope } from '../deps/index.ts';
import type { FileRow, Separator } from './csv.ts';
import type { CellError, ImportKind, ImportMapping } from './mapping.ts';
import type { Told } from './understood.ts';

export const IMPORT_STATES = [
  'uploaded',
  'checking',
  'checked',
  'bringing-in',
  'brought-in',
  'refused',
  'taking-back',
  'taken-back',
] as const;
export type ImportState = (typeof IMPORT_STATES)[number];

/** Rows read and written in one transaction: short, so that nobody waits. */
export const CHUNK = 500;

const NEXT: Readonly<Record<ImportState, string>> = {
  uploaded: 'Check it with a mapping first.',
  checking: 'It is being checked; wait until it is checked.',
  checked: 'Bring it in, or check it again with another mapping.',
  'bringing-in': 'It is being brought in; wait until it is done.',
  'brought-in': 'It is brought in already. The same file as a new import brings in only what is missing.',
  'taking-back': 'It is being taken back; wait until it is done.',
  'taken-back': 'It was taken back. Bring in the file anew as a new import.',
  refused: 'Nothing was brought in. Check it again, then bring it in, with or without its bad rows.',
};

/** Refuses a step that does not follow from the present state, naming what may. */
export function wrongStep(wanted: string, state: ImportState): Problem {
  return new Problem('import-state', `This import cannot be ${wanted} now: it is ${state}. ${NEXT[state]}`, [], { state });
}

/** An import under way in the hands of one worker. */
export interface Claimed {
  readonly organisationId: string;
  readonly importId: string;
  readonly kind: ImportKind;
  readonly mapping: ImportMapping;
  readonly columns: readonly string[];
  readonly separator: Separator;
  /** Whoever claims raises it; a worker that lost its claim changes nothing more. */
  readonly version: number;
  readonly rowCount: number;
  readonly doneCount: number;
  readonly skipBadRows: boolean;
  /** The person who asked for it. */
  readonly scope: Scope;
  readonly now: number;
}

/** Another worker took over; what it does counts. */
export class TakenOver extends Error {}

/**
 * Takes an import in this state into one's hands; null when there is nothing to do. A check starts over, a run goes on after the last
 * chunk that was committed.
 */
export async function claim(
  deps: Deps,
  { organisationId, importId }: { organisationId: string; importId: string },
  state: 'checking' | 'bringing-in',
): Promise<Claimed | null> {
  const whole: TenantScope = { organisationId, siteIds: null };
  const row = await deps.database.inTenant(whole, async ({ db }) => {
    const restart = state === 'checking' ? sql`, done_count = 0, bad_count = 0` : sql.empty;
    const [claimed] = await db.$queryRaw<
      (Omit<Claimed, 'scope' | 'organisationId' | 'importId' | 'now'> & {
        askedBy: string;
        name: string | null;
        roles: Role[] | null;
        siteIds: string[] | null;
        offset: bigint;
      })[]
    >(sql`
      WITH claimed AS (
        UPDATE import SET version = version + 1 ${restart} WHERE id = ${importId}::uuid AND state = ${state} RETURNING *)
      SELECT i.kind, i.mapping, i.columns, i.separator, i.version, i.row_count AS "rowCount", i.done_count AS "doneCount",
        i.skip_bad_rows AS "skipBadRows", i.asked_by AS "askedBy", m.name, m.roles, m.site_ids AS "siteIds", o.clock_offset_ms AS offset
      FROM claimed i JOIN organisation o USING (organisation_id)
        LEFT JOIN membership m ON m.organisation_id = i.organisation_id AND m.person_id = i.asked_by`);
    return claimed ?? null;
  });
  if (!row) return null;
  const { askedBy, name, roles, siteIds, offset, ...rest } = row;
  const scope: Scope = {
    organisationId,
    siteIds,
    personId: askedBy,
    name: name ?? 'somebody no longer here',
    roles: roles ?? [],
    clockOffsetMs: Number(offset),
  };
  return { ...rest, organisationId, importId, scope, now: now(deps, scope) };
}

/**
 * Part of every transaction of a job: tells the progress together with the work.
 * @throws TakenOver when another worker has the import, so that nothing of this transaction stays.
 */
export async function advance(db: TenantDb, claimed: Claimed, progress: { done: number; bad?: number }): Promise<void> {
  const moved = await db.$executeRaw(sql`
    UPDATE import SET done_count = ${progress.done}, bad_count = bad_count + ${progress.bad ?? 0}
    WHERE id = ${claimed.importId}::uuid AND version = ${claimed.version}`);
  if (moved === 0) throw new TakenOver();
}

/** Ends the job: the next state with its summary. */
export async function finish(
  db: TenantDb,
  claimed: Claimed,
  state: ImportState,
  summary: Readonly<Record<string, number>> | null,
  told: Told | null = null,
): Promise<void> {
  const moved = await db.$executeRaw(sql`
    UPDATE import SET state = ${state}, summary = coalesce(${summary === null ? null : JSON.stringify(summary)}::jsonb, summary),
      told = coalesce(${told === null ? null : JSON.stringify(told)}::jsonb, told),
      ran_at = ${state === 'brought-in' ? new Date(claimed.now) : null}::timestamptz, version = version + 1
    WHERE id = ${claimed.importId}::uuid AND version = ${claimed.version}`);
  if (moved === 0) throw new TakenOver();
}

/** Rows of the file after a row, in order. */
export function rowsAfter(
  db: TenantDb,
  importId: string,
  row: number,
  most: number,
): Promise<(FileRow & { readonly isBad: boolean })[]> {
  return db.$queryRaw(sql`
    SELECT row_number AS row, cells, errors IS NOT NULL AS "isBad" FROM import_row
    WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid AND row_number > ${row}
    ORDER BY row_number LIMIT ${most}`);
}

/** Number of the n-th row of the file that was worked on; 0 before the first. */
export async function lastRowOf(db: TenantDb, importId: string, doneCount: number): Promise<number> {
  if (doneCount === 0) return 0;
  const [last] = await db.$queryRaw<{ row: number }[]>(sql`
    SELECT row_number AS row FROM import_row WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid
    ORDER BY row_number OFFSET ${doneCount - 1} LIMIT 1`);
  return last?.row ?? 0;
}

export interface RowResult {
  readonly row: number;
  readonly outcome: Readonly<Record<string, unknown>> | null;
  readonly errors: readonly CellError[] | null;
}

/** Writes what became of rows; what an earlier step wrote and this one does not say stays. */
export async function writeResults(db: TenantDb, importId: string, results: readonly RowResult[], keep: boolean): Promise<void> {
  if (results.length === 0) return;
  await db.$executeRaw(sql`
    UPDATE import_row i SET errors = nullif(r.errors, 'null'),
      outcome = CASE WHEN r.outcome = 'null' THEN NULL ELSE coalesce(${keep ? sql`i.outcome` : sql`NULL::jsonb`}, '{}') || r.outcome END
    FROM jsonb_to_recordset(${JSON.stringify(results)}::jsonb) AS r(row int, outcome jsonb, errors jsonb)
    WHERE i.organisation_id = current_organisation() AND i.import_id = ${importId}::uuid AND i.row_number = r.row`);
}

/** Counts over all rows, from what was written for each. Rows of one file that say the same count once. */
export async function factSummary(db: TenantDb, importId: string): Promise<Record<string, number>> {
  const [counts] = await db.$queryRaw<Record<'rows' | 'created' | 'conflict' | 'skipped' | 'existsTwice', number>[]>(sql`
    SELECT count(*) FILTER (WHERE outcome ? 'factId')::int AS rows,
      count(DISTINCT outcome ->> 'factId') FILTER (WHERE outcome ->> 'outcome' = 'created')::int AS created,
      count(*) FILTER (WHERE outcome ->> 'outcome' = 'conflict')::int AS conflict,
      count(*) FILTER (WHERE errors IS NOT NULL)::int AS skipped,
      count(*) FILTER (WHERE outcome ? 'existsTwice')::int AS "existsTwice"
    FROM import_row WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid`);
  const { rows, created, conflict, skipped, existsTwice } = counts!;
  const summary = { created, duplicate: rows - created - conflict, conflict, skipped };
  return existsTwice > 0 ? { ...summary, timesThatExistTwice: existsTwice } : summary;
}

interface ImportNow {
  readonly state: ImportState;
  readonly mapping: ImportMapping | null;
  readonly badCount: number;
  readonly kind: ImportKind;
  readonly columns: string[];
  /** When it was brought in; null: not yet. */
  readonly ranAt: Date | null;
}

/** State and mapping of an import, locked for the step to come. */
export async function stateOf(db: TenantDb, importId: string): Promise<ImportNow> {
  const [found] = await db.$queryRaw<ImportNow[]>(sql`
    SELECT state, mapping, bad_count AS "badCount", kind, columns, ran_at AS "ranAt" FROM import
    WHERE id = ${importId}::uuid AND state <> 'staging' FOR UPDATE`);
  if (!found) throw notFound('import');
  return found;
}

/** Something an import puts into the register. */
export interface Made {
  readonly what: 'asset' | 'point' | 'limits' | 'route';
  readonly id: string;
}

/** Remembers what an import makes, in the transaction that makes it or before. */
export async function noteMade(db: TenantDb, importId: string, made: readonly Made[]): Promise<void> {
  if (made.length === 0) return;
  await db.$executeRaw(sql`
    INSERT INTO import_made (organisation_id, import_id, what, id)
    SELECT current_organisation(), ${importId}::uuid, m.what, m.id FROM jsonb_to_recordset(${JSON.stringify(made)}::jsonb) AS m(what text, id uuid)
    ON CONFLICT DO NOTHING`);
}
