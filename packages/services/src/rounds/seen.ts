import {
  awakeTime,
  CONSEQUENCE_OF,
  COULD_NOT_READ,
  type CouldNotRead,
  type Criticality,
  daysBetween,
  type Season,
  type StopAnswer,
  stopOf,
} from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { FARTHEST_DAYS } from './plan.ts';

const DAY = 86_400_000;
/** Rounds that are over are looked at so far back. */
const PERIOD_DAYS = 84;
/** So many rounds, and so many stops of theirs; where there are more the period is shorter, and says so. */
const MOST_ROUNDS = 1000;
const MOST_ROUND_STOPS = 20_000;
const MOST_ROUTES = 1000;
/** Points whose interval is looked at. */
const MOST_POINTS = 5000;
const MOST_NAMED = 6;
/** Readings among which the last comparable one is looked for. */
const LOOKED_AT = 48;
/** From this share of answered stops on a round counts as walked; common practice, no source. */
const WALKED_SHARE = 0.95;

/** Why a point has no comparable reading in its interval. */
export const UNSEEN_CAUSES = ['nobody-came', 'not-judged', ...COULD_NOT_READ] as const;
export type UnseenCause = (typeof UNSEEN_CAUSES)[number];

export interface UnseenPoint {
  readonly pointId: string;
  readonly assetId: string;
  readonly tag: string;
  readonly letter: string;
  readonly assetName: string;
  readonly pointName: string;
  readonly criticality: Criticality;
  readonly zone: string;
  readonly routeCode: string;
  readonly cause: UnseenCause;
  /** Last comparable reading; null: none among the newest readings. */
  readonly lastSeenAt: Date | null;
  /** Whole days since then, or since its interval began. */
  readonly days: number;
}

/** What was seen and what was not; every share with both its counts. */
export interface Seen {
  /** Points of routes whose last round is over, and those of them with a comparable reading since that round could be begun. */
  readonly points: {
    readonly due: number;
    readonly seen: number;
    /** There are more; these are of the first ones. */
    readonly isCut: boolean;
    readonly unseen: { readonly cause: UnseenCause; readonly count: number }[];
    /** By criticality × days. */
    readonly worst: UnseenPoint[];
  };
  /** Rounds whose window ended since `from` and that are over. */
  readonly rounds: {
    readonly from: Date;
    readonly isCut: boolean;
    readonly due: number;
    /** Handed in by the end of the grace with at least 95 % of the stops answered. */
    readonly walked: number;
    readonly thin: number;
    readonly missed: number;
    /** Not among those due. */
    readonly calledOff: number;
    readonly lastMissed: { readonly id: string; readonly code: string; readonly plannedAt: Date; readonly zone: string }[];
  };
  /** Stops of these rounds: read, answered without a reading, not answered; together those due. */
  readonly stops: {
    readonly due: number;
    readonly read: number;
    readonly couldNotRead: { readonly answer: CouldNotRead; readonly count: number }[];
    readonly notAnswered: number;
  };
}

/** What was not seen, within one transaction. The cost grows with the points and the rounds of the period, up to a bound, not with the history. */
export async function seenWithin(db: TenantDb, siteId: string | undefined, at: number): Promise<Seen> {
  const { unreadIds, rounds, stops } = await roundsOver(db, siteId, at);
  return { points: await pointsSeen(db, siteId, at), rounds, stops: { ...stops, couldNotRead: await unreadOf(db, unreadIds) } };
}

const atSite = (alias: Sql, siteId: string | undefined): Sql =>
  siteId ? sql`AND ${alias}.site_id = ${siteId}::uuid` : sql.empty;

interface RoundOver {
  readonly id: string;
  readonly code: string;
  readonly zone: string;
  readonly plannedAt: Date;
  readonly latestAt: Date;
  readonly isHandedIn: boolean;
  readonly isCalledOff: boolean;
  readonly stops: number;
  readonly answered: number;
  readonly read: number;
}

async function roundsOver(db: TenantDb, siteId: string | undefined, at: number) {
  const from = at - PERIOD_DAYS * DAY;
  const found = await db.$queryRaw<RoundOver[]>(sql`
    SELECT r.id, t.code, s.zone, r.planned_at AS "plannedAt", r.latest_at AS "latestAt",
      r.handed_in_at IS NOT NULL AND r.handed_in_at <= r.ends_at AS "isHandedIn", r.called_off IS NOT NULL AS "isCalledOff",
      coalesce(r.stop_count, 0) AS stops, coalesce(r.answered_count, 0) AS answered, coalesce(r.read_count, 0) AS read
    FROM (
      SELECT * FROM round r WHERE r.organisation_id = current_organisation() AND r.closed_at IS NOT NULL
        AND r.latest_at >= ${new Date(from)}::timestamptz AND r.latest_at < ${new Date(at)}::timestamptz ${atSite(sql`r`, siteId)}
      ORDER BY r.latest_at DESC, r.id DESC LIMIT ${MOST_ROUNDS + 1}) r
      CROSS JOIN LATERAL (SELECT t.code FROM route t WHERE t.organisation_id = current_organisation() AND t.id = r.route_id LIMIT 1) t
      CROSS JOIN LATERAL (SELECT s.zone FROM site s WHERE s.organisation_id = current_organisation() AND s.id = r.site_id LIMIT 1) s
    ORDER BY r.latest_at DESC, r.id DESC`);
  const rounds: RoundOver[] = [];
  let stopsSoFar = 0;
  for (const round of found.slice(0, MOST_ROUNDS)) {
    stopsSoFar += round.stops;
    if (stopsSoFar > MOST_ROUND_STOPS) break;
    rounds.push(round);
  }
  const isCut = rounds.length < found.length;
  const counted = rounds.filter(({ isHandedIn, isCalledOff }) => isHandedIn || !isCalledOff);
  const handedIn = counted.filter(({ isHandedIn }) => isHandedIn);
  const missed = counted.filter(({ isHandedIn }) => !isHandedIn);
  const walked = handedIn.filter(({ answered, stops }) => answered >= WALKED_SHARE * stops).length;
  const sum = (of: (round: RoundOver) => number): number => counted.reduce((total, round) => total + of(round), 0);
  return {
    unreadIds: counted.filter(({ answered, read }) => answered > read).map(({ id }) => id),
    rounds: {
      from: isCut && rounds.length > 0 ? rounds.at(-1)!.latestAt : new Date(from),
      isCut,
      due: counted.length,
      walked,
      thin: handedIn.length - walked,
      missed: missed.length,
      calledOff: rounds.length - counted.length,
      lastMissed: missed.slice(0, MOST_NAMED).map(({ id, code, plannedAt, zone }) => ({ id, code, plannedAt, zone })),
    },
    stops: {
      due: sum(({ stops }) => stops),
      read: sum(({ read }) => read),
      notAnswered: sum(({ stops, answered }) => stops - answered),
    },
  };
}

interface Told {
  readonly roundId: string;
  readonly id: string;
  readonly pointId: string;
  readonly kind: 'reading-taken' | 'stop-answered';
  readonly takenAt: Date;
  readonly at: Date;
  readonly answer: CouldNotRead | null;
}

/** Why stops of these rounds were not read, by the rule that settles a round: none where it was read after all. */
async function unreadOf(db: TenantDb, roundIds: readonly string[]): Promise<Seen['stops']['couldNotRead']> {
  if (roundIds.length === 0) return [];
  // The kind is asked about only afterwards: an index of one kind, which knows no rounds, must not be taken.
  const told = await db.$queryRaw<Told[]>(sql`
    SELECT w.* FROM (
      SELECT x.id AS "roundId", f.id, f.point_id AS "pointId", f.kind, f.taken_at AS "takenAt", least(f.taken_at, f.received_at) AS at,
        f.content ->> 'answer' AS answer, bool_or(f.kind = 'stop-answered') OVER (PARTITION BY x.id, f.point_id) AS "isAnswered"
      FROM unnest(${[...roundIds]}::uuid[]) AS x(id)
        CROSS JOIN LATERAL (SELECT r.stops FROM round r WHERE r.organisation_id = current_organisation() AND r.id = x.id LIMIT 1) r
        CROSS JOIN LATERAL (SELECT * FROM fact f WHERE f.organisation_id = current_organisation() AND f.round_id = x.id OFFSET 0) f
      WHERE f.kind IN ('reading-taken', 'stop-answered') AND f.point_id = ANY (r.stops)) w
    WHERE w."isAnswered"`);
  const counted = await countedAmong(
    db,
    told.filter(({ kind }) => kind === 'reading-taken'),
  );
  const stops = new Map<string, StopAnswer[]>();
  for (const { roundId, id, pointId, kind, at, answer } of told) {
    if (kind === 'reading-taken' && !counted.has(id)) continue;
    const key = `${roundId} ${pointId}`;
    const one = { id, pointId, takenAt: at.getTime(), answer: answer ?? ('read' as const) };
    stops.set(key, [...(stops.get(key) ?? []), one]);
  }
  const states = [...stops.values()].map((answers) => stopOf(answers[0]!.pointId, answers).state);
  return COULD_NOT_READ.map((answer) => ({ answer, count: states.filter((state) => state === answer).length }))
    .filter(({ count }) => count > 0)
    .sort((a, b) => b.count - a.count);
}

/** Readings among these that count; each by everything its index knows. */
async function countedAmong(db: TenantDb, readings: readonly Told[]): Promise<Set<string>> {
  if (readings.length === 0) return new Set();
  const rows = await db.$queryRaw<{ id: string }[]>(sql`
    SELECT x.id FROM unnest(${readings.map(({ id }) => id)}::uuid[], ${readings.map(({ pointId }) => pointId)}::uuid[],
        ${readings.map(({ takenAt }) => takenAt)}::timestamptz[]) AS x(id, point_id, taken_at)
      CROSS JOIN LATERAL (SELECT 1 FROM counted_reading k WHERE k.organisation_id = current_organisation() AND k.point_id = x.point_id
        AND k.taken_at = x.taken_at AND k.id = x.id LIMIT 1) k`);
  return new Set(rows.map(({ id }) => id));
}

interface RouteDue {
  readonly id: string;
  readonly season: Season | null;
  readonly zone: string;
  readonly plannedAt: Date;
  readonly since: Date;
}

/** Has it been awake all the way? A route that has only just woken has nothing due yet. */
function isAwakeSince({ season, zone, plannedAt }: RouteDue, at: number): boolean {
  const from = plannedAt.getTime();
  return awakeTime(season === null ? null : [season], zone).between(from, at) === at - from;
}

interface PointDue extends Omit<UnseenPoint, 'cause' | 'days'> {
  readonly isSeen: boolean;
  readonly since: Date;
  readonly answer: CouldNotRead | null;
  readonly wasRead: boolean;
}

async function pointsSeen(db: TenantDb, siteId: string | undefined, at: number): Promise<Seen['points']> {
  const moment = sql`${new Date(at)}::timestamptz`;
  const routes = await db.$queryRaw<RouteDue[]>(sql`
    SELECT t.id, t.season, s.zone, x.planned_at AS "plannedAt", least(x.earliest_at, x.started_at) AS since
    FROM (SELECT * FROM route t WHERE t.organisation_id = current_organisation() AND t.retired_at IS NULL ${atSite(sql`t`, siteId)}
        ORDER BY t.id LIMIT ${MOST_ROUTES + 1}) t
      CROSS JOIN LATERAL (SELECT s.zone FROM site s WHERE s.organisation_id = current_organisation() AND s.id = t.site_id LIMIT 1) s
      CROSS JOIN LATERAL (
        SELECT r.planned_at, r.earliest_at, r.started_at FROM round r
        WHERE r.organisation_id = current_organisation() AND r.route_id = t.id AND r.called_off IS NULL AND r.ends_at <= ${moment}
          AND r.planned_at <= ${moment} + ${sql.raw(`interval '${FARTHEST_DAYS} days'`)}
        ORDER BY r.planned_at DESC LIMIT 1) x`);
  const due = routes.slice(0, MOST_ROUTES).filter((route) => isAwakeSince(route, at));
  const rows = due.length === 0 ? [] : await pointsOfRoutes(db, due);
  const points = rows.slice(0, MOST_POINTS);
  const unseen = points
    .filter(({ isSeen }) => !isSeen)
    .map(({ isSeen: _, since, answer, wasRead, ...point }): UnseenPoint => {
      const cause = answer ?? (wasRead ? 'not-judged' : 'nobody-came');
      return { ...point, cause, days: daysBetween((point.lastSeenAt ?? since).getTime(), at, point.zone) };
    });
  const weight = ({ criticality, days }: UnseenPoint): number => CONSEQUENCE_OF[criticality] * days;
  return {
    due: points.length,
    seen: points.length - unseen.length,
    isCut: routes.length > MOST_ROUTES || rows.length > MOST_POINTS,
    unseen: UNSEEN_CAUSES.map((cause) => ({ cause, count: unseen.filter((one) => one.cause === cause).length }))
      .filter(({ count }) => count > 0)
      .sort((a, b) => b.count - a.count),
    worst: unseen
      .sort((a, b) => weight(b) - weight(a) || (`${a.tag} ${a.letter}` < `${b.tag} ${b.letter}` ? -1 : 1))
      .slice(0, MOST_NAMED),
  };
}

/** The points of routes, each once with its shortest interval; looked up row by row, since nothing is known of an organisation's share. */
const pointsOfRoutes = (db: TenantDb, routes: readonly RouteDue[]): Promise<PointDue[]> =>
  db.$queryRaw<PointDue[]>(sql`
    WITH due AS MATERIALIZED (
      SELECT DISTINCT ON (p.point_id) p.point_id, d.since, d.id AS route_id
      FROM unnest(${routes.map(({ id }) => id)}::uuid[], ${routes.map(({ since }) => since)}::timestamptz[]) AS d(id, since)
        CROSS JOIN LATERAL (SELECT p.point_id FROM route_stop p WHERE p.organisation_id = current_organisation() AND p.route_id = d.id OFFSET 0) p
      ORDER BY p.point_id, d.since DESC),
    here AS MATERIALIZED (
      SELECT due.*, p.asset_id, p.letter, p.name FROM due CROSS JOIN LATERAL (
        SELECT * FROM point p WHERE p.organisation_id = current_organisation() AND p.id = due.point_id AND p.retired_at IS NULL LIMIT 1) p
      LIMIT ${MOST_POINTS + 1}),
    looked AS MATERIALIZED (
      SELECT h.*, EXISTS (SELECT 1 FROM counted_reading k WHERE k.organisation_id = current_organisation() AND k.point_id = h.point_id
        AND k.taken_at >= h.since AND k.comparability <> 'not-judged') AS seen FROM here h)
    SELECT l.point_id AS "pointId", l.asset_id AS "assetId", a.tag, l.letter, a.name AS "assetName", l.name AS "pointName", a.criticality,
      s.zone, t.code AS "routeCode", l.seen AS "isSeen", l.since, w.answer, coalesce(w.read, false) AS "wasRead", w.last_seen_at AS "lastSeenAt"
    FROM looked l
      CROSS JOIN LATERAL (SELECT * FROM asset a WHERE a.organisation_id = current_organisation() AND a.id = l.asset_id LIMIT 1) a
      CROSS JOIN LATERAL (SELECT * FROM site s WHERE s.organisation_id = current_organisation() AND s.id = a.site_id LIMIT 1) s
      CROSS JOIN LATERAL (SELECT * FROM route t WHERE t.organisation_id = current_organisation() AND t.id = l.route_id LIMIT 1) t
      LEFT JOIN LATERAL (
        SELECT (SELECT f.content ->> 'answer' FROM fact f WHERE f.organisation_id = current_organisation() AND f.kind = 'stop-answered'
            AND f.point_id = l.point_id AND f.taken_at >= l.since ORDER BY f.taken_at DESC, f.id DESC LIMIT 1) AS answer,
          EXISTS (SELECT 1 FROM counted_reading k WHERE k.organisation_id = current_organisation() AND k.point_id = l.point_id
            AND k.taken_at >= l.since) AS read,
          (SELECT n.taken_at FROM (
            SELECT k.taken_at, k.id, k.comparability FROM counted_reading k WHERE k.organisation_id = current_organisation()
              AND k.point_id = l.point_id ORDER BY k.taken_at DESC, k.id DESC LIMIT ${LOOKED_AT}) n
            WHERE n.comparability <> 'not-judged' ORDER BY n.taken_at DESC LIMIT 1) AS last_seen_at) w ON NOT l.seen`);
