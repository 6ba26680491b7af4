import { COULD_NOT_READ, CRITICALITIES, GRADES } from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, id, instant } from './endpoint.ts';
import { findingLine, orderLine } from './orders.ts';
import { conclusion, place } from './register.ts';
import { windowView } from './rounds.ts';

const count = z.number().int();
const ref = z.object({ kind: z.enum(['finding', 'order']), id });
const point = {
  pointId: id,
  assetId: id,
  tag: z.string(),
  letter: z.string(),
  assetName: z.string(),
  pointName: z.string(),
  criticality: z.enum(CRITICALITIES),
};

const trendLine = z
  .object({
    ...point,
    unit: z.string(),
    decimals: z.number().int(),
    place,
    grade: z.enum(GRADES).nullable(),
    /** Newest comparable figures, oldest first. */
    values: z.array(z.object({ at: instant, value: z.number(), comparability: z.string() })),
    limits: z.array(z.object({ grade: z.string(), value: z.number() })),
    conclusion,
  })
  .meta({ id: 'TrendLine' });

const livedWith = z
  .object({
    ...point,
    ...ref.shape,
    number: z.number().int(),
    place,
    grade: z.enum(GRADES),
    signedBy: z.object({ id, name: z.string() }).nullable(),
    since: instant,
    until: instant,
    reason: z.string(),
  })
  .meta({ id: 'LivedWith' });

export const getCarry = defineEndpoint({
  name: 'getCarry',
  summary:
    'What is carried: decisions that wait for the person, open risks, overdue repairs, accepted risks, worst trends, and beside them what was not seen.',
  method: 'GET',
  path: '/api/carry',
  access: 'see',
  query: z.object({ siteId: id.optional() }),
  status: 200,
  response: z.object({
    now: instant,
    /** The one site that this is about; null: everything the person may see. */
    site: z.object({ id, name: z.string() }).nullable(),
    /** Requests to live with a fault that the person may accept, worst grade first, then oldest; told in findings and orders. */
    decisions: z.array(ref.extend({ askedBy: z.string() })),
    hasMoreDecisions: z.boolean(),
    /** The highest other risks, highest first; told in findings and orders. */
    risks: z.array(ref),
    findings: z.array(findingLine),
    orders: z.array(orderLine),
    windows: z.array(windowView),
    /** What is open, each fault in one of them; counted up to a thousand. */
    counts: z.object({
      toRepair: count,
      toProve: count,
      livedWithAsOrder: count,
      unanswered: count,
      readAgain: count,
      livedWithAsFinding: count,
    }),
    /** Of the repairs to do, those beyond their original due date, worst grade first. */
    overdue: z.array(z.object({ grade: z.enum(GRADES), count, days: count, longestDays: count })),
    /** Accepted risks, the one that ends first first. */
    living: z.array(livedWith),
    trends: z.object({ lines: z.array(trendLine), count }),
    /** Orders that ended since seen.rounds.from. */
    ended: z.object({ proved: count, unproved: count }),
    seen: z.object({
      /** Points whose last round is over; seen: with a comparable reading since it could be begun. */
      points: z.object({
        due: count,
        seen: count,
        isCut: z.boolean(),
        unseen: z.array(z.object({ cause: z.enum(['nobody-came', 'not-judged', ...COULD_NOT_READ]), count })),
        worst: z.array(
          z.object({
            ...point,
            zone: z.string(),
            routeCode: z.string(),
            cause: z.enum(['nobody-came', 'not-judged', ...COULD_NOT_READ]),
            lastSeenAt: instant.nullable(),
            days: count,
          }),
        ),
      }),
      /** Rounds whose window ended since from; those called off are not among those due. */
      rounds: z.object({
        from: instant,
        isCut: z.boolean(),
        due: count,
        walked: count,
        thin: count,
        missed: count,
        calledOff: count,
        lastMissed: z.array(z.object({ id, code: z.string(), plannedAt: instant, zone: z.string() })),
      }),
      /** Stops of these rounds. */
      stops: z.object({
        due: count,
        read: count,
        couldNotRead: z.array(z.object({ answer: z.enum(COULD_NOT_READ), count })),
        notAnswered: count,
      }),
    }),
    hasPoints: z.boolean(),
    hasRoutes: z.boolean(),
  }),
});
