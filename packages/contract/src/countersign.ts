import { GRADES } from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, id, instant, pageSize, words } from './endpoint.ts';

export const listToCountersign = defineEndpoint({
  name: 'listToCountersign',
  summary: 'Readings of trainees that nobody has countersigned yet, oldest first.',
  method: 'GET',
  path: '/api/to-countersign',
  access: 'countersign',
  query: z.object({ after: z.string().max(400).optional(), pageSize: pageSize(100, 50) }),
  status: 200,
  response: z.object({
    readings: z.array(
      z.object({
        factId: id,
        assetId: id,
        tag: z.string(),
        assetName: z.string(),
        letter: z.string(),
        pointName: z.string(),
        by: z.string(),
        takenAt: instant,
        value: z.number().nullable(),
        unit: z.string(),
        decimals: z.number().int(),
        grade: z.enum(GRADES).nullable(),
        sentence: z.string().nullable(),
        words: z.string().nullable(),
      }),
    ),
    next: z.string().nullable(),
  }),
});

export const countersign = defineEndpoint({
  name: 'countersign',
  summary: 'Countersign readings of trainees. Nobody signs an own one; signing twice is once.',
  method: 'POST',
  path: '/api/countersign',
  access: 'countersign',
  body: z.strictObject({ factIds: z.array(id).min(1).max(100), words: words(1000).nullable().default(null) }),
  status: 200,
  response: z.object({ results: z.array(z.object({ factId: id, outcome: z.enum(['signed', 'own', 'not-found']) })) }),
});

export const engineRoom = defineEndpoint({
  name: 'engineRoom',
  summary: 'How the installation is: parts, queue, last backup; and of this organisation people and letters in trouble.',
  method: 'GET',
  path: '/api/engine-room',
  access: 'administer',
  status: 200,
  response: z.object({
    now: instant,
    database: z.boolean(),
    migrations: z.boolean(),
    /** Null: the queue does not answer. */
    queue: z
      .object({ waiting: z.number().int(), active: z.number().int(), delayed: z.number().int(), failed: z.number().int() })
      .nullable(),
    /** Kinds of work that were given up, newest first; what they were about is for the log. */
    failed: z.array(z.object({ name: z.string(), at: instant, attempts: z.number().int() })),
    /** Points of this organisation whose newest facts no conclusion knows yet, and since when the oldest waits. */
    behind: z.object({ points: z.number().int(), isMore: z.boolean(), since: instant.nullable() }),
    lastBackup: z.object({ at: instant, words: z.string() }).nullable(),
    people: z.object({ members: z.number().int(), administratorsWithoutSecondFactor: z.number().int(), ended: z.number().int() }),
    lettersInTrouble: z.number().int(),
    mailIsSent: z.boolean(),
  }),
});
