/** Two transactions that wait for each other: the database ends one of them, and its work begins again instead of being lost. */
import { randomUUID } from 'node:crypto';
import { type Announcement, databaseCode, openDatabase, sql } from '@heatround/platform/database';
import { silentLog } from '@heatround/platform/log';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { freshDatabase, type TestDatabase } from '../../support/database.ts';

describe('transactions in each other’s way', () => {
  const organisationId = randomUUID();
  const scope = { organisationId, siteIds: null };
  const sites = [randomUUID(), randomUUID()] as const;
  const told: Announcement[] = [];
  let test: TestDatabase;
  let database: ReturnType<typeof openDatabase>;
  beforeAll(async () => {
    test = await freshDatabase();
    const { app, sweep } = test.urls;
    database = openDatabase({ appUrl: app, sweepUrl: sweep, log: silentLog, afterCommit: (_, some) => told.push(...some) });
    await database.acrossTenants('test', (db) =>
      db.$executeRaw(sql`
      INSERT INTO organisation (organisation_id, name) VALUES (${organisationId}::uuid, 'Two at once')`),
    );
    await database.inTenant(scope, async ({ db }) => {
      for (const [i, id] of sites.entries())
        await db.$executeRaw(
          sql`INSERT INTO site (organisation_id, id, name, zone) VALUES (${organisationId}::uuid, ${id}::uuid, ${`${i}`}, 'Etc/UTC')`,
        );
    });
  });
  afterAll(async () => {
    await database?.close();
    await test?.drop();
  });
  const nameOf = async (): Promise<string[]> => {
    const rows = await database.inTenant(scope, ({ db }) => db.site.findMany({ orderBy: { id: 'asc' } }));
    return rows.map(({ name }) => name);
  };

  it('both are done once, and tell it once', async () => {
    let tries = 0;
    let holding = 0;
    let meet = (): void => {};
    const bothHold = new Promise<void>((resolve) => {
      meet = resolve;
    });
    const write = (mark: string, order: readonly string[]) =>
      database.inTenant(scope, async ({ db, announce }) => {
        tries++;
        announce('written', mark);
        for (const [i, id] of order.entries()) {
          await db.$executeRaw(sql`UPDATE site SET name = name || ${mark} WHERE id = ${id}::uuid`);
          if (i === 0 && ++holding === 2) meet();
          if (i === 0) await bothHold;
        }
        return mark;
      });
    expect(await Promise.all([write('a', sites), write('b', sites.toReversed())])).toEqual(['a', 'b']);
    expect(tries).toBe(3);
    for (const name of await nameOf()) expect([...name].sort().join('')).toMatch(/^[01]ab$/);
    expect(told.map(({ payload }) => payload).sort()).toEqual(['a', 'b']);
  });

  it('a refusal of any other kind is told at once', async () => {
    let tries = 0;
    const failed = await database
      .inTenant(scope, ({ db }) => {
        tries++;
        return db.$executeRaw(
          sql`INSERT INTO site (organisation_id, id, name, zone) VALUES (${organisationId}::uuid, ${sites[0]}::uuid, 'twice', 'Etc/UTC')`,
        );
      })
      .catch((error: unknown) => databaseCode(error));
    expect(failed).toBe('23505');
    expect(tries).toBe(1);
  });
});
