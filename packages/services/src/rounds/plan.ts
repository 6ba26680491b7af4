import { createHash } from 'node:crypto';
import {
  awakeOccurrences,
  type Occurrence,
  occurrencesOf,
  type RoundTimes,
  type RoundWindow,
  type RouteTiming,
  type Season,
  windowOf,
} from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { type Homeless, placeAgain } from './extra-stops.ts';

const DAY = 86_400_000;
/** Rounds are there for so many days ahead, always. */
export const HORIZON_DAYS = 400;
/** So many more are made at a time, so that a route is looked at once a month and not with every sweep. */
const SPARE_DAYS = 30;
/** No window begins or ends farther from its planned time. */
export const FARTHEST_DAYS = 61;
const MOST = 10_000;

/** Nobody walked it, named anybody for it, called it off, or handed anything in for it. */
const UNTOUCHED = sql`r.started_at IS NULL AND r.handed_in_at IS NULL AND r.called_off IS NULL AND r.closed_at IS NULL
  AND r.named_at IS NULL AND NOT EXISTS (SELECT 1 FROM fact f WHERE f.organisation_id = r.organisation_id AND f.round_id = r.id)`;

interface RouteToPlan {
  readonly id: string;
  readonly siteId: string;
  readonly zone: string;
  readonly rule: string;
  readonly startLocal: string;
  readonly window: RoundWindow;
  readonly graceMs: bigint | null;
  readonly season: Season | null;
  readonly walkerId: string | null;
  readonly plannedUntil: Date | null;
  readonly hasStops: boolean;
}

interface PlannedRound {
  readonly id: string;
  readonly occurrence: string;
  readonly movedFrom: string | null;
  readonly plannedAt: string;
  readonly earliestAt: string;
  readonly latestAt: string;
  readonly graceMs: number;
  readonly endsAt: string;
}

/** The id of a round follows from its route and planned time (UUID version 8, RFC 9562 section 5.8). */
function roundId(routeId: string, occurrence: string): string {
  const bytes = createHash('sha256').update(`round\n${routeId}\n${occurrence}`).digest().subarray(0, 16);
  bytes[6] = 0x80 | (bytes[6]! & 0x0f);
  bytes[8] = 0x80 | (bytes[8]! & 0x3f);
  const hex = bytes.toString('hex');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

/** A window of whole days or of a week follows from the day alone: routes share them, and the calendar is asked once. */
const windowsOfDays = new Map<string, RoundTimes>();
const MOST_WINDOWS = 20_000;

function timesOf({ window, graceMs, zone }: RouteTiming, one: Occurrence): RoundTimes {
  if (window.kind === 'minutes') return windowOf({ window, graceMs, zone }, one);
  const key = JSON.stringify([zone, window, graceMs, one.local.slice(0, 10)]);
  const known = windowsOfDays.get(key);
  if (known !== undefined) return { ...known, plannedAt: one.at };
  const times = windowOf({ window, graceMs, zone }, one);
  if (windowsOfDays.size >= MOST_WINDOWS) windowsOfDays.clear();
  windowsOfDays.set(key, times);
  return times;
}

/** The rounds of a route planned within some time. An occurrence is named by the local time that was asked for. */
function roundsWithin(route: RouteToPlan, fromMs: number, toMs: number): PlannedRound[] {
  const { rule, startLocal, zone, window, season } = route;
  const graceMs = route.graceMs === null ? null : Number(route.graceMs);
  const iso = (at: number) => new Date(at).toISOString();
  return awakeOccurrences(occurrencesOf({ rule, startLocal, zone }, fromMs, toMs, MOST), season, zone).map((one) => {
    const times = timesOf({ window, graceMs, zone }, one);
    const occurrence = one.movedFrom ?? one.local;
    return {
      id: roundId(route.id, occurrence),
      occurrence,
      movedFrom: one.movedFrom,
      plannedAt: iso(times.plannedAt),
      earliestAt: iso(times.earliestAt),
      latestAt: iso(times.latestAt),
      graceMs: times.graceMs,
      endsAt: iso(times.latestAt + times.graceMs),
    };
  });
}

/** Holds the route, so that two workers, or a worker and a planner, plan one after the other. */
async function holdRoute(db: TenantDb, routeId: string): Promise<RouteToPlan | null> {
  const [route] = await db.$queryRaw<RouteToPlan[]>(sql`
    SELECT t.id, t.site_id AS "siteId", s.zone, t.rule, t.start_local AS "startLocal", t.round_window AS window, t.grace_ms AS "graceMs",
      t.season, t.walker_id AS "walkerId", t.planned_until AS "plannedUntil",
      EXISTS (SELECT 1 FROM route_stop p WHERE p.organisation_id = t.organisation_id AND p.route_id = t.id) AS "hasStops"
    FROM route t JOIN site s ON s.organisation_id = t.organisation_id AND s.id = t.site_id
    WHERE t.id = ${routeId}::uuid AND t.retired_at IS NULL FOR NO KEY UPDATE OF t`);
  return route ?? null;
}

/** Writes rounds that are not there yet; with `renews`, coming ones that nobody touched take their new times. */
async function writeRounds(
  db: TenantDb,
  route: RouteToPlan,
  rounds: readonly PlannedRound[],
  renews: Date | null,
): Promise<number> {
  if (rounds.length === 0) return 0;
  const onConflict =
    renews === null
      ? sql`DO NOTHING`
      : sql`DO UPDATE SET moved_from = excluded.moved_from, planned_at = excluded.planned_at, earliest_at = excluded.earliest_at,
          latest_at = excluded.latest_at, grace_ms = excluded.grace_ms, ends_at = excluded.ends_at,
          named_walker_id = excluded.named_walker_id, walker_id = excluded.walker_id
        WHERE r.earliest_at > ${renews}::timestamptz AND ${UNTOUCHED}`;
  return db.$executeRaw(sql`
    INSERT INTO round AS r (organisation_id, id, route_id, site_id, occurrence, moved_from, planned_at, earliest_at, latest_at, grace_ms,
      ends_at, named_walker_id, walker_id, risk)
    SELECT current_organisation(), n.id, ${route.id}::uuid, ${route.siteId}::uuid, n.occurrence, n."movedFrom", n."plannedAt",
      n."earliestAt", n."latestAt", n."graceMs", n."endsAt", ${route.walkerId}::uuid, ${route.walkerId}::uuid,
      (SELECT risk_of_route(current_organisation(), ${route.id}::uuid))
    FROM jsonb_to_recordset(${JSON.stringify(rounds)}::jsonb) AS n(id uuid, occurrence text, "movedFrom" text, "plannedAt" timestamptz,
      "earliestAt" timestamptz, "latestAt" timestamptz, "graceMs" bigint, "endsAt" timestamptz)
    ON CONFLICT (organisation_id, route_id, occurrence) ${onConflict}`);
}

const setPlanned = (db: TenantDb, routeId: string, until: number) =>
  db.$executeRaw(sql`UPDATE route SET planned_until = ${new Date(until)}::timestamptz WHERE id = ${routeId}::uuid`);

/**
 * Makes the rounds of a route that are missing within the horizon. A route planned for the first time begins with the rounds that can
 * still be walked; later ones go on where the last planning ended. Again, late, or by two workers at once changes nothing.
 * @param now epoch milliseconds by the organisation's clock. @returns how many were made.
 */
export async function planRoute(db: TenantDb, routeId: string, now: number): Promise<number> {
  const route = await holdRoute(db, routeId);
  const until = now + (HORIZON_DAYS + SPARE_DAYS) * DAY;
  const planned = route?.plannedUntil?.getTime() ?? null;
  if (route === null || (planned !== null && planned >= now + HORIZON_DAYS * DAY)) return 0;
  const found = route.hasStops ? roundsWithin(route, planned ?? now - FARTHEST_DAYS * DAY, until) : [];
  const rounds = planned === null ? found.filter(({ latestAt }) => Date.parse(latestAt) >= now) : found;
  const made = await writeRounds(db, route, rounds, null);
  await setPlanned(db, routeId, until);
  return made;
}

/** Those of some rounds r that nobody touched, held: nobody begins one meanwhile, or puts a stop on it. */
export async function holdUntouched(db: TenantDb, which: Sql): Promise<{ id: string; occurrence: string }[]> {
  await db.$queryRaw(sql`SELECT 1 AS held FROM round r WHERE ${which} AND r.closed_at IS NULL ORDER BY r.id FOR UPDATE`);
  // Asked anew: a statement that waited for others does not see all that they did.
  return db.$queryRaw(sql`SELECT r.id, r.occurrence FROM round r WHERE ${which} AND ${UNTOUCHED}`);
}

/** Takes away rounds that are held and untouched. @returns the open stops that were on them, for another round. */
export async function unmakeRounds(db: TenantDb, roundIds: readonly string[]): Promise<Homeless[]> {
  const onThem = { roundId: { in: [...roundIds] } };
  const homeless = await db.extraStop.findMany({ where: { ...onThem, closedAt: null } });
  await db.extraStop.updateMany({ where: onThem, data: { roundId: null } });
  await db.$executeRaw(sql`DELETE FROM round r WHERE r.id = ANY (${[...roundIds]}::uuid[])`);
  return homeless;
}

/**
 * Makes the coming rounds of a route anew after it was changed. Those that can be walked already, and those that somebody walked,
 * named or called off, stay as they are; extra stops of rounds that go find another place.
 */
export async function planAnew(db: TenantDb, routeId: string, now: number): Promise<void> {
  const route = await holdRoute(db, routeId);
  if (route === null) return;
  const at = new Date(now);
  const until = now + (HORIZON_DAYS + SPARE_DAYS) * DAY;
  const coming = await holdUntouched(db, sql`r.route_id = ${routeId}::uuid AND r.earliest_at > ${at}::timestamptz`);
  const known = new Set(coming.map(({ occurrence }) => occurrence));
  const isFirst = (await db.round.count({ where: { routeId }, take: 1 })) === 0;
  const wanted = (route.hasStops ? roundsWithin(route, now - FARTHEST_DAYS * DAY, until) : []).filter(
    ({ earliestAt, latestAt, occurrence }) =>
      Date.parse(earliestAt) > now || known.has(occurrence) || (isFirst && Date.parse(latestAt) >= now),
  );
  const kept = new Set(wanted.map(({ occurrence }) => occurrence));
  const gone = coming.filter(({ occurrence }) => !kept.has(occurrence)).map(({ id }) => id);
  const homeless = await unmakeRounds(db, gone);
  await writeRounds(db, route, wanted, at);
  for (const stop of homeless) await placeAgain(db, stop);
  await setPlanned(db, routeId, until);
}
