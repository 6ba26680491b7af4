import { randomUUID } from 'node:crypto';
import { tmpdir } from 'node:os';
import { openAccounts } from '@heatround/platform/accounts';
import { systemClock } from '@heatround/platform/clock';
import { openDatabase } from '@heatround/platform/database';
import { openJobs } from '@heatround/platform/jobs';
import { silentLog } from '@heatround/platform/log';
import { openMailer } from '@heatround/platform/mail';
import { createOrganisation } from '@heatround/services/identity';
import { reactTo } from '@heatround/services/reactions';
import postgres from 'postgres';
import { startWorker } from '../../apps/worker/src/main.ts';
import type { DatabaseUrls } from '../../packages/platform/src/database/migrate.ts';
import type { Line } from './main.ts';

const READINGS = 260;
const POINTS_AT_ONCE = 500;

/**
 * A whole fleet concluded anew: every point with five years of weekly readings, through the worker with its queue and its database. The
 * twin reads the same rows and writes one row per point without computing anything, so the ratio says what the computation costs.
 */
export async function fleetBench(urls: DatabaseUrls, points: number): Promise<Line[]> {
  const raw = postgres(urls.owner, { max: 4, onnotice: () => {} });
  const database = openDatabase({ appUrl: urls.app, sweepUrl: urls.sweep, log: silentLog });
  const jobs = openJobs({ databaseUrl: urls.app, redisUrl: undefined, log: silentLog });
  const deps = { database, clock: systemClock, log: silentLog };
  // Nobody is written to here.
  const accounts = openAccounts({
    sweepUrl: urls.sweep,
    secret: 'a secret for benchmarks, of enough length',
    publicUrl: 'http://127.0.0.1',
    log: silentLog,
  });
  const noMail = {
    accounts,
    mailer: openMailer({ from: 'rounds@example.org', folder: tmpdir() }),
    publicUrl: 'http://127.0.0.1',
  };
  try {
    const organisationId = await fill(raw, deps, points);
    const left = async () =>
      Number(
        (
          await raw`SELECT count(*) AS n FROM point_revision WHERE organisation_id = ${organisationId} AND revision > concluded`
        )[0]!.n,
      );
    const lines: Line[] = [];

    const twinStart = performance.now();
    const twinPoints = Math.min(points, 2000);
    const ids = await raw<
      { id: string }[]
    >`SELECT id FROM point WHERE organisation_id = ${organisationId} ORDER BY id LIMIT ${twinPoints}`;
    await raw`CREATE TABLE raw_conclusion (point_id uuid PRIMARY KEY, content jsonb)`;
    for (let i = 0; i < ids.length; i += 4) {
      await Promise.all(
        ids.slice(i, i + 4).map(async ({ id }) => {
          const rows =
            await raw`SELECT id, taken_at, reading FROM fact WHERE organisation_id = ${organisationId} AND point_id = ${id}
            AND kind = 'reading-taken' ORDER BY taken_at DESC, id DESC LIMIT 500`;
          await raw`INSERT INTO raw_conclusion VALUES (${id}, ${raw.json({ count: rows.length })})`;
        }),
      );
    }
    const twinRate = twinPoints / ((performance.now() - twinStart) / 1000);

    reactTo(jobs);
    const start = performance.now();
    const worker = await startWorker({ ...deps, ...noMail, jobs, config: { workerConcurrency: 4, sweepIntervalSeconds: 1 } });
    for (let open = await left(), shown = 0; open > 0; open = await left()) {
      const done = points - open;
      if (done - shown >= points / 10) {
        shown = done;
        console.log(
          `  ${done.toLocaleString('en')} of ${points.toLocaleString('en')} points, ${(done / ((performance.now() - start) / 1000)).toFixed(0)} a second`,
        );
      }
      await new Promise((resolve) => setTimeout(resolve, 500));
    }
    const seconds = (performance.now() - start) / 1000;
    await worker.close();
    const rate = points / seconds;
    const cpu = process.cpuUsage();
    lines.push({
      what: `fleet of ${points.toLocaleString('en')} points with ${READINGS} readings each, through the worker (${seconds.toFixed(0)} s)`,
      ours: `${rate.toFixed(0)} points/s`,
      twin: `${twinRate.toFixed(0)} points/s`,
      ratio: (rate / twinRate).toFixed(2),
    });
    console.log(`  this process used ${((cpu.user + cpu.system) / 1e6).toFixed(0)} s of processor in all`);
    return lines;
  } finally {
    await jobs.close();
    await database.close();
    await raw.end();
  }
}

/** Assets of twenty points and their readings, written by the owner in sets; every point is due afterwards. */
async function fill(raw: postgres.Sql, deps: Parameters<typeof createOrganisation>[0], points: number): Promise<string> {
  const organisationId = randomUUID();
  await createOrganisation(deps, { id: organisationId, name: 'Fleet' });
  const [siteId, buildingId, roomId, personId] = [randomUUID(), randomUUID(), randomUUID(), randomUUID()];
  await raw`INSERT INTO membership (organisation_id, person_id, name, roles) VALUES (${organisationId}, ${personId}, 'Bench', ARRAY['planner'])`;
  await raw`INSERT INTO site (organisation_id, id, name, zone) VALUES (${organisationId}, ${siteId}, 'Site', 'Europe/Dublin')`;
  await raw`INSERT INTO building (organisation_id, id, site_id, name) VALUES (${organisationId}, ${buildingId}, ${siteId}, 'Building')`;
  await raw`INSERT INTO room (organisation_id, id, building_id, site_id, name) VALUES (${organisationId}, ${roomId}, ${buildingId}, ${siteId}, 'Room')`;
  await raw`INSERT INTO asset (organisation_id, id, room_id, site_id, tag, name, criticality, criticality_reason)
    SELECT ${organisationId}, gen_random_uuid(), ${roomId}, ${siteId}, 'F' || n, 'Pump', 'B', 'bench' FROM generate_series(1, ${Math.ceil(points / 20)}::int) n`;
  await raw`INSERT INTO point (organisation_id, id, asset_id, site_id, letter, name, quantity, unit, load_family, basis, minimum_load_percent,
      load_exponent, emissivity, infrared, needs)
    SELECT ${organisationId}, gen_random_uuid(), a.id, ${siteId}, 'p' || n, 'Bearing', 'temperature', '°C', 'thermal-machine', 'raw', 50, 1, 0.93, true,
      ARRAY['load', 'ambient'] FROM asset a CROSS JOIN generate_series(1, 20) n WHERE a.organisation_id = ${organisationId} LIMIT ${points}`;
  await raw`INSERT INTO limit_set (organisation_id, id, point_id, version, criterion, direction, watch, plan, soon, now, source, reason, author_id,
      valid_from, origin)
    SELECT organisation_id, gen_random_uuid(), id, 1, 'absolute', 'high', 70, 80, 90, 100, 'common practice', 'bench', ${personId},
      '2015-01-01', 'point' FROM point WHERE organisation_id = ${organisationId}`;
  const ids = (await raw<{ id: string }[]>`SELECT id FROM point WHERE organisation_id = ${organisationId} ORDER BY id`).map(
    ({ id }) => id,
  );
  const began = performance.now();
  for (let i = 0; i < ids.length; i += POINTS_AT_ONCE) {
    // A third of the points creep; noise of a kelvin, load about 80 %.
    await raw.begin(async (tx) => {
      await tx`SET LOCAL session_replication_role = replica`;
      await tx`INSERT INTO fact (organisation_id, id, kind, asset_id, point_id, taken_at, received_at, submitted_by, may_correct_any, content,
          content_hash, reading, value, grade, comparability, verdict, domain_version)
        SELECT ${organisationId}, r.id, 'reading-taken', p.asset_id, p.id, r.at, r.at, ${personId}, true,
          jsonb_build_object('kind', 'reading-taken', 'id', r.id, 'pointId', p.id), decode(md5(r.id::text) || md5(p.id::text), 'hex'),
          jsonb_build_object('id', r.id, 'takenAt', (extract(epoch FROM r.at) * 1000)::bigint, 'inputs', jsonb_build_object('value', r.value),
            'conditions', jsonb_build_object('load', 80 + 10 * sin(r.n), 'ambient', 21 + 3 * cos(r.n)), 'running', true, 'instrument', null),
          r.value, 'fine', 'like-for-like', '{"grade": "fine", "comparability": "like-for-like"}', '1'
        FROM point p CROSS JOIN LATERAL (
          SELECT n, gen_random_uuid() AS id, timestamptz '2021-01-04 08:00Z' + n * interval '7 days' AS at,
            round((52 + CASE WHEN hashtext(p.id::text) % 3 = 0 THEN 20 * exp(0.03 * (n - ${READINGS})) ELSE 0 END
              + sin(n * 12.9898 + hashtext(p.id::text)) + 0.4 * sin(n * 78.233))::numeric, 1)::float8 AS value
          FROM generate_series(1, ${READINGS}) n) r
        WHERE p.organisation_id = ${organisationId} AND p.id = ANY (${ids.slice(i, i + POINTS_AT_ONCE)}::uuid[])`;
    });
    if ((i / POINTS_AT_ONCE) % 20 === 0 && i > 0)
      console.log(`  ${i.toLocaleString('en')} of ${points.toLocaleString('en')} points written`);
  }
  await raw`UPDATE point_revision SET revision = revision + 1 WHERE organisation_id = ${organisationId}`;
  await raw`ANALYZE`;
  console.log(
    `  ${(points * READINGS).toLocaleString('en')} readings written in ${((performance.now() - began) / 1000).toFixed(0)} s`,
  );
  return organisationId;
}
