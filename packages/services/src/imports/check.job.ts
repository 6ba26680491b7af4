import { Problem, tagKey } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import * as z from 'zod';
import { type Deps, mustBeAllowed, notFound, type Scope } from '../deps/index.ts';
import type { FileRow } from './csv.ts';
import { doubledTimes, factContext, missingPoints, tryRows } from './facts.ts';
import { checkMapping, type ImportMapping, isRegisterKind, readerOf } from './mapping.ts';
import { checkParts } from './parts.ts';
import { loadRegister, type ReadAsset, readAssets } from './read-assets.ts';
import {
  advance,
  CHUNK,
  type Claimed,
  claim,
  factSummary,
  finish,
  rowsAfter,
  stateOf,
  TakenOver,
  writeResults,
  wrongStep,
} from './steps.ts';
import { listen, tellAssets } from './understood.ts';
import { type ImportView, viewOf } from './views.ts';

export const importPayload = z.object({ organisationId: z.uuid(), importId: z.uuid() });
export type ImportPayload = z.output<typeof importPayload>;

/**
 * Asks for a dry run with a mapping.
 * @throws Problem invalid-request naming everything wrong with the mapping, import-state when it is not the time for it.
 */
export async function checkImport(deps: Deps, scope: Scope, importId: string, mapping: ImportMapping): Promise<ImportView> {
  mustBeAllowed(scope, 'edit-register');
  return deps.database.inTenant(scope, async ({ db, announce }) => {
    const present = await stateOf(db, importId);
    const problems = checkMapping(present.kind, present.columns, mapping);
    if (problems.length > 0)
      throw new Problem('invalid-request', 'The file cannot be read with this mapping; nothing was changed.', problems);
    if (mapping.makeMissing) await mustSeeRoom(db, mapping.makeMissing.roomId);
    if (present.state === 'checking' && JSON.stringify(sortedKeys(present.mapping)) === JSON.stringify(sortedKeys(mapping)))
      return viewOf(db, importId);
    if (!['uploaded', 'checked', 'refused'].includes(present.state)) throw wrongStep('checked', present.state);
    await db.$executeRaw(sql`
      UPDATE import SET state = 'checking', mapping = ${JSON.stringify(mapping)}::jsonb, asked_by = ${scope.personId}::uuid, done_count = 0,
        bad_count = 0, summary = NULL, told = NULL, version = version + 1
      WHERE id = ${importId}::uuid`);
    announce('import-check-asked', { importId });
    return viewOf(db, importId);
  });
}

async function mustSeeRoom(db: TenantDb, roomId: string): Promise<void> {
  const rooms = await db.$queryRaw<{ id: string }[]>(sql`
    SELECT r.id FROM room r JOIN site s ON s.organisation_id = r.organisation_id AND s.id = r.site_id WHERE r.id = ${roomId}::uuid`);
  if (rooms.length === 0) throw notFound('room');
}

function sortedKeys(value: unknown): unknown {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) return value;
  const entries = Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1));
  return Object.fromEntries(entries.map(([key, one]) => [key, sortedKeys(one)]));
}

/** Reads and judges every row exactly as bringing it in would; writes only what it found out. */
export const checkImportJob = defineJob<ImportPayload, Deps>({
  name: 'check-import',
  payload: importPayload,
  key: ({ organisationId, importId }) => `${organisationId}/${importId}`,
  retry: { attempts: 5, backoffMs: 1000 },
  async handle(deps, payload) {
    const claimed = await claim(deps, payload, 'checking');
    if (!claimed) return;
    try {
      if (claimed.kind === 'assets') await checkAssets(deps, claimed);
      else if (isRegisterKind(claimed.kind)) await checkParts(deps, claimed);
      else await checkFacts(deps, claimed);
    } catch (error) {
      if (!(error instanceof TakenOver)) throw error;
    }
  },
});

async function checkFacts({ database }: Deps, claimed: Claimed): Promise<void> {
  const { scope, importId } = claimed;
  const context = await database.inTenant(scope, ({ db }) => factContext(db, claimed, true));
  const understanding = listen(context);
  let last = 0;
  let done = 0;
  for (;;) {
    const tried = await database.inTenant(scope, async ({ db }) => {
      const rows = await rowsAfter(db, importId, last, CHUNK);
      if (rows.length === 0) return null;
      const { results, heard } = await tryRows(db, claimed, context, rows);
      const bad = results.filter(({ errors }) => errors).length;
      await advance(db, claimed, { done: done + rows.length, bad });
      await writeResults(db, importId, results, false);
      return { rows, heard };
    });
    if (tried === null) break;
    understanding.hear(...tried.heard);
    last = tried.rows.at(-1)!.row;
    done += tried.rows.length;
  }
  await database.inTenant(scope, async ({ db }) => {
    const points = await missingPoints(db, importId);
    const assets = new Set(points.flatMap(({ newAssetId }) => newAssetId ?? []));
    const made = claimed.mapping.makeMissing ? { pointsMade: points.length, assetsMade: assets.size } : {};
    const told = understanding.tell(points, await doubledTimes(db, importId));
    await finish(db, claimed, 'checked', { ...(await factSummary(db, importId)), ...made }, told);
  });
}

/** All rows of a register file, read against the register as it is now. */
export async function readRegisterFile(
  { database }: Pick<Deps, 'database'>,
  claimed: Claimed,
): Promise<ReturnType<typeof readAssets> & { rows: (FileRow & { isBad: boolean })[] }> {
  const { organisationId, importId, mapping, columns, separator, now, scope } = claimed;
  const reader = readerOf(mapping, columns, separator);
  return database.inTenant(scope, async ({ db }) => {
    const rows = await rowsAfter(db, importId, 0, claimed.rowCount + 1);
    const keys = [...new Set(rows.map(({ cells }) => tagKey(reader.text(cells, 'tag'))))];
    const context = await loadRegister(db, { organisationId, importId, reader, now, siteIds: scope.siteIds }, keys);
    return { ...readAssets(context, rows), rows };
  });
}

/** What bringing in these assets makes. */
export function registerSummary(assets: readonly ReadAsset[], skipped: number): Record<string, number> {
  const made = (part: 'site' | 'building' | 'room') =>
    new Set(assets.flatMap(({ place }) => (place[part].isNew ? [place[part].id] : []))).size;
  return {
    assetsMade: assets.length,
    pointsMade: assets.reduce((sum, { asset }) => sum + asset.points.length, 0),
    sitesMade: made('site'),
    buildingsMade: made('building'),
    roomsMade: made('room'),
    skipped,
  };
}

async function checkAssets(deps: Deps, claimed: Claimed): Promise<void> {
  const { assets, errors, rows } = await readRegisterFile(deps, claimed);
  const reader = readerOf(claimed.mapping, claimed.columns, claimed.separator);
  const good = assets.filter((asset) => asset.errors.length === 0);
  const comesIn = new Map(good.flatMap((one) => one.rows.map((row) => [row, one.asset.id] as const)));
  for (let start = 0; start < rows.length; start += CHUNK) {
    const chunk = rows.slice(start, start + CHUNK);
    await deps.database.inTenant(claimed.scope, async ({ db }) => {
      const results = chunk.map(({ row }) => ({
        row,
        errors: errors.get(row) ?? null,
        outcome: comesIn.has(row) ? { outcome: 'created', assetId: comesIn.get(row) } : null,
      }));
      await advance(db, claimed, { done: start + chunk.length, bad: results.filter((one) => one.errors).length });
      await writeResults(db, claimed.importId, results, false);
    });
  }
  await deps.database.inTenant(claimed.scope, ({ db }) =>
    finish(db, claimed, 'checked', registerSummary(good, rows.length - comesIn.size), tellAssets(good, reader.decimal)),
  );
}
