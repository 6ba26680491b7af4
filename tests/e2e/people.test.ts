/** People as an administrator and the invited meet them: invite, take up, second factor, key, letters; by keyboard, at two widths. */
import { createHmac } from 'node:crypto';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type Person, readingFact } from '../support/harness.ts';
import { faults } from './faults.ts';
import { LAPTOP, openWorld, PHONE, type World } from './world.ts';

let world: World;
let ada: Person;
beforeAll(async () => {
  world = await openWorld();
  const organisationId = world.people.planner.scope.organisationId;
  ada = await world.service.person(organisationId, ['administrator'], { name: 'Ada Lund' });
}, 120_000);
afterAll(() => world?.close());

/** The code of the moment, RFC 6238. */
function codeOf(secret: string): string {
  const bits = [...secret].map((sign) => 'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567'.indexOf(sign).toString(2).padStart(5, '0')).join('');
  const key = Buffer.from((bits.match(/.{8}/g) ?? []).map((byte) => Number.parseInt(byte, 2)));
  const counter = Buffer.alloc(8);
  counter.writeBigUInt64BE(BigInt(Math.floor(Date.now() / 30_000)));
  const hash = createHmac('sha1', key).update(counter).digest();
  return String((hash.readUInt32BE(hash.at(-1)! & 15) & 0x7fffffff) % 1_000_000).padStart(6, '0');
}

test('an administrator invites somebody, who takes it up on a phone and signs in', { timeout: 120_000 }, async () => {
  const { page, errors } = await world.enter(ada, { viewport: LAPTOP });
  await page.getByRole('link', { name: 'People' }).first().click();
  await page.getByRole('heading', { name: /people belong here/ }).waitFor();
  expect(await faults(page, 'people')).toEqual([]);
  await page.getByRole('button', { name: 'Invite somebody' }).press('Enter');
  await page.getByRole('textbox', { name: 'Name' }).fill('Kim Sorley');
  await page.getByLabel('E-mail').fill('kim.sorley@example.org');
  await page.getByRole('checkbox', { name: 'contractor' }).check();
  await page.getByLabel('Until the end of').fill('2026-12-31');
  expect(await faults(page, 'people-invite')).toEqual([]);
  await page.getByRole('button', { name: 'Invite', exact: true }).press('Enter');
  const link = (await page.locator('code.once').textContent())!;
  await page.getByText('Kim Sorley is invited.', { exact: false }).waitFor();

  const phone = await world.browser.newPage({ viewport: PHONE, baseURL: world.service.url });
  const { pathname, hash } = new URL(link);
  await phone.goto(`${pathname}${hash}`);
  await phone.getByRole('heading', { name: 'Quarrymill Estates invites you, Kim Sorley.' }).waitFor();
  expect(await faults(phone, 'invitation')).toEqual([]);
  await phone.getByLabel('New password').fill('short');
  await phone.getByRole('button', { name: 'Take up the invitation' }).click();
  await phone.getByText('at least 10 characters', { exact: false }).first().waitFor();
  await phone.getByLabel('New password').fill('a sentence to keep');
  await phone.getByRole('button', { name: 'Take up the invitation' }).click();
  await phone.getByRole('link', { name: 'Sign in as kim.sorley@example.org' }).click();
  await phone.getByLabel('E-mail').fill('kim.sorley@example.org');
  await phone.getByLabel('Password').fill('a sentence to keep');
  await phone.getByRole('button', { name: 'Sign in' }).click();
  await phone.getByRole('link', { name: 'My walk' }).first().waitFor();
  await phone.close();

  await page.reload();
  await page.getByRole('button', { name: 'Change Kim' }).click();
  await page.getByRole('button', { name: 'End the membership' }).click();
  await page.getByRole('button', { name: 'Yes, end it now' }).click();
  await page.getByText('No longer here: Kim Sorley', { exact: false }).waitFor();
  expect(errors).toEqual([]);
});

test('a second factor is set up and asked for; a key is shown once', { timeout: 120_000 }, async () => {
  const { page, errors } = await world.enter(ada, { viewport: LAPTOP });
  await page.goto('/me');
  await page.getByRole('heading', { name: /without a second factor/ }).waitFor();
  await page.getByLabel('At', { exact: true }).fill('07:30');
  await page.getByRole('button', { name: 'Save the letter' }).click();
  await page.getByText('Saved.').waitFor();
  expect(await faults(page, 'me')).toEqual([]);
  await page.getByLabel('Your password').fill('a password for tests');
  await page.getByRole('button', { name: 'Set it up' }).click();
  const secret = (await page.locator('code.once').first().textContent())!;
  expect(await faults(page, 'me-second')).toEqual([]);
  await page.getByLabel('3. The code').fill(codeOf(secret));
  await page.getByRole('button', { name: 'Use it from now on' }).click();
  await page.getByRole('heading', { name: /with a second factor/ }).waitFor();

  await page.goto('/people');
  await page.getByRole('button', { name: 'Make a key' }).click();
  await page.getByLabel('Name of the program').fill('Boiler bridge');
  await page.getByRole('checkbox', { name: 'hand in readings' }).check();
  await page.getByLabel('Until the end of').fill('2026-12-31');
  await page.getByRole('button', { name: 'Make the key' }).click();
  expect(await page.locator('code.once').textContent()).toMatch(/^hrk_/);
  await page.getByRole('button', { name: 'Withdraw Boiler bridge' }).click();
  await page.getByText('ended', { exact: false }).first().waitFor();
  await page.goto('/letters');
  await page.getByRole('heading', { name: /letter/i }).waitFor();
  expect(await faults(page, 'letters')).toEqual([]);

  const fresh = await world.browser.newPage({ viewport: PHONE, baseURL: world.service.url });
  await fresh.goto('/');
  await fresh.getByLabel('E-mail').fill(ada.email);
  await fresh.getByLabel('Password').fill('a password for tests');
  await fresh.getByRole('button', { name: 'Sign in' }).click();
  await fresh.getByLabel('Code').waitFor();
  expect(await faults(fresh, 'sign-in-code')).toEqual([]);
  await fresh.getByLabel('Code').fill('000000');
  await fresh.getByRole('button', { name: 'Sign in' }).click();
  await fresh.getByText('not the present one', { exact: false }).waitFor();
  await fresh.getByLabel('Code').fill(codeOf(secret));
  await fresh.getByRole('button', { name: 'Sign in' }).click();
  await fresh.getByRole('link', { name: 'Engine room' }).first().waitFor();
  await fresh.close();
  expect(errors).toEqual([]);
});

test('a forgotten password and a letter that is stopped, without signing in', { timeout: 60_000 }, async () => {
  const page = await world.browser.newPage({ viewport: PHONE, baseURL: world.service.url });
  await page.goto('/');
  await page.getByRole('link', { name: 'Forgotten the password?' }).click();
  await page.getByLabel('E-mail').fill(world.people.reader.email);
  expect(await faults(page, 'forgotten')).toEqual([]);
  await page.getByRole('button', { name: 'Send me a link' }).click();
  await page.getByRole('heading', { name: /a letter is on its way/ }).waitFor();
  const { token } = (await world.service.deps.accounts.makeRenewal(world.people.reader.email, world.service.clock.now()))!;
  await page.goto(`/new-password#${token}`);
  await page.getByLabel('New password').fill('a fresh sentence');
  expect(await faults(page, 'new-password')).toEqual([]);
  await page.getByRole('button', { name: 'Set it' }).click();
  await page.getByRole('heading', { name: 'Your new password is set.' }).waitFor();

  const { personId, scope } = world.people.reader;
  const stop = await world.service.deps.accounts.tokens.unsubscribe.make(
    { organisationId: scope.organisationId, personId },
    null,
  );
  await page.goto(`/unsubscribe/${stop}`);
  await page.getByRole('heading', { name: 'Stop the daily letters?' }).waitFor();
  expect(await faults(page, 'unsubscribe')).toEqual([]);
  await page.getByRole('button', { name: 'Stop them' }).click();
  await page.getByRole('heading', { name: 'No more daily letters from Quarrymill Estates.' }).waitFor();
  await page.close();
});

test('D60: a manager on a phone of 320 px loses nothing and scrolls in one direction only', { timeout: 90_000 }, async () => {
  const organisationId = world.people.planner.scope.organisationId;
  const ruth = await world.service.person(organisationId, ['manager'], { name: 'Ruth Castellan' });
  const { page, errors } = await world.enter(ruth, { viewport: { width: 320, height: 640 } });
  for (const path of ['/carry', '/orders', '/answers', '/due', '/register', '/me', `/assets/${world.ironer.id}`]) {
    await page.goto(path);
    await page.getByRole('heading', { level: 1 }).waitFor();
    await page.waitForTimeout(400);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    expect([path, wide]).toEqual([path, 0]);
  }
  expect(errors).toEqual([]);
});

test('an administrator looks into the engine room; a technician countersigns what a trainee read', {
  timeout: 90_000,
}, async () => {
  const organisationId = world.people.planner.scope.organisationId;
  const nele = await world.service.person(organisationId, ['administrator'], { name: 'Nele Brandt' });
  const room = await world.enter(nele, { viewport: LAPTOP });
  await room.page.goto('/engine-room');
  await room.page.getByText('answers', { exact: true }).first().waitFor();
  expect(await faults(room.page, 'engine-room')).toEqual([]);
  expect(room.errors).toEqual([]);

  const lena = await world.service.person(organisationId, ['trainee'], { name: 'Lena Vogt' });
  await lena.submit([readingFact(world.ironer.pointIds[0]!, '81')]);
  const { page, errors } = await world.enter(world.people.technician, { viewport: PHONE });
  await page.goto('/countersign');
  await page.getByRole('heading', { name: '1 reading of trainees to look at.' }).waitFor();
  expect(await faults(page, 'countersign')).toEqual([]);
  await page.getByRole('button', { name: /^Countersign B-IRO-01/ }).press('Enter');
  await page.getByRole('heading', { name: 'Every reading of a trainee is countersigned.' }).waitFor();
  expect(errors).toEqual([]);
});
