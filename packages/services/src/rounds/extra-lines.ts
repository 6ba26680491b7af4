import {
  CRITERION_OF,
  type CriterionKind,
  type Grade,
  type LimitSet,
  proofTarget,
  type Quantity,
  sayNumber,
  withUnit,
} from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import type { Place } from '../assets/index.ts';
import { limitsOf } from '../limits/index.ts';
import { ASSET_OF_POINT, type NamedPerson, personOf } from './lines.ts';

/** An open extra stop as lists show it. */
export interface ExtraStopLine {
  readonly id: string;
  readonly kind: 'read-again' | 'proof' | 'asked';
  readonly pointId: string;
  readonly assetId: string;
  readonly tag: string;
  readonly letter: string;
  readonly assetName: string;
  readonly pointName: string;
  readonly place: Place;
  readonly roundId: string | null;
  readonly walker: NamedPerson | null;
  readonly orderId: string | null;
  readonly orderNumber: number | null;
  readonly findingId: string | null;
  readonly earliestAt: Date;
  readonly latestAt: Date;
  readonly note: string;
  readonly askedBy: string | null;
  readonly grade: Grade | null;
  readonly target: string | null;
}

interface Row extends Omit<ExtraStopLine, 'target'> {
  readonly goal: { readonly value: number; readonly direction: 'high' | 'low' } | null;
  readonly unit: string;
  readonly decimals: number;
  readonly quantity: Quantity;
  readonly criterion: CriterionKind | null;
}

/**
 * Extra stops that fit a condition about e, by the end of their time. Chosen by what their index holds, so that it gives them in order;
 * the rows follow by key.
 */
export async function extraStopLines(db: TenantDb, condition: Sql, most: number): Promise<ExtraStopLine[]> {
  const rows = await db.$queryRaw<Row[]>(sql`
    SELECT e.id, e.kind, e.point_id AS "pointId", a.asset_id AS "assetId", a.tag, p.letter, a.asset_name AS "assetName", p.name AS "pointName", a.place,
      e.round_id AS "roundId", ${personOf(sql`e.walker_id`)} AS walker, e.order_id AS "orderId", o.number AS "orderNumber",
      e.finding_id AS "findingId", e.earliest_at AS "earliestAt", e.latest_at AS "latestAt", e.note, m.name AS "askedBy",
      o.target AS goal, p.unit, p.decimals, p.quantity, f.criterion, coalesce(f.grade, (SELECT c.grade FROM conclusion c
        WHERE c.organisation_id = current_organisation() AND c.point_id = e.point_id)) AS grade
    FROM (SELECT e.id FROM extra_stop e WHERE e.organisation_id = current_organisation() AND ${condition}
        ORDER BY e.latest_at, e.id LIMIT ${most}) chosen
      CROSS JOIN LATERAL (SELECT * FROM extra_stop e WHERE e.organisation_id = current_organisation() AND e.id = chosen.id LIMIT 1) e
      CROSS JOIN LATERAL (SELECT * FROM point p WHERE p.organisation_id = current_organisation() AND p.id = e.point_id LIMIT 1) p
      ${ASSET_OF_POINT}
      LEFT JOIN LATERAL (SELECT f.grade, f.state ->> 'criterion' AS criterion FROM finding f
        WHERE f.organisation_id = current_organisation() AND f.id = e.finding_id LIMIT 1) f ON true
      LEFT JOIN LATERAL (SELECT * FROM work_order o WHERE o.organisation_id = e.organisation_id AND o.id = e.order_id LIMIT 1) o ON true
      LEFT JOIN LATERAL (SELECT m.name FROM membership m WHERE m.organisation_id = e.organisation_id AND m.person_id = e.asked_by LIMIT 1) m ON true
    ORDER BY e.latest_at, e.id`);
  const bare = rows.flatMap(({ kind, goal, pointId }) => (kind === 'proof' && goal === null ? [pointId] : []));
  const limits = bare.length === 0 ? new Map<string, LimitSet[]>() : await limitsOf(db, bare);
  return rows.map(({ goal, unit, decimals, quantity, criterion, ...row }) => {
    if (row.kind !== 'proof') return { ...row, target: null };
    const asked = criterion ?? CRITERION_OF[quantity];
    const target = proofTarget(limits.get(row.pointId) ?? [], asked, goal, row.earliestAt.getTime());
    return { ...row, target: target === null ? null : inWords(target, unit, decimals) };
  });
}

/** Is the extra stop e with a person: their own, or nobody's on a round they have that begins by some time. */
export const isWith = (person: Sql, until: Sql): Sql => sql`e.id = ANY (ARRAY(
  SELECT x.id FROM extra_stop x WHERE x.organisation_id = current_organisation() AND x.closed_at IS NULL AND x.walker_id = ${person}
  UNION ALL
  SELECT x.id FROM round r CROSS JOIN LATERAL (SELECT x.id FROM extra_stop x WHERE x.organisation_id = r.organisation_id AND x.round_id = r.id
      AND x.closed_at IS NULL AND x.walker_id IS NULL OFFSET 0) x
  WHERE r.organisation_id = current_organisation() AND r.closed_at IS NULL AND r.walker_id = ${person} AND r.earliest_at <= ${until}))`;

/** What a proof must reach. @example inWords({ value: 70, direction: 'high' }, '°C', 0) // 'below 70 °C' */
const inWords = ({ value, direction }: NonNullable<Row['goal']>, unit: string, decimals: number): string =>
  `${direction === 'high' ? 'below' : 'above'} ${withUnit(sayNumber(value, decimals), unit)}`;
