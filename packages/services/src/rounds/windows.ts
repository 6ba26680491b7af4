import type { ShutdownWindow } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';

/** A shutdown window as people see it. */
export interface WindowView {
  readonly id: string;
  readonly siteId: string;
  readonly name: string;
  /** Where: the whole site, a building, an asset. */
  readonly place: string;
  readonly buildingId: string | null;
  readonly assetId: string | null;
  readonly fromAt: Date;
  readonly toAt: Date;
  readonly cancelledAt: Date | null;
  readonly version: number;
}

/** The same with its shape for the choice of a window. */
export interface WindowAhead extends WindowView {
  readonly window: ShutdownWindow;
}

/** Windows as views; conditions are about w. */
export const windowViews = (db: TenantDb, condition: ReturnType<typeof sql>, most: number): Promise<WindowView[]> =>
  db.$queryRaw<WindowView[]>(sql`
    SELECT w.id, w.site_id AS "siteId", w.name, coalesce(a.tag, b.name, s.name) AS place, w.building_id AS "buildingId",
      w.asset_id AS "assetId", w.from_at AS "fromAt", w.to_at AS "toAt", w.cancelled_at AS "cancelledAt", w.version
    FROM shutdown_window w JOIN site s ON s.organisation_id = w.organisation_id AND s.id = w.site_id
      LEFT JOIN building b ON b.organisation_id = w.organisation_id AND b.id = w.building_id
      LEFT JOIN asset a ON a.organisation_id = w.organisation_id AND a.id = w.asset_id
    WHERE w.organisation_id = current_organisation() AND ${condition} ORDER BY w.from_at, w.to_at, w.id LIMIT ${most}`);

/** So many windows ahead are looked at; a site has some dozens a year. */
const MOST_AHEAD = 2000;

/**
 * Shutdown windows that are neither over nor cancelled, in the order of time; with them the shape that lastSensibleWindow takes.
 * Whether a window stops a given asset: `assetId` is it, `buildingId` is its building, or both are null.
 * @param siteIds null: of every site that is visible here. @param now epoch milliseconds.
 */
export async function windowsAhead(db: TenantDb, siteIds: readonly string[] | null, now: number): Promise<WindowAhead[]> {
  const ahead = sql`w.cancelled_at IS NULL AND w.to_at > ${new Date(now)}::timestamptz
    ${siteIds ? sql`AND w.site_id = ANY (${[...siteIds]}::uuid[])` : sql.empty}`;
  const views = await windowViews(db, ahead, MOST_AHEAD);
  return views.map((view) => ({
    ...view,
    window: { id: view.id, from: view.fromAt.getTime(), to: view.toAt.getTime(), words: view.name },
  }));
}
