import type { Fact } from '@heatround/domain';
import { sql } from '@heatround/platform/database';
import { type Deps, ID, INSTANT, mustBeAllowed, readMark, type Scope, writeMark } from '../deps/index.ts';

/** One entry on the list. */
export interface HandedOverView {
  readonly id: string;
  readonly person: { readonly id: string; readonly name: string };
  readonly takenAt: Date;
  readonly receivedAt: Date;
  /** Taken after the moment at which access had ended; null: no such moment is known. */
  readonly accessEndedAt: Date | null;
  readonly isAfterEnd: boolean;
  readonly fact: Fact;
  /** Where it was taken, as far as it is known here and of a granted site. */
  readonly asset: { readonly id: string; readonly tag: string; readonly name: string } | null;
  readonly point: { readonly id: string; readonly letter: string; readonly name: string } | null;
  readonly round: { readonly id: string; readonly route: string; readonly plannedAt: Date } | null;
  readonly state: 'waiting' | 'accepted' | 'turned-away';
  readonly decidedBy: string | null;
  readonly decidedAt: Date | null;
  readonly reason: string | null;
  /** Why the last try to accept it could not record it. */
  readonly refused: string | null;
}

export interface HandedOverPage {
  readonly entries: HandedOverView[];
  readonly next: string | null;
}

/** What waits, oldest first, or what was decided, newest first; page by page. */
export async function listHandedOver(
  { database }: Deps,
  scope: Scope,
  {
    which,
    after,
    pageSize,
  }: { readonly which: 'waiting' | 'decided'; readonly after?: string | undefined; readonly pageSize: number },
): Promise<HandedOverPage> {
  mustBeAllowed(scope, 'correct-any-reading');
  const mark = readMark(after, [INSTANT, ID]);
  const part =
    which === 'waiting'
      ? sql`h.state = 'waiting' ${mark ? sql`AND (h.received_at, h.id) > (${mark[0]}::timestamptz, ${mark[1]}::uuid)` : sql.empty}
          ORDER BY h.received_at, h.id`
      : sql`h.state <> 'waiting' ${mark ? sql`AND (h.decided_at, h.id) < (${mark[0]}::timestamptz, ${mark[1]}::uuid)` : sql.empty}
          ORDER BY h.decided_at DESC, h.id DESC`;
  const rows = await database.inTenant(scope, ({ db }) =>
    db.$queryRaw<HandedOverView[]>(sql`
      WITH page AS (SELECT * FROM handed_over h WHERE h.organisation_id = current_organisation() AND ${part} LIMIT ${pageSize + 1})
      SELECT h.id, jsonb_build_object('id', h.person_id, 'name', m.name) AS person, h.taken_at AS "takenAt", h.received_at AS "receivedAt",
        h.access_ended_at AS "accessEndedAt", coalesce(h.taken_at > h.access_ended_at, false) AS "isAfterEnd", h.content AS fact,
        CASE WHEN a.id IS NOT NULL THEN jsonb_build_object('id', a.id, 'tag', a.tag, 'name', a.name) END AS asset,
        CASE WHEN p.id IS NOT NULL THEN jsonb_build_object('id', p.id, 'letter', p.letter, 'name', p.name) END AS point,
        CASE WHEN r.id IS NOT NULL THEN jsonb_build_object('id', r.id, 'route', t.name, 'plannedAt', r.planned_at) END AS round,
        h.state, d.name AS "decidedBy", h.decided_at AS "decidedAt", h.reason, h.refused
      FROM page h
        JOIN membership m ON m.organisation_id = h.organisation_id AND m.person_id = h.person_id
        LEFT JOIN membership d ON d.organisation_id = h.organisation_id AND d.person_id = h.decided_by
        LEFT JOIN point p ON p.organisation_id = h.organisation_id AND p.id = h.point_id
        LEFT JOIN asset a ON a.organisation_id = h.organisation_id AND a.id = coalesce(h.asset_id, p.asset_id)
        LEFT JOIN round r ON r.organisation_id = h.organisation_id AND r.id = h.round_id
        LEFT JOIN route t ON t.organisation_id = r.organisation_id AND t.id = r.route_id
      ORDER BY ${which === 'waiting' ? sql`h.received_at, h.id` : sql`h.decided_at DESC, h.id DESC`}`),
  );
  const entries = rows.slice(0, pageSize);
  const last = entries.at(-1);
  const at = which === 'waiting' ? last?.receivedAt : last?.decidedAt;
  return { entries, next: rows.length > entries.length && last && at ? writeMark(at.toISOString(), last.id) : null };
}

const MOST_COUNTED = 999;

/** How many wait, counted up to 999. */
export async function countHandedOver({ database }: Deps, scope: Scope): Promise<{ waiting: number }> {
  mustBeAllowed(scope, 'correct-any-reading');
  const [row] = await database.inTenant(scope, ({ db }) =>
    db.$queryRaw<{ waiting: number }[]>(sql`
      SELECT count(*)::int AS waiting FROM (SELECT 1 FROM handed_over
        WHERE organisation_id = current_organisation() AND state = 'waiting' LIMIT ${MOST_COUNTED}) w`),
  );
  return row!;
}
