import {
  FINDING_STATES,
  type Finding,
  GRADES,
  KINDS_OF_WORK,
  type LastWindow,
  type MoveRecord,
  ORDER_STATES,
  type WorkOrder,
} from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, id, instant, pageSize, words } from './endpoint.ts';
import { readingRow } from './readings.ts';
import { conclusion, place } from './register.ts';
import { windowView } from './rounds.ts';

const person = z.object({ id, name: z.string() });
const moveRecord = z
  .object({
    move: z.string(),
    from: z.string(),
    to: z.string(),
    by: person.nullable(),
    at: instant,
    why: z.string().nullable(),
    given: z.unknown() as unknown as z.ZodType<MoveRecord<string, { kind: string }>['given']>,
  })
  .meta({ id: 'MoveRecord' });

/** What a queue needs to know of the point a finding or an order is about. */
const subject = {
  pointId: id,
  assetId: id,
  tag: z.string(),
  letter: z.string(),
  assetName: z.string(),
  pointName: z.string(),
  unit: z.string(),
  decimals: z.number().int(),
  place,
  criticality: z.enum(['A', 'B', 'C']),
  grade: z.enum(GRADES),
  /** Last comparable figure and the last dozen before it, for the small plot. */
  lastValues: z.array(z.object({ at: instant, value: z.number(), comparability: z.string() })),
  limits: z.array(z.object({ grade: z.string(), value: z.number() })),
  conclusion: conclusion.nullable(),
  /** The last shutdown window that makes sense, and those that come too late. */
  lastWindow: z.unknown() as unknown as z.ZodType<LastWindow>,
};

export const findingLine = z
  .object({
    id,
    number: z.number().int(),
    ...subject,
    state: z.enum(FINDING_STATES),
    finding: z.unknown() as unknown as z.ZodType<Finding>,
    reportedAt: instant,
    reportedBy: z.string(),
    words: z.string().nullable(),
    evidence: z.number().int(),
    answerDueAt: instant.nullable(),
    repeats: z.number().int().nullable(),
    /** Something came after it had been answered. */
    asksPlanner: z.boolean(),
    /** What came, the newest few; empty where nobody is asked to look. */
    late: z.array(
      z.object({
        factId: id,
        takenAt: instant,
        receivedAt: instant,
        by: z.string(),
        value: z.number().nullable(),
        grade: z.enum(GRADES).nullable(),
        corrects: z.object({ value: z.number().nullable(), grade: z.enum(GRADES).nullable() }).nullable(),
      }),
    ),
    risk: z.number().int(),
    /** Answers the signed-in person may give now. */
    allowed: z.array(z.string()),
    orderNumber: z.number().int().nullable(),
  })
  .meta({ id: 'FindingLine' });
export type FindingLine = z.output<typeof findingLine>;

export const orderLine = z
  .object({
    id,
    number: z.number().int(),
    ...subject,
    state: z.enum(ORDER_STATES),
    order: z.unknown() as unknown as z.ZodType<WorkOrder>,
    owner: person.nullable(),
    dueAt: instant.nullable(),
    overdueDays: z.number().int(),
    risk: z.number().int(),
    consequence: z.number().int(),
    createdAt: instant,
    endedAt: instant.nullable(),
    findingNumber: z.number().int(),
    reportedBy: z.string(),
    reportedAt: instant,
    proofDueAt: instant.nullable(),
    allowed: z.array(z.string()),
  })
  .meta({ id: 'OrderLine' });
export type OrderLine = z.output<typeof orderLine>;

export const listFindings = defineEndpoint({
  name: 'listFindings',
  summary:
    'Findings that want an answer, by last sensible window, then risk; or those that want a second look since something came after their answer, those that are open, or all, newest first.',
  method: 'GET',
  path: '/api/findings',
  access: 'see',
  query: z.object({
    which: z.enum(['to-answer', 'look-again', 'open', 'all']).default('to-answer'),
    siteId: id.optional(),
    pointId: id.optional(),
    after: z.string().max(200).optional(),
    pageSize: pageSize(100, 50),
  }),
  status: 200,
  response: z.object({ now: instant, findings: z.array(findingLine), windows: z.array(windowView), next: z.string().nullable() }),
});

export const answerFinding = defineEndpoint({
  name: 'answerFinding',
  summary:
    'Answer a finding: agree, read-again, same-as, turn-down, live-with, ask-to-live-with, come-back. A forbidden answer is a 409 that names the allowed ones; repeating the very answer changes nothing.',
  method: 'POST',
  path: '/api/findings/:findingId/answers',
  access: 'see',
  params: z.object({ findingId: id }),
  body: z.strictObject({
    version: z.number().int().min(1).optional(),
    answer: z.discriminatedUnion('kind', [
      z.strictObject({ kind: z.literal('agree'), orderId: id.optional(), ownerId: id.nullable().default(null) }),
      z.strictObject({
        kind: z.literal('read-again'),
        reason: z.string().max(1000).optional(),
        latestAt: instant.optional(),
        walkerId: id.nullable().default(null),
      }),
      z.strictObject({ kind: z.literal('same-as'), findingId: id }),
      z.strictObject({ kind: z.literal('turn-down'), reason: words(1000) }),
      z.strictObject({ kind: z.literal('live-with'), until: instant, reason: words(1000) }),
      z.strictObject({ kind: z.literal('ask-to-live-with'), until: instant, reason: words(1000) }),
      z.strictObject({ kind: z.literal('come-back'), cause: z.literal('ended-early') }),
    ]),
  }),
  status: 200,
  response: z.object({
    id,
    version: z.number().int(),
    state: z.enum(FINDING_STATES),
    orderId: id.nullable(),
    orderNumber: z.number().int().nullable(),
  }),
});

export const lookAgainAt = defineEndpoint({
  name: 'lookAgainAt',
  summary:
    'Decide about evidence that came after a finding had been answered: what was decided stands, or the fault is taken up as a finding of its own. The same decision again changes nothing.',
  method: 'POST',
  path: '/api/findings/:findingId/second-look',
  access: 'answer-findings',
  params: z.object({ findingId: id }),
  body: z.strictObject({
    version: z.number().int().min(1).optional(),
    look: z.strictObject({ kind: z.enum(['it-stands', 'take-up']), reason: z.string().max(1000).optional() }),
  }),
  status: 200,
  response: z.object({
    id,
    version: z.number().int(),
    /** The finding that goes on with what came late. */
    taken: z.object({ id, number: z.number().int() }).nullable(),
  }),
});

export const nameMode = defineEndpoint({
  name: 'nameMode',
  summary: 'Name the kind of failure of a finding otherwise than by its criterion.',
  method: 'POST',
  path: '/api/findings/:findingId/mode',
  access: 'answer-findings',
  params: z.object({ findingId: id }),
  body: z.strictObject({ mode: words(60) }),
  status: 200,
  response: z.object({ id }),
});

export const listOrders = defineEndpoint({
  name: 'listOrders',
  summary: 'Work orders that have not ended, by risk, then due date; overdue first with order=overdue.',
  method: 'GET',
  path: '/api/orders',
  access: 'see',
  query: z.object({
    order: z.enum(['risk', 'overdue']).default('risk'),
    which: z.enum(['open', 'mine', 'ended']).default('open'),
    siteId: id.optional(),
    pointId: id.optional(),
    after: z.string().max(200).optional(),
    pageSize: pageSize(100, 50),
  }),
  status: 200,
  response: z.object({
    now: instant,
    counts: z.object({ open: z.number().int(), overdue: z.number().int() }),
    orders: z.array(orderLine),
    windows: z.array(windowView),
    next: z.string().nullable(),
  }),
});

export const getOrder = defineEndpoint({
  name: 'getOrder',
  summary: 'One work order: its line of stations, the reading before and after, its target, every move.',
  method: 'GET',
  path: '/api/orders/:orderId',
  access: 'see',
  params: z.object({ orderId: id }),
  status: 200,
  response: orderLine.extend({
    findingWords: z.string().nullable(),
    before: readingRow.nullable(),
    after: readingRow.nullable(),
    target: z.object({ value: z.number(), direction: z.enum(['high', 'low']), inWords: z.string() }).nullable(),
    moves: z.array(moveRecord),
    findingMoves: z.array(moveRecord),
    evidence: z.array(readingRow),
    proofStop: z.object({ id, earliestAt: instant, latestAt: instant, roundCode: z.string().nullable() }).nullable(),
    windows: z.array(windowView),
  }),
});

export const moveOrder = defineEndpoint({
  name: 'moveOrder',
  summary:
    'Move a work order: slot, start, finish, stuck, free, back-to-agreed, live-with, ask-to-live-with, come-back, turn-down, merge-into, close-unproved, give. A forbidden move is a 409 that names the allowed ones; a stale version is a 412.',
  method: 'POST',
  path: '/api/orders/:orderId/moves',
  access: 'see',
  params: z.object({ orderId: id }),
  body: z.strictObject({
    version: z.number().int().min(1).optional(),
    move: z.discriminatedUnion('kind', [
      z.strictObject({
        kind: z.literal('slot'),
        windowId: id.nullable().default(null),
        from: instant.optional(),
        to: instant.optional(),
      }),
      z.strictObject({ kind: z.literal('start') }),
      z.strictObject({
        kind: z.literal('finish'),
        found: words(2000),
        did: words(2000),
        work: z.enum(KINDS_OF_WORK).default('repaired'),
        at: instant.optional(),
      }),
      z.strictObject({ kind: z.literal('stuck'), cause: words(1000), whoFrees: words(200) }),
      z.strictObject({ kind: z.literal('free') }),
      z.strictObject({ kind: z.literal('back-to-agreed'), reason: z.string().max(1000).optional() }),
      z.strictObject({ kind: z.literal('live-with'), until: instant, reason: words(1000) }),
      z.strictObject({ kind: z.literal('ask-to-live-with'), until: instant, reason: words(1000) }),
      z.strictObject({ kind: z.literal('come-back'), cause: z.literal('ended-early') }),
      z.strictObject({ kind: z.literal('turn-down'), reason: words(1000) }),
      z.strictObject({ kind: z.literal('merge-into'), orderId: id }),
      z.strictObject({ kind: z.literal('close-unproved'), reason: words(1000) }),
      z.strictObject({ kind: z.literal('give'), ownerId: id.nullable() }),
    ]),
  }),
  status: 200,
  response: z.object({ id, version: z.number().int(), state: z.enum(ORDER_STATES) }),
});

export const setTarget = defineEndpoint({
  name: 'setTarget',
  summary: 'State the figure a proof must reach, instead of below Watch.',
  method: 'POST',
  path: '/api/orders/:orderId/target',
  access: 'answer-findings',
  params: z.object({ orderId: id }),
  body: z.strictObject({ target: z.object({ value: z.number(), direction: z.enum(['high', 'low']) }).nullable() }),
  status: 200,
  response: z.object({ id }),
});
