import { endMembership, endSessionsOf, setMembership } from '@heatround/services/identity';
import type { BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { factId, type Person, readingFact, TEST_NOW, TEST_PASSWORD } from '../support/harness.ts';
import { faults } from './faults.ts';
import { LAPTOP, openWorld, type World } from './world.ts';

let world: World;
let administrator: Person;
beforeAll(async () => {
  world = await openWorld();
  administrator = await world.service.person(world.people.planner.scope.organisationId, ['administrator']);
}, 120_000);
afterAll(() => world?.close());

/** Reads the fire pump without signal, so that the reading is only on this phone. */
async function readWithoutSignal(page: Page, context: BrowserContext, digits: string): Promise<void> {
  // The shell is on the phone before signal goes.
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
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
  expect(await faults(page, 'door-ended')).toEqual([]);
  // Without signal again nothing opens from what was kept.
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
  expect(await faults(desk.page, 'handed-over')).toEqual([]);
  // Turning away asks for the reason, and leaves everything where it was when it is not given.
  await desk.page.getByRole('button', { name: /Turn away/ }).click();
  await desk.page.getByRole('button', { name: 'Turn it away' }).click();
  await desk.page.getByText('A reason, such as').waitFor();
  expect(await faults(desk.page, 'handed-over-reason')).toEqual([]);
  await desk.page.getByRole('button', { name: 'Leave it waiting' }).click();
  await desk.page.getByRole('button', { name: /^Accept/ }).click();
  await desk.page.getByText('1 entry is recorded.').waitFor();
  await desk.page.getByRole('heading', { name: 'Nothing handed over waits for you.' }).waitFor();
  await desk.page.getByRole('button', { name: 'Show what was decided' }).click();
  await desk.page.getByText('Accepted by Jun Okafor').waitFor();
  expect(await faults(desk.page, 'handed-over-decided')).toEqual([]);
  expect(await readings()).toMatchObject([{ by: 'Maren Falk', value: 41 }]);
  await desk.page.goto('/answers');
  await desk.page.getByRole('heading', { level: 1 }).waitFor();
  await desk.page.waitForLoadState('networkidle');
  expect(await desk.page.getByRole('link', { name: /Handed over/ }).count()).toBe(0);
  expect(desk.errors).toEqual([]);
  await desk.context.close();
});

test('D51: entries of one person are accepted together; what cannot be recorded waits on with its reason', {
  timeout: 60_000,
}, async () => {
  const dev = await world.service.person(administrator.scope.organisationId, ['technician'], {
    name: 'Devendra Raghunathan-Albrecht',
  });
  const [{ token }] = (await dev.call('whoAmI')).body.handOver;
  const [first] = world.panel.pointIds as [string];
  const common = { takenAt: '2026-04-21T13:20:00Z', clock: { deviceAt: TEST_NOW, monotonicMs: 1, offsetMs: 0 } };
  const phases = Object.fromEntries(['L1', 'L2', 'L3'].map((name, i) => [name, { text: String(41 + i), unit: '°C' }]));
  const facts = [
    readingFact(first, '1', {
      ...common,
      inputs: phases,
      words: 'the window was misted over; wiped it and looked a second time',
    }),
    {
      kind: 'stop-answered',
      id: factId(),
      ...common,
      pointId: world.pumps[0]!.pointIds[0],
      answer: 'no-way-in',
      words: 'no key',
    },
    {
      kind: 'finding-reported',
      id: factId(),
      ...common,
      pointId: world.pumps[1]!.pointIds[0],
      grade: 'watch',
      words: 'it knocks when it starts',
    },
    { kind: 'round-taken', id: factId(), ...common, roundId: await world.roundOf(world.routes.rt1), packed: [] },
    readingFact(factId(), '55', common),
  ];
  await endMembership(world.service.deps, administrator.scope, dev.personId);
  const sent = await world.service.call('handOver', { body: { token, facts } });
  expect(sent.body.results.every(({ outcome }: { outcome: string }) => outcome === 'held')).toBe(true);
  const { page, context, errors } = await world.enter(world.people.planner, { viewport: LAPTOP });
  await page.getByRole('link', { name: 'Handed over 5' }).first().click();
  await page.getByText('No way in', { exact: true }).waitFor();
  await page.getByText('A place that is not in the register').waitFor();
  expect(await faults(page, 'handed-over-many')).toEqual([]);
  await page.getByRole('button', { name: /^Accept all 5/ }).click();
  await page.getByText('4 entries are recorded. 1 entry could not be recorded; the reason stands beside it.').waitFor();
  await page.getByText(/^Could not be recorded: There is no such point/).waitFor();
  await page.getByRole('button', { name: /^Turn away/ }).click();
  await page.getByLabel('Why it is turned away').fill('no such point; Dev does not remember where');
  await page.keyboard.press('Enter');
  await page.getByText('1 entry is turned away and kept with the reason.').waitFor();
  await page.getByRole('button', { name: 'Show what was decided' }).click();
  await page.getByText('no such point; Dev does not remember where').waitFor();
  expect(await faults(page, 'handed-over-turned-away')).toEqual([]);
  expect(errors).toEqual([]);
  await context.close();
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
  expect(await faults(page, 'door-ran-out')).toEqual([]);
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
  expect(await faults(page, 'membership-ended')).toEqual([]);
  await page.getByRole('button', { name: 'Seen' }).click();
  await page.getByText('Your access to Quarrymill Estates').waitFor({ state: 'detached' });
  await context.close();
});

test('D51: a role taken away while without signal: the entry goes to a planner, reading stays open', {
  timeout: 60_000,
}, async () => {
  const { organisationId } = administrator.scope;
  const ana = await world.service.person(organisationId, ['technician'], { name: 'Ana Sousa' });
  const { page, context } = await world.enter(ana);
  await readWithoutSignal(page, context, '44');
  await setMembership(world.service.deps, { organisationId, personId: ana.personId, name: 'Ana Sousa', roles: ['guest-reader'] });
  await context.setOffline(false);
  await page.goto('/register');
  await page.getByText('1 entry is safe on the server; a planner looks at it.').waitFor();
  await page.getByRole('link', { name: /Fire pump, diesel/ }).waitFor();
  expect((await stored(page)).facts).toBe(0);
  await context.close();
});

test('D51: after 14 days it can no longer be handed over without signing in, and still goes up signed in', {
  timeout: 60_000,
}, async () => {
  const iva = await world.service.person(administrator.scope.organisationId, ['technician'], { name: 'Iva Petrova' });
  const { page, context } = await world.enter(iva);
  await readWithoutSignal(page, context, '45');
  await context.clearCookies();
  world.service.clock.advance(14 * 86_400_000 + 1000);
  await context.setOffline(false);
  await page.getByRole('button', { name: 'Hand over without signing in' }).click();
  await page.getByText('More than 14 days have passed since the last contact').waitFor();
  await page.getByText('1 entry is only on this phone. Sign in and it goes up by itself.', { exact: true }).waitFor();
  expect(await page.getByRole('button', { name: 'Hand over without signing in' }).count()).toBe(0);
  expect((await stored(page)).facts).toBe(1);
  expect(await faults(page, 'door-too-late')).toEqual([]);
  await page.getByLabel('E-mail').fill(iva.email);
  await page.getByLabel('Password').fill(TEST_PASSWORD);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await expect.poll(async () => (await readings()).some(({ by, value }) => by === 'Iva Petrova' && value === 45)).toBe(true);
  await context.close();
});
