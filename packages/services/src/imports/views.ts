import { sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, type Scope } from '../deps/index.ts';
import type { Separator } from './csv.ts';
import { type CellError, type ImportKind, type ImportMapping, proposeMapping } from './mapping.ts';
import type { ImportState } from './steps.ts';
import type { Told } from './understood.ts';
import type { Undo } from './undo.job.ts';

export interface ImportLine {
  readonly id: string;
  readonly kind: ImportKind;
  readonly fileName: string;
  readonly state: ImportState;
  readonly columns: string[];
  readonly mapping: ImportMapping | null;
  readonly rowCount: number;
  readonly doneCount: number;
  readonly badCount: number;
  readonly summary: Record<string, number> | null;
  /** Until when it can be taken back; null where that was never or is no longer asked. */
  readonly undoUntil: Date | null;
  /** What going back took with it and what stays. */
  readonly undo: Undo | null;
  readonly createdAt: Date;
}

export interface ImportView extends ImportLine {
  readonly sample: string[][];
  readonly proposal: ImportMapping;
  readonly errors: (CellError & { readonly row: number })[];
  readonly understood: readonly string[];
  readonly warnings: readonly string[];
}

const SAMPLE = 20;
const MOST_ERRORS = 100;

const LINE = sql`id, kind, file_name AS "fileName", state, columns, mapping, row_count AS "rowCount", done_count AS "doneCount",
  bad_count AS "badCount", summary, CASE WHEN state = 'brought-in' THEN ran_at + interval '24 hours' END AS "undoUntil", undo, created_at AS "createdAt"`;

/** One import with its first rows and its first errors. */
export async function viewOf(db: TenantDb, importId: string): Promise<ImportView> {
  const [line] = await db.$queryRaw<(ImportLine & { separator: Separator; told: Told | null })[]>(
    sql`SELECT ${LINE}, separator, told FROM import WHERE id = ${importId}::uuid AND state <> 'staging'`,
  );
  if (!line) throw notFound('import');
  const sample = await db.$queryRaw<{ cells: string[] }[]>(sql`
    SELECT cells FROM import_row WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid
    ORDER BY row_number LIMIT ${SAMPLE}`);
  // While a check is under way the rows ahead of it still hold what the check before found.
  const bad =
    line.state === 'checking'
      ? []
      : await db.$queryRaw<{ row: number; errors: CellError[] }[]>(sql`
    SELECT row_number AS row, errors FROM import_row
    WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid AND errors IS NOT NULL
    ORDER BY row_number LIMIT ${MOST_ERRORS}`);
  const { separator: _, told, ...rest } = line;
  const rows = sample.map(({ cells }) => cells);
  return {
    ...rest,
    sample: rows,
    proposal: proposeMapping(line.kind, line.columns, rows),
    errors: bad.flatMap(({ row, errors }) => errors.map((error) => ({ row, ...error }))).slice(0, MOST_ERRORS),
    understood: told?.understood ?? [],
    warnings: told?.warnings ?? [],
  };
}

/** State, progress and errors of one import. */
export async function getImport({ database }: Deps, scope: Scope, importId: string): Promise<ImportView> {
  mustBeAllowed(scope, 'edit-register');
  return database.inTenant(scope, ({ db }) => viewOf(db, importId));
}

/** Imports of the organisation, newest first. */
export async function listImports({ database }: Deps, scope: Scope, pageSize: number): Promise<ImportLine[]> {
  mustBeAllowed(scope, 'edit-register');
  return database.inTenant(scope, ({ db }) =>
    db.$queryRaw<ImportLine[]>(sql`
      SELECT ${LINE} FROM import WHERE organisation_id = current_organisation() AND state <> 'staging'
      ORDER BY created_at DESC, id DESC LIMIT ${pageSize}`),
  );
}
