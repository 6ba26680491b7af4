import { randomUUID } from 'node:crypto';
import { Problem } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import { addPoint, insertAssets, insertBuilding, insertRoom, insertSite, type NewAsset, type NewPoint } from '../assets/index.ts';
import { type Deps, idOf, mustBeAllowed, type Scope } from '../deps/index.ts';
import { type ImportPayload, importPayload, readRegisterFile, registerSummary } from './check.job.ts';
import { bringInRows, factContext, missingPoints, pointsTold } from './facts.ts';
import { type ImportMapping, isRegisterKind } from './mapping.ts';
import { runParts } from './parts.ts';
import type { ReadAsset } from './read-assets.ts';
import type { MissingPoint } from './read-facts.ts';
import {
  advance,
  CHUNK,
  type Claimed,
  claim,
  factSummary,
  finish,
  lastRowOf,
  noteMade,
  rowsAfter,
  stateOf,
  TakenOver,
  writeResults,
  wrongStep,
} from './steps.ts';
import { knownTags } from './tags.ts';
import { type ImportView, viewOf } from './views.ts';

/** Assets with their points and limits made in one transaction. */
const ASSETS_AT_ONCE = 200;
/** Points told in one announcement. */
const POINTS_AT_ONCE = 1000;

/**
 * Asks for a checked file to be brought in. With bad rows it is refused and nothing comes in, unless they are to be skipped.
 * Asking again for what is under way or done changes nothing.
 */
export async function runImport(deps: Deps, scope: Scope, importId: string, skipBadRows: boolean): Promise<ImportView> {
  mustBeAllowed(scope, 'edit-register');
  return deps.database.inTenant(scope, async ({ db, announce }) => {
    const { state, badCount } = await stateOf(db, importId);
    if (state === 'bringing-in' || state === 'brought-in' || (state === 'refused' && !skipBadRows)) return viewOf(db, importId);
    if (state !== 'checked') throw wrongStep('brought in', state);
    const isRefused = badCount > 0 && !skipBadRows;
    await db.$executeRaw(sql`
      UPDATE import SET state = ${isRefused ? 'refused' : 'bringing-in'}, asked_by = ${scope.personId}::uuid, skip_bad_rows = ${skipBadRows},
        done_count = 0, version = version + 1
      WHERE id = ${importId}::uuid`);
    if (!isRefused) announce('import-run-asked', { importId });
    return viewOf(db, importId);
  });
}

/** Brings in a checked file, chunk by chunk; a worker that dies in between is followed by another that goes on behind its last chunk. */
export const runImportJob = defineJob<ImportPayload, Deps>({
  name: 'run-import',
  payload: importPayload,
  key: ({ organisationId, importId }) => `${organisationId}/${importId}`,
  retry: { attempts: 5, backoffMs: 1000 },
  async handle(deps, payload) {
    const claimed = await claim(deps, payload, 'bringing-in');
    if (!claimed) return;
    try {
      if (claimed.kind === 'assets') await runAssets(deps, claimed);
      else if (isRegisterKind(claimed.kind)) await runParts(deps, claimed);
      else await runFacts(deps, claimed);
    } catch (error) {
      if (error instanceof TakenOver) return;
      if (!(error instanceof Problem) || error.code !== 'not-found' || claimed.doneCount > 0) throw error;
      await refuse(deps, claimed, error);
    }
  },
});

/** What the file needs is out of sight since it was checked: nothing comes in, and its first row says why. */
async function refuse({ database }: Deps, claimed: Claimed, problem: Problem): Promise<void> {
  await database.inTenant(claimed.scope, async ({ db }) => {
    const [first] = await rowsAfter(db, claimed.importId, 0, 1);
    const errors = [{ column: null, expected: problem.message, found: 'a file that was good when it was checked' }];
    await advance(db, claimed, { done: 0, bad: 1 });
    await writeResults(db, claimed.importId, [{ row: first!.row, outcome: null, errors }], false);
    await finish(db, claimed, 'refused', null);
  });
}

async function runFacts(deps: Deps, claimed: Claimed): Promise<void> {
  const { database } = deps;
  const { scope, importId } = claimed;
  if (claimed.doneCount === 0 && (await refusedMeanwhile(deps, claimed))) return;
  if (claimed.mapping.makeMissing) await makeMissingPoints(deps, claimed, claimed.mapping.makeMissing);
  const context = await database.inTenant(scope, ({ db }) => factContext(db, claimed, false));
  let done = claimed.doneCount;
  let last = await database.inTenant(scope, ({ db }) => lastRowOf(db, importId, done));
  for (;;) {
    const rows = await database.inTenant(scope, async ({ db }) => {
      const rows = await rowsAfter(db, importId, last, CHUNK);
      if (rows.length === 0) return rows;
      const results = await bringInRows(
        db,
        claimed,
        context,
        rows.filter(({ isBad }) => !isBad),
      );
      await advance(db, claimed, { done: done + rows.length, bad: results.filter(({ errors }) => errors).length });
      await writeResults(db, importId, results, true);
      return rows;
    });
    if (rows.length === 0) break;
    last = rows.at(-1)!.row;
    done += rows.length;
  }
  await database.inTenant(scope, async ({ db, announce }) => {
    const made = claimed.mapping.makeMissing ? await countMade(db, importId) : {};
    await finish(db, claimed, 'brought-in', { ...(await factSummary(db, importId)), ...made });
    const points = await pointsTold(db, importId);
    for (let start = 0; start < points.length; start += POINTS_AT_ONCE) {
      announce('point-changed', { pointIds: points.slice(start, start + POINTS_AT_ONCE) });
    }
  });
  deps.log.info({ organisationId: claimed.organisationId, importId, rows: done }, 'a file was brought in');
}

/**
 * Points that were there when the file was checked and are gone now make the whole file refused, before its first row comes in,
 * unless bad rows are to be skipped.
 */
async function refusedMeanwhile({ database }: Deps, claimed: Claimed): Promise<boolean> {
  const { scope, importId, mapping, skipBadRows } = claimed;
  if (skipBadRows) return false;
  return database.inTenant(scope, async ({ db }) => {
    const gone = await goneSince(db, importId);
    if (gone.length === 0) return false;
    const errors = [
      {
        column: mapping.columns.tag ?? null,
        expected: 'A point of the register; it was there when the file was checked and is retired, moved or gone since.',
        found: 'no such point',
      },
    ];
    const bad = await db.$executeRaw(sql`
      UPDATE import_row SET errors = ${JSON.stringify(errors)}::jsonb, outcome = NULL
      WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid
        AND coalesce(outcome ->> 'pointId', outcome ->> 'assetId') = ANY (${gone})`);
    await advance(db, claimed, { done: 0, bad });
    await finish(db, claimed, 'refused', null);
    return true;
  });
}

/** Ids of points and assets that rows were checked against and that are no longer there. */
async function goneSince(db: TenantDb, importId: string): Promise<string[]> {
  const told = await db.$queryRaw<{ pointId: string | null; assetId: string | null }[]>(sql`
    SELECT DISTINCT outcome ->> 'pointId' AS "pointId", outcome ->> 'assetId' AS "assetId" FROM import_row
    WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid AND outcome ? 'factId'`);
  const points = told.flatMap(({ pointId }) => pointId ?? []);
  const assets = told.flatMap(({ assetId }) => assetId ?? []);
  const there = await db.$queryRaw<{ id: string }[]>(sql`
    SELECT p.id FROM point p JOIN asset a ON a.organisation_id = p.organisation_id AND a.id = p.asset_id
    WHERE p.organisation_id = current_organisation() AND p.id = ANY (${points}::uuid[]) AND p.retired_at IS NULL AND a.retired_at IS NULL
    UNION ALL SELECT id FROM asset WHERE organisation_id = current_organisation() AND id = ANY (${assets}::uuid[]) AND retired_at IS NULL`);
  const made = (await missingPoints(db, importId)).map(({ draft }) => draft.id);
  const known = new Set([...there.map(({ id }) => id), ...made]);
  return [...points, ...assets].filter((id) => !known.has(id));
}

type Make = NonNullable<ImportMapping['makeMissing']>;

/** Makes what the file names and the register still does not know; whatever exists by now is left as it is. */
async function makeMissingPoints(deps: Deps, claimed: Claimed, make: Make): Promise<void> {
  const { database } = deps;
  const { scope, importId } = claimed;
  const wanted = await database.inTenant(scope, ({ db }) => missingPoints(db, importId));
  const byKey = new Map<string, (MissingPoint & { firstAt: string })[]>();
  for (const point of wanted) byKey.set(point.key, [...(byKey.get(point.key) ?? []), point]);
  const keys = [...byKey.keys()];
  for (let start = 0; start < keys.length; start += ASSETS_AT_ONCE) {
    const part = keys.slice(start, start + ASSETS_AT_ONCE);
    const further = await database.inTenant(scope, async ({ db }) => {
      await advance(db, claimed, { done: claimed.doneCount });
      const known = await knownTags(db, part);
      const fresh = part.filter((key) => !known.has(key));
      const assets = fresh.map((key) => newAsset(claimed, make, byKey.get(key)!));
      await insertAssets(db, scope, assets);
      await noteMade(db, importId, assets.flatMap(madeWith));
      const further = part.flatMap((key) => {
        const asset = known.get(key);
        if (!asset?.assetId) return [];
        const has = (letter: string) => asset.points.some(({ point }) => point.letter.toLowerCase() === letter.toLowerCase());
        return byKey
          .get(key)!
          .filter(({ draft }) => !has(draft.letter))
          .map((point) => ({ assetId: asset.assetId!, point: newPoint(make, point) }));
      });
      await noteMade(
        db,
        importId,
        further.flatMap(({ point }) => pointWith(point)),
      );
      return further;
    });
    for (const { assetId, point } of further) await addPoint(deps, scope, assetId, point);
  }
}

/** A point with its limits, and an asset with its points, as made by an import. */
const pointWith = ({ point, limits }: NewPoint) => [
  { what: 'point' as const, id: point.id },
  ...limits.map(({ id }) => ({ what: 'limits' as const, id })),
];
const madeWith = ({ id, points }: NewAsset) => [{ what: 'asset' as const, id }, ...points.flatMap(pointWith)];

function newAsset(claimed: Claimed, make: Make, points: readonly (MissingPoint & { firstAt: string })[]): NewAsset {
  const { tag, key } = points[0]!;
  return {
    id: idOf(claimed.organisationId, claimed.importId, 'asset', key),
    roomId: make.roomId,
    tag,
    name: tag,
    template: null,
    criticality: make.criticality,
    criticalityReason: make.criticalityReason,
    lifeSafety: false,
    hazards: [],
    points: points.map((point) => newPoint(make, point)),
  };
}

/** The limit holds from the first reading on, so that the history is judged by it as well. */
function newPoint(make: Make, { draft, limit, criterion, firstAt }: MissingPoint & { firstAt: string }): NewPoint {
  const figures = { watch: null, plan: null, soon: null, now: null, [make.limitGrade]: limit };
  const { direction, source, reason } = make;
  const limits = [
    {
      id: randomUUID(),
      criterion,
      direction,
      ...figures,
      source,
      reason,
      validFrom: Date.parse(firstAt),
      reviewOn: null,
      origin: 'point' as const,
    },
  ];
  return { point: draft, spot: '', limits };
}

/** What this import made, counted in the register by the ids that only it gives. */
async function countMade(db: TenantDb, importId: string): Promise<Record<string, number>> {
  const wanted = await missingPoints(db, importId);
  const points = wanted.map(({ draft }) => draft.id);
  const assets = wanted.flatMap(({ newAssetId }) => newAssetId ?? []);
  const [counts] = await db.$queryRaw<{ pointsMade: number; assetsMade: number }[]>(sql`
    SELECT (SELECT count(*)::int FROM point WHERE id = ANY (${points}::uuid[])) AS "pointsMade",
      (SELECT count(*)::int FROM asset WHERE id = ANY (${assets}::uuid[])) AS "assetsMade"`);
  return { ...counts! };
}

async function runAssets(deps: Deps, claimed: Claimed): Promise<void> {
  const { database } = deps;
  const { scope, importId } = claimed;
  const { assets, errors, rows } = await readRegisterFile(deps, claimed);
  const good = assets.filter((asset) => asset.errors.length === 0);
  const wasBad = new Set(rows.filter(({ isBad }) => isBad).map(({ row }) => row));
  const newlyBad = rows.flatMap(({ row }) =>
    errors.has(row) && !wasBad.has(row) ? [{ row, outcome: null, errors: errors.get(row)! }] : [],
  );
  if (newlyBad.length > 0) {
    const isRefused = claimed.doneCount === 0 && !claimed.skipBadRows;
    await database.inTenant(scope, async ({ db }) => {
      await advance(db, claimed, { done: claimed.doneCount, bad: newlyBad.length });
      await writeResults(db, importId, newlyBad, false);
      if (isRefused) await finish(db, claimed, 'refused', null);
    });
    if (isRefused) return;
  }
  // What was bad when it was checked stays out, as was shown then.
  const coming = good.filter((asset) => !asset.rows.some((row) => wasBad.has(row)));
  const placed = new Set<string>();
  let done = 0;
  for (let start = 0; start < coming.length; start += ASSETS_AT_ONCE) {
    const part = coming.slice(start, start + ASSETS_AT_ONCE);
    done += part.reduce((sum, asset) => sum + asset.rows.length, 0);
    const newlyPlaced = await database.inTenant(scope, async ({ db }) => {
      await advance(db, claimed, { done });
      const there = await db.$queryRaw<{ id: string }[]>(
        sql`SELECT id FROM asset WHERE id = ANY (${part.map(({ asset }) => asset.id)}::uuid[])`,
      );
      const made = new Set(there.map(({ id }) => id));
      const fresh = part.filter(({ asset }) => !made.has(asset.id));
      const newly = new Set<string>();
      for (const { site, building, room } of placesOf(fresh)) {
        const isDue = ({ id, isNew }: { id: string; isNew: boolean }) =>
          isNew && !placed.has(id) && !newly.has(id) && newly.add(id);
        if (isDue(site)) await insertSite(db, scope, site);
        if (isDue(building)) await insertBuilding(db, scope, { ...building, siteId: site.id });
        if (isDue(room)) await insertRoom(db, scope, { ...room, buildingId: building.id });
      }
      await insertAssets(
        db,
        scope,
        fresh.map(({ asset }) => asset),
      );
      await noteMade(
        db,
        importId,
        fresh.flatMap(({ asset }) => madeWith(asset)),
      );
      return newly;
    });
    for (const id of newlyPlaced) placed.add(id);
  }
  const skipped = rows.length - coming.reduce((sum, asset) => sum + asset.rows.length, 0);
  await database.inTenant(scope, async ({ db }) => {
    await advance(db, claimed, { done: rows.length });
    await finish(db, claimed, 'brought-in', registerSummary(coming, skipped));
  });
  deps.log.info({ organisationId: claimed.organisationId, importId, rows: rows.length }, 'a file was brought in');
}

/** Each room once. */
const placesOf = (assets: readonly ReadAsset[]): ReadAsset['place'][] => [
  ...new Map(assets.map(({ place }) => [place.room.id, place])).values(),
];
