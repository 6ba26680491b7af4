import { afterAll, beforeAll, expect, test } from 'vitest';
import { openWorld, type World } from './world.ts';

let world: World;
beforeAll(async () => {
  world = await openWorld();
}, 120_000);
afterAll(() => world?.close());

test('a proof stop and an extra stop stand in My walk and say at the stop what is asked', { timeout: 90_000 }, async () => {
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
  await move({ kind: 'finish', found: 'grease gone hard', did: 'bearing changed', work: 'replaced' });
  const asked = await planner.call('askForStop', {
    params: { pointId: world.pumps[0]!.pointIds[0]! },
    body: { earliestAt: iso(-3_600_000), latestAt: iso(6 * 3_600_000), note: 'still humming?' },
  });
  expect(asked.status).toBe(201);

  const { page, context } = await world.enter(technician);
  await page.goto('/walk');
  await page.getByText(/Ironer main drive, proof/).waitFor();
  await page.getByText(/Sump pump 1, today\. Jun: still humming\?/).waitFor();
  await page.goto(`/stop/${world.ironer.id}/${bearing}?walk=${await world.roundOf(world.routes.rt5)}`);
  await page.getByRole('button', { name: 'Seen, go on' }).tap();
  const told = page.locator('.asked1');
  await told.getByText(/Proof stop, order \d+\./).waitFor();
  expect(await told.textContent()).toMatch(/Before: 8\d\.\d/);
  await context.close();
});
