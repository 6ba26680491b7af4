import { afterAll, beforeAll, expect, test } from 'vitest';
import { shoot } from './faults.ts';
import { openWorld, type World } from './world.ts';

let world: World;
beforeAll(async () => {
  world = await openWorld();
}, 120_000);
afterAll(() => world?.close());

test('a proof stop and an extra stop stand in My walk, say at the stop what is asked, and what the reading proves', {
  timeout: 90_000,
}, async () => {
  const { planner, technician } = world.people;
  const [bearing] = world.ironer.pointIds as [string];
  const { findings } = (await planner.call('listFindings', { query: { pointId: bearing } })).body;
  const answer = { kind: 'agree', ownerId: technician.personId };
  const agreed = await planner.call('answerFinding', { params: { findingId: findings[0].id }, body: { answer } });
  expect(agreed.status).toBe(200);
  const move = async (given: object): Promise<void> => {
    const moved = await planner.call('moveOrder', { params: { orderId: agreed.body.orderId }, body: { move: given } });
    expect(moved.body.detail ?? moved.status).toBe(200);
  };
  const now = world.service.clock.now();
  const iso = (ahead: number): string => new Date(now + ahead).toISOString();
  await move({ kind: 'slot', windowId: null, from: iso(60_000), to: iso(3_600_000) });
  await move({ kind: 'start' });
  await move({ kind: 'finish', found: 'grease gone hard', did: 'cap cleaned, fan freed', work: 'cleaned' });
  const asked = await planner.call('askForStop', {
    params: { pointId: world.pumps[0]!.pointIds[0]! },
    body: { earliestAt: iso(-3_600_000), latestAt: iso(6 * 3_600_000), note: 'still humming?' },
  });
  expect(asked.status).toBe(201);

  const { page, context } = await world.enter(technician, { viewport: { width: 360, height: 740 } });
  await page.goto('/walk');
  await page.getByText(/Ironer main drive, proof/).waitFor();
  await page.getByText(/Sump pump 1, today\. Jun: still humming\?/).waitFor();
  await page.getByText('Everything for this walk is on the phone.').waitFor({ timeout: 15_000 });
  // The repair is theirs, and said so.
  const repair = page.locator('.sec', { hasText: 'Your repairs' });
  await repair.getByText(/B-IRO-01 a\. Done, prove it\./).waitFor();
  expect(await repair.getByRole('link').getAttribute('href')).toBe(`/orders/${agreed.body.orderId}`);
  await shoot(page, 'proof-walk');
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await expect
    .poll(() => page.evaluate(async () => (await (await caches.open('heatround-shell')).keys()).length), { timeout: 15_000 })
    .toBeGreaterThan(30);

  const rt5 = await world.roundOf(world.routes.rt5);
  // What the proof is judged by lies on the phone with the walk.
  await context.setOffline(true);
  await page.goto(`/stop/${world.ironer.id}/${bearing}?walk=${rt5}`);
  await page.getByRole('button', { name: 'Seen, go on' }).tap();
  const told = page.locator('.asked1');
  await told.getByText(/Proof stop, order \d+:/).waitFor();
  expect(await told.textContent()).toMatch(/below 70.*Before: 8\d\.\d/);
  const [words, keys] = await Promise.all([told.boundingBox(), page.locator('.foot').boundingBox()]);
  expect(words!.y + words!.height).toBeLessThan(keys!.y);
  await shoot(page, 'proof-stop', false);
  const type = async (...texts: string[]): Promise<void> => {
    for (const text of texts) {
      await page.keyboard.type(text);
      await page.keyboard.press('Enter');
    }
  };
  await type('75', '96', '31');
  await page.getByText(/^This does not prove order \d+; it goes back to Agreed\.$/).waitFor();
  await shoot(page, 'proof-fails', false);
  await page.getByRole('button', { name: 'Read again' }).tap();
  await type('52');
  await page.getByText(/^This proves order \d+: below 70/).waitFor();
  expect(await page.getByText('Nothing to report twice').count()).toBe(0);
  await shoot(page, 'proof-proves', false);
  // On its own, the extra stop is walked with the first round.
  await page.goto(`/stop/${world.pumps[0]!.id}/${world.pumps[0]!.pointIds[0]}?walk=${rt5}`);
  await page.getByText('Jun asks:').waitFor();
  await shoot(page, 'proof-asked', false);
  await context.setOffline(false);
  // Not on a walk, from the page of the asset.
  await page.goto(`/stop/${world.ironer.id}/${bearing}`);
  await page.getByText(/^Waits for its proof, order \d+:/).waitFor();
  await context.close();
});
