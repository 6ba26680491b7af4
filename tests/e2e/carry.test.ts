import { sql } from '@heatround/platform/database';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type Person, readingFact, TEST_NOW } from '../support/harness.ts';
import { faults } from './faults.ts';
import { LAPTOP, openWorld, PHONE, type World } from './world.ts';

const DAY = 86_400_000;

let world: World;
let manager: Person;
const at = (days: number): string => new Date(Date.parse(TEST_NOW) + days * DAY).toISOString();

/** A machine of one point with a finding on it. */
async function finding(tag: string, name: string, value: string): Promise<{ findingId: string; pointId: string }> {
  const { service, people, ironer } = world;
  const { roomId } = (await people.planner.call('getAsset', { params: { assetId: ironer.id } })).body.place;
  const { pointIds } = await service.asset(people.planner, roomId, { tag, name, points: [{ name: 'Housing' }] });
  const takenAt = new Date(service.clock.now()).toISOString();
  const sent = await people.technician.submit([readingFact(pointIds[0]!, value, { takenAt })]);
  expect(sent.body.results[0].outcome).toBe('created');
  const { findings } = (await people.planner.call('listFindings', { query: { which: 'all', pointId: pointIds[0]! } })).body;
  return { findingId: findings[0].id, pointId: pointIds[0]! };
}
async function answer(person: Person, findingId: string, given: object): Promise<string> {
  const reply = await person.call('answerFinding', { params: { findingId }, body: { answer: given } });
  expect(reply.status, JSON.stringify(reply.body)).toBe(200);
  return reply.body.orderId;
}

beforeAll(async () => {
  world = await openWorld();
  const { service, people, ironer } = world;
  const { organisationId } = people.planner.scope;
  manager = await service.person(organisationId, ['manager'], { name: 'Ruvi Santos' });
  const siteId = (await people.planner.call('listSites')).body.sites[0].id;
  for (const [name, fromAt, toAt] of [
    ['Half day', at(1), at(1.3)],
    ['Ironer outage', at(46), at(50)],
  ]) {
    const made = await people.planner.call('createWindow', { body: { siteId, name, assetId: ironer.id, fromAt, toAt } });
    expect(made.status, JSON.stringify(made.body)).toBe(201);
  }
  // Rounds that nobody walks, then some that were in hand and grew old.
  const fan = await finding('W-AHU-02', 'Extract fan', '93');
  await answer(people.planner, fan.findingId, { kind: 'agree', ownerId: people.technician.personId });
  const cold = await finding('E-RCL-02', 'Recooler 2', '86');
  await answer(people.planner, cold.findingId, { kind: 'agree', ownerId: null });
  const hall = await finding('W-CRP-02', 'Gym hall panels', '91');
  await answer(manager, hall.findingId, { kind: 'live-with', until: at(160), reason: 'hall is refitted in autumn' });
  const lift = await finding('W-LFT-01', 'Lift motor', '94');
  await answer(people.planner, lift.findingId, { kind: 'ask-to-live-with', until: at(60), reason: 'motor is changed in June' });
  await service.db.acrossTenants('a demo for this test', (db) =>
    db.$executeRaw(sql`UPDATE organisation SET is_demo = true WHERE organisation_id = ${organisationId}::uuid`),
  );
  const administrator = await service.person(organisationId, ['administrator'], { name: 'Nele Brandt' });
  expect((await administrator.call('jumpClock', { body: { aheadMinutes: 60 * 24 * 12 } })).status).toBe(200);
  await service.concludeAll();
}, 180_000);
afterAll(() => world?.close());

/** Tab, as somebody without a mouse, until what has the focus goes by this name. */
async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let step = 0; step < 150; step++) {
    await page.keyboard.press('Tab');
    const here = await page.evaluate(() => {
      const element = document.activeElement as HTMLElement | null;
      if (element === null || element.tabIndex < 0) return '';
      return element.getAttribute('aria-label') ?? element.textContent;
    });
    if (name.test(here.trim())) return;
  }
  throw new Error(`nothing called ${name} can be reached by Tab`);
}

test('is the first screen of a manager: what waits first, every figure beside what it leaves out, no fault of access', {
  timeout: 90_000,
}, async () => {
  const { page, context, errors } = await world.enter(manager, { viewport: LAPTOP, touch: false });
  await page
    .getByRole('heading', { level: 1, name: /open risks\. One waits for you: Lift motor, whether to live with it until 22 June/ })
    .waitFor();
  expect(new URL(page.url()).pathname).toBe('/carry');
  expect(await page.title()).toBe('What we carry · Heatround');
  const risks = page.getByRole('list', { name: 'Open risk' }).getByRole('listitem');
  expect(await risks.first().getAttribute('aria-label')).toBe('Reported: Lift motor');
  await risks.first().getByText('Jun Okafor asks to live with it until 22 June').waitFor();
  await risks.filter({ hasText: 'Extract fan' }).getByText('Maren Falk').waitFor();
  await risks.filter({ hasText: 'Recooler 2' }).getByText('nobody has it').waitFor();
  await page.getByText(/1 missed|[2-9] missed/).waitFor();
  await page
    .getByText(/nobody came/)
    .first()
    .waitFor();
  const living = page.getByRole('listitem', { name: 'Gym hall panels' });
  await living.getByText(/You signed/).waitFor();
  await living.getByText('until 30 September').waitFor();
  // The plots are drawn, each with its sentence.
  const trend = page.getByRole('listitem', { name: 'Ironer main drive, Gearbox bearing' });
  expect(await trend.locator('svg .r-like').count()).toBeGreaterThan(0);
  expect(await trend.locator('.note').textContent()).toMatch(/\d+.°C/);
  expect(await faults(page, 'carry')).toEqual([]);
  expect(errors).toEqual([]);
  await context.close();
});

test('a decision is given in place, by keyboard; leaving it gives the focus back', { timeout: 90_000 }, async () => {
  const { page, context, errors } = await world.enter(manager, { viewport: LAPTOP, touch: false });
  await page.getByRole('listitem', { name: /Lift motor/ }).waitFor();
  await tabTo(page, /^Have it repaired: Lift motor/);
  await page.keyboard.press('Enter');
  await page.locator('form h2:focus').waitFor();
  expect(await faults(page, 'carry-decision')).toEqual([]);
  await tabTo(page, /^Leave it$/);
  await page.keyboard.press('Enter');
  await page.locator('.dec button:focus').waitFor();
  await page.getByRole('button', { name: /^Live with it until 22 June: Lift motor/ }).focus();
  await page.keyboard.press('Enter');
  await page.locator('form h2:focus').waitFor();
  expect(await page.getByLabel('Until the end of').inputValue()).toBe('2026-06-22');
  await tabTo(page, /^Live with it until 22 June$/);
  await page.keyboard.press('Enter');
  await page
    .getByRole('status')
    .getByText(/Lift motor: you live with it/)
    .waitFor();
  await page.getByRole('heading', { level: 1, name: /open risks\. \w+ repairs? (is|are) overdue/ }).waitFor();
  await page.getByRole('listitem', { name: 'Lift motor', exact: true }).getByText('until 22 June').waitFor();
  expect(errors).toEqual([]);
  await context.close();
});

test('on a phone the same stands below one another, and leads to the order', { timeout: 60_000 }, async () => {
  const { page, context, errors } = await world.enter(manager, { viewport: PHONE });
  await page.getByRole('heading', { level: 1, name: /open risks/ }).waitFor();
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(PHONE.width);
  await page.getByRole('list', { name: 'Open risk' }).getByRole('link', { name: 'Extract fan' }).tap();
  await page.getByRole('heading', { level: 1, name: /^Agreed/ }).waitFor();
  expect(new URL(page.url()).pathname).toMatch(/^\/orders\//);
  expect(errors).toEqual([]);
  await context.close();
});

test('a planner finds it in the row; a house without anything says what comes next', { timeout: 150_000 }, async () => {
  const own = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
  await own.page.getByRole('navigation', { name: 'Places', exact: true }).getByRole('link', { name: 'What we carry' }).click();
  await own.page.getByRole('heading', { level: 1, name: /open risks/ }).waitFor();
  expect(await own.page.getByRole('button', { name: /Live with it/ }).count()).toBe(0);
  await own.context.close();

  const empty = await world.service.organisation('Emberfield Works');
  const founder = await world.service.person(empty.id, ['manager'], { name: 'Ada Brook' });
  const planner = await world.service.person(empty.id, ['planner'], { name: 'Lin Carey' });
  const manages = await world.enter(founder, { viewport: LAPTOP, touch: false });
  await manages.page.getByRole('heading', { level: 1, name: /^Nothing is open/ }).waitFor();
  await manages.page.getByText('A planner makes the register and the routes').waitFor();
  expect(await faults(manages.page, 'carry-empty')).toEqual([]);
  await manages.context.close();
  const plans = await world.enter(planner, { viewport: LAPTOP, touch: false });
  await plans.page.goto('/carry');
  await plans.page.getByRole('main').getByRole('link', { name: 'register' }).click();
  expect(new URL(plans.page.url()).pathname).toBe('/register');
  await plans.context.close();
});
