import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { faults } from './faults.ts';
import { LAPTOP, openWorld, PHONE, type World } from './world.ts';

let world: World;
beforeAll(async () => {
  world = await openWorld();
}, 120_000);
afterAll(() => world?.close());

const seen = async (page: Page): Promise<void> => {
  const key = page.getByRole('button', { name: 'Seen, go on' });
  await Promise.race([key.waitFor(), page.getByRole('button', { name: /Could not read it/ }).waitFor()]);
  if (await key.isVisible()) await key.click();
};
/** What a finger could not reach at once: outside the screen, covered by something else, or lower than 56 px. */
const unreachable = (page: Page): Promise<string[]> =>
  page.evaluate(() =>
    [...document.querySelectorAll<HTMLElement>('.part, .moreparts button, .digit, .entrykeys .key')].flatMap((one) => {
      const box = one.getBoundingClientRect();
      const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
      const words = one.textContent.replaceAll('\n', ' ');
      if (box.top < 0 || box.bottom > innerHeight || box.right > innerWidth) return [`${words}: outside`];
      if (top === null || !(one === top || one.contains(top))) return [`${words}: covered`];
      return one.matches('.moreparts button') || box.height >= 55.5 ? [] : [`${words}: ${box.height} px high`];
    }),
  );

test('at a stop of several values every one of them and what may be added stays beside the digits, on small phones too', async () => {
  const { page, context } = await world.enter(world.people.technician, { viewport: { width: 360, height: 740 } });
  for (const [assetId, pointId] of [
    [world.panel.id, world.panel.pointIds[0]],
    [world.ironer.id, world.ironer.pointIds[0]],
  ]) {
    await page.goto(`/stop/${assetId}/${pointId}`);
    await seen(page);
    for (const [width, height] of [
      [360, 740],
      [360, 640],
      [320, 568],
    ] as const) {
      await page.setViewportSize({ width, height });
      await page.waitForTimeout(150);
      expect(await unreachable(page), `${width} × ${height}`).toEqual([]);
    }
  }
  await context.close();
});

test('the line of a stop is solid only where something was read', async () => {
  const { page, context } = await world.enter(world.people.technician, { viewport: LAPTOP });
  await page.goto(`/stop/${world.ironer.id}/${world.ironer.pointIds[1]}`);
  await seen(page);
  const line = page.locator('.walkline');
  await line.waitFor();
  expect(await line.locator('path[stroke-dasharray]').count()).toBe(2);
  const ring = await line.locator('.here circle').first().boundingBox();
  expect(Math.abs((ring?.width ?? 0) - (ring?.height ?? 9))).toBeLessThan(1);
  await context.close();
});

test('what a reading says stands beside the old grade until the service has it', async () => {
  const { page, context } = await world.enter(world.people.technician);
  await page.goto('/register');
  await page.getByRole('link', { name: /Fire pump/ }).waitFor();
  await page.goto(`/assets/${world.firePump.id}`);
  await page.locator('.pt').waitFor();
  await page.goto(`/stop/${world.firePump.id}/${world.firePump.pointIds[0]}`);
  await seen(page);
  await page.route('**/api/submissions', (route) => route.abort());
  await page.keyboard.type('95');
  await page.locator('.entrykeys .main').click();
  await page.waitForTimeout(450);
  await page.getByRole('button', { name: /^Keep it/ }).click();
  await page.locator('.herenow').waitFor();
  expect(await page.locator('.herenow').textContent()).toMatch(/Now\s*only on this phone/);
  await page.goto('/register');
  const row = page.getByRole('link', { name: /Fire pump/ });
  await row.getByText('only on this phone').waitFor();
  expect(await page.locator('h1').textContent()).toContain('E-FPS-02 at Now, only on this phone.');
  await page.unroute('**/api/submissions');
  await page.goto('/register');
  await page.waitForFunction(() => document.querySelector('.onlyhere') === null, undefined, { timeout: 20_000 });
  await context.close();
});

test('a history is brought in: the field that is wrong is marked, a room is made on the way, the result leads to the point', {
  timeout: 60_000,
}, async () => {
  const { page, context, errors } = await world.enter(world.people.planner, { viewport: LAPTOP });
  await page.goto('/bring-in');
  const rows = Array.from({ length: 40 }, (_, index) => {
    const day = new Date(Date.UTC(2013, 11, 2 + Math.floor(index / 2), index % 2 === 0 ? 8 : 16));
    return `N-BRG-01,a,${day.toISOString().slice(0, 16).replace('T', ' ')},${60 + index / 10},95`;
  });
  await page.getByLabel('Or paste rows here').fill(['tag,letter,time,degC,max_T', ...rows].join('\n'));
  await page.getByRole('button', { name: 'Read the file' }).click();
  await page.getByRole('heading', { name: /Say what each column means/ }).waitFor();
  await page.getByLabel(/Make the assets and points that are missing/).check();
  await page.locator('#map-value').selectOption('');
  await page.getByRole('button', { name: /^Try all/ }).click();
  await page.locator('#map-value[aria-invalid]').waitFor();
  await page.locator('#map-value').selectOption('degC');
  await page.locator('#map-limit').selectOption('max_T');
  expect(await page.getByLabel('The limit comes from').inputValue()).toBe('max_T');
  await page.getByLabel('Unit of the value, for every row').fill('°C');
  await page.getByLabel('Room', { exact: true }).selectOption({ label: 'A new room' });
  await page.getByLabel('Name of the room').fill('Annex');
  await page.getByRole('button', { name: 'Make this room now' }).click();
  await expect.poll(() => page.getByLabel('Room', { exact: true }).locator('option:checked').textContent()).toBe('Annex');
  await page.getByRole('button', { name: /^Try all/ }).click();
  await page.getByRole('button', { name: /^Bring in 40 rows/ }).click({ timeout: 20_000 });
  await page.getByRole('heading', { name: /^Brought in/ }).waitFor({ timeout: 20_000 });
  expect(await page.locator('.bringin').textContent()).toMatch(/1 asset made\s*1 point made/);
  await page.getByRole('link', { name: /N-BRG-01 a/ }).click();
  await page.getByText('not read since 21 Dec 2013').waitFor({ timeout: 20_000 });
  // Two readings of one day are told apart, and the year is another one than the present.
  expect(await page.locator('.rt tbody tr').first().textContent()).toMatch(/21 Dec 2013\s+16:00/);
  expect(errors).toEqual([]);
  await context.close();
});

test('limits are tried on the history before they are saved', { timeout: 90_000 }, async () => {
  for (const viewport of [PHONE, LAPTOP]) {
    const { page, context, errors } = await world.enter(world.people.planner, { viewport });
    await page.goto(`/assets/${world.ironer.id}?point=b`);
    await page.getByRole('button', { name: 'Change limits of point b' }).click();
    await page.getByLabel('Watch', { exact: true }).fill('1,0');
    await page.getByLabel('Plan', { exact: true }).fill('1,2');
    await page.getByRole('button', { name: 'Try on the history' }).click();
    await page.getByText(/of \d+ readings would have another grade/).waitFor();
    await page.getByRole('img', { name: /^With these figures: .*Plan \d/ }).waitFor();
    // Another figure: what was shown is no longer true of the form.
    await page.getByLabel('Plan', { exact: true }).fill('x');
    expect(await page.locator('.trial').count()).toBe(0);
    await page.getByRole('button', { name: 'Try on the history' }).click();
    await page.getByText('One of the figures is no number').waitFor();
    await page.getByLabel('Plan', { exact: true }).fill('9');
    await page.getByRole('button', { name: 'Try on the history' }).click();
    await page.getByText('cannot stand as they are; nothing was tried').waitFor();
    expect(errors).toEqual([]);
    await context.close();
  }
});

test('the emissivity of a point is chosen by its surface, and says how well a reading would be known', async () => {
  const { page, context, errors } = await world.enter(world.people.planner, { viewport: PHONE });
  await page.goto(`/assets/${world.ironer.id}?point=a`);
  await page.getByRole('button', { name: 'Change point a' }).click();
  const surface = page.getByLabel('Or by its surface');
  await surface.selectOption({ label: 'steel, oxidised, 100 °C: 0.74' });
  expect(await page.getByLabel('Emissivity', { exact: true }).inputValue()).toBe('0.74');
  const words = page.getByText(/is known to ±/);
  const known = async (): Promise<number> => Number(/±([\d.]+)/.exec((await words.textContent()) ?? '')?.[1]);
  const reduced = await known();
  await surface.selectOption({ label: 'black vinyl tape, 8 to 14 µm: 0.96' });
  expect(await known()).toBeLessThan(reduced);
  await surface.selectOption({ label: 'copper, polished: bare, needs tape or paint' });
  await page.getByText('nothing is judged from it').waitFor();
  expect(await page.getByLabel('Emissivity', { exact: true }).inputValue()).toBe('');
  // Back at the first line of the table: what stands in the field stays.
  await page.getByLabel('Emissivity', { exact: true }).fill('0.9');
  await surface.selectOption({ label: 'choose from the table' });
  expect(await page.getByLabel('Emissivity', { exact: true }).inputValue()).toBe('0.9');
  expect(errors).toEqual([]);
  await context.close();
});

test('a limit figure that is cleared is asked about once', async () => {
  const { page, context } = await world.enter(world.people.planner, { viewport: LAPTOP });
  await page.goto(`/assets/${world.ironer.id}?point=b`);
  await page.getByRole('button', { name: 'Change limits of point b' }).click();
  await page.getByLabel('Watch', { exact: true }).fill('');
  await page.getByLabel('Why these figures are right here').fill('Watched by the walk anyhow.');
  await page.getByRole('button', { name: 'Set these limits' }).click();
  await page.getByText('Watch 1.8 will be gone.').waitFor();
  await page.getByRole('button', { name: 'Set these limits' }).click();
  await page.getByText('Plan 2.8, Soon 4.5, Now 7.1').waitFor();
  await context.close();
});

test('what is due is shown for a person, for a site and for all, and the address keeps which', { timeout: 90_000 }, async () => {
  const made = await world.people.planner.call('createSite', { body: { name: 'Weir', zone: 'Europe/Dublin' } });
  expect(made.status, JSON.stringify(made.body)).toBe(201);
  const { page, context, errors } = await world.enter(world.people.planner, { viewport: { width: 360, height: 740 } });
  await page.goto('/due');
  await page.getByRole('link', { name: /^RT5/ }).first().waitFor();
  expect(await page.getByLabel('Whose').locator('option').allTextContents()).toEqual([
    'All',
    'Mine',
    'Davi Moraes',
    'Maren Falk',
  ]);
  await page.getByLabel('Whose').selectOption({ label: 'Maren Falk' });
  await page.getByRole('heading', { level: 1, name: /^Maren Falk: / }).waitFor();
  await page.getByRole('link', { name: /^RT1/ }).first().waitFor();
  expect(await page.getByRole('link', { name: /^RT5/ }).count()).toBe(0);
  await page.reload();
  await page.getByRole('heading', { level: 1, name: /^Maren Falk: / }).waitFor();
  expect(await page.getByLabel('Whose').evaluate((one) => (one as HTMLSelectElement).selectedOptions[0]?.label)).toBe(
    'Maren Falk',
  );
  expect(await faults(page, 'due-person')).toEqual([]);

  // By keyboard: a choice leaves the focus where it was made.
  await page.getByLabel('Site').focus();
  await page.keyboard.press('End');
  await page
    .getByRole('heading', { level: 1, name: 'Nothing is due in the name of Maren Falk at Weir within 14 days.' })
    .waitFor();
  expect(await page.getByLabel('Site').evaluate((one) => one === document.activeElement)).toBe(true);
  expect(new URL(page.url()).search).toBe(`?site=${made.body.id}&person=${world.people.technician.scope.personId}`);
  await page.getByRole('link', { name: 'See all that is due at Weir' }).tap();
  await page.getByRole('heading', { level: 1, name: 'Nothing is due at Weir within 14 days.' }).waitFor();
  expect(await faults(page, 'due-none')).toEqual([]);
  await page.getByRole('link', { name: 'See what is due at all sites' }).tap();
  await page.getByRole('link', { name: /^RT5/ }).first().waitFor();
  expect(new URL(page.url()).search).toBe('');
  expect(errors).toEqual([]);
  await context.close();
});
