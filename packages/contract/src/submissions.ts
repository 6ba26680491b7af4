import { COULD_NOT_READ, type Fact, KINDS_OF_WORK, LIMIT_GRADES, type Verdict } from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, id, instant } from './endpoint.ts';
import { verdict } from './readings.ts';

const entry = z.strictObject({ text: z.string().max(100), unit: z.string().max(20) });
const common = {
  id,
  takenAt: instant,
  clock: z.strictObject({ deviceAt: instant, monotonicMs: z.number(), offsetMs: z.number().nullable() }),
  words: z.string().max(4000).exactOptional(),
};

/** A fact as a device sends it. */
export const fact = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('reading-taken'),
    ...common,
    pointId: id,
    roundId: id.exactOptional(),
    inputs: z.record(z.string().max(40), entry),
    conditions: z.record(z.string().max(40), entry),
    running: z.boolean().exactOptional(),
    instrument: z.string().max(60).exactOptional(),
    corrects: id.exactOptional(),
    confirmedUnlikely: z.boolean().exactOptional(),
    phoneVerdict: z
      .strictObject({ domainVersion: z.string().max(40), verdict: z.looseObject({}) as unknown as z.ZodType<Verdict> })
      .exactOptional(),
  }),
  z.strictObject({
    kind: z.literal('stop-answered'),
    ...common,
    pointId: id,
    roundId: id.exactOptional(),
    answer: z.enum(COULD_NOT_READ),
  }),
  z.strictObject({
    kind: z.literal('work-recorded'),
    ...common,
    assetId: id,
    pointId: id.exactOptional(),
    work: z.enum(KINDS_OF_WORK),
  }),
  z.strictObject({
    kind: z.literal('finding-reported'),
    ...common,
    pointId: id,
    roundId: id.exactOptional(),
    grade: z.enum(LIMIT_GRADES),
    words: z.string().trim().min(1).max(4000),
  }),
  z.strictObject({
    kind: z.literal('put-right'),
    ...common,
    pointId: id,
    roundId: id.exactOptional(),
    work: z.enum(KINDS_OF_WORK),
    found: z.string().trim().min(1).max(2000),
    did: z.string().trim().min(1).max(2000),
    beforeId: id,
  }),
  z.strictObject({ kind: z.literal('round-taken'), ...common, roundId: id, packed: z.array(id).max(600) }),
  z.strictObject({
    kind: z.literal('round-given'),
    ...common,
    roundId: id,
    toPersonId: id,
    extraStopIds: z.array(id).max(600).optional(),
  }),
  z.strictObject({ kind: z.literal('round-handed-in'), ...common, roundId: id }),
]) satisfies z.ZodType<Fact>;

export const MOST_FACTS = 500;

export const factResult = z
  .object({
    /** Id as sent; null when it could not be read. */
    id: z.string().nullable(),
    outcome: z.enum(['created', 'duplicate', 'conflict', 'refused']),
    /** The server's verdict on a reading that was created. */
    verdict: verdict.nullable(),
    /** What to know although it was kept. */
    notice: z.string().nullable(),
    /** Why it was refused: what was expected, what was found. */
    problem: z
      .object({ code: z.string(), detail: z.string(), errors: z.array(z.object({ pointer: z.string(), detail: z.string() })) })
      .nullable(),
  })
  .meta({ id: 'FactResult' });
export type FactResult = z.output<typeof factResult>;

export const submitFacts = defineEndpoint({
  name: 'submitFacts',
  summary:
    'Hand in facts. Every fact is answered on its own: created, duplicate (same id, same content), conflict (same id, other content; both kept) or refused. Sending again is safe.',
  method: 'POST',
  path: '/api/submissions',
  access: 'submit-facts',
  // Facts are checked one by one, so that one bad fact never takes another down.
  body: z.strictObject({ facts: z.array(z.unknown()).min(1).max(MOST_FACTS) }),
  status: 200,
  response: z.object({ receivedAt: instant, results: z.array(factResult) }),
});
