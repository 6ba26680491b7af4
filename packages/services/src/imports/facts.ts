import { completePoint, type Fact, may, tagKey } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { recordFacts, STANDS } from '../readings/index.ts';
import type { FileRow } from './csv.ts';
import { readerOf } from './mapping.ts';
import { type FactContext, type MissingPoint, type ReadRow, readReadings, readWork } from './read-facts.ts';
import type { Claimed, RowResult } from './steps.ts';
import { knownTags } from './tags.ts';
import type { Doubled, Understanding } from './understood.ts';

/** What reading rows of facts needs to know of the whole file. */
export async function factContext(db: TenantDb, claimed: Claimed, isCheck: boolean): Promise<FactContext> {
  const roomId = claimed.mapping.makeMissing?.roomId;
  const [room] = roomId
    ? await db.$queryRaw<{ zone: string }[]>(
        sql`SELECT s.zone FROM room r JOIN site s ON s.organisation_id = r.organisation_id AND s.id = r.site_id WHERE r.id = ${roomId}::uuid`,
      )
    : [];
  const { organisationId, importId, mapping, columns, separator, now } = claimed;
  const reader = readerOf(mapping, columns, separator);
  return {
    organisationId,
    importId,
    reader,
    mapping,
    now,
    missing: isCheck ? new Map() : null,
    missingZone: room?.zone ?? 'UTC',
  };
}

async function readRows(db: TenantDb, claimed: Claimed, context: FactContext, rows: readonly FileRow[]): Promise<ReadRow[]> {
  const keys = [...new Set(rows.map(({ cells }) => tagKey(context.reader.text(cells, 'tag'))))];
  const tags = await knownTags(db, keys);
  return claimed.kind === 'work' ? readWork(context, tags, rows) : readReadings(context, tags, rows);
}

const whereOf = (fact: Fact): { assetId?: string; pointId?: string } => {
  if ('pointId' in fact && fact.pointId) return { pointId: fact.pointId };
  return 'assetId' in fact ? { assetId: fact.assetId } : {};
};

/** Reads rows and says what bringing them in would do, and what a listener should hear of them; writes nothing. */
export async function tryRows(
  db: TenantDb,
  claimed: Claimed,
  context: FactContext,
  rows: readonly FileRow[],
): Promise<{ results: RowResult[]; heard: Parameters<Understanding['hear']> }> {
  const read = await readRows(db, claimed, context, rows);
  const ids = read.flatMap((one) => ('fact' in one ? [one.fact.id] : []));
  const stored = await db.$queryRaw<{ id: string }[]>(
    sql`SELECT f.id FROM fact f WHERE f.id = ANY (${ids}::uuid[]) AND ${STANDS}`,
  );
  const known = new Set(stored.map(({ id }) => id));
  const results = read.map((one) => {
    if ('errors' in one) return { row: one.row, outcome: null, errors: one.errors };
    const outcome = {
      outcome: known.has(one.fact.id) ? 'duplicate' : 'created',
      factId: one.fact.id,
      takenAt: one.fact.takenAt,
      ...whereOf(one.fact),
      ...(one.makes ? { makes: one.makes } : {}),
      ...(one.existsTwice ? { existsTwice: true } : {}),
      ...(one.load === null ? {} : { load: one.load }),
    };
    return { row: one.row, outcome, errors: null };
  });
  return { results, heard: [read, await countNear(db, read, known)] };
}

/** How many new readings lie within five minutes of one that is already at their point. */
async function countNear(db: TenantDb, read: readonly ReadRow[], known: ReadonlySet<string>): Promise<number> {
  const fresh = read.flatMap((one) =>
    'fact' in one && one.fact.kind === 'reading-taken' && !known.has(one.fact.id) ? [one.fact] : [],
  );
  if (fresh.length === 0) return 0;
  const pointIds = fresh.map(({ pointId }) => pointId);
  const times = fresh.map(({ takenAt }) => takenAt);
  const [near] = await db.$queryRaw<{ count: number }[]>(sql`
    SELECT count(*)::int AS count FROM unnest(${pointIds}::uuid[], ${times}::timestamptz[]) AS r(point_id, at) WHERE EXISTS (
      SELECT 1 FROM fact f WHERE f.organisation_id = current_organisation() AND f.point_id = r.point_id AND f.kind = 'reading-taken'
        AND f.taken_at BETWEEN r.at - interval '5 minutes' AND r.at + interval '5 minutes' AND ${STANDS})`);
  return near!.count;
}

/** Times that stand more than once at one point of a checked file, with different content. */
export async function doubledTimes(db: TenantDb, importId: string): Promise<Doubled> {
  const [found] = await db.$queryRaw<Doubled[]>(sql`
    SELECT count(*)::int AS count, min(row)::int AS row FROM (
      SELECT min(row_number) AS row FROM import_row
      WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid AND outcome ? 'pointId' AND outcome ? 'factId'
      GROUP BY outcome ->> 'pointId', outcome ->> 'takenAt' HAVING count(DISTINCT outcome ->> 'factId') > 1) twice`);
  return found!;
}

/** Brings rows in; one that can no longer come in says why, the others stay. */
export async function bringInRows(
  db: TenantDb,
  claimed: Claimed,
  context: FactContext,
  rows: readonly FileRow[],
): Promise<RowResult[]> {
  // Whoever takes another file back waits for this row, or this waits for them: a fact counts as long as one of its files stands.
  await db.$queryRaw(sql`SELECT 1 FROM organisation WHERE organisation_id = current_organisation() FOR SHARE`);
  const read = await readRows(db, claimed, context, rows);
  const good = read.filter((one): one is Exclude<ReadRow, { errors: unknown }> => 'fact' in one);
  const { scope, now } = claimed;
  const recording = { scope, receivedAt: now, mayCorrectAny: may(scope.roles, 'correct-any-reading') };
  const recorded = await recordFacts(
    db,
    recording,
    good.map(({ fact }) => fact),
  );
  const again = await bringBack(
    db,
    good.map(({ fact }) => fact.id),
  );
  const answers = new Map(good.map(({ row }, index) => [row, recorded[index]!]));
  return read.map((one): RowResult => {
    if ('errors' in one) return { row: one.row, outcome: null, errors: one.errors };
    const answer = answers.get(one.row)!;
    if (answer.outcome === 'refused') {
      const errors = [
        { column: context.reader.column('tag'), expected: answer.detail, found: 'a row that was good when it was checked' },
      ];
      return { row: one.row, outcome: null, errors };
    }
    const isNew = answer.outcome === 'duplicate' && again.has(one.fact.id);
    const outcome = {
      outcome: isNew ? 'created' : answer.outcome,
      factId: one.fact.id,
      takenAt: one.fact.takenAt,
      ...whereOf(one.fact),
    };
    return { row: one.row, outcome, errors: null };
  });
}

/** Facts whose file was taken back count again with this one. @returns their ids. */
async function bringBack(db: TenantDb, factIds: readonly string[]): Promise<Set<string>> {
  const again = await db.$queryRaw<{ id: string }[]>(sql`
    DELETE FROM fact_taken_back WHERE organisation_id = current_organisation() AND fact_id = ANY (${[...factIds]}::uuid[]) RETURNING fact_id AS id`);
  return new Set(again.map(({ id }) => id));
}

/**
 * The points that a checked file asks for, with the time of their first reading. Where figures are compared as they are read, the
 * reference load is the usual one of the file's own rows: forecasts are made for it, and at full load the machine may never run.
 */
export async function missingPoints(db: TenantDb, importId: string): Promise<(MissingPoint & { firstAt: string })[]> {
  const rows = await db.$queryRaw<{ makes: MissingPoint }[]>(sql`
    SELECT outcome -> 'makes' AS makes FROM import_row
    WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid AND outcome ? 'makes' ORDER BY row_number`);
  if (rows.length === 0) return [];
  const ids = rows.map(({ makes }) => makes.draft.id);
  const told = await db.$queryRaw<{ id: string; firstAt: string; load: number | null }[]>(sql`
    SELECT outcome ->> 'pointId' AS id, min(outcome ->> 'takenAt') AS "firstAt",
      percentile_cont(0.5) WITHIN GROUP (ORDER BY (outcome ->> 'load')::float8) AS load
    FROM import_row
    WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid AND outcome ->> 'pointId' = ANY (${ids}) GROUP BY 1`);
  const byId = new Map(told.map((one) => [one.id, one]));
  return rows.map(({ makes }) => {
    const { firstAt, load } = byId.get(makes.draft.id)!;
    const { basis, loadFamily } = completePoint(makes.draft);
    if (load === null || basis !== 'raw' || loadFamily === 'none') return { ...makes, firstAt };
    const referenceLoadPercent = Math.min(150, Math.max(1, Math.round(load)));
    return { ...makes, firstAt, draft: { ...makes.draft, referenceLoadPercent } };
  });
}

/** Points that the rows brought in say something about. */
export async function pointsTold(db: TenantDb, importId: string): Promise<string[]> {
  const rows = await db.$queryRaw<{ id: string }[]>(sql`
    SELECT DISTINCT outcome ->> 'pointId' AS id FROM import_row
    WHERE organisation_id = current_organisation() AND import_id = ${importId}::uuid AND outcome ->> 'outcome' = 'created' AND outcome ? 'pointId'
    UNION SELECT p.id::text FROM import_row r JOIN point p ON p.organisation_id = r.organisation_id AND p.asset_id = (r.outcome ->> 'assetId')::uuid
    WHERE r.organisation_id = current_organisation() AND r.import_id = ${importId}::uuid AND r.outcome ->> 'outcome' = 'created' AND r.outcome ? 'assetId'`);
  return rows.map(({ id }) => id);
}
