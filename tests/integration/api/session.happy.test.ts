/** Sessions run by the real clock: 14 days after the last day on which somebody was here. */
import pg from 'pg';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { type Harness, startService } from '../../support/harness.ts';

let service: Harness;
beforeAll(async () => {
  service = await startService();
});
afterAll(() => service?.close());

it('a session used every day does not run out: once a day its cookie is given anew', async () => {
  const { id } = await service.organisation();
  const mara = await service.person(id, ['technician']);
  expect((await mara.call('listSites')).headers['set-cookie']).toBeUndefined();
  const client = new pg.Client({ connectionString: service.database.urls.sweep });
  await client.connect();
  try {
    await client.query(`UPDATE auth.session SET "expiresAt" = now() + interval '12 days' WHERE "userId" = $1`, [mara.personId]);
    const [cookie] = [(await mara.call('listSites')).headers['set-cookie']].flat();
    expect(cookie).toContain(mara.cookie.split('=')[1]);
    expect(cookie).toContain(`Max-Age=${14 * 86_400}`);
    const { rows } = await client.query(
      `SELECT "expiresAt" > now() + interval '13 days' AS renewed FROM auth.session WHERE "userId" = $1`,
      [mara.personId],
    );
    expect(rows).toEqual([{ renewed: true }]);
    expect((await mara.call('listSites')).headers['set-cookie']).toBeUndefined();
  } finally {
    await client.end();
  }
});
