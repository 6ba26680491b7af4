import { fact as factSchema } from '@heatround/contract';
import { sql } from '@heatround/platform/database';
import { loadDemoIfEmpty } from '@heatround/services/demo';
import { openScope } from '@heatround/services/identity';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, startService } from '../../support/harness.ts';
import { type Body, type Client, repairsOf, type SignIns, signInAs } from './demo-people.ts';

const WEEK_MS = 7 * 86_400_000;
const WEEK_ONE = Date.UTC(2025, 2, 3);

describe('the demo', () => {
  let service: Harness;
  let signIns: SignIns;
  let mara: Client;
  let tarnwick: string;
  let brackwater: string;

  const tables = [
    'organisation',
    'membership',
    'site',
    'building',
    'room',
    'asset',
    'point',
    'limit_set',
    'fact',
    'fact_conflict',
    'route',
    'round',
    'shutdown_window',
    'extra_stop',
    'finding',
    'finding_evidence',
    'work_order',
    'move',
  ];
  /** Counts of every table in both organisations, and the newest moment of receipt. */
  const counts = async () => {
    const seen: Record<string, number> = {};
    for (const organisationId of [tarnwick, brackwater]) {
      await service.db.inTenant({ organisationId, siteIds: null }, async ({ db }) => {
        for (const table of tables) {
          const [row] = await db.$queryRaw<{ count: number }[]>(sql`SELECT count(*)::int AS count FROM ${sql.raw(table)}`);
          seen[`${table} of ${organisationId}`] = row!.count;
        }
      });
    }
    return seen;
  };
  const signIn = (who: string): Promise<Client> => signInAs(service, signIns, who, tarnwick);
  const pageOf = async (client: Client, tag: string, organisationId = tarnwick): Promise<Body> => {
    const { assets } = await client.get('listAssets', { query: { search: tag, pageSize: '50' }, organisationId });
    const line = assets.find((one: Body) => one.tag === tag);
    return client.get('getAsset', { params: { assetId: line.id }, organisationId });
  };
  const pointOf = async (place: string): Promise<Body> => {
    const page = await pageOf(mara, place.slice(0, -2));
    return page.points.find((one: Body) => one.point.letter === place.at(-1));
  };
  const readingsOf = async (place: string): Promise<Body[]> => {
    const { point } = await pointOf(place);
    return (await mara.get('listReadings', { params: { pointId: point.id }, query: { pageSize: '500' } })).readings;
  };
  /** The reading taken on a day, such as 2026-04-16. */
  const onDay = async (place: string, day: string): Promise<Body> => {
    const found = (await readingsOf(place)).filter((one) => one.takenAt.startsWith(day));
    expect(found, `${place} on ${day}`).toHaveLength(1);
    return found[0];
  };

  beforeAll(async () => {
    service = await startService();
    // Two starts at the same moment.
    const [first, second] = await Promise.all([loadDemoIfEmpty(service.deps), loadDemoIfEmpty(service.deps)]);
    expect(second).toEqual(first);
    signIns = first;
    const organisations = await service.db.acrossTenants('test', (db) =>
      db.$queryRaw<{ id: string; name: string }[]>(
        sql`SELECT organisation_id AS id, name FROM organisation WHERE is_demo ORDER BY name`,
      ),
    );
    expect(organisations.map(({ name }) => name)).toEqual(['Brackwater Civic Baths', 'Tarnwick Vale Hospital Campus']);
    [brackwater, tarnwick] = organisations.map(({ id }) => id) as [string, string];
    mara = await signIn('Mara');
  }, 120_000);
  afterAll(() => service?.close());

  it('is made once by two starts at once, and loading again changes nothing', async () => {
    const before = await counts();
    const repairs = await repairsOf(service, tarnwick);
    expect(before[`asset of ${tarnwick}`]).toBe(13);
    expect(before[`point of ${tarnwick}`]).toBe(39);
    expect(before[`asset of ${brackwater}`]).toBe(4);
    expect(before[`limit_set of ${tarnwick}`]).toBe(40);
    expect(before[`fact of ${tarnwick}`]).toBeGreaterThan(1100);
    expect(before[`fact_conflict of ${tarnwick}`]).toBe(0);
    expect(await loadDemoIfEmpty(service.deps)).toEqual(signIns);
    expect(await counts()).toEqual(before);
    expect(await repairsOf(service, tarnwick)).toEqual(repairs);
    expect(signIns).toHaveLength(8);
  });

  it('is answered for by a start that did not see it yet when another start made it', async () => {
    let asked = 0;
    const late: typeof service.db.acrossTenants = async (reason, work) =>
      asked++ === 0 ? ([] as never) : service.db.acrossTenants(reason, work);
    expect(await loadDemoIfEmpty({ ...service.deps, database: { ...service.db, acrossTenants: late } })).toEqual(signIns);
    expect(asked).toBeGreaterThan(1);
  });

  it('leaves an installation alone that has an organisation of its own', async () => {
    const other = await startService();
    try {
      await other.organisation();
      expect(await loadDemoIfEmpty(other.deps)).toEqual([]);
    } finally {
      await other.close();
    }
  });

  it('completes a load that was cut short, and cut short again among the answers', async () => {
    const other = await startService();
    const loadUntil = (most: number) => {
      let transactions = 0;
      const inTenant: typeof other.db.inTenant = async (scope, work) => {
        if (++transactions > most) throw new Error('the power went');
        return other.db.inTenant(scope, work);
      };
      return loadDemoIfEmpty({ ...other.deps, database: { ...other.db, inTenant } });
    };
    try {
      const atFirstStart = other.clock.now();
      await expect(loadUntil(70)).rejects.toThrow(/power went|goes on at the next start/);
      other.clock.advance(3_600_000);
      await expect(loadUntil(215)).rejects.toThrow(/power went|goes on at the next start/);
      expect((await repairsOf(other, tarnwick)).some((row) => row.includes('proved'))).toBe(true);
      other.clock.advance(3_600_000);
      expect(await loadDemoIfEmpty(other.deps)).toEqual(signIns);
      expect(await repairsOf(other, tarnwick)).toEqual(await repairsOf(service, tarnwick));
      const scope = { organisationId: tarnwick, siteIds: null };
      const facts = (db: Harness['db']) => db.inTenant(scope, ({ db: one }) => one.fact.count());
      expect(await facts(other.db)).toBe(await facts(service.db));
      const offsets = await other.db.acrossTenants('test', (db) =>
        db.$queryRaw<{ offset: bigint }[]>(sql`SELECT clock_offset_ms AS offset FROM organisation`),
      );
      expect(offsets.map(({ offset }) => Number(offset))).toEqual([
        Date.parse('2026-04-23T07:00:00Z') - atFirstStart,
        Date.parse('2026-04-23T07:00:00Z') - atFirstStart,
      ]);
    } finally {
      await other.close();
    }
  }, 120_000);

  it('holds the figures of its stories, with the verdicts of their day', async () => {
    expect(await onDay('B-FWP-01-b', '2025-10-14')).toMatchObject({ value: 4.1, grade: 'plan', by: 'Mara Lindqvist' });
    expect(await onDay('B-FWP-01-b', '2025-10-21')).toMatchObject({ value: 1.2, grade: 'fine' });
    expect(await onDay('B-FWP-01-b', '2025-08-05')).toMatchObject({ grade: 'watch' });
    expect(await onDay('B-FWP-01-b', '2025-09-09')).toMatchObject({ value: 2.81, grade: 'plan', by: 'Mara Lindqvist' });

    expect((await onDay('E-LVP-01-b', '2025-12-17')).value).toBeCloseTo(8.2, 6);
    const joint = await onDay('E-LVP-01-b', '2026-04-08');
    expect(joint.value).toBeCloseTo(12.6, 6);
    expect(joint.verdict.because.value).toBeCloseTo(12.6, 6);
    expect(joint.verdict.sentence).toContain('L2');
    expect(joint.grade).toBe('plan');

    const ironer = await onDay('B-IRO-01-a', '2026-04-16');
    expect(ironer).toMatchObject({ value: 83.2, grade: 'plan', comparability: 'like-for-like' });
    expect(ironer.verdict.because).toMatchObject({ limitGrade: 'plan', limit: 80, limitVersion: 2 });
    // An early reading was judged by the limits of its time, and nothing was read today yet.
    expect((await onDay('B-IRO-01-a', '2025-03-06')).verdict.because).toMatchObject({ limit: 75, limitVersion: 1 });
    expect((await readingsOf('B-IRO-01-a')).some((one) => one.takenAt.startsWith('2026-04-23'))).toBe(false);

    expect(await onDay('W-DHW-02-b', '2026-02-27')).toMatchObject({ value: 55, grade: 'plan' });
    expect(await onDay('W-DHW-02-b', '2025-09-12')).toMatchObject({ grade: 'watch' });
    expect(await onDay('W-DHW-02-b', '2026-03-20')).toMatchObject({ value: 58.1, grade: 'fine' });

    const idle = await onDay('W-LVP-02-b', '2025-09-24');
    expect(idle.value).toBeCloseTo(2.1, 6);
    expect(idle).toMatchObject({ grade: null, comparability: 'not-judged', verdict: { gate: 'load-too-low' } });
    const again = await onDay('W-LVP-02-b', '2025-10-01');
    expect(again.value).toBeCloseTo(1.1, 6);
    expect(again).toMatchObject({ grade: 'fine', comparability: 'corrected' });
    expect(again.verdict.because.value).toBeCloseTo(2.6, 1);
  });

  it('passes each limit in the week its story names', async () => {
    const passed = async (place: string) => {
      const weekOf = (takenAt: string) => Math.floor((Date.parse(takenAt) - WEEK_ONE) / WEEK_MS) + 1;
      const readings = (await readingsOf(place)).reverse();
      const changes = readings.filter(({ grade }, i) => grade !== (readings[i - 1]?.grade ?? 'fine'));
      return changes.map(({ takenAt, grade }) => `${weekOf(takenAt)} ${grade}`);
    };
    expect(await passed('B-FWP-01-b')).toEqual(['23 watch', '28 plan', '34 fine']);
    expect(await passed('E-LVP-01-b')).toEqual(['26 watch', '42 plan']);
    expect(await passed('B-IRO-01-a')).toEqual(['55 watch', '59 plan']);
    expect(await passed('W-DHW-02-b')).toEqual(['28 watch', '52 plan', '55 fine']);
    expect(await passed('W-AHU-02-b')).toEqual(['29 watch', '31 soon', '39 fine']);
    expect(await passed('E-RCL-02-a')).toEqual(['29 watch', '52 plan']);
  });

  it('keeps every other point quiet, each with limits that carry reason and source', async () => {
    const moving = ['B-FWP-01-b', 'E-LVP-01-b', 'B-IRO-01-a', 'W-DHW-02-b', 'W-AHU-02-b', 'E-RCL-02-a', 'W-LVP-01-c'];
    const { assets } = await mara.get('listAssets', { query: { pageSize: '50' } });
    expect(assets.map((one: Body) => one.tag)).toEqual([...assets.map((one: Body) => one.tag)].sort());
    for (const { tag } of assets) {
      const page = await pageOf(mara, tag);
      expect(page.hazards.length).toBeGreaterThan(0);
      for (const { point, limits } of page.points) {
        const place = `${tag}-${point.letter}`;
        expect(point.spot.length, place).toBeGreaterThan(10);
        expect(
          limits.every((one: Body) => one.source.length > 10 && one.reason.length > 40),
          place,
        ).toBe(true);
        const readings = await readingsOf(place);
        expect(readings.length, place).toBeGreaterThanOrEqual(tag === 'E-RCL-02' ? 8 : 12);
        if (moving.includes(place)) continue;
        const unquiet = readings.filter((one) => one.grade !== 'fine' && one.verdict.gate !== 'load-too-low');
        expect(unquiet.map((one) => [place, one.takenAt, one.value, one.grade, one.verdict.gate])).toEqual([]);
      }
    }
  });

  it('answers stops that could not be read, with words, and records the work', async () => {
    const standby = await pointOf('B-FWP-02-b');
    const { answers } = await mara.get('listAnswers', { params: { pointId: standby.point.id } });
    expect(answers.length).toBeGreaterThan(40);
    expect(answers.every((one: Body) => one.words.length > 5)).toBe(true);
    // Last read on 3 February: 79 days before the demo begins.
    expect((await readingsOf('B-FWP-02-b'))[0].takenAt).toMatch(/^2026-02-03/);
    const pump = await pageOf(mara, 'B-FWP-01');
    expect(pump.work).toMatchObject([{ work: 'replaced', by: 'Mara Lindqvist' }]);
    expect((await pageOf(mara, 'W-AHU-02')).work).toMatchObject([{ work: 'adjusted' }, { work: 'replaced' }]);
  });

  it('has only facts that a phone could have sent, received after they were taken', async () => {
    await service.db.inTenant({ organisationId: tarnwick, siteIds: null }, async ({ db }) => {
      const rows = await db.$queryRaw<{ content: unknown; delay: number }[]>(
        sql`SELECT content, extract(epoch FROM received_at - taken_at)::float8 AS delay FROM fact ORDER BY taken_at`,
      );
      for (const { content, delay } of rows) {
        expect(factSchema.safeParse(content).success, JSON.stringify(content)).toBe(true);
        expect(delay).toBeGreaterThan(0);
        expect(delay).toBeLessThan(3 * 3600);
      }
    });
  });

  it('shows Brackwater nothing of Tarnwick, and gives everybody what demo people hold', async () => {
    const dev = await signIn('Dev');
    const inside = await dev.get('listAssets', { query: { pageSize: '50' }, organisationId: brackwater });
    expect(inside.assets.map((one: Body) => one.tag)).toEqual(['P-DHW-01', 'P-FAN-01', 'P-LVP-01', 'P-PMP-01']);
    const none = await dev.get('listAssets', { query: { search: 'W-DHW-02', pageSize: '50' }, organisationId: brackwater });
    expect(none.assets).toEqual([]);
    const { point } = await pointOf('W-DHW-02-b');
    const { email, password } = signIns.find(({ name }) => name.startsWith('Dev'))!;
    const { headers } = await service.call('signIn', { body: { email, password } });
    const cookie = [headers['set-cookie']]
      .flat()
      .map((one) => String(one).split(';')[0])
      .join('; ');
    const foreign = await service.call('listReadings', { cookie, organisationId: brackwater, params: { pointId: point.id } });
    expect(foreign.status).toBe(404);
    expect((await dev.get('listAssets', { query: { pageSize: '50' } })).assets).toHaveLength(13);

    const people = await service.db.inTenant({ organisationId: tarnwick, siteIds: null }, ({ db }) =>
      db.$queryRaw<{ id: string; name: string; roles: string[]; endsAt: Date | null }[]>(
        sql`SELECT person_id AS id, name, roles, ends_at AS "endsAt" FROM membership ORDER BY name`,
      ),
    );
    expect(people.map(({ name, roles }) => `${name}: ${roles}`)).toEqual([
      'Dev Marchetti: contractor',
      'Jonas Ferreira: planner',
      'Mara Lindqvist: technician',
      'Niko Braandt: administrator',
      'Priya Holm: trainee',
      'Ruth Castellan: manager',
      'Selma Oduya: guest-reader',
      'Tomasz Adeyemi: technician',
    ]);
    const selma = people.find(({ name }) => name.startsWith('Selma'))!;
    expect(selma.endsAt?.toISOString()).toBe('2026-05-31T23:00:00.000Z');
    await expect(openScope(service.deps, selma.id, tarnwick)).resolves.toMatchObject({ roles: ['guest-reader'] });
    const june = { ...service.deps, clock: { now: () => Date.parse('2026-06-01T00:00:00Z') } };
    await expect(openScope(june, selma.id, tarnwick)).rejects.toThrow(/no such organisation/);
  });

  it('leaves every conclusion to the worker, which says when the ironer will be too hot, and says it again', async () => {
    const conclusions = () =>
      service.db.inTenant({ organisationId: tarnwick, siteIds: null }, ({ db }) =>
        db.$queryRaw<{ pointId: string; grade: string | null; content: Body }[]>(
          sql`SELECT point_id AS "pointId", grade, content FROM conclusion ORDER BY point_id`,
        ),
      );
    expect(await conclusions()).toEqual([]);
    await service.concludeAll();
    const first = await conclusions();
    expect(first).toHaveLength(39);

    const { point } = await pointOf('B-IRO-01-a');
    const joint = (await pointOf('E-LVP-01-b')).point;
    const west = (await pointOf('W-DHW-02-b')).point;
    const way = (await pointOf('W-LVP-01-c')).point;
    const recooler = (await pointOf('E-RCL-02-a')).point;
    const moving = first.filter(({ content }) => content.trend !== 'steady');
    expect(Object.fromEntries(moving.map(({ pointId, content }) => [pointId, content.trend]))).toEqual({
      [point.id]: 'running-away',
      [joint.id]: 'creeping',
      // Two readings since the valve was set.
      [west.id]: null,
      [recooler.id]: 'creeping',
      // The only reading since the lug was tightened was not judged.
      [way.id]: null,
    });

    const ironer = first.find(({ pointId }) => pointId === point.id)!;
    expect(ironer.grade).toBe('plan');
    const [soon, now] = ironer.content.projections;
    const storyNow = Date.parse('2026-04-23T07:00:00Z');
    expect(soon).toMatchObject({ grade: 'soon', limit: 90, show: 'range' });
    expect(now).toMatchObject({ grade: 'now', limit: 100, show: 'range' });
    for (const { earliestAt, likelyAt, latestAt } of [soon, now]) {
      expect(earliestAt).toBeGreaterThan(storyNow - WEEK_MS);
      expect(earliestAt).toBeLessThanOrEqual(likelyAt);
      expect(likelyAt).toBeLessThanOrEqual(latestAt);
      expect(latestAt).toBeLessThan(storyNow + 6 * WEEK_MS);
    }

    await service.db.inTenant({ organisationId: tarnwick, siteIds: null }, ({ db }) =>
      db.$executeRaw(sql`DELETE FROM conclusion`),
    );
    await service.concludeAll();
    expect(await conclusions()).toEqual(first);
  }, 120_000);
});
