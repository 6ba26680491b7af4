import { sql } from '@heatround/platform/database';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type Person, readingFact, TEST_NOW } from '../support/harness.ts';
import { faultsAt, shoot } from './faults.ts';
import { LAPTOP, openWorld, PHONE, type World } from './world.ts';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const NOW = Date.parse(TEST_NOW);
const at = (days: number, hours = 0): string => new Date(NOW + days * DAY + hours * HOUR).toISOString();

let world: World;
let manager: Person;
let administrator: Person;
let windowId: string;
let made = 0;

beforeAll(async () => {
  world = await openWorld();
  const { service, people, ironer } = world;
  const { organisationId } = people.planner.scope;
  manager = await service.person(organisationId, ['manager'], { name: 'Ruvi Santos' });
  administrator = await service.person(organisationId, ['administrator'], { name: 'Nele Brandt' });
  const { site } = (await people.planner.call('getAsset', { params: { assetId: ironer.id } })).body.place;
  expect(site).toBe('Mill');
  const siteId = (await people.planner.call('listSites')).body.sites[0].id;
  const window = async (name: string, fromAt: string, toAt: string): Promise<string> => {
    const reply = await people.planner.call('createWindow', { body: { siteId, name, assetId: ironer.id, fromAt, toAt } });
    expect(reply.status, JSON.stringify(reply.body)).toBe(201);
    return reply.body.id;
  };
  windowId = await window('Half day', at(1, -1), at(1, 6));
  await window('Ironer outage', at(46), at(50));
}, 120_000);
afterAll(() => world?.close());

/** A machine with one point and a finding on it. */
async function finding(
  name: string,
  value = '93',
): Promise<{ assetId: string; pointId: string; findingId: string; version: number }> {
  const { service, people } = world;
  const { roomId } = (await people.planner.call('getAsset', { params: { assetId: world.ironer.id } })).body.place;
  const { id, pointIds } = await service.asset(people.planner, roomId, {
    tag: `R-${++made}`,
    name,
    points: [{ name: 'Housing', regreasingGateHours: 0 }],
  });
  const pointId = pointIds[0]!;
  const takenAt = new Date(service.clock.now()).toISOString();
  const sent = await people.technician.submit([readingFact(pointId, value, { takenAt })]);
  expect(sent.body.results[0].outcome).toBe('created');
  await service.concludeAll();
  const { findings } = (await people.planner.call('listFindings', { query: { which: 'all', pointId } })).body;
  return { assetId: id, pointId, findingId: findings[0].id, version: findings[0].finding.version };
}
async function agreed(name: string): Promise<{ assetId: string; pointId: string; orderId: string }> {
  const { findingId, ...rest } = await finding(name);
  const reply = await world.people.planner.call('answerFinding', {
    params: { findingId },
    body: { answer: { kind: 'agree', ownerId: world.people.technician.personId } },
  });
  expect(reply.status, JSON.stringify(reply.body)).toBe(200);
  return { ...rest, orderId: reply.body.orderId };
}
async function move(person: Person, orderId: string, given: object): Promise<void> {
  const reply = await person.call('moveOrder', { params: { orderId }, body: { move: given } });
  expect(reply.status, JSON.stringify(reply.body)).toBe(200);
}
async function done(name: string): Promise<{ assetId: string; pointId: string; orderId: string }> {
  const order = await agreed(name);
  const { planner, technician } = world.people;
  const now = world.service.clock.now();
  const slot = { from: new Date(now).toISOString(), to: new Date(now + 8 * HOUR).toISOString() };
  await move(planner, order.orderId, { kind: 'slot', windowId: null, ...slot });
  await move(technician, order.orderId, { kind: 'start' });
  await move(technician, order.orderId, { kind: 'finish', found: 'dry bearing', did: 'cleaned', work: 'cleaned' });
  return order;
}
async function read(pointId: string, value: string): Promise<void> {
  world.service.clock.advance(HOUR);
  const takenAt = new Date(world.service.clock.now()).toISOString();
  const reply = await world.people.technician.submit([readingFact(pointId, value, { takenAt })]);
  expect(reply.body.results[0].outcome).toBe('created');
}
const orderOf = async (orderId: string) => (await world.people.planner.call('getOrder', { params: { orderId } })).body;

/** Tab, as somebody without a mouse, until a key of this name has the focus. */
async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let step = 0; step < 120; step++) {
    await page.keyboard.press('Tab');
    const here = await page.evaluate(() => {
      const element = document.activeElement as HTMLElement | null;
      // A heading that was given the focus is no key.
      if (element === null || element.tabIndex < 0) return '';
      return element.getAttribute('aria-label') ?? element.textContent;
    });
    if (name.test(here)) return;
  }
  throw new Error(`nothing called ${name} can be reached by Tab`);
}

/** A form that opens takes the focus to its title; a key pressed before that would go astray. */
const formOpen = (page: Page): Promise<void> => page.locator('form h2:focus').waitFor();

describe('a planner who answers what is due', () => {
  test('asks for the last window by keyboard alone', { timeout: 60_000 }, async () => {
    const { page, context, errors } = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
    await page.getByRole('heading', { level: 1, name: /want(s)? your answer/ }).waitFor();
    expect(await page.title()).toBe('Answers due · Heatround');
    await page.getByRole('listitem', { name: /Ironer main drive/ }).waitFor();
    await tabTo(page, /^Ask for 24 April: Ironer main drive/);
    await page.keyboard.press('Enter');
    await page
      .getByRole('status')
      .getByText(/slotted for Fri 24 April/)
      .waitFor();
    const { orders } = (
      await world.people.planner.call('listOrders', { query: { pointId: world.ironer.pointIds[0]!, which: 'open' } })
    ).body;
    expect(orders[0]).toMatchObject({ state: 'slotted', order: { slot: { windowId } } });
    expect(errors).toEqual([]);
    await context.close();
  });

  test('sees what came after an answer, and says that it stands or takes it up anew', { timeout: 90_000 }, async () => {
    const [fan, pump] = [await done('Late fan'), await done('Late pump')];
    for (const { pointId } of [fan, pump]) {
      await read(pointId, '60');
      world.service.clock.advance(HOUR);
      // Read before the proof by a phone that had no signal.
      const takenAt = new Date(world.service.clock.now() - 1.5 * HOUR).toISOString();
      const sent = await world.people.technician.submit([readingFact(pointId, '97', { takenAt })]);
      expect(sent.body.results[0].outcome).toBe('created');
    }
    for (const viewport of [PHONE, LAPTOP]) {
      const { page, context, errors } = await world.enter(world.people.planner, { viewport, touch: viewport === PHONE });
      const name = viewport === PHONE ? 'Late fan' : 'Late pump';
      const row = page.getByRole('listitem', { name: new RegExp(name) });
      await row.getByText(/97\.0.°C, Soon: read today, \d+:\d+ by .+, arrived today/).waitFor();
      expect(await row.getByText(/ended as proved/).count()).toBe(1);
      expect(await faultsAt(page, 'second-look', viewport)).toEqual([]);
      await row.getByRole('textbox', { name: /A word about it/ }).fill('hot on the night shift');
      await row.getByRole('button', { name: viewport === PHONE ? /^It stays ended/ : /^Take it up anew/ }).click();
      await page
        .getByRole('status')
        .getByText(viewport === PHONE ? /seen\. Finding \d+ stands/ : /taken up as finding \d+/)
        .waitFor();
      expect(await page.getByRole('button', { name: new RegExp(`^It stays ended.*${name}`) }).count()).toBe(0);
      expect(await page.getByRole('listitem', { name: new RegExp(name) }).count()).toBe(viewport === PHONE ? 0 : 1);
      expect(errors).toEqual([]);
      await context.close();
    }
  });

  test('turns one down with a reason; without one nothing is sent', { timeout: 60_000 }, async () => {
    const { findingId, pointId } = await finding('Roof fan');
    const { page, context } = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
    await page.getByRole('listitem', { name: /Roof fan/ }).waitFor();
    await tabTo(page, /^Other answers to Roof fan/);
    await page.keyboard.press('Enter');
    await tabTo(page, /^Turn down/);
    await page.keyboard.press('Enter');
    await formOpen(page);
    await tabTo(page, /^Turn it down/);
    await page.keyboard.press('Enter');
    await page.getByText('A reason in a few words is needed here.').waitFor();
    // The field that lacks it gets the focus.
    await page.locator('textarea:focus, input:focus').waitFor();
    await page.keyboard.type('painted lug read as bare metal');
    await tabTo(page, /^Turn it down/);
    await page.keyboard.press('Enter');
    await page
      .getByRole('status')
      .getByText(/Roof fan: turned down/)
      .waitFor();
    const { findings } = (await world.people.planner.call('listFindings', { query: { which: 'all', pointId } })).body;
    expect(findings[0]).toMatchObject({ id: findingId, state: 'turned-down' });
    await context.close();
  });

  test('calls one the same as another, whose evidence it becomes; the finder reads what became of it', {
    timeout: 60_000,
  }, async () => {
    const first = await finding('Sump fan', '85');
    const second = await finding('Sump fan belt', '86');
    const { page, context } = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
    await page.goto('/answers');
    await page.getByRole('listitem', { name: /^Sump fan belt/ }).waitFor();
    await tabTo(page, /^Other answers to Sump fan belt/);
    await page.keyboard.press('Enter');
    await tabTo(page, /^Same as …/);
    await page.keyboard.press('Enter');
    await formOpen(page);
    await tabTo(page, /^It is the same fault/);
    await page.keyboard.press('Enter');
    await page.getByText('Choose the one it is the same as.').waitFor();
    await page.getByLabel('The same as').selectOption({ value: first.findingId });
    await page.getByRole('button', { name: 'It is the same fault' }).press('Enter');
    await page
      .getByRole('status')
      .getByText(/Sump fan belt/)
      .waitFor();
    const known = async (pointId: string) =>
      (await world.people.planner.call('listFindings', { query: { which: 'all', pointId } })).body.findings[0];
    expect(await known(second.pointId)).toMatchObject({ state: 'same-as', finding: { sameAs: first.findingId } });
    // The other way round would go in a circle: it is not offered, and refused to whoever asks all the same.
    await tabTo(page, /^Other answers to Sump fan(?! belt)/);
    await page.keyboard.press('Enter');
    await tabTo(page, /^Same as …/);
    await page.keyboard.press('Enter');
    await formOpen(page);
    const offered = await page
      .getByLabel('The same as')
      .locator('option')
      .evaluateAll((all) => all.map((one) => (one as HTMLOptionElement).value));
    expect(offered.length).toBeGreaterThan(1);
    expect(offered).not.toContain(second.findingId);
    const circle = await world.people.planner.call('answerFinding', {
      params: { findingId: first.findingId },
      body: { answer: { kind: 'same-as', findingId: second.findingId } },
    });
    expect(circle.status).toBe(409);
    expect((await known(first.pointId)).state).toBe('reported');
    await context.close();

    const phone = await world.enter(world.people.technician, { viewport: PHONE });
    await phone.page.goto('/walk');
    await phone.page
      .getByText(/Known already, merged by Jun Okafor/)
      .first()
      .waitFor();
    await phone.context.close();
  });

  test('finds the other places under More, by thumb and by keys', { timeout: 60_000 }, async () => {
    const { page, context, errors } = await world.enter(world.people.planner, { viewport: PHONE });
    const tabs = page.getByRole('navigation', { name: 'Places, at the bottom' });
    const more = tabs.getByRole('button');
    await more.tap();
    expect(await more.getAttribute('aria-expanded')).toBe('true');
    await tabs.getByRole('link', { name: 'Rounds' }).waitFor();
    await page.keyboard.press('Escape');
    expect(await more.getAttribute('aria-expanded')).toBe('false');
    expect(await more.evaluate((element) => element === document.activeElement)).toBe(true);
    await more.tap();
    await tabs.getByRole('link', { name: 'Rounds' }).tap();
    await page.getByRole('heading', { level: 1 }).waitFor();
    expect(new URL(page.url()).pathname).toBe('/rounds');
    expect(errors).toEqual([]);
    await context.close();
  });

  test('may not accept Soon alone, but asks, and a manager accepts', { timeout: 60_000 }, async () => {
    const { pointId } = await finding('Lift motor');
    const { page, context } = await world.enter(world.people.planner, { viewport: PHONE });
    const row = page.getByRole('listitem', { name: /Lift motor/ });
    await row.getByRole('button', { name: /Other answers/ }).tap();
    expect(await row.getByRole('button', { name: /^Live with it/ }).count()).toBe(0);
    await row.getByRole('button', { name: /^Ask to live with it/ }).tap();
    await row.getByLabel('Until the end of').fill('2026-09-30');
    await row.getByLabel('Why').fill('hall is refitted in autumn');
    await row.getByRole('button', { name: 'Ask to live with it until 30 September' }).tap();
    await page
      .getByRole('status')
      .getByText(/Lift motor: asked to live with it/)
      .waitFor();
    await row.getByText('You asked to live with it').waitFor();
    await context.close();

    const second = await world.enter(manager, { viewport: LAPTOP, touch: false });
    await second.page.goto('/answers');
    const asked = second.page.getByRole('listitem', { name: /Lift motor/ });
    await asked.getByRole('button', { name: /Other answers/ }).click();
    await asked.getByRole('button', { name: 'Live with it until 30 September' }).click();
    await asked.getByRole('button', { name: 'Live with it until 30 September' }).click();
    await second.page
      .getByRole('status')
      .getByText(/it is lived with/)
      .waitFor();
    await second.page.getByRole('listitem', { name: /Living with it: Lift motor/ }).waitFor();
    const { findings } = (await world.people.planner.call('listFindings', { query: { which: 'all', pointId } })).body;
    expect(findings[0]).toMatchObject({ state: 'living-with' });
    await second.context.close();
  });
});

describe('an order', () => {
  test('goes from the report to the proof, each step by whoever has it', { timeout: 120_000 }, async () => {
    const { pointId } = await finding('Return pump');
    const planner = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
    await planner.page.getByRole('button', { name: /^Agree: Return pump/ }).click();
    await planner.page
      .getByRole('status')
      .getByText(/Return pump: Agreed as order \d+/)
      .waitFor();
    await planner.page.getByRole('link', { name: 'All orders' }).click();
    await planner.page.getByRole('link', { name: 'Return pump' }).click();
    await planner.page.getByRole('heading', { level: 1, name: /^Agreed\. It has no slot yet/ }).waitFor();
    await planner.page.getByText('Nobody has it.').waitFor();
    await planner.page.getByRole('button', { name: 'Slot it' }).click();
    await planner.page.getByLabel('When').selectOption('day');
    await planner.page.getByLabel('Day').fill('2026-04-24');
    await planner.page.getByRole('button', { name: 'Ask for Fri 24 April' }).click();
    await planner.page.getByRole('heading', { level: 1, name: 'Slotted for Fri 24 April.' }).waitFor();
    await planner.page.getByRole('button', { name: 'Give it to …' }).click();
    await planner.page.getByLabel('Who has it').selectOption({ label: 'Maren Falk' });
    // Guest readers and managers may not have it.
    expect(await planner.page.getByLabel('Who has it').locator('option').allTextContents()).toEqual([
      'nobody yet',
      'Davi Moraes',
      'Jun Okafor',
      'Maren Falk',
    ]);
    await planner.page.getByRole('button', { name: 'Give it', exact: true }).click();
    await planner.page.getByText('Maren Falk has it.').waitFor();
    await planner.page.getByText('Given to Maren Falk').waitFor();
    const orderId = planner.page.url().split('/').at(-1)!;
    await planner.context.close();

    const technician = await world.enter(world.people.technician, { viewport: PHONE });
    await technician.page.goto('/orders?which=mine');
    await technician.page.getByRole('button', { name: /^Start the work: .*Return pump/ }).tap();
    await technician.page
      .getByRole('status')
      .getByText(/Return pump: the work has begun/)
      .waitFor();
    await technician.page.getByRole('button', { name: /^Say what was done: .*Return pump/ }).tap();
    await technician.page.getByLabel('What was found').fill('dry bearing');
    await technician.page.getByLabel('What was done').fill('cleaned, clearance set');
    await technician.page.getByLabel('Kind of work').selectOption('cleaned');
    await technician.page.getByRole('button', { name: 'Done, now prove it' }).tap();
    await technician.page.getByRole('heading', { level: 1, name: /^Done\. A reading has to prove it by/ }).waitFor();
    expect((await orderOf(orderId)).proofStop).not.toBeNull();
    await read(pointId, '61');
    await technician.page.reload();
    await technician.page.getByRole('heading', { level: 1, name: /^Proved\. Housing: 32\.0 K cooler/ }).waitFor();
    const stations = technician.page.getByRole('list', { name: 'Stations' }).getByRole('listitem');
    expect(await stations.evaluateAll((all) => all.map((one) => one.querySelector('.sw')?.textContent))).toEqual([
      'Reported',
      'Agreed',
      'Slotted',
      'Under way',
      'Done, prove it',
      'Proved',
    ]);
    await technician.page.getByText('Every change').waitFor();
    expect(technician.errors).toEqual([]);
    await technician.context.close();
  });

  test('is back in Agreed after a proof that fails, and is proved under the same number after work once more', {
    timeout: 60_000,
  }, async () => {
    const { orderId, pointId } = await done('Air washer');
    const { number } = await orderOf(orderId);
    await read(pointId, '94');
    const { page, context } = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
    await page.goto(`/orders/${orderId}`);
    await page.getByRole('heading', { level: 1, name: /^Not proved, so it is agreed again/ }).waitFor();
    await page.getByText(`Order ${number}`, { exact: true }).waitFor();
    const again = page.getByRole('list', { name: 'Stations after the proof failed' });
    expect(await again.getByRole('listitem').first().textContent()).toContain('Agreed');
    expect(await page.getByText('Not proved', { exact: true }).count()).toBeGreaterThan(0);
    await tabTo(page, /^Slot it$/);
    await page.keyboard.press('Enter');
    await formOpen(page);
    await page.getByLabel('When').selectOption('day');
    await page.getByLabel('Day').fill(at(3).slice(0, 10));
    await tabTo(page, /^Ask for Sun 26 April$/);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: /^Slotted for Sun 26 April/ }).waitFor();
    await context.close();

    const { technician } = world.people;
    const phone = await world.enter(technician, { viewport: PHONE });
    await phone.page.goto(`/orders/${orderId}`);
    await phone.page.getByRole('button', { name: 'Start the work' }).tap();
    await phone.page.getByRole('status').getByText('The work is under way.').waitFor();
    await phone.page.getByRole('button', { name: 'Say what was done' }).tap();
    await phone.page.getByLabel('What was found').fill('inner race worn');
    await phone.page.getByLabel('What was done').fill('bearing changed');
    await phone.page.getByLabel('Kind of work').selectOption('replaced');
    await phone.page.getByRole('button', { name: 'Done, now prove it' }).tap();
    await phone.page.getByRole('heading', { level: 1, name: /^Done\. A reading has to prove it by/ }).waitFor();
    await read(pointId, '58');
    await phone.page.reload();
    await phone.page.getByRole('heading', { level: 1, name: /^Proved\. Housing: 3[56]\.0 K cooler/ }).waitFor();
    await phone.page.getByText(`Order ${number}`, { exact: true }).waitFor();
    const second = phone.page.getByRole('list', { name: 'Stations after the proof failed' }).getByRole('listitem');
    expect(await second.evaluateAll((all) => all.map((one) => one.querySelector('.sw')?.textContent))).toEqual([
      'Agreed',
      'Slotted',
      'Under way',
      'Done, prove it',
      'Proved',
    ]);
    expect(await orderOf(orderId)).toMatchObject({ number, state: 'proved', order: { failedProofs: 1 } });
    expect(phone.errors).toEqual([]);
    await phone.context.close();
  });

  test('is stuck with its cause and who can free it, and is freed by keyboard where it was', { timeout: 60_000 }, async () => {
    const { orderId } = await agreed('Cooling-water pump');
    await move(world.people.planner, orderId, { kind: 'slot', windowId: null, from: at(2), to: at(2, 4) });
    const phone = await world.enter(world.people.technician, { viewport: PHONE });
    await phone.page.goto(`/orders/${orderId}`);
    await phone.page.getByRole('button', { name: 'It is stuck' }).tap();
    await phone.page.getByRole('button', { name: 'Call it stuck' }).tap();
    await phone.page.getByText('What holds it up, in a few words').waitFor();
    await phone.page.getByText('Who can free it: a name').waitFor();
    await phone.page.getByLabel('What holds it up').fill('part comes on 4 May');
    await phone.page.getByLabel('Who can free it').fill('Ruvi, money');
    await phone.page.getByRole('button', { name: 'Call it stuck' }).tap();
    await phone.page
      .getByRole('heading', { level: 1, name: /^Stuck: part comes on 4 May\. Who can free it: Ruvi, money/ })
      .waitFor();
    await shoot(phone.page, 'order-stuck-phone');
    await phone.context.close();

    const { page, context, errors } = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
    await page.goto(`/orders/${orderId}`);
    await page.getByRole('heading', { level: 1, name: /^Stuck/ }).waitFor();
    await tabTo(page, /^Free it$/);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: /^Slotted/ }).waitFor();
    // A move that asks for nothing is made by its key alone, and what came of it has the focus.
    await page.getByRole('status').getByText('It is free again, where it was.').waitFor();
    expect(await page.evaluate(() => document.activeElement?.getAttribute('role'))).toBe('status');
    expect((await orderOf(orderId)).state).toBe('slotted');
    expect(errors).toEqual([]);
    await context.close();
  });

  test('is closed unproved with a reason, ends so, and stays among those that ended', { timeout: 60_000 }, async () => {
    const { orderId } = await done('Old condensate pump');
    const { page, context } = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
    await page.goto(`/orders/${orderId}`);
    await page.getByRole('heading', { level: 1, name: /^Done\. A reading has to prove it/ }).waitFor();
    await tabTo(page, /^Close unproved/);
    await page.keyboard.press('Enter');
    await formOpen(page);
    await tabTo(page, /^Close it unproved/);
    await page.keyboard.press('Enter');
    await page.getByText('A reason in a few words is needed here.').waitFor();
    // The field that lacks it gets the focus.
    await page.locator('textarea:focus, input:focus').waitFor();
    await page.keyboard.type('taken out of use');
    await tabTo(page, /^Close it unproved/);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: /^Closed unproved/ }).waitFor();
    await page.getByText('taken out of use').first().waitFor();
    expect(await orderOf(orderId)).toMatchObject({ state: 'closed-unproved', proofStop: null });
    await page.goto('/orders?which=ended');
    await page
      .getByRole('listitem', { name: /Old condensate pump/ })
      .getByText(/Closed unproved/)
      .first()
      .waitFor();
    await context.close();
  });

  test('takes a target for its proof, as people write figures; a proof that misses it proves nothing', {
    timeout: 60_000,
  }, async () => {
    const { orderId, pointId } = await done('Glycol pump');
    const { page, context } = await world.enter(world.people.planner, { viewport: PHONE });
    await page.goto(`/orders/${orderId}`);
    await page.getByRole('button', { name: 'Target of the proof …' }).tap();
    const field = page.getByLabel(/^Figure a proof must reach/);
    await field.fill('warm');
    await page.getByRole('button', { name: 'Set this target' }).tap();
    await page.getByText('A figure, such as 2 or 2,5; empty for below Watch.').waitFor();
    await field.fill('55,5');
    await page.getByRole('button', { name: 'Set this target' }).tap();
    await page.getByText('The target is set.').waitFor();
    expect((await orderOf(orderId)).target).toMatchObject({ value: 55.5, direction: 'high' });
    await read(pointId, '58');
    expect((await orderOf(orderId)).state).toBe('agreed');
    await context.close();
  });

  test('that somebody else moved shows how it stands and keeps what was typed', { timeout: 60_000 }, async () => {
    const { orderId } = await agreed('Dosing pump');
    const { page, context } = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
    await page.goto(`/orders/${orderId}`);
    await page.getByRole('button', { name: 'Turn down' }).click();
    await page.getByLabel('Why').fill('read on the wrong pump');
    await move(world.people.planner, orderId, { kind: 'slot', windowId: null, from: at(1), to: at(1, 4) });
    await page.getByRole('button', { name: 'Turn it down' }).click();
    await page
      .getByRole('alert')
      .getByText(/It stands so now: Slotted, maren falk has it/i)
      .waitFor();
    expect(await page.getByRole('alert').textContent()).toMatch(/You may .*give up the slot/);
    expect(await page.getByLabel('Why').inputValue()).toBe('read on the wrong pump');
    // Once more, knowingly: the state does not allow it, and says so.
    await page.getByRole('button', { name: 'Turn it down' }).click();
    await page
      .getByRole('alert')
      .getByText(/Nothing was changed/)
      .waitFor();
    expect((await orderOf(orderId)).state).toBe('slotted');
    await context.close();
  });
});

test('the asset page names the window and what is open on a point', { timeout: 60_000 }, async () => {
  const { page, context } = await world.enter(world.people.planner, { viewport: LAPTOP, touch: false });
  await page.goto(`/assets/${world.ironer.id}`);
  await page.getByText('last window that fits').first().waitFor();
  await page
    .getByText(/too late/)
    .first()
    .waitFor();
  await page
    .getByRole('link', { name: /^Order \d+$/ })
    .first()
    .waitFor();
  expect(await page.locator('h1').textContent()).toMatch(/Fri 24 April is the last/);
  await context.close();
});

describe('screens of findings and orders', () => {
  const open: Record<string, string> = {};
  beforeAll(async () => {
    await finding('Exhaust fan');
    open.done = (await done('Hot-water pump')).orderId;
    const stuck = await agreed('Recooler fan');
    await move(world.people.technician, stuck.orderId, {
      kind: 'stuck',
      cause: 'bearing is not in store',
      whoFrees: 'Ruvi, money',
    });
    open.stuck = stuck.orderId;
    const failed = await done('Ward fan');
    await read(failed.pointId, '95');
    open.failed = failed.orderId;
    const proved = await done('Steam trap');
    await read(proved.pointId, '60');
    open.proved = proved.orderId;
  }, 60_000);
  const VISITS: readonly { name: string; path: () => string; act?: (page: Page) => Promise<void> }[] = [
    { name: 'answers', path: () => '/answers' },
    {
      name: 'answers-other',
      path: () => '/answers',
      act: async (page) => {
        await page
          .getByRole('button', { name: /^Other answers/ })
          .first()
          .click();
        await page
          .getByRole('button', { name: /^Agree (for a day|otherwise)/ })
          .first()
          .click();
      },
    },
    { name: 'orders', path: () => '/orders' },
    { name: 'orders-overdue', path: () => '/orders?order=overdue' },
    { name: 'orders-ended', path: () => '/orders?which=ended' },
    ...['done', 'stuck', 'failed', 'proved'].map((name) => ({ name: `order-${name}`, path: () => `/orders/${open[name]}` })),
    {
      name: 'order-move',
      path: () => `/orders/${open.failed}`,
      act: (page) => page.getByRole('button', { name: 'Slot it' }).click(),
    },
    ...(
      [
        ['order-stuck-form', 'failed', 'It is stuck', 'Call it stuck'],
        ['order-close-form', 'done', /^Close unproved/, /^Close it unproved/],
        ['order-target-form', 'done', /^Target of the proof/, null],
      ] as const
    ).map(([name, which, key, give]) => ({
      name,
      path: () => `/orders/${open[which]}`,
      act: async (page: Page) => {
        await page.getByRole('button', { name: key }).click();
        if (give !== null) await page.getByRole('button', { name: give }).click();
      },
    })),
    {
      name: 'answers-same-as',
      path: () => '/answers',
      act: async (page) => {
        await page
          .getByRole('button', { name: /^Other answers/ })
          .first()
          .click();
        await page
          .getByRole('button', { name: /^Same as …/ })
          .first()
          .click();
        await page.getByRole('button', { name: 'It is the same fault' }).click();
      },
    },
    {
      name: 'more',
      path: () => '/orders?which=mine',
      act: async (page) => {
        const more = page.getByRole('navigation', { name: 'Places, at the bottom' }).getByRole('button');
        if (await more.isVisible()) await more.click();
      },
    },
    {
      name: 'asset-windows',
      path: () => `/assets/${world.ironer.id}`,
      act: (page) => page.getByText('last window that fits').first().waitFor(),
    },
  ];
  for (const [size, viewport] of [
    ['phone', PHONE],
    ['laptop', LAPTOP],
  ] as const) {
    test(`are free of accessibility findings and of sideways scroll (${size})`, { timeout: 120_000 }, async () => {
      const problems: string[] = [];
      const { page, context, errors } = await world.enter(world.people.planner, { viewport });
      for (const visit of VISITS) {
        await page.goto(visit.path());
        await page.locator('h1').first().waitFor();
        await page.waitForTimeout(350);
        await visit.act?.(page);
        await page.waitForTimeout(150);
        problems.push(...(await faultsAt(page, visit.name, viewport)));
      }
      expect([...problems, ...errors]).toEqual([]);
      await context.close();
    });
  }
});

test('a stop that is opened outside a walk says what is reported there, and without signal what keeping will do', {
  timeout: 60_000,
}, async () => {
  const reported = await finding('Condensate pump');
  const { roomId } = (await world.people.planner.call('getAsset', { params: { assetId: world.ironer.id } })).body.place;
  const fresh = await world.service.asset(world.people.planner, roomId, {
    tag: `R-${++made}`,
    name: 'Feed pump',
    points: [{ name: 'Housing', regreasingGateHours: 0 }],
  });
  const { page, context, errors } = await world.enter(world.people.technician);
  const type = async (assetId: string, pointId: string): Promise<void> => {
    await page.goto(`/stop/${assetId}/${pointId}`);
    const key = page.getByRole('button', { name: 'Seen, go on' });
    await Promise.race([key.waitFor(), page.getByRole('button', { name: /Could not read it/ }).waitFor()]);
    if (await key.isVisible()) await key.click();
    for (const text of ['91', '96', '25']) {
      if ((await page.locator('.entrykeys .main').count()) === 0) break;
      await page.keyboard.type(text);
      await page.locator('.entrykeys .main').click();
    }
  };
  await type(reported.assetId, reported.pointId);
  await page.getByText('Nothing to report twice.').waitFor();
  await shoot(page, 'stop-reported-phone');
  await type(fresh.id, fresh.pointIds[0]!);
  await page.getByText('Not reported yet.').waitFor();
  // Where nobody answers, nobody knows.
  await page.route('**/api/findings*', (route) => route.abort());
  await page.reload();
  await type(fresh.id, fresh.pointIds[0]!);
  await page.getByText('If it is reported already, the reading joins that report.').waitFor();
  expect(errors).toEqual([]);
  await context.close();
});

test('a manager sees an overdue order first once the clock has moved on', { timeout: 60_000 }, async () => {
  const { orderId } = await agreed('Boiler feed pump');
  await world.service.db.acrossTenants('a demo for this test', (db) =>
    db.$executeRaw(
      sql`UPDATE organisation SET is_demo = true WHERE organisation_id = ${world.people.planner.scope.organisationId}::uuid`,
    ),
  );
  const moved = await administrator.call('jumpClock', { body: { aheadMinutes: 60 * 24 * 12 } });
  expect(moved.status, JSON.stringify(moved.body)).toBe(200);
  expect((await orderOf(orderId)).overdueDays).toBeGreaterThan(0);
  const { page, context } = await world.enter(manager, { viewport: LAPTOP, touch: false });
  await page.getByRole('navigation', { name: 'Places', exact: true }).getByRole('link', { name: 'Orders' }).click();
  await page.getByRole('heading', { level: 1, name: /overdue/ }).waitFor();
  await page
    .getByRole('listitem', { name: /Boiler feed pump/ })
    .getByText(/\d+ days overdue, was due 30 April\./)
    .waitFor();
  await shoot(page, 'manager-overdue');
  await context.close();
});
