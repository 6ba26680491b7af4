import { randomUUID } from 'node:crypto';
import { checkLimitSet, type LimitSet, Problem, type Quantity, sideOf } from '@heatround/domain';
import { type Sql, sql, type TenantDb, type TenantScope } from '@heatround/platform/database';
import { defineJob } from '@heatround/platform/jobs';
import { type Deps, mustBeAllowed, now, type Scope } from '../deps/index.ts';
import { insertLimits, type LimitDraft, limitsOf } from '../limits/index.ts';
import { STANDS } from '../readings/index.ts';
import { endRoutes, touchedRoutes } from '../rounds/index.ts';
import { type ImportPayload, importPayload } from './check.job.ts';
import { pointsTold } from './facts.ts';
import { stateOf, wrongStep } from './steps.ts';
import { type ImportView, viewOf } from './views.ts';

/** So long after it was brought in a file can be taken back. */
export const UNDO_MS = 24 * 3_600_000;
/** Facts taken back in one transaction. */
const FACTS_AT_ONCE = 5000;
const MOST_EXAMPLES = 20;
/** Points told in one announcement. */
const POINTS_AT_ONCE = 1000;

/** What goes and what stays when a file is taken back. */
export interface Undo {
  /** Counts: readings, work, assets, points, limits, routes. */
  readonly goes: Readonly<Record<string, number>>;
  readonly stays: Readonly<Record<string, number>>;
  /** The first of those that stay, and why. */
  readonly examples: readonly { readonly name: string; readonly why: string }[];
}

/**
 * What keeps a thing. Facts go unless somebody's finding or order names them, or another file says the same; things of the register go
 * unless somebody built on them.
 */
const WHY = {
  'other-file': 'another file that stands brought it in as well',
  'by-hand': 'it was handed in before the file came',
  named: 'a finding or an order names it',
  changed: 'somebody changed it since',
  limits: 'its limits were changed since',
  walked: 'somebody changed it since, or has one of its rounds',
  points: 'a point was added to it since',
  work: 'work was recorded on it since',
  order: 'a finding or an order stands on it',
  route: 'it is a stop of a route, or was asked for',
  window: 'a shutdown window is planned for it',
  twin: 'it is compared with another point',
  read: 'it was read or answered since',
} as const;
type Why = keyof typeof WHY;

const here = (alias: string): Sql => sql`${sql.raw(alias)}.organisation_id = current_organisation()`;
const BROUGHT_IN = sql`IN ('created', 'duplicate')`;

/** Why a fact f of this import stays; null: it goes. */
const whyFactStays = (importId: string): Sql => sql`CASE
  WHEN EXISTS (SELECT 1 FROM import_row o JOIN import i ON i.organisation_id = o.organisation_id AND i.id = o.import_id
    WHERE ${here('o')} AND o.fact_id = f.id AND o.import_id <> ${importId}::uuid AND i.state IN ('brought-in', 'bringing-in')
      AND o.outcome ->> 'outcome' ${BROUGHT_IN}) THEN 'other-file'
  WHEN NOT EXISTS (SELECT 1 FROM import_row o WHERE ${here('o')} AND o.fact_id = f.id AND o.outcome ->> 'outcome' = 'created') THEN 'by-hand'
  WHEN EXISTS (SELECT 1 FROM finding n WHERE ${here('n')} AND n.point_id = f.point_id AND (n.fact_id = f.id
      OR EXISTS (SELECT 1 FROM finding_evidence e WHERE ${here('e')} AND e.finding_id = n.id AND e.fact_id = f.id)))
    OR EXISTS (SELECT 1 FROM work_order w WHERE ${here('w')} AND w.point_id = f.point_id AND f.id IN (w.before_fact, w.after_fact)) THEN 'named'
  END`;

/** Is fact f one that stands and does not go with this import? */
const staysStanding = (importId: string): Sql => sql`${STANDS} AND (
  NOT EXISTS (SELECT 1 FROM import_row o WHERE ${here('o')} AND o.fact_id = f.id AND o.import_id = ${importId}::uuid AND o.outcome ->> 'outcome' ${BROUGHT_IN})
  OR ${whyFactStays(importId)} IS NOT NULL)`;

const madeHere = (importId: string, what: 'asset' | 'point' | 'limits', id: Sql): Sql =>
  sql`EXISTS (SELECT 1 FROM import_made m WHERE ${here('m')} AND m.import_id = ${importId}::uuid AND m.what = ${what} AND m.id = ${id})`;

/** Why a point p that this import made stays; null: it goes. */
const whyPointStays = (importId: string): Sql => sql`CASE
  WHEN p.version > 1 THEN 'changed'
  WHEN EXISTS (SELECT 1 FROM limit_set l WHERE ${here('l')} AND l.point_id = p.id AND NOT ${madeHere(importId, 'limits', sql`l.id`)}) THEN 'limits'
  WHEN EXISTS (SELECT 1 FROM finding n WHERE ${here('n')} AND n.point_id = p.id)
    OR EXISTS (SELECT 1 FROM work_order w WHERE ${here('w')} AND w.point_id = p.id) THEN 'order'
  WHEN EXISTS (SELECT 1 FROM route_stop s WHERE ${here('s')} AND s.point_id = p.id)
    OR EXISTS (SELECT 1 FROM extra_stop s WHERE ${here('s')} AND s.point_id = p.id) THEN 'route'
  WHEN EXISTS (SELECT 1 FROM point_twin t WHERE ${here('t')} AND t.point_id = p.id)
    OR EXISTS (SELECT 1 FROM point_twin t WHERE ${here('t')} AND t.twin_id = p.id) THEN 'twin'
  WHEN EXISTS (SELECT 1 FROM fact f WHERE ${here('f')} AND f.point_id = p.id AND f.kind = 'reading-taken' AND ${staysStanding(importId)})
    OR EXISTS (SELECT 1 FROM fact f WHERE ${here('f')} AND f.point_id = p.id AND f.kind = 'stop-answered')
    OR EXISTS (SELECT 1 FROM handed_over h WHERE ${here('h')} AND h.state = 'waiting' AND h.point_id = p.id) THEN 'read'
  END`;

/** Why an asset a that this import made stays, by itself or for one of its points; null: it goes with all its points. */
const whyAssetStays = (importId: string): Sql => sql`CASE
  WHEN a.version > 1 THEN 'changed'
  WHEN EXISTS (SELECT 1 FROM point p WHERE ${here('p')} AND p.asset_id = a.id AND p.taken_back_by IS NULL
    AND NOT ${madeHere(importId, 'point', sql`p.id`)}) THEN 'points'
  WHEN EXISTS (SELECT 1 FROM fact f WHERE ${here('f')} AND f.asset_id = a.id AND f.kind IN ('work-recorded', 'put-right')
    AND ${staysStanding(importId)})
    OR EXISTS (SELECT 1 FROM handed_over h WHERE ${here('h')} AND h.state = 'waiting' AND h.asset_id = a.id) THEN 'work'
  WHEN EXISTS (SELECT 1 FROM shutdown_window s WHERE ${here('s')} AND s.asset_id = a.id) THEN 'window'
  ELSE (SELECT min(w.why) FROM (SELECT ${whyPointStays(importId)} AS why FROM point p WHERE ${here('p')} AND p.asset_id = a.id) w)
  END`;

interface Thing {
  readonly id: string;
  readonly name: string;
  readonly why: Why | null;
}

/** Assets that this import made and nobody took out of service, each with what keeps it. */
const assetsMade = (db: TenantDb, importId: string): Promise<Thing[]> =>
  db.$queryRaw<Thing[]>(sql`
    SELECT a.id, a.tag AS name, ${whyAssetStays(importId)} AS why FROM import_made d
      JOIN asset a ON a.organisation_id = d.organisation_id AND a.id = d.id
    WHERE ${here('d')} AND d.import_id = ${importId}::uuid AND d.what = 'asset' AND a.retired_at IS NULL ORDER BY a.tag`);

/** Points that it made on assets that were there before. */
const pointsMade = (db: TenantDb, importId: string): Promise<Thing[]> =>
  db.$queryRaw<Thing[]>(sql`
    SELECT p.id, a.tag || ' ' || p.letter AS name, ${whyPointStays(importId)} AS why FROM import_made d
      JOIN point p ON p.organisation_id = d.organisation_id AND p.id = d.id
      JOIN asset a ON a.organisation_id = p.organisation_id AND a.id = p.asset_id
    WHERE ${here('d')} AND d.import_id = ${importId}::uuid AND d.what = 'point' AND p.retired_at IS NULL
      AND NOT ${madeHere(importId, 'asset', sql`a.id`)} ORDER BY a.tag, p.letter`);

/** Limit sets that it added to points that were there before, each with what they replaced. */
async function limitsMade(db: TenantDb, importId: string): Promise<(Thing & Replaced)[]> {
  const made = await db.$queryRaw<{ id: string; pointId: string; quantity: Quantity; name: string; isOut: boolean }[]>(sql`
    SELECT l.id, l.point_id AS "pointId", p.quantity, a.tag || ' ' || p.letter AS name, p.retired_at IS NOT NULL AS "isOut" FROM import_made d
      JOIN limit_set l ON l.organisation_id = d.organisation_id AND l.id = d.id
      JOIN point p ON p.organisation_id = l.organisation_id AND p.id = l.point_id
      JOIN asset a ON a.organisation_id = p.organisation_id AND a.id = p.asset_id
    WHERE ${here('d')} AND d.import_id = ${importId}::uuid AND d.what = 'limits' AND NOT ${madeHere(importId, 'point', sql`p.id`)}
    ORDER BY a.tag, p.letter, l.version`);
  const sets = await limitsOf(db, [...new Set(made.map(({ pointId }) => pointId))]);
  const mine = new Set(made.map(({ id }) => id));
  return made.map(({ isOut, pointId, quantity, ...thing }) => {
    const present = sets.get(pointId)!;
    const own = present.find(({ id }) => id === thing.id)!;
    const side = present.filter((set) => sideOf(set) === sideOf(own));
    const earlier = side.filter(({ version }) => version < own.version).sort((a, b) => b.version - a.version);
    // The other side goes back as well, where this file wrote it.
    const standing = present.filter((set) => set === own || !mine.has(set.id));
    const before = { pointId, quantity, own, before: earlier[0] ?? null, standing };
    const isReplaced = isOut || side.some(({ version }) => version > own.version);
    const stays = isReplaced || checkLimitSet(asBefore(before, ''), quantity, standing).length > 0;
    return { ...thing, ...before, why: stays ? ('limits' as const) : null };
  });
}

interface Replaced {
  readonly pointId: string;
  readonly quantity: Quantity;
  readonly own: LimitSet;
  /** Null: the side had no limits. */
  readonly before: LimitSet | null;
  /** Versions of the point that the one to come stands beside. */
  readonly standing: readonly LimitSet[];
}

/** Limits are added, never edited: what stood before comes again as a new version, and a side that had none is withdrawn. */
function asBefore({ own, before }: Replaced, fileName: string): Omit<LimitDraft, 'id' | 'validFrom'> {
  return {
    criterion: own.criterion,
    direction: own.direction,
    holds: own.holds,
    watch: before?.watch ?? null,
    plan: before?.plan ?? null,
    soon: before?.soon ?? null,
    now: before?.now ?? null,
    source: before?.source ?? own.source,
    reason: `As before the file ${fileName}, which was taken back.`,
    reviewOn: before?.reviewOn ?? null,
    origin: before?.origin ?? own.origin,
  };
}

/** Routes that it made and that are still walked. */
async function routesMade(db: TenantDb, importId: string): Promise<Thing[]> {
  const made = await db.$queryRaw<{ id: string }[]>(sql`
    SELECT d.id FROM import_made d WHERE ${here('d')} AND d.import_id = ${importId}::uuid AND d.what = 'route'`);
  const routes = await touchedRoutes(
    db,
    made.map(({ id }) => id),
  );
  return routes.map(({ id, code, isTouched }) => ({ id, name: code, why: isTouched ? ('walked' as const) : null }));
}

/** Facts of the file by kind and by what keeps them, with the first of each. */
function factsTold(db: TenantDb, importId: string): Promise<{ kind: string; why: Why | null; count: number; name: string }[]> {
  return db.$queryRaw(sql`
    SELECT j.kind, j.why, count(*)::int AS count, min(j.name) AS name FROM (
      SELECT f.kind, ${whyFactStays(importId)} AS why,
        to_char(f.taken_at AT TIME ZONE 'UTC', 'YYYY-MM-DD HH24:MI') || ' UTC, ' || coalesce(a.tag, '') || coalesce(' ' || p.letter, '') AS name
      FROM (SELECT DISTINCT r.fact_id FROM import_row r WHERE ${here('r')} AND r.import_id = ${importId}::uuid AND r.fact_id IS NOT NULL
        AND r.outcome ->> 'outcome' ${BROUGHT_IN}) r
        JOIN fact f ON f.organisation_id = current_organisation() AND f.id = r.fact_id
        LEFT JOIN asset a ON a.organisation_id = f.organisation_id AND a.id = f.asset_id
        LEFT JOIN point p ON p.organisation_id = f.organisation_id AND p.id = f.point_id) j
    GROUP BY j.kind, j.why ORDER BY j.kind, j.why`);
}

const without0 = (counts: Record<string, number>) => Object.fromEntries(Object.entries(counts).filter(([, count]) => count > 0));

/** What would go and what would stay; writes nothing. */
async function undoOf(db: TenantDb, importId: string): Promise<Undo> {
  const facts = await factsTold(db, importId);
  const assets = await assetsMade(db, importId);
  const points = await pointsMade(db, importId);
  const limits = await limitsMade(db, importId);
  const routes = await routesMade(db, importId);
  const sum = (kind: string, stays: boolean) =>
    facts.filter((one) => one.kind === kind && (one.why !== null) === stays).reduce((all, { count }) => all + count, 0);
  const count = (things: readonly Thing[], stays: boolean) => things.filter(({ why }) => (why !== null) === stays).length;
  const counts = (stays: boolean) =>
    without0({
      readings: sum('reading-taken', stays),
      work: sum('work-recorded', stays),
      assets: count(assets, stays),
      points: count(points, stays),
      limits: count(limits, stays),
      routes: count(routes, stays),
    });
  const examples = [...assets, ...points, ...limits, ...routes, ...facts].flatMap(({ name, why }) =>
    why === null ? [] : [{ name, why: WHY[why] }],
  );
  return { goes: counts(false), stays: counts(true), examples: examples.slice(0, MOST_EXAMPLES) };
}

/** A file reaches as far as its rows: whoever is narrowed to some sites takes back only what lies within them. */
async function mustSeeAll(db: TenantDb, scope: Scope, importId: string): Promise<void> {
  if (scope.siteIds === null) return;
  const [beyond] = await db.$queryRaw<{ count: number }[]>(sql`
    SELECT count(*)::int AS count FROM (
      SELECT r.outcome ->> 'pointId' AS point, r.outcome ->> 'assetId' AS asset FROM import_row r
      WHERE ${here('r')} AND r.import_id = ${importId}::uuid AND r.outcome IS NOT NULL GROUP BY 1, 2) t
    WHERE (t.point IS NOT NULL AND NOT EXISTS (SELECT 1 FROM point p WHERE ${here('p')} AND p.id = t.point::uuid))
      OR (t.asset IS NOT NULL AND NOT EXISTS (SELECT 1 FROM asset a WHERE ${here('a')} AND a.id = t.asset::uuid))`);
  if (beyond!.count > 0)
    throw new Problem('not-allowed', 'This file reaches sites that you were not given. Somebody who sees them can take it back.');
}

/** May this import be taken back now? Answers with true when it is on its way or done already. */
async function mustBeTime(deps: Deps, scope: Scope, db: TenantDb, importId: string): Promise<boolean> {
  const { state, ranAt } = await stateOf(db, importId);
  if (state === 'taking-back' || state === 'taken-back') return true;
  if (state !== 'brought-in') throw wrongStep('taken back', state);
  if (ranAt === null || now(deps, scope) > ranAt.getTime() + UNDO_MS) {
    const until = ranAt === null ? '' : ` This one was open until ${new Date(ranAt.getTime() + UNDO_MS).toISOString()}.`;
    throw new Problem('import-state', `A file can be taken back for 24 hours after it was brought in.${until}`, [], { state });
  }
  await mustSeeAll(db, scope, importId);
  return false;
}

/**
 * What taking an import back would do, and writes nothing.
 * @throws Problem import-state when it was not brought in or more than 24 hours ago.
 */
export async function previewUndo(deps: Deps, scope: Scope, importId: string): Promise<Undo> {
  mustBeAllowed(scope, 'edit-register');
  return deps.database.inTenant(scope, async ({ db }) => {
    if (!(await mustBeTime(deps, scope, db, importId))) return undoOf(db, importId);
    const [{ undo } = { undo: null }] = await db.$queryRaw<{ undo: Undo | null }[]>(
      sql`SELECT undo FROM import WHERE id = ${importId}::uuid`,
    );
    return undo ?? { goes: {}, stays: {}, examples: [] };
  });
}

/**
 * Takes back what an import brought in and made, where nobody built on it since; answers with what goes and what stays. Its facts stay
 * as they are and count no longer. Asking again for what is on its way or done changes nothing.
 * @throws Problem import-state when it was not brought in or more than 24 hours ago.
 */
export async function undoImport(deps: Deps, scope: Scope, importId: string): Promise<ImportView> {
  mustBeAllowed(scope, 'edit-register');
  return deps.database.inTenant(scope, async ({ db, announce }) => {
    if (await mustBeTime(deps, scope, db, importId)) return viewOf(db, importId);
    await db.$executeRaw(sql`
      UPDATE import SET state = 'taking-back', undo = ${JSON.stringify(await undoOf(db, importId))}::jsonb, undone_by = ${scope.personId}::uuid,
        done_count = 0, version = version + 1
      WHERE id = ${importId}::uuid`);
    announce('import-undo-asked', { importId });
    return viewOf(db, importId);
  });
}

/**
 * Takes an import back, part by part; every part may be done twice, so a worker that dies is followed by one that begins again. It sees
 * the whole organisation: whoever asked was seen to see all of it.
 */
export const undoImportJob = defineJob<ImportPayload, Deps>({
  name: 'undo-import',
  payload: importPayload,
  key: ({ organisationId, importId }) => `${organisationId}/${importId}`,
  retry: { attempts: 5, backoffMs: 1000 },
  async handle(deps, { organisationId, importId }) {
    const whole: TenantScope = { organisationId, siteIds: null };
    const isDue = (db: TenantDb) =>
      db.$queryRaw<{ fileName: string; by: string; offset: bigint }[]>(sql`
      SELECT i.file_name AS "fileName", i.undone_by AS by, o.clock_offset_ms AS offset FROM import i JOIN organisation o USING (organisation_id)
      WHERE i.id = ${importId}::uuid AND i.state = 'taking-back' FOR NO KEY UPDATE OF i`);
    for (let last: number | null = 0; last !== null; )
      last = await deps.database.inTenant(whole, async ({ db }) =>
        (await isDue(db)).length === 0 ? null : takeFactsBack(db, importId, last!),
      );
    await deps.database.inTenant(whole, async ({ db, announce }) => {
      const [due] = await isDue(db);
      if (!due) return;
      const at = new Date(deps.clock.now() + Number(due.offset));
      await holdRegister(db, importId);
      // Counted when it was asked for; what somebody built on since then stays as well.
      const undo = await undoOf(db, importId);
      await takeRegisterBack(db, importId, { organisationId, at, by: due.by, fileName: due.fileName });
      await db.$executeRaw(sql`
        UPDATE import SET state = 'taken-back', undo = ${JSON.stringify(undo)}::jsonb, version = version + 1 WHERE id = ${importId}::uuid`);
      const told = await pointsTold(db, importId);
      for (let start = 0; start < told.length; start += POINTS_AT_ONCE)
        announce('point-changed', { pointIds: told.slice(start, start + POINTS_AT_ONCE) });
    });
    deps.log.info({ organisationId, importId }, 'a file was taken back');
  },
});

/** Takes back the facts of the next rows. @returns the last of these rows; null when there were none. */
async function takeFactsBack(db: TenantDb, importId: string, after: number): Promise<number | null> {
  // An import under way holds this row shared: whichever is first, the other one sees what it did.
  await db.$queryRaw(sql`SELECT 1 FROM organisation WHERE organisation_id = current_organisation() FOR NO KEY UPDATE`);
  const rows = await db.$queryRaw<{ row: number; factId: string | null }[]>(sql`
    SELECT row_number AS row, CASE WHEN outcome ->> 'outcome' ${BROUGHT_IN} THEN fact_id END AS "factId" FROM import_row
    WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid AND row_number > ${after}
    ORDER BY row_number LIMIT ${FACTS_AT_ONCE}`);
  if (rows.length === 0) return null;
  const factIds = rows.flatMap(({ factId }) => factId ?? []);
  await db.$executeRaw(sql`
    INSERT INTO fact_taken_back (organisation_id, fact_id, import_id)
    SELECT f.organisation_id, f.id, ${importId}::uuid FROM fact f
    WHERE ${here('f')} AND f.id = ANY (${factIds}::uuid[]) AND ${whyFactStays(importId)} IS NULL ORDER BY f.id
    ON CONFLICT DO NOTHING`);
  await db.$executeRaw(
    sql`UPDATE import SET done_count = least(row_count, done_count + ${rows.length}) WHERE id = ${importId}::uuid`,
  );
  return rows.at(-1)!.row;
}

/** Holds what the import made: a reading, a stop or a finding to come waits for these rows, and what came before is seen. */
async function holdRegister(db: TenantDb, importId: string): Promise<void> {
  for (const [table, what] of [
    [sql`asset`, 'asset'],
    [sql`point`, 'point'],
  ] as const)
    await db.$queryRaw(sql`
      SELECT 1 FROM ${table} x JOIN import_made m ON m.organisation_id = x.organisation_id AND m.id = x.id
      WHERE ${here('m')} AND m.import_id = ${importId}::uuid AND m.what = ${what} ORDER BY x.id FOR UPDATE OF x`);
}

/** Takes out of service and out of sight what the import made and nobody built on. */
async function takeRegisterBack(
  db: TenantDb,
  importId: string,
  { organisationId, at, by, fileName }: { organisationId: string; at: Date; by: string; fileName: string },
): Promise<void> {
  const goes = (things: readonly Thing[]) => things.flatMap(({ id, why }) => (why === null ? [id] : []));
  await endRoutes(db, goes(await routesMade(db, importId)), at);
  const scope = { organisationId, personId: by };
  for (const { why, ...limits } of await limitsMade(db, importId)) {
    if (why !== null) continue;
    const { pointId, quantity, standing } = limits;
    const draft = { ...asBefore(limits, fileName), id: randomUUID(), validFrom: at.getTime() };
    await insertLimits(db, scope, [{ pointId, quantity, draft }], standing);
  }
  const assets = goes(await assetsMade(db, importId));
  const points = goes(await pointsMade(db, importId));
  await db.$executeRaw(sql`
    UPDATE asset SET retired_at = ${at}, retired_reason = ${`Taken back with the file ${fileName}`}, retired_by = ${by}::uuid,
      taken_back_by = ${importId}::uuid, version = version + 1
    WHERE id = ANY (${assets}::uuid[])`);
  await db.$executeRaw(sql`UPDATE point SET retired_at = ${at} WHERE asset_id = ANY (${assets}::uuid[]) AND retired_at IS NULL`);
  await db.$executeRaw(
    sql`UPDATE point SET retired_at = ${at}, taken_back_by = ${importId}::uuid WHERE id = ANY (${points}::uuid[])`,
  );
}
