import { randomBytes } from 'node:crypto';
import { type Fact, may, Problem, uuidV7 } from '@heatround/domain';
import type { HandOverClaims } from '@heatround/platform/accounts';
import { databaseCode, sql, type TenantDb } from '@heatround/platform/database';
import type { Deps } from '../deps/index.ts';
import { hashOf } from '../readings/index.ts';

/**
 * held: it waits for a planner now. duplicate: this content was here already, waiting, decided or recorded. refused: the database
 * itself would not take it.
 */
export type Held = 'held' | 'duplicate' | 'refused';

/** One person's entries waiting at a time; a device holds some hundreds after 14 days of walking. */
const MOST_WAITING = 5000;

/**
 * Puts facts on the list, each once. Whether their points exist is neither asked nor told.
 * @param claims what the device's token says. @param sessionEndedAt when its session was ended, epoch milliseconds; null: it was not.
 * @returns the moment of receipt by the real clock, and one answer per fact, in the order given.
 * @throws Problem not-signed-in for somebody who never belonged there; too-many-requests when too much of this person waits.
 */
export async function holdFacts(
  { database, clock, log }: Deps,
  claims: HandOverClaims,
  sessionEndedAt: number | null,
  facts: readonly Fact[],
): Promise<{ receivedAt: number; results: Held[] }> {
  const receivedAt = clock.now();
  const hold = (batch: readonly Fact[]) =>
    database.inTenant({ organisationId: claims.organisationId, siteIds: null }, ({ db }) =>
      holdWithin(db, claims, { receivedAt, sessionEndedAt }, batch),
    );
  try {
    return { receivedAt, results: await hold(facts) };
  } catch (error) {
    if (error instanceof Problem) throw error;
    log.warn({ reason: String(error), facts: facts.length }, 'a batch was not held as a whole; taking its facts one by one');
    const results: Held[] = [];
    for (const fact of facts) {
      const one = await hold([fact]).catch((cause): Held[] => {
        // Away is not unfit: the device tries again.
        if (databaseCode(cause)?.startsWith('22') !== true) throw cause;
        log.error({ factId: fact.id, kind: fact.kind, reason: String(cause) }, 'a fact could not be held');
        return ['refused'];
      });
      results.push(one[0]!);
    }
    return { receivedAt, results };
  }
}

async function holdWithin(
  db: TenantDb,
  { organisationId, personId, roles, contactAt }: HandOverClaims,
  { receivedAt, sessionEndedAt }: { readonly receivedAt: number; readonly sessionEndedAt: number | null },
  facts: readonly Fact[],
): Promise<Held[]> {
  const access = await accessOf(db, personId, receivedAt, sessionEndedAt);
  await mustHaveRoom(db, personId);
  const rows = facts.map((fact) => ({ fact, hash: hashOf(fact) }));
  const recorded = await recordedAmong(db, rows);
  const fresh = new Map(rows.filter((row) => !recorded.has(keyOf(row))).map((row) => [keyOf(row), row]));
  const inOrderTaken = [...fresh.values()].sort((a, b) => Date.parse(a.fact.takenAt) - Date.parse(b.fact.takenAt));
  const sent = inOrderTaken.map(({ fact, hash }, i) => ({
    // The first bytes count up, so that what came together is listed in the order it was taken.
    id: uuidV7(receivedAt, new Uint8Array([i >> 8, i & 255, ...randomBytes(8)])),
    factId: fact.id,
    content: fact,
    hash,
    pointId: 'pointId' in fact ? (fact.pointId ?? null) : null,
    assetId: 'assetId' in fact ? fact.assetId : null,
    roundId: 'roundId' in fact ? (fact.roundId ?? null) : null,
    takenAt: fact.takenAt,
  }));
  const inserted = await db.$queryRaw<{ id: string; hash: string }[]>(sql`
    INSERT INTO handed_over (organisation_id, id, person_id, fact_id, content, content_hash, point_id, asset_id, round_id, taken_at,
      received_at, roles, contact_at, access_ended_at)
    SELECT ${organisationId}::uuid, r.id, ${personId}::uuid, r."factId", r.content, decode(r.hash, 'hex'), r."pointId", r."assetId",
      r."roundId", r."takenAt", ${new Date(receivedAt + access.offsetMs)}::timestamptz, ${[...roles]},
      ${new Date(contactAt + access.offsetMs)}::timestamptz, ${access.endedAt}::timestamptz
    FROM jsonb_to_recordset(${JSON.stringify(sent)}::jsonb) AS r(id uuid, "factId" uuid, content jsonb, hash text, "pointId" uuid,
      "assetId" uuid, "roundId" uuid, "takenAt" timestamptz)
    ORDER BY r."factId", r.hash
    ON CONFLICT (organisation_id, person_id, fact_id, content_hash) DO NOTHING
    RETURNING fact_id AS id, encode(content_hash, 'hex') AS hash`);
  const held = new Set(inserted.map(({ id, hash }) => `${id} ${hash}`));
  // Of two equal ones in a batch the first is held, the second its duplicate.
  return rows.map((row): Held => (held.delete(keyOf(row)) ? 'held' : 'duplicate'));
}

interface Content {
  readonly fact: Fact;
  readonly hash: string;
}
const keyOf = ({ fact, hash }: Content): string => `${fact.id} ${hash}`;

/** The organisation's clock beside the real one, and the earliest moment at which access is known to have ended, by that clock. */
async function accessOf(
  db: TenantDb,
  personId: string,
  receivedAt: number,
  sessionEndedAt: number | null,
): Promise<{ offsetMs: number; endedAt: Date | null }> {
  const [member] = await db.$queryRaw<
    { roles: string[]; endsAt: Date | null; rolesChangedAt: Date | null; offset: bigint }[]
  >(sql`
    SELECT m.roles, m.ends_at AS "endsAt", m.roles_changed_at AS "rolesChangedAt", o.clock_offset_ms AS offset
    FROM membership m JOIN organisation o USING (organisation_id)
    WHERE m.organisation_id = current_organisation() AND m.person_id = ${personId}::uuid`);
  if (!member) throw new Problem('not-signed-in', 'This cannot be handed over. Sign in; what you entered stays on your device.');
  const offsetMs = Number(member.offset);
  const ends = [
    member.endsAt?.getTime(),
    may(member.roles, 'submit-facts') ? undefined : member.rolesChangedAt?.getTime(),
    sessionEndedAt === null ? undefined : sessionEndedAt + offsetMs,
  ].filter((end) => end !== undefined && end <= receivedAt + offsetMs) as number[];
  return { offsetMs, endedAt: ends.length > 0 ? new Date(Math.min(...ends)) : null };
}

async function mustHaveRoom(db: TenantDb, personId: string): Promise<void> {
  const [waiting] = await db.$queryRaw<{ count: number }[]>(sql`
    SELECT count(*)::int AS count FROM (SELECT 1 FROM handed_over
      WHERE organisation_id = current_organisation() AND person_id = ${personId}::uuid AND state = 'waiting' LIMIT ${MOST_WAITING}) w`);
  if (waiting!.count >= MOST_WAITING) {
    throw new Problem(
      'too-many-requests',
      'So many of your entries wait for a planner that no more are taken now. They stay on your device; sign in, or try again later.',
    );
  }
}

/** Those that are on record already, under the same id and with the same content. */
async function recordedAmong(db: TenantDb, rows: readonly Content[]): Promise<Set<string>> {
  const ids = rows.map(({ fact }) => fact.id);
  const known = await db.$queryRaw<{ id: string; hash: string }[]>(sql`
    SELECT id, encode(content_hash, 'hex') AS hash FROM fact WHERE organisation_id = current_organisation() AND id = ANY (${ids}::uuid[])
    UNION ALL
    SELECT fact_id, encode(content_hash, 'hex') FROM fact_conflict
    WHERE organisation_id = current_organisation() AND fact_id = ANY (${ids}::uuid[])`);
  return new Set(known.map(({ id, hash }) => `${id} ${hash}`));
}
