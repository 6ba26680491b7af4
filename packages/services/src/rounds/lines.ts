import { GRADES, type Grade, type RoundStanding, type RoundState, roundState } from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { PLACE } from '../assets/index.ts';

export interface NamedPerson {
  readonly id: string;
  readonly name: string;
}

/** A round as lists show it. */
export interface RoundLine {
  readonly id: string;
  readonly routeId: string;
  readonly code: string;
  readonly name: string;
  readonly siteId: string;
  readonly zone: string;
  readonly plannedAt: Date;
  readonly earliestAt: Date;
  readonly latestAt: Date;
  readonly endsAt: Date;
  readonly movedFrom: string | null;
  readonly state: RoundState;
  readonly standing: RoundStanding;
  readonly walker: NamedPerson | null;
  readonly takenBy: NamedPerson | null;
  readonly stops: number;
  readonly answered: number;
  readonly read: number;
  readonly aboutMinutes: number | null;
  readonly grade: Grade | null;
  readonly risk: number;
  readonly calledOff: { readonly at: Date; readonly by: string; readonly reason: string } | null;
  readonly version: number;
}

interface Row extends Omit<RoundLine, 'state' | 'standing' | 'grade' | 'calledOff'> {
  readonly graceMs: bigint;
  readonly rank: number | null;
  readonly startedAt: Date | null;
  readonly handedInAt: Date | null;
  readonly lookedOverAt: Date | null;
  readonly calledOff: { readonly at: string; readonly by: string; readonly reason: string; readonly name: string } | null;
}

/** Shown for a person whom the organisation no longer knows. */
export const GONE = 'somebody no longer here';
/** {id, name} of a person column, or null; joins membership under an alias of one's own. */
export const personOf = (column: Sql, organisation: Sql = sql`current_organisation()`) =>
  sql`(CASE WHEN ${column} IS NOT NULL THEN jsonb_build_object('id', ${column}, 'name', coalesce((SELECT m.name FROM membership m
    WHERE m.organisation_id = ${organisation} AND m.person_id = ${column}), ${GONE})) END)`;

/**
 * Rounds as lines, in the order of the query that names them. The grade is looked up for these rounds only: the worst standing
 * one at the points of the route. The highest risk of an open order there stands in the round while that is open.
 * @param page a query for ids, with an `ordinal` to sort by.
 */
export async function roundLines(db: TenantDb, page: Sql, now: number): Promise<RoundLine[]> {
  const rows = await db.$queryRaw<Row[]>(sql`
    WITH page AS MATERIALIZED (${page}),
    -- Row by row through the keys: the planner knows too little of an organisation's share to be left to join these.
    chosen AS MATERIALIZED (
      SELECT page.ordinal, r.* FROM page CROSS JOIN LATERAL (
        SELECT * FROM round r WHERE r.organisation_id = current_organisation() AND r.id = page.id LIMIT 1) r),
    stop AS MATERIALIZED (
      SELECT c.route_id, p.point_id FROM (SELECT DISTINCT route_id FROM chosen) c CROSS JOIN LATERAL (
        SELECT p.point_id FROM route_stop p WHERE p.organisation_id = current_organisation() AND p.route_id = c.route_id OFFSET 0) p),
    graded AS MATERIALIZED (
      SELECT stop.route_id, count(*)::int AS count, max(array_position(${[...GRADES]}, (SELECT c.grade FROM conclusion c
        WHERE c.organisation_id = current_organisation() AND c.point_id = stop.point_id))) AS rank FROM stop GROUP BY stop.route_id)
    SELECT r.id, r.route_id AS "routeId", t.code, t.name, r.site_id AS "siteId", s.zone, r.planned_at AS "plannedAt",
      r.earliest_at AS "earliestAt", r.latest_at AS "latestAt", r.ends_at AS "endsAt", r.grace_ms AS "graceMs", r.moved_from AS "movedFrom",
      ${personOf(sql`r.walker_id`)} AS walker, ${personOf(sql`r.taken_by`)} AS "takenBy",
      coalesce(CASE WHEN r.closed_at IS NOT NULL THEN r.stop_count END, graded.count, 0) AS stops,
      coalesce(r.answered_count, 0) AS answered, coalesce(r.read_count, 0) AS read, t.about_minutes AS "aboutMinutes",
      graded.rank, CASE WHEN r.closed_at IS NULL THEN r.risk ELSE 0 END AS risk, r.started_at AS "startedAt", r.handed_in_at AS "handedInAt",
      r.looked_over_at AS "lookedOverAt", r.version,
      r.called_off || jsonb_build_object('name', coalesce((SELECT m.name FROM membership m WHERE m.organisation_id = r.organisation_id
        AND m.person_id = (r.called_off ->> 'by')::uuid), ${GONE})) AS "calledOff"
    FROM chosen r CROSS JOIN LATERAL (
        SELECT * FROM route t WHERE t.organisation_id = current_organisation() AND t.id = r.route_id LIMIT 1) t
      JOIN site s ON s.organisation_id = r.organisation_id AND s.id = r.site_id
      LEFT JOIN graded ON graded.route_id = r.route_id
    ORDER BY r.ordinal, r.planned_at, r.id`);
  return rows.map(({ graceMs, rank, startedAt, handedInAt, lookedOverAt, calledOff, ...row }) => {
    const standing = roundState(
      {
        earliestAt: row.earliestAt.getTime(),
        latestAt: row.latestAt.getTime(),
        graceMs: Number(graceMs),
        takenBy: row.takenBy?.id ?? null,
        startedAt: startedAt?.getTime() ?? null,
        handedInAt: handedInAt?.getTime() ?? null,
        lookedOverAt: lookedOverAt?.getTime() ?? null,
        calledOff: calledOff === null ? null : { ...calledOff, at: Date.parse(calledOff.at) },
      },
      now,
    );
    return {
      ...row,
      state: standing.state,
      standing,
      grade: rank === null ? null : GRADES[rank - 1]!,
      calledOff: calledOff === null ? null : { at: new Date(calledOff.at), by: calledOff.name, reason: calledOff.reason },
    };
  });
}

/** The asset of a point p with its place: tag, asset_name, asset_id, place. Found through the keys, one by one. */
export const ASSET_OF_POINT = sql`CROSS JOIN LATERAL (
  SELECT a.id AS asset_id, a.tag, a.name AS asset_name, ${PLACE}
  FROM asset a JOIN room r ON r.organisation_id = a.organisation_id AND r.id = a.room_id
    JOIN building b ON b.organisation_id = r.organisation_id AND b.id = r.building_id
    JOIN site s ON s.organisation_id = b.organisation_id AND s.id = b.site_id
  WHERE a.organisation_id = current_organisation() AND a.id = p.asset_id LIMIT 1) a`;
