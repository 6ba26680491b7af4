import { GRADES, KINDS_OF_WORK, QUANTITIES, type Verdict } from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, id, instant, pageSize } from './endpoint.ts';

export const verdict = z.unknown() as unknown as z.ZodType<Verdict>;
export const entry = z.object({ text: z.string(), unit: z.string() }).meta({ id: 'Entry' });

/** One reading as it was sent and as it was judged on its day. */
export const readingRow = z
  .object({
    id,
    takenAt: instant,
    receivedAt: instant,
    by: z.string(),
    instrument: z.string().nullable(),
    words: z.string().nullable(),
    /** As entered, text and unit. */
    inputs: z.record(z.string(), entry),
    conditions: z.record(z.string(), entry),
    running: z.boolean().nullable(),
    /** Canonical figures of inputs and conditions. */
    figures: z.object({ inputs: z.record(z.string(), z.number()), conditions: z.record(z.string(), z.number()) }),
    /** Quantity of the point, canonical unit; null when an input was missing. */
    value: z.number().nullable(),
    grade: z.enum(GRADES).nullable(),
    comparability: z.enum(['like-for-like', 'corrected', 'not-judged']),
    verdict,
    /** The phone judged otherwise; both are kept. */
    phoneVerdict: verdict.nullable(),
    /** False: corrected by a later reading, or a correction without the right to correct. */
    counts: z.boolean(),
    corrects: id.nullable(),
    correctedBy: id.nullable(),
    /** Other contents that arrived under the same id. */
    otherContents: z.number().int(),
    /** Of a trainee's reading: who countersigned it; null in it: nobody yet. */
    countersign: z.object({ by: z.string().nullable() }).nullable().optional(),
  })
  .meta({ id: 'ReadingRow' });
export type ReadingRow = z.output<typeof readingRow>;

export const workRow = z
  .object({
    id,
    takenAt: instant,
    by: z.string(),
    pointId: id.nullable(),
    work: z.enum(KINDS_OF_WORK),
    words: z.string().nullable(),
  })
  .meta({ id: 'WorkRow' });
export type WorkRow = z.output<typeof workRow>;

export const answerRow = z
  .object({ id, takenAt: instant, by: z.string(), answer: z.string(), words: z.string().nullable() })
  .meta({ id: 'AnswerRow' });

export const listReadings = defineEndpoint({
  name: 'listReadings',
  summary: 'Readings of a point, newest first, page by page; those that no longer count only when asked for.',
  method: 'GET',
  path: '/api/points/:pointId/readings',
  access: 'see',
  params: z.object({ pointId: id }),
  query: z.object({ before: z.string().max(200).optional(), pageSize: pageSize(1000, 100), all: z.stringbool().default(false) }),
  status: 200,
  response: z.object({ readings: z.array(readingRow), older: z.string().nullable() }),
});

export const listAnswers = defineEndpoint({
  name: 'listAnswers',
  summary: 'Stops at this point that were answered without a reading, newest first, at most 200.',
  method: 'GET',
  path: '/api/points/:pointId/answers',
  access: 'see',
  params: z.object({ pointId: id }),
  status: 200,
  response: z.object({ answers: z.array(answerRow) }),
});

export const otherContent = z
  .object({ factId: id, receivedAt: instant, by: z.string(), content: z.unknown() })
  .meta({ id: 'OtherContent' });

export const listOtherContents = defineEndpoint({
  name: 'listOtherContents',
  summary: 'Contents that arrived under the id of a fact that already had another content, kept for a person to look at.',
  method: 'GET',
  path: '/api/points/:pointId/other-contents',
  access: 'see',
  params: z.object({ pointId: id }),
  status: 200,
  response: z.object({ contents: z.array(otherContent) }),
});

export const forecastRow = z
  .object({
    limitGrade: z.string(),
    limitValue: z.number(),
    cutAt: instant,
    madeAt: instant,
    /** What could be said: range, not-before, far or none. */
    shown: z.string(),
    reason: z.string().nullable(),
    earliestAt: instant.nullable(),
    likelyAt: instant.nullable(),
    latestAt: instant.nullable(),
    probabilityMoving: z.number().nullable(),
    readingCount: z.number().int(),
    method: z.string(),
    /** What became of it; null: not known yet, or it named no range. */
    outcome: z.enum(['hit', 'early', 'late', 'censored']).nullable(),
  })
  .meta({ id: 'ForecastRow' });

export const listForecasts = defineEndpoint({
  name: 'listForecasts',
  summary: 'The forecast diary of a point: every forecast as it was given, newest first, at most 200.',
  method: 'GET',
  path: '/api/points/:pointId/forecasts',
  access: 'see',
  params: z.object({ pointId: id }),
  status: 200,
  response: z.object({ forecasts: z.array(forecastRow) }),
});

const hitRate = z.object({
  counted: z.number().int(),
  hits: z.number().int(),
  /** Histories they come from, each of a point between two repairs: interval and verdict count these. */
  histories: z.number().int(),
  /** 0 to 1; null while nothing is counted. */
  rate: z.number().nullable(),
  /** 95 % interval of the rate. */
  interval: z.tuple([z.number(), z.number()]).nullable(),
  verdict: z.enum(['as-promised', 'too-narrow', 'too-wide', 'too-few']),
  enough: z.number().int().nullable(),
});
export const hitRatesReply = z
  .object({ method: z.string(), all: hitRate, byQuantity: z.array(hitRate.extend({ quantity: z.enum(QUANTITIES) })) })
  .meta({ id: 'HitRates' });
export type HitRates = z.output<typeof hitRatesReply>;

export const getHitRates = defineEndpoint({
  name: 'getHitRates',
  summary:
    'How often the forecast ranges of the present method held in the organisation, in all and by what is measured; flagged when fewer than 70 or more than 90 % did and chance does not explain it.',
  method: 'GET',
  path: '/api/forecasts/hit-rates',
  access: 'see',
  status: 200,
  response: hitRatesReply,
});
