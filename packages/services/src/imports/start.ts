import { createHash } from 'node:crypto';
import { Problem } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, now, type Scope } from '../deps/index.ts';
import { breathe, type FileRow, partsOf, readCsv } from './csv.ts';
import { type ImportKind, isRegisterKind } from './mapping.ts';
import { type ImportView, viewOf } from './views.ts';

/** One row of a register is looked at beside all others, so such a file is held in memory. */
export const MOST_ASSET_ROWS = 50_000;

/**
 * Takes a file: its rows are stored as they are, nothing is brought in. The same id with the same text is the same import, also when
 * the first attempt broke off half way.
 * @throws Problem invalid-request or too-large saying what was expected of the file.
 */
export async function startImport(
  { database, ...deps }: Deps,
  scope: Scope,
  file: { id: string; kind: ImportKind; fileName: string; text: string },
): Promise<ImportView> {
  mustBeAllowed(scope, 'edit-register');
  const hash = await hashOf(file);
  const known = await database.inTenant(scope, ({ db }) => knownAs(db, file.id));
  mustBeSameFile(known, hash);
  if (known && known.state !== 'staging') return database.inTenant(scope, ({ db }) => viewOf(db, file.id));

  // Read once to the end before anything is stored: a file with a bad end leaves nothing behind.
  const { columns, separator, rowCount } = await readCsv(file.text, async () => {});
  if (isRegisterKind(file.kind) && rowCount > MOST_ASSET_ROWS) {
    throw new Problem(
      'too-large',
      `A register file takes at most ${MOST_ASSET_ROWS} rows; split it between assets. Nothing was kept.`,
    );
  }
  await database.inTenant(scope, async ({ db }) => {
    await db.$executeRaw(sql`
      INSERT INTO import (organisation_id, id, kind, file_name, state, columns, separator, text_hash, row_count, created_by, created_at)
      VALUES (${scope.organisationId}::uuid, ${file.id}::uuid, ${file.kind}, ${file.fileName}, 'staging', ${JSON.stringify(columns)}::jsonb,
        ${separator}, decode(${hash}, 'hex'), ${rowCount}, ${scope.personId}::uuid, ${new Date(now(deps, scope))}::timestamptz)
      ON CONFLICT (organisation_id, id) DO NOTHING`);
    mustBeSameFile(await knownAs(db, file.id), hash);
  });
  await readCsv(file.text, (rows) => database.inTenant(scope, ({ db }) => stage(db, scope, file.id, rows)));
  return database.inTenant(scope, async ({ db }) => {
    await db.$executeRaw(sql`
      UPDATE import SET state = 'uploaded' WHERE id = ${file.id}::uuid AND state = 'staging' AND text_hash = decode(${hash}, 'hex')`);
    return viewOf(db, file.id);
  });
}

async function hashOf({ kind, text }: { kind: ImportKind; text: string }): Promise<string> {
  const hash = createHash('sha256').update(`${kind}\n`);
  // In UTF-16, since a part may end between the halves of a character.
  for (const part of partsOf(text)) {
    hash.update(part, 'utf16le');
    await breathe();
  }
  return hash.digest('hex');
}

async function knownAs(db: TenantDb, importId: string): Promise<{ state: string; hash: string } | null> {
  const [found] = await db.$queryRaw<{ state: string; hash: string }[]>(
    sql`SELECT state, encode(text_hash, 'hex') AS hash FROM import WHERE id = ${importId}::uuid`,
  );
  return found ?? null;
}

function mustBeSameFile(known: { hash: string } | null, hash: string): void {
  if (!known || known.hash === hash) return;
  throw new Problem('invalid-request', 'This id belongs to another file. Nothing was kept.', [
    { pointer: '#/id', detail: 'expected a new id for a new file' },
  ]);
}

/** Rows that an attempt before this one stored are the same, since the text is. */
async function stage(db: TenantDb, scope: Scope, importId: string, rows: readonly FileRow[]): Promise<void> {
  await db.$executeRaw(sql`
    INSERT INTO import_row (organisation_id, import_id, row_number, cells)
    SELECT ${scope.organisationId}::uuid, ${importId}::uuid, r.row, ARRAY(SELECT jsonb_array_elements_text(r.cells))
    FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb) AS r(row int, cells jsonb)
    ON CONFLICT DO NOTHING`);
}
