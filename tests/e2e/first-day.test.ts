/**
 * The first day: an empty installation, its first administrator, a list of machines with faults in it, a route, a technician and their
 * first round, through the screens alone.
 */
import { inviteFirst } from '@heatround/services/people';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import writeWorkbook from 'write-excel-file/node';
import type { Harness } from '../support/harness.ts';
import { faults } from './faults.ts';
import { LAPTOP, openBrowser, openService, PHONE } from './world.ts';

let service: Harness;
let browser: Browser;
beforeAll(async () => {
  service = await openService();
  browser = await openBrowser();
}, 120_000);
afterAll(async () => {
  await browser?.close();
  await service?.close();
});

const HEAD =
  'site zone building room tag name template criticality criticalityReason letter pointName quantity unit watch plan soon now source reason serviced';
const ROOMS = 10;

/** Twenty machines below a title and a blank line, so that the first of them stands in row 4; limits of every second in °F. */
async function register(change: (cells: Record<string, string>, number: number) => void): Promise<Buffer> {
  const names = HEAD.split(' ');
  const rows = Array.from({ length: 20 }, (_, index) => {
    const cells: Record<string, string> = {
      ...{ site: 'Tannery', zone: 'Europe/Dublin', building: 'Drum house', room: index < ROOMS ? 'Left bay' : 'Right bay' },
      ...{ tag: `TR-${String(index + 1).padStart(2, '0')}`, name: `Drum drive ${index + 1}`, template: '' },
      ...{ criticality: 'B', criticalityReason: 'one of many', letter: 'a', pointName: 'Bearing', quantity: 'temperature' },
      ...{ source: 'common practice', reason: 'Grease ages fast above it.', serviced: '46000' },
      ...(index % 2 === 0
        ? { unit: '°C', watch: '70,5', plan: '80', soon: '90', now: '100' }
        : { unit: '°F', watch: '158,9', plan: '176', soon: '194', now: '212' }),
    };
    change(cells, index + 1);
    return names.map((name) =>
      name === 'room' && index % ROOMS !== 0 ? null : { value: cells[name]!, ...(name === 'room' ? { rowSpan: ROOMS } : {}) },
    );
  });
  const blank = names.map(() => null);
  const title = [{ value: 'Machines, as of spring', columnSpan: names.length }, ...blank.slice(1)];
  return writeWorkbook([{ sheet: 'Machines', data: [title, blank, names.map((value) => ({ value })), ...rows] }]).toBuffer();
}

async function bringIn(page: Page, buffer: Buffer): Promise<void> {
  const mimeType = 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet';
  await page.getByLabel('File').setInputFiles({ name: 'machines.xlsx', mimeType, buffer });
  await page.getByRole('button', { name: 'Read the file' }).click();
  await page.getByText('Not brought in, since nothing below takes it yet: serviced.').waitFor();
  await page.getByRole('button', { name: 'Try all 20 rows' }).click();
}

async function takeUp(page: Page, link: string, email: string): Promise<void> {
  await page.goto(link);
  await page.getByLabel('New password').fill('a sentence to keep');
  await page.getByRole('button', { name: 'Take up the invitation' }).click();
  await page.getByRole('link', { name: `Sign in as ${email}` }).click();
  await page.getByLabel('E-mail').fill(email);
  await page.getByLabel('Password').fill('a sentence to keep');
  await page.getByRole('button', { name: 'Sign in' }).click();
}

test('from an empty installation to the first round handed in', { timeout: 240_000 }, async () => {
  const first = { organisation: 'Tannery Row', administrator: 'ina@example.org' };
  const token = await inviteFirst(service.deps, first);
  const view = { baseURL: service.url, locale: 'en-GB', timezoneId: 'Europe/Dublin' };
  const errors: string[] = [];
  const listen = (page: Page): Page => page.on('pageerror', (error) => errors.push(String(error)));
  const page = listen(await browser.newPage({ ...view, viewport: LAPTOP }));
  await takeUp(page, `/invitation#${token}`, first.administrator);

  // The first screen says where to begin.
  await page.getByRole('heading', { name: 'To begin' }).waitFor();
  expect(await faults(page, 'first-day-begin')).toEqual([]);
  await page.getByRole('link', { name: 'Bring in your list of machines' }).click();
  await page.getByRole('heading', { name: /^Bring in what you have/ }).waitFor();
  expect(await page.getByRole('radio', { name: /^Assets/ }).isChecked()).toBe(true);

  // Faults are named by the row that the spreadsheet shows; what stays out is counted with what belongs to it.
  const faulty = await register((cells, number) => {
    if (number === 3) cells.criticality = 'D';
    if (number === 8) cells.tag = 'tr-07';
    if (number === 12) cells.watch = '15o';
  });
  await bringIn(page, faulty);
  await page.getByRole('heading', { name: '16 rows can be brought in, 4 rows cannot.' }).waitFor();
  expect(await page.locator('.badrows td[data-head=Row]').allTextContents()).toEqual(['6', '11', '11', '15']);
  await page.getByText('1 row without a fault belongs to the same assets as these and waits with them.').waitFor();
  await page.getByText('2 rooms made').waitFor();
  expect(await faults(page, 'first-day-faults')).toEqual([]);
  await page.getByRole('link', { name: 'Another file' }).click();
  await page.getByRole('heading', { name: /^Bring in what you have/ }).waitFor();
  expect(await page.getByRole('radio', { name: /^Assets/ }).isChecked()).toBe(true);
  await bringIn(page, await register(() => undefined));
  await page
    .getByText(/Watch 70\.5.°C/)
    .first()
    .waitFor();
  await page.getByRole('button', { name: 'Bring in 20 rows' }).click();
  await page.getByRole('heading', { name: 'Brought in: 20 rows are in Heatround now.' }).waitFor({ timeout: 30_000 });

  // A route of ten stops, their keys pressed faster than the answers come.
  await page.getByRole('link', { name: 'Rounds', exact: true }).click();
  await page.getByRole('link', { name: 'New route' }).click();
  await page.getByLabel('Short name').fill('R1');
  await page.getByLabel('Name', { exact: true }).fill('Drums, left bay');
  await page.getByRole('checkbox', { name: 'Tuesday' }).uncheck();
  await page.getByRole('checkbox', { name: 'Thursday' }).check();
  await page.getByLabel('Add the points of').fill('left bay');
  await page.getByRole('button', { name: 'Add 1 point of TR-10' }).waitFor();
  await page.evaluate(() => {
    for (const key of document.querySelectorAll<HTMLButtonElement>('.addlist button')) key.click();
  });
  await page.getByRole('heading', { name: '10 stops in walking order' }).waitFor();
  expect(await page.getByRole('button', { name: /^On the route/ }).count()).toBe(10);
  const tags = await page.locator('.stopsedit .stopwhat b').allTextContents();
  expect(tags.map((text) => text.trim())).toEqual(
    Array.from({ length: 10 }, (_, index) => `TR-${String(index + 1).padStart(2, '0')} a`),
  );
  expect(await faults(page, 'first-day-route')).toEqual([]);
  await page.getByRole('button', { name: 'Save this route' }).click();
  await page.getByRole('heading', { name: '1 route with 10 stops.' }).waitFor();

  await page.getByRole('link', { name: 'People', exact: true }).click();
  await page.getByRole('button', { name: 'Invite somebody' }).click();
  await page.getByRole('textbox', { name: 'Name' }).fill('Kim Sorley');
  await page.getByLabel('E-mail').fill('kim@example.org');
  await page.getByRole('button', { name: 'Invite', exact: true }).click();
  const { pathname, hash } = new URL((await page.locator('code.once').textContent())!);

  const phone = listen(await browser.newPage({ ...view, viewport: PHONE, hasTouch: true, isMobile: true }));
  await takeUp(phone, `${pathname}${hash}`, 'kim@example.org');
  await phone.getByRole('heading', { name: '10 stops to walk' }).waitFor();
  await phone.getByRole('link', { name: 'Due' }).tap();
  await phone.getByRole('heading', { name: 'Nothing is due in your name within 14 days.' }).waitFor();
  await phone.getByRole('link', { name: 'My walk' }).tap();
  await phone.getByRole('button', { name: 'Take R1' }).tap();
  for (let stop = 1; stop <= 10; stop++) {
    await phone.getByRole('button', { name: 'Could not read it' }).waitFor();
    await phone.keyboard.type('61');
    await phone.keyboard.press('Enter');
    await phone.keyboard.type('90');
    await phone.keyboard.press('Enter');
    if (stop === 1) {
      // Air is asked for; the key pressed on the empty field says so.
      await phone.keyboard.press('Enter');
      await phone.getByRole('alert').getByText('Air is still empty: type it, or go on without air.').waitFor();
      await phone.keyboard.type('21');
      await phone.keyboard.press('Enter');
    }
    const keep = phone.getByRole('button', { name: stop < 10 ? 'Keep it, next stop' : 'Keep it, then hand in' });
    await keep.waitFor();
    await phone.waitForTimeout(400);
    await keep.tap();
    await keep.waitFor({ state: 'detached' });
  }
  await phone.getByRole('heading', { name: '10 of 10 answered.' }).waitFor();
  await phone.getByText(/10 answers safe on the server/).waitFor();
  await phone.getByRole('button', { name: 'Hand in R1' }).tap();
  await phone.getByRole('heading', { name: /Handed in, \d\d:\d\d/ }).waitFor();

  await page.goto('/rounds');
  await page.getByText('handed in, 10 of 10').waitFor();
  expect(errors).toEqual([]);
});
