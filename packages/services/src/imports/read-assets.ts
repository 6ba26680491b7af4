import {
  CRITERIA,
  CRITERION_OF,
  CRITICALITIES,
  type CriterionKind,
  type Criticality,
  checkLimitSet,
  LIMIT_GRADES,
  type LimitGrade,
  type PointDraft,
  parseEntry,
  pointsFromTemplate,
  type Quantity,
  TEMPLATES,
  tagKey,
  type UnitCode,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import type { NewAsset, NewPoint } from '../assets/index.ts';
import { idOf } from '../deps/index.ts';
import type { LimitDraft } from '../limits/index.ts';
import type { FileRow } from './csv.ts';
import { type CellError, QUANTITY_EXPECTED, quantityOf, type Reader, yesOrNo } from './mapping.ts';
import { limitUnit } from './read-facts.ts';
import { isZone } from './times.ts';

/** Places in the register by lower-case names, and the tags that are taken. */
export interface RegisterContext {
  readonly organisationId: string;
  readonly importId: string;
  readonly reader: Reader;
  readonly now: number;
  /** Null: all sites. Somebody narrowed to some makes no new one. */
  readonly siteIds: readonly string[] | null;
  readonly sites: ReadonlyMap<string, string>;
  readonly buildings: ReadonlyMap<string, string>;
  readonly rooms: ReadonlyMap<string, string>;
  /** Tag key → id of the asset that it names or once named. */
  readonly taken: ReadonlyMap<string, string>;
}

export interface NewPlace {
  readonly site: { readonly id: string; readonly name: string; readonly zone: string; readonly isNew: boolean };
  readonly building: { readonly id: string; readonly name: string; readonly isNew: boolean };
  readonly room: { readonly id: string; readonly name: string; readonly isNew: boolean };
}

/** An asset of the file with all its rows; it comes in whole or not at all. */
export interface ReadAsset {
  readonly rows: readonly number[];
  readonly errors: readonly { readonly row: number; readonly errors: readonly CellError[] }[];
  readonly asset: NewAsset;
  readonly place: NewPlace;
  /** Its tag in the different ways its rows write it. */
  readonly written: readonly string[];
}

const ASSET_WORDS = [
  'site',
  'zone',
  'building',
  'room',
  'name',
  'template',
  'criticality',
  'criticalityReason',
  'lifeSafety',
] as const;
const POINT_WORDS = [
  'letter',
  'pointName',
  'quantity',
  ...LIMIT_GRADES,
  'referenceLoad',
  'ratedCurrent',
  'minimumLoad',
  'emissivity',
  'spot',
];

/** Loads what reading a register file needs to know. */
export async function loadRegister(
  db: TenantDb,
  known: Pick<RegisterContext, 'organisationId' | 'importId' | 'reader' | 'now' | 'siteIds'>,
  tagKeys: readonly string[],
): Promise<RegisterContext> {
  const rows = await db.$queryRaw<
    {
      siteId: string;
      site: string;
      buildingId: string | null;
      building: string | null;
      roomId: string | null;
      room: string | null;
    }[]
  >(sql`
    SELECT s.id AS "siteId", lower(s.name) AS site, b.id AS "buildingId", lower(b.name) AS building, r.id AS "roomId", lower(r.name) AS room
    FROM site s LEFT JOIN building b ON b.organisation_id = s.organisation_id AND b.site_id = s.id
      LEFT JOIN room r ON r.organisation_id = b.organisation_id AND r.building_id = b.id`);
  const taken = await db.$queryRaw<{ key: string; id: string }[]>(
    sql`SELECT t.tag_key AS key, t.asset_id AS id FROM asset_tag t LEFT JOIN asset a ON a.organisation_id = t.organisation_id AND a.id = t.asset_id
      WHERE t.tag_key = ANY (${[...tagKeys]}) AND a.taken_back_by IS NULL`,
  );
  return {
    ...known,
    sites: new Map(rows.map((row) => [row.site, row.siteId])),
    buildings: new Map(
      rows.flatMap((row) => (row.buildingId ? [[`${row.siteId} ${row.building}`, row.buildingId] as const] : [])),
    ),
    rooms: new Map(rows.flatMap((row) => (row.roomId ? [[`${row.buildingId} ${row.room}`, row.roomId] as const] : []))),
    taken: new Map(taken.map(({ key, id }) => [key, id])),
  };
}

/**
 * Reads a register file, one row per point: rows of one tag, wherever they stand, are one asset. What is said of the asset may stand
 * in its first row only; said twice, it must be the same.
 */
export function readAssets(
  context: RegisterContext,
  rows: readonly FileRow[],
): { assets: ReadAsset[]; errors: Map<number, CellError[]> } {
  const { reader } = context;
  const errors = new Map<number, CellError[]>();
  const add = (row: number, error: CellError) => errors.set(row, [...(errors.get(row) ?? []), error]);
  const groups = new Map<string, FileRow[]>();
  for (const one of rows) {
    const tag = reader.text(one.cells, 'tag');
    const key = tagKey(tag);
    if (key === '' || tag.length > 60)
      add(one.row, reader.wrong(one.cells, 'tag', 'A tag of at most 60 characters, as on the plate.'));
    else groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  const zones = new Map<string, { row: number; zone: string }>();
  const assets = [...groups].map(([key, group]): ReadAsset => {
    const found = readAsset(context, key, group, zones, add);
    return {
      ...found,
      rows: group.map(({ row }) => row),
      written: [...new Set(group.map(({ cells }) => reader.text(cells, 'tag')))],
      errors: group.flatMap(({ row }) => (errors.has(row) ? [{ row, errors: errors.get(row)! }] : [])),
    };
  });
  return { assets, errors };
}

function readAsset(
  context: RegisterContext,
  key: string,
  group: readonly FileRow[],
  zones: Map<string, { row: number; zone: string }>,
  add: (row: number, error: CellError) => void,
): { asset: NewAsset; place: NewPlace } {
  const { reader, organisationId, importId } = context;
  const first = group[0]!;
  const said: Record<string, { text: string; at: FileRow }> = {};
  for (const word of ASSET_WORDS) {
    for (const one of group) {
      const text = reader.cell(one.cells, word);
      const before = said[word];
      if (text === '') continue;
      if (!before) said[word] = { text, at: one };
      else if (before.text.toLowerCase() !== text.toLowerCase()) {
        add(
          one.row,
          reader.wrong(
            one.cells,
            word,
            `${before.text}, as in row ${before.at.row}: both rows are about ${reader.text(first.cells, 'tag')}.`,
          ),
        );
      }
    }
    said[word] ??= { text: reader.text(first.cells, word), at: first };
  }
  const text = (word: (typeof ASSET_WORDS)[number]) => said[word]!.text;
  const wrong = (word: (typeof ASSET_WORDS)[number], expected: string) => {
    const { at } = said[word]!;
    add(at.row, reader.wrong(at.cells, word, expected));
  };
  const needed = (word: (typeof ASSET_WORDS)[number], most: number, what: string) => {
    if (text(word) === '' || text(word).length > most) wrong(word, `${what} of at most ${most} characters.`);
  };
  const id = idOf(organisationId, importId, 'asset', key);
  if (context.taken.has(key) && context.taken.get(key) !== id) {
    add(
      first.row,
      reader.wrong(first.cells, 'tag', 'A tag that names nothing yet; this one names an asset of the register, or once did.'),
    );
  }
  needed('name', 200, 'A name');
  needed('criticalityReason', 500, 'A reason for the criticality');
  for (const word of ['site', 'building', 'room'] as const) needed(word, 200, `A ${word}`);
  const criticality = text('criticality').toUpperCase();
  if (!(CRITICALITIES as readonly string[]).includes(criticality)) wrong('criticality', 'A, B or C.');
  const lifeSafety = text('lifeSafety') === '' ? false : yesOrNo(text('lifeSafety'));
  if (lifeSafety === null) wrong('lifeSafety', 'Yes or no.');
  const named = text('template').toLowerCase();
  const template = named === '' ? null : (TEMPLATES.find((one) => one.key === named || one.name.toLowerCase() === named) ?? null);
  if (named !== '' && !template) wrong('template', `A class: ${TEMPLATES.map((one) => one.key).join(', ')}; or nothing.`);
  const place = placeOf(
    context,
    { site: text('site'), building: text('building'), room: text('room'), zone: text('zone') },
    zones,
    first.row,
    wrong,
  );
  const points: NewPoint[] = [];
  const letters = new Map<string, number>();
  for (const one of group) {
    if (!POINT_WORDS.some((word) => reader.cell(one.cells, word) !== '')) continue;
    const point = readPoint(context, key, one, add);
    const letter = point.point.letter.toLowerCase();
    const before = letters.get(letter);
    if (before !== undefined && letter !== '') {
      add(
        one.row,
        reader.wrong(one.cells, 'letter', `A letter of its own; row ${before} is point ${point.point.letter} already.`),
      );
    }
    letters.set(letter, one.row);
    points.push(point);
  }
  const asset: NewAsset = {
    id,
    roomId: place.room.id,
    tag: reader.text(first.cells, 'tag'),
    name: text('name'),
    template: template?.key ?? null,
    criticality: criticality as Criticality,
    criticalityReason: text('criticalityReason'),
    lifeSafety: lifeSafety ?? false,
    hazards: template?.hazards ?? [],
    points: points.length > 0 || !template ? points : templatePoints(context, key, template.key),
  };
  return { asset, place };
}

/** The points of a class stand where the file names none. */
function templatePoints({ organisationId, importId, now }: RegisterContext, key: string, template: string): NewPoint[] {
  let count = 0;
  const made = pointsFromTemplate(template, { makeId: () => idOf(organisationId, importId, 'template point', key, count++) });
  return (made?.points ?? []).map(({ spot, ...point }) => ({
    point,
    spot,
    limits: made!.limits
      .filter((limit) => limit.pointId === point.id)
      .map(({ draft }, index) => ({ ...draft, id: idOf(point.id, 'limits', index), validFrom: now, reviewOn: null })),
  }));
}

function placeOf(
  context: RegisterContext,
  name: { site: string; building: string; room: string; zone: string },
  zones: Map<string, { row: number; zone: string }>,
  row: number,
  wrong: (word: 'site' | 'zone', expected: string) => void,
): NewPlace {
  const { organisationId, importId, sites, buildings, rooms, siteIds } = context;
  const siteKey = name.site.toLowerCase();
  const knownSite = sites.get(siteKey);
  if (!knownSite && siteIds !== null) wrong('site', 'A site that you were given.');
  const before = zones.get(siteKey);
  if (!knownSite) {
    if (!before && !isZone(name.zone || '?')) wrong('zone', 'The time zone of the new site, such as Europe/Dublin.');
    else if (before && name.zone !== '' && name.zone !== before.zone) wrong('zone', `${before.zone}, as in row ${before.row}.`);
    if (!before && isZone(name.zone || '?')) zones.set(siteKey, { row, zone: name.zone });
  }
  // A place with the id that only this import gives is new even when a run before this one made it already.
  const ownSite = idOf(organisationId, importId, 'site', siteKey);
  const siteId = knownSite ?? ownSite;
  const buildingKey = `${siteId} ${name.building.toLowerCase()}`;
  const ownBuilding = idOf(organisationId, importId, 'building', buildingKey);
  const buildingId = buildings.get(buildingKey) ?? ownBuilding;
  const roomKey = `${buildingId} ${name.room.toLowerCase()}`;
  const ownRoom = idOf(organisationId, importId, 'room', roomKey);
  const roomId = rooms.get(roomKey) ?? ownRoom;
  return {
    site: { id: siteId, name: name.site, zone: before?.zone ?? name.zone, isNew: siteId === ownSite },
    building: { id: buildingId, name: name.building, isNew: buildingId === ownBuilding },
    room: { id: roomId, name: name.room, isNew: roomId === ownRoom },
  };
}

/**
 * Reads a point with its limits from one row.
 * @param key what its id follows from beside the letter.
 */
export function readPoint(
  { reader, organisationId, importId, now }: Pick<RegisterContext, 'reader' | 'organisationId' | 'importId' | 'now'>,
  key: string,
  { row, cells }: FileRow,
  add: (row: number, error: CellError) => void,
): NewPoint {
  const wrong = (target: string, expected: string) => add(row, reader.wrong(cells, target, expected));
  const letter = reader.text(cells, 'letter');
  if (letter === '' || letter.length > 4) wrong('letter', 'A letter of at most 4 characters, such as a.');
  const found = quantityOf(reader.text(cells, 'quantity'));
  if (!found) wrong('quantity', QUANTITY_EXPECTED);
  const quantity: Quantity = found?.quantity ?? 'temperature';
  const name = reader.text(cells, 'pointName');
  if (name === '' || name.length > 200) wrong('pointName', 'A name of the point, such as Bearing, drive end.');
  const spot = reader.text(cells, 'spot');
  if (spot.length > 300) wrong('spot', 'At most 300 characters.');
  const figure = (target: string, unit: UnitCode, least: number, most: number): number | null => {
    const text = reader.text(cells, target);
    if (text === '') return null;
    const parsed = parseEntry({ text: reader.figure(text), unit: '' }, { unit, min: least, max: most });
    if ('value' in parsed) return parsed.value;
    wrong(target, `A figure from ${least} to ${most}.`);
    return null;
  };
  const referenceLoadPercent = figure('referenceLoad', '%', 1, 150) ?? undefined;
  const minimumLoadPercent = figure('minimumLoad', '%', 0, 100) ?? undefined;
  const ratedCurrentA = figure('ratedCurrent', 'A', 0.1, 20_000);
  const emissivity = figure('emissivity', '1', 0.01, 1) ?? undefined;
  const id = idOf(organisationId, importId, 'point', key, letter.toLowerCase());
  const point: PointDraft = { id, letter, name, quantity, referenceLoadPercent, minimumLoadPercent, ratedCurrentA, emissivity };
  return { point, spot, limits: readLimits(reader, quantity, id, now, cells, wrong, found?.unit ?? '') };
}

function readLimits(
  reader: Reader,
  quantity: Quantity,
  pointId: string,
  now: number,
  cells: readonly string[],
  wrong: (target: string, expected: string) => void,
  unitOfQuantity: string,
): LimitDraft[] {
  if (LIMIT_GRADES.every((grade) => reader.text(cells, grade) === '')) return [];
  const word = reader.text(cells, 'criterion');
  if (word !== '' && !(CRITERIA as readonly string[]).includes(word)) wrong('criterion', `One of ${CRITERIA.join(', ')}.`);
  const criterion = (CRITERIA as readonly string[]).includes(word) ? (word as CriterionKind) : CRITERION_OF[quantity];
  const side = reader.text(cells, 'direction').toLowerCase();
  const isLow = ['low', 'below', 'min', 'minimum'].includes(side);
  if (!isLow && !['', 'high', 'above', 'max', 'maximum'].includes(side))
    wrong('direction', 'High (too much is bad) or low (too little is bad).');
  const figures: Record<LimitGrade, number | null> = { watch: null, plan: null, soon: null, now: null };
  let isWhole = true;
  for (const grade of LIMIT_GRADES) {
    const text = reader.text(cells, grade);
    if (text === '') continue;
    const parsed = parseEntry(
      { text: reader.figure(text), unit: reader.text(cells, 'unit') || unitOfQuantity },
      { unit: limitUnit(quantity, criterion) },
    );
    if ('value' in parsed) figures[grade] = parsed.value;
    else {
      isWhole = false;
      wrong(grade, `A limit. ${parsed.expected}`);
    }
  }
  const draft = {
    criterion,
    direction: isLow ? ('low' as const) : ('high' as const),
    ...figures,
    source: reader.text(cells, 'source').slice(0, 300),
    reason: reader.text(cells, 'reason').slice(0, 1000),
    origin: 'point' as const,
  };
  if (isWhole) for (const { pointer, detail } of checkLimitSet(draft, quantity)) wrong(pointer.replace(/^[#/]+/, ''), detail);
  return [{ ...draft, id: idOf(pointId, 'limits'), validFrom: now, reviewOn: null }];
}
