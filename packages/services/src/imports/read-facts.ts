import {
  CONDITION_NAMES,
  CRITERION_OF,
  type CriterionKind,
  completePoint,
  type Entry,
  type Fact,
  KINDS_OF_WORK,
  type KindOfWork,
  nameOfQuantity,
  POINT_DEFAULTS,
  type Point,
  type PointDraft,
  parseEntry,
  parseReading,
  type Quantity,
  type Reading,
  tagKey,
  type UnitCode,
  unitOf,
  unitOfCriterion,
} from '@heatround/domain';
import { idOf } from '../deps/index.ts';
import type { FileRow } from './csv.ts';
import { type CellError, type ImportMapping, inputName, QUANTITY_EXPECTED, quantityOf, type Reader, yesOrNo } from './mapping.ts';
import type { KnownTag } from './tags.ts';
import { isZone, readTime } from './times.ts';

/** A point that the file names and the register does not know. */
export interface MissingPoint {
  readonly tag: string;
  readonly key: string;
  /** Null: the asset exists already under `inAssetId`. */
  readonly newAssetId: string | null;
  readonly inAssetId: string | null;
  readonly draft: PointDraft;
  readonly criterion: CriterionKind;
  /** Canonical unit. */
  readonly limit: number;
}

/** A row understood, or what is wrong with it. */
export type ReadRow =
  | { readonly row: number; readonly errors: readonly CellError[] }
  | {
      readonly row: number;
      readonly fact: Fact;
      /** Set on the first row that names a point to be made. */
      readonly makes: MissingPoint | null;
      /** The clock time exists twice and was taken as the first one. */
      readonly existsTwice: boolean;
      /** Load in % of rated of a reading at a point that is to be made. */
      readonly load: number | null;
      readonly about: RowAbout;
    };

/** What a good row is about, for the sentences of the dry run. */
export interface RowAbout {
  readonly tag: string;
  readonly letter: string;
  readonly zone: string;
  /** The time as written. */
  readonly timeText: string;
  /** Null: work. */
  readonly measured: { readonly point: Point; readonly reading: Reading } | null;
}

export interface FactContext {
  readonly organisationId: string;
  readonly importId: string;
  readonly reader: Reader;
  readonly mapping: ImportMapping;
  /** Epoch milliseconds by the organisation's clock. */
  readonly now: number;
  /** Points to be made, by tag key and letter, gathered over all rows; null while bringing in: they exist by then. */
  readonly missing: Map<string, { point: MissingPoint; row: number; limitText: string; unit: string }> | null;
  /** Zone of the room that missing points go into. */
  readonly missingZone: string;
}

const CLOCK_SKEW_MS = 5 * 60_000;
const KNOWN_TAG = 'The tag of an asset in the register.';

/** Reads rows of readings against what the register knows of their tags. */
export function readReadings(context: FactContext, tags: ReadonlyMap<string, KnownTag>, rows: readonly FileRow[]): ReadRow[] {
  return rows.map((row) => readReading(context, tags, row));
}

/** Reads rows of work recorded. */
export function readWork(context: FactContext, tags: ReadonlyMap<string, KnownTag>, rows: readonly FileRow[]): ReadRow[] {
  return rows.map(({ row, cells }) => {
    const { reader } = context;
    const errors: CellError[] = [];
    const known = tags.get(tagKey(reader.text(cells, 'tag')));
    const letter = reader.text(cells, 'letter');
    const point = letter === '' ? null : known?.points.find((one) => sameLetter(one.point.letter, letter));
    if (!known?.assetId) errors.push(reader.wrong(cells, 'tag', KNOWN_TAG));
    else if (point === undefined) errors.push(reader.wrong(cells, 'letter', lettersOf(known)));
    const time = timeOf(context, cells, known?.zone ?? context.missingZone, errors);
    const text = reader.text(cells, 'work');
    const work = workOfWord(text);
    if (!work) errors.push(reader.wrong(cells, 'work', `What was done: ${KINDS_OF_WORK.join(', ')}.`));
    const words = wordsOf(reader, cells, errors);
    if (errors.length > 0 || !known?.assetId || !time || !work) return { row, errors };
    const takenAt = new Date(time.at).toISOString();
    const where = point ? { assetId: known.assetId, pointId: point.point.id } : { assetId: known.assetId };
    const id = idOf(context.organisationId, where, takenAt, work, words);
    const fact: Fact = {
      kind: 'work-recorded',
      id,
      takenAt,
      clock: fromFile(takenAt),
      ...where,
      work,
      ...(words ? { words } : {}),
    };
    const about = {
      tag: reader.text(cells, 'tag'),
      letter: point?.point.letter ?? '',
      zone: time.zone,
      timeText: time.text,
      measured: null,
    };
    return { row, fact, makes: null, existsTwice: time.existsTwice, load: null, about };
  });
}

function readReading(context: FactContext, tags: ReadonlyMap<string, KnownTag>, { row, cells }: FileRow): ReadRow {
  const { reader } = context;
  const errors: CellError[] = [];
  const place = placeOf(context, tags, cells, row, errors);
  const time = timeOf(context, cells, place?.zone ?? context.missingZone, errors);
  const running = reader.text(cells, 'running');
  if (running !== '' && yesOrNo(running) === null) errors.push(reader.wrong(cells, 'running', 'Yes or no.'));
  const instrument = reader.text(cells, 'instrument');
  if (instrument.length > 60) errors.push(reader.wrong(cells, 'instrument', 'At most 60 characters.'));
  const words = wordsOf(reader, cells, errors);
  if (!place) return { row, errors };

  const inputs = entriesOf(reader, cells, reader.inputs, () => place.unit, inputName);
  const conditions = entriesOf(
    reader,
    cells,
    CONDITION_NAMES,
    (name) => reader.text(cells, `${name}Unit`),
    (name) => name,
  );
  const takenAt = new Date(time?.at ?? 0).toISOString();
  const isRunning = running === '' ? null : yesOrNo(running);
  const id = idOf(
    context.organisationId,
    place.point.id,
    takenAt,
    sorted(inputs),
    sorted(conditions),
    isRunning,
    instrument,
    words,
  );
  const fact: Fact = {
    kind: 'reading-taken',
    id,
    takenAt,
    clock: fromFile(takenAt),
    pointId: place.point.id,
    inputs,
    conditions,
    ...(isRunning === null ? {} : { running: isRunning }),
    ...(instrument ? { instrument } : {}),
    ...(words ? { words } : {}),
  };
  const parsed = parseReading(fact, place.point);
  if ('errors' in parsed) {
    for (const { pointer, detail } of parsed.errors) errors.push(cellOf(reader, cells, pointer, detail));
  }
  if (errors.length > 0 || !time || !('reading' in parsed)) return { row, errors };
  const load = place.missing ? (parsed.reading.conditions.load ?? null) : null;
  const makes = place.missing && context.missing && !context.missing.has(placeKey(place.missing)) ? place.missing : null;
  if (makes) context.missing!.set(placeKey(makes), { point: makes, row, limitText: place.limitText, unit: place.unit });
  const measured = { point: place.point, reading: parsed.reading };
  const about = { tag: reader.text(cells, 'tag'), letter: place.point.letter, zone: time.zone, timeText: time.text, measured };
  return { row, fact, makes, existsTwice: time.existsTwice, load, about };
}

const placeKey = (point: MissingPoint): string => `${point.key} ${point.draft.letter.toLowerCase()}`;
const sameLetter = (a: string, b: string): boolean => a.toLowerCase() === b.toLowerCase();
const lettersOf = ({ points }: KnownTag): string =>
  points.length === 0
    ? 'An asset with points; this one has none yet.'
    : `The letter of a point of this asset: ${points.map(({ point }) => point.letter).join(', ')}.`;

interface RowPlace {
  readonly point: Point;
  readonly zone: string;
  /** Unit of the inputs where a cell has none. */
  readonly unit: string;
  readonly missing: MissingPoint | null;
  readonly limitText: string;
}

/** The point a row is about: in the register, or to be made. */
function placeOf(
  context: FactContext,
  tags: ReadonlyMap<string, KnownTag>,
  cells: readonly string[],
  row: number,
  errors: CellError[],
): RowPlace | null {
  const { reader, mapping } = context;
  const tag = reader.text(cells, 'tag');
  const letter = reader.text(cells, 'letter');
  const known = tags.get(tagKey(tag));
  const word = reader.text(cells, 'quantity');
  const quantity = word === '' ? null : quantityOf(word);
  if (word !== '' && !quantity) errors.push(reader.wrong(cells, 'quantity', QUANTITY_EXPECTED));
  const unit = reader.text(cells, 'unit') || (quantity?.unit ?? '');
  if (known?.assetId) {
    const found =
      letter === '' && known.points.length === 1
        ? known.points[0]
        : known.points.find((one) => sameLetter(one.point.letter, letter || 'a'));
    if (found) {
      if (quantity && quantity.quantity !== found.point.quantity) {
        errors.push(reader.wrong(cells, 'quantity', `This point measures ${found.point.quantity}.`));
      }
      return { point: found.point, zone: known.zone, unit, missing: null, limitText: '' };
    }
  }
  if (!mapping.makeMissing || !context.missing || tag === '' || (known && !known.assetId)) {
    const expected = known && !known.assetId ? `${KNOWN_TAG} This one is retired or at a site you were not given.` : KNOWN_TAG;
    if (!known?.assetId) errors.push(reader.wrong(cells, 'tag', expected));
    else errors.push(reader.wrong(cells, 'letter', lettersOf(known)));
    return null;
  }
  return missingPlace(
    context,
    known ?? null,
    { tag, letter: letter || 'a', quantity: quantity?.quantity ?? null, unit, row },
    cells,
    errors,
  );
}

function missingPlace(
  context: FactContext,
  known: KnownTag | null,
  named: { tag: string; letter: string; quantity: Quantity | null; unit: string; row: number },
  cells: readonly string[],
  errors: CellError[],
): RowPlace | null {
  const { reader, mapping, organisationId, importId } = context;
  const make = mapping.makeMissing!;
  const { tag, letter, unit } = named;
  const key = tagKey(tag);
  if (tag.length > 60) errors.push(reader.wrong(cells, 'tag', 'A tag of at most 60 characters.'));
  if (letter.length > 4) errors.push(reader.wrong(cells, 'letter', 'A letter of at most 4 characters, such as a.'));
  const quantity = named.quantity ?? (make.quantity as Quantity);
  const planned = context.missing!.get(`${key} ${letter.toLowerCase()}`);
  if (planned && planned.point.draft.quantity !== quantity) {
    errors.push(
      reader.wrong(
        cells,
        'quantity',
        `${planned.point.draft.quantity}, as in row ${planned.row}: one point measures one quantity.`,
      ),
    );
  }
  // Merged cells leave all rows but the first empty: the limit said before still holds.
  const limitText =
    reader.cell(cells, 'limit') ||
    planned?.limitText ||
    reader.text(cells, 'limit') ||
    (make.limit === null ? '' : plainFigure(make.limit));
  const wrongLimit = (expected: string) =>
    errors.push({ column: reader.column('limit'), expected, found: limitText.slice(0, 200) || 'nothing' });
  const limit = limitOf(quantity, reader.figure(limitText), unit);
  if ('expected' in limit) wrongLimit(`A limit. ${limit.expected}`);
  else if (planned && Math.abs(limit.value - planned.point.limit) > 1e-9) {
    wrongLimit(`${planned.limitText}, as in row ${planned.row}: the limit of a point is the same in all its rows.`);
  }
  const draft: PointDraft = {
    id: idOf(organisationId, importId, 'point', key, letter.toLowerCase()),
    letter,
    name: nameOfQuantity(quantity),
    quantity,
    ...onlyWhatTheFileCarries(reader, quantity),
  };
  const missing: MissingPoint = planned?.point ?? {
    tag,
    key,
    newAssetId: known?.assetId ? null : idOf(organisationId, importId, 'asset', key),
    inAssetId: known?.assetId ?? null,
    draft,
    criterion: CRITERION_OF[quantity],
    limit: 'value' in limit ? limit.value : Number.NaN,
  };
  const zone = known?.assetId ? known.zone : context.missingZone;
  return { point: completePoint(missing.draft), zone, unit, missing, limitText };
}

/**
 * A point made for a history asks for nothing the history never had; otherwise none of it could be judged. Infrared only where the
 * file speaks of it, since most histories come from fixed sensors.
 */
function onlyWhatTheFileCarries(reader: Reader, quantity: Quantity): Partial<PointDraft> {
  const usual = POINT_DEFAULTS[quantity];
  const hasLoad = reader.has('load') || reader.has('current');
  const needs = usual.needs.filter((need) => (need === 'load' ? hasLoad : reader.has(need)));
  const loadFamily = usual.loadFamily === 'none' || !hasLoad ? 'none' : usual.loadFamily;
  const infrared = usual.infrared && ['emissivity', 'reflected', 'distance', 'angle'].some((name) => reader.has(name));
  return { needs, loadFamily, infrared, ...(loadFamily === 'none' ? { basis: 'raw' } : {}) };
}

/** Unit of the figure that limits of a criterion are compared with. */
export const limitUnit = (quantity: Quantity, criterion: CriterionKind = CRITERION_OF[quantity]): UnitCode =>
  unitOfCriterion(quantity, criterion);

/** A number as text that can be read in one way only. */
const plainFigure = (value: number): string => String(value).replace(/(\.\d{3})$/, '$10');

/** A limit as written, in the unit of the readings; a difference given in °C or °F is one of K. */
function limitOf(quantity: Quantity, text: string, unit: string): { value: number } | { expected: string } {
  const canonical = limitUnit(quantity);
  const parsed = parseEntry({ text, unit }, { unit: canonical });
  return 'value' in parsed ? parsed : { expected: parsed.expected };
}

function timeOf(
  { reader, now }: FactContext,
  cells: readonly string[],
  placeZone: string,
  errors: CellError[],
): { at: number; existsTwice: boolean; zone: string; text: string } | null {
  const zone = reader.text(cells, 'zone') || placeZone;
  const target = reader.has('takenAt') ? 'takenAt' : 'date';
  const text =
    target === 'takenAt' ? reader.text(cells, 'takenAt') : `${reader.text(cells, 'date')} ${reader.text(cells, 'time')}`.trim();
  const wrong = (expected: string) => {
    errors.push({ column: reader.column(target), expected, found: text.slice(0, 200) || 'nothing' });
    return null;
  };
  if (!isZone(zone)) {
    errors.push(reader.wrong(cells, 'zone', 'A time zone, such as Europe/Dublin.'));
    return null;
  }
  const read = readTime(text, { zone, hour: reader.hour, dateOrder: reader.dateOrder });
  if ('expected' in read) return wrong(read.expected);
  if (read.at > now + CLOCK_SKEW_MS) return wrong('A time that has passed; this one lies ahead.');
  return { ...read, zone, text };
}

function entriesOf(
  reader: Reader,
  cells: readonly string[],
  targets: readonly string[],
  unitOfTarget: (target: string) => string,
  nameOf: (target: string) => string,
): Record<string, Entry> {
  const entries: Record<string, Entry> = {};
  for (const target of targets) {
    const text = reader.text(cells, target);
    if (text === '') continue;
    const isAmps = target.startsWith('amps:');
    entries[nameOf(target)] = { text: reader.figure(text), unit: isAmps ? '' : unitOfTarget(target) };
  }
  return entries;
}

const sorted = (entries: Record<string, Entry>) => Object.entries(entries).sort(([a], [b]) => (a < b ? -1 : 1));
/** The clock of a fact that came from a file: no device was ever asked. */
const fromFile = (takenAt: string) => ({ deviceAt: takenAt, monotonicMs: 0, offsetMs: null });

function wordsOf(reader: Reader, cells: readonly string[], errors: CellError[]): string {
  const words = reader.text(cells, 'words');
  if (words.length > 4000) errors.push(reader.wrong(cells, 'words', 'At most 4000 characters.'));
  return words;
}

/** Turns a pointer into a fact into the cell it came from. */
function cellOf(reader: Reader, cells: readonly string[], pointer: string, expected: string): CellError {
  const [, part, name = ''] = pointer.split('/').map((one) => one.replaceAll('~1', '/').replaceAll('~0', '~'));
  const target =
    part === 'inputs' ? (reader.inputs.find((input) => inputName(input) === name) ?? reader.inputs[0] ?? 'value') : name;
  const unit = part === 'inputs' ? reader.text(cells, 'unit') : '';
  if (unit !== '' && unitOf(unit) === null) return reader.wrong(cells, 'unit', 'A unit, such as °C, °F, K, mm/s, bar or A.');
  const wrong = reader.wrong(cells, target, expected);
  return unit === '' || wrong.found === 'nothing' ? wrong : { ...wrong, found: `${wrong.found} ${unit}` };
}

const WORK_WORDS: readonly (readonly [RegExp, KindOfWork])[] = [
  [/^(re)?(greas|lubric)/, 'regreased'],
  [/^(re)?(tight|torque)/, 'tightened'],
  [/^clean/, 'cleaned'],
  [/^(adjust|align|balanc|realign)/, 'adjusted'],
  [/^(instrument|camera|meter)/, 'instrument-changed'],
  [/^(repair|fix|mend)/, 'repaired'],
  [/^(replac|renew|exchang|new)/, 'replaced'],
];

/** The kind of work a word means; null when it is none of ours. */
export function workOfWord(text: string): KindOfWork | null {
  const plain = text
    .trim()
    .toLowerCase()
    .replace(/[\s_]+/g, '-');
  if ((KINDS_OF_WORK as readonly string[]).includes(plain)) return plain as KindOfWork;
  return WORK_WORDS.find(([pattern]) => pattern.test(plain))?.[1] ?? null;
}
