import {
  type Because,
  type Comparability,
  type EarlierReading,
  type Entry,
  type Grade,
  type KindOfWork,
  Problem,
  type Reading,
  type Verdict,
} from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, type Scope } from '../deps/index.ts';

export interface ReadingView {
  readonly id: string;
  readonly takenAt: Date;
  readonly receivedAt: Date;
  readonly by: string;
  readonly instrument: string | null;
  readonly words: string | null;
  readonly inputs: Record<string, Entry>;
  readonly conditions: Record<string, Entry>;
  readonly running: boolean | null;
  readonly figures: { inputs: Record<string, number>; conditions: Record<string, number> };
  readonly value: number | null;
  readonly grade: Grade | null;
  readonly comparability: Verdict['comparability'];
  readonly verdict: Verdict;
  readonly phoneVerdict: Verdict | null;
  readonly counts: boolean;
  readonly corrects: string | null;
  readonly correctedBy: string | null;
  readonly otherContents: number;
  /** Of a trainee's reading: who countersigned it; null in it: nobody yet. */
  readonly countersign: { readonly by: string | null } | null;
}

interface ReadingRow
  extends Omit<ReadingView, 'instrument' | 'words' | 'inputs' | 'conditions' | 'running' | 'figures' | 'phoneVerdict'> {
  readonly pointId: string;
  readonly content: {
    inputs: Record<string, Entry>;
    conditions: Record<string, Entry>;
    running?: boolean;
    instrument?: string;
    words?: string;
    phoneVerdict?: { verdict: Verdict };
  };
  readonly reading: Reading;
}

const toView = ({ pointId: _, content, reading, ...row }: ReadingRow): ReadingView => ({
  ...row,
  instrument: content.instrument ?? null,
  words: content.words ?? null,
  inputs: content.inputs,
  conditions: content.conditions,
  running: content.running ?? null,
  figures: { inputs: { ...reading.inputs }, conditions: { ...reading.conditions } },
  // Only a phone that judged otherwise is worth telling.
  phoneVerdict: content.phoneVerdict && content.phoneVerdict.verdict.grade !== row.grade ? content.phoneVerdict.verdict : null,
});

/** Of fact f: it was not taken back with the file it came from. */
export const STANDS = sql`NOT EXISTS (SELECT 1 FROM fact_taken_back b WHERE b.organisation_id = f.organisation_id AND b.fact_id = f.id)`;

/** Columns of a ReadingRow, for queries that join fact f and membership m; counts: whether f counts. */
const columnsWith = (
  counts: Sql,
): Sql => sql`f.point_id AS "pointId", f.id, f.taken_at AS "takenAt", f.received_at AS "receivedAt",
  coalesce(m.name, 'somebody no longer here') AS by, f.content, f.reading, f.value, f.grade, f.comparability, f.verdict, f.corrects_id AS corrects,
  ${counts} AS counts,
  (SELECT c.id FROM fact c WHERE c.organisation_id = f.organisation_id AND c.corrects_id = f.id AND c.id <> f.id
    AND time_is_plausible(c.taken_at, c.received_at) AND (c.may_correct_any OR c.submitted_by = f.submitted_by) ORDER BY c.id DESC LIMIT 1) AS "correctedBy",
  (SELECT count(*)::int FROM fact_conflict x WHERE x.organisation_id = f.organisation_id AND x.fact_id = f.id) AS "otherContents",
  (SELECT jsonb_build_object('by', (SELECT s.name FROM membership s WHERE s.organisation_id = k.organisation_id AND s.person_id = k.signed_by))
    FROM countersign k WHERE k.organisation_id = f.organisation_id AND k.fact_id = f.id) AS countersign`;
const COUNTS = sql`EXISTS (SELECT 1 FROM counted_reading k WHERE k.organisation_id = f.organisation_id AND k.id = f.id)`;

/** Readings by id, newest first; ids that name no reading here are left out. */
export async function readingsById(db: TenantDb, ids: readonly string[]): Promise<ReadingView[]> {
  if (ids.length === 0) return [];
  const rows = await db.$queryRaw<ReadingRow[]>(sql`
    SELECT ${columnsWith(COUNTS)} FROM fact f LEFT JOIN membership m ON m.organisation_id = f.organisation_id AND m.person_id = f.submitted_by
    WHERE f.organisation_id = current_organisation() AND f.id = ANY (${[...ids]}::uuid[]) AND f.kind = 'reading-taken'
    ORDER BY f.taken_at DESC, f.id DESC`);
  return rows.map(toView);
}

/** Newest readings of several points, newest first, each with the mark from which older ones go on. */
export async function readingPages(
  db: TenantDb,
  pointIds: readonly string[],
  page: { size: number; before?: { takenAt: string; id: string } | null; all?: boolean },
): Promise<Map<string, { readings: ReadingView[]; older: string | null }>> {
  const source = page.all ? sql`fact` : sql`counted_reading`;
  const before = page.before
    ? sql`AND (f.taken_at, f.id) < (${page.before.takenAt}::timestamptz, ${page.before.id}::uuid)`
    : sql.empty;
  const rows = await db.$queryRaw<ReadingRow[]>(sql`
    SELECT ${columnsWith(page.all ? COUNTS : sql`true`)}
    FROM unnest(${[...pointIds]}::uuid[]) AS p(id) CROSS JOIN LATERAL (
      SELECT * FROM ${source} f WHERE f.organisation_id = current_organisation() AND f.point_id = p.id AND f.kind = 'reading-taken' ${before}
      ORDER BY f.taken_at DESC, f.id DESC LIMIT ${page.size + 1}) f
      LEFT JOIN membership m ON m.organisation_id = f.organisation_id AND m.person_id = f.submitted_by
    ORDER BY f.point_id, f.taken_at DESC, f.id DESC`);
  const pages = new Map(pointIds.map((id) => [id, { readings: [] as ReadingView[], older: null as string | null }]));
  for (const row of rows) {
    const into = pages.get(row.pointId)!;
    if (into.readings.length < page.size) into.readings.push(toView(row));
    else {
      const last = into.readings.at(-1)!;
      into.older = Buffer.from(JSON.stringify([last.takenAt.toISOString(), last.id])).toString('base64url');
    }
  }
  return pages;
}

function readMark(text: string | undefined): { takenAt: string; id: string } | null {
  if (!text) return null;
  try {
    const [takenAt, id] = JSON.parse(Buffer.from(text, 'base64url').toString()) as unknown[];
    if (
      typeof takenAt === 'string' &&
      Number.isFinite(Date.parse(takenAt)) &&
      typeof id === 'string' &&
      /^[0-9a-f-]{36}$/.test(id)
    ) {
      return { takenAt, id };
    }
  } catch {}
  throw new Problem('invalid-request', 'The page mark is not one of ours; start again without it.', [
    { pointer: '#/before', detail: 'expected the value of older from the page before' },
  ]);
}

async function mustSeePoint(db: TenantDb, pointId: string): Promise<void> {
  if (!(await db.point.findFirst({ where: { id: pointId }, select: { id: true } }))) throw notFound('point');
}

/** Readings of a point, newest first. all: also those that no longer count. */
export async function listReadings(
  { database }: Deps,
  scope: Scope,
  pointId: string,
  query: { before?: string | undefined; pageSize: number; all: boolean },
): Promise<{ readings: ReadingView[]; older: string | null }> {
  mustBeAllowed(scope, 'see');
  const before = readMark(query.before);
  return database.inTenant(scope, async ({ db }) => {
    await mustSeePoint(db, pointId);
    return (await readingPages(db, [pointId], { size: query.pageSize, before, all: query.all })).get(pointId)!;
  });
}

/** A reading as the computation needs it. */
export type HistoryReading = Reading;

/** A stretch of the history of a point: after exclusive, until inclusive, epoch milliseconds; null: open. */
export interface HistoryWindow {
  readonly pointId: string;
  readonly after: number | null;
  readonly until: number | null;
}

/**
 * The newest (or oldest) readings that count of each window; the cost grows with what is asked for, not with the histories.
 * @param most of each window. @returns by point; a point without readings has an empty list.
 */
export async function historiesOf(
  db: TenantDb,
  windows: readonly HistoryWindow[],
  most: number,
  order: 'newest' | 'oldest' = 'newest',
): Promise<Map<string, HistoryReading[]>> {
  const byPoint = new Map<string, HistoryReading[]>(windows.map(({ pointId }) => [pointId, []]));
  if (windows.length === 0) return byPoint;
  const instant = (at: number | null, open: string) => (at === null ? open : new Date(at).toISOString());
  const rows = await db.$queryRaw<{ pointId: string; reading: Reading }[]>(sql`
    SELECT w.point_id AS "pointId", f.reading
    FROM unnest(${windows.map(({ pointId }) => pointId)}::uuid[], ${windows.map(({ after }) => instant(after, '-infinity'))}::timestamptz[],
      ${windows.map(({ until }) => instant(until, 'infinity'))}::timestamptz[]) AS w(point_id, after, until)
    CROSS JOIN LATERAL (
      SELECT c.reading, c.taken_at, c.id FROM counted_reading c
      WHERE c.organisation_id = current_organisation() AND c.point_id = w.point_id AND c.taken_at > w.after AND c.taken_at <= w.until
      ORDER BY ${order === 'oldest' ? sql`c.taken_at, c.id` : sql`c.taken_at DESC, c.id DESC`} LIMIT ${most}) f
    ORDER BY w.point_id, ${order === 'oldest' ? sql`f.taken_at, f.id` : sql`f.taken_at DESC, f.id DESC`}`);
  for (const { pointId, reading } of rows) byPoint.get(pointId)!.push(reading);
  return byPoint;
}

/** A reading that counts, as the verdict of another one may need it. */
export interface NearReading extends EarlierReading {
  readonly pointId: string;
}

/**
 * Readings that count near some instants: of each window the newest ones, at most as many as asked for. A look into the index
 * per window, whatever the length of the histories.
 */
export async function readingsNear(db: TenantDb, windows: readonly HistoryWindow[], most: number): Promise<NearReading[]> {
  if (windows.length === 0) return [];
  const instant = (at: number | null, open: string) => (at === null ? open : new Date(at).toISOString());
  const rows = await db.$queryRaw<
    { pointId: string; reading: Reading; grade: Grade | null; comparability: Comparability; because: Because | null }[]
  >(sql`
    SELECT w.point_id AS "pointId", f.reading, f.grade, f.comparability, f.because
    FROM unnest(${windows.map(({ pointId }) => pointId)}::uuid[], ${windows.map(({ after }) => instant(after, '-infinity'))}::timestamptz[],
      ${windows.map(({ until }) => instant(until, 'infinity'))}::timestamptz[]) AS w(point_id, after, until)
    CROSS JOIN LATERAL (
      SELECT c.reading, c.grade, c.comparability, c.verdict -> 'because' AS because FROM counted_reading c
      WHERE c.organisation_id = current_organisation() AND c.point_id = w.point_id AND c.taken_at > w.after AND c.taken_at <= w.until
      ORDER BY c.taken_at DESC, c.id DESC LIMIT ${most}) f`);
  return rows.map(({ pointId, reading, ...judgement }) => ({ pointId, reading, judgement }));
}

export interface WorkView {
  readonly id: string;
  readonly takenAt: Date;
  readonly by: string;
  readonly pointId: string | null;
  readonly work: KindOfWork;
  readonly words: string | null;
}

/** Work recorded on an asset or its points, newest first, at most 200. */
export function workOf(db: TenantDb, assetId: string): Promise<WorkView[]> {
  return db.$queryRaw<WorkView[]>(sql`
    SELECT f.id, f.taken_at AS "takenAt", coalesce(m.name, 'somebody no longer here') AS by, f.point_id AS "pointId",
      f.content ->> 'work' AS work, f.content ->> 'words' AS words
    FROM fact f LEFT JOIN membership m ON m.organisation_id = f.organisation_id AND m.person_id = f.submitted_by
    WHERE f.asset_id = ${assetId}::uuid AND f.kind IN ('work-recorded', 'put-right') AND ${STANDS} ORDER BY f.taken_at DESC, f.id DESC LIMIT 200`);
}

export interface AnswerView {
  readonly id: string;
  readonly takenAt: Date;
  readonly by: string;
  readonly answer: string;
  readonly words: string | null;
}

/** Stops of a point that were answered without a reading, newest first, at most 200. */
export async function listAnswers({ database }: Deps, scope: Scope, pointId: string): Promise<AnswerView[]> {
  mustBeAllowed(scope, 'see');
  return database.inTenant(scope, async ({ db }) => {
    await mustSeePoint(db, pointId);
    return db.$queryRaw<AnswerView[]>(sql`
      SELECT f.id, f.taken_at AS "takenAt", coalesce(m.name, 'somebody no longer here') AS by, f.content ->> 'answer' AS answer,
        f.content ->> 'words' AS words
      FROM fact f LEFT JOIN membership m ON m.organisation_id = f.organisation_id AND m.person_id = f.submitted_by
      WHERE f.point_id = ${pointId}::uuid AND f.kind = 'stop-answered' ORDER BY f.taken_at DESC, f.id DESC LIMIT 200`);
  });
}

export interface OtherContentView {
  readonly factId: string;
  readonly receivedAt: Date;
  readonly by: string;
  readonly content: unknown;
}

/** Contents kept beside the facts of a point because their id was already taken. */
export async function listOtherContents({ database }: Deps, scope: Scope, pointId: string): Promise<OtherContentView[]> {
  mustBeAllowed(scope, 'see');
  return database.inTenant(scope, async ({ db }) => {
    await mustSeePoint(db, pointId);
    return db.$queryRaw<OtherContentView[]>(sql`
      SELECT x.fact_id AS "factId", x.received_at AS "receivedAt", coalesce(m.name, 'somebody no longer here') AS by, x.content
      FROM fact f JOIN fact_conflict x ON x.organisation_id = f.organisation_id AND x.fact_id = f.id
        LEFT JOIN membership m ON m.organisation_id = x.organisation_id AND m.person_id = x.submitted_by
      WHERE f.point_id = ${pointId}::uuid ORDER BY x.received_at DESC LIMIT 200`);
  });
}
