import { Problem } from '@heatround/domain';
import { type Sql, sql } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, now, type Scope } from '../deps/index.ts';
import { type ExtraStopLine, extraStopLines } from './extra-lines.ts';
import { type RoundLine, roundLines } from './lines.ts';

const DAY = 86_400_000;
/** Extra stops are few; so many are shown at once. */
const MOST_STOPS = 200;

export interface DueList {
  readonly now: Date;
  readonly counts: { readonly overdue: number; readonly due: number; readonly coming: number };
  readonly rounds: RoundLine[];
  readonly extraStops: ExtraStopLine[];
  readonly next: string | null;
}

/**
 * What is to be read. First the rounds that can be walked now: those whose window is over, then the others, each by the highest risk of
 * an open order on the route, then by the end of the window. After them the coming ones by date.
 *
 * The cost grows with what is open now and with the page: past rounds are closed and lie outside the index, coming ones are read in its
 * order, and risks are gathered from open orders, not from points.
 * @param query `walkerId`: rounds and stops that this person has. `days`: how far ahead.
 */
export async function listDue(
  deps: Deps,
  scope: Scope,
  query: {
    siteId?: string | undefined;
    walkerId?: string | undefined;
    days: number;
    after?: string | undefined;
    pageSize: number;
  },
): Promise<DueList> {
  mustBeAllowed(scope, 'see');
  const at = now(deps, scope);
  const mark = query.after === undefined ? null : readMark(query.after);
  // Pages of one list are cut at one moment, so that a round that becomes due meanwhile is neither lost nor shown twice.
  const moment = sql`${new Date(mark?.at ?? at)}::timestamptz`;
  const horizon = sql`${new Date(at + query.days * DAY)}::timestamptz`;
  const where = sql`r.organisation_id = current_organisation() AND r.closed_at IS NULL
    ${query.siteId ? sql`AND r.site_id = ${query.siteId}::uuid` : sql.empty}
    ${query.walkerId ? sql`AND r.walker_id = ${query.walkerId}::uuid` : sql.empty}`;
  return deps.database.inTenant(scope, async ({ db }) => {
    // Rounds and the risks of open orders meet by sorting, whose cost does not hang on what the planner guesses of either.
    const open = sql`
      SELECT u.id, (CASE WHEN u.latest_at < ${moment} THEN 0 ELSE 1 END) AS place, -coalesce(u.risk, 0)::float8 AS weight,
        extract(epoch FROM u.latest_at)::float8 AS instant
      FROM (SELECT m.id, m.latest_at, max(m.risk) OVER (PARTITION BY m.route_id) AS risk FROM (
          SELECT r.id, r.route_id, r.latest_at, NULL::integer AS risk FROM round r WHERE ${where} AND r.earliest_at <= ${moment}
          UNION ALL
          SELECT NULL, s.route_id, NULL, w.risk FROM work_order w JOIN route_stop s ON s.organisation_id = w.organisation_id AND s.point_id = w.point_id
          WHERE w.organisation_id = current_organisation() AND w.ended_at IS NULL) m) u
      WHERE u.id IS NOT NULL`;
    const beyond = (key: { place: number; weight: number; instant: number; id: string }) =>
      sql`WHERE (x.place, x.weight, x.instant, x.id) > (${key.place}::int, ${key.weight}::float8, ${key.instant}::float8, ${key.id}::uuid)`;
    interface Found {
      id: string;
      place: number;
      weight: number;
      instant: number;
    }
    const wanted = query.pageSize + 1;
    const found: Found[] =
      mark && mark.place === 2
        ? []
        : await db.$queryRaw<Found[]>(sql`
            SELECT * FROM (${open}) x ${mark ? beyond(mark) : sql.empty} ORDER BY x.place, x.weight, x.instant, x.id LIMIT ${wanted}`);
    if (found.length < wanted) {
      const start: Sql =
        mark && mark.place === 2
          ? sql`(r.earliest_at, r.id) > (${new Date(mark.instant)}::timestamptz, ${mark.id}::uuid)`
          : sql`r.earliest_at > ${moment}`;
      const coming = await db.$queryRaw<{ id: string; earliestAt: Date }[]>(sql`
        SELECT r.id, r.earliest_at AS "earliestAt" FROM round r WHERE ${where} AND ${start} AND r.earliest_at <= ${horizon}
        ORDER BY r.earliest_at, r.id LIMIT ${wanted - found.length}`);
      found.push(...coming.map(({ id, earliestAt }) => ({ id, place: 2, weight: 0, instant: earliestAt.getTime() })));
    }
    const page = found.slice(0, query.pageSize);
    const last = page.at(-1);
    const rounds = await roundLines(
      db,
      sql`SELECT * FROM unnest(${page.map(({ id }) => id)}::uuid[]) WITH ORDINALITY AS p(id, ordinal)`,
      at,
    );
    const [counts] = await db.$queryRaw<DueList['counts'][]>(sql`
      SELECT count(*) FILTER (WHERE r.latest_at < ${moment})::int AS overdue,
        count(*) FILTER (WHERE r.earliest_at <= ${moment} AND r.latest_at >= ${moment})::int AS due,
        count(*) FILTER (WHERE r.earliest_at > ${moment})::int AS coming
      FROM round r WHERE ${where} AND r.earliest_at <= ${horizon}`);
    const stops = mark
      ? []
      : await extraStopLines(
          db,
          sql`e.closed_at IS NULL AND e.earliest_at <= ${horizon}
            ${query.siteId ? sql`AND e.site_id = ${query.siteId}::uuid` : sql.empty}
            ${query.walkerId ? sql`AND coalesce(e.walker_id, (SELECT r.walker_id FROM round r WHERE r.organisation_id = e.organisation_id AND r.id = e.round_id)) = ${query.walkerId}::uuid` : sql.empty}`,
          MOST_STOPS,
        );
    return {
      now: new Date(at),
      counts: counts!,
      rounds,
      extraStops: stops,
      next: found.length > query.pageSize && last ? writeMark({ ...last, at: mark?.at ?? at }) : null,
    };
  });
}

interface Mark {
  readonly at: number;
  readonly place: number;
  readonly weight: number;
  readonly instant: number;
  readonly id: string;
}

const writeMark = ({ at, place, weight, instant, id }: Mark) =>
  Buffer.from(JSON.stringify([at, place, weight, instant, id])).toString('base64url');

function readMark(text: string): Mark {
  try {
    const [at, place, weight, instant, id] = JSON.parse(Buffer.from(text, 'base64url').toString()) as unknown[];
    const numbers = [at, place, weight, instant] as number[];
    // Instants that a date can hold; anything else is no mark of ours.
    if (
      numbers.every((one) => Number.isFinite(one) && Math.abs(one) < 8e15) &&
      typeof id === 'string' &&
      /^[0-9a-f-]{36}$/.test(id)
    )
      return { at: numbers[0]!, place: Math.trunc(numbers[1]!), weight: numbers[2]!, instant: numbers[3]!, id };
  } catch {}
  throw new Problem('invalid-request', 'The page mark is not one of ours; start again without it.', [
    { pointer: '#/after', detail: 'expected the value of next from the page before' },
  ]);
}
