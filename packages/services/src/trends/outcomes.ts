import {
  type ConcludeInput,
  type Conclusion,
  type DiaryForecast,
  type ForecastOutcome,
  type HitRate,
  hitRateOf,
  isReset,
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
  /** As it was decided before; null: still watched. */
  was: Exclude<ForecastOutcome, 'open'> | null;
}

/** Most forecasts of one point that are looked at once; those left are found with its next reading. */
const MOST_AT_ONCE = 200;
/** What was decided so lately may still be told otherwise: phones hand in for 14 days, and papers lie about as long. */
const REVISED_FOR = '30 days';

/**
 * Writes what became of the forecasts of points that were just concluded, and counts it; once each, whoever comes first.
 * Asked are only those of which the last reading or work may tell: it is over the limit or after their latest date. Those that were
 * decided lately are asked again, since a reading may have come late.
 */
export async function writeOutcomes(
  db: TenantDb,
  concluded: readonly { readonly input: ConcludeInput; readonly conclusion: Conclusion }[],
  at: Date,
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
  const columns = sql`f.point_id AS "pointId", f.limit_grade AS grade, f.revision, f.method, f.limit_value AS limit, f.direction,
    f.cut_at AS "cutAt", f.earliest_at AS "earliestAt", f.likely_at AS "likelyAt", f.latest_at AS "latestAt", f.outcome AS was`;
  const watched = await db.$queryRaw<Watched[]>(sql`
    SELECT w.* FROM jsonb_to_recordset(${JSON.stringify(told)}::jsonb) AS t("pointId" uuid, value float8, at timestamptz, "resetAt" timestamptz)
      CROSS JOIN LATERAL (
        (SELECT ${columns} FROM forecast f
          WHERE f.organisation_id = current_organisation() AND f.point_id = t."pointId" AND f.outcome IS NULL AND f.shown = 'range'
            AND f.earliest_at IS NOT NULL AND (f.latest_at < t.at OR f.cut_at < t."resetAt"
              OR (f.cut_at < t.at AND CASE f.direction WHEN 'high' THEN t.value >= f.limit_value ELSE t.value <= f.limit_value END))
          ORDER BY f.cut_at LIMIT ${MOST_AT_ONCE})
        UNION ALL
        (SELECT ${columns} FROM forecast f
          WHERE f.organisation_id = current_organisation() AND f.point_id = t."pointId"
            AND f.decided_at > ${at}::timestamptz - ${REVISED_FOR}::interval
          ORDER BY f.decided_at DESC LIMIT ${MOST_AT_ONCE})) w`);
  if (watched.length === 0) return;
  const decided = concluded.flatMap(({ input, conclusion: { pointId } }) => {
    const forecasts = watched.filter((one) => one.pointId === pointId);
    if (forecasts.length === 0) return [];
    const { point } = input;
    const resets = input.work.filter(({ work }) => isReset(point, work)).map(({ takenAt }) => takenAt);
    const outcomes = outcomesOf(input, forecasts.map(toDiary));
    return forecasts.flatMap(({ grade, revision, method, cutAt, was }, i) => {
      const outcome = outcomes[i] === 'open' ? null : outcomes[i];
      if (outcome === was) return [];
      const begun = Math.max(...resets.filter((reset) => reset <= cutAt.getTime()));
      // What decided it may have left the window of readings of its history since; it stands.
      const isKnown = input.readings.some(({ takenAt }) => takenAt > begun && takenAt <= cutAt.getTime());
      if (was !== null && !isKnown) return [];
      const since = Number.isFinite(begun) ? new Date(begun).toISOString() : '-infinity';
      return [{ pointId, grade, revision: String(revision), method, was, outcome, since, quantity: point.quantity }];
    });
  });
  if (decided.length === 0) return;
  await db.$executeRaw(sql`
    WITH written AS (
      UPDATE forecast f SET outcome = d.outcome, decided_at = CASE WHEN d.outcome IS NULL THEN NULL ELSE ${at}::timestamptz END
      FROM jsonb_to_recordset(${JSON.stringify(decided)}::jsonb)
        AS d("pointId" uuid, grade text, revision bigint, method text, was text, outcome text, since timestamptz, quantity text)
      WHERE f.organisation_id = current_organisation() AND f.point_id = d."pointId" AND f.limit_grade = d.grade AND f.revision = d.revision
        AND f.method = d.method AND f.outcome IS NOT DISTINCT FROM d.was
      RETURNING f.point_id, f.method, f.latest_at, d.quantity, d.was, d.outcome, d.since),
    counted AS (SELECT * FROM written WHERE latest_at IS NOT NULL),
    begun AS (
      INSERT INTO forecast_history (organisation_id, method, point_id, since)
      SELECT DISTINCT current_organisation(), method, point_id, since FROM counted WHERE outcome <> 'censored'
      ORDER BY point_id, since, method ON CONFLICT DO NOTHING RETURNING method, point_id),
    changes AS (
      SELECT method, quantity, outcome, 1 AS by FROM counted WHERE outcome IS NOT NULL
      UNION ALL SELECT method, quantity, was, -1 FROM counted WHERE was IS NOT NULL
      UNION ALL SELECT b.method, q.quantity, 'history', 1 FROM begun b JOIN (SELECT DISTINCT point_id, quantity FROM counted) q USING (point_id))
    INSERT INTO forecast_score AS s (organisation_id, method, quantity, outcome, count)
    SELECT current_organisation(), method, quantity, outcome, sum(by) FROM changes GROUP BY 2, 3, 4 HAVING sum(by) <> 0 ORDER BY 2, 3, 4
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
    db.$queryRaw<{ quantity: Quantity; hits: number; counted: number; histories: number }[]>(sql`
      SELECT quantity, coalesce(sum(count) FILTER (WHERE outcome = 'hit'), 0)::int AS hits,
        coalesce(sum(count) FILTER (WHERE outcome IN ('hit', 'early', 'late')), 0)::int AS counted,
        coalesce(sum(count) FILTER (WHERE outcome = 'history'), 0)::int AS histories
      FROM forecast_score WHERE organisation_id = current_organisation() AND method = ${PROJECTION_METHOD}
      GROUP BY quantity HAVING sum(count) FILTER (WHERE outcome IN ('hit', 'early', 'late')) > 0 ORDER BY counted DESC, quantity`),
  );
  const sum = (of: 'hits' | 'counted' | 'histories'): number => rows.reduce((total, row) => total + row[of], 0);
  return {
    method: PROJECTION_METHOD,
    all: hitRateOf(sum('hits'), sum('counted'), sum('histories')),
    byQuantity: rows.map(({ quantity, hits, counted, histories }) => ({ quantity, ...hitRateOf(hits, counted, histories) })),
  };
}
