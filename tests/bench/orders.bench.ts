import { randomUUID } from 'node:crypto';
import { openAccounts } from '@heatround/platform/accounts';
import { systemClock } from '@heatround/platform/clock';
import { openDatabase } from '@heatround/platform/database';
import { silentLog } from '@heatround/platform/log';
import { createAsset, createBuilding, createRoom, createSite } from '@heatround/services/assets';
import { createOrganisation, openScope, setMembership } from '@heatround/services/identity';
import { listFindings, listOrders } from '@heatround/services/repairs';
import { submitFacts } from '@heatround/services/submissions';
import postgres from 'postgres';
import type { DatabaseUrls } from '../../packages/platform/src/database/migrate.ts';
import { readingFact, testLimits } from '../support/harness.ts';
import type { Line } from './main.ts';
import { mediansMs, ms } from './timing.ts';

const FEW = 1_000;
const MANY = 100_000;
const POINTS = 100;

/** One page of the order queue in an organisation with many open orders beside one with few. */
export async function ordersBench(urls: DatabaseUrls, secret: string): Promise<Line[]> {
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
      const read = pointIds.flatMap((id) =>
        Array.from({ length: 12 }, (_, i) => {
          const takenAt = new Date(Date.UTC(2026, 0, 1 + i)).toISOString();
          return readingFact(id, (60 + i / 4).toFixed(1), { takenAt });
        }),
      );
      for (let from = 0; from < read.length; from += 400) await submitFacts(deps, scope, read.slice(from, from + 400));
      await raw`
        INSERT INTO finding (organisation_id, id, number, point_id, asset_id, site_id, mode, episode, state, stands, grade, reported_at,
          reported_by, order_id, version)
        SELECT ${organisationId}, f.id, n, f.point, ${assetId}, ${siteId}, 'absolute', n, jsonb_build_object('id', f.id, 'state', 'agreed',
            'pointId', f.point, 'mode', 'absolute', 'episode', n, 'criterion', 'absolute', 'grade', 'plan', 'ended', null, 'orderId', f.id,
            'sameAs', null, 'livingWith', null, 'livingAsked', null, 'version', 2, 'reportedAt', 1770000000000),
          'agreed', 'plan', now() - n * interval '1 second', ${personId}, f.id, 2
        FROM generate_series(1, ${orders}::int) n CROSS JOIN LATERAL (
          SELECT gen_random_uuid() AS id, (${pointIds}::uuid[])[1 + n % ${POINTS}::int] AS point) f`;
      await raw`
        INSERT INTO work_order (organisation_id, id, number, finding_id, point_id, asset_id, site_id, state, stands, grade, due_at, rank, risk,
          consequence, created_at, version)
        SELECT organisation_id, id, number, id, point_id, asset_id, site_id, jsonb_build_object('id', id, 'state', 'agreed', 'grade', 'plan',
            'ownerId', null, 'version', 1, 'endedAt', null, 'livingAsked', null, 'livingWith', null, 'slot', null, 'stuck', null),
          'agreed', 'plan', now() + (number % 60 - 20) * interval '1 day', 1000 + (number % 25) * 10, 1 + number % 25, 3, now(), 1
        FROM finding WHERE organisation_id = ${organisationId}`;
      return scope;
    };
    const few = await house(FEW);
    const many = await house(MANY);
    await raw`VACUUM ANALYZE`;
    const lines: Line[] = [];
    const pages = [
      ['orders by risk, first page', listOrders, { order: 'risk', which: 'open', pageSize: 50 }],
      ['orders by due date, first page', listOrders, { order: 'overdue', which: 'open', pageSize: 50 }],
      ['all findings, first page', listFindings, { which: 'all', pageSize: 50 }],
    ] as const;
    for (const [what, list, query] of pages) {
      const page = list as unknown as (...given: unknown[]) => Promise<{ next: string | null }>;
      const [short, long] = (await mediansMs(20, [() => page(deps, few, query), () => page(deps, many, query)])) as [
        number,
        number,
      ];
      lines.push(lineOf(what, short, long));
      // The hundredth page costs what the first one does.
      if (what !== 'orders by risk, first page') continue;
      const deep = async (scope: typeof few, pagesOn: number) => {
        let after: string | undefined;
        for (let i = 0; i < pagesOn; i++) after = (await page(deps, scope, { ...query, after })).next ?? undefined;
        return after;
      };
      const [nearMark, farMark] = [await deep(few, 1), await deep(many, 100)];
      const [second, hundredth] = (await mediansMs(20, [
        () => page(deps, few, { ...query, after: nearMark }),
        () => page(deps, many, { ...query, after: farMark }),
      ])) as [number, number];
      lines.push(lineOf('orders by risk, page 101 beside page 2', second, hundredth));
    }
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
