import { sql } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, type Scope } from '../deps/index.ts';

export interface ForecastView {
  readonly limitGrade: string;
  readonly limitValue: number;
  readonly cutAt: Date;
  readonly madeAt: Date;
  readonly shown: string;
  readonly reason: string | null;
  readonly earliestAt: Date | null;
  readonly likelyAt: Date | null;
  readonly latestAt: Date | null;
  readonly probabilityMoving: number | null;
  readonly readingCount: number;
  readonly method: string;
  readonly outcome: 'hit' | 'early' | 'late' | 'censored' | null;
}

/** The forecast diary of a point, newest first, at most 200 entries. */
export async function listForecasts({ database }: Deps, scope: Scope, pointId: string): Promise<ForecastView[]> {
  mustBeAllowed(scope, 'see');
  return database.inTenant(scope, async ({ db }) => {
    if (!(await db.point.findFirst({ where: { id: pointId }, select: { id: true } }))) throw notFound('point');
    return db.$queryRaw<ForecastView[]>(sql`
      SELECT limit_grade AS "limitGrade", limit_value AS "limitValue", cut_at AS "cutAt", made_at AS "madeAt", shown, reason,
        earliest_at AS "earliestAt", likely_at AS "likelyAt", latest_at AS "latestAt", probability_moving AS "probabilityMoving",
        reading_count AS "readingCount", method, outcome
      FROM forecast WHERE point_id = ${pointId}::uuid ORDER BY made_at DESC, revision DESC, limit_grade LIMIT 200`);
  });
}
