import { Problem } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { addPoints } from '../assets/index.ts';
import type { Deps } from '../deps/index.ts';
import { insertLimits } from '../limits/index.ts';
import { createRoute } from '../rounds/index.ts';
import type { FileRow } from './csv.ts';
import { readerOf } from './mapping.ts';
import { type Part, readParts } from './read-parts.ts';
import { advance, CHUNK, type Claimed, finish, type Made, noteMade, type RowResult, rowsAfter, writeResults } from './steps.ts';

/** Parts made in one transaction. */
const PARTS_AT_ONCE = 200;
const MOST_SAMPLES = 3;

const MADE = { point: 'pointsMade', limits: 'limitsMade', route: 'routesMade' } as const;

function summaryOf(parts: readonly Part[], skipped: number): Record<string, number> {
  const summary: Record<string, number> = { duplicate: 0, skipped };
  for (const part of parts) {
    const word = part.isThere ? 'duplicate' : MADE[part.kind];
    summary[word] = (summary[word] ?? 0) + 1;
  }
  return summary;
}

const outcomeOf = (part: Part) => ({ outcome: part.isThere ? 'duplicate' : 'created', ...part.ids });

/** Reads a file of points, limits or routes and says what bringing it in would make; writes only what it found out. */
export async function checkParts(deps: Deps, claimed: Claimed): Promise<void> {
  const { database } = deps;
  const { scope, importId } = claimed;
  const { rows, parts, errors } = await database.inTenant(scope, async ({ db }) => {
    const rows = await rowsAfter(db, importId, 0, claimed.rowCount + 1);
    return { rows, ...(await readParts(db, claimed, rows)) };
  });
  const partOf = new Map(parts.flatMap((part) => part.rows.map((row) => [row, part] as const)));
  for (let start = 0; start < rows.length; start += CHUNK) {
    const results = rows.slice(start, start + CHUNK).map(({ row }): RowResult => {
      const part = partOf.get(row);
      return { row, errors: errors.get(row) ?? null, outcome: part ? outcomeOf(part) : null };
    });
    await database.inTenant(scope, async ({ db }) => {
      await advance(db, claimed, { done: start + results.length, bad: results.filter((one) => one.errors).length });
      await writeResults(db, importId, results, false);
    });
  }
  const { decimal } = readerOf(claimed.mapping, claimed.columns, claimed.separator);
  const samples = parts.slice(0, MOST_SAMPLES).map(({ rows: [row], said }) => `row ${row}: ${said}`);
  const told = { understood: [`The decimal mark is a ${decimal}.`, ...samples], warnings: [] };
  await database.inTenant(scope, ({ db }) => finish(db, claimed, 'checked', summaryOf(parts, rows.length - partOf.size), told));
}

/**
 * Brings them in, part by part, each read once more in the transaction that makes it. What another run of this file made is there
 * already, and what can no longer come in says why.
 */
export async function runParts(deps: Deps, claimed: Claimed): Promise<void> {
  const { database } = deps;
  const { scope, importId } = claimed;
  const { rows, parts, errors } = await database.inTenant(scope, async ({ db }) => {
    const rows = await rowsAfter(db, importId, 0, claimed.rowCount + 1);
    return { rows, ...(await readParts(db, claimed, rows)) };
  });
  const wasBad = new Set(rows.filter(({ isBad }) => isBad).map(({ row }) => row));
  const newlyBad = [...errors].filter(([row]) => !wasBad.has(row)).map(([row, found]) => ({ row, outcome: null, errors: found }));
  if (newlyBad.length > 0) {
    const isRefused = claimed.doneCount === 0 && !claimed.skipBadRows;
    await database.inTenant(scope, async ({ db }) => {
      await advance(db, claimed, { done: claimed.doneCount, bad: newlyBad.length });
      await writeResults(db, importId, newlyBad, false);
      if (isRefused) await finish(db, claimed, 'refused', null);
    });
    if (isRefused) return;
  }
  const byRow = new Map(rows.map((row) => [row.row, row]));
  const coming = parts.filter((part) => !part.rows.some((row) => wasBad.has(row)));
  const made: Part[] = [];
  let done = claimed.doneCount;
  let worked = 0;
  for (const chunk of chunksOf(coming)) {
    const wanted = chunk.flatMap((part) => part.rows.map((row) => byRow.get(row)!));
    worked += wanted.length;
    done = Math.max(done, Math.min(rows.length, worked));
    made.push(
      ...(claimed.kind === 'routes' ? await makeRoutes(deps, claimed, chunk, done) : await makeSet(deps, claimed, wanted, done)),
    );
  }
  await database.inTenant(scope, async ({ db, announce }) => {
    await advance(db, claimed, { done: rows.length });
    const skipped = rows.length - made.reduce((sum, part) => sum + part.rows.length, 0);
    await finish(db, claimed, 'brought-in', summaryOf(await asCounted(db, importId, made), skipped));
    const pointIds = [...new Set(made.flatMap(({ ids }) => ids.pointId ?? []))];
    for (let start = 0; start < pointIds.length; start += 1000)
      announce('point-changed', { pointIds: pointIds.slice(start, start + 1000) });
  });
  deps.log.info({ organisationId: claimed.organisationId, importId, rows: rows.length }, 'a file was brought in');
}

/** Parts in sets of about as many as are made at once; both sides of a point are in one set. */
function chunksOf(parts: readonly Part[]): Part[][] {
  const keyOf = (part: Part) => (part.kind === 'limits' ? part.pointId : '');
  const chunks: Part[][] = [];
  for (const part of [...parts].sort((a, b) => (keyOf(a) < keyOf(b) ? -1 : keyOf(a) > keyOf(b) ? 1 : 0))) {
    const last = chunks.at(-1);
    const isFull =
      last !== undefined && last.length >= PARTS_AT_ONCE && (part.kind !== 'limits' || keyOf(last.at(-1)!) !== keyOf(part));
    if (last === undefined || isFull) chunks.push([part]);
    else last.push(part);
  }
  return chunks;
}

/** A part that a run before a crash made counts as made by this import. */
async function asCounted(db: TenantDb, importId: string, parts: readonly Part[]): Promise<Part[]> {
  const noted = await db.$queryRaw<{ id: string }[]>(sql`
    SELECT id FROM import_made WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid`);
  const own = new Set(noted.map(({ id }) => id));
  return parts.map((part) => (own.has(madeId(part)) ? { ...part, isThere: false } : part));
}

const madeId = (part: Part): string =>
  part.kind === 'point' ? part.point.point.id : part.kind === 'limits' ? part.draft.id : part.route.id;

const notes = (part: Part): Made[] =>
  part.kind === 'point'
    ? [{ what: 'point', id: part.point.point.id }, ...part.point.limits.map(({ id }) => ({ what: 'limits' as const, id }))]
    : part.kind === 'limits'
      ? [{ what: 'limits', id: part.draft.id }]
      : [{ what: 'route', id: part.route.id }];

/** Points or limits of some rows, all in one transaction. */
async function makeSet({ database }: Deps, claimed: Claimed, rows: readonly FileRow[], done: number): Promise<Part[]> {
  const { scope, importId } = claimed;
  return database.inTenant(scope, async ({ db }) => {
    // Two planners get two numbers, and what one of them just wrote is seen.
    const held = await readParts(db, claimed, rows);
    const pointIds = held.parts.flatMap((part) => (part.kind === 'limits' ? [part.pointId] : []));
    if (pointIds.length > 0)
      await db.$queryRaw(sql`SELECT 1 FROM point WHERE id = ANY (${pointIds}::uuid[]) ORDER BY id FOR UPDATE`);
    const { parts, errors } = pointIds.length > 0 ? await readParts(db, claimed, rows) : held;
    const bad = [...errors].map(([row, found]) => ({ row, outcome: null, errors: found }));
    await advance(db, claimed, { done, bad: bad.length });
    const fresh = parts.filter(({ isThere }) => !isThere);
    await addPoints(
      db,
      scope,
      fresh.flatMap((part) => (part.kind === 'point' ? [part] : [])),
    );
    await insertLimits(
      db,
      scope,
      fresh.flatMap((part) => (part.kind === 'limits' ? [part] : [])),
    );
    await noteMade(db, importId, fresh.flatMap(notes));
    await writeResults(db, importId, bad, false);
    return parts;
  });
}

/** Routes one by one: each makes its rounds ahead in the same step. */
async function makeRoutes(deps: Deps, claimed: Claimed, parts: readonly Part[], done: number): Promise<Part[]> {
  const { scope, importId } = claimed;
  const made: Part[] = [];
  for (const part of parts) {
    if (part.kind !== 'route') continue;
    await deps.database.inTenant(scope, async ({ db }) => {
      await advance(db, claimed, { done });
      if (!part.isThere) await noteMade(db, importId, notes(part));
    });
    try {
      if (!part.isThere) await createRoute(deps, scope, part.route);
      made.push(part);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      const errors = [
        {
          column: claimed.mapping.columns.code ?? null,
          expected: error.message,
          found: 'a route that was good when it was checked',
        },
      ];
      await deps.database.inTenant(scope, async ({ db }) => {
        await advance(db, claimed, { done, bad: part.rows.length });
        await writeResults(
          db,
          importId,
          part.rows.map((row) => ({ row, outcome: null, errors })),
          false,
        );
      });
    }
  }
  return made;
}
