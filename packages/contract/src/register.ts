import { CONDITION_NAMES, type Conclusion, CRITICALITIES, GRADES, LOAD_FAMILIES, QUANTITIES } from '@heatround/domain';
import * as z from 'zod';
import { defineEndpoint, id, instant, pageSize, words } from './endpoint.ts';
import { limitDraft, limitSet } from './limits.ts';
import { readingRow, workRow } from './readings.ts';

const name = words(200);

export const room = z.object({ id, name: z.string(), assetCount: z.number().int() }).meta({ id: 'Room' });
export const building = z.object({ id, name: z.string(), rooms: z.array(room) }).meta({ id: 'Building' });
export const site = z.object({ id, name: z.string(), zone: z.string(), buildings: z.array(building) }).meta({ id: 'Site' });
export type Site = z.output<typeof site>;

export const place = z
  .object({ siteId: id, site: z.string(), zone: z.string(), buildingId: id, building: z.string(), roomId: id, room: z.string() })
  .meta({ id: 'Place' });

export const assetRow = z
  .object({
    id,
    tag: z.string(),
    name: z.string(),
    place,
    criticality: z.enum(CRITICALITIES),
    pointCount: z.number().int(),
    /** Worst standing grade of its points; null when nothing has been judged. */
    grade: z.enum(GRADES).nullable(),
    lastReadAt: instant.nullable(),
    /** Work was done at one of its points, and no reading has proved it. */
    isProofAwaited: z.boolean(),
    /** Facts have arrived at one of its points that no conclusion knows yet. */
    isBehind: z.boolean(),
    /** The old tag that matched the search, when it was not the present one. */
    foundByOldTag: z.string().nullable(),
  })
  .meta({ id: 'AssetRow' });
export type AssetRow = z.output<typeof assetRow>;

/** An acceptance or maker's curve: pairs of place and value, the places ascending. */
const curve = z.array(z.tuple([z.number(), z.number()])).max(50);

/** A point as people set it up and as the verdict needs it; conclusions and history come beside it. */
export const point = z
  .object({
    id,
    letter: z.string(),
    name: z.string(),
    quantity: z.enum(QUANTITIES),
    unit: z.string(),
    decimals: z.number().int(),
    loadFamily: z.enum(LOAD_FAMILIES),
    basis: z.enum(['raw', 'corrected']),
    referenceLoadPercent: z.number(),
    minimumLoadPercent: z.number(),
    loadExponent: z.number(),
    ratedCurrentA: z.number().nullable(),
    referenceAmbientC: z.number().nullable(),
    emissivity: z.number().nullable(),
    infrared: z.boolean(),
    needs: z.array(z.enum(CONDITION_NAMES)),
    parts: z.array(z.string()),
    base: z.object({ value: z.number(), state: z.enum(['provisional', 'confirmed']) }).nullable(),
    lifeSafety: z.boolean(),
    regreasingGateHours: z.number(),
    uncertainty: z.number().nullable(),
    twins: z.array(id),
    targetMm: z.number().nullable(),
    ratedRangeK: z.number().nullable(),
    gasExponent: z.number().nullable(),
    orificeMm: z.number().nullable(),
    steamPricePerTonne: z.number().nullable(),
    curve,
    /** Where to aim, from where: "Bearing cap, 0.5 m away, square on". */
    spot: z.string(),
    version: z.number().int(),
  })
  .meta({ id: 'Point' });
export type PointView = z.output<typeof point>;

/** Conclusion of the domain package, passed through as it was computed. */
export const conclusion = z.unknown() as unknown as z.ZodType<Conclusion>;

export const pointPage = z
  .object({
    point,
    limits: z.array(limitSet),
    /** The points it is compared with on the same visit, each with its last readings, newest first. */
    twins: z.array(z.object({ point, readings: z.array(readingRow) })),
    /** Null until the worker has concluded for the first time. */
    conclusion: conclusion.nullable(),
    concludedAt: instant.nullable(),
    /** Facts have arrived that the conclusion does not know yet. */
    isBehind: z.boolean(),
    /** Newest first. */
    readings: z.array(readingRow),
    /** Cursor for older readings; null when these are all. */
    olderReadings: z.string().nullable(),
  })
  .meta({ id: 'PointPage' });
export type PointPage = z.output<typeof pointPage>;

export const assetPage = z
  .object({
    id,
    tag: z.string(),
    oldTags: z.array(z.string()),
    name: z.string(),
    place,
    template: z.string().nullable(),
    criticality: z.enum(CRITICALITIES),
    criticalityReason: z.string(),
    lifeSafety: z.boolean(),
    hazards: z.array(z.string()),
    /** Since when it is read no more, and why; null while it is in service. */
    outOfService: z.object({ at: instant, reason: z.string(), byName: z.string().nullable() }).nullable(),
    version: z.number().int(),
    points: z.array(pointPage),
    /** Work recorded on the asset or its points, newest first, at most 200. */
    work: z.array(workRow),
  })
  .meta({ id: 'AssetPage' });
export type AssetPage = z.output<typeof assetPage>;

export const listSites = defineEndpoint({
  name: 'listSites',
  summary: 'Sites with their buildings and rooms.',
  method: 'GET',
  path: '/api/sites',
  access: 'see',
  status: 200,
  response: z.object({ sites: z.array(site) }),
});

export const createSite = defineEndpoint({
  name: 'createSite',
  summary: 'A new site. The zone is an IANA name such as Europe/Dublin.',
  method: 'POST',
  path: '/api/sites',
  access: 'edit-register',
  body: z.strictObject({ id: id.optional(), name, zone: z.string().min(1).max(60) }),
  status: 201,
  response: z.object({ id }),
});

export const createBuilding = defineEndpoint({
  name: 'createBuilding',
  summary: 'A new building of a site.',
  method: 'POST',
  path: '/api/sites/:siteId/buildings',
  access: 'edit-register',
  params: z.object({ siteId: id }),
  body: z.strictObject({ id: id.optional(), name }),
  status: 201,
  response: z.object({ id }),
});

export const createRoom = defineEndpoint({
  name: 'createRoom',
  summary: 'A new room of a building.',
  method: 'POST',
  path: '/api/buildings/:buildingId/rooms',
  access: 'edit-register',
  params: z.object({ buildingId: id }),
  body: z.strictObject({ id: id.optional(), name }),
  status: 201,
  response: z.object({ id }),
});

export const listAssets = defineEndpoint({
  name: 'listAssets',
  summary: 'The register in tag order, or what a search finds by tag, old tag, name, place or point name.',
  method: 'GET',
  path: '/api/assets',
  access: 'see',
  query: z.object({
    search: z.string().trim().max(200).optional(),
    roomId: id.optional(),
    /** Only those out of service; otherwise only those in service. */
    outOfService: z.stringbool().default(false),
    after: z.string().max(400).optional(),
    pageSize: pageSize(200, 50),
  }),
  status: 200,
  response: z.object({ assets: z.array(assetRow), next: z.string().nullable() }),
});

export const getAsset = defineEndpoint({
  name: 'getAsset',
  summary: 'One asset with its points, limits, conclusions, last readings and work.',
  method: 'GET',
  path: '/api/assets/:assetId',
  access: 'see',
  params: z.object({ assetId: id }),
  query: z.object({ readings: z.coerce.number().int().min(1).max(1000).default(300) }),
  status: 200,
  response: assetPage,
});

/** What may be set at a point, and changed later. */
const particulars = {
  decimals: z.number().int().min(0).max(4).optional(),
  loadFamily: z.enum(LOAD_FAMILIES).optional(),
  basis: z.enum(['raw', 'corrected']).optional(),
  referenceLoadPercent: z.number().positive().max(150).optional(),
  minimumLoadPercent: z.number().min(0).max(100).optional(),
  loadExponent: z.number().min(0).max(3).optional(),
  ratedCurrentA: z.number().positive().nullable().optional(),
  referenceAmbientC: z.number().nullable().optional(),
  emissivity: z.number().positive().max(1).nullable().optional(),
  infrared: z.boolean().optional(),
  needs: z.array(z.enum(CONDITION_NAMES)).optional(),
  parts: z.array(words(20)).max(60).optional(),
  twins: z.array(id).max(20).optional(),
  targetMm: z.number().positive().nullable().optional(),
  ratedRangeK: z.number().positive().nullable().optional(),
  gasExponent: z.number().gt(1).lt(2).nullable().optional(),
  orificeMm: z.number().positive().max(100).nullable().optional(),
  steamPricePerTonne: z.number().positive().nullable().optional(),
  curve: curve.optional(),
  regreasingGateHours: z.number().min(0).max(500).optional(),
  uncertainty: z.number().positive().nullable().optional(),
};

export const pointDraft = z.strictObject({
  id: id.optional(),
  letter: z.string().trim().min(1).max(4),
  name,
  quantity: z.enum(QUANTITIES),
  spot: z.string().max(300).default(''),
  ...particulars,
  base: z.number().nullable().optional(),
  limits: z.array(limitDraft).max(12).default([]),
});
export type PointDraftBody = z.input<typeof pointDraft>;

export const createAsset = defineEndpoint({
  name: 'createAsset',
  summary: 'A new asset, with the points of a template, own points, or none yet.',
  method: 'POST',
  path: '/api/assets',
  access: 'edit-register',
  body: z.strictObject({
    id: id.optional(),
    roomId: id,
    tag: words(60),
    name,
    criticality: z.enum(CRITICALITIES),
    criticalityReason: words(500),
    lifeSafety: z.boolean().default(false),
    hazards: z.array(z.string().max(40)).max(20).optional(),
    /** Key of a class template; its points come first. */
    template: z.string().max(60).optional(),
    points: z.array(pointDraft).max(60).default([]),
  }),
  status: 201,
  response: z.object({ id, pointIds: z.array(id) }),
});

export const changeAsset = defineEndpoint({
  name: 'changeAsset',
  summary:
    'Rename, retag, move or re-rate an asset, take it out of service or back. The old tag stays as an alias. A stale version is refused with the present state.',
  method: 'PATCH',
  path: '/api/assets/:assetId',
  access: 'edit-register',
  params: z.object({ assetId: id }),
  body: z.strictObject({
    version: z.number().int().min(1),
    tag: words(60).optional(),
    name: name.optional(),
    roomId: id.optional(),
    criticality: z.enum(CRITICALITIES).optional(),
    criticalityReason: words(500).optional(),
    /** The reason takes it out of service: its stops leave the rounds, its history stays, its open orders go on. Null puts it back. */
    outOfService: z
      .strictObject({ reason: words(500) })
      .nullable()
      .optional(),
  }),
  status: 200,
  response: z.object({
    id,
    version: z.number().int(),
    /** Numbers of its orders that are open; a person ends them. Said only where it went out of service or to another site. */
    openOrders: z.array(z.number().int()),
    /** Codes of the routes that it is walked on no more. */
    leftRoutes: z.array(z.string()),
  }),
});

export const addPoint = defineEndpoint({
  name: 'addPoint',
  summary: 'A further measurement point on an asset.',
  method: 'POST',
  path: '/api/assets/:assetId/points',
  access: 'edit-register',
  params: z.object({ assetId: id }),
  body: pointDraft,
  status: 201,
  response: z.object({ id }),
});

export const changePoint = defineEndpoint({
  name: 'changePoint',
  summary:
    'Change how a point is read: name, spot, emissivity, rated figures, curve, twins. What is measured stays. Judges later readings; verdicts given stay as they were.',
  method: 'PATCH',
  path: '/api/points/:pointId',
  access: 'edit-register',
  params: z.object({ pointId: id }),
  body: z.strictObject({
    version: z.number().int().min(1),
    name: name.optional(),
    spot: z.string().max(300).optional(),
    ...particulars,
  }),
  status: 200,
  response: z.object({ id, version: z.number().int() }),
});

export const confirmBase = defineEndpoint({
  name: 'confirmBase',
  summary: 'Confirm or set the base of an above-base point, with the reason.',
  method: 'POST',
  path: '/api/points/:pointId/base',
  access: 'edit-register',
  params: z.object({ pointId: id }),
  body: z.strictObject({ version: z.number().int().min(1), value: z.number(), reason: words(500) }),
  status: 200,
  response: z.object({ id, version: z.number().int() }),
});
