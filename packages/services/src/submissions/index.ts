/**
 * Handing in facts: many at once, each answered on its own. The whole batch goes in with a few set-based statements; when anything
 * unusual happens to it, every fact gets a transaction of its own, so that one never takes another down.
 */
import { type Fact, may } from '@heatround/domain';
import { databaseCode, type TenantDb, type Unit } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, now, type Scope } from '../deps/index.ts';
import { type Recorded, recordFacts } from '../readings/index.ts';
import { followFacts } from '../repairs/index.ts';
import { findOtherRounds, settleAfter } from '../rounds/index.ts';

export type { Recorded };

/**
 * @returns the moment of receipt and one answer per fact, in the order given; sending the same again gives the same end state.
 * @throws Problem not-allowed when none of the roles may submit.
 */
export async function submitFacts(
  deps: Deps,
  scope: Scope,
  facts: readonly Fact[],
): Promise<{ receivedAt: number; results: Recorded[] }> {
  mustBeAllowed(scope, 'submit-facts');
  const receivedAt = now(deps, scope);
  const record = (batch: readonly Fact[]) =>
    deps.database.inTenant(scope, (unit) => submitWithin(unit, scope, batch, { at: receivedAt, receivedAt }));
  try {
    return { receivedAt, results: await record(facts) };
  } catch (error) {
    deps.log.warn(
      { reason: reasonOf(error), facts: facts.length },
      'a batch did not go in as a whole; taking its facts one by one',
    );
    const results: Recorded[] = [];
    for (const fact of facts) results.push(await record([fact]).then((recorded) => recorded[0]!, refusal(deps, fact)));
    return { receivedAt, results };
  }
}

/**
 * The same inside a transaction of the caller, who has asked for the right; all or nothing.
 * @param times at: the present moment; receivedAt: when the facts reached the service. Epoch milliseconds, the organisation's clock.
 */
export async function submitWithin(
  { db, announce }: Unit,
  scope: Scope,
  facts: readonly Fact[],
  { at, receivedAt }: { readonly at: number; readonly receivedAt: number },
): Promise<Recorded[]> {
  const recording = { scope, receivedAt, mayCorrectAny: may(scope.roles, 'correct-any-reading') };
  const mayCorrect = recording.mayCorrectAny || may(scope.roles, 'correct-own-reading');
  const allowed = facts.filter((fact) => mayCorrect || !(fact.kind === 'reading-taken' && fact.corrects));
  const results = await recordFacts(db, recording, allowed);
  const changed = allowed.filter((_, i) => results[i]!.outcome === 'created' || results[i]!.outcome === 'conflict');
  if (changed.length > 0) announce('point-changed', { pointIds: await pointsOf(db, changed) });
  const ended = await settleAfter(
    db,
    changed,
    results.some(({ outcome }) => outcome === 'conflict'),
    at,
  );
  const recorded = await followFacts({ db }, scope, { receivedAt: at, isImported: false }, allowed, results);
  await findOtherRounds(db, ended);
  const answers = new Map(allowed.map((fact, i) => [fact, recorded[i]!]));
  return facts.map((fact) => answers.get(fact) ?? NOT_YOURS_TO_CORRECT);
}

/** The points a fact says something about: its own, or every point of the asset that was worked on. */
async function pointsOf(db: TenantDb, facts: readonly Fact[]): Promise<string[]> {
  const points = facts.flatMap((fact) => ('pointId' in fact && fact.pointId ? [fact.pointId] : []));
  const assets = facts.flatMap((fact) => (fact.kind === 'work-recorded' && !fact.pointId ? [fact.assetId] : []));
  const found = assets.length > 0 ? await db.point.findMany({ where: { assetId: { in: assets } }, select: { id: true } }) : [];
  return [...new Set([...points, ...found.map(({ id }) => id)])];
}

const NOT_YOURS_TO_CORRECT: Recorded = {
  outcome: 'refused',
  code: 'invalid-request',
  detail: 'Your role does not correct readings; hand in a new reading with a word about the old one.',
  errors: [{ pointer: '/corrects', detail: 'expected none for this role' }],
};

/** The database’s code where it has one: its words may quote what was entered. */
const reasonOf = (error: unknown): string => {
  const code = databaseCode(error);
  return code === null ? String(error) : `refused by the database (${code})`;
};

/** A fact that the database itself would not take: refused alone, kept on the device, and in the log for us. */
const refusal =
  ({ log }: Deps, fact: Fact) =>
  (error: unknown): Recorded => {
    log.error({ factId: fact.id, kind: fact.kind, reason: reasonOf(error) }, 'a fact could not be stored');
    return {
      outcome: 'refused',
      code: 'invalid-request',
      detail:
        'The service could not store this entry. It stays on your device; the people who run the service see the cause in the log.',
      errors: [],
    };
  };
