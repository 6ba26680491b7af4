import {
  CRITERIA,
  CRITERION_OF,
  type CriterionKind,
  checkLimitSet,
  checkStops,
  GRADE_WORDS,
  LIMIT_GRADES,
  type LimitGrade,
  type LimitSet,
  parseEntry,
  parseLocal,
  sayFigure,
  sayRule,
  tagKey,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import type { NewPoint, RegisteredPoint } from '../assets/index.ts';
import { idOf } from '../deps/index.ts';
import { type LimitDraft, limitsOf } from '../limits/index.ts';
import type { NewRoute } from '../rounds/index.ts';
import type { FileRow } from './csv.ts';
import { type CellError, type Reader, readerOf } from './mapping.ts';
import { readPoint } from './read-assets.ts';
import { limitUnit } from './read-facts.ts';
import { ruleOf } from './rule-words.ts';
import type { Claimed } from './steps.ts';
import { type KnownTag, knownTags } from './tags.ts';
import { readTime } from './times.ts';

/** What rows of a register file make together, whole or not at all; `isThere`: it is there already, by this file or with the same words. */
export type Part = {
  readonly rows: readonly number[];
  readonly isThere: boolean;
  /** What is kept with the rows. */
  readonly ids: Readonly<Record<string, string>>;
  /** One sentence of what it is. */
  readonly said: string;
} & (
  | { readonly kind: 'point'; readonly assetId: string; readonly point: NewPoint }
  | {
      readonly kind: 'limits';
      readonly pointId: string;
      readonly quantity: RegisteredPoint['point']['quantity'];
      readonly draft: LimitDraft;
    }
  | { readonly kind: 'route'; readonly route: NewRoute }
);

type LimitsPart = Extract<Part, { kind: 'limits' }>;

export interface ReadParts {
  /** Those without errors. */
  readonly parts: Part[];
  readonly errors: Map<number, CellError[]>;
}

interface Reading {
  readonly db: TenantDb;
  readonly claimed: Claimed;
  readonly reader: Reader;
  readonly tags: ReadonlyMap<string, KnownTag>;
  readonly errors: Map<number, CellError[]>;
  add(row: number, error: CellError): void;
}

/** Kinds of files that are read here. */
export const PART_KINDS = ['points', 'limits', 'routes'] as const;

/** Reads rows of points, limits or routes against the register as it is now. Rows that belong together must come together. */
export async function readParts(db: TenantDb, claimed: Claimed, rows: readonly FileRow[]): Promise<ReadParts> {
  const reader = readerOf(claimed.mapping, claimed.columns, claimed.separator);
  const errors = new Map<number, CellError[]>();
  const add = (row: number, error: CellError) => void errors.set(row, [...(errors.get(row) ?? []), error]);
  const tags = await knownTags(db, [...new Set(rows.map(({ cells }) => tagKey(reader.text(cells, 'tag'))))]);
  const reading: Reading = { db, claimed, reader, tags, errors, add };
  const read = { points: readPoints, limits: readLimitRows, routes: readRoutes }[claimed.kind as (typeof PART_KINDS)[number]];
  const parts = await read(reading, rows);
  return { parts: parts.filter((part) => part.rows.every((row) => !errors.has(row))), errors };
}

const KNOWN_TAG = 'The tag of an asset in the register that is in service.';

/** The asset of a row; says what is wrong where there is none. */
function assetOf({ reader, tags, add }: Reading, { row, cells }: FileRow): (KnownTag & { assetId: string }) | null {
  const known = tags.get(tagKey(reader.text(cells, 'tag')));
  if (known?.assetId) return { ...known, assetId: known.assetId };
  add(row, reader.wrong(cells, 'tag', KNOWN_TAG));
  return null;
}

function pointOf(reading: Reading, one: FileRow): RegisteredPoint | null {
  const { reader, add } = reading;
  const known = assetOf(reading, one);
  if (!known) return null;
  const letter = reader.text(one.cells, 'letter').toLowerCase();
  const found =
    letter === '' && known.points.length === 1
      ? known.points[0]
      : known.points.find(({ point }) => point.letter.toLowerCase() === letter);
  if (found) return found;
  const letters = known.points.map(({ point }) => point.letter).join(', ');
  const expected =
    letters === '' ? 'An asset with points; this one has none yet.' : `The letter of a point of this asset: ${letters}.`;
  add(one.row, reader.wrong(one.cells, 'letter', expected));
  return null;
}

async function readPoints(reading: Reading, rows: readonly FileRow[]): Promise<Part[]> {
  const { reader, claimed, add } = reading;
  const said = new Map<string, number>();
  return rows.flatMap((one): Part[] => {
    const known = assetOf(reading, one);
    if (!known) return [];
    const { organisationId, importId, now } = claimed;
    const point = readPoint({ reader, organisationId, importId, now }, known.assetId, one, add);
    const { letter, id, name, quantity } = point.point;
    const taken = known.points.find((other) => other.point.letter.toLowerCase() === letter.toLowerCase());
    const before = said.get(`${known.assetId} ${letter.toLowerCase()}`);
    if (taken && taken.point.id !== id)
      add(one.row, reader.wrong(one.cells, 'letter', `A letter that is free; ${letter} is ${taken.point.name} already.`));
    if (before !== undefined)
      add(one.row, reader.wrong(one.cells, 'letter', `A letter of its own; row ${before} has this one already.`));
    said.set(`${known.assetId} ${letter.toLowerCase()}`, one.row);
    const words = `${reader.text(one.cells, 'tag')} ${letter}: ${name} (${quantity})`;
    const { assetId } = known;
    return [
      { kind: 'point', rows: [one.row], isThere: taken?.point.id === id, ids: { pointId: id }, said: words, assetId, point },
    ];
  });
}

const LOW = ['low', 'below', 'min', 'minimum'];
const HIGH = ['', 'high', 'above', 'max', 'maximum'];

async function readLimitRows(reading: Reading, rows: readonly FileRow[]): Promise<Part[]> {
  const { db, reader, claimed, add } = reading;
  const found = rows.flatMap((one) => {
    const known = pointOf(reading, one);
    return known ? [{ one, point: known.point }] : [];
  });
  const present = await limitsOf(db, [...new Set(found.map(({ point }) => point.id))]);
  const sides = new Map<string, number>();
  const drafts = found.flatMap(({ one, point }): LimitsPart[] => {
    const { row, cells } = one;
    const wrong = (target: string, expected: string) => add(row, reader.wrong(cells, target, expected));
    const word = reader.text(cells, 'criterion');
    if (word !== '' && !(CRITERIA as readonly string[]).includes(word)) wrong('criterion', `One of ${CRITERIA.join(', ')}.`);
    const criterion = (CRITERIA as readonly string[]).includes(word) ? (word as CriterionKind) : CRITERION_OF[point.quantity];
    const side = reader.text(cells, 'direction').toLowerCase();
    if (!LOW.includes(side) && !HIGH.includes(side)) wrong('direction', 'High (too much is bad) or low (too little is bad).');
    const direction = LOW.includes(side) ? ('low' as const) : ('high' as const);
    const figures: Record<LimitGrade, number | null> = { watch: null, plan: null, soon: null, now: null };
    for (const grade of LIMIT_GRADES) {
      const text = reader.text(cells, grade);
      if (text === '') continue;
      const parsed = parseEntry(
        { text: reader.figure(text), unit: reader.text(cells, 'unit') },
        { unit: limitUnit(point.quantity, criterion) },
      );
      if ('value' in parsed) figures[grade] = parsed.value;
      else wrong(grade, `A limit. ${parsed.expected}`);
    }
    const source = reader.text(cells, 'source');
    const reason = reader.text(cells, 'reason');
    if (source.length > 300) wrong('source', 'At most 300 characters.');
    if (reason.length > 1000) wrong('reason', 'At most 1000 characters.');
    const before = sides.get(`${point.id} ${criterion} ${direction}`);
    if (before !== undefined) wrong('direction', `Each side of a point once; row ${before} has this one already.`);
    sides.set(`${point.id} ${criterion} ${direction}`, row);
    const id = idOf(claimed.organisationId, claimed.importId, 'limits', row);
    const draft: LimitDraft = {
      id,
      criterion,
      direction,
      ...figures,
      source,
      reason,
      validFrom: claimed.now,
      reviewOn: null,
      origin: 'point',
    };
    if (LIMIT_GRADES.every((grade) => figures[grade] === null) && !reading.errors.has(row))
      wrong('watch', 'A figure for at least one of Watch, Plan, Soon and Now.');
    const sets = present.get(point.id) ?? [];
    const last = newestOf(sets, draft);
    const isThere = sets.some((set) => set.id === id) || (last !== null && saysTheSame(last, draft));
    const said = LIMIT_GRADES.flatMap((grade) =>
      figures[grade] === null ? [] : [`${GRADE_WORDS[grade]} ${sayFigure(figures[grade], 2)}`],
    );
    const words = `${reader.text(cells, 'tag')} ${point.letter}: ${said.join(', ')} ${limitUnit(point.quantity, criterion)} ${direction === 'low' ? 'or below' : 'or above'}`;
    const ids = { pointId: point.id, limitsId: id };
    return [{ kind: 'limits', rows: [row], isThere, ids, said: words, pointId: point.id, quantity: point.quantity, draft }];
  });
  const rowOf = new Map(rows.map((one) => [one.row, one]));
  const ofPoint = new Map<string, LimitsPart[]>();
  for (const part of drafts) ofPoint.set(part.pointId, [...(ofPoint.get(part.pointId) ?? []), part]);
  // The two sides of a point come in together: each is looked at beside the other as the file has it.
  for (const part of drafts) {
    const row = part.rows[0]!;
    if (reading.errors.has(row)) continue;
    const beside = ofPoint
      .get(part.pointId)!
      .filter((other) => other !== part && !reading.errors.has(other.rows[0]!))
      .map(({ draft }, index): LimitSet => ({ ...draft, version: 1_000_000 + index, author: '' }));
    const { cells } = rowOf.get(row)!;
    for (const { pointer, detail } of checkLimitSet(
      part.draft,
      part.quantity,
      [...(present.get(part.pointId) ?? []), ...beside],
      claimed.now,
    ))
      add(row, reader.wrong(cells, pointer.replace(/^[#/]+/, ''), detail));
  }
  return drafts;
}

/** The newest version of the side of a draft; null: it has none. Limits for some weather or season are sides of their own. */
function newestOf(
  sets: readonly LimitSet[],
  { criterion, direction }: Pick<LimitDraft, 'criterion' | 'direction'>,
): LimitSet | null {
  const side = sets.filter((set) => set.criterion === criterion && set.direction === direction && set.holds == null);
  return side.reduce<LimitSet | null>((newest, set) => (newest === null || set.version > newest.version ? set : newest), null);
}

const saysTheSame = (set: LimitSet, draft: LimitDraft): boolean =>
  LIMIT_GRADES.every((grade) => set[grade] === draft[grade]) && set.source === draft.source && set.reason === draft.reason;

const MOST_DAYS = 60;

async function readRoutes(reading: Reading, rows: readonly FileRow[]): Promise<Part[]> {
  const { db, reader, add } = reading;
  const groups = new Map<string, FileRow[]>();
  for (const one of rows) {
    const code = reader.text(one.cells, 'code');
    if (code === '' || code.length > 20)
      add(one.row, reader.wrong(one.cells, 'code', 'A code of the route of at most 20 characters, such as RT1.'));
    else groups.set(code.toLowerCase(), [...(groups.get(code.toLowerCase()) ?? []), one]);
  }
  const taken = await db.$queryRaw<{ key: string; id: string }[]>(sql`
    SELECT lower(code) AS key, id FROM route WHERE organisation_id = current_organisation() AND lower(code) = ANY (${[...groups.keys()]})
      AND retired_at IS NULL`);
  return [...groups].map(([key, group]) => readRoute(reading, key, group, taken.find((one) => one.key === key)?.id ?? null));
}

/** Rows of one code are one route; what is said of the route may stand in its first row only; said twice, it must be the same. */
function readRoute(reading: Reading, key: string, group: readonly FileRow[], takenBy: string | null): Part {
  const { reader, claimed, add } = reading;
  const first = group[0]!;
  const said = (target: string): { text: string; at: FileRow } => {
    const at = group.find(({ cells }) => reader.cell(cells, target) !== '') ?? first;
    const text = reader.text(at.cells, target);
    for (const one of group) {
      const other = reader.cell(one.cells, target);
      if (other !== '' && other.toLowerCase() !== text.toLowerCase())
        add(one.row, reader.wrong(one.cells, target, `${text}, as in row ${at.row}: both rows are about the same route.`));
    }
    return { text, at };
  };
  const wrongAt = ({ row, cells }: FileRow, target: string, expected: string) => add(row, reader.wrong(cells, target, expected));
  const id = idOf(claimed.organisationId, claimed.importId, 'route', key);
  if (takenBy !== null && takenBy !== id) wrongAt(first, 'code', 'A code that is free; there is such a route already.');
  const name = said('name');
  if (name.text === '' || name.text.length > 200) wrongAt(name.at, 'name', 'A name of the route of at most 200 characters.');
  const rule = said('rule');
  const understood = ruleOf(rule.text);
  if ('expected' in understood) wrongAt(rule.at, 'rule', understood.expected);
  const start = said('start');
  const startLocal = startOf(reader, start.text);
  if ('expected' in startLocal) wrongAt(start.at, 'start', startLocal.expected);
  const days = (target: string): number => {
    const { text, at } = said(target);
    const figure = text === '' ? 0 : Number(text);
    if (!Number.isInteger(figure) || figure < 0 || figure > MOST_DAYS)
      wrongAt(at, target, `A whole number of days from 0 to ${MOST_DAYS}.`);
    return figure;
  };
  const [daysBefore, daysAfter] = [days('daysBefore'), days('daysAfter')];
  const stops = new Map<string, number>();
  let site: { id: string; row: number } | null = null;
  for (const one of group) {
    const found = pointOf(reading, one);
    if (!found) continue;
    const before = stops.get(found.point.id);
    if (before !== undefined) wrongAt(one, 'letter', `A point is on a route once; it is the stop of row ${before} already.`);
    stops.set(found.point.id, one.row);
    site ??= { id: found.siteId, row: one.row };
    if (site.id !== found.siteId) wrongAt(one, 'tag', `A route keeps to one site, that of row ${site.row}.`);
  }
  const pointIds = [...stops.keys()];
  if (pointIds.length > 0) for (const detail of checkStops(pointIds)) wrongAt(first, 'code', detail);
  const words = 'rule' in understood ? sayRule(understood.rule, 'UTC') : '';
  const code = reader.text(first.cells, 'code');
  const route: NewRoute = {
    id,
    siteId: site?.id ?? '',
    code,
    name: name.text,
    rule: 'rule' in understood ? understood.rule : '',
    startLocal: 'local' in startLocal ? startLocal.local : '',
    window: { kind: 'days', daysBefore, daysAfter },
    graceMs: null,
    season: null,
    walkerId: null,
    aboutMinutes: null,
    beforeYouLeave: '',
    pointIds,
  };
  const sentence = `${code} ${name.text}: ${words}, from ${route.startLocal.replace('T', ' ')}, ${pointIds.length} stops`;
  return {
    kind: 'route',
    rows: group.map(({ row }) => row),
    isThere: takenBy === id,
    ids: { routeId: id },
    said: sentence,
    route,
  };
}

/** The first planned time on the wall clock of the site. */
function startOf(reader: Reader, text: string): { local: string } | { expected: string } {
  if (/(z|utc|gmt|\d[+-]\d{2}:?\d{2})$/i.test(text))
    return { expected: 'A time on the clock of the site, without a zone, such as 2026-05-04 08:00.' };
  const read = readTime(text, { zone: 'UTC', hour: reader.hour ?? '08:00', dateOrder: reader.dateOrder });
  if ('expected' in read) return read;
  const local = new Date(read.at).toISOString().slice(0, 16);
  return parseLocal(local) === null ? { expected: 'A day that exists, such as 2026-05-04 08:00.' } : { local };
}
