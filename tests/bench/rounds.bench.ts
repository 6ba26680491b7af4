import { randomUUID } from 'node:crypto';
import { systemClock } from '@heatround/platform/clock';
import { type Database, openDatabase, type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { silentLog } from '@heatround/platform/log';
import type { Scope } from '@heatround/services/deps';
import { createOrganisation } from '@heatround/services/identity';
import { closeRoundsJob, findRoutesToPlan, listDue, listRoutes, myWalk, planRoundsJob } from '@heatround/services/rounds';
import postgres from 'postgres';
import type { DatabaseUrls } from '../../packages/platform/src/database/migrate.ts';
import type { Line } from './main.ts';
import { medianMs, ms } from './timing.ts';

const POINTS_PER_ROUTE = 20;
/** Some of the points have an open order, as in a plant that is kept alive. */
const ONE_ORDER_IN = 100;
/** So many routes are planned ahead by the job itself, 400 days each; the rest of the rounds is written directly, with the same times. */
const PLANNED_BY_JOB = 5000;

/**
 * The due list at growing numbers of points, with a year of past rounds behind it, and how fast rounds are made ahead. The twin of each
 * size is the one before it: a ratio near 1 means that ten times the points cost nothing, one of 0.1 that the cost grows with them.
 */
export async function roundsBench(urls: DatabaseUrls, sizes: readonly number[], explain: boolean): Promise<Line[]> {
  const database = openDatabase({ appUrl: urls.app, sweepUrl: urls.sweep, log: silentLog });
  const deps = { database, clock: systemClock, log: silentLog };
  const raw = postgres(urls.owner, { max: 2, onnotice: () => {} });
  const lines: Line[] = [];
  const before = new Map<string, number>();
  try {
    for (const points of sizes) {
      const began = performance.now();
      const scope = await fill(deps, raw, points);
      const size = points.toLocaleString('en');
      console.log(`  ${size} points written in ${((performance.now() - began) / 1000).toFixed(0)} s`);
      const query = { days: 14, pageSize: 50 };
      const first = await listDue(deps, scope, query);
      const second = first.next as string;
      const works = {
        'due list, first page': () => listDue(deps, scope, query),
        'due list, a later page': () => listDue(deps, scope, { ...query, after: second }),
        'due list, one site of ten': () => listDue(deps, scope, { ...query, siteId: scope.smallSiteId }),
        'due list, one person': () => listDue(deps, scope, { ...query, walkerId: scope.personId }),
        'my walk': () => myWalk(deps, scope),
        'routes, first page': () => listRoutes(deps, scope, { pageSize: 20 }),
      };
      for (const [what, work] of Object.entries(works)) {
        const time = await medianMs(20, work);
        const smaller = before.get(what);
        lines.push({
          what: `${what}, ${size} points`,
          ours: ms(time),
          twin: smaller === undefined ? '–' : `${ms(smaller)} at a tenth`,
          ratio: smaller === undefined ? '–' : (smaller / time).toFixed(2),
        });
        before.set(what, time);
      }
      if (explain) await showPlans(deps, scope);
      if (points >= PLANNED_BY_JOB * POINTS_PER_ROUTE && !lines.some(({ what }) => what.startsWith('planning'))) {
        const rate = await planningRate(deps, raw, scope);
        lines.push(rate);
      }
      const closing = performance.now();
      await closeRoundsJob.handle(deps, { organisationId: scope.organisationId });
      lines.push({ what: `closing what is over, ${size} points`, ours: ms(performance.now() - closing), twin: '–', ratio: '–' });
    }
    return lines;
  } finally {
    await raw.end();
    await database.close();
  }
}

type Raw = ReturnType<typeof postgres>;
type BenchDeps = Parameters<typeof listDue>[0];

/** So many points on routes of twenty, one route in ten at a second site; a quarter of rounds behind each route and 400 days before it. */
async function fill(deps: BenchDeps, raw: Raw, points: number): Promise<Scope & { readonly smallSiteId: string }> {
  const organisationId = randomUUID();
  await createOrganisation(deps, { id: organisationId, name: `Bench ${points}` });
  // One person has five routes whatever the size; somebody else has all the others.
  const [siteId, smallSiteId, personId, otherId] = [randomUUID(), randomUUID(), randomUUID(), randomUUID()];
  await raw`INSERT INTO membership (organisation_id, person_id, name, roles) VALUES (${organisationId}, ${personId}, 'Bench', ARRAY['planner'])`;
  // A site, its only building and its only room share an id here.
  for (const id of [siteId, smallSiteId]) {
    await raw`INSERT INTO site (organisation_id, id, name, zone) VALUES (${organisationId}, ${id}, ${`Site ${id}`}, 'Europe/Dublin')`;
    await raw`INSERT INTO building (organisation_id, id, site_id, name) VALUES (${organisationId}, ${id}, ${id}, 'Building')`;
    await raw`INSERT INTO room (organisation_id, id, building_id, site_id, name) VALUES (${organisationId}, ${id}, ${id}, ${id}, 'Room')`;
  }
  const siteOf = (route: postgres.PendingQuery<postgres.Row[]>) =>
    raw`CASE WHEN ${route} % 10 = 0 THEN ${smallSiteId}::uuid ELSE ${siteId}::uuid END`;
  const routes = Math.ceil(points / POINTS_PER_ROUTE);
  await raw`
    INSERT INTO asset (organisation_id, id, room_id, site_id, tag, name, criticality, criticality_reason)
    SELECT ${organisationId}, md5(${organisationId} || 'a' || i)::uuid, ${siteOf(raw`i`)}, ${siteOf(raw`i`)}, 'A-' || i, 'Asset', 'B', 'bench' FROM generate_series(1, ${routes}) i`;
  await raw`
    INSERT INTO point (organisation_id, id, asset_id, site_id, letter, name, quantity, unit, decimals, load_family, basis,
      reference_load_percent, minimum_load_percent, load_exponent, infrared, needs, parts)
    SELECT ${organisationId}, md5(${organisationId} || 'p' || i)::uuid, md5(${organisationId} || 'a' || (i - 1) / ${POINTS_PER_ROUTE}::int + 1)::uuid,
      ${siteOf(raw`((i - 1) / ${POINTS_PER_ROUTE}::int + 1)`)}, 'p' || i % ${POINTS_PER_ROUTE}::int, 'Point', 'temperature', '°C', 1, 'none', 'raw', 100, 50, 1, false, '{}', '{}'
    FROM generate_series(1, ${points}::int) i`;
  await raw`
    INSERT INTO conclusion (organisation_id, point_id, revision, grade, content, domain_version, computed_at)
    SELECT organisation_id, id, 0, (ARRAY['fine','fine','fine','watch'])[1 + abs(hashtext(id::text)) % 4], '{}', '1', now() FROM point
    WHERE organisation_id = ${organisationId}`;
  await raw`
    INSERT INTO route (organisation_id, id, site_id, code, name, rule, start_local, round_window, planned_until)
    SELECT ${organisationId}, md5(${organisationId} || 'r' || i)::uuid, ${siteOf(raw`i`)}, 'R' || i, 'Route', 'FREQ=WEEKLY', '2026-01-05T08:00',
      '{"kind":"days","daysBefore":1,"daysAfter":1}', now() + interval '500 days' FROM generate_series(1, ${routes}) i`;
  // Written at once, without what follows from each row; the risks of rounds are set below as their triggers would.
  await raw.begin(async (tx) => {
    await tx`SET LOCAL session_replication_role = replica`;
    await tx`
    INSERT INTO route_stop (organisation_id, route_id, point_id, position)
    SELECT ${organisationId}, md5(${organisationId} || 'r' || (i - 1) / ${POINTS_PER_ROUTE}::int + 1)::uuid, md5(${organisationId} || 'p' || i)::uuid, i
    FROM generate_series(1, ${points}::int) i`;
  });
  // Weekly rounds on every day of the week, past ones handed in, the others open; a few past ones still in their grace.
  await raw`
    INSERT INTO round (organisation_id, id, route_id, site_id, occurrence, planned_at, earliest_at, latest_at, grace_ms, ends_at, walker_id,
      handed_in_at, closed_at)
    SELECT ${organisationId}, md5(r.id || 'w' || w)::uuid, r.id, r.site_id, 'w' || w, t.at, t.at - interval '1 day', t.at + interval '1 day',
      86400000, t.at + interval '2 days', CASE WHEN r.code IN ('R1', 'R2', 'R3', 'R4', 'R5') THEN ${personId}::uuid ELSE ${otherId}::uuid END,
      CASE WHEN w < 0 THEN t.at END, CASE WHEN w < 0 THEN t.at END
    FROM route r CROSS JOIN generate_series(-13, 57) w
      CROSS JOIN LATERAL (SELECT date_trunc('day', now()) + interval '6 hours' + (w * 7 + abs(hashtext(r.id::text)) % 7) * interval '1 day' AS at) t
    WHERE r.organisation_id = ${organisationId}`;
  await raw`
    INSERT INTO finding (organisation_id, id, number, point_id, asset_id, site_id, mode, episode, state, stands, grade, reported_at, reported_by, version)
    SELECT p.organisation_id, p.id, row_number() OVER (), p.id, p.asset_id, p.site_id, 'absolute', 1, '{}', 'agreed', 'plan', now(), ${personId}, 1
    FROM point p WHERE p.organisation_id = ${organisationId} AND abs(hashtext(p.id::text)) % ${ONE_ORDER_IN}::int = 0`;
  await raw.begin(async (tx) => {
    await tx`SET LOCAL session_replication_role = replica`;
    await tx`
    INSERT INTO work_order (organisation_id, id, number, finding_id, point_id, asset_id, site_id, state, stands, grade, rank, risk, consequence, created_at, version)
    SELECT f.organisation_id, f.id, f.number, f.id, f.point_id, f.asset_id, f.site_id, '{}', 'agreed', 'plan', -1 - f.number % 25, 1 + f.number % 25, 3, now(), 1
    FROM finding f WHERE f.organisation_id = ${organisationId}`;
  });
  await raw`ANALYZE`;
  await raw`
    UPDATE round r SET risk = x.risk FROM (SELECT s.route_id, max(w.risk) AS risk FROM work_order w
        JOIN route_stop s ON s.organisation_id = w.organisation_id AND s.point_id = w.point_id WHERE w.organisation_id = ${organisationId}
        GROUP BY s.route_id) x
    WHERE r.organisation_id = ${organisationId} AND r.route_id = x.route_id AND r.closed_at IS NULL`;
  for (const table of ['round', 'route', 'route_stop', 'conclusion', 'work_order', 'point', 'asset'])
    await raw.unsafe(`VACUUM ANALYZE ${table}`);
  return { organisationId, siteIds: null, smallSiteId, personId, name: 'Bench', roles: ['planner'], clockOffsetMs: 0 };
}

/** How many rounds a second the job makes, route by route as the worker does, for 400 days and more. */
async function planningRate(deps: BenchDeps, raw: Raw, { organisationId }: Scope): Promise<Line> {
  await raw`
    UPDATE route SET planned_until = NULL WHERE (organisation_id, id) IN
      (SELECT organisation_id, id FROM route WHERE organisation_id = ${organisationId} ORDER BY id LIMIT ${PLANNED_BY_JOB})`;
  const due = await findRoutesToPlan(deps, PLANNED_BY_JOB);
  const count = async () =>
    Number((await raw`SELECT count(*)::int AS n FROM round WHERE organisation_id = ${organisationId}`)[0]!.n);
  const was = await count();
  const start = performance.now();
  const queue = [...due];
  const work = async () => {
    for (let next = queue.pop(); next; next = queue.pop()) await planRoundsJob.handle(deps, next);
  };
  await Promise.all([work(), work(), work(), work()]);
  const taken = performance.now() - start;
  const made = (await count()) - was;
  const rows = JSON.stringify(Array.from({ length: made }, (_, i) => ({ i })));
  await raw`CREATE TABLE raw_round (LIKE round INCLUDING ALL)`;
  const rawStart = performance.now();
  await raw`
    INSERT INTO raw_round (organisation_id, id, route_id, site_id, occurrence, planned_at, earliest_at, latest_at, grace_ms, ends_at)
    SELECT ${organisationId}, gen_random_uuid(), ${randomUUID()}, ${randomUUID()}, 'x' || n.i, now(), now(), now(), 1, now()
    FROM jsonb_to_recordset(${rows}::text::jsonb) AS n(i int)`;
  const twin = performance.now() - rawStart;
  await raw`DROP TABLE raw_round`;
  const perSecond = Math.round((made / taken) * 1000).toLocaleString('en');
  return {
    what: `planning ${due.length} routes ahead, ${made.toLocaleString('en')} rounds (${perSecond}/s)`,
    ours: ms(taken),
    twin: ms(twin),
    ratio: (twin / taken).toFixed(3),
  };
}

/** The plans of the statements that the list really sends, for the eye. */
async function showPlans(deps: BenchDeps, scope: Scope): Promise<void> {
  const database: Database = {
    ...deps.database,
    inTenant: (tenant, work) =>
      deps.database.inTenant(tenant, (unit) => {
        const explaining = async (statement: Sql) => {
          const plan = await unit.db.$queryRaw<{ 'QUERY PLAN': string }[]>(
            sql`EXPLAIN (ANALYZE, COSTS OFF, BUFFERS OFF) ${statement}`,
          );
          console.log(`${plan.map((row) => row['QUERY PLAN']).join('\n')}\n`);
          return unit.db.$queryRaw(statement);
        };
        return work({ ...unit, db: { $queryRaw: explaining } as unknown as TenantDb });
      }),
  };
  await listDue({ ...deps, database }, scope, { days: 14, pageSize: 50 });
}
