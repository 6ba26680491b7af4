import {
  type ConcludeInput,
  type Conclusion,
  type DiaryForecast,
  type HitRate,
  hitRateOf,
  outcomesOf,
  PROJECTION_METHOD,
  type Quantity,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, type Scope } from '../deps/index.ts';

interface Watched {
  pointId: string;
  grade: string;
  revision: bigint;
  method: string;
  limit: number;
  direction: 'high' | 'low';
  cutAt: Date;
  earliestAt: Date;
  likelyAt: Date | null;
  latestAt: Date | null;
}

/** Most forecasts of one point that are looked at once; those left are found with its next reading. */
const MOST_AT_ONCE = 200;

/**
 * Writes what became of the forecasts of points that were just concluded, and counts it; once each, whoever comes first.
 * Asked are only those of which the last reading or work may tell: it is over the limit or after their latest date.
 */
export async function writeOutcomes(
  db: TenantDb,
  concluded: readonly { readonly input: ConcludeInput; readonly conclusion: Conclusion }[],
): Promise<void> {
  const told = concluded.flatMap(({ conclusion: { pointId, latestComparable, reset } }) =>
    latestComparable === null && reset === null
      ? []
      : [
          {
            pointId,
            value: latestComparable?.value ?? null,
            at: latestComparable === null ? null : new Date(latestComparable.takenAt).toISOString(),
            resetAt: reset === null ? null : new Date(reset.at).toISOString(),
          },
        ],
  );
  if (told.length === 0) return;
  const watched = await db.$queryRaw<Watched[]>(sql`
    SELECT w.* FROM jsonb_to_recordset(${JSON.stringify(told)}::jsonb) AS t("pointId" uuid, value float8, at timestamptz, "resetAt" timestamptz)
      CROSS JOIN LATERAL (
        SELECT f.point_id AS "pointId", f.limit_grade AS grade, f.revision, f.method, f.limit_value AS limit, f.direction, f.cut_at AS "cutAt",
          f.earliest_at AS "earliestAt", f.likely_at AS "likelyAt", f.latest_at AS "latestAt"
        FROM forecast f
        WHERE f.organisation_id = current_organisation() AND f.point_id = t."pointId" AND f.outcome IS NULL AND f.shown = 'range'
          AND f.earliest_at IS NOT NULL AND (f.latest_at < t.at OR f.cut_at < t."resetAt"
            OR (f.cut_at < t.at AND CASE f.direction WHEN 'high' THEN t.value >= f.limit_value ELSE t.value <= f.limit_value END))
        ORDER BY f.cut_at LIMIT ${MOST_AT_ONCE}) w`);
  if (watched.length === 0) return;
  const decided = concluded.flatMap(({ input, conclusion: { pointId } }) => {
    const forecasts = watched.filter((one) => one.pointId === pointId);
    if (forecasts.length === 0) return [];
    const outcomes = outcomesOf(input, forecasts.map(toDiary));
    return forecasts.flatMap(({ grade, revision, method }, at) =>
      outcomes[at] === 'open'
        ? []
        : [{ pointId, grade, revision: String(revision), method, outcome: outcomes[at], quantity: input.point.quantity }],
    );
  });
  if (decided.length === 0) return;
  await db.$executeRaw(sql`
    WITH written AS (
      UPDATE forecast f SET outcome = d.outcome
      FROM jsonb_to_recordset(${JSON.stringify(decided)}::jsonb)
        AS d("pointId" uuid, grade text, revision bigint, method text, outcome text, quantity text)
      WHERE f.organisation_id = current_organisation() AND f.point_id = d."pointId" AND f.limit_grade = d.grade AND f.revision = d.revision
        AND f.method = d.method AND f.outcome IS NULL
      RETURNING f.method, d.quantity, d.outcome)
    INSERT INTO forecast_score AS s (organisation_id, method, quantity, outcome, count)
    SELECT current_organisation(), method, quantity, outcome, count(*) FROM written GROUP BY 2, 3, 4 ORDER BY 2, 3, 4
    ON CONFLICT (organisation_id, method, quantity, outcome) DO UPDATE SET count = s.count + excluded.count`);
}

const toDiary = ({ cutAt, earliestAt, likelyAt, latestAt, limit, direction }: Watched): DiaryForecast => ({
  cutAt: cutAt.getTime(),
  earliestAt: earliestAt.getTime(),
  likelyAt: likelyAt?.getTime() ?? null,
  latestAt: latestAt?.getTime() ?? null,
  limit,
  direction,
});

/** How often the ranges of the present method held in the organisation: in all, and by what is measured. */
export async function hitRates(
  { database }: Deps,
  scope: Scope,
): Promise<{ method: string; all: HitRate; byQuantity: (HitRate & { quantity: Quantity })[] }> {
  mustBeAllowed(scope, 'see');
  const rows = await database.inTenant(scope, ({ db }) =>
    db.$queryRaw<{ quantity: Quantity; hits: number; counted: number }[]>(sql`
      SELECT quantity, coalesce(sum(count) FILTER (WHERE outcome = 'hit'), 0)::int AS hits, sum(count)::int AS counted FROM forecast_score
      WHERE organisation_id = current_organisation() AND method = ${PROJECTION_METHOD} AND outcome <> 'censored'
      GROUP BY quantity ORDER BY counted DESC, quantity`),
  );
  const sum = (of: 'hits' | 'counted'): number => rows.reduce((total, row) => total + row[of], 0);
  return {
    method: PROJECTION_METHOD,
    all: hitRateOf(sum('hits'), sum('counted')),
    byQuantity: rows.map(({ quantity, hits, counted }) => ({ quantity, ...hitRateOf(hits, counted) })),
  };
}
