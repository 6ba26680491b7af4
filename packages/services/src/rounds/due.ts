import { MOST_COUNTED, Problem } from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, now, type Scope } from '../deps/index.ts';
import { type ExtraStopLine, extraStopLines, isWith } from './extra-lines.ts';
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

/** Likelihood times consequence, see domain/planning. */
const HIGHEST_RISK = 25;

/** Where a round stands in the list: overdue, due, coming; then by risk, then by time. */
interface Place {
  readonly place: 0 | 1 | 2;
  /** Negative risk, so that smaller comes first; 0 for coming ones. */
  readonly weight: number;
  /** End of the window, of coming ones its beginning; epoch milliseconds. */
  readonly instant: number;
  readonly id: string;
}

interface Wanted {
  readonly siteId?: string | undefined;
  readonly walkerId?: string | undefined;
}

/**
 * What is to be read. First the rounds that can be walked now: those whose window is over, then the others, each by the highest risk of
 * an open order on the route, then by the end of the window. After them the coming ones by date.
 *
 * The cost grows with the page: each risk is a stretch of an index of its own, overdue rounds at its beginning and due ones after them.
 * @param query `walkerId`: rounds and stops that this person has. `days`: how far ahead.
 */
export async function listDue(
  deps: Deps,
  scope: Scope,
  query: Wanted & { days: number; after?: string | undefined; pageSize: number },
): Promise<DueList> {
  mustBeAllowed(scope, 'see');
  const at = now(deps, scope);
  const mark = query.after === undefined ? null : readMark(query.after);
  // Pages of one list are cut at one moment, so that a round that becomes due meanwhile is neither lost nor shown twice.
  const moment = sql`${new Date(mark?.at ?? at)}::timestamptz`;
  const horizon = sql`${new Date(at + query.days * DAY)}::timestamptz`;
  return deps.database.inTenant(scope, async ({ db }) => {
    const wanted = query.pageSize + 1;
    const longest = mark === null || mark.place <= 1 ? await longestWindow(db) : sql`interval '0'`;
    const found: Place[] = [];
    for (const place of [0, 1] as const) {
      if (found.length < wanted && (mark === null || mark.place <= place))
        found.push(
          ...(await byRisk(db, query, place, { moment, longest }, mark?.place === place ? mark : null, wanted - found.length)),
        );
    }
    if (found.length < wanted) {
      const start =
        mark?.place === 2
          ? sql`(r.earliest_at, r.id) > (${new Date(mark.instant)}::timestamptz, ${mark.id}::uuid)`
          : sql`r.earliest_at > ${moment}`;
      const coming = await db.$queryRaw<{ id: string; earliestAt: Date }[]>(sql`
        SELECT r.id, r.earliest_at AS "earliestAt" FROM round r WHERE ${open(query)} AND ${start} AND r.earliest_at <= ${horizon}
        ORDER BY r.earliest_at, r.id LIMIT ${wanted - found.length}`);
      found.push(...coming.map(({ id, earliestAt }) => ({ id, place: 2 as const, weight: 0, instant: earliestAt.getTime() })));
    }
    const page = found.slice(0, query.pageSize);
    const last = page.at(-1);
    const rounds = await roundLines(
      db,
      sql`SELECT * FROM unnest(${page.map(({ id }) => id)}::uuid[]) WITH ORDINALITY AS p(id, ordinal)`,
      at,
    );
    const stops = mark
      ? []
      : await extraStopLines(
          db,
          sql`e.closed_at IS NULL AND e.earliest_at <= ${horizon}
            ${query.siteId ? sql`AND e.site_id = ${query.siteId}::uuid` : sql.empty}
            ${query.walkerId ? sql`AND ${isWith(sql`${query.walkerId}::uuid`, horizon)}` : sql.empty}`,
          MOST_STOPS,
        );
    return {
      now: new Date(at),
      counts: await count(db, query, moment, horizon),
      rounds,
      extraStops: stops,
      next: found.length > query.pageSize && last ? writeMark({ ...last, at: mark?.at ?? at }) : null,
    };
  });
}

const open = ({ siteId, walkerId }: Wanted): Sql =>
  sql`r.organisation_id = current_organisation() AND r.closed_at IS NULL ${siteId ? sql`AND r.site_id = ${siteId}::uuid` : sql.empty}
    ${walkerId ? sql`AND r.walker_id = ${walkerId}::uuid` : sql.empty}`;

/**
 * The longest window of an open round at the sites one sees, site by site from the top of an index. A round whose window is open ends
 * within it, which keeps coming ones out of the search.
 */
async function longestWindow(db: TenantDb): Promise<Sql> {
  const [found] = await db.$queryRaw<{ seconds: number | null }[]>(sql`
    SELECT extract(epoch FROM max(x.length))::float8 AS seconds FROM site s CROSS JOIN LATERAL (
      SELECT r.latest_at - r.earliest_at AS length FROM round r WHERE r.site_id = s.id AND r.site_id IS NOT NULL AND r.closed_at IS NULL
      ORDER BY r.latest_at - r.earliest_at DESC LIMIT 1) x
    WHERE s.organisation_id = current_organisation()`);
  return sql`${Math.ceil(found?.seconds ?? 0)} * interval '1 second'`;
}

/** Of overdue rounds the window is over, of due ones it is open. */
const standing = (place: 0 | 1, moment: Sql, longest: Sql): Sql =>
  place === 0
    ? sql`r.latest_at < ${moment}`
    : sql`r.latest_at >= ${moment} AND r.latest_at <= ${moment} + ${longest} AND r.earliest_at <= ${moment}`;

/** Overdue or due rounds from a mark on, each risk read for itself; a person's few rounds are simply sorted. */
async function byRisk(
  db: TenantDb,
  wanted: Wanted,
  place: 0 | 1,
  { moment, longest }: { moment: Sql; longest: Sql },
  mark: Place | null,
  most: number,
): Promise<Place[]> {
  const rows = (risks: Sql, beyond: Sql): Sql => sql`
    SELECT v.risk, x.id, x.latest_at FROM (${risks}) v CROSS JOIN LATERAL (
      SELECT r.id, r.latest_at FROM round r WHERE ${open(wanted)} AND r.risk = v.risk AND ${standing(place, moment, longest)} ${beyond}
      ORDER BY r.latest_at, r.id LIMIT ${most}) x`;
  const own = mark === null ? HIGHEST_RISK + 1 : -mark.weight;
  const rest = rows(sql`SELECT s::smallint AS risk FROM generate_series(0, ${own - 1}::int) s`, sql.empty);
  const begun =
    mark === null
      ? sql.empty
      : sql`UNION ALL ${rows(
          sql`SELECT ${own}::smallint AS risk`,
          sql`AND (r.latest_at, r.id) > (${new Date(mark.instant)}::timestamptz, ${mark.id}::uuid)`,
        )}`;
  const beyondPerson =
    mark === null
      ? sql.empty
      : sql`AND (-r.risk, r.latest_at, r.id) > (${mark.weight}::int, ${new Date(mark.instant)}::timestamptz, ${mark.id}::uuid)`;
  const source = wanted.walkerId
    ? sql`SELECT r.risk, r.id, r.latest_at FROM round r WHERE ${open(wanted)} AND ${standing(place, moment, longest)} ${beyondPerson}`
    : sql`${rest} ${begun}`;
  const found = await db.$queryRaw<{ risk: number; id: string; latestAt: Date }[]>(sql`
    SELECT f.risk, f.id, f.latest_at AS "latestAt" FROM (${source}) f ORDER BY f.risk DESC, f.latest_at, f.id LIMIT ${most}`);
  return found.map(({ risk, id, latestAt }) => ({ place, weight: -risk, instant: latestAt.getTime(), id }));
}

/** How many there are of each, counted no further than MOST_COUNTED. */
async function count(db: TenantDb, wanted: Wanted, moment: Sql, horizon: Sql): Promise<DueList['counts']> {
  const upTo = (rows: Sql): Sql => sql`(SELECT count(*)::int FROM (${rows} LIMIT ${MOST_COUNTED}) x)`;
  const overdue = wanted.walkerId
    ? sql`SELECT 1 FROM round r WHERE ${open(wanted)} AND ${standing(0, moment, sql.empty)} AND r.earliest_at <= ${moment}`
    : sql`SELECT 1 FROM generate_series(0, ${HIGHEST_RISK}::int) s CROSS JOIN LATERAL (
        SELECT 1 FROM round r WHERE ${open(wanted)} AND r.risk = s::smallint AND ${standing(0, moment, sql.empty)} LIMIT ${MOST_COUNTED}) y`;
  // From the newest back, which nothing but the order by beginnings can give: due ones stand at the end, and of overdue ones behind them
  // there are few, since their grace is short.
  const due = sql`SELECT 1 FROM (SELECT r.latest_at FROM round r WHERE ${open(wanted)} AND r.earliest_at <= ${moment}
    ORDER BY r.earliest_at DESC, r.id DESC OFFSET 0) b WHERE b.latest_at >= ${moment}`;
  const coming = sql`SELECT 1 FROM round r WHERE ${open(wanted)} AND r.earliest_at > ${moment} AND r.earliest_at <= ${horizon}
    ORDER BY r.earliest_at`;
  const [counts] = await db.$queryRaw<DueList['counts'][]>(
    sql`SELECT ${upTo(overdue)} AS overdue, ${upTo(due)} AS due, ${upTo(coming)} AS coming`,
  );
  return counts!;
}

interface Mark extends Place {
  readonly at: number;
}

const writeMark = ({ at, place, weight, instant, id }: Mark) =>
  Buffer.from(JSON.stringify([at, place, weight, instant, id])).toString('base64url');

function readMark(text: string): Mark {
  try {
    const [at, place, weight, instant, id] = JSON.parse(Buffer.from(text, 'base64url').toString()) as unknown[];
    // Instants that a date can hold and risks that exist; anything else is no mark of ours.
    if (
      [at, instant].every((one) => Number.isFinite(one) && Math.abs(one as number) < 8e15) &&
      (place === 0 || place === 1 || place === 2) &&
      Number.isInteger(weight) &&
      (weight as number) <= 0 &&
      (weight as number) >= -HIGHEST_RISK &&
      typeof id === 'string' &&
      /^[0-9a-f-]{36}$/.test(id)
    )
      return { at: at as number, place, weight: weight as number, instant: instant as number, id };
  } catch {}
  throw new Problem('invalid-request', 'The page mark is not one of ours; start again without it.', [
    { pointer: '#/after', detail: 'expected the value of next from the page before' },
  ]);
}
