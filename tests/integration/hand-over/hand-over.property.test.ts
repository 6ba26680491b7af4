/**
 * Facts that came part by the list and part by the normal way, in any order, with late duplicates by either, give the same facts
 * and conclusions as those handed in straight (real PostgreSQL).
 */
import { sql } from '@heatround/platform/database';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, type Harness, type Person, readingFact, startService } from '../../support/harness.ts';
import { accept, handOver, tokenOf, waitingFor } from './handing-over.ts';

describe('D51: what was accepted', () => {
  let service: Harness;
  let somebody: Person | undefined;
  beforeAll(async () => {
    service = await startService();
  });
  afterAll(() => service?.close());

  const ids = { asset: factId(), points: [factId(), factId()], limits: [factId(), factId()] };
  async function newPlace(): Promise<Person> {
    const { id, roomId } = await service.organisation();
    somebody ??= await service.person(id, ['planner', 'technician']);
    const person = await service.join(somebody, id, ['planner', 'technician']);
    await service.asset(person, roomId, {
      id: ids.asset,
      points: ids.points.map((point, i) => ({ id: point, letter: 'ab'[i]!, limits: [{ id: ids.limits[i]! }] })),
    });
    return person;
  }
  async function stateOf(person: Person) {
    await service.concludeAll();
    return service.db.inTenant(person.scope, async ({ db }) => ({
      facts: await db.$queryRaw(
        sql`SELECT id, kind, asset_id, point_id, taken_at, corrects_id, submitted_by, content - 'phoneVerdict' AS content, encode(content_hash, 'hex') AS hash, reading FROM fact ORDER BY id`,
      ),
      counted: await db.$queryRaw(sql`SELECT id FROM counted_reading ORDER BY id`),
      others: await db.$queryRaw(
        sql`SELECT fact_id, encode(content_hash, 'hex') AS hash FROM fact_conflict ORDER BY fact_id, content_hash`,
      ),
      conclusions: await db.$queryRaw(sql`SELECT point_id, grade, content FROM conclusion ORDER BY point_id`),
      waiting: await db.$queryRaw(sql`SELECT id FROM handed_over WHERE state <> 'accepted'`),
    }));
  }
  const day = (n: number) => new Date(Date.parse('2026-01-05T08:00:00Z') + n * 86_400_000).toISOString();

  it('stands as if it had been handed in straight, whatever came by the list and what came twice', async () => {
    const plan = fc.array(
      fc.record({
        point: fc.constantFrom(...ids.points),
        day: fc.integer({ min: 0, max: 90 }),
        value: fc.double({ min: 40, max: 110, noNaN: true }),
        kind: fc.constantFrom('reading', 'reading', 'twin', 'correction', 'answer', 'ahead'),
        way: fc.constantFrom('list', 'list', 'straight', 'both', 'list twice'),
        isAcceptedAtOnce: fc.boolean(),
      }),
      { minLength: 2, maxLength: 14 },
    );
    await fc.assert(
      fc.asyncProperty(plan, async (steps) => {
        const sent: { facts: unknown[]; way: string; isAcceptedAtOnce: boolean }[] = steps.map((step) => {
          const at = { takenAt: step.kind === 'ahead' ? day(step.day + 400) : day(step.day) };
          const one = readingFact(step.point, String(step.value), at);
          const facts: unknown[] = [one];
          if (step.kind === 'twin') facts.push({ ...readingFact(step.point, String(step.value + 1), at), id: one.id });
          if (step.kind === 'correction')
            facts.push(readingFact(step.point, String(step.value - 5), { ...at, corrects: one.id }));
          if (step.kind === 'answer')
            facts[0] = {
              kind: 'stop-answered',
              id: one.id,
              takenAt: one.takenAt,
              clock: one.clock,
              pointId: step.point,
              answer: 'unsafe',
            };
          return { facts, way: step.way, isAcceptedAtOnce: step.isAcceptedAtOnce };
        });
        const straight = await newPlace();
        await straight.submit(sent.flatMap(({ facts }) => facts));
        const mixed = await newPlace();
        const token = await tokenOf(mixed);
        const acceptAll = async () => {
          const waiting = (await waitingFor(mixed)).map(({ id }: { id: string }) => id);
          if (waiting.length > 0) expect((await accept(mixed, waiting)).status).toBe(200);
        };
        for (const { facts, way, isAcceptedAtOnce } of sent) {
          if (way === 'straight' || way === 'both') await mixed.submit(facts);
          if (way !== 'straight') expect((await handOver(service, token, [...facts].reverse())).status).toBe(200);
          if (way === 'list twice') await handOver(service, token, facts);
          if (isAcceptedAtOnce) await acceptAll();
        }
        // Late ones, by the normal way, before and after the rest is accepted.
        await mixed.submit(sent.slice(0, 2).flatMap(({ facts }) => facts));
        await acceptAll();
        await mixed.submit(sent.flatMap(({ facts }) => facts).reverse());
        expect(await stateOf(mixed)).toEqual(await stateOf(straight));
      }),
      { numRuns: 20, endOnFailure: false },
    );
  }, 120_000);
});
