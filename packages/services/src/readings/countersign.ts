import type { Grade } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, ID, INSTANT, mustBeAllowed, now, readMark, type Scope, writeMark } from '../deps/index.ts';

/** Readings by somebody who is a trainee and nothing else are to be countersigned. */
export const isTraineeOnly = (roles: readonly string[]): boolean => roles.length > 0 && roles.every((role) => role === 'trainee');

/** Asks for a countersignature of readings that were just written. Asking twice changes nothing. */
export const askToCountersign = (db: TenantDb, traineeId: string, factIds: readonly string[], at: number): Promise<unknown> =>
  factIds.length === 0
    ? Promise.resolve()
    : db.$executeRaw(sql`
        INSERT INTO countersign (organisation_id, fact_id, trainee_id, asked_at)
        SELECT current_organisation(), id, ${traineeId}::uuid, ${new Date(at)}::timestamptz FROM unnest(${[...factIds]}::uuid[]) AS f(id) ORDER BY id
        ON CONFLICT DO NOTHING`);

export interface ToCountersign {
  readonly factId: string;
  readonly assetId: string;
  readonly tag: string;
  readonly assetName: string;
  readonly letter: string;
  readonly pointName: string;
  readonly by: string;
  readonly takenAt: Date;
  readonly value: number | null;
  readonly unit: string;
  readonly decimals: number;
  readonly grade: Grade | null;
  readonly sentence: string | null;
  readonly words: string | null;
}

/** Readings of trainees that nobody has countersigned, oldest first; those of the person who asks are left to others. */
export async function listToCountersign(
  { database }: Deps,
  scope: Scope,
  query: { after?: string | undefined; pageSize: number },
): Promise<{ readings: ToCountersign[]; next: string | null }> {
  mustBeAllowed(scope, 'countersign');
  const after = readMark(query.after, [INSTANT, ID]);
  const rows = await database.inTenant(scope, ({ db }) =>
    db.$queryRaw<(ToCountersign & { askedAt: Date })[]>(sql`
      SELECT c.fact_id AS "factId", c.asked_at AS "askedAt", a.id AS "assetId", a.tag, a.name AS "assetName", p.letter, p.name AS "pointName",
        coalesce(m.name, 'somebody no longer here') AS by, f.taken_at AS "takenAt", f.value, p.unit, p.decimals, f.grade,
        f.verdict ->> 'sentence' AS sentence, f.content ->> 'words' AS words
      FROM countersign c
        CROSS JOIN LATERAL (SELECT * FROM fact f WHERE f.organisation_id = c.organisation_id AND f.id = c.fact_id LIMIT 1) f
        CROSS JOIN LATERAL (SELECT * FROM point p WHERE p.organisation_id = c.organisation_id AND p.id = f.point_id LIMIT 1) p
        CROSS JOIN LATERAL (SELECT * FROM asset a WHERE a.organisation_id = c.organisation_id AND a.id = p.asset_id LIMIT 1) a
        LEFT JOIN membership m ON m.organisation_id = c.organisation_id AND m.person_id = c.trainee_id
      WHERE c.organisation_id = current_organisation() AND c.signed_at IS NULL AND c.trainee_id <> ${scope.personId}::uuid
        ${after === null ? sql.empty : sql`AND (c.asked_at, c.fact_id) > (${after[0]}::timestamptz, ${after[1]}::uuid)`}
      ORDER BY c.asked_at, c.fact_id LIMIT ${query.pageSize + 1}`),
  );
  const page = rows.slice(0, query.pageSize);
  const last = page.at(-1);
  return {
    readings: page.map(({ askedAt: _, ...row }) => row),
    next: rows.length > query.pageSize && last ? writeMark(last.askedAt.toISOString(), last.factId) : null,
  };
}

export type Signed = 'signed' | 'own' | 'not-found';

/**
 * Countersigns readings, each for itself; once, whoever presses. Nobody signs an own reading, whatever roles were added since.
 * @returns one outcome per id, in the order given; signing again is signed.
 */
export async function countersign(
  deps: Deps,
  scope: Scope,
  factIds: readonly string[],
  words: string | null,
): Promise<{ factId: string; outcome: Signed }[]> {
  mustBeAllowed(scope, 'countersign');
  const at = new Date(now(deps, scope));
  return deps.database.inTenant(scope, async ({ db }) => {
    // A person narrowed to some sites sees the points of those alone, and so signs there alone.
    const rows = await db.$queryRaw<{ id: string; traineeId: string }[]>(sql`
      SELECT c.fact_id AS id, c.trainee_id AS "traineeId" FROM countersign c
        JOIN fact f ON f.organisation_id = c.organisation_id AND f.id = c.fact_id
        JOIN point p ON p.organisation_id = f.organisation_id AND p.id = f.point_id
      WHERE c.organisation_id = current_organisation() AND c.fact_id = ANY (${[...factIds]}::uuid[]) ORDER BY c.fact_id FOR UPDATE OF c`);
    const traineeOf = new Map(rows.map(({ id, traineeId }) => [id, traineeId]));
    const signs = rows.filter(({ traineeId }) => traineeId !== scope.personId).map(({ id }) => id);
    await db.$executeRaw(sql`
      UPDATE countersign SET signed_by = ${scope.personId}::uuid, signed_at = ${at}, words = ${words}
      WHERE organisation_id = current_organisation() AND fact_id = ANY (${signs}::uuid[]) AND signed_at IS NULL`);
    return factIds.map((factId) => {
      const traineeId = traineeOf.get(factId);
      return { factId, outcome: traineeId === undefined ? 'not-found' : traineeId === scope.personId ? 'own' : 'signed' };
    });
  });
}
