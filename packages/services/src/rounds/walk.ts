import { may, sayDay } from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import type { Place } from '../assets/index.ts';
import { type Deps, mustBeAllowed, now, type Scope } from '../deps/index.ts';
import { type ExtraStopLine, extraStopLines } from './extra-lines.ts';
import { type RoundLine, roundLines } from './lines.ts';

const DAY = 86_400_000;
const MOST = 50;
/** Rounds handed in are shown as safe for so long, and what became of findings is told for so long. */
const SAFE_DAYS = 14;
const TOLD_DAYS = 60;
const MOST_TOLD = 10;

export interface MyWalk {
  readonly now: Date;
  readonly rounds: (RoundLine & {
    readonly beforeYouLeave: string;
    readonly rooms: { readonly place: Place; readonly stops: number; readonly assets: string }[];
  })[];
  readonly extraStops: ExtraStopLine[];
  readonly nextRound: RoundLine | null;
  readonly safe: (RoundLine & { readonly handedInAt: Date })[];
  /** Taken and not handed in by them: given to somebody, or missed. */
  readonly unfinished: RoundLine[];
  readonly became: Became[];
}

interface Became {
  readonly findingId: string;
  readonly orderId: string | null;
  readonly number: number;
  readonly tag: string;
  readonly letter: string;
  readonly assetName: string;
  readonly said: string;
  readonly at: Date;
}

/**
 * What a person walks now: rounds they have, and those that nobody has yet where they may submit; extra stops of theirs, and those on
 * their own that nobody has; their next round; what they handed in lately and is safe here, and what they took and did not hand in;
 * what became of their findings.
 */
export async function myWalk(deps: Deps, scope: Scope): Promise<MyWalk> {
  mustBeAllowed(scope, 'see');
  const at = now(deps, scope);
  const moment = sql`${new Date(at)}::timestamptz`;
  const me = sql`${scope.personId}::uuid`;
  // Whoever only reads has no walk of their own to take.
  const free = may(scope.roles, 'submit-facts');
  const mine = sql`(r.walker_id = ${me} ${free ? sql`OR r.walker_id IS NULL` : sql.empty})`;
  // One's own and those nobody has, each read from its own stretch of the index.
  const each = (condition: Sql, order: Sql, most: number): Sql => {
    const of = (whose: Sql): Sql => sql`(SELECT r.id, r.earliest_at, r.latest_at FROM round r
      WHERE r.organisation_id = current_organisation() AND r.closed_at IS NULL AND ${whose} AND ${condition} ORDER BY ${order} LIMIT ${most})`;
    return free ? sql`${of(sql`r.walker_id = ${me}`)} UNION ALL ${of(sql`r.walker_id IS NULL`)}` : of(sql`r.walker_id = ${me}`);
  };
  return deps.database.inTenant(scope, async ({ db }) => {
    const inOrder = sql`r.earliest_at, r.id`;
    // Those begun before their window are looked for by themselves, else every coming round would be.
    const walkable = sql`${each(sql`r.earliest_at <= ${moment}`, inOrder, MOST)} UNION ALL
      ${each(sql`r.started_at IS NOT NULL AND r.earliest_at > ${moment}`, inOrder, MOST)}`;
    const ready = await roundLines(
      db,
      sql`SELECT r.id, row_number() OVER (ORDER BY r.latest_at, r.id) AS ordinal FROM (${walkable}) r ORDER BY r.latest_at, r.id LIMIT ${MOST}`,
      at,
    );
    const rooms = await roomsOf(
      db,
      ready.map(({ id }) => id),
    );
    const ahead = each(sql`r.earliest_at > ${moment} AND r.started_at IS NULL`, inOrder, 1);
    const [nextRound] = await roundLines(
      db,
      sql`SELECT r.id, 1 AS ordinal FROM (${ahead}) r ORDER BY r.earliest_at, r.id LIMIT 1`,
      at,
    );
    const lately = sql`${new Date(at - SAFE_DAYS * DAY)}::timestamptz`;
    const handedIn = await db.$queryRaw<{ id: string; at: Date }[]>(sql`
      SELECT r.id, r.handed_in_at AS at FROM round r WHERE r.organisation_id = current_organisation() AND r.handed_in_by = ${me}
        AND r.handed_in_at > ${lately} ORDER BY r.handed_in_at DESC LIMIT ${MOST}`);
    const handedInAt = new Map(handedIn.map((one) => [one.id, one.at]));
    const safe = await roundLines(
      db,
      sql`SELECT id, ordinal FROM unnest(${[...handedInAt.keys()]}::uuid[]) WITH ORDINALITY AS w(id, ordinal)`,
      at,
    );
    const unfinished = await roundLines(
      db,
      sql`SELECT r.id, row_number() OVER (ORDER BY r.latest_at DESC, r.id) AS ordinal FROM round r
        WHERE r.organisation_id = current_organisation() AND r.taken_by = ${me} AND r.latest_at > ${lately}
          AND r.handed_in_by IS DISTINCT FROM ${me} AND r.called_off IS NULL
          AND (r.closed_at IS NOT NULL OR r.ends_at < ${moment} OR r.walker_id IS DISTINCT FROM ${me}) ORDER BY r.latest_at DESC, r.id LIMIT ${MOST_TOLD}`,
      at,
    );
    const extraStops = await extraStopLines(
      db,
      sql`e.closed_at IS NULL AND e.earliest_at <= ${moment} + interval '1 day' AND (e.walker_id = ${me}
        ${free ? sql`OR (e.walker_id IS NULL AND e.round_id IS NULL)` : sql.empty}
        OR (e.walker_id IS NULL AND (SELECT r.closed_at IS NULL AND r.earliest_at <= ${moment} AND ${mine} FROM round r
          WHERE r.organisation_id = e.organisation_id AND r.id = e.round_id)))`,
      MOST,
    );
    return {
      now: new Date(at),
      rounds: ready.map((line) => ({ ...line, ...rooms.get(line.id)! })),
      extraStops,
      nextRound: nextRound ?? null,
      safe: safe.map((line) => ({ ...line, handedInAt: handedInAt.get(line.id)! })),
      unfinished,
      became: await becameOf(db, scope.personId, at),
    };
  });
}

type Rooms = Pick<MyWalk['rounds'][number], 'beforeYouLeave' | 'rooms'>;

/** Rooms of rounds in walking order, with the tags to be read there. */
async function roomsOf(db: TenantDb, roundIds: readonly string[]): Promise<Map<string, Rooms>> {
  const rows = await db.$queryRaw<
    { id: string; beforeYouLeave: string; place: Place | null; stops: number; assets: string }[]
  >(sql`
    SELECT x.id, x."beforeYouLeave", CASE WHEN r.id IS NOT NULL THEN ${sql`jsonb_build_object('siteId', s.id, 'site', s.name, 'zone', s.zone, 'buildingId', b.id,
      'building', b.name, 'roomId', r.id, 'room', r.name)`} END AS place, x.stops, x.assets
    FROM (SELECT o.id, t.before_you_leave AS "beforeYouLeave", a.room_id, a.organisation_id, count(p.id)::int AS stops,
        string_agg(DISTINCT a.tag, ', ' ORDER BY a.tag) AS assets, min(k.position) AS first
      FROM unnest(${[...roundIds]}::uuid[]) AS w(id)
        CROSS JOIN LATERAL (SELECT * FROM round o WHERE o.organisation_id = current_organisation() AND o.id = w.id LIMIT 1) o
        CROSS JOIN LATERAL (SELECT * FROM route t WHERE t.organisation_id = o.organisation_id AND t.id = o.route_id LIMIT 1) t
        LEFT JOIN LATERAL (SELECT * FROM route_stop k WHERE k.organisation_id = t.organisation_id AND k.route_id = t.id OFFSET 0) k ON true
        LEFT JOIN LATERAL (SELECT * FROM point p WHERE p.organisation_id = k.organisation_id AND p.id = k.point_id LIMIT 1) p
          ON p.retired_at IS NULL
        LEFT JOIN LATERAL (SELECT * FROM asset a WHERE a.organisation_id = p.organisation_id AND a.id = p.asset_id LIMIT 1) a ON true
      GROUP BY o.id, t.before_you_leave, a.room_id, a.organisation_id) x
      LEFT JOIN room r ON r.organisation_id = x.organisation_id AND r.id = x.room_id
      LEFT JOIN building b ON b.organisation_id = r.organisation_id AND b.id = r.building_id
      LEFT JOIN site s ON s.organisation_id = b.organisation_id AND s.id = b.site_id
    ORDER BY x.id, x.first`);
  const byRound = new Map<string, Rooms>();
  for (const { id, beforeYouLeave, place, stops, assets } of rows) {
    const found = byRound.get(id) ?? { beforeYouLeave, rooms: [] };
    if (place) found.rooms.push({ place, stops, assets });
    byRound.set(id, found);
  }
  return byRound;
}

interface ToldRow extends Omit<Became, 'said'> {
  readonly stands: string;
  readonly orderStands: string | null;
  readonly why: string | null;
  readonly by: string | null;
  readonly until: string | null;
  readonly zone: string;
}

/** What became of the findings somebody reported: the last thing that was decided or done, newest first. */
async function becameOf(db: TenantDb, personId: string, at: number): Promise<Became[]> {
  const rows = await db.$queryRaw<ToldRow[]>(sql`
    SELECT f.id AS "findingId", f.order_id AS "orderId", f.number, a.tag, p.letter, a.name AS "assetName", f.stands, o.stands AS "orderStands", last.moved_at AS at,
      last.record ->> 'why' AS why, m.name AS by,
      coalesce(o.state #>> '{livingWith,until}', f.state #>> '{livingWith,until}') AS until, s.zone
    FROM (SELECT f.* FROM finding f WHERE f.organisation_id = current_organisation() AND f.reported_by = ${personId}::uuid
        ORDER BY f.reported_at DESC LIMIT 100) f
      LEFT JOIN LATERAL (SELECT * FROM work_order o WHERE o.organisation_id = f.organisation_id AND o.id = f.order_id LIMIT 1) o ON true
      CROSS JOIN LATERAL (SELECT v.* FROM move v WHERE v.organisation_id = f.organisation_id AND v.subject_id IN (f.id, f.order_id)
        ORDER BY v.moved_at DESC, v.version DESC LIMIT 1) last
      LEFT JOIN LATERAL (SELECT m.name FROM membership m WHERE m.organisation_id = f.organisation_id AND m.person_id = last.moved_by LIMIT 1) m ON true
      CROSS JOIN LATERAL (SELECT * FROM point p WHERE p.organisation_id = f.organisation_id AND p.id = f.point_id LIMIT 1) p
      CROSS JOIN LATERAL (SELECT * FROM asset a WHERE a.organisation_id = p.organisation_id AND a.id = p.asset_id LIMIT 1) a
      JOIN site s ON s.organisation_id = a.organisation_id AND s.id = a.site_id
    WHERE last.moved_at > ${new Date(at - TOLD_DAYS * DAY)}::timestamptz
    ORDER BY last.moved_at DESC, f.number DESC LIMIT ${MOST_TOLD}`);
  return rows.map(({ stands, orderStands, why, by, until, zone, ...row }) => ({
    ...row,
    said: saidOf(orderStands ?? stands, by, why, until === null ? null : sayDay(Number(until), zone, at)),
  }));
}

/** Why a finding waits again, in the words of the person who reads it. */
const WAITS_AGAIN: Readonly<Record<string, string>> = {
  'read-again': 'it was read again',
  'until-ended': 'the time agreed for it is over',
  'grade-worse': 'it got worse',
  'ended-early': 'living with it was ended early',
};

/** Words for the state of a finding or its order. @example saidOf('turned-down', 'Jonas', 'painted lug', null) // 'Turned down by Jonas: painted lug' */
function saidOf(stands: string, by: string | null, why: string | null, until: string | null): string {
  const who = by === null ? '' : ` by ${by}`;
  const because = why === null || why.trim() === '' ? '' : `: ${why}`;
  switch (stands) {
    case 'reported':
      return `Waiting for an answer again${why === null ? '' : `: ${WAITS_AGAIN[why] ?? why}`}`;
    case 'agreed':
      return `Agreed${who}`;
    case 'read-again':
      return `To be read again${who}${because}`;
    case 'same-as':
    case 'merged':
      return `Known already, merged${who}`;
    case 'turned-down':
      return `Turned down${who}${because}`;
    case 'living-with':
      return `Living with it${until === null ? '' : ` until ${until}`}${because}`;
    case 'slotted':
      return `Slotted${who}`;
    case 'under-way':
      return `Under way${who}`;
    case 'stuck':
      return `Stuck${because}`;
    case 'done':
      return `Done${who}, to be proved`;
    case 'proved':
      return 'Proved';
    case 'closed-unproved':
      return `Closed unproved${who}${because}`;
    default:
      return stands;
  }
}
