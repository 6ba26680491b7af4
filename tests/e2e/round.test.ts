import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { factId, TEST_NOW } from '../support/harness.ts';
import { shoot } from './faults.ts';
import { LAPTOP, openWorld, type World } from './world.ts';

let world: World;
let rt5: string;
let rt1: string;
beforeAll(async () => {
  world = await openWorld();
  rt5 = await world.roundOf(world.routes.rt5);
  rt1 = await world.roundOf(world.routes.rt1);
}, 120_000);
afterAll(() => world?.close());

const packed = async (page: Page): Promise<void> => {
  await page.goto('/walk');
  await page.getByText('Everything for this walk is on the phone.').waitFor({ timeout: 15_000 });
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await expect
    .poll(() => page.evaluate(async () => (await (await caches.open('heatround-shell')).keys()).length), { timeout: 15_000 })
    .toBeGreaterThan(30);
};
const seen = async (page: Page): Promise<void> => {
  const key = page.getByRole('button', { name: 'Seen, go on' });
  await Promise.race([key.waitFor(), page.getByRole('button', { name: 'Could not read it' }).waitFor()]);
  if (await key.isVisible()) await key.click();
};
const enter = async (page: Page, ...texts: string[]): Promise<void> => {
  await seen(page);
  for (const text of texts) {
    await page.keyboard.type(text);
    await page.keyboard.press('Enter');
  }
  await page.getByRole('button', { name: /^Keep it/ }).waitFor();
  await page.waitForTimeout(400);
};
const keep = (page: Page): Promise<void> => page.getByRole('button', { name: /^Keep it/ }).tap();
const at = (page: Page, tag: string): Promise<void> => page.locator('.tag', { hasText: tag }).first().waitFor();
const stamped = () => ({ id: factId(), takenAt: TEST_NOW, clock: { deviceAt: TEST_NOW, monotonicMs: 1, offsetMs: 0 } });
const roundOnServer = async (id: string) => (await world.people.planner.call('getRound', { params: { roundId: id } })).body;

describe('a round', () => {
  test('is taken, walked and handed in without signal, with reloads in between, and goes up when signal is back', {
    timeout: 180_000,
  }, async () => {
    const { page, context, errors } = await world.enter(world.people.technician);
    await packed(page);
    await page.getByRole('heading', { name: '11 stops to walk' }).waitFor();
    await page.getByText('Key 7, engine house', { exact: false }).or(page.getByText('key 7, engine house')).first().waitFor();
    await context.setOffline(true);
    await page.reload();
    await page.getByRole('button', { name: 'Take RT5' }).tap();
    // Three like parts and the load; the next stop appears by itself.
    await at(page, 'E-LVP-02');
    await seen(page);
    await page.getByRole('img', { name: /Stop 1 of 5/ }).waitFor();
    await enter(page, '41', '42', '40.5', '98');
    await keep(page);
    await at(page, 'E-FPS-02');
    await seen(page);
    await page.keyboard.type('5');
    await page.waitForTimeout(250);
    await page.reload();
    await at(page, 'E-FPS-02');
    await expect.poll(() => page.locator('.bigvalue').textContent()).toContain('5');
    await page.keyboard.type('2');
    await page.keyboard.press('Enter');
    await page.getByText('Watch', { exact: true }).first().waitFor();
    await page.waitForTimeout(400);
    await keep(page);
    // Read by keyboard, put right on the spot, read again: the second reading is the one after.
    await at(page, 'B-IRO-01 a');
    await enter(page, '87', '96', '31');
    await page.getByText('Not reported yet.').or(page.getByText('Nothing to report twice.')).first().waitFor();
    await page.getByRole('button', { name: 'Put right on the spot' }).tap();
    await page.getByRole('button', { name: 'Cleaned' }).tap();
    await page.getByLabel('What you found').fill('lint on the cap');
    await page.getByRole('button', { name: 'Kept, now read again' }).tap();
    await page.getByText(/Read it again now/).waitFor();
    await enter(page, '69');
    await keep(page);
    // Vibration is something else; air and load of the frame come from the stop before.
    await at(page, 'B-IRO-01 b');
    await seen(page);
    await page.getByRole('button', { name: 'Could not read it' }).tap();
    await page.getByRole('button', { name: 'Saw something else' }).tap();
    await page.getByLabel('Words').fill('oil under the gearbox');
    await page.getByRole('button', { name: /^Watch/ }).tap();
    await page.getByRole('button', { name: 'Report it' }).tap();
    await page.getByText(/Reported\. It goes to the planner/).waitFor();
    await page.getByRole('button', { name: 'Could not read it' }).tap();
    await page.getByRole('button', { name: /^Instrument trouble/ }).tap();
    await at(page, 'B-IRO-01 c');
    await page
      .getByText(/carried over, \d\d:\d\d/)
      .first()
      .waitFor();
    await enter(page, '45');
    await keep(page);
    await page.getByRole('heading', { name: '5 of 5 answered.' }).waitFor();
    await page.getByText('oil under the gearbox (Ironer main drive)').waitFor();
    await page.getByText(/^5 answers are still only on this phone\. They go when/).waitFor();
    await page.reload();
    await page.getByRole('button', { name: 'Hand in RT5' }).tap();
    await page.getByRole('heading', { name: /Handed in, \d\d:\d\d/ }).waitFor();
    await page.getByText(/still only on this phone/).waitFor();
    expect((await roundOnServer(rt5)).answered).toBe(0);
    await context.setOffline(false);
    await page.getByText(/^5 answers safe on the server/).waitFor({ timeout: 20_000 });
    await expect.poll(async () => (await roundOnServer(rt5)).state).toBe('handed-in');
    const round = await roundOnServer(rt5);
    expect(round.stopLines.map((stop: { state: string }) => stop.state)).toEqual([
      'read',
      'read',
      'read',
      'instrument-trouble',
      'read',
    ]);
    await shoot(page, 'round-in');
    await page.getByRole('link', { name: 'Back to My walk' }).tap();
    await page.getByRole('heading', { name: '6 stops to walk' }).waitFor();
    await page.getByText(/RT5 Water and heat/).waitFor();
    expect(errors).toEqual([]);
    await context.close();
  });

  test('one answer covers a machine; the half-walked rest is given to a named person', {
    timeout: 120_000,
  }, async () => {
    const [, , frame] = world.ironer.pointIds as [string, string, string];
    const hours = (ahead: number): string => new Date(world.service.clock.now() + ahead * 3_600_000).toISOString();
    const asked = { walkerId: world.people.technician.personId, earliestAt: hours(-1), latestAt: hours(6), note: 'still warm?' };
    expect((await world.people.planner.call('askForStop', { params: { pointId: frame }, body: asked })).status).toBe(201);
    const { page, context } = await world.enter(world.people.technician);
    await packed(page);
    await page.getByRole('button', { name: 'Take RT1 and the ironer main drive' }).tap();
    await at(page, 'B-PMP-01 a');
    await enter(page, '51', '22');
    await keep(page);
    await at(page, 'B-PMP-01 b');
    await page.getByText(/carried over, \d\d:\d\d/).waitFor();
    await enter(page, '47');
    await keep(page);
    await at(page, 'B-PMP-02 a');
    await page.getByRole('button', { name: 'Could not read it' }).tap();
    await page.getByLabel('For all stops of this machine, 1 more').check();
    await page.getByRole('button', { name: /^Not running/ }).tap();
    await at(page, 'B-PMP-03 a');
    // Out of the walk and in again, by way of the list of stops.
    await page.getByRole('link', { name: /My walk/ }).tap();
    await page.getByText('4 of 7 answered').waitFor();
    await page.locator('.sec', { hasText: 'RT1' }).getByRole('link', { name: 'Engine house, Pump room' }).tap();
    await page.getByRole('heading', { name: 'RT1: 4 of 7 answered, 3 to read.' }).waitFor();
    await page.getByRole('link', { name: 'Hand in or give the rest' }).tap();
    // Each answer once, though the service names them and this phone sent them.
    await page.getByText(/^4 answers safe on the server/).waitFor();
    expect(await page.locator('.where .num').allTextContents()).toEqual(['Server', 'Phone', '4', '0']);
    await shoot(page, 'round-half');
    await page.getByRole('button', { name: 'Hand in', exact: true }).tap();
    await page.getByRole('heading', { name: /Hand in with 3 open stops\?/ }).waitFor();
    await page.getByRole('button', { name: 'Give the rest to somebody' }).tap();
    await page.getByLabel('Words, if somebody should know').fill('Pump 3 is behind the scaffold.');
    await page.getByLabel('Who walks the rest').selectOption({ label: 'Davi Moraes' });
    await page.getByRole('button', { name: 'Give RT1 away' }).tap();
    await page.getByText(/Davi Moraes has the rest/).waitFor();
    expect(await page.getByRole('button', { name: /RT1/ }).count()).toBe(0);
    await expect.poll(async () => (await roundOnServer(rt1)).walker?.name).toBe('Davi Moraes');
    // Later on, too, when the round is no longer Maren's to walk.
    await page.reload();
    await page.getByRole('heading', { name: /^Nothing to walk today\. RT\d comes / }).waitFor();
    await page.getByText(/Davi Moraes has the rest/).waitFor();
    await shoot(page, 'round-given');
    await context.close();

    const other = await world.enter(world.people.contractor);
    await other.page.goto('/walk');
    const key = other.page.getByRole('button', { name: /^(Take|Go on with) RT1/ });
    if ((await key.count()) === 0) {
      const band = other.page.getByRole('region', { name: 'Organisation' });
      await band.getByText('Lowbarrow Baths').first().waitFor();
      if ((await band.textContent())?.startsWith('Lowbarrow')) await band.getByRole('button', { name: /^Go to/ }).tap();
    }
    await key.waitFor({ timeout: 15_000 });
    await other.page.getByText('4 of 7 answered').waitFor();
    await other.page.getByText('Half-walked: Maren Falk gave the rest.').waitFor();
    await other.page.getByText('Pump 3 is behind the scaffold.').waitFor();
    await key.tap();
    await at(other.page, 'B-PMP-03 a');
    await other.page.getByRole('button', { name: 'Could not read it' }).tap();
    await other.page.getByLabel(/For all stops of this machine/).check();
    await other.page.getByRole('button', { name: /^No way in/ }).tap();
    // The stop that was asked of Maren came along.
    await at(other.page, 'B-IRO-01 c');
    await seen(other.page);
    await other.page.getByText('Jun asks:').waitFor();
    await other.page.getByRole('button', { name: 'Could not read it' }).tap();
    await other.page.getByRole('button', { name: /^Not running/ }).tap();
    await other.page.getByRole('heading', { name: '7 of 7 answered.' }).waitFor();
    await other.page.getByRole('heading', { name: 'What was found' }).waitFor();
    await other.page.getByText('Maren Falk answered 4, you 3.').waitFor();
    await other.page.getByRole('button', { name: 'Hand in RT1' }).tap();
    await other.page.getByRole('heading', { name: /Handed in, \d\d:\d\d/ }).waitFor();
    await shoot(other.page, 'round-other-in');
    await expect.poll(async () => (await roundOnServer(rt1)).state).toBe('handed-in');
    await other.context.close();
  });
});

describe('a planner', () => {
  test('makes a route by the first Monday of a month, orders its stops by keys and sees its next dates', {
    timeout: 90_000,
  }, async () => {
    const { page, context, errors } = await world.enter(world.people.planner, { viewport: LAPTOP });
    await page.goto('/routes/new');
    await page.getByLabel('Short name').fill('RT9');
    await page.getByLabel('Name', { exact: true }).fill('Battery room');
    await page.getByLabel('How often').selectOption('month-day');
    await page.getByLabel('Weekday').selectOption({ label: 'Monday' });
    await page.getByText('Every month on the first Monday.').waitFor();
    await expect.poll(() => page.locator('.nextfive li').count()).toBe(5);
    await expect.poll(() => page.locator('.nextfive li').first().textContent()).toMatch(/Mon 4 May, 08:00/);
    await page.getByLabel('Add the points of').fill('B-PMP-03');
    await page.getByRole('button', { name: /^Add 2 points/ }).click();
    await page.getByRole('heading', { name: '2 stops in walking order' }).waitFor();
    await page.getByRole('button', { name: 'Down with B-PMP-03 a' }).focus();
    await page.keyboard.press('Enter');
    await page.getByText('B-PMP-03 a is stop 2 of 2 now.').waitFor();
    await page.getByRole('button', { name: 'Save this route' }).click();
    await page.getByRole('link', { name: 'RT9 Battery room' }).waitFor();
    await page.getByText(/Every month on the first Monday, 08:00/).waitFor();
    expect(errors).toEqual([]);
    await context.close();
  });

  test('names a shutdown window, calls a coming round off with its reason, and looks over what was handed in', {
    timeout: 90_000,
  }, async () => {
    const { page, context } = await world.enter(world.people.planner, { viewport: LAPTOP });
    await page.goto('/windows');
    await page.getByLabel('Name').fill('Laundry shutdown');
    await page.getByLabel('From', { exact: true }).fill('2026-05-02T06:00');
    await page.getByLabel('To', { exact: true }).fill('2026-05-02T12:00');
    await page.getByRole('button', { name: 'Save this window' }).click();
    await page.getByRole('heading', { name: '1 shutdown window ahead, the next on Sat 2 May.' }).waitFor();
    await page.getByText('Sat 2 May, 06:00 to 12:00').waitFor();
    await page.goto('/due?whose=all');
    await page.locator('.duerow', { hasText: 'Coming' }).getByRole('link', { name: /RT5/ }).first().click();
    await page.getByRole('button', { name: 'Call this round off' }).click();
    await page.getByLabel('Why').fill('hall closed for the refit');
    await page.getByRole('button', { name: 'Call it off' }).click();
    await page.getByText(/Called off by Jun Okafor.*hall closed for the refit/).waitFor();
    const taken = await world.people.technician.submit([{ kind: 'round-handed-in', ...stamped(), roundId: rt5 }]);
    expect(taken.status).toBe(200);
    await page.goto(`/round/${rt5}`);
    await page.getByRole('button', { name: 'Looked over' }).click();
    await page.getByText(/Looked over by Jun Okafor/).waitFor();
    await context.close();
  });
});
