import { Problem, type ShutdownWindow } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';

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

/** Shutdown windows that are not over, by time; with `past` also older and cancelled ones. */
export async function listWindows(
  deps: Deps,
  scope: Scope,
  query: { siteId?: string | undefined; past: boolean },
): Promise<WindowView[]> {
  mustBeAllowed(scope, 'see');
  const site = query.siteId ? sql`w.site_id = ${query.siteId}::uuid` : sql`true`;
  const ahead = sql`w.cancelled_at IS NULL AND w.to_at > ${new Date(now(deps, scope))}::timestamptz`;
  return deps.database.inTenant(scope, ({ db }) => windowViews(db, query.past ? site : sql`${site} AND ${ahead}`, MOST_AHEAD));
}

/** A new shutdown window, of a whole site, one of its buildings or one of its assets. */
export interface NewWindow {
  readonly id: string;
  readonly siteId: string;
  readonly name: string;
  readonly buildingId: string | null;
  readonly assetId: string | null;
  readonly fromAt: string;
  readonly toAt: string;
}

function mustEndLater(fromAt: number, toAt: number): void {
  if (toAt > fromAt) return;
  throw new Problem('invalid-request', 'A window ends after it begins; nothing was saved.', [
    { pointer: '#/toAt', detail: 'expected a time after fromAt' },
  ]);
}

/** Writes a window down; the same id again changes nothing. Windows may overlap: they need not stop the same machine. */
export async function createWindow(deps: Deps, scope: Scope, window: NewWindow): Promise<void> {
  mustBeAllowed(scope, 'edit-register');
  mustEndLater(Date.parse(window.fromAt), Date.parse(window.toAt));
  const { id, siteId, buildingId, assetId } = window;
  await deps.database.inTenant(scope, async ({ db }) => {
    if (!(await db.site.findFirst({ where: { id: siteId }, select: { id: true } }))) throw notFound('site');
    const within = { siteId };
    if (buildingId && !(await db.building.findFirst({ where: { id: buildingId, ...within }, select: { id: true } })))
      throw notFound('building of this site');
    if (assetId && !(await db.asset.findFirst({ where: { id: assetId, ...within }, select: { id: true } })))
      throw notFound('asset of this site');
    await db.$executeRaw(sql`
      INSERT INTO shutdown_window (organisation_id, id, site_id, name, building_id, asset_id, from_at, to_at)
      VALUES (${scope.organisationId}::uuid, ${id}::uuid, ${siteId}::uuid, ${window.name.trim()}, ${buildingId}::uuid, ${assetId}::uuid,
        ${window.fromAt}::timestamptz, ${window.toAt}::timestamptz)
      ON CONFLICT (organisation_id, id) DO NOTHING`);
  });
}

export interface WindowChange {
  readonly version: number;
  readonly name?: string | undefined;
  readonly fromAt?: string | undefined;
  readonly toAt?: string | undefined;
  /** True: it does not take place; false: it does after all. */
  readonly cancel?: boolean | undefined;
}

/**
 * Moves, renames or cancels a window. Orders slotted into it stay where they are and are named, for somebody to slot them anew.
 * @returns with the numbers of those orders where it was moved or cancelled.
 * @throws Problem stale-version with the present version.
 */
export async function changeWindow(
  deps: Deps,
  scope: Scope,
  windowId: string,
  { version, name, fromAt, toAt, cancel }: WindowChange,
): Promise<{ version: number; slottedOrders: number[] }> {
  mustBeAllowed(scope, 'edit-register');
  const at = new Date(now(deps, scope));
  return deps.database.inTenant(scope, async ({ db }) => {
    await db.$queryRaw(sql`SELECT 1 FROM shutdown_window WHERE id = ${windowId}::uuid FOR NO KEY UPDATE`);
    const present = await db.shutdownWindow.findFirst({ where: { id: windowId } });
    if (!present) throw notFound('shutdown window');
    if (present.version !== version) {
      throw new Problem('stale-version', `This window is at version ${present.version} by now.`, [], {
        present: { version: present.version },
      });
    }
    const next = {
      name: name ?? present.name,
      fromAt: fromAt ? new Date(fromAt) : present.fromAt,
      toAt: toAt ? new Date(toAt) : present.toAt,
      cancelledAt: cancel === undefined ? present.cancelledAt : cancel ? (present.cancelledAt ?? at) : null,
    };
    mustEndLater(next.fromAt.getTime(), next.toAt.getTime());
    await db.shutdownWindow.update({
      where: { organisationId_id: { organisationId: scope.organisationId, id: windowId } },
      data: { ...next, version: version + 1 },
    });
    const isMoved =
      next.fromAt.getTime() !== present.fromAt.getTime() ||
      next.toAt.getTime() !== present.toAt.getTime() ||
      (next.cancelledAt === null) !== (present.cancelledAt === null);
    const slotted = isMoved
      ? await db.$queryRaw<{ number: number }[]>(sql`
          SELECT o.number FROM work_order o WHERE o.organisation_id = current_organisation() AND o.ended_at IS NULL
            AND o.state #>> '{slot,windowId}' = ${windowId} ORDER BY o.number`)
      : [];
    return { version: version + 1, slottedOrders: slotted.map(({ number }) => number) };
  });
}
