import { type CouldNotRead, type Fact, progress, roundState, type StopAnswer, stopsOfRound } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { placeAgain } from './extra-stops.ts';

interface RoundRow {
  readonly id: string;
  readonly routeId: string;
  readonly earliestAt: Date;
  readonly latestAt: Date;
  readonly endsAt: Date;
  readonly graceMs: bigint;
  readonly namedWalkerId: string | null;
  readonly namedAt: Date | null;
  readonly lookedOverAt: Date | null;
  readonly calledOff: { readonly at: string; readonly by: string; readonly reason: string } | null;
  readonly stops: string[] | null;
  readonly closedAt: Date | null;
}

interface FactRow {
  readonly roundId: string;
  readonly id: string;
  readonly kind: Fact['kind'];
  /** As the device took it, and no later than it was received: nothing happens after it was told. */
  readonly at: Date;
  readonly by: string;
  readonly pointId: string | null;
  readonly answer: CouldNotRead | null;
  readonly words: string | null;
  readonly packed: string[] | null;
  /** Given to this person, where the organisation knows them. */
  readonly toPersonId: string | null;
  /** Of a reading: not corrected by another. */
  readonly counts: boolean;
}

/** Walking; being given away or handed in without any of these is no walk. */
const WALKING: readonly Fact['kind'][] = ['round-taken', 'reading-taken', 'stop-answered', 'finding-reported', 'put-right'];

/** Facts of rounds, in the order of time and id; a correction belongs to the round of what it corrects. */
const factsOf = (db: TenantDb, roundIds: readonly string[]): Promise<FactRow[]> =>
  db.$queryRaw<FactRow[]>(sql`
    WITH own AS (
      SELECT f.round_id AS "roundId", f.* FROM fact f
      WHERE f.organisation_id = current_organisation() AND f.round_id = ANY (${[...roundIds]}::uuid[])
      UNION ALL
      SELECT o.round_id, f.* FROM fact o JOIN fact f ON f.organisation_id = o.organisation_id AND f.corrects_id = o.id
      WHERE o.organisation_id = current_organisation() AND o.round_id = ANY (${[...roundIds]}::uuid[]) AND f.round_id IS DISTINCT FROM o.round_id)
    SELECT own."roundId", own.id, own.kind, least(own.taken_at, own.received_at) AS at, own.submitted_by AS by, own.point_id AS "pointId",
      own.content ->> 'answer' AS answer, own.content ->> 'words' AS words,
      CASE WHEN own.kind = 'round-taken' THEN ARRAY(SELECT jsonb_array_elements_text(own.content -> 'packed')) END AS packed,
      m.person_id AS "toPersonId",
      own.kind <> 'reading-taken' OR EXISTS (SELECT 1 FROM counted_reading c WHERE c.organisation_id = own.organisation_id AND c.id = own.id) AS counts
    FROM own LEFT JOIN membership m ON own.kind = 'round-given' AND m.organisation_id = own.organisation_id
      AND m.person_id = (own.content ->> 'toPersonId')::uuid
    ORDER BY at, own.id`);

/** Points of routes in walking order. */
async function pointsOf(db: TenantDb, routeIds: readonly string[]): Promise<Map<string, string[]>> {
  const rows = await db.$queryRaw<{ routeId: string; pointId: string }[]>(sql`
    SELECT t.route_id AS "routeId", t.point_id AS "pointId" FROM route_stop t
      JOIN point p ON p.organisation_id = t.organisation_id AND p.id = t.point_id
    WHERE t.organisation_id = current_organisation() AND t.route_id = ANY (${[...routeIds]}::uuid[]) AND p.retired_at IS NULL
    ORDER BY t.route_id, t.position, t.point_id`);
  const byRoute = new Map<string, string[]>(routeIds.map((id) => [id, []]));
  for (const { routeId, pointId } of rows) byRoute.get(routeId)!.push(pointId);
  return byRoute;
}

/** The answers at stops among the facts of a round. */
const answersOf = (facts: readonly FactRow[]): StopAnswer[] =>
  facts.flatMap(({ id, kind, pointId, at, answer, counts }): StopAnswer[] => {
    if (pointId === null || !counts) return [];
    if (kind === 'reading-taken') return [{ id, pointId, takenAt: at.getTime(), answer: 'read' }];
    return kind === 'stop-answered' && answer !== null ? [{ id, pointId, takenAt: at.getTime(), answer }] : [];
  });

/** How a round stands by its facts; a function of what is stored, so that the order of arrival plays no part. */
function settled(round: RoundRow, facts: readonly FactRow[], current: readonly string[], now: number) {
  const first = (kinds: readonly Fact['kind'][]) => facts.find(({ kind }) => kinds.includes(kind)) ?? null;
  const taken = first(['round-taken']);
  const walked = first(WALKING);
  const handedIn = first(['round-handed-in']);
  const who = [
    { at: round.namedAt?.getTime() ?? Number.NEGATIVE_INFINITY, personId: round.namedWalkerId },
    ...(walked ? [{ at: walked.at.getTime(), personId: (taken ?? walked).by }] : []),
    ...facts.flatMap((fact) =>
      fact.kind === 'round-given' && fact.toPersonId !== null ? [{ at: fact.at.getTime(), personId: fact.toPersonId }] : [],
    ),
  ].sort((a, b) => a.at - b.at);
  const note = facts.findLast(({ kind, words }) => (kind === 'round-given' || kind === 'round-handed-in') && words !== null);
  const record = {
    earliestAt: round.earliestAt.getTime(),
    latestAt: round.latestAt.getTime(),
    graceMs: Number(round.graceMs),
    takenBy: (taken ?? walked)?.by ?? null,
    startedAt: walked?.at.getTime() ?? null,
    handedInAt: handedIn?.at.getTime() ?? null,
    lookedOverAt: round.lookedOverAt?.getTime() ?? null,
    calledOff: round.calledOff === null ? null : { ...round.calledOff, at: Date.parse(round.calledOff.at) },
  };
  const { state } = roundState(record, now);
  const closedAt =
    state === 'handed-in' || state === 'looked-over'
      ? record.handedInAt
      : state === 'called-off'
        ? record.calledOff!.at
        : state === 'missed'
          ? round.endsAt.getTime()
          : null;
  const stops = closedAt === null ? null : (round.stops ?? current);
  const packed = taken?.packed ?? null;
  const done = progress(stopsOfRound(packed, stops ?? current, answersOf(facts)).stops);
  return {
    id: round.id,
    takenBy: record.takenBy,
    startedAt: walked?.at ?? null,
    walkerId: who.at(-1)!.personId,
    packed,
    handedInAt: handedIn?.at ?? null,
    handedInBy: handedIn?.by ?? null,
    givenNote: note?.words ?? null,
    closedAt: closedAt === null ? null : new Date(closedAt),
    stops,
    stopCount: done.total,
    answeredCount: done.answered,
    readCount: done.read,
  };
}

/**
 * Brings rounds up to their facts: who has them, when they were begun and handed in, whether they are over, how many stops were
 * answered and read. An extra stop left over on a round that has ended finds another. Holds the rounds, so that of two hand-ins at once the second sees the first. Repeating it changes nothing.
 * @param now epoch milliseconds by the organisation's clock; a round whose grace is over by then is closed as of its end.
 */
export async function settleRounds(db: TenantDb, roundIds: readonly string[], now: number): Promise<void> {
  await findOtherRounds(db, await settle(db, roundIds, now));
}

/** Extra stops still open on rounds that have ended find another. */
export async function findOtherRounds(db: TenantDb, endedIds: readonly string[]): Promise<void> {
  if (endedIds.length === 0) return;
  const homeless = await db.extraStop.findMany({ where: { roundId: { in: [...endedIds] }, closedAt: null } });
  for (const stop of homeless) await placeAgain(db, stop);
}

/** Settles without looking after left-over stops. @returns the rounds among them that have ended. */
async function settle(db: TenantDb, roundIds: readonly string[], now: number): Promise<string[]> {
  if (roundIds.length === 0) return [];
  const rounds = await db.$queryRaw<RoundRow[]>(sql`
    SELECT r.id, r.route_id AS "routeId", r.earliest_at AS "earliestAt", r.latest_at AS "latestAt", r.ends_at AS "endsAt",
      r.grace_ms AS "graceMs", r.named_walker_id AS "namedWalkerId", r.named_at AS "namedAt", r.looked_over_at AS "lookedOverAt",
      r.called_off AS "calledOff", r.stops, r.closed_at AS "closedAt"
    FROM round r WHERE r.organisation_id = current_organisation() AND r.id = ANY (${[...new Set(roundIds)]}::uuid[])
    ORDER BY r.id FOR NO KEY UPDATE`);
  if (rounds.length === 0) return [];
  const ids = rounds.map(({ id }) => id);
  const byRound = new Map<string, FactRow[]>(ids.map((id) => [id, []]));
  for (const fact of await factsOf(db, ids)) byRound.get(fact.roundId)!.push(fact);
  const points = await pointsOf(db, [...new Set(rounds.map(({ routeId }) => routeId))]);
  const rows = rounds.map((round) => settled(round, byRound.get(round.id) ?? [], points.get(round.routeId) ?? [], now));
  await db.$executeRaw(sql`
    UPDATE round r SET taken_by = n."takenBy", started_at = n."startedAt", walker_id = n."walkerId",
      packed = CASE WHEN n.packed IS NOT NULL AND n.packed <> 'null' THEN ARRAY(SELECT jsonb_array_elements_text(n.packed)::uuid) END,
      handed_in_at = n."handedInAt", handed_in_by = n."handedInBy", given_note = n."givenNote", closed_at = n."closedAt",
      stops = CASE WHEN n.stops IS NOT NULL AND n.stops <> 'null' THEN ARRAY(SELECT jsonb_array_elements_text(n.stops)::uuid) END,
      stop_count = n."stopCount", answered_count = n."answeredCount", read_count = n."readCount"
    FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb) AS n(id uuid, "takenBy" uuid, "startedAt" timestamptz, "walkerId" uuid,
      packed jsonb, "handedInAt" timestamptz, "handedInBy" uuid, "givenNote" text, "closedAt" timestamptz, stops jsonb, "stopCount" int,
      "answeredCount" int, "readCount" int)
    WHERE r.organisation_id = current_organisation() AND r.id = n.id`);
  return rows.filter(({ closedAt }) => closedAt !== null).map(({ id }) => id);
}

/**
 * What follows for rounds and for stops that somebody asked for, after facts were recorded in this transaction.
 * @param hadConflict one of them met another content under its id: the round it had named before is settled as well.
 * @returns the rounds that have ended, for findOtherRounds once it is known which of their stops these facts have answered.
 */
export async function settleAfter(db: TenantDb, facts: readonly Fact[], hadConflict: boolean, now: number): Promise<string[]> {
  const named = facts.flatMap((fact) => ('roundId' in fact && fact.roundId ? [fact.roundId] : []));
  const corrected = facts.flatMap((fact) => (fact.kind === 'reading-taken' && fact.corrects ? [fact.corrects] : []));
  const ids = hadConflict ? facts.map(({ id }) => id) : [];
  const others =
    corrected.length + ids.length === 0
      ? []
      : await db.$queryRaw<{ roundId: string }[]>(sql`
          SELECT f.round_id AS "roundId" FROM fact f WHERE f.id = ANY (${corrected}::uuid[]) AND f.round_id IS NOT NULL
          UNION SELECT (c.content ->> 'roundId')::uuid FROM fact_conflict c WHERE c.fact_id = ANY (${ids}::uuid[]) AND c.content ? 'roundId'
          UNION SELECT f.round_id FROM fact f WHERE f.id = ANY (${ids}::uuid[]) AND f.round_id IS NOT NULL`);
  // Rounds are held before their stops, as everywhere.
  const ended = await settle(db, [...named, ...others.map(({ roundId }) => roundId)], now);
  await giveStops(
    db,
    facts.flatMap(({ kind, id }) => (kind === 'round-given' ? [id] : [])),
  );
  const read = [...new Set(facts.flatMap((fact) => (fact.kind === 'reading-taken' ? [fact.pointId] : [])))];
  if (read.length > 0) await settleAsked(db, read);
  return ended;
}

/**
 * Extra stops go along with a round that was given away: those on it that were the giver's own, and those the giver walked beside it,
 * which the fact names. Whoever got them lists both, so the stop joins the round where it is of the same site. Nobody else's stop is
 * taken: a phone that comes late has nothing left to give.
 */
async function giveStops(db: TenantDb, givenIds: readonly string[]): Promise<void> {
  if (givenIds.length === 0) return;
  await db.$executeRaw(sql`
    UPDATE extra_stop e SET walker_id = g.walker_id, round_id = CASE WHEN e.site_id = g.site_id THEN g.round_id ELSE e.round_id END
    FROM (SELECT r.id AS round_id, r.site_id, f.submitted_by AS giver_id, m.person_id AS walker_id, f.content -> 'extraStopIds' AS named
      FROM fact f JOIN round r ON r.organisation_id = f.organisation_id AND r.id = f.round_id
        JOIN membership m ON m.organisation_id = f.organisation_id AND m.person_id = (f.content ->> 'toPersonId')::uuid
      WHERE f.organisation_id = current_organisation() AND f.id = ANY (${[...givenIds]}::uuid[])) g
    WHERE e.organisation_id = current_organisation() AND e.closed_at IS NULL AND (
      (e.walker_id = g.giver_id AND (e.round_id = g.round_id OR g.named ? e.id::text))
      OR (e.walker_id IS NULL AND e.round_id IS DISTINCT FROM g.round_id AND g.named ? e.id::text))`);
}

/** A stop that was asked for is answered by the first reading that counts since it was to be read. */
const settleAsked = (db: TenantDb, pointIds: readonly string[]) =>
  db.$executeRaw(sql`
    UPDATE extra_stop e SET answered_by = a.id, closed_at = a.at FROM extra_stop x CROSS JOIN LATERAL (
      SELECT c.id, least(c.taken_at, c.received_at) AS at FROM counted_reading c
      WHERE c.organisation_id = x.organisation_id AND c.point_id = x.point_id AND c.taken_at >= least(x.asked_at, x.earliest_at)
      ORDER BY c.taken_at, c.id LIMIT 1) a
    WHERE x.organisation_id = current_organisation() AND x.kind = 'asked' AND x.point_id = ANY (${[...pointIds]}::uuid[])
      AND (x.closed_at IS NULL OR x.answered_by IS NOT NULL)
      AND e.organisation_id = x.organisation_id AND e.id = x.id AND (e.answered_by, e.closed_at) IS DISTINCT FROM (a.id, a.at)`);
