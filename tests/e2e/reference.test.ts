/** The API reference in a real browser: readable at both widths, complete, without a script. */
import { type EndpointDescription, endpoints } from '@heatround/contract';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { faults } from './faults.ts';
import { LAPTOP, openWorld, PHONE, type World } from './world.ts';

let world: World;
beforeAll(async () => {
  world = await openWorld();
}, 120_000);
afterAll(() => world?.close());

test('names every call with who may, its parts and its answers, and passes axe at 360 and 1280 px', {
  timeout: 240_000,
}, async () => {
  const context = await world.browser.newContext({ viewport: LAPTOP, baseURL: world.service.url });
  const page = await context.newPage();
  const errors: string[] = [];
  page.on('console', (message) => message.type() === 'error' && errors.push(message.text()));
  page.on('pageerror', (error) => errors.push(String(error)));
  await page.goto('/api/reference');
  const described = Object.values(endpoints) as EndpointDescription[];
  for (const { name, summary, access } of described) {
    const article = page.locator(`article#${name}`);
    expect(await article.count(), name).toBe(1);
    const text = (await article.textContent())!;
    expect(text, name).toContain(summary);
    if (access === 'edit-register') expect(text, name).toMatch(/Who: planner, administrator\./);
    if (access === 'public') expect(text, name).toContain('anybody, without signing in');
  }
  expect(await page.locator('article#submitFacts details').count()).toBe(2);
  // Every link on the page leads to a place on it.
  const lost = await page.evaluate(() =>
    [...document.querySelectorAll('a[href^="#"]')]
      .map((link) => link.getAttribute('href')!.slice(1))
      .filter((id) => document.getElementById(id) === null),
  );
  expect(lost).toEqual([]);
  expect(await page.evaluate(() => document.querySelectorAll('script, [style], style').length)).toBe(0);
  // By keyboard: a folded part opens.
  const summary = page.locator('article#createAsset summary').first();
  await summary.focus();
  await page.keyboard.press('Enter');
  await page.locator('article#createAsset').getByText('criticalityReason', { exact: true }).waitFor();
  // The whole page with everything unfolded is nowhere wider than the paper.
  await page.evaluate(() => {
    for (const one of document.querySelectorAll('details')) one.open = true;
  });
  for (const { width } of [PHONE, LAPTOP]) {
    await page.setViewportSize({ width, height: 900 });
    expect(await page.evaluate(() => document.documentElement.scrollWidth), `at ${width}`).toBeLessThanOrEqual(width);
  }
  // All calls are made alike: two of each area, one of them folded, are enough to look at closely.
  await page.evaluate(() => {
    for (const section of document.querySelectorAll('section'))
      for (const [i, article] of [...section.querySelectorAll('article')].entries()) {
        if (i > 1) article.remove();
        if (i === 0) for (const one of article.querySelectorAll('details')) one.open = false;
      }
    for (const link of document.querySelectorAll('main a[href^="#"]'))
      if (document.getElementById(link.getAttribute('href')!.slice(1)) === null) link.removeAttribute('href');
  });
  expect(await faults(page, 'reference')).toEqual([]);
  expect(errors).toEqual([]);
  await context.close();
});
