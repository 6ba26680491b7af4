/** The server was brought to a newer version while a phone was without signal, with what an older client had kept on it. */
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { openWorld, type World } from './world.ts';

let world: World;
beforeAll(async () => {
  world = await openWorld();
}, 120_000);
afterAll(() => world?.close());

/** Takes out of the kept pages what they did not have in earlier versions. @returns how many pages were changed. */
const makeOlder = (page: Page): Promise<number> =>
  page.evaluate(async () => {
    const ofPage = ['outOfService'];
    const ofPoint = ['twins', 'isBehind'];
    const inPoint = ['twins', 'targetMm', 'ratedRangeK', 'gasExponent', 'orificeMm', 'steamPricePerTonne', 'curve'];
    const without = (of: Record<string, unknown>, names: string[]) =>
      Object.fromEntries(Object.entries(of).filter(([name]) => !names.includes(name)));
    type Entry = Record<string, unknown>;
    let changed = 0;
    for (const { name } of await indexedDB.databases()) {
      if (!name?.startsWith('heatround:')) continue;
      await new Promise<void>((done, refuse) => {
        const opening = indexedDB.open(name);
        opening.onerror = refuse;
        opening.onsuccess = () => {
          const change = opening.result.transaction('packs', 'readwrite');
          const packs = change.objectStore('packs');
          const asking = packs.getAll();
          asking.onsuccess = () => {
            for (const pack of asking.result as (Entry & {
              page: Entry & { points: (Entry & { point: Entry; limits: Entry[] })[] };
            })[]) {
              const points = pack.page.points.map((one) => ({
                ...without(one, ofPoint),
                point: without(one.point, inPoint),
                limits: one.limits.map((limit) => without(limit, ['holds'])),
              }));
              packs.put({ ...pack, page: { ...without(pack.page, ofPage), points } });
              changed += 1;
            }
          };
          change.onerror = refuse;
          change.oncomplete = () => {
            opening.result.close();
            done();
          };
        };
      });
    }
    return changed;
  });

test('D73: pages kept by an earlier version are read, a stop is walked without signal, and the reading goes up', {
  timeout: 120_000,
}, async () => {
  const { page, context, errors } = await world.enter(world.people.technician);
  await page.goto('/walk');
  await page.getByText('Everything for this walk is on the phone.').waitFor({ timeout: 15_000 });
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await expect
    .poll(() => page.evaluate(async () => (await (await caches.open('heatround-shell')).keys()).length), { timeout: 15_000 })
    .toBeGreaterThan(30);
  await context.setOffline(true);
  expect(await makeOlder(page)).toBeGreaterThan(2);
  await page.reload();
  // The page of an asset, as it was kept.
  await page.goto(`/assets/${world.ironer.id}`);
  await page.getByRole('heading', { level: 1 }).waitFor();
  await page.getByText('B-IRO-01').first().waitFor();
  // A stop, with its verdict from what was kept.
  await page.goto('/walk');
  await page.getByRole('button', { name: 'Take RT5' }).tap();
  await page.locator('.tag', { hasText: 'E-LVP-02' }).first().waitFor();
  const key = page.getByRole('button', { name: 'Seen, go on' });
  await Promise.race([key.waitFor(), page.getByRole('button', { name: 'Could not read it' }).waitFor()]);
  if (await key.isVisible()) await key.click();
  for (const text of ['41', '52', '40.5', '98']) {
    await page.keyboard.type(text);
    await page.keyboard.press('Enter');
  }
  await page.getByRole('heading', { name: /over like parts \(L2\)/ }).waitFor();
  await page.waitForTimeout(400);
  await page.getByRole('button', { name: /^Keep it/ }).tap();
  await page.locator('.tag', { hasText: 'E-FPS-02' }).first().waitFor();
  await context.setOffline(false);
  const [pointId] = world.panel.pointIds as [string];
  await expect
    .poll(
      async () =>
        (await world.people.planner.call('listReadings', { params: { pointId } })).body.readings[0]?.inputs?.L2?.text ?? null,
      { timeout: 30_000 },
    )
    .toBe('52');
  // The phone had judged as the service does: it says so by saying nothing.
  const { readings } = (await world.people.planner.call('listReadings', { params: { pointId } })).body;
  expect(readings[0].phoneVerdict).toBeNull();
  expect(errors).toEqual([]);
  await context.close();
});
