import { randomUUID } from 'node:crypto';
import {
  baseCriterionOf,
  type Criticality,
  completePoint,
  type PointDraft,
  Problem,
  type ProblemDetail,
  pointsFromTemplate,
  type Quantity,
  TEMPLATES,
  tagKey,
  templateOf,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { insertLimits, type LimitDraft, limitsOf } from '../limits/index.ts';
import { loadPoints } from './points.ts';
import { reindexWords } from './words.ts';

export interface NewPoint {
  readonly point: PointDraft;
  readonly spot: string;
  readonly limits: readonly LimitDraft[];
}

export interface NewAsset {
  readonly id: string;
  readonly roomId: string;
  readonly tag: string;
  readonly name: string;
  readonly template: string | null;
  readonly criticality: Criticality;
  readonly criticalityReason: string;
  readonly lifeSafety: boolean;
  readonly hazards: readonly string[];
  readonly points: readonly NewPoint[];
}

/** So many assets at once are a file, after which the next ones would be looked up in tables that nobody knows yet. */
const MANY = 100;

const own = (scope: Scope) => sql`${scope.organisationId}::uuid`;

/**
 * Puts assets with their points and limits into the register, all or none, set by set.
 * @throws Problem tag-taken, letter-taken, limits-refused, not-found (room), each naming which.
 */
export async function insertAssets(db: TenantDb, scope: Scope, assets: readonly NewAsset[]): Promise<void> {
  if (assets.length === 0) return;
  const roomIds = [...new Set(assets.map((asset) => asset.roomId))];
  const rooms = await db.$queryRaw<{ id: string; siteId: string }[]>(
    sql`SELECT id, site_id AS "siteId" FROM room WHERE id = ANY (${roomIds}::uuid[])
      AND (current_sites() IS NULL OR site_id = ANY (current_sites()))`,
  );
  const siteOf = new Map(rooms.map((room) => [room.id, room.siteId]));
  if (roomIds.some((id) => !siteOf.has(id))) throw notFound('room');
  const rows = assets.map((asset) => ({
    ...asset,
    points: undefined,
    tag: asset.tag.trim(),
    name: asset.name.trim(),
    key: tagKey(asset.tag),
    siteId: siteOf.get(asset.roomId)!,
  }));
  await db.$executeRaw(sql`
    INSERT INTO asset (organisation_id, id, room_id, site_id, tag, name, template, criticality, criticality_reason, life_safety, hazards)
    SELECT ${own(scope)}, r.id, r."roomId", r."siteId", r.tag, r.name, r.template, r.criticality, r."criticalityReason", r."lifeSafety",
      ARRAY(SELECT jsonb_array_elements_text(r.hazards))
    FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb) AS r(id uuid, "roomId" uuid, "siteId" uuid, tag text, name text, template text,
      criticality text, "criticalityReason" text, "lifeSafety" boolean, hazards jsonb)`);
  await claimTags(
    db,
    scope,
    rows.map(({ id, tag, key }) => ({ assetId: id, tag, key })),
  );
  await insertPoints(
    db,
    scope,
    assets.flatMap((asset, a) =>
      asset.points.map((point, p) => ({
        ...point,
        assetId: asset.id,
        siteId: siteOf.get(asset.roomId)!,
        pointer: assets.length === 1 ? `/points/${p}` : `/assets/${a}/points/${p}`,
      })),
    ),
  );
  await reindexWords(
    db,
    scope.organisationId,
    assets.map((asset) => asset.id),
  );
  if (assets.length >= MANY) await db.$executeRaw(sql`SELECT learn_young_tables()`);
}

/**
 * Takes tags for assets; a tag that names or once named another asset is refused, whatever its case. One of an asset that was taken back
 * with its import is free.
 */
async function claimTags(
  db: TenantDb,
  scope: Scope,
  claims: readonly { assetId: string; tag: string; key: string }[],
): Promise<void> {
  const taken = await db.$queryRaw<{ key: string }[]>(sql`
    INSERT INTO asset_tag (organisation_id, tag_key, tag, asset_id, is_current)
    SELECT ${own(scope)}, r.key, r.tag, r."assetId", true
    FROM jsonb_to_recordset(${JSON.stringify(claims)}::jsonb) AS r(key text, tag text, "assetId" uuid)
    ON CONFLICT (organisation_id, tag_key) DO UPDATE SET is_current = true, tag = excluded.tag, asset_id = excluded.asset_id
    WHERE asset_tag.asset_id = excluded.asset_id OR EXISTS (
      SELECT 1 FROM asset a WHERE a.organisation_id = asset_tag.organisation_id AND a.id = asset_tag.asset_id AND a.taken_back_by IS NOT NULL)
    RETURNING tag_key AS key`);
  const got = new Set(taken.map((row) => row.key));
  const refused = claims.filter((claim) => !got.has(claim.key));
  if (refused.length === 0) return;
  const errors = refused.map(
    ({ tag }): ProblemDetail => ({ pointer: '#/tag', detail: `${tag} already names an asset, or once did` }),
  );
  throw new Problem(
    'tag-taken',
    `${refused.map(({ tag }) => tag).join(', ')}: already in the register. Nothing was saved.`,
    errors,
  );
}

async function insertPoints(
  db: TenantDb,
  scope: Scope,
  points: readonly (NewPoint & { assetId: string; siteId: string; pointer: string })[],
): Promise<void> {
  if (points.length === 0) return;
  const rows = points.map(({ point, spot, assetId, siteId }) => {
    const { base, ...whole } = completePoint(point);
    return { ...whole, assetId, siteId, spot, baseValue: base?.value ?? null };
  });
  const seen = new Map<string, number>();
  rows.forEach((row, index) => {
    const key = `${row.assetId} ${row.letter}`;
    if (seen.has(key)) {
      const detail = `the letter ${row.letter} is used twice; each point of an asset has its own`;
      throw new Problem('letter-taken', `Nothing was saved: ${detail}.`, [
        { pointer: `#${points[index]!.pointer}/letter`, detail },
      ]);
    }
    seen.set(key, index);
  });
  const inserted = await db.$queryRaw<{ id: string }[]>(sql`
    INSERT INTO point (organisation_id, id, asset_id, site_id, letter, name, quantity, unit, decimals, load_family, basis,
      reference_load_percent, minimum_load_percent, load_exponent, rated_current_a, reference_ambient_c, emissivity, infrared,
      needs, parts, base_value, regreasing_gate_hours, uncertainty, target_mm, rated_range_k,
      gas_exponent, orifice_mm, steam_price_per_tonne, curve, spot)
    SELECT ${own(scope)}, r.id, r."assetId", r."siteId", r.letter, r.name, r.quantity, r.unit, r.decimals, r."loadFamily", r.basis,
      r."referenceLoadPercent", r."minimumLoadPercent", r."loadExponent", r."ratedCurrentA", r."referenceAmbientC", r.emissivity, r.infrared,
      ARRAY(SELECT jsonb_array_elements_text(r.needs)), ARRAY(SELECT jsonb_array_elements_text(r.parts)), r."baseValue",
      r."regreasingGateHours", r.uncertainty, r."targetMm", r."ratedRangeK",
      r."gasExponent", r."orificeMm", r."steamPricePerTonne", r.curve, r.spot
    FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb) AS r(id uuid, "assetId" uuid, "siteId" uuid, letter text, name text, quantity text,
      unit text, decimals int, "loadFamily" text, basis text, "referenceLoadPercent" float8, "minimumLoadPercent" float8,
      "loadExponent" float8, "ratedCurrentA" float8, "referenceAmbientC" float8, emissivity float8, infrared boolean, needs jsonb,
      parts jsonb, "baseValue" float8, "regreasingGateHours" float8, uncertainty float8, "targetMm" float8, "ratedRangeK" float8, "gasExponent" float8,
      "orificeMm" float8, "steamPricePerTonne" float8, curve jsonb, spot text)
    ON CONFLICT (organisation_id, asset_id, letter) WHERE taken_back_by IS NULL DO NOTHING RETURNING id`);
  if (inserted.length < rows.length) {
    const got = new Set(inserted.map((row) => row.id));
    const index = rows.findIndex((row) => !got.has(row.id));
    const detail = `the letter ${rows[index]!.letter} is already used on this asset`;
    throw new Problem('letter-taken', `Nothing was saved: ${detail}.`, [
      { pointer: `#${points[index]!.pointer}/letter`, detail },
    ]);
  }
  await insertTwins(
    db,
    scope,
    rows.flatMap(({ id, twins }, index) => twins.map((twinId) => ({ pointId: id, twinId, pointer: points[index]!.pointer }))),
  );
  await insertLimits(
    db,
    scope,
    points.flatMap(({ point, limits, pointer }) =>
      limits.map((draft, index) => ({
        pointId: point.id,
        quantity: point.quantity,
        draft,
        pointer: `${pointer}/limits/${index}`,
      })),
    ),
  );
}

/**
 * A new asset: the points and limits of its template, then its own. Needs the right to edit the register.
 * @returns the ids of its points in the order of their letters' creation.
 */
export async function createAsset(
  deps: Deps,
  scope: Scope,
  asset: Omit<NewAsset, 'hazards'> & { readonly hazards?: readonly string[] | undefined },
): Promise<{ pointIds: string[] }> {
  mustBeAllowed(scope, 'edit-register');
  const template = asset.template === null ? null : templateOf(asset.template);
  if (asset.template !== null && !template) {
    const expected = `expected one of ${TEMPLATES.map(({ key }) => key).join(', ')}`;
    throw new Problem('invalid-request', `There is no template called ${asset.template}.`, [
      { pointer: '#/template', detail: expected },
    ]);
  }
  const points = [...(template ? pointsOf(template.key, now(deps, scope)) : []), ...asset.points];
  const lifeSafety = asset.lifeSafety || template?.lifeSafety === true;
  const whole = { ...asset, lifeSafety, hazards: asset.hazards ?? template?.hazards ?? [], points };
  await deps.database.inTenant(scope, ({ db }) => insertAssets(db, scope, [whole]));
  return { pointIds: points.map(({ point }) => point.id) };
}

function pointsOf(templateKey: string, validFrom: number): NewPoint[] {
  const { points, limits } = pointsFromTemplate(templateKey, { makeId: randomUUID })!;
  return points.map(({ spot, ...point }) => ({
    point,
    spot,
    limits: limits
      .filter((limit) => limit.pointId === point.id)
      .map(({ draft }) => ({ ...draft, reviewOn: null, id: randomUUID(), validFrom })),
  }));
}

/**
 * Names points that others are compared with.
 * @throws Problem invalid-request for a twin that is no other point here.
 */
async function insertTwins(
  db: TenantDb,
  scope: Scope,
  twins: readonly { pointId: string; twinId: string; pointer: string }[],
): Promise<void> {
  if (twins.length === 0) return;
  const made = await db.$queryRaw<{ pointId: string; twinId: string }[]>(sql`
    INSERT INTO point_twin (organisation_id, point_id, twin_id)
    SELECT DISTINCT ${own(scope)}, r."pointId", p.id FROM jsonb_to_recordset(${JSON.stringify(twins)}::jsonb) AS r("pointId" uuid, "twinId" uuid)
      JOIN point p ON p.organisation_id = ${own(scope)} AND p.id = r."twinId" AND p.id <> r."pointId"
    RETURNING point_id AS "pointId", twin_id AS "twinId"`);
  const got = new Set(made.map(({ pointId, twinId }) => `${pointId} ${twinId}`));
  const unknown = twins.filter(({ pointId, twinId }) => !got.has(`${pointId} ${twinId}`));
  if (unknown.length === 0) return;
  const detail = 'expected the ids of other points of this organisation';
  throw new Problem(
    'invalid-request',
    'A point named as twin is not here; nothing was saved.',
    unknown.map(({ pointer }) => ({ pointer: `#${pointer}/twins`, detail })),
  );
}

/** What may be changed at a point after it was made. */
export type PointChange = { readonly version: number; readonly spot?: string | undefined } & {
  readonly [K in Exclude<keyof PointDraft, 'id' | 'letter' | 'quantity' | 'base' | 'lifeSafety'>]?: PointDraft[K] | undefined;
};

/**
 * Changes how a point is read; what it measures stays. Later readings are judged by it, and the conclusion is drawn anew;
 * verdicts that were given stay.
 * @throws Problem stale-version with the present version when somebody else was faster; invalid-request for unknown twins.
 */
export async function changePoint(
  { database }: Deps,
  scope: Scope,
  pointId: string,
  { version, spot, ...change }: PointChange,
): Promise<{ version: number }> {
  mustBeAllowed(scope, 'edit-register');
  return database.inTenant(scope, async ({ db, announce }) => {
    const [row] = await db.$queryRaw<{ version: number }[]>(
      sql`SELECT version FROM point WHERE id = ${pointId}::uuid AND retired_at IS NULL FOR UPDATE`,
    );
    if (!row) throw notFound('point');
    if (row.version !== version) {
      throw new Problem('stale-version', 'Somebody changed this point meanwhile. Your entry is kept on your screen.', [], {
        present: row,
      });
    }
    const [present] = await loadPoints(db, { pointIds: [pointId] });
    const given = Object.fromEntries(Object.entries(change).filter(([, value]) => value !== undefined));
    const point = { ...present!.point, ...given };
    await db.$executeRaw(sql`
      UPDATE point SET name = ${point.name.trim()}, spot = ${spot ?? present!.spot}, decimals = ${point.decimals}, load_family = ${point.loadFamily},
        basis = ${point.basis}, reference_load_percent = ${point.referenceLoadPercent}, minimum_load_percent = ${point.minimumLoadPercent},
        load_exponent = ${point.loadExponent}, rated_current_a = ${point.ratedCurrentA}, reference_ambient_c = ${point.referenceAmbientC},
        emissivity = ${point.emissivity}, infrared = ${point.infrared}, needs = ${[...point.needs]}, parts = ${[...point.parts]},
        regreasing_gate_hours = ${point.regreasingGateHours}, uncertainty = ${point.uncertainty}, target_mm = ${point.targetMm},
        rated_range_k = ${point.ratedRangeK}, gas_exponent = ${point.gasExponent}, orifice_mm = ${point.orificeMm},
        steam_price_per_tonne = ${point.steamPricePerTonne}, curve = ${JSON.stringify(point.curve)}::jsonb, version = version + 1
      WHERE id = ${pointId}::uuid`);
    if (change.twins !== undefined) {
      await db.$executeRaw(sql`DELETE FROM point_twin WHERE organisation_id = ${own(scope)} AND point_id = ${pointId}::uuid`);
      await insertTwins(
        db,
        scope,
        change.twins.map((twinId) => ({ pointId, twinId, pointer: '' })),
      );
    }
    await reindexWords(db, scope.organisationId, [present!.assetId]);
    announce('point-changed', { pointIds: [pointId] });
    return { version: version + 1 };
  });
}

/** A further point on an asset. Needs the right to edit the register. */
export async function addPoint({ database }: Deps, scope: Scope, assetId: string, point: NewPoint): Promise<void> {
  mustBeAllowed(scope, 'edit-register');
  await database.inTenant(scope, async ({ db }) => {
    const asset = await db.asset.findFirst({ where: { id: assetId, takenBackBy: null }, select: { siteId: true } });
    if (!asset) throw notFound('asset');
    await insertPoints(db, scope, [{ ...point, assetId, siteId: asset.siteId, pointer: '' }]);
    await reindexWords(db, scope.organisationId, [assetId]);
  });
}

/**
 * Further points on assets, all or none, inside a transaction of the caller, who has asked for the right.
 * @throws Problem not-found (asset), letter-taken, limits-refused.
 */
export async function addPoints(
  db: TenantDb,
  scope: Scope,
  points: readonly { readonly assetId: string; readonly point: NewPoint }[],
): Promise<void> {
  if (points.length === 0) return;
  const assetIds = [...new Set(points.map(({ assetId }) => assetId))];
  const assets = await db.asset.findMany({
    where: { id: { in: assetIds }, takenBackBy: null },
    select: { id: true, siteId: true },
  });
  const siteOf = new Map(assets.map(({ id, siteId }) => [id, siteId]));
  if (assetIds.some((id) => !siteOf.has(id))) throw notFound('asset');
  await insertPoints(
    db,
    scope,
    points.map(({ assetId, point }, index) => ({ ...point, assetId, siteId: siteOf.get(assetId)!, pointer: `/points/${index}` })),
  );
  await reindexWords(db, scope.organisationId, assetIds);
}

export interface AssetChange {
  readonly version: number;
  readonly tag?: string | undefined;
  readonly name?: string | undefined;
  readonly roomId?: string | undefined;
  readonly criticality?: Criticality | undefined;
  readonly criticalityReason?: string | undefined;
  readonly outOfService?: { readonly reason: string } | null | undefined;
}

/** What a change of an asset leaves for a person to do. */
export interface LeftToDo {
  readonly openOrders: number[];
  readonly leftRoutes: string[];
}

/**
 * Renames, retags, moves or re-rates an asset, takes it out of service or back; the old tag stays as an alias. Out of service its stops
 * leave the rounds and what it was to be read for is called off; readings taken before still arrive, open orders go on until a
 * person ends them. At another site its findings, orders and asked-for stops go with it and it leaves the routes of the old one.
 * @throws Problem stale-version with the present state when somebody else was faster.
 */
export async function changeAsset(
  deps: Deps,
  scope: Scope,
  assetId: string,
  change: AssetChange,
): Promise<{ version: number } & LeftToDo> {
  mustBeAllowed(scope, 'edit-register');
  return deps.database.inTenant(scope, async ({ db, announce }) => {
    // Its points first, as whoever hands in facts or answers holds them: nothing begins at them while it leaves or comes back.
    if (change.outOfService !== undefined || change.roomId) {
      await db.$queryRaw(sql`
        SELECT 1 AS held FROM point_revision v WHERE v.organisation_id = current_organisation()
          AND v.point_id IN (SELECT id FROM point WHERE organisation_id = current_organisation() AND asset_id = ${assetId}::uuid)
        ORDER BY v.organisation_id, v.point_id FOR UPDATE`);
    }
    const [present] = await db.$queryRaw<
      {
        tag: string;
        name: string;
        roomId: string;
        siteId: string;
        criticality: string;
        criticalityReason: string;
        isOut: boolean;
        version: number;
      }[]
    >(sql`SELECT tag, name, retired_at IS NOT NULL AS "isOut", room_id AS "roomId", site_id AS "siteId", criticality, criticality_reason AS "criticalityReason", version
      FROM asset WHERE id = ${assetId}::uuid AND taken_back_by IS NULL FOR UPDATE`);
    if (!present) throw notFound('asset');
    if (present.version !== change.version) {
      throw new Problem(
        'stale-version',
        'Somebody changed this asset meanwhile. Your entry is kept on your screen; look at theirs first.',
        [],
        {
          present,
        },
      );
    }
    let siteId = present.siteId;
    if (change.roomId) {
      const [room] = await db.$queryRaw<{ siteId: string }[]>(sql`SELECT site_id AS "siteId" FROM room
        WHERE id = ${change.roomId}::uuid AND (current_sites() IS NULL OR site_id = ANY (current_sites()))`);
      if (!room) throw notFound('room');
      siteId = room.siteId;
    }
    if (change.tag && tagKey(change.tag) !== tagKey(present.tag)) {
      await db.$executeRaw(sql`UPDATE asset_tag SET is_current = false WHERE asset_id = ${assetId}::uuid`);
      await claimTags(db, scope, [{ assetId, tag: change.tag.trim(), key: tagKey(change.tag) }]);
    }
    await db.$executeRaw(sql`
      UPDATE asset SET tag = ${change.tag?.trim() ?? present.tag}, name = ${change.name?.trim() ?? present.name},
        room_id = ${change.roomId ?? present.roomId}::uuid, site_id = ${siteId}::uuid,
        criticality = ${change.criticality ?? present.criticality},
        criticality_reason = ${change.criticalityReason ?? present.criticalityReason}, version = version + 1
      WHERE id = ${assetId}::uuid`);
    await reindexWords(db, scope.organisationId, [assetId]);
    const leaves = change.outOfService != null && !present.isOut;
    const returns = change.outOfService === null && present.isOut;
    const moves = siteId !== present.siteId;
    const left = leaves || moves ? await leftToDo(db, assetId, leaves ? null : siteId) : { openOrders: [], leftRoutes: [] };
    if (moves) await followToSite(db, assetId, siteId);
    if (leaves) await takeOut(db, scope, assetId, change.outOfService!.reason, now(deps, scope));
    if (returns) {
      // Its tag may have gone to another asset while it was out of sight.
      const tag = change.tag ?? present.tag;
      await claimTags(db, scope, [{ assetId, tag: tag.trim(), key: tagKey(tag) }]);
      announce('point-changed', { pointIds: await putBack(db, scope, assetId) });
    }
    // What was to be read there, and is to be proved now, is looked after at once.
    if (leaves || returns) announce('asset-out-or-back', { assetId });
    return { version: present.version + 1, ...left };
  });
}

/** What is open at an asset and which routes it leaves. @param siteId where it goes; null: it is walked nowhere any more. */
async function leftToDo(db: TenantDb, assetId: string, siteId: string | null): Promise<LeftToDo> {
  const orders = await db.$queryRaw<{ number: number }[]>(
    sql`SELECT number FROM work_order WHERE asset_id = ${assetId}::uuid AND ended_at IS NULL ORDER BY number`,
  );
  const routes = await db.$queryRaw<{ code: string }[]>(sql`
    SELECT DISTINCT t.code FROM route t JOIN route_stop x ON x.organisation_id = t.organisation_id AND x.route_id = t.id
      JOIN point p ON p.organisation_id = x.organisation_id AND p.id = x.point_id
    WHERE p.asset_id = ${assetId}::uuid AND t.retired_at IS NULL AND (${siteId}::uuid IS NULL OR t.site_id <> ${siteId}::uuid)
    ORDER BY t.code`);
  return { openOrders: orders.map(({ number }) => number), leftRoutes: routes.map(({ code }) => code) };
}

/** A route is walked at one site: at another one the asset's stops are taken off it; what was asked for is whoever's is there. */
async function followToSite(db: TenantDb, assetId: string, siteId: string): Promise<void> {
  await db.$executeRaw(sql`UPDATE finding SET site_id = ${siteId}::uuid WHERE asset_id = ${assetId}::uuid`);
  await db.$executeRaw(sql`UPDATE work_order SET site_id = ${siteId}::uuid WHERE asset_id = ${assetId}::uuid`);
  await db.$executeRaw(sql`
    UPDATE extra_stop e SET site_id = ${siteId}::uuid, round_id = CASE WHEN e.closed_at IS NULL THEN NULL ELSE e.round_id END
    FROM point p WHERE p.organisation_id = e.organisation_id AND p.id = e.point_id AND p.asset_id = ${assetId}::uuid`);
  await db.$executeRaw(sql`
    DELETE FROM route_stop x USING point p, route t
    WHERE p.organisation_id = x.organisation_id AND p.id = x.point_id AND p.asset_id = ${assetId}::uuid
      AND t.organisation_id = x.organisation_id AND t.id = x.route_id AND t.site_id <> ${siteId}::uuid`);
}

async function takeOut(db: TenantDb, scope: Scope, assetId: string, reason: string, at: number): Promise<void> {
  const moment = new Date(at);
  await db.$executeRaw(sql`UPDATE asset SET retired_at = ${moment}, retired_reason = ${reason.trim()}, retired_by = ${scope.personId}::uuid
    WHERE id = ${assetId}::uuid`);
  await db.$executeRaw(sql`UPDATE point SET retired_at = ${moment} WHERE asset_id = ${assetId}::uuid AND retired_at IS NULL`);
  await db.$executeRaw(sql`
    UPDATE extra_stop e SET closed_at = ${moment} FROM point p
    WHERE p.organisation_id = e.organisation_id AND p.id = e.point_id AND p.asset_id = ${assetId}::uuid AND e.closed_at IS NULL`);
}

/** The points come back that left with the asset. @returns their ids. */
async function putBack(db: TenantDb, scope: Scope, assetId: string): Promise<string[]> {
  const points = await db.$queryRaw<{ id: string }[]>(sql`
    UPDATE point p SET retired_at = NULL FROM asset a
    WHERE a.organisation_id = p.organisation_id AND a.id = p.asset_id AND a.id = ${assetId}::uuid AND p.organisation_id = ${own(scope)}
      AND p.retired_at = a.retired_at AND p.taken_back_by IS NULL
    RETURNING p.id`);
  await db.$executeRaw(
    sql`UPDATE asset SET retired_at = NULL, retired_reason = NULL, retired_by = NULL WHERE id = ${assetId}::uuid`,
  );
  return points.map(({ id }) => id);
}

/** Confirms or sets the base of an above-base point; the reason is kept with the point's limits of that criterion as work of a person. */
export async function confirmBase(
  { database }: Deps,
  scope: Scope,
  pointId: string,
  change: { version: number; value: number; reason: string },
): Promise<{ version: number }> {
  mustBeAllowed(scope, 'edit-register');
  return database.inTenant(scope, async ({ db, announce }) => {
    const [present] = await db.$queryRaw<{ quantity: Quantity; version: number; base: number | null }[]>(
      sql`SELECT quantity, version, base_value AS base FROM point WHERE id = ${pointId}::uuid FOR UPDATE`,
    );
    if (!present) throw notFound('point');
    if (present.version !== change.version) {
      throw new Problem('stale-version', 'Somebody changed this point meanwhile.', [], { present });
    }
    if (baseCriterionOf(present, (await limitsOf(db, [pointId])).get(pointId) ?? []) === null) {
      throw new Problem('invalid-request', 'Only a point that is read above its base has one.', [
        { pointer: '#/value', detail: `this point is read as ${present.quantity}` },
      ]);
    }
    await db.$executeRaw(sql`
      UPDATE point SET base_value = ${change.value}, base_reason = ${change.reason}, base_by = ${scope.personId}::uuid, version = version + 1
      WHERE id = ${pointId}::uuid`);
    announce('point-changed', { pointIds: [pointId] });
    return { version: present.version + 1 };
  });
}
