/** The figures for those who run the service: right, without anybody in them, and for their eyes alone. */
import { mayReadMetrics, openMetrics } from '@heatround/platform/metrics';
import { oldestDueSeconds } from '@heatround/services/trends';
import pg from 'pg';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, readingFact, startService } from '../../support/harness.ts';

const TOKEN = 'a-token-for-the-figures-only';
let service: Harness;
let planner: Person;
let pointId: string;
beforeAll(async () => {
  service = await startService({ metricsToken: TOKEN });
  const { id, roomId } = await service.organisation();
  planner = await service.person(id, ['planner'], { name: 'Tilda Overbeck' });
  [pointId] = (await service.asset(planner, roomId, { tag: 'Q-HIDDEN-7' })).pointIds as [string];
});
afterAll(() => service?.close());

const read = (headers: Record<string, string> = { authorization: `Bearer ${TOKEN}` }) =>
  service.app.inject({ url: '/metrics', headers });
/** The figure of a line; null when it is not there. */
const figure = async (line: string): Promise<number | null> => {
  const found = (await read()).body.split('\n').find((one) => one.startsWith(`${line} `));
  return found === undefined ? null : Number(found.slice(line.length + 1));
};

describe('figures', () => {
  it('are shown to whoever shows the token, and look like nothing to others', async () => {
    const reply = await read();
    expect(reply.statusCode).toBe(200);
    expect(reply.headers['content-type']).toBe('text/plain; version=0.0.4; charset=utf-8');
    for (const headers of [{}, { authorization: 'Bearer wrong' }, { authorization: TOKEN }, { cookie: planner.cookie }])
      expect((await read(headers)).statusCode, JSON.stringify(headers)).toBe(404);
  });

  it('without a token are for this machine alone, and not through a proxy', () => {
    const from = (address: string, isForwarded = false) =>
      mayReadMetrics(undefined, { address, isForwarded, authorization: undefined });
    expect(['127.0.0.1', '::1', '::ffff:127.0.0.1'].map((one) => from(one))).toEqual([true, true, true]);
    expect(['10.0.0.2', '::ffff:10.0.0.2', '', '::11'].map((one) => from(one))).toEqual([false, false, false, false]);
    expect(from('127.0.0.1', true)).toBe(false);
  });

  it('count facts by answer, requests by route, and the points that were concluded', async () => {
    const before = await figure('heatround_submissions_total{answer="created"}');
    expect(before).not.toBeNull();
    const fact = readingFact(pointId, '61', { words: 'nobody else reads this' });
    await planner.submit([fact]);
    await planner.submit([fact]);
    await planner.submit([{ ...fact, words: 'or this' }, { kind: 'nonsense' }]);
    const answers = ['created', 'duplicate', 'conflict', 'refused'];
    const counted = await Promise.all(answers.map((one) => figure(`heatround_submissions_total{answer="${one}"}`)));
    expect(counted).toEqual([before! + 1, 1, 1, 1]);
    expect(await figure('heatround_http_requests_total{method="POST",route="/api/submissions",status="200"}')).toBe(3);
    await planner.call('getAsset', { params: { assetId: '00000000-0000-4000-8000-000000000000' } });
    expect(await figure('heatround_http_requests_total{method="GET",route="/api/assets/:assetId",status="404"}')).toBe(1);
    const concluded = (await figure('heatround_refit_seconds_count'))!;
    const done = await service.concludeAll();
    expect(done).toBeGreaterThan(0);
    expect(await figure('heatround_refit_seconds_count')).toBe(concluded + done);
    expect(await figure('heatround_refit_seconds_bucket{le="+Inf"}')).toBe(concluded + done);
  });

  it('hold nobody and nothing that belongs to an organisation, whatever is asked for', async () => {
    await service.app.inject({
      url: `/api/assets/${planner.scope.organisationId}?search=Tilda`,
      headers: { cookie: planner.cookie },
    });
    await service.app.inject('/Tilda/Overbeck');
    await service.app.inject(`/api/nothing/${planner.email}`);
    const text = (await read()).body;
    const { email, personId, scope } = planner;
    for (const secret of [email, personId, scope.organisationId, pointId, 'Tilda', 'HIDDEN', 'nobody else', TOKEN])
      expect(text).not.toContain(secret);
    expect(text).toContain('route="none",status="404"');
  });

  it('tell since when the worker lags behind, from the moment of the change until it has caught up', async () => {
    const owner = new pg.Client({ connectionString: service.database.urls.owner });
    await owner.connect();
    try {
      await service.concludeAll();
      expect(await oldestDueSeconds({ database: service.db })).toBe(0);
      await planner.submit([readingFact(pointId, '62')]);
      await owner.query(`UPDATE point_revision SET due_since = due_since - interval '90 seconds' WHERE revision > concluded`);
      expect(await oldestDueSeconds({ database: service.db })).toBeGreaterThanOrEqual(90);
      // A further change does not begin anew: the first one still waits.
      await planner.submit([readingFact(pointId, '63')]);
      expect(await oldestDueSeconds({ database: service.db })).toBeGreaterThanOrEqual(90);
      await service.concludeAll();
      expect(await oldestDueSeconds({ database: service.db })).toBe(0);
      await planner.submit([readingFact(pointId, '64')]);
      expect(await oldestDueSeconds({ database: service.db })).toBeLessThan(90);
      await owner.query('SET enable_seqscan = off');
      const { rows } = await owner.query(
        'EXPLAIN SELECT due_since FROM point_revision WHERE revision > concluded ORDER BY due_since LIMIT 1',
      );
      expect(rows.map((row) => row['QUERY PLAN']).join('\n')).toContain('point_revision_due_since');
    } finally {
      await owner.end();
    }
  });

  it('of a histogram are cumulative, and one that cannot be had hides no other', async () => {
    let now = 0;
    const metrics = openMetrics(() => now);
    for (const ms of [4, 30, 30, 20_000]) {
      const done = metrics.refits.begin();
      now += ms;
      done();
    }
    metrics.ask('broken', 'Never there.', async () => Promise.reject(new Error('no database')));
    metrics.requests.count({ method: 'GET', route: 'a"b\\c\n', status: 200 });
    const text = await metrics.text();
    for (const line of [
      'heatround_refit_seconds_bucket{le="0.005"} 1',
      'heatround_refit_seconds_bucket{le="0.05"} 3',
      'heatround_refit_seconds_bucket{le="10"} 3',
      'heatround_refit_seconds_bucket{le="+Inf"} 4',
      'heatround_refit_seconds_count 4',
      'heatround_http_requests_total{method="GET",route="a\\"b\\\\c\\n",status="200"} 1',
    ])
      expect(text.split('\n')).toContain(line);
    expect(text).not.toContain('broken');
    expect(text.endsWith('\n')).toBe(true);
  });
});
