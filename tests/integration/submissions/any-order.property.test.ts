/**
 * Any order, split or repetition of the same facts gives the same facts and the same current conclusions (real PostgreSQL).
 * Among the facts are corrections, work, answers, pairs of two contents under one id, and times ahead or long ago.
 */

import { sql } from '@heatround/platform/database';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, type Harness, type Person, readingFact, startService } from '../../support/harness.ts';

type AnyFact = Record<string, unknown> & { id: string };

describe('facts', () => {
  let service: Harness;
  let somebody: Person | undefined;
  beforeAll(async () => {
    service = await startService();
  });
  afterAll(() => service?.close());

  interface Place {
    planner: Person;
    assetId: string;
    pointIds: string[];
  }
  /** Ids are the same in every organisation, so that only the order of arrival differs. */
  async function newPlace(ids: { asset: string; points: string[]; limits: string[] }): Promise<Place> {
    const { id, roomId } = await service.organisation();
    somebody ??= await service.person(id, ['planner']);
    const planner = await service.join(somebody, id, ['planner']);
    await service.asset(planner, roomId, {
      id: ids.asset,
      points: ids.points.map((point, i) => ({ id: point, letter: 'ab'[i]!, limits: [{ id: ids.limits[i]! }] })),
    });
    return { planner, assetId: ids.asset, pointIds: ids.points };
  }

  /** What was stored and what follows from it, without the moments of receipt, which lie outside the promise. */
  async function stateOf({ planner }: Place) {
    await service.concludeAll();
    return service.db.inTenant(planner.scope, async ({ db }) => ({
      facts: await db.$queryRaw(
        sql`SELECT id, kind, asset_id, point_id, taken_at, corrects_id, content - 'phoneVerdict' AS content, encode(content_hash, 'hex') AS hash, reading FROM fact ORDER BY id`,
      ),
      counted: await db.$queryRaw(sql`SELECT id FROM counted_reading ORDER BY id`),
      others: await db.$queryRaw(
        sql`SELECT fact_id, encode(content_hash, 'hex') AS hash, content FROM fact_conflict ORDER BY fact_id, content_hash`,
      ),
      conclusions: await db.$queryRaw(sql`SELECT point_id, grade, content FROM conclusion ORDER BY point_id`),
      behind: await db.$queryRaw(sql`SELECT point_id FROM point_revision WHERE revision > concluded`),
    }));
  }

  const day = (n: number) => new Date(Date.parse('2026-01-05T08:00:00Z') + n * 86_400_000).toISOString();

  const history = (ids: { asset: string; points: string[] }) =>
    fc
      .array(
        fc.record({
          point: fc.constantFrom(...ids.points),
          day: fc.integer({ min: 0, max: 90 }),
          value: fc.integer({ min: 400, max: 1100 }),
          load: fc.integer({ min: 20, max: 115 }),
          kind: fc.constantFrom(
            'reading',
            'reading',
            'reading',
            'reading',
            'work',
            'answer',
            'twin',
            'correction',
            'ahead',
            'ancient',
          ),
        }),
        { minLength: 3, maxLength: 24 },
      )
      .map((plan) => {
        const facts: AnyFact[] = [];
        for (const { point, day: n, value, load, kind } of plan) {
          const time =
            kind === 'ahead'
              ? day(n + 365)
              : kind === 'ancient'
                ? `1900-01-${String(1 + (n % 28)).padStart(2, '0')}T08:00:00Z`
                : day(n);
          const at = { takenAt: time, clock: { deviceAt: day(n), monotonicMs: n, offsetMs: 0 } };
          const reading = (text: string, over: object = {}) =>
            ({
              ...readingFact(point, text, at),
              conditions: { load: { text: String(load), unit: '%' }, ambient: { text: '21', unit: '°C' } },
              ...over,
            }) as unknown as AnyFact;
          if (kind === 'work')
            facts.push({
              kind: 'work-recorded',
              id: factId(day(n)),
              ...at,
              assetId: ids.asset,
              ...(value % 2 ? { pointId: point } : {}),
              work: value % 3 ? 'regreased' : 'replaced',
            });
          else if (kind === 'ahead' && value % 2)
            facts.push({ kind: 'work-recorded', id: factId(day(n)), ...at, assetId: ids.asset, work: 'replaced' });
          else if (kind === 'answer')
            facts.push({ kind: 'stop-answered', id: factId(day(n)), ...at, pointId: point, answer: 'not-running' });
          else {
            const one = reading(String(value / 10));
            facts.push(one);
            if (kind === 'ahead' || kind === 'ancient') {
              if (value % 3) facts.push(reading(String(value / 10), { corrects: one.id, takenAt: day(n) }));
              if (value % 5 === 0) facts.push(reading(String(value / 10), { corrects: facts[0]!.id }));
            }
            if (kind === 'twin') facts.push({ ...reading(String(value / 10 + 1)), id: one.id });
            if (kind === 'correction') facts.push(reading(String(value / 10 - 5), { corrects: one.id }));
          }
        }
        return facts;
      });

  it('give the same state in any order, split and repetition', async () => {
    const ids = {
      asset: factId(),
      points: [factId(), factId()],
      limits: [factId(), factId()],
    };
    await fc.assert(
      fc.asyncProperty(
        history(ids).chain((facts) =>
          fc.record({
            facts: fc.constant(facts),
            shuffled: fc.shuffledSubarray([...facts, ...facts], { minLength: facts.length * 2, maxLength: facts.length * 2 }),
            cuts: fc.array(fc.integer({ min: 1, max: 9 }), { minLength: 1, maxLength: 12 }),
            pauses: fc.array(fc.boolean(), { minLength: 12, maxLength: 12 }),
          }),
        ),
        async ({ facts, shuffled, cuts, pauses }) => {
          const straight = await newPlace(ids);
          expect((await straight.planner.submit(facts)).status).toBe(200);
          const wild = await newPlace(ids);
          let from = 0;
          for (let i = 0; from < shuffled.length; i++) {
            const size = cuts[i % cuts.length]!;
            const reply = await wild.planner.submit(shuffled.slice(from, from + size));
            expect(
              reply.body.results.every((one: { outcome: string }) => one.outcome !== 'refused'),
              JSON.stringify(reply.body),
            ).toBe(true);
            from += size;
            if (pauses[i % pauses.length]) await service.concludeAll();
          }
          expect(await stateOf(wild)).toEqual(await stateOf(straight));
        },
      ),
      { numRuns: 25, endOnFailure: false },
    );
  }, 120_000);

  it('deleting all current conclusions brings the same ones back', async () => {
    const ids = { asset: factId(), points: [factId(), factId()], limits: [factId(), factId()] };
    const place = await newPlace(ids);
    const facts = Array.from({ length: 20 }, (_, i) => readingFact(ids.points[i % 2]!, String(60 + i), { takenAt: day(i * 7) }));
    await place.planner.submit(facts);
    const before = await stateOf(place);
    expect((before.conclusions as unknown[]).length).toBe(2);
    await service.db.inTenant(place.planner.scope, ({ db }) => db.$executeRaw(sql`DELETE FROM conclusion`));
    const after = await stateOf(place);
    expect(after).toEqual(before);
  });
});
