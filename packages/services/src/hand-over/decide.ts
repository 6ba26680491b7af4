import type { Fact, Role } from '@heatround/domain';
import { sql, type Unit } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, now, type Scope } from '../deps/index.ts';
import { type Recorded, submitWithin } from '../submissions/index.ts';

/** What became of one entry. refused: it could not be recorded, it waits on, with the reason. */
export interface Decided {
  readonly id: string;
  readonly outcome: 'accepted' | 'turned-away' | 'refused' | 'not-found';
  /** In words: why it was refused, why it was turned away, what to know of a recorded one. */
  readonly told: string | null;
}

interface Row {
  readonly id: string;
  readonly personId: string;
  readonly name: string;
  readonly content: Fact;
  readonly roles: Role[];
  readonly receivedAt: Date;
  readonly state: 'waiting' | 'accepted' | 'turned-away';
  readonly reason: string | null;
}

const NOT_FOUND = 'There is no such entry in this organisation, or you were not given its site.';

/**
 * Records entries as submitted by the person who took them, with the rights held at that person's last contact. Accepting again,
 * or at the same moment as somebody else, records nothing twice.
 * @param evenTurnedAway also those that somebody turned away before; otherwise these stay as they are.
 * @returns one answer per id, in the order given.
 */
export async function acceptHandedOver(
  deps: Deps,
  scope: Scope,
  ids: readonly string[],
  evenTurnedAway = false,
): Promise<Decided[]> {
  mustBeAllowed(scope, 'correct-any-reading');
  const accept = (some: readonly string[]) =>
    deps.database.inTenant(scope, (unit) => acceptWithin(unit, scope, now(deps, scope), some, evenTurnedAway));
  let decided: Decided[];
  try {
    decided = await accept(ids);
  } catch (error) {
    deps.log.warn({ reason: String(error), entries: ids.length }, 'entries were not accepted as a whole; taking them one by one');
    decided = [];
    for (const id of ids) decided.push(...(await accept([id]).catch(notTaken(deps, id))));
  }
  return inOrder(ids, decided);
}

async function acceptWithin(unit: Unit, scope: Scope, at: number, ids: readonly string[], evenTurnedAway: boolean) {
  const rows = await lockRows(unit, ids);
  const open = rows.filter(({ state }) => state === 'waiting' || (state === 'turned-away' && evenTurnedAway));
  const decided = rows.filter((row) => !open.includes(row)).map(standing);
  // What came together from one person goes in together.
  const parcels = new Map<string, Row[]>();
  for (const row of open) {
    const key = `${row.personId} ${row.roles} ${row.receivedAt.getTime()}`;
    parcels.set(key, [...(parcels.get(key) ?? []), row]);
  }
  for (const parcel of parcels.values()) {
    const { personId, name, roles, receivedAt } = parcel[0]!;
    const facts = parcel.map(({ content }) => content);
    const times = { at, receivedAt: receivedAt.getTime() };
    const recorded = await submitWithin(unit, { ...scope, personId, name, roles }, facts, times);
    const outcomes = parcel.map(({ id }, i) => ({ id, ...told(recorded[i]!) }));
    await unit.db.$executeRaw(sql`
      UPDATE handed_over h SET outcome = r.recorded, refused = CASE WHEN r.recorded IS NULL THEN r.told END,
        state = CASE WHEN r.recorded IS NULL THEN h.state ELSE 'accepted' END,
        decided_by = CASE WHEN r.recorded IS NULL THEN h.decided_by ELSE ${scope.personId}::uuid END,
        decided_at = CASE WHEN r.recorded IS NULL THEN h.decided_at ELSE ${new Date(at)}::timestamptz END
      FROM jsonb_to_recordset(${JSON.stringify(outcomes)}::jsonb) AS r(id uuid, recorded text, told text)
      WHERE h.organisation_id = current_organisation() AND h.id = r.id`);
    for (const { id, recorded: how, told: words } of outcomes)
      decided.push({ id, outcome: how === null ? 'refused' : 'accepted', told: words });
  }
  return decided;
}

const told = (recorded: Recorded): { recorded: string | null; told: string | null } =>
  recorded.outcome === 'refused'
    ? // The device is not here to be told what stays on it.
      { recorded: null, told: recorded.detail.replace(' The entry stays on your device.', '') }
    : { recorded: recorded.outcome, told: recorded.notice };

/**
 * Turns entries away with a reason; they stay on the list of what was decided. One that is recorded already stays recorded.
 * @returns one answer per id, in the order given.
 */
export async function turnAwayHandedOver(deps: Deps, scope: Scope, ids: readonly string[], reason: string): Promise<Decided[]> {
  mustBeAllowed(scope, 'correct-any-reading');
  const decided = await deps.database.inTenant(scope, async (unit) => {
    const rows = await lockRows(unit, ids);
    const open = rows.filter(({ state }) => state === 'waiting').map(({ id }) => id);
    await unit.db.$executeRaw(sql`
      UPDATE handed_over SET state = 'turned-away', reason = ${reason}, decided_by = ${scope.personId}::uuid,
        decided_at = ${new Date(now(deps, scope))}::timestamptz
      WHERE organisation_id = current_organisation() AND id = ANY (${open}::uuid[])`);
    return rows.map((row) => standing(open.includes(row.id) ? { ...row, state: 'turned-away', reason } : row));
  });
  return inOrder(ids, decided);
}

/** Locked in the order of their ids: of two people who decide at once one waits, and then sees what the other did. */
const lockRows = ({ db }: Unit, ids: readonly string[]): Promise<Row[]> =>
  db.$queryRaw<Row[]>(sql`
    SELECT h.id, h.person_id AS "personId", m.name, h.content, h.roles, h.received_at AS "receivedAt", h.state, h.reason
    FROM handed_over h JOIN membership m USING (organisation_id, person_id)
    WHERE h.organisation_id = current_organisation() AND h.id = ANY (${[...ids]}::uuid[]) ORDER BY h.id FOR UPDATE OF h`);

const standing = ({ id, state, reason }: Row): Decided =>
  state === 'accepted' ? { id, outcome: 'accepted', told: null } : { id, outcome: 'turned-away', told: reason };

function inOrder(ids: readonly string[], decided: readonly Decided[]): Decided[] {
  const byId = new Map(decided.map((one) => [one.id, one]));
  return ids.map((id) => byId.get(id) ?? { id, outcome: 'not-found', told: NOT_FOUND });
}

/** An entry that the database itself would not take: it waits on, and the cause is in the log for us. */
const notTaken =
  ({ log }: Deps, id: string) =>
  (error: unknown): Decided[] => {
    log.error({ handedOverId: id, reason: String(error) }, 'an accepted entry could not be stored');
    const words = 'The service could not store this entry. It waits on; the people who run the service see the cause in the log.';
    return [{ id, outcome: 'refused', told: words }];
  };
