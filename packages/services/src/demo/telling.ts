/**
 * Tells what happened at the campus, step by step in the order of time, each step by the person who did it and at the moment it
 * happened. Always: a step that was told before, here or by another start at the same moment, changes nothing.
 */
import { Problem } from '@heatround/domain';
import { sql } from '@heatround/platform/database';
import type { Deps, Scope } from '../deps/index.ts';
import { answerFinding, bringBackNow, moveOrder } from '../repairs/index.ts';
import { askForStop, callOffRound, closeRoundsJob, lookOverRound, planRoundsJob } from '../rounds/index.ts';
import { submitFacts } from '../submissions/index.ts';
import { LIVED_WITH_UNTIL, SAID, type Said } from './answers.ts';
import { STORY_NOW, siteInstant } from './calendar.ts';
import type { PersonKey } from './people.ts';
import { TARNWICK } from './plant.ts';
import { type Batch, pointId, type RoundIds, roundKey } from './rounds.ts';
import { LAST_WEEK, routeId, TARNWICK_ROUTES, WEEK_BETWEEN_THE_YEARS } from './routes.ts';
import { stableId } from './stable.ts';
import { EXTRA_STOPS } from './stories.ts';

/** What a step is told with. */
export interface Teller {
  readonly personIds: Readonly<Record<PersonKey, string>>;
  scopeOf(by: PersonKey, roles?: Scope['roles']): Scope;
  /** The services with the clock of that moment. */
  at(moment: number): Deps;
  readonly rounds: RoundIds;
}

interface Step {
  readonly at: number;
  tell(): Promise<unknown>;
}

const MINUTE_MS = 60_000;
const DAY_MS = 86_400_000;

/** So many rounds are looked over at once. */
const LANES = 4;

/** Asked by Jonas on the eve of the story; the last step, so that where it is, everything is. */
export const LAST_STEP = stableId('tarnwick stop at the ironer today');

/** Jonas took over in week 20; what was handed in since then he looked over, but for the newest round of each of these. */
const LOOKED_OVER_FROM = 20;
const NOT_LOOKED_OVER: readonly string[] = ['RT1 60', 'RT3 59', 'RT4 58'];

/** Everything at Tarnwick Vale up to the moment of the story. */
export async function tellTarnwick(teller: Teller, batches: readonly Batch[]): Promise<void> {
  const steps = [
    ...batches.map((batch) => handsIn(teller, batch)),
    ...SAID.map((one): Step => ({ at: one.at, tell: () => say(teller, one) })),
    ...EXTRA_STOPS.map((stop) => asksFor(teller, stop)),
    callsOff(teller),
    looksOver(teller),
    bringsBack(teller),
    plansOn(teller),
    asksToday(teller),
  ];
  await tell(steps);
}

/** Brackwater has no planner: rounds are walked, and nothing more. */
export const tellBrackwater = (teller: Teller, batches: readonly Batch[]): Promise<void> =>
  tell(batches.map((batch) => handsIn(teller, batch)));

async function tell(steps: readonly Step[]): Promise<void> {
  for (const step of steps.toSorted((one, other) => one.at - other.at)) await step.tell();
}

/** A batch is received when its person has contact again. */
const handsIn = ({ at, scopeOf }: Teller, { by, receivedAt, facts }: Batch): Step => ({
  at: receivedAt,
  tell: async () => {
    const { results } = await submitFacts(at(receivedAt), scopeOf(by), facts);
    const refused = results.find((result) => result.outcome === 'refused');
    if (refused) throw new Error(`the demo is not complete and goes on at the next start: ${refused.detail}`);
  },
});

interface Standing {
  readonly findingId: string;
  readonly version: number;
  readonly orderId: string | null;
  readonly orderVersion: number | null;
  readonly wasSaid: boolean;
}

/** Answers and moves are told with the version they were seen at, so that a start that lags behind another is told, not obeyed. */
async function say(teller: Teller, one: Said): Promise<void> {
  const standing = await standingOf(teller, one);
  if (standing.wasSaid) return;
  const { answer, move } = one;
  const deps = teller.at(one.at);
  const scope = teller.scopeOf(one.by, one.roles);
  const { findingId, version, orderId, orderVersion } = standing;
  try {
    if (answer) await answerFinding(deps, scope, findingId, { version, answer: answer(teller.personIds) });
    else await moveOrder(deps, scope, orderId!, { version: orderVersion!, move: move!(teller.personIds) });
  } catch (error) {
    if (error instanceof Problem && (await standingOf(teller, one)).wasSaid) return;
    throw error;
  }
}

/** The newest finding of a point at a moment, its order, and whether this was said before: its trace stands at that time. */
async function standingOf({ at, scopeOf, personIds }: Teller, said: Said): Promise<Standing> {
  const { by, place, at: saidAt, doneAt, answer, move } = said;
  const id = pointId(TARNWICK, place.slice(0, -2), place.slice(-1));
  const kind = (answer ?? move!)(personIds).kind;
  const [from, to] = [new Date(doneAt), new Date(saidAt)];
  const [found] = await at(saidAt).database.inTenant(scopeOf(by), ({ db }) =>
    db.$queryRaw<Standing[]>(sql`
      SELECT f.id AS "findingId", f.version, o.id AS "orderId", o.version AS "orderVersion", EXISTS (SELECT 1 FROM move m
        WHERE m.organisation_id = f.organisation_id AND m.subject_id IN (f.id, o.id) AND m.record ->> 'move' = ${kind}
          AND m.moved_at BETWEEN ${from}::timestamptz AND ${to}::timestamptz) AS "wasSaid"
      FROM finding f LEFT JOIN work_order o ON o.organisation_id = f.organisation_id AND o.id = f.order_id
      WHERE f.organisation_id = current_organisation() AND f.point_id = ${id}::uuid AND f.reported_at <= ${to}::timestamptz
      ORDER BY f.reported_at DESC LIMIT 1`),
  );
  if (!found) throw new Error(`nothing was found at ${place} that could be answered`);
  return found;
}

function asksFor({ at, scopeOf, personIds }: Teller, stop: (typeof EXTRA_STOPS)[number]): Step {
  const { week, weekday, tag, letters, asked, note, by } = stop;
  const askedAt = siteInstant(week, ...asked);
  return {
    at: askedAt,
    tell: () =>
      askForStop(at(askedAt), scopeOf('jonas'), {
        id: stableId(`tarnwick stop ${tag}-${letters} ${week}`),
        pointId: pointId(TARNWICK, tag, letters),
        roundId: null,
        walkerId: personIds[by],
        earliestAt: new Date(askedAt).toISOString(),
        latestAt: new Date(siteInstant(week, weekday, '18:00')).toISOString(),
        note,
      }),
  };
}

function callsOff({ at, scopeOf, rounds }: Teller): Step {
  const moment = siteInstant(WEEK_BETWEEN_THE_YEARS - 1, 'fri', '11:45');
  const id = rounds.get(roundKey('RT3', WEEK_BETWEEN_THE_YEARS))!;
  const reason = 'Between the years the ironer stands and half the shift is away; nothing on this route was rising.';
  return { at: moment, tell: () => callOffRound(at(moment), scopeOf('jonas'), id, reason) };
}

/** Each on the Monday after; told together, since none of them touches what another step does. */
function looksOver({ at, scopeOf, rounds }: Teller): Step {
  const walked = TARNWICK_ROUTES.flatMap((route, i) =>
    Array.from({ length: LAST_WEEK - LOOKED_OVER_FROM + 1 }, (_, index) => LOOKED_OVER_FROM + index)
      .filter((week) => route.isWalked(week) && !NOT_LOOKED_OVER.includes(roundKey(route.code, week)))
      .map((week) => ({
        roundId: rounds.get(roundKey(route.code, week))!,
        moment: siteInstant(week + 1, 'mon', '08:15') + i * 3 * MINUTE_MS,
      })),
  );
  const lane = async (number: number) => {
    for (const [i, { roundId, moment }] of walked.entries())
      if (i % LANES === number) await lookOverRound(at(moment), scopeOf('jonas'), roundId);
  };
  return { at: STORY_NOW - DAY_MS, tell: () => Promise.all(Array.from({ length: LANES }, (_, number) => lane(number))) };
}

/** The end date brings back what was lived with, as the sweep would. */
function bringsBack(teller: Teller): Step {
  const moment = LIVED_WITH_UNTIL + 1;
  const said = SAID.find(({ roles }) => roles.includes('manager'))!;
  const tell = async () => {
    const { findingId } = await standingOf(teller, said);
    const { organisationId } = teller.scopeOf('jonas');
    await bringBackNow(teller.at(moment), { organisationId, subject: 'finding', id: findingId });
  };
  return { at: moment, tell };
}

/** Rounds to the horizon of the story, and those closed that nobody walked, as the sweep would. */
function plansOn({ at, scopeOf }: Teller): Step {
  const { organisationId } = scopeOf('jonas');
  const deps = at(STORY_NOW);
  const tell = async () => {
    for (const { code } of TARNWICK_ROUTES) {
      await planRoundsJob.handle(deps, { organisationId, routeId: routeId(TARNWICK, code) });
    }
    await closeRoundsJob.handle(deps, { organisationId });
  };
  return { at: STORY_NOW - DAY_MS, tell };
}

function asksToday({ at, scopeOf, personIds }: Teller): Step {
  const moment = siteInstant(LAST_WEEK, 'wed', '16:20');
  return {
    at: moment,
    tell: () =>
      askForStop(at(moment), scopeOf('jonas'), {
        id: LAST_STEP,
        pointId: pointId(TARNWICK, 'B-IRO-01', 'a'),
        roundId: null,
        walkerId: personIds.mara,
        earliestAt: new Date(siteInstant(LAST_WEEK, 'thu', '06:00')).toISOString(),
        latestAt: new Date(siteInstant(LAST_WEEK, 'thu', '18:00')).toISOString(),
        note: 'Still rising? Please read it with linen on, at the usual load.',
      }),
  };
}
