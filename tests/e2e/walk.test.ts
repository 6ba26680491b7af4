import type { Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { TEST_PASSWORD } from '../support/harness.ts';
import { LAPTOP, openWorld, type World } from './world.ts';

let world: World;
beforeAll(async () => {
  world = await openWorld();
}, 120_000);
afterAll(() => world?.close());

const seen = (page: Page): Promise<void> => page.getByRole('button', { name: 'Seen, go on' }).click();
const keys = async (page: Page, digits: string): Promise<void> => {
  for (const digit of digits) await page.getByRole('button', { name: digit === '.' ? 'decimal sign' : digit, exact: true }).tap();
};
const rowsOf = async (
  pointId: string,
): Promise<
  {
    value: number | null;
    grade: string | null;
    inputs: Record<string, { text: string }>;
    counts: boolean;
    corrects: string | null;
    takenAt: string;
    phoneVerdict: unknown;
  }[]
> =>
  (await world.people.planner.call('listReadings', { params: { pointId }, query: { pageSize: '100', all: 'true' } })).body
    .readings;

describe('a person at the stop', () => {
  test('finds an asset, reads by keyboard alone and sees the verdict at once', { timeout: 60_000 }, async () => {
    const { page, context, errors } = await world.enter(world.people.technician, { viewport: LAPTOP, touch: false });
    const [point] = world.ironer.pointIds as [string];
    await page.goto('/register');
    await page.getByLabel('Find').fill('ironer');
    await page.getByRole('heading', { name: '1 asset goes by “ironer”.' }).waitFor();
    await page.getByRole('link', { name: /Ironer main drive/ }).focus();
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: /gearbox bearing likely reaches 90/ }).waitFor();
    expect(await page.title()).toBe('B-IRO-01 Ironer main drive · Heatround');
    await page.getByRole('link', { name: 'Read point a' }).focus();
    await page.keyboard.press('Enter');
    await seen(page);
    await page.keyboard.type('87,5');
    await page.keyboard.press('Enter');
    await page.keyboard.type('96');
    await page.keyboard.press('Enter');
    await page.keyboard.type('31');
    const asked = Date.now();
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: /87\.5.°C at 96.% load; the Plan limit is 80/ }).waitFor();
    expect(Date.now() - asked).toBeLessThan(1500);
    expect(await page.locator('h1').evaluate((heading) => heading === document.activeElement)).toBe(true);
    // A key pressed twice keeps nothing that could not have been seen.
    await page.keyboard.press('Enter');
    expect((await rowsOf(point)).some((row) => row.inputs.value?.text === '87,5')).toBe(false);
    await page.waitForTimeout(400);
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: 'Could not read it' }).waitFor();
    await expect.poll(async () => (await rowsOf(point))[0]?.inputs.value?.text).toBe('87,5');
    const [row] = await rowsOf(point);
    expect(row).toMatchObject({ value: 87.5, grade: 'plan', phoneVerdict: null });
    // The organisation's clock stands at its own time; the device's is elsewhere, its offset known from the server.
    expect(Math.abs(Date.parse(row!.takenAt) - world.service.clock.now())).toBeLessThan(120_000);
    expect(errors).toEqual([]);
    await context.close();
  });

  test('reads several like parts by touch at 360 px and carries air and load over', { timeout: 60_000 }, async () => {
    const { page, context } = await world.enter(world.people.technician);
    await page.goto(`/stop/${world.panel.id}/${world.panel.pointIds[0]}`);
    await seen(page);
    await keys(page, '41');
    await page.getByRole('button', { name: 'Next: L2' }).tap();
    await keys(page, '52');
    await page.getByRole('button', { name: 'Next: L3' }).tap();
    await keys(page, '40.5');
    await page.getByRole('button', { name: 'Next: Load' }).tap();
    await keys(page, '98');
    await page.getByRole('button', { name: 'Confirm', exact: true }).tap();
    await page.getByRole('heading', { name: /over like parts \(L2\)/ }).waitFor();
    await page.getByText('like-for-like').first().waitFor();
    await page.waitForTimeout(400);
    await page.getByRole('button', { name: 'Keep it' }).tap();
    await page.getByText(/safe on the server/).waitFor();
    await page.goto(`/stop/${world.panel.id}/${world.panel.pointIds[0]}`);
    await page.getByText('carried over').waitFor();
    expect(await page.getByRole('button', { name: /^Load/ }).textContent()).toContain('98');
    expect(await page.getByRole('button', { name: /^L1/ }).textContent()).toContain('–');
    await context.close();
  });

  test('is asked once about an unlikely value, and can change it', { timeout: 60_000 }, async () => {
    const { page, context } = await world.enter(world.people.technician);
    await page.goto(`/stop/${world.ironer.id}/${world.ironer.pointIds[1]}`);
    await seen(page);
    await page.keyboard.type('14');
    await page.getByRole('button', { name: /Confirm 14/ }).tap();
    await page
      .getByRole('alertdialog')
      .getByText(/14.mm\/s\? The last was/)
      .waitFor();
    await page.getByRole('button', { name: 'Change' }).tap();
    await page.keyboard.type('1.4');
    await page.getByRole('button', { name: /Confirm 1\.4/ }).tap();
    await page.getByRole('heading', { name: /1\.40?.mm\/s/ }).waitFor();
    expect(await page.getByText('Fine', { exact: true }).first().isVisible()).toBe(true);
    await context.close();
  });

  test('answers in two taps that it could not be read, with the reason', { timeout: 60_000 }, async () => {
    const { page, context } = await world.enter(world.people.technician);
    const [, , frame] = world.ironer.pointIds as [string, string, string];
    await page.goto(`/stop/${world.ironer.id}/${frame}`);
    await seen(page);
    await page.getByRole('button', { name: 'Could not read it' }).tap();
    await page.getByRole('button', { name: /^Left out/ }).tap();
    await page
      .getByRole('alert')
      .getByText(/needs a reason/)
      .waitFor();
    await page.getByRole('button', { name: /^No way in/ }).tap();
    await expect
      .poll(async () => (await world.people.planner.call('listAnswers', { params: { pointId: frame } })).body.answers[0]?.answer)
      .toBe('no-way-in');
    await context.close();
  });

  test('at the worst grade sees the plate and never how to stop what protects lives', { timeout: 60_000 }, async () => {
    const { page, context } = await world.enter(world.people.technician);
    await page.goto(`/stop/${world.firePump.id}/${world.firePump.pointIds[0]}`);
    await page.getByRole('button', { name: 'Could not read it' }).waitFor();
    await page.keyboard.type('78');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Now: act at once, from a safe place.' }).waitFor();
    await page.getByText('Call, do not stop it: it protects lives.').waitFor();
    await context.close();
  });
});

describe('without signal', () => {
  test('a reading and typed digits survive a reload, and everything goes up after the reconnect', {
    timeout: 90_000,
  }, async () => {
    const { page, context } = await world.enter(world.people.technician);
    const [, gearbox] = world.ironer.pointIds as [string, string];
    await page.goto(`/assets/${world.ironer.id}`);
    await page.getByRole('link', { name: 'Read point a' }).waitFor();
    await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
    await expect
      .poll(() => page.evaluate(async () => (await (await caches.open('heatround-shell')).keys()).length))
      .toBeGreaterThan(8);
    const before = (await rowsOf(gearbox)).length;
    await context.setOffline(true);
    await page.goto(`/stop/${world.ironer.id}/${gearbox}`);
    await seen(page);
    await page.keyboard.type('1.3');
    await page.waitForTimeout(300);
    await page.reload();
    await page.getByText('no signal, all kept here').waitFor();
    await expect.poll(() => page.locator('.bigvalue').textContent()).toContain('1.3');
    await page.keyboard.type('7');
    await page.getByRole('button', { name: /Confirm 1\.37/ }).tap();
    await page.getByRole('heading', { name: /1\.37.mm\/s/ }).waitFor();
    await page.waitForTimeout(400);
    await page.getByRole('button', { name: /^Keep it/ }).tap();
    await page.getByText('no signal, 1 reading kept here').waitFor();
    await page.goto('/hand-in');
    await page.reload();
    await page.getByRole('heading', { name: '1 entry is only on this phone.' }).waitFor();
    await page.getByText(/B-IRO-01 b, 1\.37.mm\/s/).waitFor();
    expect((await rowsOf(gearbox)).length).toBe(before);
    await context.setOffline(false);
    await page
      .getByText(/safe on the server \d\d:\d\d/)
      .first()
      .waitFor();
    const after = await rowsOf(gearbox);
    expect(after.length).toBe(before + 1);
    expect(after.find((row) => row.value === 1.37)).toMatchObject({ phoneVerdict: null });
    await page.getByRole('heading', { name: /Everything is safe on the server/ }).waitFor();
    await context.close();
  });

  test('a network page that answers in the place of the service is noticed, and nothing is lost', {
    timeout: 60_000,
  }, async () => {
    const { page, context } = await world.enter(world.people.technician);
    const [, gearbox] = world.ironer.pointIds as [string, string];
    await page.goto(`/stop/${world.ironer.id}/${gearbox}`);
    await seen(page);
    await context.route('**/api/**', (route) =>
      route.fulfill({ status: 200, contentType: 'text/html', body: '<h1>Welcome to the guest network</h1>' }),
    );
    await page.keyboard.type('1.29');
    await page.getByRole('button', { name: /Confirm 1\.29/ }).tap();
    await page.waitForTimeout(400);
    await page.getByRole('button', { name: /^Keep it/ }).tap();
    await page.getByText('no signal, 1 reading kept here').waitFor();
    await context.unroute('**/api/**');
    await expect.poll(async () => (await rowsOf(gearbox)).some((row) => row.value === 1.29), { timeout: 20_000 }).toBe(true);
    await context.close();
  });
});

describe('what is only on this phone', () => {
  test('a refused entry stays, with its reason, until the person lets it go', { timeout: 60_000 }, async () => {
    const { page, context } = await world.enter(world.people.technician);
    const [, gearbox] = world.ironer.pointIds as [string, string];
    await context.route('**/api/submissions', async (route) => {
      const sent = route.request().postDataJSON() as { facts: { id: string }[] };
      const problem = { code: 'not-found', detail: 'There is no such point in this organisation.', errors: [] };
      const results = sent.facts.map(({ id }) => ({ id, outcome: 'refused', verdict: null, notice: null, problem }));
      await route.fulfill({ json: { receivedAt: '2026-04-23T07:00:00Z', results } });
    });
    await page.goto(`/stop/${world.ironer.id}/${gearbox}`);
    await seen(page);
    await page.keyboard.type('1.317');
    await page.getByRole('button', { name: /Confirm 1\.317/ }).tap();
    await page.waitForTimeout(400);
    await page.getByRole('button', { name: /^Keep it/ }).tap();
    await page.getByText('1 not taken, kept here').waitFor();
    await page.goto('/hand-in');
    await page.getByText('There is no such point in this organisation.').waitFor();
    await page.reload();
    await page.getByText(/B-IRO-01 b, 1\.32/).waitFor();
    await context.unroute('**/api/submissions');
    await page.getByRole('button', { name: 'Send again' }).tap();
    await page.getByRole('heading', { name: /Everything is safe on the server/ }).waitFor();
    expect((await rowsOf(gearbox)).filter((row) => row.inputs.value?.text === '1.317')).toHaveLength(1);
    await context.close();
  });

  test('on a shared phone nobody meets the unsent readings of another, and they go up when their owner is back', {
    timeout: 90_000,
  }, async () => {
    const { page, context } = await world.enter(world.people.technician);
    const [, gearbox] = world.ironer.pointIds as [string, string];
    await context.route('**/api/submissions', (route) => route.abort());
    await page.goto(`/stop/${world.ironer.id}/${gearbox}`);
    await seen(page);
    await page.keyboard.type('1.33');
    await page.getByRole('button', { name: /Confirm 1\.33/ }).tap();
    await page.waitForTimeout(400);
    await page.getByRole('button', { name: /^Keep it/ }).tap();
    await page.getByText(/1 reading (kept here|only on this phone)/).waitFor();
    await page.goto('/hand-in');
    const leave = async (name: string, isUnsent: boolean): Promise<void> => {
      await page.locator('summary', { hasText: name }).first().tap();
      await page.getByRole('button', { name: 'Sign out' }).tap();
      if (isUnsent) {
        await page.getByLabel(/Type yes to sign out/).fill('yes');
        await page.getByRole('button', { name: 'Sign out' }).tap();
      }
      await page.getByLabel('E-mail').waitFor();
    };
    const enter = async (email: string): Promise<void> => {
      await page.getByLabel('E-mail').fill(email);
      await page.getByLabel('Password').fill(TEST_PASSWORD);
      await page.getByRole('button', { name: 'Sign in' }).tap();
      await page.getByRole('heading', { level: 1 }).waitFor();
    };
    await leave('Maren', true);
    await context.unroute('**/api/submissions');
    await enter(world.people.planner.email);
    await page.getByRole('heading', { name: /^Nothing waits here/ }).waitFor();
    expect(await page.getByText(/1\.33/).count()).toBe(0);
    await leave('Jun', false);
    await enter(world.people.technician.email);
    await expect.poll(async () => (await rowsOf(gearbox)).some((row) => row.value === 1.33)).toBe(true);
    await context.close();
  });
});

describe('a planner', () => {
  let page: Page;
  let close: () => Promise<void>;
  beforeEach(async () => {
    const entered = await world.enter(world.people.planner, { viewport: LAPTOP });
    page = entered.page;
    close = () => entered.context.close();
    return close;
  });

  test('sees at the field why limits are refused, and the new version as a step afterwards', { timeout: 60_000 }, async () => {
    await page.goto(`/assets/${world.firePump.id}`);
    await page.getByRole('button', { name: 'Change limits of point a' }).click();
    await page.getByLabel('Soon', { exact: true }).fill('55');
    await page.getByRole('button', { name: 'Set these limits' }).click();
    await page.getByText(/Soon must lie above Plan/).waitFor();
    await page.getByText(/Say in plain words why/).waitFor();
    expect(await page.getByLabel('Soon', { exact: true }).getAttribute('aria-invalid')).toBe('true');
    await page.getByLabel('Soon', { exact: true }).fill('70,5');
    await page.getByLabel('Why these figures are right here').fill('New packing, as the maker says.');
    await page.getByRole('button', { name: 'Set these limits' }).click();
    await page
      .getByText(/Soon 70\.5/)
      .first()
      .waitFor();
    await page.getByText(/Version 2 by Jun Okafor/).waitFor();
  });

  test('corrects a reading; the first one stays and no longer counts', { timeout: 60_000 }, async () => {
    const [, , frame] = world.ironer.pointIds as [string, string, string];
    const wrong = (await rowsOf(frame)).find((row) => row.counts)!;
    await page.goto(`/assets/${world.ironer.id}?point=c`);
    await page
      .getByRole('link', { name: /^Correct the reading/ })
      .first()
      .click();
    await seen(page);
    await page.getByText(/Corrects the reading of/).waitFor();
    // The form starts from what was typed, load and air with it; only the value is typed anew.
    await page.keyboard.type('44.5');
    await page.keyboard.press('Enter');
    await page.waitForTimeout(400);
    await page.getByRole('button', { name: 'Keep the correction' }).click();
    await expect.poll(async () => (await rowsOf(frame)).find((row) => row.corrects !== null)?.inputs.value?.text).toBe('44.5');
    const rows = await rowsOf(frame);
    expect(rows.find((row) => row.corrects !== null)!.takenAt).toBe(wrong.takenAt);
    expect(rows.filter((row) => row.takenAt === wrong.takenAt && row.counts)).toHaveLength(1);
  });

  test('records work, which shows beside the readings', { timeout: 60_000 }, async () => {
    await page.goto(`/assets/${world.firePump.id}`);
    await page.getByRole('button', { name: 'Record work' }).click();
    await page.getByLabel('What was done').selectOption('adjusted');
    await page.getByLabel('Words').fill('gland packing eased');
    await page.getByRole('button', { name: 'Record adjusted' }).click();
    await page
      .getByText(/gland packing eased/)
      .first()
      .waitFor();
  });

  test('adds an asset from a template in a new room', { timeout: 60_000 }, async () => {
    await page.goto('/new-asset');
    await page.getByLabel('Template').selectOption({ index: 1 });
    await page.getByLabel('Tag').fill('B-IRO-01');
    await page.getByLabel('Name', { exact: true }).fill('Second ironer');
    await page.getByLabel('Room').selectOption('new');
    await page.getByLabel('Name of the room').fill('Laundry hall');
    await page.getByLabel('Why this criticality').fill('one of two');
    await page.getByRole('button', { name: 'Add B-IRO-01' }).click();
    await page.getByRole('alert').waitFor();
    expect(await page.getByLabel('Tag').getAttribute('aria-invalid')).toBe('true');
    await page.getByLabel('Tag').fill('B-IRO-02');
    await page.getByRole('button', { name: 'Add B-IRO-02' }).click();
    await page.getByText('Laundry hall').first().waitFor();
    await page.getByRole('heading', { name: /has not been read yet/ }).waitFor();
  });

  test('brings in a file through the screen: columns named, bad rows shown, the rest brought in, also after a reload', {
    timeout: 120_000,
  }, async () => {
    const rows = [
      'Machine;Date;Temp;Amps %',
      'B-IRO-01;01.02.2026;61,5;97',
      'B-IRO-01;08.02.2026;61,9;96',
      'B-IRO-01;15.02.2026;warm;95',
      'B-IRO-09;15.02.2026;50,1;95',
    ];
    await page.goto('/bring-in');
    await page.getByLabel('Or paste rows here').fill(rows.join('\n'));
    await page.getByRole('button', { name: 'Read the file' }).click();
    await page.getByRole('heading', { name: '4 rows are here. Say what each column means.' }).waitFor();
    await page.reload();
    await page.getByRole('heading', { name: /Say what each column means/ }).waitFor();
    await page.getByLabel(/^Tag of the asset/).selectOption('Machine');
    await page.getByLabel(/^Letter of the point, for every row/).fill('a');
    await page
      .getByLabel(/^Date and time/)
      .first()
      .selectOption('Date');
    await page.getByLabel(/^Hour for dates without one, for every row/).fill('08:00');
    await page
      .getByLabel(/^Value/)
      .first()
      .selectOption('Temp');
    await page.getByLabel(/^Unit of the value, for every row/).fill('°C');
    await page.getByLabel(/^Load/).first().selectOption('Amps %');
    await page.getByRole('button', { name: 'Try all 4 rows' }).click();
    await page.getByRole('heading', { name: '2 rows can be brought in, 2 rows cannot.' }).waitFor({ timeout: 30_000 });
    await page.getByRole('cell', { name: 'warm' }).waitFor();
    await page.reload();
    await page.getByRole('button', { name: 'Bring in 2 rows, without the other 2' }).click();
    await page.getByRole('heading', { name: /Brought in: 2 rows are in Heatround now/ }).waitFor({ timeout: 30_000 });
    expect(
      (await rowsOf(world.ironer.pointIds[0]!)).filter((row) => ['61,5', '61,9'].includes(row.inputs.value!.text)),
    ).toHaveLength(2);
  });

  test('draws 5,000 readings within a second', { timeout: 120_000 }, async () => {
    const { readingFact } = await import('../support/harness.ts');
    const many = await world.service.asset(world.people.planner, await roomOf(), {
      tag: 'X-OLD-01',
      name: 'Old pump',
      points: [{ name: 'Bearing' }],
    });
    const start = Date.parse('2016-05-01T08:00:00Z');
    for (let part = 0; part < 10; part++) {
      const facts = Array.from({ length: 500 }, (_, index) => {
        const at = part * 500 + index;
        return readingFact(many.pointIds[0]!, (50 + (at % 37) / 5).toFixed(1), {
          takenAt: new Date(start + at * 17 * 3_600_000).toISOString(),
        });
      });
      await world.people.technician.submit(facts);
    }
    await page.goto(`/assets/${many.id}`);
    await page.getByRole('button', { name: 'All', exact: true }).click();
    await page.getByText('of 5,000').waitFor({ timeout: 30_000 });
    // The reading of the rows is done: choosing another paper and coming back draws everything again.
    const took = await page.evaluate(async () => {
      const figure = document.querySelector('.behind svg')!;
      const before = performance.now();
      (figure.parentElement!.parentElement as HTMLElement).style.width = '430px';
      await new Promise<void>((done) => {
        const watch = new MutationObserver(() => requestAnimationFrame(() => done()));
        watch.observe(figure, { attributes: true });
      });
      return performance.now() - before;
    });
    expect(took).toBeLessThan(1000);
  });
  const roomOf = async (): Promise<string> =>
    (await world.people.planner.call('listSites')).body.sites[0].buildings[0].rooms[0].id;
});

test('a contractor sees whose house it is and goes to the other with one tap; nothing of the first one shows there', {
  timeout: 60_000,
}, async () => {
  const { page, context } = await world.enter(world.people.contractor);
  const band = page.getByRole('region', { name: 'Organisation' });
  const first = await band.textContent();
  await band.getByRole('button', { name: /^Go to/ }).tap();
  await expect.poll(() => band.textContent()).not.toBe(first);
  await band.getByText('Quarrymill Estates').first().waitFor();
  const atQuarrymill = (await band.textContent())?.startsWith('Quarrymill');
  await page.goto('/register');
  if (atQuarrymill) await page.getByText('Ironer main drive').waitFor();
  await band.getByRole('button', { name: /^Go to/ }).tap();
  await page.waitForTimeout(200);
  await page.goto('/register');
  const other = (await band.textContent())?.startsWith('Lowbarrow');
  if (other) {
    await page.getByRole('heading', { name: 'There is no asset in the register yet.' }).waitFor();
    expect(await page.getByText('Ironer main drive').count()).toBe(0);
    // An address of the other house leads nowhere.
    await page.goto(`/assets/${world.ironer.id}`);
    await page.getByRole('heading', { name: 'There is no such asset in this organisation.' }).waitFor();
  }
  await context.close();
});

test('somebody who may only look gets no keys to read, change or bring in', { timeout: 60_000 }, async () => {
  const { page, context } = await world.enter(world.people.reader, { viewport: LAPTOP });
  expect(await page.getByRole('link', { name: 'Bring in' }).count()).toBe(0);
  await page.goto(`/assets/${world.ironer.id}`);
  await page
    .getByText(/reaches 90/)
    .first()
    .waitFor();
  expect(await page.getByRole('link', { name: /^Read point/ }).count()).toBe(0);
  expect(await page.getByRole('button', { name: /Record work|Change/ }).count()).toBe(0);
  await context.close();
});
