import { randomUUID } from 'node:crypto';
import { openAccounts } from '@heatround/platform/accounts';
import { systemClock } from '@heatround/platform/clock';
import { openDatabase } from '@heatround/platform/database';
import { silentLog } from '@heatround/platform/log';
import { createAsset, createBuilding, createRoom, createSite } from '@heatround/services/assets';
import { createOrganisation, openScope, setMembership } from '@heatround/services/identity';
import { listFindings, listOrders } from '@heatround/services/repairs';
import { submitFacts } from '@heatround/services/submissions';
import { concludePoints } from '@heatround/services/trends';
import postgres from 'postgres';
import type { DatabaseUrls } from '../../packages/platform/src/database/migrate.ts';
import { readingFact, testLimits } from '../support/harness.ts';
import type { Line } from './main.ts';
import { showingPlans } from './plans.ts';
import { mediansMs, ms } from './timing.ts';

const FEW = 1_000;
const MANY = 100_000;
const POINTS = 100;
/** To one finding in so many something came after its answer. */
const ONE_ASKS_IN = 20;
/** For so many orders one finding still waits for its answer. */
const ONE_UNANSWERED_IN = 10;
/** One order in so many is at a second site. */
const ONE_AT_SITE_IN = 10;

/** One page of each list of repairs in an organisation with many open orders beside one with few. */
export async function ordersBench(urls: DatabaseUrls, secret: string, explain: boolean): Promise<Line[]> {
  const database = openDatabase({ appUrl: urls.app, sweepUrl: urls.sweep, log: silentLog });
  const accounts = openAccounts({ sweepUrl: urls.sweep, secret, publicUrl: 'http://127.0.0.1', log: silentLog });
  const deps = { database, clock: systemClock, log: silentLog };
  const raw = postgres(urls.owner, { max: 2, onnotice: () => {} });
  try {
    const { personId } = await accounts.create({
      email: 'orders@example.org',
      name: 'Bench',
      password: 'a password for benches',
    });
    const house = async (orders: number) => {
      const organisationId = randomUUID();
      await createOrganisation(deps, { id: organisationId, name: `Bench of ${orders}` });
      await setMembership(deps, { organisationId, personId, name: 'Bench', roles: ['planner'] });
      const scope = await openScope(deps, personId, organisationId);
      const [siteId, buildingId, roomId, assetId] = [randomUUID(), randomUUID(), randomUUID(), randomUUID()];
      await createSite(deps, scope, { id: siteId, name: 'Site', zone: 'Europe/Dublin' });
      await createBuilding(deps, scope, { id: buildingId, siteId, name: 'Building' });
      await createRoom(deps, scope, { id: roomId, buildingId, name: 'Room' });
      const pointIds = Array.from({ length: POINTS }, () => randomUUID());
      await createAsset(deps, scope, {
        id: assetId,
        roomId,
        tag: 'BENCH',
        name: 'Bench',
        template: null,
        criticality: 'B',
        criticalityReason: 'bench',
        lifeSafety: false,
        points: pointIds.map((id, i) => ({
          point: { id, letter: `${i}`, name: `Point ${i}`, quantity: 'temperature' },
          spot: '',
          limits: [testLimits()],
        })),
      });
      const smallSiteId = randomUUID();
      await createSite(deps, scope, { id: smallSiteId, name: 'Small site', zone: 'Europe/Dublin' });
      const read = pointIds.flatMap((id) =>
        Array.from({ length: 12 }, (_, i) => {
          const takenAt = new Date(Date.UTC(2026, 0, 1 + i)).toISOString();
          return readingFact(id, (60 + i / 4).toFixed(1), { takenAt });
        }),
      );
      for (let from = 0; from < read.length; from += 400) await submitFacts(deps, scope, read.slice(from, from + 400));
      await concludePoints(deps, scope, pointIds);
      // Every other Saturday of the year ahead the plant stands still for half a day.
      await raw`
        INSERT INTO shutdown_window (organisation_id, id, site_id, name, from_at, to_at)
        SELECT ${organisationId}, gen_random_uuid(), ${siteId}, 'half day', t.at, t.at + interval '5 hours'
        FROM generate_series(1, 26) n CROSS JOIN LATERAL (SELECT date_trunc('week', now()) + n * interval '14 days' - interval '42 hours' AS at) t`;
      await raw`
        INSERT INTO finding (organisation_id, id, number, point_id, asset_id, site_id, mode, episode, state, stands, grade, reported_at,
          reported_by, order_id, asks_planner, version)
        SELECT ${organisationId}, f.id, n, f.point, ${assetId}, f.site, 'absolute', n, jsonb_build_object('id', f.id, 'state', 'agreed',
            'pointId', f.point, 'mode', 'absolute', 'episode', n, 'criterion', 'absolute', 'grade', 'plan', 'ended', null, 'orderId', f.id,
            'sameAs', null, 'livingWith', null, 'livingAsked', null, 'version', 2, 'reportedAt', 1770000000000),
          'agreed', 'plan', now() - n * interval '1 second', ${personId}, f.id, n % ${ONE_ASKS_IN}::int = 0, 2
        FROM generate_series(1, ${orders}::int) n CROSS JOIN LATERAL (
          SELECT gen_random_uuid() AS id, (${pointIds}::uuid[])[1 + n % ${POINTS}::int] AS point,
            CASE WHEN n % ${ONE_AT_SITE_IN}::int = 0 THEN ${smallSiteId}::uuid ELSE ${siteId}::uuid END AS site) f`;
      await raw`
        INSERT INTO work_order (organisation_id, id, number, finding_id, point_id, asset_id, site_id, state, stands, grade, due_at, rank, risk,
          consequence, created_at, version)
        SELECT organisation_id, id, number, id, point_id, asset_id, site_id, jsonb_build_object('id', id, 'state', 'agreed', 'grade', 'plan',
            'ownerId', null, 'version', 1, 'endedAt', null, 'livingAsked', null, 'livingWith', null, 'slot', null, 'stuck', null),
          'agreed', 'plan', now() + (number % 60 - 20) * interval '1 day', 1000 + (number % 25) * 10, 1 + number % 25, 3, now(), 1
        FROM finding WHERE organisation_id = ${organisationId}`;
      // Each unanswered finding is at a point of its own, which is concluded like one of those above.
      const waitingId = randomUUID();
      await raw`
        INSERT INTO asset (organisation_id, id, room_id, site_id, tag, name, criticality, criticality_reason)
        VALUES (${organisationId}, ${waitingId}, ${roomId}, ${siteId}, 'WAITING', 'Waiting', 'B', 'bench')`;
      await raw`
        INSERT INTO point (organisation_id, id, asset_id, site_id, letter, name, quantity, unit, decimals, load_family, basis,
          reference_load_percent, minimum_load_percent, load_exponent, infrared, needs, parts)
        SELECT ${organisationId}, gen_random_uuid(), ${waitingId}, ${siteId}, to_hex(n), n::text, 'temperature', '°C', 1, 'none', 'raw', 100, 50, 1,
          false, '{}', '{}' FROM generate_series(1, ${orders / ONE_UNANSWERED_IN}::int) n`;
      await raw`
        INSERT INTO conclusion (organisation_id, point_id, revision, grade, content, domain_version, computed_at)
        SELECT c.organisation_id, p.id, c.revision, c.grade, c.content, c.domain_version, c.computed_at FROM point p
          JOIN conclusion c ON c.organisation_id = p.organisation_id
            AND c.point_id = (${pointIds}::uuid[])[1 + p.name::int % ${POINTS}::int]
        WHERE p.organisation_id = ${organisationId} AND p.asset_id = ${waitingId} ON CONFLICT (organisation_id, point_id) DO NOTHING`;
      await raw`
        INSERT INTO finding (organisation_id, id, number, point_id, asset_id, site_id, mode, episode, state, stands, grade, reported_at,
          reported_by, answer_due_at, version)
        SELECT p.organisation_id, p.id, ${orders}::int + n, p.id, p.asset_id, ${siteId}, 'absolute', 1, jsonb_build_object('id', p.id,
            'state', 'reported', 'pointId', p.id, 'mode', 'absolute', 'episode', 1, 'criterion', 'absolute', 'grade', 'plan', 'ended', null,
            'orderId', null, 'sameAs', null, 'livingWith', null, 'livingAsked', null, 'version', 1, 'reportedAt', 1770000000000),
          'reported', 'plan', now() - n * interval '1 second', ${personId}, now() + (n % 5 - 2) * interval '1 day', 1
        FROM point p CROSS JOIN LATERAL (SELECT p.name::int AS n) l
        WHERE p.organisation_id = ${organisationId} AND p.asset_id = ${waitingId}`;
      return { ...scope, smallSiteId };
    };
    const few = await house(FEW);
    const many = await house(MANY);
    await raw`VACUUM ANALYZE`;
    const lines: Line[] = [];
    type House = typeof few;
    const open = { order: 'risk', which: 'open', pageSize: 50 } as const;
    const works: Record<string, (given: typeof deps, scope: House) => Promise<unknown>> = {
      'orders by risk, first page': (given, scope) => listOrders(given, scope, open),
      'orders by due date, first page': (given, scope) => listOrders(given, scope, { ...open, order: 'overdue' }),
      'orders of mine, first page': (given, scope) => listOrders(given, scope, { ...open, which: 'mine' }),
      'orders at the small site, first page': (given, scope) => listOrders(given, scope, { ...open, siteId: scope.smallSiteId }),
      'findings that are open, first page': (given, scope) => listFindings(given, scope, { which: 'open', pageSize: 50 }),
      'findings to look at again, first page': (given, scope) =>
        listFindings(given, scope, { which: 'look-again', pageSize: 50 }),
      'all findings, first page': (given, scope) => listFindings(given, scope, { which: 'all', pageSize: 50 }),
      [`answers due, first page, one for ${ONE_UNANSWERED_IN} orders`]: (given, scope) =>
        listFindings(given, scope, { which: 'to-answer', pageSize: 50 }),
    };
    const beside = async (what: string, small: () => Promise<unknown>, large: () => Promise<unknown>) => {
      const [short, long] = (await mediansMs(20, [small, large])) as [number, number];
      lines.push(lineOf(what, short, long));
    };
    for (const [what, work] of Object.entries(works)) {
      await beside(
        what,
        () => work(deps, few),
        () => work(deps, many),
      );
      if (explain) await work({ ...deps, database: showingPlans(database, `${what}, ${MANY} orders`) }, many);
    }
    // The hundredth page costs what the first one does.
    const markAfter = async (scope: House, pagesOn: number) => {
      let after: string | undefined;
      for (let i = 0; i < pagesOn; i++) after = (await listOrders(deps, scope, { ...open, after })).next ?? undefined;
      return after;
    };
    const [nearMark, farMark] = [await markAfter(few, 1), await markAfter(many, 100)];
    await beside(
      'orders by risk, page 101 beside page 2',
      () => listOrders(deps, few, { ...open, after: nearMark }),
      () => listOrders(deps, many, { ...open, after: farMark }),
    );
    return lines;
  } finally {
    await raw.end();
    await accounts.close();
    await database.close();
  }
}

const lineOf = (what: string, short: number, long: number): Line => ({
  what: `${what}: ${MANY.toLocaleString('en')} beside ${FEW.toLocaleString('en')}`,
  ours: ms(long),
  twin: ms(short),
  ratio: (short / long).toFixed(2),
});
