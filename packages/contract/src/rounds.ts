import { GRADES, ROUND_STATES, type RoundStanding, type RoundWindow, type Season, STOP_STATES } from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, id, instant, pageSize, words } from './endpoint.ts';
import { assetPage, place } from './register.ts';

const minutes = z
  .number()
  .int()
  .min(0)
  .max(60 * 24 * 60);
export const roundWindow = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('days'),
    daysBefore: z.number().int().min(0).max(60),
    daysAfter: z.number().int().min(0).max(60),
  }),
  z.strictObject({ kind: z.literal('week') }),
  z.strictObject({ kind: z.literal('minutes'), minutesBefore: minutes, minutesAfter: minutes }),
]) satisfies z.ZodType<RoundWindow>;
const month = z.number().int().min(1).max(12);
export const season = z.strictObject({ fromMonth: month, toMonth: month }) satisfies z.ZodType<Season>;

const timing = {
  code: words(20),
  name: words(200),
  /** RFC 5545 rule, such as FREQ=WEEKLY;BYDAY=TU. */
  rule: z.string().trim().min(6).max(300),
  /** First planned time on the wall clock of the site, YYYY-MM-DDTHH:MM. */
  startLocal: z.string().regex(/^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2})?$/, 'expected a local time such as 2026-03-02T08:00'),
  window: roundWindow,
  /** Null: half the window. */
  graceMs: z.number().int().min(0).nullable(),
  season: season.nullable(),
  walkerId: id.nullable(),
  aboutMinutes: z.number().int().min(1).max(1440).nullable(),
  beforeYouLeave: z.string().max(2000),
};
const defaults = {
  ...timing,
  graceMs: timing.graceMs.default(null),
  season: timing.season.default(null),
  walkerId: timing.walkerId.default(null),
  aboutMinutes: timing.aboutMinutes.default(null),
  beforeYouLeave: timing.beforeYouLeave.default(''),
};

export const roundLine = z
  .object({
    id,
    routeId: id,
    code: z.string(),
    name: z.string(),
    siteId: id,
    zone: z.string(),
    plannedAt: instant,
    earliestAt: instant,
    latestAt: instant,
    endsAt: instant,
    /** The planned local time that the clocks swallowed; null: nothing had to move. */
    movedFrom: z.string().nullable(),
    state: z.enum(ROUND_STATES),
    standing: z.unknown() as unknown as z.ZodType<RoundStanding>,
    walker: z.object({ id, name: z.string() }).nullable(),
    takenBy: z.object({ id, name: z.string() }).nullable(),
    stops: z.number().int(),
    answered: z.number().int(),
    read: z.number().int(),
    aboutMinutes: z.number().int().nullable(),
    /** Worst standing grade of its points, and the highest risk of an open order there. */
    grade: z.enum(GRADES).nullable(),
    risk: z.number().int(),
    calledOff: z.object({ at: instant, by: z.string(), reason: z.string() }).nullable(),
    version: z.number().int(),
  })
  .meta({ id: 'RoundLine' });
export type RoundLine = z.output<typeof roundLine>;

export const extraStopLine = z
  .object({
    id,
    kind: z.enum(['read-again', 'proof', 'asked']),
    pointId: id,
    assetId: id,
    tag: z.string(),
    letter: z.string(),
    assetName: z.string(),
    pointName: z.string(),
    place,
    roundId: id.nullable(),
    walker: z.object({ id, name: z.string() }).nullable(),
    orderId: id.nullable(),
    orderNumber: z.number().int().nullable(),
    findingId: id.nullable(),
    earliestAt: instant,
    latestAt: instant,
    note: z.string(),
    askedBy: z.string().nullable(),
    /** Of the fault it is about, else as the point stands. */
    grade: z.enum(GRADES).nullable(),
    /** For a proof: what must be met, in words. */
    target: z.string().nullable(),
  })
  .meta({ id: 'ExtraStop' });
export type ExtraStopLine = z.output<typeof extraStopLine>;

export const stopLine = z
  .object({
    pointId: id,
    assetId: id,
    tag: z.string(),
    letter: z.string(),
    assetName: z.string(),
    pointName: z.string(),
    place,
    state: z.enum(STOP_STATES),
    grade: z.enum(GRADES).nullable(),
    notJudged: z.boolean(),
    /** Words beside an answer without a reading. */
    words: z.string().nullable(),
    answeredAt: instant.nullable(),
    by: z.string().nullable(),
    isAdded: z.boolean(),
  })
  .meta({ id: 'StopLine' });
export type StopLine = z.output<typeof stopLine>;

export const routeView = z
  .object({
    id,
    siteId: id,
    site: z.string(),
    zone: z.string(),
    ...timing,
    season: timing.season.nullable(),
    /** "every second Thursday" */
    ruleInWords: z.string(),
    stops: z.array(
      z.object({
        pointId: id,
        assetId: id,
        tag: z.string(),
        letter: z.string(),
        assetName: z.string(),
        pointName: z.string(),
        room: z.string(),
      }),
    ),
    next: z.array(roundLine),
    last: z.array(roundLine),
    version: z.number().int(),
  })
  .meta({ id: 'Route' });
export type RouteView = z.output<typeof routeView>;

export const windowView = z
  .object({
    id,
    siteId: id,
    name: z.string(),
    /** Where: the whole site, a building, an asset. */
    place: z.string(),
    buildingId: id.nullable(),
    assetId: id.nullable(),
    fromAt: instant,
    toAt: instant,
    cancelledAt: instant.nullable(),
    version: z.number().int(),
  })
  .meta({ id: 'ShutdownWindow' });
export type WindowView = z.output<typeof windowView>;

export const listRoutes = defineEndpoint({
  name: 'listRoutes',
  summary: 'Routes by code, with their next and last rounds.',
  method: 'GET',
  path: '/api/routes',
  access: 'see',
  query: z.object({ siteId: id.optional(), after: z.string().max(200).optional(), pageSize: pageSize(100, 50) }),
  status: 200,
  response: z.object({ routes: z.array(routeView), next: z.string().nullable() }),
});

export const createRoute = defineEndpoint({
  name: 'createRoute',
  summary: 'A new route with its stops in walking order; its rounds are made ahead at once.',
  method: 'POST',
  path: '/api/routes',
  access: 'edit-register',
  body: z.strictObject({ id: id.optional(), siteId: id, ...defaults, pointIds: z.array(id).max(500) }),
  status: 201,
  response: z.object({ id }),
});

export const changeRoute = defineEndpoint({
  name: 'changeRoute',
  summary: 'Change a route or its stops. Rounds already begun keep what they are; coming ones are made anew.',
  method: 'PATCH',
  path: '/api/routes/:routeId',
  access: 'edit-register',
  params: z.object({ routeId: id }),
  body: z.strictObject({
    version: z.number().int().min(1),
    code: timing.code.optional(),
    name: timing.name.optional(),
    rule: timing.rule.optional(),
    startLocal: timing.startLocal.optional(),
    window: timing.window.optional(),
    graceMs: timing.graceMs.optional(),
    season: timing.season.nullable().optional(),
    walkerId: timing.walkerId.optional(),
    aboutMinutes: timing.aboutMinutes.optional(),
    beforeYouLeave: timing.beforeYouLeave.optional(),
    pointIds: z.array(id).max(500).optional(),
  }),
  status: 200,
  response: z.object({ id, version: z.number().int() }),
});

export const listDue = defineEndpoint({
  name: 'listDue',
  summary:
    'What is to be read: overdue, due and coming rounds and extra stops, by risk, for the organisation, a site or a person.',
  method: 'GET',
  path: '/api/due',
  access: 'see',
  query: z.object({
    siteId: id.optional(),
    walkerId: id.optional(),
    days: z.coerce.number().int().min(1).max(400).default(14),
    after: z.string().max(200).optional(),
    pageSize: pageSize(200, 50),
  }),
  status: 200,
  response: z.object({
    now: instant,
    counts: z.object({ overdue: z.number().int(), due: z.number().int(), coming: z.number().int() }),
    rounds: z.array(roundLine),
    extraStops: z.array(extraStopLine),
    next: z.string().nullable(),
  }),
});

export const myWalk = defineEndpoint({
  name: 'myWalk',
  summary:
    'What the signed-in person walks now: rounds ready or begun, extra stops, what is safe on the server, what became of their findings.',
  method: 'GET',
  path: '/api/my-walk',
  access: 'see',
  status: 200,
  response: z.object({
    now: instant,
    rounds: z.array(
      roundLine.extend({
        beforeYouLeave: z.string(),
        rooms: z.array(z.object({ place, stops: z.number().int(), assets: z.string() })),
      }),
    ),
    extraStops: z.array(extraStopLine),
    nextRound: roundLine.nullable(),
    safe: z.array(roundLine.extend({ handedInAt: instant })),
    /** Taken and not handed in by them: given to somebody, or missed. */
    unfinished: z.array(roundLine),
    became: z.array(
      z.object({
        findingId: id,
        orderId: id.nullable(),
        number: z.number().int(),
        tag: z.string(),
        letter: z.string(),
        assetName: z.string(),
        said: z.string(),
        at: instant,
      }),
    ),
  }),
});

export const getRound = defineEndpoint({
  name: 'getRound',
  summary: 'One round with its stops, in order, and how each was answered.',
  method: 'GET',
  path: '/api/rounds/:roundId',
  access: 'see',
  params: z.object({ roundId: id }),
  status: 200,
  response: roundLine.extend({
    beforeYouLeave: z.string(),
    stopLines: z.array(stopLine),
    extraStops: z.array(extraStopLine),
    besideRoute: z.array(stopLine),
    progressInWords: z.string(),
    lookedOver: z.object({ at: instant, by: z.string() }).nullable(),
    givenNote: z.string().nullable(),
  }),
});

export const roundPack = defineEndpoint({
  name: 'roundPack',
  summary:
    'Everything a phone needs to walk a round without signal: the assets of its stops with points, limits and last readings.',
  method: 'GET',
  path: '/api/rounds/:roundId/pack',
  access: 'see',
  params: z.object({ roundId: id }),
  query: z.object({ readings: z.coerce.number().int().min(1).max(60).default(12) }),
  status: 200,
  response: z.object({
    roundId: id,
    revision: z.string(),
    stops: z.array(stopLine),
    extraStops: z.array(extraStopLine),
    assets: z.array(assetPage),
  }),
});

export const lookOverRound = defineEndpoint({
  name: 'lookOverRound',
  summary: 'A planner has looked over a round that was handed in.',
  method: 'POST',
  path: '/api/rounds/:roundId/look-over',
  access: 'answer-findings',
  params: z.object({ roundId: id }),
  body: z.strictObject({}),
  status: 200,
  response: z.object({ id, state: z.enum(ROUND_STATES) }),
});

export const callOffRound = defineEndpoint({
  name: 'callOffRound',
  summary: 'Call a round off, with the reason.',
  method: 'POST',
  path: '/api/rounds/:roundId/call-off',
  access: 'edit-register',
  params: z.object({ roundId: id }),
  body: z.strictObject({ reason: words(1000) }),
  status: 200,
  response: z.object({ id, state: z.enum(ROUND_STATES) }),
});

export const giveRound = defineEndpoint({
  name: 'giveRound',
  summary: 'Name who walks a round; null: whoever takes it.',
  method: 'POST',
  path: '/api/rounds/:roundId/walker',
  access: 'edit-register',
  params: z.object({ roundId: id }),
  body: z.strictObject({ walkerId: id.nullable() }),
  status: 200,
  response: z.object({ id }),
});

export const askForStop = defineEndpoint({
  name: 'askForStop',
  summary: 'Ask for an extra stop at a point, on a round or on its own.',
  method: 'POST',
  path: '/api/points/:pointId/extra-stops',
  access: 'edit-register',
  params: z.object({ pointId: id }),
  body: z.strictObject({
    id: id.optional(),
    roundId: id.nullable().default(null),
    walkerId: id.nullable().default(null),
    earliestAt: instant,
    latestAt: instant,
    note: z.string().max(1000).default(''),
  }),
  status: 201,
  response: z.object({ id }),
});

export const listWindows = defineEndpoint({
  name: 'listWindows',
  summary: 'Shutdown windows that are not over, by time; with past also older ones.',
  method: 'GET',
  path: '/api/windows',
  access: 'see',
  query: z.object({ siteId: id.optional(), past: z.stringbool().default(false) }),
  status: 200,
  response: z.object({ windows: z.array(windowView) }),
});

export const createWindow = defineEndpoint({
  name: 'createWindow',
  summary: 'A shutdown window: name, from, to, where.',
  method: 'POST',
  path: '/api/windows',
  access: 'edit-register',
  body: z.strictObject({
    id: id.optional(),
    siteId: id,
    name: words(200),
    buildingId: id.nullable().default(null),
    assetId: id.nullable().default(null),
    fromAt: instant,
    toAt: instant,
  }),
  status: 201,
  response: z.object({ id }),
});

export const changeWindow = defineEndpoint({
  name: 'changeWindow',
  summary: 'Move, rename or cancel a shutdown window; orders slotted into it are named in the answer.',
  method: 'PATCH',
  path: '/api/windows/:windowId',
  access: 'edit-register',
  params: z.object({ windowId: id }),
  body: z.strictObject({
    version: z.number().int().min(1),
    name: words(200).optional(),
    fromAt: instant.optional(),
    toAt: instant.optional(),
    cancel: z.boolean().optional(),
  }),
  status: 200,
  response: z.object({ id, version: z.number().int(), slottedOrders: z.array(z.number().int()) }),
});

export const listPeople = defineEndpoint({
  name: 'listPeople',
  summary: 'People of the organisation whose membership has not ended, by name.',
  method: 'GET',
  path: '/api/people',
  access: 'see',
  status: 200,
  response: z.object({ people: z.array(z.object({ id, name: z.string(), roles: z.array(z.string()) })) }),
});

export const jumpClock = defineEndpoint({
  name: 'jumpClock',
  summary: 'Move the clock of a demo organisation ahead; never back.',
  method: 'POST',
  path: '/api/clock',
  access: 'administer',
  body: z.strictObject({
    aheadMinutes: z
      .number()
      .int()
      .min(1)
      .max(60 * 24 * 400),
  }),
  status: 200,
  response: z.object({ now: instant }),
});
