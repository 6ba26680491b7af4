import {
  checkRule,
  checkSeason,
  checkStops,
  Problem,
  type ProblemDetail,
  parseLocal,
  type RoundWindow,
  type Season,
  sayRule,
} from '@heatround/domain';
import { databaseCode, sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { placeAgain } from './extra-stops.ts';
import { type RoundLine, roundLines } from './lines.ts';
import { mustBePerson } from './people.ts';
import { FARTHEST_DAYS, holdUntouched, planAnew, planRoute, unmakeRounds } from './plan.ts';
import { settleRounds } from './settle.ts';

/** What a route is made with. */
export interface NewRoute {
  readonly id: string;
  readonly siteId: string;
  readonly code: string;
  readonly name: string;
  /** RFC 5545, see domain/rounds. */
  readonly rule: string;
  /** First planned time on the wall clock of the site. */
  readonly startLocal: string;
  readonly window: RoundWindow;
  /** Null: half the window. */
  readonly graceMs: number | null;
  readonly season: Season | null;
  readonly walkerId: string | null;
  readonly aboutMinutes: number | null;
  readonly beforeYouLeave: string;
  /** In walking order. */
  readonly pointIds: readonly string[];
}

type Changes<T> = { readonly [K in keyof T]?: T[K] | undefined };
export type RouteChange = { readonly version: number } & Changes<Omit<NewRoute, 'id' | 'siteId'>>;

export interface RouteView extends Omit<NewRoute, 'pointIds'> {
  readonly site: string;
  readonly zone: string;
  readonly ruleInWords: string;
  readonly stops: {
    readonly pointId: string;
    readonly assetId: string;
    readonly tag: string;
    readonly letter: string;
    readonly assetName: string;
    readonly pointName: string;
    readonly room: string;
  }[];
  readonly next: RoundLine[];
  readonly last: RoundLine[];
  readonly version: number;
}

/** Refuses what no round can be planned from. */
function mustBePlannable({ rule, startLocal, season, pointIds }: Changes<NewRoute>): void {
  const problems = rule === undefined ? [] : checkRule(rule);
  if (problems.length > 0) {
    throw new Problem(
      'rule-refused',
      'No round can be planned by this recurrence; nothing was saved.',
      problems.map(({ part, expected, example }) => ({
        pointer: '#/rule',
        detail: `${part}: ${expected} Example: ${example}`,
      })),
    );
  }
  const errors: ProblemDetail[] = [];
  if (startLocal !== undefined && parseLocal(startLocal) === null)
    errors.push({ pointer: '#/startLocal', detail: 'expected a day that exists, such as 2026-03-24T08:00' });
  const season1 = season ? checkSeason(season) : null;
  if (season1 !== null) errors.push({ pointer: '#/season', detail: season1 });
  // A route may be kept without stops while it is being made; nothing is planned from it.
  if (pointIds && pointIds.length > 0) for (const detail of checkStops(pointIds)) errors.push({ pointer: '#/pointIds', detail });
  if (errors.length > 0) throw new Problem('invalid-request', `${errors[0]!.detail} Nothing was saved.`, errors);
}

/** Writes the stops of a route in their order; points must be visible, in use and of its site. */
async function writeStops(db: TenantDb, routeId: string, siteId: string, pointIds: readonly string[]): Promise<void> {
  const found = await db.point.findMany({
    where: { id: { in: [...pointIds] }, retiredAt: null },
    select: { id: true, siteId: true },
  });
  if (found.length < pointIds.length) throw notFound('point');
  if (found.some((point) => point.siteId !== siteId)) {
    throw new Problem('invalid-request', 'A route keeps to one site; nothing was saved.', [
      { pointer: '#/pointIds', detail: 'expected points of the site of the route' },
    ]);
  }
  await db.$executeRaw(sql`DELETE FROM route_stop WHERE route_id = ${routeId}::uuid`);
  await db.$executeRaw(sql`
    INSERT INTO route_stop (organisation_id, route_id, point_id, position)
    SELECT current_organisation(), ${routeId}::uuid, p.id, p.position FROM unnest(${[...pointIds]}::uuid[]) WITH ORDINALITY AS p(id, position)`);
}

/** Turns a doubled code into a refusal that says so. */
async function withOwnCode<T>(code: string | undefined, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    if (databaseCode(error) !== '23505') throw error;
    throw new Problem('name-taken', `There is already a route ${code} here.`, [
      { pointer: '#/code', detail: 'choose another code' },
    ]);
  }
}

/** A new route; its rounds are made ahead in the same step. The same id again changes nothing. */
export async function createRoute(deps: Deps, scope: Scope, route: NewRoute): Promise<void> {
  mustBeAllowed(scope, 'edit-register');
  mustBePlannable(route);
  await withOwnCode(route.code, () =>
    deps.database.inTenant(scope, async ({ db }) => {
      if (!(await db.site.findFirst({ where: { id: route.siteId }, select: { id: true } }))) throw notFound('site');
      if (route.walkerId) await mustBePerson(db, route.walkerId, now(deps, scope));
      const made = await db.$executeRaw(sql`
        INSERT INTO route (organisation_id, id, site_id, code, name, rule, start_local, round_window, grace_ms, season, walker_id,
          about_minutes, before_you_leave)
        VALUES (${scope.organisationId}::uuid, ${route.id}::uuid, ${route.siteId}::uuid, ${route.code.trim()}, ${route.name.trim()},
          ${route.rule.trim()}, ${route.startLocal}, ${JSON.stringify(route.window)}::jsonb, ${route.graceMs}::bigint,
          ${route.season ? JSON.stringify(route.season) : null}::jsonb, ${route.walkerId}::uuid, ${route.aboutMinutes}::int,
          ${route.beforeYouLeave})
        ON CONFLICT (organisation_id, id) DO NOTHING`);
      if (made === 0) return;
      await writeStops(db, route.id, route.siteId, route.pointIds);
      await planRoute(db, route.id, now(deps, scope));
    }),
  );
}

/** Changes of these make coming rounds anew. */
const TIMING = ['rule', 'startLocal', 'window', 'graceMs', 'season', 'walkerId'] as const;

/**
 * Changes a route or its stops. Coming rounds that nobody touched are made anew where the timing changed; those begun keep what they
 * are. Taking the last stop off takes the coming rounds away, and a first stop brings them.
 * @throws Problem stale-version with the present version.
 */
export async function changeRoute(
  deps: Deps,
  scope: Scope,
  routeId: string,
  { version, pointIds, ...change }: RouteChange,
): Promise<{ version: number }> {
  mustBeAllowed(scope, 'edit-register');
  const at = now(deps, scope);
  return withOwnCode(change.code, () =>
    deps.database.inTenant(scope, async ({ db }) => {
      const [present] = await db.$queryRaw<{ version: number; siteId: string; stops: number }[]>(sql`
        SELECT t.version, t.site_id AS "siteId",
          (SELECT count(*)::int FROM route_stop p WHERE p.organisation_id = t.organisation_id AND p.route_id = t.id) AS stops
        FROM route t WHERE t.id = ${routeId}::uuid AND t.retired_at IS NULL FOR NO KEY UPDATE OF t`);
      if (!present) throw notFound('route');
      if (present.version !== version) {
        throw new Problem('stale-version', `This route is at version ${present.version} by now.`, [], {
          present: { version: present.version },
        });
      }
      mustBePlannable({ ...change, pointIds });
      if (change.walkerId) await mustBePerson(db, change.walkerId, at);
      const { window, season, graceMs, ...plain } = change;
      await db.route.update({
        where: { organisationId_id: { organisationId: scope.organisationId, id: routeId } },
        data: {
          ...Object.fromEntries(Object.entries(plain).filter(([, value]) => value !== undefined)),
          version: version + 1,
        },
      });
      await db.$executeRaw(sql`
        UPDATE route SET round_window = CASE WHEN ${window !== undefined} THEN ${JSON.stringify(window ?? null)}::jsonb ELSE round_window END,
          season = CASE WHEN ${season !== undefined} THEN ${season ? JSON.stringify(season) : null}::jsonb ELSE season END,
          grace_ms = CASE WHEN ${graceMs !== undefined} THEN ${graceMs ?? null}::bigint ELSE grace_ms END
        WHERE id = ${routeId}::uuid`);
      if (pointIds) {
        await writeStops(db, routeId, present.siteId, pointIds);
        // Rounds under way count their stops by the route as it is now.
        const begun = await db.round.findMany({
          where: { routeId, closedAt: null, NOT: { startedAt: null } },
          select: { id: true },
        });
        await settleRounds(
          db,
          begun.map(({ id }) => id),
          at,
        );
      }
      const turnsEmpty = pointIds !== undefined && (pointIds.length === 0) !== (present.stops === 0);
      if (turnsEmpty || TIMING.some((name) => change[name] !== undefined)) await planAnew(db, routeId, at);
      return { version: version + 1 };
    }),
  );
}

/**
 * Of some routes those that somebody changed, or has a round of begun, named, called off or asked for: they stay when others go.
 * Inside a transaction of the caller.
 */
export function touchedRoutes(
  db: TenantDb,
  routeIds: readonly string[],
): Promise<{ id: string; code: string; isTouched: boolean }[]> {
  return db.$queryRaw(sql`
    SELECT t.id, t.code, t.version > 1 OR EXISTS (
        SELECT 1 FROM round r WHERE r.organisation_id = t.organisation_id AND r.route_id = t.id AND (r.started_at IS NOT NULL OR r.handed_in_at IS NOT NULL
          OR r.called_off IS NOT NULL OR r.named_at IS NOT NULL OR EXISTS (SELECT 1 FROM fact f WHERE f.organisation_id = r.organisation_id AND f.round_id = r.id)
          OR EXISTS (SELECT 1 FROM extra_stop e WHERE e.organisation_id = r.organisation_id AND e.round_id = r.id))) AS "isTouched"
    FROM route t WHERE t.organisation_id = current_organisation() AND t.id = ANY (${[...routeIds]}::uuid[]) AND t.retired_at IS NULL ORDER BY t.code`);
}

/**
 * Ends routes that nobody touched: their coming rounds go, their points are free, their codes too. Rounds that are over stay as they
 * are; a stop that somebody asked for meanwhile finds another round.
 */
export async function endRoutes(db: TenantDb, routeIds: readonly string[], at: Date): Promise<void> {
  const ids = sql`${[...routeIds]}::uuid[]`;
  // Points before rounds, in the order in which whoever hands in facts holds them.
  await db.$queryRaw(sql`
    SELECT 1 AS held FROM point_revision v WHERE v.organisation_id = current_organisation()
      AND v.point_id IN (SELECT point_id FROM route_stop WHERE organisation_id = current_organisation() AND route_id = ANY (${ids}))
    ORDER BY v.organisation_id, v.point_id FOR UPDATE`);
  const coming = await holdUntouched(db, sql`r.route_id = ANY (${ids})`);
  const homeless = await unmakeRounds(
    db,
    coming.map(({ id }) => id),
  );
  await db.$executeRaw(sql`DELETE FROM route_stop WHERE route_id = ANY (${ids})`);
  await db.$executeRaw(sql`UPDATE route SET retired_at = ${at}, version = version + 1 WHERE id = ANY (${ids})`);
  for (const stop of homeless) await placeAgain(db, stop);
}

/** So many rounds ahead and behind are shown with a route. */
const ROUNDS_BESIDE = 3;

interface RouteRow extends Omit<RouteView, 'ruleInWords' | 'next' | 'last' | 'graceMs'> {
  readonly graceMs: bigint | null;
  readonly key: string;
}

/** Routes by code with their stops, their next and last rounds. The cost grows with the page. */
export async function listRoutes(
  deps: Deps,
  scope: Scope,
  query: { siteId?: string | undefined; after?: string | undefined; pageSize: number },
): Promise<{ routes: RouteView[]; next: string | null }> {
  mustBeAllowed(scope, 'see');
  const at = now(deps, scope);
  const { rows, rounds } = await deps.database.inTenant(scope, async ({ db }) => {
    const rows = await db.$queryRaw<RouteRow[]>(sql`
      WITH page AS MATERIALIZED (
        SELECT t.* FROM route t WHERE t.organisation_id = current_organisation() AND t.retired_at IS NULL
          ${query.siteId ? sql`AND t.site_id = ${query.siteId}::uuid` : sql.empty}
          ${query.after === undefined ? sql.empty : sql`AND lower(t.code) > ${query.after}`}
        ORDER BY lower(t.code) LIMIT ${query.pageSize + 1})
      SELECT t.id, t.site_id AS "siteId", s.name AS site, s.zone, t.code, t.name, t.rule, t.start_local AS "startLocal",
        t.round_window AS window, t.grace_ms AS "graceMs", t.season, t.walker_id AS "walkerId", t.about_minutes AS "aboutMinutes",
        t.before_you_leave AS "beforeYouLeave", t.version, lower(t.code) AS key,
        coalesce((SELECT jsonb_agg(jsonb_build_object('pointId', y.id, 'assetId', y.asset_id, 'tag', y.tag, 'letter', y.letter,
            'assetName', y.asset_name, 'pointName', y.name, 'room', y.room) ORDER BY y.position, y.id)
          -- Stop by stop through the keys, as the planner would not if it were free to join.
          FROM (SELECT x.position, p.id, p.letter, p.name, a.id AS asset_id, a.tag, a.name AS asset_name, m.name AS room FROM route_stop x
            CROSS JOIN LATERAL (SELECT * FROM point p WHERE p.organisation_id = x.organisation_id AND p.id = x.point_id LIMIT 1) p
            CROSS JOIN LATERAL (SELECT * FROM asset a WHERE a.organisation_id = p.organisation_id AND a.id = p.asset_id LIMIT 1) a
            CROSS JOIN LATERAL (SELECT * FROM room m WHERE m.organisation_id = a.organisation_id AND m.id = a.room_id LIMIT 1) m
            WHERE x.organisation_id = t.organisation_id AND x.route_id = t.id AND p.retired_at IS NULL OFFSET 0) y), '[]'::jsonb) AS stops
      FROM page t JOIN site s ON s.organisation_id = t.organisation_id AND s.id = t.site_id ORDER BY key`);
    const ids = rows.slice(0, query.pageSize).map(({ id }) => id);
    const beside = (which: 'next' | 'last') =>
      roundLines(
        db,
        sql`SELECT x.id, ${which === 'next' ? sql`x.number` : sql`-x.number`} AS ordinal FROM unnest(${ids}::uuid[]) AS t(id) CROSS JOIN LATERAL (
          SELECT r.id, row_number() OVER () AS number FROM (SELECT r.id FROM round r
            WHERE r.organisation_id = current_organisation() AND r.route_id = t.id
              ${
                which === 'next'
                  ? sql`AND r.ends_at >= ${new Date(at)}::timestamptz AND r.closed_at IS NULL`
                  : sql`AND r.closed_at IS NOT NULL AND (r.planned_at < ${new Date(at)}::timestamptz OR r.handed_in_at IS NOT NULL)
                AND r.planned_at < ${new Date(at)}::timestamptz + interval '${sql.raw(String(FARTHEST_DAYS))} days'`
              }
            ORDER BY r.planned_at ${which === 'next' ? sql`ASC` : sql`DESC`} LIMIT ${ROUNDS_BESIDE}) r) x`,
        at,
      );
    return { rows, rounds: { next: await beside('next'), last: (await beside('last')).reverse() } };
  });
  const of = (lines: readonly RoundLine[]) => {
    const byRoute = new Map<string, RoundLine[]>();
    for (const line of lines) byRoute.set(line.routeId, [...(byRoute.get(line.routeId) ?? []), line]);
    return byRoute;
  };
  const [next, last] = [of(rounds.next), of(rounds.last)];
  const page = rows.slice(0, query.pageSize);
  return {
    routes: page.map(({ key: _, graceMs, ...row }) => ({
      ...row,
      graceMs: graceMs === null ? null : Number(graceMs),
      ruleInWords: sayRule(row.rule, row.zone),
      next: next.get(row.id) ?? [],
      last: last.get(row.id) ?? [],
    })),
    next: rows.length > query.pageSize ? page.at(-1)!.key : null,
  };
}
