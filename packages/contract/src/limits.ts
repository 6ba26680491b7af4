import { type Conclusion, CRITERIA, GRADES, WEATHERS } from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, id, instant, words } from './endpoint.ts';

const figures = {
  watch: z.number().nullable(),
  plan: z.number().nullable(),
  soon: z.number().nullable(),
  now: z.number().nullable(),
};

const day = z.string().regex(/^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/);

/** When limits hold; null: always. A season runs from its first to its last day, both as MM-DD. */
export const limitHolds = z
  .union([z.strictObject({ weather: z.enum(WEATHERS) }), z.strictObject({ season: words(40), from: day, until: day })])
  .meta({ id: 'LimitHolds' });

export const limitSet = z
  .object({
    id,
    version: z.number().int(),
    criterion: z.enum(CRITERIA),
    direction: z.enum(['high', 'low']),
    ...figures,
    holds: limitHolds.nullish(),
    source: z.string(),
    reason: z.string(),
    author: z.string(),
    /** Epoch milliseconds. */
    validFrom: z.number(),
    reviewOn: z.string().nullable(),
    origin: z.enum(['general', 'point']),
  })
  .meta({ id: 'LimitSet' });

export const limitDraft = z.strictObject({
  id: id.optional(),
  criterion: z.enum(CRITERIA),
  direction: z.enum(['high', 'low']),
  watch: figures.watch.default(null),
  plan: figures.plan.default(null),
  soon: figures.soon.default(null),
  now: figures.now.default(null),
  holds: limitHolds.nullable().default(null),
  source: words(300),
  reason: words(1000),
  /** Default: the moment it is saved. */
  validFrom: instant.optional(),
  reviewOn: z.iso.date().nullable().default(null),
  origin: z.enum(['general', 'point']).default('point'),
});
export type LimitDraftBody = z.input<typeof limitDraft>;

export const addLimits = defineEndpoint({
  name: 'addLimits',
  summary:
    'A new version of one side of the limits of a criterion. Refused without source and reason, or when the figures are out of order. One without figures withdraws its side.',
  method: 'POST',
  path: '/api/points/:pointId/limits',
  access: 'edit-register',
  params: z.object({ pointId: id }),
  body: limitDraft,
  status: 201,
  response: limitSet,
});

const grade = z.enum(GRADES).nullable();
const conclusion = z.unknown() as unknown as z.ZodType<Conclusion>;

export const triedOnHistory = z
  .object({
    readings: z.array(z.object({ readingId: id, takenAt: z.number(), before: grade, after: grade })),
    before: conclusion,
    after: conclusion,
  })
  .meta({ id: 'TriedOnHistory' });
export type TriedOnHistory = z.output<typeof triedOnHistory>;

export const tryLimits = defineEndpoint({
  name: 'tryLimits',
  summary:
    'What one side of limits would have said of the history of a point, had it held all the while. Keeps nothing. Looks at as many readings as a conclusion does.',
  method: 'POST',
  path: '/api/points/:pointId/limits/try',
  access: 'edit-register',
  params: z.object({ pointId: id }),
  body: limitDraft.pick({ criterion: true, direction: true, watch: true, plan: true, soon: true, now: true, holds: true }),
  status: 200,
  response: triedOnHistory,
});

export const listLimits = defineEndpoint({
  name: 'listLimits',
  summary: 'All versions of the limits of a point, oldest first.',
  method: 'GET',
  path: '/api/points/:pointId/limits',
  access: 'see',
  params: z.object({ pointId: id }),
  status: 200,
  response: z.object({ limits: z.array(limitSet) }),
});
