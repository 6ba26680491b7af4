import { sql } from '@heatround/platform/database';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type Person, TEST_NOW } from '../support/harness.ts';
import { faults } from './faults.ts';
import { LAPTOP, openWorld, PHONE, type World } from './world.ts';

const DAY = 86_400_000;

let world: World;
let manager: Person;
let administrator: Person;
beforeAll(async () => {
  world = await openWorld();
  const { service, people, ironer } = world;
  const { organisationId } = people.planner.scope;
  manager = await service.person(organisationId, ['manager'], { name: 'Ruvi Santos' });
  administrator = await service.person(organisationId, ['administrator'], { name: 'Nele Brandt' });
  const siteId = (await people.planner.call('listSites')).body.sites[0].id;
  const at = (days: number, hours: number): string =>
    new Date(Date.parse(TEST_NOW) + days * DAY + hours * 3_600_000).toISOString();
  for (const [name, fromAt, toAt] of [
    ['Half day', at(1, -1), at(1, 6)],
    ['Ironer outage', at(46, 0), at(50, 0)],
  ]) {
    const made = await people.planner.call('createWindow', { body: { siteId, name, assetId: ironer.id, fromAt, toAt } });
    expect(made.status, JSON.stringify(made.body)).toBe(201);
  }
}, 120_000);
afterAll(() => world?.close());

/** Tab, as somebody without a mouse, until what has the focus goes by this name. */
async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let step = 0; step < 150; step++) {
    await page.keyboard.press('Tab');
    const here = await page.evaluate(() => {
      const element = document.activeElement as HTMLElement | null;
      // A heading that was given the focus is no key.
      if (element === null || element.tabIndex < 0) return '';
      const label = element instanceof HTMLInputElement ? element.labels?.[0]?.textContent : null;
      return element.getAttribute('aria-label') ?? label ?? element.textContent;
    });
    if (name.test(here.trim())) return;
  }
  throw new Error(`nothing called ${name} can be reached by Tab`);
}

test('on the asset page the last window is asked for by keyboard: agreed and slotted in one go, and said', {
  timeout: 60_000,
}, async () => {
  const [bearing] = world.ironer.pointIds as [string];
  const { page, context, errors } = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
  await page.goto(`/assets/${world.ironer.id}`);
  await page.getByRole('button', { name: 'Ask for Fri 24 April' }).waitFor();
  expect(await faults(page, 'ways-asset')).toEqual([]);
  await tabTo(page, /^Ask for Fri 24 April$/);
  await page.keyboard.press('Enter');
  const told = page.getByRole('status').filter({ hasText: /^Agreed as order \d+, slotted for Fri 24 April\.$/ });
  await told.waitFor();
  // The sentence has the focus, so that it is heard; the key is gone, the order stands in its place.
  expect(await told.evaluate((element) => element === document.activeElement)).toBe(true);
  expect(await page.getByRole('button', { name: /^Ask for/ }).count()).toBe(0);
  await page.getByRole('link', { name: /^Order \d+$/ }).waitFor();
  const { orders } = (await world.people.planner.call('listOrders', { query: { pointId: bearing, which: 'open' } })).body;
  expect(orders).toHaveLength(1);
  expect(orders[0]).toMatchObject({ state: 'slotted' });
  expect(await faults(page, 'ways-asset-asked')).toEqual([]);
  expect(errors).toEqual([]);
  await context.close();
});

test('the air of a room is asked once, one answer covers a machine and another a room, by keyboard alone', {
  timeout: 90_000,
}, async () => {
  const round = await world.roundOf(world.routes.rt1);
  const { page, context, errors } = await world.enter(world.people.technician, { viewport: LAPTOP, touch: false });
  await page.goto('/walk');
  await page.getByText('Everything for this walk is on the computer.').waitFor({ timeout: 15_000 });
  await tabTo(page, /^Take RT1$/);
  await page.keyboard.press('Enter');
  const at = (tag: string): Promise<void> => page.locator('.tag', { hasText: tag }).first().waitFor();
  const enter = async (...texts: string[]): Promise<void> => {
    for (const text of texts) {
      await page.keyboard.type(text);
      await page.keyboard.press('Enter');
    }
    await page.getByRole('button', { name: /^Keep it/ }).waitFor();
    await page.waitForTimeout(400);
    await page.keyboard.press('Enter');
  };
  await at('B-PMP-01 a');
  await enter('51', '22,5');
  for (const tag of ['B-PMP-01 b', 'B-PMP-02 a']) {
    await at(tag);
    await page.getByText(/carried over, \d\d:\d\d/).waitFor();
    await enter('47');
  }
  const couldNot = async (scope: RegExp, answer: RegExp): Promise<void> => {
    await tabTo(page, /^Could not read it$/);
    await page.keyboard.press('Enter');
    expect(await faults(page, `ways-could-not-${scope.source.includes('room') ? 'room' : 'machine'}`)).toEqual([]);
    await tabTo(page, scope);
    await page.keyboard.press('Space');
    await tabTo(page, answer);
    await page.keyboard.press('Enter');
  };
  // The machine has no other stop left to answer; the room has.
  await at('B-PMP-02 b');
  await couldNot(/^For all stops of this room, 2 more$/, /^No way in/);
  await page.getByRole('heading', { name: '6 of 6 answered.' }).waitFor();
  await expect
    .poll(async () => {
      const { stopLines } = (await world.people.planner.call('getRound', { params: { roundId: round } })).body;
      return stopLines.map((stop: { state: string }) => stop.state);
    })
    .toEqual(['read', 'read', 'read', 'no-way-in', 'no-way-in', 'no-way-in']);
  // The air of the first stop went along with the readings of the others, as it was typed.
  for (const pointId of [world.pumps[0]!.pointIds[1]!, world.pumps[1]!.pointIds[0]!]) {
    const { readings } = (await world.people.planner.call('listReadings', { params: { pointId }, query: { pageSize: '1' } }))
      .body;
    expect(readings[0].conditions.ambient).toMatchObject({ text: '22,5', unit: '°C' });
  }

  const rt5 = await world.roundOf(world.routes.rt5);
  await page.goto('/walk');
  await tabTo(page, /^Take RT5$/);
  await page.keyboard.press('Enter');
  const seen = async (): Promise<void> => {
    await tabTo(page, /^Seen, go on$/);
    await page.keyboard.press('Enter');
  };
  await at('E-LVP-02');
  await seen();
  await couldNot(/^For all stops of this room, 1 more$/, /^No way in/);
  await at('B-IRO-01 a');
  await seen();
  await couldNot(/^For all stops of this machine, 2 more$/, /^Not running/);
  await page.getByRole('heading', { name: '5 of 5 answered.' }).waitFor();
  await expect
    .poll(async () => {
      const { stopLines } = (await world.people.planner.call('getRound', { params: { roundId: rt5 } })).body;
      return stopLines.map((stop: { state: string }) => stop.state);
    })
    .toEqual(['no-way-in', 'no-way-in', 'not-running', 'not-running', 'not-running']);
  expect(errors).toEqual([]);
  await context.close();
});

test('the administrator of a demo moves the clock ahead on the screen; a manager then meets what is overdue first', {
  timeout: 60_000,
}, async () => {
  await world.service.db.acrossTenants('a demo for this test', (db) =>
    db.$executeRaw(
      sql`UPDATE organisation SET is_demo = true WHERE organisation_id = ${world.people.planner.scope.organisationId}::uuid`,
    ),
  );
  const own = await world.enter(administrator, { viewport: PHONE });
  await own.page.goto('/rights');
  await own.page.getByRole('heading', { name: 'Move the clock ahead' }).waitFor();
  await own.page.getByRole('button', { name: 'A month ahead' }).tap();
  await own.page.getByRole('button', { name: 'Leave it' }).waitFor();
  expect(await faults(own.page, 'clock')).toEqual([]);
  await own.page.getByRole('button', { name: 'Yes, a month ahead for everybody' }).tap();
  await own.page.getByText(/^Here it is Sat 23 May/).waitFor();
  expect(own.errors).toEqual([]);
  await own.context.close();

  const { page, context, errors } = await world.enter(manager, { viewport: LAPTOP, touch: false });
  await page.getByRole('navigation', { name: 'Places', exact: true }).getByRole('link', { name: 'Orders' }).click();
  await page.getByRole('heading', { level: 1, name: /overdue: Ironer main drive, \d+ days/ }).waitFor();
  expect(await page.getByRole('listitem').filter({ hasText: 'Order ' }).first().textContent()).toMatch(
    /Ironer main drive.*\d+ days overdue/,
  );
  expect(await faults(page, 'ways-manager-overdue')).toEqual([]);
  expect(errors).toEqual([]);
  await context.close();
});
