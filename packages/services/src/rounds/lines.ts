import { GRADES, type Grade, type RoundStanding, type RoundState, roundState } from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';

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
 * Rounds as lines, in the order of the query that names them. Grade and risk are looked up for these rounds only: the worst standing
 * grade at the points of the route, and the highest risk of an open order there.
 * @param page a query for ids, with an `ordinal` to sort by.
 */
export async function roundLines(db: TenantDb, page: Sql, now: number): Promise<RoundLine[]> {
  const rows = await db.$queryRaw<Row[]>(sql`
    WITH page AS MATERIALIZED (${page})
    SELECT r.id, r.route_id AS "routeId", t.code, t.name, r.site_id AS "siteId", s.zone, r.planned_at AS "plannedAt",
      r.earliest_at AS "earliestAt", r.latest_at AS "latestAt", r.ends_at AS "endsAt", r.grace_ms AS "graceMs", r.moved_from AS "movedFrom",
      ${personOf(sql`r.walker_id`)} AS walker, ${personOf(sql`r.taken_by`)} AS "takenBy",
      CASE WHEN r.closed_at IS NULL THEN at_stops.count ELSE coalesce(r.stop_count, at_stops.count) END AS stops,
      coalesce(r.answered_count, 0) AS answered, coalesce(r.read_count, 0) AS read, t.about_minutes AS "aboutMinutes",
      at_stops.rank, coalesce(at_stops.risk, 0) AS risk, r.started_at AS "startedAt", r.handed_in_at AS "handedInAt",
      r.looked_over_at AS "lookedOverAt", r.version,
      r.called_off || jsonb_build_object('name', coalesce((SELECT m.name FROM membership m WHERE m.organisation_id = r.organisation_id
        AND m.person_id = (r.called_off ->> 'by')::uuid), ${GONE})) AS "calledOff"
    FROM page JOIN round r ON r.organisation_id = current_organisation() AND r.id = page.id
      JOIN route t ON t.organisation_id = r.organisation_id AND t.id = r.route_id
      JOIN site s ON s.organisation_id = r.organisation_id AND s.id = r.site_id
      CROSS JOIN LATERAL (
        SELECT count(*)::int AS count, max(array_position(${[...GRADES]}, c.grade)) AS rank,
          max((SELECT max(o.risk) FROM work_order o WHERE o.organisation_id = p.organisation_id AND o.point_id = p.point_id
            AND o.ended_at IS NULL)) AS risk
        FROM route_stop p LEFT JOIN conclusion c ON c.organisation_id = p.organisation_id AND c.point_id = p.point_id
        WHERE p.organisation_id = r.organisation_id AND p.route_id = r.route_id) at_stops
    ORDER BY page.ordinal, r.planned_at, r.id`);
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
