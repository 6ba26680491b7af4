import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { endMembership, endSessionsOf } from '@heatround/services/identity';
import type { BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type Person, TEST_PASSWORD } from '../support/harness.ts';
import { LAPTOP, openWorld, PHONE, type World } from './world.ts';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
/** Set to a folder to look at the screens with one's own eyes. */
const SHOTS = process.env.HEATROUND_SHOTS;

let world: World;
let administrator: Person;
beforeAll(async () => {
  world = await openWorld();
  administrator = await world.service.person(world.people.planner.scope.organisationId, ['administrator']);
}, 120_000);
afterAll(() => world?.close());

/** At both widths: nothing runs out at the side, and no rule of accessibility is broken. */
async function look(page: Page, name: string): Promise<void> {
  const before = page.viewportSize()!;
  for (const size of [PHONE, LAPTOP]) {
    await page.setViewportSize(size);
    expect(
      await page.evaluate(() => document.documentElement.scrollWidth - innerWidth),
      `${name} at ${size.width}`,
    ).toBeLessThanOrEqual(0);
    if (SHOTS) await page.screenshot({ path: join(SHOTS, `${name}-${size.width}.png`), fullPage: true });
    await page.evaluate(axe);
    const broken = await page.evaluate(async () => {
      const { axe: run } = window as unknown as {
        axe: { run(root: Document): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
      };
      return (await run.run(document)).violations.map(({ id, nodes }) => `${id}: ${nodes[0]?.html}`);
    });
    expect(broken, `${name} at ${size.width}`).toEqual([]);
  }
  await page.setViewportSize(before);
}

/** Reads the fire pump without signal, so that the reading is only on this phone. */
async function readWithoutSignal(page: Page, context: BrowserContext, digits: string): Promise<void> {
  await page.goto(`/stop/${world.firePump.id}/${world.firePump.pointIds[0]}`);
  const key = page.getByRole('button', { name: 'Seen, go on' });
  await Promise.race([key.waitFor(), page.getByRole('button', { name: /Could not read it/ }).waitFor()]);
  if (await key.isVisible()) await key.click();
  await context.setOffline(true);
  await page.keyboard.type(digits);
  await page.getByRole('button', { name: new RegExp(`Confirm ${digits}`) }).click();
  // A key pressed twice keeps nothing that could not have been seen.
  await page.waitForTimeout(400);
  await page.getByRole('button', { name: /^Keep it/ }).click();
  await expect.poll(async () => (await stored(page)).facts).toBe(1);
}

/** Rows by table, over all stores of this device. */
const stored = (page: Page): Promise<Record<string, number>> =>
  page.evaluate(async () => {
    const counts: Record<string, number> = {};
    for (const { name } of await indexedDB.databases()) {
      if (!name?.startsWith('heatround:')) continue;
      const db = await new Promise<IDBDatabase>((done) => {
        const opening = indexedDB.open(name);
        opening.onsuccess = () => done(opening.result);
      });
      for (const table of [...db.objectStoreNames]) {
        const asked = db.transaction(table).objectStore(table).count();
        counts[table] =
          (counts[table] ?? 0) + (await new Promise<number>((done) => (asked.onsuccess = () => done(asked.result))));
      }
      db.close();
    }
    return counts;
  });
const READABLE = ['packs', 'walks', 'answers', 'steps', 'receipts', 'carried'];
const readable = async (page: Page): Promise<number> => {
  const counts = await stored(page);
  return READABLE.reduce((sum, table) => sum + (counts[table] ?? 0), 0);
};
const readings = async (): Promise<{ by: string; value: number }[]> =>
  (await world.people.planner.call('listReadings', { params: { pointId: world.firePump.pointIds[0]! } })).body.readings;

test('D51: access ended while without signal: nothing can be read any more, the entry is handed over by itself and a planner accepts it', {
  timeout: 90_000,
}, async () => {
  const { technician, planner } = world.people;
  const { page, context, errors } = await world.enter(technician);
  await page.goto('/walk');
  await page.getByText('Everything for this walk is on the phone.').waitFor({ timeout: 15_000 });
  await readWithoutSignal(page, context, '41');
  expect(await readable(page)).toBeGreaterThan(0);
  await endSessionsOf(world.service.deps, administrator.scope, technician.personId);
  // Still without contact: still usable.
  expect(await readable(page)).toBeGreaterThan(0);
  await context.setOffline(false);
  await page.getByText('Your access from this phone was ended.').waitFor();
  await page.getByText('1 entry is safe on the server; a planner looks at it.').waitFor();
  expect(await readable(page)).toBe(0);
  expect((await stored(page)).facts).toBe(0);
  expect(await page.evaluate(() => localStorage.getItem('heatround-person'))).toBeNull();
  expect((await context.cookies()).every(({ name }) => name === 'heatround.session_token')).toBe(true);
  await look(page, 'door-ended');
  // Without signal again nothing opens from what was kept.
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  await context.setOffline(true);
  await page.reload();
  await page.getByRole('heading', { name: /Sign in to see/ }).waitFor();
  await context.setOffline(false);
  await page.getByRole('button', { name: 'Seen' }).click();
  await page.getByText('safe on the server; a planner').waitFor({ state: 'detached' });
  expect(errors).toEqual([]);
  await context.close();
  expect(await readings()).toEqual([]);

  const desk = await world.enter(planner, { viewport: LAPTOP });
  await desk.page.getByRole('link', { name: 'Handed over 1' }).first().click();
  await desk.page.getByRole('heading', { name: '1 entry from one person waits for you.' }).waitFor();
  await desk.page.getByText('41 °C', { exact: true }).waitFor();
  await look(desk.page, 'handed-over');
  // Turning away asks for the reason, and leaves everything where it was when it is not given.
  await desk.page.getByRole('button', { name: /Turn away/ }).click();
  await desk.page.getByRole('button', { name: 'Turn it away' }).click();
  await desk.page.getByText('A reason, such as').waitFor();
  await look(desk.page, 'handed-over-reason');
  await desk.page.getByRole('button', { name: 'Leave it waiting' }).click();
  await desk.page.getByRole('button', { name: /^Accept/ }).click();
  await desk.page.getByText('1 entry is recorded.').waitFor();
  await desk.page.getByRole('heading', { name: 'Nothing handed over waits for you.' }).waitFor();
  await desk.page.getByRole('button', { name: 'Show what was decided' }).click();
  await desk.page.getByText('Accepted by Jun Okafor').waitFor();
  await look(desk.page, 'handed-over-decided');
  expect(await readings()).toMatchObject([{ by: 'Maren Falk', value: 41 }]);
  await desk.page.goto('/answers');
  await desk.page.getByRole('heading', { level: 1 }).waitFor();
  await desk.page.waitForLoadState('networkidle');
  expect(await desk.page.getByRole('link', { name: /Handed over/ }).count()).toBe(0);
  expect(desk.errors).toEqual([]);
  await desk.context.close();
});

test('D51: a session that merely ran out asks to sign in first, keeps the walk, and hands over at the press of a key', {
  timeout: 60_000,
}, async () => {
  const tomasz = await world.service.person(administrator.scope.organisationId, ['technician'], { name: 'Tomasz Lind' });
  const { page, context } = await world.enter(tomasz);
  await page.goto(`/assets/${world.firePump.id}`);
  await page.getByRole('heading', { level: 1 }).waitFor();
  await readWithoutSignal(page, context, '42');
  await context.clearCookies();
  await context.setOffline(false);
  await page.getByText('You were signed out.').waitFor();
  await page.getByText('1 entry is only on this phone. Sign in and it goes up by itself.').waitFor();
  await look(page, 'door-ran-out');
  expect(await readable(page)).toBeGreaterThan(0);
  expect((await stored(page)).facts).toBe(1);
  await page.getByRole('button', { name: 'Hand over without signing in' }).click();
  await page.getByText('1 entry is safe on the server; a planner looks at it.').waitFor();
  expect((await stored(page)).facts).toBe(0);

  // A shared phone: whoever signs in next meets nothing of it.
  await page.getByLabel('E-mail').fill(world.people.planner.email);
  await page.getByLabel('Password').fill(TEST_PASSWORD);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await page.getByRole('heading', { level: 1 }).filter({ hasNotText: 'Sign in' }).waitFor();
  expect(await page.getByText('safe on the server; a planner').count()).toBe(0);
  await context.close();
});

test('D51: a membership that ended among several: its entries are handed over, the other house stays open', {
  timeout: 60_000,
}, async () => {
  const { contractor } = world.people;
  const { page, context } = await world.enter(contractor);
  if ((await page.getByRole('button', { name: 'Go to Quarrymill Estates' }).count()) > 0)
    await page.getByRole('button', { name: 'Go to Quarrymill Estates' }).click();
  await readWithoutSignal(page, context, '43');
  await endMembership(world.service.deps, administrator.scope, contractor.personId);
  await context.setOffline(false);
  await page.goto('/');
  await page
    .getByText('Your access to Quarrymill Estates has ended. 1 entry is safe on the server; a planner looks at it.')
    .waitFor();
  expect(await page.getByRole('button', { name: /Quarrymill/ }).count()).toBe(0);
  await look(page, 'membership-ended');
  await page.getByRole('button', { name: 'Seen' }).click();
  await page.getByText('Your access to Quarrymill Estates').waitFor({ state: 'detached' });
  await context.close();
});
