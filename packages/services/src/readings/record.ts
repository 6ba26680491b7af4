import { createHash } from 'node:crypto';
import {
  asksForEarlier,
  asksForTwins,
  assessReading,
  contextAt,
  DOMAIN_VERSION,
  type Fact,
  type KindOfWork,
  type LimitSet,
  measure,
  type ProblemDetail,
  parseReading,
  type Reading,
  type ReadingTaken,
  type Verdict,
  VISIT_MS,
  type WorkEvent,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { loadPoints, type RegisteredPoint } from '../assets/index.ts';
import type { Scope } from '../deps/index.ts';
import { limitsOf } from '../limits/index.ts';
import { askToCountersign, isTraineeOnly } from './countersign.ts';
import { type NearReading, readingsNear, STANDS } from './read.ts';

/** What happened to one fact. */
export type Recorded =
  | { readonly outcome: 'created' | 'duplicate' | 'conflict'; readonly verdict: Verdict | null; readonly notice: string | null }
  | {
      readonly outcome: 'refused';
      readonly code: 'not-found' | 'invalid-request';
      readonly detail: string;
      readonly errors: ProblemDetail[];
    };

/** Where facts come from and when. */
export interface Recording {
  readonly scope: Scope;
  /** Epoch milliseconds by the organisation's clock. */
  readonly receivedAt: number;
  readonly mayCorrectAny: boolean;
}

interface Row {
  readonly id: string;
  readonly kind: Fact['kind'];
  /** Null: a fact of a round. */
  readonly assetId: string | null;
  readonly pointId: string | null;
  readonly takenAt: string;
  readonly correctsId: string | null;
  readonly roundId: string | null;
  readonly content: Fact;
  readonly hash: string;
  readonly reading: Reading | null;
  readonly value: number | null;
  readonly verdict: Verdict | null;
}

/** Work resets a point and warms a machine for a while; only so many newest pieces per asset are looked at. */
const NEWEST_WORK = 50;
/** Of the readings before one, so many are looked at for the last comparable one. */
const NEWEST_BEFORE = 6;

/**
 * Writes facts of one organisation in one transaction, set by set, and judges its readings with the limits of their day.
 * Facts whose point or asset is not visible here, or whose entries cannot be read, are refused one by one; the rest is written.
 * @returns one answer per fact, in the order given.
 */
export async function recordFacts(db: TenantDb, recording: Recording, facts: readonly Fact[]): Promise<Recorded[]> {
  const context = await loadContext(db, facts);
  const answers = new Array<Recorded | undefined>(facts.length);
  const rows = new Map<string, { row: Row; positions: number[] }>();
  const conflicting: { row: Row; position: number }[] = [];
  facts.forEach((fact, position) => {
    const made = toRow(fact, context);
    if ('outcome' in made) {
      answers[position] = made;
      return;
    }
    const twin = rows.get(made.id);
    if (!twin) rows.set(made.id, { row: made, positions: [position] });
    else if (twin.row.hash === made.hash) twin.positions.push(position);
    else conflicting.push({ row: made, position });
  });

  const created = await insertRows(
    db,
    recording,
    [...rows.values()].map(({ row }) => row),
  );
  const known = await hashesOf(
    db,
    [...rows.keys()].filter((id) => !created.has(id)),
  );
  for (const [id, { row, positions }] of rows) {
    const verdict = row.verdict;
    const notice = noticeOf(row, recording, context);
    const [first, ...again] = positions;
    if (created.has(id)) answers[first!] = { outcome: 'created', verdict, notice };
    else if (known.get(id) === row.hash) answers[first!] = { outcome: 'duplicate', verdict, notice: null };
    else conflicting.push({ row, position: first! });
    for (const position of again)
      answers[position] = {
        outcome: known.get(id) === undefined || known.get(id) === row.hash ? 'duplicate' : 'conflict',
        verdict,
        notice: null,
      };
  }
  for (const { row, position } of conflicting) {
    const outcome = await keepBoth(db, recording, row);
    const notice =
      outcome === 'conflict'
        ? 'Another content with the same id is already here. Both are kept; a planner looks at the second one.'
        : null;
    answers[position] = { outcome, verdict: row.verdict, notice };
  }
  return answers as Recorded[];
}

interface Context {
  readonly rounds: ReadonlySet<string>;
  readonly points: ReadonlyMap<string, RegisteredPoint>;
  readonly assets: ReadonlySet<string>;
  readonly limits: ReadonlyMap<string, LimitSet[]>;
  readonly work: ReadonlyMap<string, WorkOnAsset[]>;
  readonly originals: ReadonlyMap<string, { submittedBy: string }>;
  /** Readings of the batch by fact, parsed and judged. */
  readonly readings: ReadonlyMap<Fact, ReadHere>;
}
type ReadHere = { readonly errors: readonly ProblemDetail[] } | { readonly reading: Reading; readonly verdict: Verdict };
type WorkOnAsset = WorkEvent & { readonly pointId: string | null };

async function loadContext(db: TenantDb, facts: readonly Fact[]): Promise<Context> {
  const pointIds = [...new Set(facts.flatMap((fact) => ('pointId' in fact && fact.pointId ? [fact.pointId] : [])))];
  const named = [...new Set(facts.flatMap((fact) => (fact.kind === 'work-recorded' ? [fact.assetId] : [])))];
  const points = new Map(
    (pointIds.length > 0 ? await loadPoints(db, { pointIds }, 'out-of-service') : []).map((found) => [found.point.id, found]),
  );
  const readPoints = [
    ...new Set(facts.flatMap((fact) => (fact.kind === 'reading-taken' && points.has(fact.pointId) ? [fact.pointId] : []))),
  ];
  const limits = readPoints.length > 0 ? await limitsOf(db, readPoints) : new Map<string, LimitSet[]>();
  const work = await newestWork(db, [...new Set(readPoints.map((id) => points.get(id)!.assetId))]);
  const assets = new Set(
    named.length > 0
      ? (await db.$queryRaw<{ id: string }[]>(sql`SELECT id FROM asset WHERE id = ANY (${named}::uuid[])`)).map(({ id }) => id)
      : [],
  );
  const corrected = facts.flatMap((fact) => (fact.kind === 'reading-taken' && fact.corrects ? [fact.corrects] : []));
  const originals = new Map(
    corrected.length > 0
      ? (
          await db.$queryRaw<{ id: string; submittedBy: string }[]>(
            sql`SELECT id, submitted_by AS "submittedBy" FROM fact WHERE id = ANY (${corrected}::uuid[])`,
          )
        ).map((row) => [row.id, row])
      : [],
  );
  const roundIds = [...new Set(facts.flatMap((fact) => ('roundId' in fact && fact.roundId ? [fact.roundId] : [])))];
  const rounds = new Set(
    roundIds.length > 0
      ? (await db.$queryRaw<{ id: string }[]>(sql`SELECT id FROM round WHERE id = ANY (${roundIds}::uuid[])`)).map(({ id }) => id)
      : [],
  );
  const readings = await judgeReadings(db, facts, { points, limits, work });
  return { points, assets, limits, work, originals, rounds, readings };
}

/**
 * Parses the readings of a batch and judges them in the order in which they were taken, so that each knows those before it,
 * whether they came earlier or stand beside it; a reading that another one of the batch corrects is known to none.
 */
async function judgeReadings(
  db: TenantDb,
  facts: readonly Fact[],
  { points, limits, work }: Pick<Context, 'points' | 'limits' | 'work'>,
): Promise<Map<Fact, ReadHere>> {
  const made = new Map<Fact, ReadHere>();
  const corrected = new Set(facts.flatMap((fact) => (fact.kind === 'reading-taken' && fact.corrects ? [fact.corrects] : [])));
  const parsed: { fact: Fact; reading: Reading; registered: RegisteredPoint }[] = [];
  for (const fact of facts) {
    const registered = fact.kind === 'reading-taken' ? points.get(fact.pointId) : undefined;
    if (fact.kind !== 'reading-taken' || !registered) continue;
    const understood = parseReading(fact, registered.point);
    if ('errors' in understood) made.set(fact, understood);
    else parsed.push({ fact, reading: understood.reading, registered });
  }
  parsed.sort((a, b) => a.reading.takenAt - b.reading.takenAt || (a.reading.id < b.reading.id ? -1 : 1));
  const limitsAt = (pointId: string): readonly LimitSet[] => limits.get(pointId) ?? [];
  const near = new Map<string, NearReading[]>();
  const know = (one: NearReading): void => {
    const known = near.get(one.pointId);
    if (known) known.push(one);
    else near.set(one.pointId, [one]);
  };
  const windowsBefore = parsed.flatMap(({ reading, registered: { point } }) =>
    reading.instrument !== null || asksForEarlier(limitsAt(point.id))
      ? [{ pointId: point.id, after: null, until: reading.takenAt }]
      : [],
  );
  for (const one of await readingsNear(db, windowsBefore, NEWEST_BEFORE)) know(one);
  const withTwins = parsed.filter(({ registered: { point } }) => point.twins.length > 0 && asksForTwins(limitsAt(point.id)));
  const windowsOfTwins = withTwins.flatMap(({ reading, registered: { point } }) =>
    point.twins.map((pointId) => ({ pointId, after: reading.takenAt - VISIT_MS - 1, until: reading.takenAt + VISIT_MS })),
  );
  for (const one of await readingsNear(db, windowsOfTwins, NEWEST_BEFORE)) know(one);
  const unknownTwins = withTwins.flatMap(({ registered: { point } }) => point.twins.filter((id) => !points.has(id)));
  const twinPoints = unknownTwins.length === 0 ? [] : await loadPoints(db, { pointIds: [...new Set(unknownTwins)] });
  const pointOf = new Map([...points, ...twinPoints.map((one): [string, RegisteredPoint] => [one.point.id, one])]);
  // The twins of a batch are read beside each other: what they show is known before any of them is judged.
  const beside = new Map<string, Reading[]>();
  for (const { reading, registered } of parsed) {
    if (corrected.has(reading.id)) continue;
    beside.set(registered.point.id, [...(beside.get(registered.point.id) ?? []), reading]);
  }
  // A correction speaks about the same moment as what it corrects, and was not there when that was judged.
  const correctionsOf = (id: string): string[] =>
    corrected.has(id) ? facts.flatMap((fact) => (fact.kind === 'reading-taken' && fact.corrects === id ? [fact.id] : [])) : [];
  const workBeside = new Map<string, Omit<WorkOnAsset, 'id' | 'words'>[]>();
  for (const fact of facts) {
    if (fact.kind !== 'work-recorded' && fact.kind !== 'put-right') continue;
    const assetId = fact.kind === 'work-recorded' ? fact.assetId : points.get(fact.pointId)?.assetId;
    if (assetId === undefined) continue;
    const one = { work: fact.work, takenAt: Date.parse(fact.takenAt), pointId: fact.pointId ?? null };
    workBeside.set(assetId, [...(workBeside.get(assetId) ?? []), one]);
  }
  for (const { fact, reading, registered } of parsed) {
    const { point, assetId } = registered;
    const twins = point.twins.flatMap((id) => {
      const twin = pointOf.get(id)?.point;
      const readings = [...(near.get(id) ?? []).map((one) => one.reading), ...(beside.get(id) ?? [])];
      return twin === undefined ? [] : readings.map((one) => ({ point: twin, reading: one }));
    });
    const verdict = assessReading(
      point,
      reading,
      limitsAt(point.id),
      contextAt(point, reading, {
        work: [...(work.get(assetId) ?? []), ...(workBeside.get(assetId) ?? [])].filter(
          (one) => one.pointId === null || one.pointId === point.id,
        ),
        earlier: near
          .get(point.id)
          ?.filter(({ reading: { id } }) => !corrected.has(id) && !correctionsOf(reading.id).includes(id)),
        twins: twins.filter((one) => !corrected.has(one.reading.id)),
      }),
    );
    made.set(fact, { reading, verdict });
    know({ pointId: point.id, reading, judgement: verdict });
  }
  return made;
}

/** The newest pieces of work per asset that stand and whose time is plausible, newest first, optionally only of some kinds. */
export async function newestWork(
  db: TenantDb,
  assetIds: readonly string[],
  kinds: readonly KindOfWork[] | null = null,
): Promise<Map<string, WorkOnAsset[]>> {
  const byAsset = new Map<string, WorkOnAsset[]>(assetIds.map((id) => [id, []]));
  if (assetIds.length === 0) return byAsset;
  const rows = await db.$queryRaw<
    { assetId: string; id: string; pointId: string | null; takenAt: Date; work: KindOfWork; words: string | null }[]
  >(sql`
    SELECT a.id AS "assetId", f.id, f.point_id AS "pointId", f.taken_at AS "takenAt", f.content ->> 'work' AS work, f.content ->> 'words' AS words
    FROM unnest(${[...assetIds]}::uuid[]) AS a(id) CROSS JOIN LATERAL (
      SELECT * FROM fact f WHERE f.organisation_id = current_organisation() AND f.asset_id = a.id AND f.kind IN ('work-recorded', 'put-right')
        AND time_is_plausible(f.taken_at, f.received_at) AND ${STANDS} ${kinds ? sql`AND f.content ->> 'work' = ANY (${[...kinds]})` : sql.empty}
      ORDER BY f.taken_at DESC, f.id DESC LIMIT ${NEWEST_WORK}) f`);
  for (const { assetId, takenAt, ...rest } of rows) byAsset.get(assetId)!.push({ ...rest, takenAt: takenAt.getTime() });
  return byAsset;
}

function toRow(fact: Fact, context: Context): Row | Extract<Recorded, { outcome: 'refused' }> {
  const common = { id: fact.id, kind: fact.kind, takenAt: fact.takenAt, content: fact, hash: hashOf(fact) };
  const plain = { ...common, correctsId: null, roundId: null, reading: null, value: null, verdict: null };
  if (fact.kind === 'work-recorded') {
    const point = fact.pointId ? context.points.get(fact.pointId) : undefined;
    if (!context.assets.has(fact.assetId)) return unknown('/assetId', 'asset');
    if (fact.pointId && point?.assetId !== fact.assetId) return unknown('/pointId', 'point of this asset');
    return { ...plain, assetId: fact.assetId, pointId: fact.pointId ?? null };
  }
  // A round that is gone (its route was planned anew meanwhile) takes no fact down: the content keeps its name, nothing is settled by it.
  const roundId = fact.roundId !== undefined && context.rounds.has(fact.roundId) ? fact.roundId : null;
  if (fact.kind === 'round-taken' || fact.kind === 'round-given' || fact.kind === 'round-handed-in')
    return { ...plain, assetId: null, pointId: null, roundId };
  const registered = context.points.get(fact.pointId);
  if (!registered) return unknown('/pointId', 'point');
  if (fact.kind !== 'reading-taken') return { ...plain, assetId: registered.assetId, pointId: fact.pointId, roundId };
  const read = context.readings.get(fact)!;
  if ('errors' in read) {
    const detail = `${read.errors.map((error) => error.detail).join(' ')} The entry stays on your device.`;
    return { outcome: 'refused', code: 'invalid-request', detail, errors: [...read.errors] };
  }
  const { reading, verdict } = read;
  return {
    ...common,
    correctsId: fact.corrects ?? null,
    roundId,
    assetId: registered.assetId,
    pointId: fact.pointId,
    reading,
    value: measure(registered.point, reading).value,
    verdict,
  };
}

const unknown = (pointer: string, what: string): Extract<Recorded, { outcome: 'refused' }> => ({
  outcome: 'refused',
  code: 'not-found',
  detail: `There is no such ${what} in this organisation, or you were not given its site. The entry stays on your device.`,
  errors: [{ pointer, detail: `expected the id of a ${what} of this organisation` }],
});

const CLOCK_SKEW_MS = 5 * 60_000;
/** The same bounds as time_is_plausible in the database. */
const EARLIEST = Date.UTC(2000, 0, 1);

/** What a person should know although the fact was kept. */
function noticeOf(
  { content, correctsId, takenAt, roundId }: Row,
  { scope, receivedAt, mayCorrectAny }: Recording,
  { originals }: Context,
): string | null {
  const original = correctsId ? originals.get(correctsId) : undefined;
  if (original && original.submittedBy !== scope.personId && !mayCorrectAny) {
    return 'Kept, but it changes nothing: only whoever took the reading, or a planner, may correct it.';
  }
  const at = Date.parse(takenAt);
  const wrong =
    at > receivedAt + CLOCK_SKEW_MS ? 'its time lies in the future' : at < EARLIEST ? 'its time lies before the year 2000' : null;
  if (wrong !== null) {
    return content.kind === 'reading-taken'
      ? `Kept, but it does not count: ${wrong}. Set the device's clock right, then correct the reading with the time at which it was taken.`
      : `Kept, but nothing follows from it: ${wrong}. Set the device's clock right and hand it in again with the right time.`;
  }
  if ('roundId' in content && content.roundId !== undefined && roundId === null)
    return 'Kept, but the round it belongs to is no longer planned here; a reading counts at its point all the same.';
  // The organisation's own clock may run beside the real one; that is no fault of the device.
  const { offsetMs } = content.clock;
  if (offsetMs !== null && Math.abs(offsetMs - scope.clockOffsetMs) > CLOCK_SKEW_MS) {
    return "The device's clock is more than 5 minutes off; the time was set right by the last contact with the service.";
  }
  return null;
}

async function insertRows(
  db: TenantDb,
  { scope, receivedAt, mayCorrectAny }: Recording,
  rows: readonly Row[],
): Promise<Set<string>> {
  if (rows.length === 0) return new Set();
  const sent = rows.map((row) => ({
    ...row,
    grade: row.verdict?.grade ?? null,
    comparability: row.verdict?.comparability ?? null,
    version: row.verdict ? DOMAIN_VERSION : null,
  }));
  const inserted = await db.$queryRaw<{ id: string }[]>(sql`
    INSERT INTO fact (organisation_id, id, kind, asset_id, point_id, taken_at, received_at, submitted_by, may_correct_any, corrects_id,
      round_id, content, content_hash, reading, value, grade, comparability, verdict, domain_version)
    SELECT ${scope.organisationId}::uuid, r.id, r.kind, r."assetId", r."pointId", r."takenAt", ${new Date(receivedAt)}::timestamptz,
      ${scope.personId}::uuid, ${mayCorrectAny}, r."correctsId", r."roundId", r.content, decode(r.hash, 'hex'), nullif(r.reading, 'null'), r.value, r.grade,
      r.comparability, nullif(r.verdict, 'null'), r.version
    FROM jsonb_to_recordset(${JSON.stringify(sent)}::jsonb) AS r(id uuid, kind text, "assetId" uuid, "pointId" uuid, "takenAt" timestamptz,
      "correctsId" uuid, "roundId" uuid, content jsonb, hash text, reading jsonb, value float8, grade text, comparability text, verdict jsonb, version text)
    ORDER BY r.id
    ON CONFLICT (organisation_id, id) DO NOTHING RETURNING id`);
  const created = new Set(inserted.map((row) => row.id));
  if (isTraineeOnly(scope.roles)) {
    const readings = rows.filter(({ id, kind }) => kind === 'reading-taken' && created.has(id)).map(({ id }) => id);
    await askToCountersign(db, scope.personId, readings, receivedAt);
  }
  return created;
}

async function hashesOf(db: TenantDb, ids: readonly string[]): Promise<Map<string, string>> {
  if (ids.length === 0) return new Map();
  const rows = await db.$queryRaw<{ id: string; hash: string }[]>(
    sql`SELECT id, encode(content_hash, 'hex') AS hash FROM fact WHERE id = ANY (${[...ids]}::uuid[])`,
  );
  return new Map(rows.map(({ id, hash }) => [id, hash]));
}

/**
 * Two contents under one id: the smaller hash counts, whichever came first; the other is kept for a person. Repeating either
 * changes nothing.
 */
async function keepBoth(db: TenantDb, recording: Recording, row: Row): Promise<'duplicate' | 'conflict'> {
  const { scope, receivedAt, mayCorrectAny } = recording;
  const [present] = await db.$queryRaw<{ hash: string }[]>(
    sql`SELECT encode(content_hash, 'hex') AS hash FROM fact WHERE id = ${row.id}::uuid FOR UPDATE`,
  );
  if (present!.hash === row.hash) return 'duplicate';
  const [known] = await db.$queryRaw<{ found: number }[]>(
    sql`SELECT 1 AS found FROM fact_conflict WHERE fact_id = ${row.id}::uuid AND content_hash = decode(${row.hash}, 'hex')`,
  );
  if (known) return 'conflict';
  if (present!.hash < row.hash) {
    await db.$executeRaw(sql`
      INSERT INTO fact_conflict (organisation_id, fact_id, content_hash, content, submitted_by, received_at)
      VALUES (${scope.organisationId}::uuid, ${row.id}::uuid, decode(${row.hash}, 'hex'), ${JSON.stringify(row.content)}::jsonb,
        ${scope.personId}::uuid, ${new Date(receivedAt)}::timestamptz)`);
    return 'conflict';
  }
  await db.$executeRaw(sql`
    INSERT INTO fact_conflict (organisation_id, fact_id, content_hash, content, submitted_by, received_at)
    SELECT organisation_id, id, content_hash, content, submitted_by, received_at FROM fact WHERE id = ${row.id}::uuid`);
  await db.$executeRaw(sql`
    UPDATE fact SET kind = ${row.kind}, asset_id = ${row.assetId}::uuid, point_id = ${row.pointId}::uuid, taken_at = ${row.takenAt}::timestamptz,
      received_at = ${new Date(receivedAt)}::timestamptz, submitted_by = ${scope.personId}::uuid, may_correct_any = ${mayCorrectAny},
      corrects_id = ${row.correctsId}::uuid, round_id = ${row.roundId}::uuid, content = ${JSON.stringify(row.content)}::jsonb, content_hash = decode(${row.hash}, 'hex'),
      reading = ${row.reading ? JSON.stringify(row.reading) : null}::jsonb, value = ${row.value}, grade = ${row.verdict?.grade ?? null},
      comparability = ${row.verdict?.comparability ?? null}, verdict = ${row.verdict ? JSON.stringify(row.verdict) : null}::jsonb,
      domain_version = ${row.verdict ? DOMAIN_VERSION : null}
    WHERE id = ${row.id}::uuid`);
  return 'conflict';
}

/** SHA-256 over the content with sorted keys. What the phone judged is no part of what happened and stays out. */
export function hashOf(fact: Fact): string {
  const { phoneVerdict: _, ...content } = fact as ReadingTaken;
  return createHash('sha256').update(canonical(content)).digest('hex');
}

function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (value === null || typeof value !== 'object') return JSON.stringify(value) ?? 'null';
  const inside = value as Record<string, unknown>;
  let text = '{';
  for (const key of Object.keys(inside).sort()) {
    if (inside[key] === undefined) continue;
    text += `${text === '{' ? '' : ','}${JSON.stringify(key)}:${canonical(inside[key])}`;
  }
  return `${text}}`;
}
