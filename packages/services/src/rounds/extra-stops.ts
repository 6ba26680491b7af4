import { Problem } from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { mustBePerson } from './people.ts';

/** Somebody is to read a point beside the routes. Times are epoch milliseconds. */
export interface NewStop {
  readonly id: string;
  readonly kind: 'proof' | 'read-again' | 'asked';
  readonly pointId: string;
  readonly fromMs: number;
  readonly untilMs: number;
  readonly note: string;
  readonly findingId?: string | null | undefined;
  readonly orderId?: string | null | undefined;
  /** Null: whoever walks the round, or takes the stop. */
  readonly walkerId?: string | null | undefined;
  /** Person; null: the service itself. */
  readonly askedBy: string | null;
  /** Where absent, the moment from which it is to be read. */
  readonly askedAtMs?: number | undefined;
  /** This round and no other; null: on its own. Absent: the next suitable one. */
  readonly roundId?: string | null | undefined;
}

export interface PlacedStop {
  readonly id: string;
  /** Null: on its own. */
  readonly roundId: string | null;
  readonly earliestAt: Date;
  readonly latestAt: Date;
}

/** A round may begin a little later than a window ends; none is longer than this around its planned time. */
const FARTHEST = sql`interval '61 days'`;

interface Wanted {
  readonly pointId: string;
  readonly siteId: string;
  readonly fromMs: number;
  readonly untilMs: number;
  readonly walkerId: string | null;
}

/** Can round r take a stop: not begun, so that whoever walks it will have the stop on the phone, and ending within its time. */
const suits = ({ fromMs, untilMs, walkerId }: Wanted): Sql => sql`r.organisation_id = current_organisation()
  AND r.closed_at IS NULL AND r.started_at IS NULL AND r.handed_in_at IS NULL AND r.called_off IS NULL
  AND r.latest_at > ${new Date(fromMs)}::timestamptz AND r.latest_at <= ${new Date(untilMs)}::timestamptz
  AND (${walkerId}::uuid IS NULL OR r.walker_id IS NULL OR r.walker_id = ${walkerId}::uuid)`;

/** The round on which a point is read next: of a route with this point before another of the same site, then the earliest. */
const nextRound = (stop: Wanted): Sql => {
  const [from, until] = [new Date(stop.fromMs), new Date(stop.untilMs)];
  return sql`SELECT id FROM (
    (SELECT r.id, 1 AS place, r.earliest_at FROM route_stop s JOIN round r ON r.organisation_id = s.organisation_id AND r.route_id = s.route_id
      WHERE s.organisation_id = current_organisation() AND s.point_id = ${stop.pointId}::uuid AND ${suits(stop)}
        AND r.planned_at BETWEEN ${from}::timestamptz - ${FARTHEST} AND ${until}::timestamptz + ${FARTHEST}
      ORDER BY r.earliest_at, r.id LIMIT 1)
    UNION ALL
    (SELECT r.id, 2, r.earliest_at FROM round r WHERE r.site_id = ${stop.siteId}::uuid AND ${suits(stop)}
        AND r.earliest_at BETWEEN ${from}::timestamptz - ${FARTHEST} - ${FARTHEST} AND ${until}::timestamptz
      ORDER BY r.earliest_at, r.id LIMIT 1)) AS found ORDER BY place, earliest_at, id LIMIT 1`;
};

/** The same, held: nobody begins, ends or unmakes it before the stop is on it. Where somebody just did, the next one is chosen. */
async function takeRound(db: TenantDb, stop: Wanted): Promise<string | null> {
  for (;;) {
    const [next] = await db.$queryRaw<{ id: string }[]>(nextRound(stop));
    if (!next) return null;
    const [held] = await db.$queryRaw<{ id: string }[]>(
      sql`SELECT r.id FROM round r WHERE r.id = ${next.id}::uuid AND ${suits(stop)} FOR SHARE`,
    );
    if (held) return held.id;
  }
}

/**
 * Puts an extra stop on the next suitable round: not begun, of a route with this point, or of the same site, whose window ends
 * within the stop's own time; on its own where there is none. The same id again changes nothing and answers with what is there.
 * @returns null, and nobody is sent there, where the point is out of service or not visible here.
 */
export async function placeStop(db: TenantDb, scope: Pick<Scope, 'organisationId'>, stop: NewStop): Promise<PlacedStop | null> {
  const { id, kind, pointId, fromMs, untilMs, note, findingId = null, orderId = null, walkerId = null, askedBy } = stop;
  // Held, so that its machine does not leave in the same moment and the stop stays behind.
  const [point] = await db.$queryRaw<{ siteId: string }[]>(sql`
    SELECT site_id AS "siteId" FROM point WHERE organisation_id = current_organisation() AND id = ${pointId}::uuid AND retired_at IS NULL
    FOR SHARE`);
  if (!point) return null;
  const { siteId } = point;
  const roundId = stop.roundId === undefined ? await takeRound(db, { pointId, siteId, fromMs, untilMs, walkerId }) : stop.roundId;
  await db.$executeRaw(sql`
    INSERT INTO extra_stop (organisation_id, id, kind, point_id, site_id, round_id, walker_id, finding_id, order_id, earliest_at, latest_at,
      note, asked_by, asked_at)
    VALUES (${scope.organisationId}::uuid, ${id}::uuid, ${kind}, ${pointId}::uuid, ${siteId}::uuid, ${roundId}::uuid, ${walkerId}::uuid,
      ${findingId}::uuid, ${orderId}::uuid, ${new Date(fromMs)}::timestamptz, ${new Date(untilMs)}::timestamptz, ${note}, ${askedBy}::uuid,
      ${new Date(stop.askedAtMs ?? fromMs)}::timestamptz)
    ON CONFLICT (organisation_id, id) DO NOTHING`);
  return db.extraStop.findFirst({ where: { id }, select: { id: true, roundId: true, earliestAt: true, latestAt: true } });
}

/** What finds another round for a stop. */
export interface Homeless {
  readonly id: string;
  readonly pointId: string;
  readonly siteId: string;
  readonly earliestAt: Date;
  readonly latestAt: Date;
  readonly walkerId: string | null;
}

/** Finds another round for an extra stop whose round is gone. */
export async function placeAgain(db: TenantDb, stop: Homeless): Promise<void> {
  const roundId = await takeRound(db, { ...stop, fromMs: stop.earliestAt.getTime(), untilMs: stop.latestAt.getTime() });
  await db.$executeRaw(sql`UPDATE extra_stop SET round_id = ${roundId}::uuid WHERE id = ${stop.id}::uuid AND closed_at IS NULL`);
}

/**
 * Closes the open extra stops of an order, a finding or a point.
 * @param closed `answeredBy`: the reading that answered them; null: no longer needed. `at`: epoch milliseconds. `kinds`: only these.
 * @returns how many were closed; repeating it closes none.
 */
export async function closeStops(
  db: TenantDb,
  closed: ({ readonly orderId: string } | { readonly findingId: string } | { readonly pointId: string }) & {
    readonly answeredBy: string | null;
    readonly at: number;
    readonly kinds?: readonly NewStop['kind'][] | undefined;
  },
): Promise<number> {
  const about =
    'orderId' in closed
      ? { orderId: closed.orderId }
      : 'findingId' in closed
        ? { findingId: closed.findingId }
        : { pointId: closed.pointId };
  const { count } = await db.extraStop.updateMany({
    where: { ...about, closedAt: null, ...(closed.kinds ? { kind: { in: [...closed.kinds] } } : {}) },
    data: { closedAt: new Date(closed.at), answeredBy: closed.answeredBy },
  });
  return count;
}

/**
 * Somebody asks for a point to be read beside the routes: on a named round of its site that is still open, or on its own. The same id
 * again changes nothing.
 */
export async function askForStop(
  deps: Deps,
  scope: Scope,
  asked: {
    readonly id: string;
    readonly pointId: string;
    readonly roundId: string | null;
    readonly walkerId: string | null;
    readonly earliestAt: string;
    readonly latestAt: string;
    readonly note: string;
  },
): Promise<void> {
  mustBeAllowed(scope, 'edit-register');
  const at = now(deps, scope);
  const [fromMs, untilMs] = [Date.parse(asked.earliestAt), Date.parse(asked.latestAt)];
  if (untilMs < fromMs || untilMs < at) {
    throw new Problem('invalid-request', 'A stop is to be read by a time ahead, not before it begins; nothing was saved.', [
      { pointer: '#/latestAt', detail: 'expected a time ahead and not before earliestAt' },
    ]);
  }
  await deps.database.inTenant(scope, async ({ db }) => {
    const point = await db.point.findFirst({ where: { id: asked.pointId, retiredAt: null }, select: { siteId: true } });
    if (!point) throw notFound('point');
    if (asked.walkerId !== null) await mustBePerson(db, asked.walkerId, at);
    if (asked.roundId !== null) {
      // Held, so that it does not end before the stop is on it.
      const [round] = await db.$queryRaw<{ siteId: string; closedAt: Date | null }[]>(
        sql`SELECT site_id AS "siteId", closed_at AS "closedAt" FROM round WHERE id = ${asked.roundId}::uuid FOR SHARE`,
      );
      if (!round) throw notFound('round');
      if (round.closedAt !== null || round.siteId !== point.siteId) {
        throw new Problem('invalid-request', 'This round cannot take the stop; nothing was saved.', [
          { pointer: '#/roundId', detail: 'expected an open round of the site of the point, or none' },
        ]);
      }
    }
    const { id, pointId, roundId, walkerId, note } = asked;
    const placed = await placeStop(db, scope, {
      ...{ id, pointId, roundId, walkerId, note, fromMs, untilMs },
      kind: 'asked',
      askedBy: scope.personId,
      askedAtMs: at,
    });
    if (placed === null) throw notFound('point');
  });
}
