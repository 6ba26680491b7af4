import type { Fact } from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, id, instant, pageSize, words } from './endpoint.ts';
import { MOST_FACTS } from './submissions.ts';

const problem = z.object({
  code: z.string(),
  detail: z.string(),
  errors: z.array(z.object({ pointer: z.string(), detail: z.string() })),
});

export const heldResult = z
  .object({
    /** Id as sent; null when it could not be read. */
    id: z.string().nullable(),
    /** held: safe, a planner looks at it. duplicate: this very content was here already. refused: it could not be read; it stays on the device. */
    outcome: z.enum(['held', 'duplicate', 'refused']),
    problem: problem.nullable(),
  })
  .meta({ id: 'HeldResult' });
export type HeldResult = z.output<typeof heldResult>;

export const handOver = defineEndpoint({
  name: 'handOver',
  summary:
    'Hand over facts without a session, with the token a device got at its last signed-in contact. They wait for a planner. The token opens nothing else, and the answer tells nothing about the organisation. Sending again is safe.',
  method: 'POST',
  path: '/api/handed-over',
  access: 'public',
  // Facts are checked one by one, so that one bad fact never takes another down.
  body: z.strictObject({ token: z.string().min(1).max(4000), facts: z.array(z.unknown()).min(1).max(MOST_FACTS) }),
  status: 200,
  response: z.object({ receivedAt: instant, results: z.array(heldResult) }),
});

export const handedOver = z
  .object({
    id,
    person: z.object({ id, name: z.string() }),
    takenAt: instant,
    receivedAt: instant,
    /** When the person's access had ended, as far as that is known. */
    accessEndedAt: instant.nullable(),
    /** Taken after that. */
    isAfterEnd: z.boolean(),
    /** As it was sent. */
    fact: z.unknown() as unknown as z.ZodType<Fact>,
    /** Null: not known here, or of a site that was not granted. */
    asset: z.object({ id, tag: z.string(), name: z.string() }).nullable(),
    point: z.object({ id, letter: z.string(), name: z.string() }).nullable(),
    round: z.object({ id, route: z.string(), plannedAt: z.string() }).nullable(),
    state: z.enum(['waiting', 'accepted', 'turned-away']),
    decidedBy: z.string().nullable(),
    decidedAt: instant.nullable(),
    reason: z.string().nullable(),
    /** Why the last try to accept it could not record it. */
    refused: z.string().nullable(),
  })
  .meta({ id: 'HandedOver' });
export type HandedOver = z.output<typeof handedOver>;

export const listHandedOver = defineEndpoint({
  name: 'listHandedOver',
  summary: 'Facts that came from devices whose access had ended: what waits, oldest first, or what was decided, newest first.',
  method: 'GET',
  path: '/api/handed-over',
  access: 'correct-any-reading',
  query: z.object({
    which: z.enum(['waiting', 'decided']).default('waiting'),
    after: z.string().max(200).optional(),
    pageSize: pageSize(200, 50),
  }),
  status: 200,
  response: z.object({ entries: z.array(handedOver), next: z.string().nullable() }),
});

export const countHandedOver = defineEndpoint({
  name: 'countHandedOver',
  summary: 'How many of them wait for a planner, counted up to 999.',
  method: 'GET',
  path: '/api/handed-over/count',
  access: 'correct-any-reading',
  status: 200,
  response: z.object({ waiting: z.number().int() }),
});

const ids = z.array(id).min(1).max(200);
const decided = z.object({
  results: z.array(
    z.object({
      id,
      /** As it stands now. refused: it could not be recorded and waits on; told says why. */
      outcome: z.enum(['accepted', 'turned-away', 'refused', 'not-found']),
      told: z.string().nullable(),
    }),
  ),
});

export const acceptHandedOver = defineEndpoint({
  name: 'acceptHandedOver',
  summary: 'Record them as taken by their person. Each is answered on its own; accepting again records nothing twice.',
  method: 'POST',
  path: '/api/handed-over/accept',
  access: 'correct-any-reading',
  body: z.strictObject({
    ids,
    /** Also those that somebody turned away before. */
    evenTurnedAway: z.boolean().default(false),
  }),
  status: 200,
  response: decided,
});

export const turnAwayHandedOver = defineEndpoint({
  name: 'turnAwayHandedOver',
  summary: 'Turn them away with a reason; they are kept with it. One that is recorded already stays recorded.',
  method: 'POST',
  path: '/api/handed-over/turn-away',
  access: 'correct-any-reading',
  body: z.strictObject({ ids, reason: words(500) }),
  status: 200,
  response: decided,
});
