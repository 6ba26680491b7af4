import { randomUUID } from 'node:crypto';
import { systemClock } from '@heatround/platform/clock';
import { openDatabase } from '@heatround/platform/database';
import { silentLog } from '@heatround/platform/log';
import type { Scope } from '@heatround/services/deps';
import { createOrganisation } from '@heatround/services/identity';
import { closeRoundsJob, findRoutesToPlan, listDue, listRoutes, myWalk, planRoundsJob } from '@heatround/services/rounds';
import postgres from 'postgres';
import type { DatabaseUrls } from '../../packages/platform/src/database/migrate.ts';
import type { Line } from './main.ts';
import { showingPlans } from './plans.ts';
import { mediansMs, ms } from './timing.ts';

const POINTS_PER_ROUTE = 20;
/** Some of the points have an open order, as in a plant that is kept alive. */
const ONE_ORDER_IN = 100;
/** The one person reported so many of the findings, whatever the size. */
const REPORTED_BY_ONE = 100;
/** Some are to be read once beside their route. */
const ONE_EXTRA_STOP_IN = 50;
/** Behind each route, one round a week: a year. */
const PAST_WEEKS = 52;
/** So many routes are planned ahead by the job itself, 400 days each; the rest of the rounds is written directly, with the same times. */
const PLANNED_BY_JOB = 5000;
const FILLED_TABLES = 'asset point conclusion route route_stop round extra_stop finding work_order move'.split(' ');

/**
 * The due list at growing numbers of points, with a year of past rounds behind it, and how fast rounds are made ahead. The twin of each
 * size is the one before it: a ratio near 1 means that ten times the points cost nothing, one of 0.1 that the cost grows with them.
 */
export async function roundsBench(urls: DatabaseUrls, sizes: readonly number[], explain: boolean): Promise<Line[]> {
  const database = openDatabase({ appUrl: urls.app, sweepUrl: urls.sweep, log: silentLog });
  const deps = { database, clock: systemClock, log: silentLog };
  const raw = postgres(urls.owner, { max: 2, onnotice: () => {} });
  const lines: Line[] = [];
  try {
    // All sizes are written before the first list is asked for, and asked in turns: each meets the same database and the same moments
    // of the machine. Measured one after the other, minutes apart, the same page differed twofold from run to run.
    const filled = [];
    for (const points of sizes) {
      const began = performance.now();
      const scope = await fill(deps, raw, points);
      const size = points.toLocaleString('en');
      console.log(`  ${size} points written in ${((performance.now() - began) / 1000).toFixed(0)} s`);
      filled.push({ points, size, scope });
    }
    // Nothing of what was written is still on its way to the disk when the first list is asked for.
    await raw`CHECKPOINT`;
    const query = { days: 14, pageSize: 50 };
    const ways: Record<string, (given: BenchDeps, one: Filled, second: string) => Promise<unknown>> = {
      'due list, first page': (given, scope) => listDue(given, scope, query),
      'due list, a later page': (given, scope, second) => listDue(given, scope, { ...query, after: second }),
      'due list, one site of ten': (given, scope) => listDue(given, scope, { ...query, siteId: scope.smallSiteId }),
      'due list, one person': (given, scope) => listDue(given, scope, { ...query, walkerId: scope.personId }),
      'my walk': (given, scope) => myWalk(given, scope),
      'routes, first page': (given, scope) => listRoutes(given, scope, { pageSize: 20 }),
    };
    const seconds = await Promise.all(filled.map(async ({ scope }) => (await listDue(deps, scope, query)).next as string));
    for (const [what, way] of Object.entries(ways)) {
      const times = await mediansMs(
        60,
        filled.map(
          ({ scope }, i) =>
            () =>
              way(deps, scope, seconds[i]!),
        ),
      );
      for (const [i, { size, scope }] of filled.entries()) {
        const [time, smaller] = [times[i]!, times[i - 1]];
        lines.push({
          what: `${what}, ${size} points`,
          ours: ms(time),
          twin: smaller === undefined ? '–' : `${ms(smaller)} at a tenth`,
          ratio: smaller === undefined ? '–' : (smaller / time).toFixed(2),
        });
        if (explain) await way({ ...deps, database: showingPlans(database, `${what}, ${size} points`) }, scope, seconds[i]!);
      }
      console.log(`  ${what}: ${times.map(ms).join(', ')}`);
    }
    for (const { points, size, scope } of filled) {
      if (points >= PLANNED_BY_JOB * POINTS_PER_ROUTE && !lines.some(({ what }) => what.startsWith('planning')))
        lines.push(await planningRate(deps, raw, scope));
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
type Filled = Scope & { readonly smallSiteId: string };

/** So many points on routes of twenty, one route in ten at a second site; a year of rounds behind each route and 400 days before it. */
async function fill(deps: BenchDeps, raw: Raw, points: number): Promise<Filled> {
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
  const indexes = await withoutIndexes(raw);
  await raw.begin(async (tx) => {
    // Written in sets, without looking up keys row by row and without what follows from each row: rounds get the risk that triggers would give.
    await tx`SET LOCAL session_replication_role = replica`;
    await tx`
    INSERT INTO route_stop (organisation_id, route_id, point_id, position)
    SELECT ${organisationId}, md5(${organisationId} || 'r' || (i - 1) / ${POINTS_PER_ROUTE}::int + 1)::uuid, md5(${organisationId} || 'p' || i)::uuid, i
    FROM generate_series(1, ${points}::int) i`;
    await tx`
    INSERT INTO finding (organisation_id, id, number, point_id, asset_id, site_id, mode, episode, state, stands, grade, reported_at, reported_by, version)
    SELECT p.organisation_id, p.id, p.number, p.id, p.asset_id, p.site_id, 'absolute', 1, '{}', 'agreed', 'plan',
      now() - p.number * interval '1 minute', CASE WHEN p.number <= ${REPORTED_BY_ONE}::int THEN ${personId}::uuid ELSE ${otherId}::uuid END, 1
    FROM (SELECT *, row_number() OVER () AS number FROM point
      WHERE organisation_id = ${organisationId} AND abs(hashtext(id::text)) % ${ONE_ORDER_IN}::int = 0) p`;
    await tx`
    INSERT INTO work_order (organisation_id, id, number, finding_id, point_id, asset_id, site_id, state, stands, grade, rank, risk, consequence, created_at, version)
    SELECT f.organisation_id, f.id, f.number, f.id, f.point_id, f.asset_id, f.site_id, '{}', 'agreed', 'plan', -1 - f.number % 25, 1 + f.number % 25, 3, now(), 1
    FROM finding f WHERE f.organisation_id = ${organisationId}`;
    await tx`
    INSERT INTO move (organisation_id, subject_id, version, subject, record, moved_at, moved_by)
    SELECT organisation_id, id, 1, 'order', '{"why":null}', now(), ${personId} FROM work_order WHERE organisation_id = ${organisationId}`;
    await tx`ANALYZE route, route_stop, work_order`;
    // Weekly rounds on every day of the week, past ones handed in, the others open; a few past ones still in their grace.
    await tx`
    WITH risky AS MATERIALIZED (
      SELECT s.route_id, max(w.risk) AS risk FROM work_order w
        JOIN route_stop s ON s.organisation_id = w.organisation_id AND s.point_id = w.point_id
      WHERE w.organisation_id = ${organisationId} GROUP BY s.route_id)
    INSERT INTO round (organisation_id, id, route_id, site_id, occurrence, planned_at, earliest_at, latest_at, grace_ms, ends_at, walker_id,
      handed_in_at, closed_at, risk)
    SELECT ${organisationId}, md5(r.id || 'w' || w)::uuid, r.id, r.site_id, 'w' || w, t.at, t.at - interval '1 day', t.at + interval '1 day',
      86400000, t.at + interval '2 days', CASE WHEN r.code IN ('R1', 'R2', 'R3', 'R4', 'R5') THEN ${personId}::uuid ELSE ${otherId}::uuid END,
      CASE WHEN w < 0 THEN t.at END, CASE WHEN w < 0 THEN t.at END, coalesce(CASE WHEN w >= 0 THEN k.risk END, 0)
    FROM route r LEFT JOIN risky k ON k.route_id = r.id CROSS JOIN generate_series(-${PAST_WEEKS}::int, 57) w
      CROSS JOIN LATERAL (SELECT date_trunc('day', now()) + interval '6 hours' + (w * 7 + abs(hashtext(r.id::text)) % 7) * interval '1 day' AS at) t
    WHERE r.organisation_id = ${organisationId}`;
    await tx`ANALYZE round`;
    // Some points are read again beside their route, one in two with a round, the others by whoever has time.
    await tx`
    INSERT INTO extra_stop (organisation_id, id, kind, point_id, site_id, round_id, earliest_at, latest_at, asked_at)
    SELECT p.organisation_id, p.id, 'read-again', p.id, p.site_id, CASE WHEN n.nth % 2 = 0 THEN r.id END,
      now() - interval '1 day', now() + (n.nth % 30) * interval '1 day', now()
    FROM point p CROSS JOIN LATERAL (SELECT abs(hashtext(p.id::text)) AS hash, abs(hashtext(p.id::text)) / ${ONE_EXTRA_STOP_IN}::int AS nth) n
      CROSS JOIN LATERAL (SELECT o.id FROM route_stop s JOIN round o ON o.organisation_id = s.organisation_id AND o.route_id = s.route_id
        WHERE s.organisation_id = p.organisation_id AND s.point_id = p.id AND o.closed_at IS NULL LIMIT 1) r
    WHERE p.organisation_id = ${organisationId} AND n.hash % ${ONE_EXTRA_STOP_IN}::int = 0`;
  });
  for (const definition of indexes) await raw.unsafe(definition);
  for (const table of FILLED_TABLES) await raw.unsafe(`VACUUM ANALYZE ${table}`);
  return { organisationId, siteIds: null, smallSiteId, personId, name: 'Bench', roles: ['planner'], clockOffsetMs: 0 };
}

/** Millions of rounds are written before their indexes are made, not one by one into each. @returns how to make them again. */
async function withoutIndexes(raw: Raw): Promise<string[]> {
  const indexes = await raw<{ name: string; definition: string }[]>`
    SELECT c.relname AS name, pg_get_indexdef(i.indexrelid) AS definition FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid
    WHERE i.indrelid = 'round'::regclass AND NOT EXISTS (SELECT 1 FROM pg_constraint k WHERE k.conindid = i.indexrelid)`;
  for (const { name } of indexes) await raw.unsafe(`DROP INDEX "${name}"`);
  return indexes.map(({ definition }) => definition);
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
