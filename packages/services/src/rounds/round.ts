import {
  type CouldNotRead,
  type Grade,
  Problem,
  progress,
  type RoundMove,
  type RoundState,
  roundMovesAllowed,
  type StopAnswer,
  type StopState,
  sayProgress,
  stopsOfRound,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import type { Place } from '../assets/index.ts';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { type ExtraStopLine, extraStopLines } from './extra-lines.ts';
import { ASSET_OF_POINT, GONE, type RoundLine, roundLines } from './lines.ts';
import { mustBePerson } from './people.ts';
import { settleRounds } from './settle.ts';

export interface StopLine {
  readonly pointId: string;
  readonly assetId: string;
  readonly tag: string;
  readonly letter: string;
  readonly assetName: string;
  readonly pointName: string;
  readonly place: Place;
  readonly state: StopState;
  readonly grade: Grade | null;
  readonly notJudged: boolean;
  readonly words: string | null;
  readonly answeredAt: Date | null;
  readonly by: string | null;
  readonly isAdded: boolean;
}

export interface RoundPage extends RoundLine {
  readonly beforeYouLeave: string;
  readonly stopLines: StopLine[];
  readonly extraStops: ExtraStopLine[];
  /** Answers at points that are not on the route. */
  readonly besideRoute: StopLine[];
  readonly progressInWords: string;
  readonly lookedOver: { readonly at: Date; readonly by: string } | null;
  readonly givenNote: string | null;
}

interface AnswerRow {
  readonly id: string;
  readonly pointId: string;
  readonly at: Date;
  readonly answer: 'read' | CouldNotRead;
  readonly grade: Grade | null;
  readonly comparability: string | null;
  readonly words: string | null;
  readonly by: string;
}
type PointRow = Pick<StopLine, 'pointId' | 'assetId' | 'tag' | 'letter' | 'assetName' | 'pointName' | 'place'>;

const MOST_STOPS = 600;

/** One round with its stops in order, within a transaction. @throws Problem not-found */
export async function roundWithin(db: TenantDb, roundId: string, at: number): Promise<RoundPage> {
  const [line] = await roundLines(db, sql`SELECT ${roundId}::uuid AS id, 1 AS ordinal`, at);
  if (!line) throw notFound('round');
  const [more] = await db.$queryRaw<
    {
      packed: string[] | null;
      stops: string[] | null;
      current: string[];
      givenNote: string | null;
      beforeYouLeave: string;
      lookedOver: { at: string; by: string } | null;
    }[]
  >(sql`
    SELECT r.packed, r.stops, r.given_note AS "givenNote", t.before_you_leave AS "beforeYouLeave",
      ARRAY(SELECT x.point_id FROM route_stop x JOIN point p ON p.organisation_id = x.organisation_id AND p.id = x.point_id
        WHERE x.organisation_id = r.organisation_id AND x.route_id = r.route_id AND p.retired_at IS NULL ORDER BY x.position, x.point_id) AS current,
      CASE WHEN r.looked_over_at IS NOT NULL THEN jsonb_build_object('at', r.looked_over_at, 'by', coalesce(m.name, ${GONE})) END AS "lookedOver"
    FROM round r JOIN route t ON t.organisation_id = r.organisation_id AND t.id = r.route_id
      LEFT JOIN membership m ON m.organisation_id = r.organisation_id AND m.person_id = r.looked_over_by
    WHERE r.id = ${roundId}::uuid`);
  const { packed, stops, current, givenNote, beforeYouLeave, lookedOver } = more!;
  const answers = await db.$queryRaw<AnswerRow[]>(sql`
    WITH own AS (
      SELECT f.* FROM fact f WHERE f.organisation_id = current_organisation() AND f.round_id = ${roundId}::uuid
      UNION ALL
      SELECT f.* FROM fact o JOIN fact f ON f.organisation_id = o.organisation_id AND f.corrects_id = o.id
      WHERE o.organisation_id = current_organisation() AND o.round_id = ${roundId}::uuid AND f.round_id IS DISTINCT FROM o.round_id)
    SELECT f.id, f.point_id AS "pointId", least(f.taken_at, f.received_at) AS at, coalesce(f.content ->> 'answer', 'read') AS answer, f.grade,
      f.comparability, f.content ->> 'words' AS words, coalesce(m.name, ${GONE}) AS by
    FROM own f LEFT JOIN membership m ON m.organisation_id = f.organisation_id AND m.person_id = f.submitted_by
    WHERE f.kind = 'stop-answered' OR (f.kind = 'reading-taken'
      AND EXISTS (SELECT 1 FROM counted_reading c WHERE c.organisation_id = f.organisation_id AND c.id = f.id))`);
  const byId = new Map(answers.map((one) => [one.id, one]));
  const settled = stopsOfRound(
    packed,
    stops ?? current,
    answers.map(({ id, pointId, at, answer }): StopAnswer => ({ id, pointId, takenAt: at.getTime(), answer })),
  );
  const named = [
    ...new Set([...settled.stops.map(({ pointId }) => pointId), ...settled.besideRoute.map(({ pointId }) => pointId)]),
  ];
  const points = new Map(
    (
      await db.$queryRaw<PointRow[]>(sql`
        SELECT p.id AS "pointId", a.asset_id AS "assetId", a.tag, p.letter, a.asset_name AS "assetName", p.name AS "pointName", a.place
        FROM point p ${ASSET_OF_POINT}
        WHERE p.organisation_id = current_organisation() AND p.id = ANY (${named}::uuid[])`)
    ).map((row) => [row.pointId, row]),
  );
  const lineOf = (pointId: string, state: StopState, answerId: string | null, isAdded: boolean): StopLine[] => {
    const point = points.get(pointId);
    const answer = answerId === null ? undefined : byId.get(answerId);
    if (!point) return [];
    return [
      {
        ...point,
        state,
        grade: answer?.grade ?? null,
        notJudged: answer?.comparability === 'not-judged',
        words: answer?.words ?? null,
        answeredAt: answer?.at ?? null,
        by: answer?.by ?? null,
        isAdded,
      },
    ];
  };
  const done = progress(settled.stops);
  return {
    ...line,
    stops: done.total,
    answered: done.answered,
    read: done.read,
    beforeYouLeave,
    stopLines: settled.stops.flatMap((stop) => lineOf(stop.pointId, stop.state, stop.answerId, stop.isAdded)),
    besideRoute: settled.besideRoute.flatMap((one) => lineOf(one.pointId, one.answer, one.id, false)),
    extraStops: await extraStopLines(db, sql`e.round_id = ${roundId}::uuid AND e.closed_at IS NULL`, MOST_STOPS),
    progressInWords: sayProgress(done),
    lookedOver: lookedOver === null ? null : { at: new Date(lookedOver.at), by: lookedOver.by },
    givenNote,
  };
}

/** One round with its stops, in order, and how each was answered. */
export async function getRound(deps: Deps, scope: Scope, roundId: string): Promise<RoundPage> {
  mustBeAllowed(scope, 'see');
  return deps.database.inTenant(scope, ({ db }) => roundWithin(db, roundId, now(deps, scope)));
}

/** Holds a round and answers with how it stands. */
async function holdRound(db: TenantDb, roundId: string, at: number): Promise<RoundLine> {
  await db.$queryRaw(sql`SELECT 1 FROM round WHERE id = ${roundId}::uuid FOR NO KEY UPDATE`);
  const [line] = await roundLines(db, sql`SELECT ${roundId}::uuid AS id, 1 AS ordinal`, at);
  if (!line) throw notFound('round');
  return line;
}

function mustAllow(state: RoundState, move: RoundMove, said: string): void {
  const allowed = roundMovesAllowed(state);
  if (allowed.includes(move)) return;
  throw new Problem(
    'move-not-allowed',
    `Nobody can ${said} while it is ${state.replaceAll('-', ' ')}. Nothing was changed.`,
    [],
    {
      allowed,
    },
  );
}

/** A planner has looked over a round that was handed in; again changes nothing. */
export async function lookOverRound(deps: Deps, scope: Scope, roundId: string): Promise<{ id: string; state: RoundState }> {
  mustBeAllowed(scope, 'answer-findings');
  const at = now(deps, scope);
  return deps.database.inTenant(scope, async ({ db }) => {
    const { state } = await holdRound(db, roundId, at);
    if (state === 'looked-over') return { id: roundId, state };
    mustAllow(state, 'look-over', 'look over this round');
    await db.$executeRaw(sql`
      UPDATE round SET looked_over_at = ${new Date(at)}::timestamptz, looked_over_by = ${scope.personId}::uuid, version = version + 1
      WHERE id = ${roundId}::uuid`);
    return { id: roundId, state: 'looked-over' as const };
  });
}

/** Calls a round off, with the reason; again changes nothing. What is walked and handed in in time all the same stands. */
export async function callOffRound(
  deps: Deps,
  scope: Scope,
  roundId: string,
  reason: string,
): Promise<{ id: string; state: RoundState }> {
  mustBeAllowed(scope, 'edit-register');
  const at = now(deps, scope);
  return deps.database.inTenant(scope, async ({ db }) => {
    const { state } = await holdRound(db, roundId, at);
    if (state === 'called-off') return { id: roundId, state };
    mustAllow(state, 'call-off', 'call off this round');
    const record = { at: new Date(at).toISOString(), by: scope.personId, reason };
    await db.$executeRaw(sql`
      UPDATE round SET called_off = ${JSON.stringify(record)}::jsonb, version = version + 1 WHERE id = ${roundId}::uuid`);
    await settleRounds(db, [roundId], at);
    return { id: roundId, state: 'called-off' as const };
  });
}

/** Names who walks a round; null: whoever takes it. A later word, from here or from the phone that has it, counts over an earlier one. */
export async function giveRound(deps: Deps, scope: Scope, roundId: string, walkerId: string | null): Promise<{ id: string }> {
  mustBeAllowed(scope, 'edit-register');
  const at = now(deps, scope);
  return deps.database.inTenant(scope, async ({ db }) => {
    const { state, walker } = await holdRound(db, roundId, at);
    if (walkerId !== null) await mustBePerson(db, walkerId, at);
    if ((walker?.id ?? null) === walkerId) return { id: roundId };
    mustAllow(state, 'take', 'give this round');
    await db.$executeRaw(sql`
      UPDATE round SET named_walker_id = ${walkerId}::uuid, named_at = ${new Date(at)}::timestamptz, version = version + 1
      WHERE id = ${roundId}::uuid`);
    await settleRounds(db, [roundId], at);
    return { id: roundId };
  });
}
