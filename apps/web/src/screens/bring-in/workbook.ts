/**
 * Workbooks (ECMA-376, .xlsx) as rows of text, read on this device. Dates become text as they stand in the sheet, without a zone;
 * figures stay as they were stored, whatever the sheet shows; a merged cell counts for every cell it covers; a title above the
 * header is left out. Formulas give their last result.
 */
import { strFromU8, unzipSync } from 'fflate';
import readSheets from 'read-excel-file/universal';

export interface Sheet {
  readonly name: string;
  /** Rows of the sheet above the header: a title, blank ones. */
  readonly above: number;
  /** The header and all below it. */
  readonly rows: readonly (readonly string[])[];
}

export class NotAWorkbook extends Error {
  override readonly name = 'NotAWorkbook';
}

/** Unpacked size up to which a workbook is read. */
const LARGEST = 200 * 1024 * 1024;

/** Cells from the first one to the farthest, empty ones among them, up to which a sheet is read. */
const MOST_CELLS = 20_000_000;

export const isWorkbook = (bytes: Uint8Array): boolean =>
  bytes[0] === 0x50 && bytes[1] === 0x4b && bytes[2] === 0x03 && bytes[3] === 0x04;

/**
 * The sheets that hold anything, in their order.
 * @throws NotAWorkbook with a sentence for the person.
 */
export async function readWorkbook(bytes: Uint8Array): Promise<Sheet[]> {
  let unpacked = 0;
  let merges: ReadonlyMap<string, readonly string[]>;
  try {
    const parts = unzipSync(bytes, {
      filter: ({ name, originalSize }) => {
        unpacked += originalSize;
        if (unpacked > LARGEST)
          throw new NotAWorkbook('This workbook is too large to be read here. Save the sheet as CSV and bring that in.');
        return name === 'xl/workbook.xml' || name === 'xl/_rels/workbook.xml.rels' || name.startsWith('xl/worksheets/');
      },
    });
    const texts = new Map(Object.entries(parts).map(([name, part]) => [name, strFromU8(part)]));
    for (const [name, xml] of texts) if (name.startsWith('xl/worksheets/')) mustFit(xml);
    merges = mergesBySheet(texts);
  } catch (trouble) {
    if (trouble instanceof NotAWorkbook) throw trouble;
    throw new NotAWorkbook(
      'This file could not be read as a workbook. Open it, save it as .xlsx or as CSV, and choose it again.',
    );
  }
  let read: Awaited<ReturnType<typeof readSheets<string>>>;
  try {
    read = await readSheets(bytes.slice().buffer, { trim: false, parseNumber: (text: string) => text });
  } catch {
    throw new NotAWorkbook('This workbook could not be read. Save the sheet as CSV and bring that in.');
  }
  const sheets = read.map(({ sheet, data }) => ({
    name: sheet,
    rows: filled(
      data.map((row) => row.map(cellText)),
      merges.get(sheet) ?? [],
    ),
  }));
  return sheets.map(({ name, rows }) => ({ name, ...belowTitle(rows) })).filter(({ rows }) => rows.length > 0);
}

/** A sheet as CSV text, so that it is brought in like any other file. Blank lines stand for what is above: a row keeps its number. */
export const csvOf = ({ above, rows }: Sheet): string =>
  '\n'.repeat(above) +
  rows
    .map((cells) => `${cells.map((cell) => (/[",;\t\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell)).join(',')}\n`)
    .join('');

function cellText(cell: unknown): string {
  if (cell === null || cell === undefined) return '';
  if (cell instanceof Date) return dateText(cell);
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  return String(cell);
}

/** As it stands in the sheet: a day, a time of day, or both. */
function dateText(date: Date): string {
  // Times without a day lie on the day before the first one of the calendar of spreadsheets.
  const [day, time] = date.toISOString().slice(0, 19).split('T') as [string, string];
  const clock = time.endsWith(':00') ? time.slice(0, 5) : time;
  if (date.getUTCFullYear() < 1900) return clock;
  return time === '00:00:00' ? day : `${day} ${clock}`;
}

/** One cell far away, written there by a slip or by malice, would take as much room as all that lie before it. */
function mustFit(xml: string): void {
  let right = 0;
  let bottom = 0;
  let farthest = '';
  for (const [, letters, digits] of xml.matchAll(/<c\s[^>]*?\br="([A-Z]{1,9})(\d{1,9})"/g)) {
    const [x, y] = [column(letters!) + 1, Number(digits)];
    if (x > right || y > bottom) farthest = `${letters}${digits}`;
    [right, bottom] = [Math.max(right, x), Math.max(bottom, y)];
  }
  for (const [, digits] of xml.matchAll(/<row\s[^>]*?\br="(\d{1,9})"/g)) bottom = Math.max(bottom, Number(digits));
  if (right * bottom > MOST_CELLS)
    throw new NotAWorkbook(
      `A sheet reaches as far as cell ${farthest}. Delete what stands far from the table, or save the sheet as CSV and bring that in.`,
    );
}

/** References of merged cells, such as A2:A5, by the name of the sheet. */
function mergesBySheet(parts: ReadonlyMap<string, string>): Map<string, readonly string[]> {
  const targets = new Map(
    [...(parts.get('xl/_rels/workbook.xml.rels') ?? '').matchAll(/<Relationship\b[^>]*>/g)].map(([tag]) => [
      attribute(tag, 'Id'),
      attribute(tag, 'Target').replace(/^\/?(xl\/)?/, 'xl/'),
    ]),
  );
  return new Map(
    [...(parts.get('xl/workbook.xml') ?? '').matchAll(/<sheet\b[^>]*>/g)].map(([tag]) => {
      const xml = parts.get(targets.get(attribute(tag, 'r:id')) ?? '') ?? '';
      return [attribute(tag, 'name'), [...xml.matchAll(/<mergeCell\b[^>]*>/g)].map(([merge]) => attribute(merge, 'ref'))];
    }),
  );
}

const ENTITIES: Readonly<Record<string, string>> = { amp: '&', lt: '<', gt: '>', quot: '"', apos: "'" };
const attribute = (tag: string, name: string): string =>
  (new RegExp(`\\s${name}="([^"]*)"`).exec(tag)?.[1] ?? '').replace(
    /&(amp|lt|gt|quot|apos);/g,
    (_, word: string) => ENTITIES[word]!,
  );

function filled(rows: string[][], merges: readonly string[]): string[][] {
  for (const merge of merges) {
    const corners = /^([A-Z]+)(\d+):([A-Z]+)(\d+)$/.exec(merge);
    if (corners === null) continue;
    const [left, top, right, bottom] = [column(corners[1]!), Number(corners[2]) - 1, column(corners[3]!), Number(corners[4]) - 1];
    const value = rows[top]?.[left] ?? '';
    for (let y = top; y <= Math.min(bottom, rows.length - 1); y++)
      for (let x = left; x <= Math.min(right, rows[y]!.length - 1); x++) rows[y]![x] = value;
  }
  return rows;
}

const column = (letters: string): number => [...letters].reduce((sum, letter) => sum * 26 + letter.charCodeAt(0) - 64, 0) - 1;

/** From the header on: the first row with two different words. A sheet of one column has its header in its first row. */
function belowTitle(rows: readonly (readonly string[])[]): Pick<Sheet, 'above' | 'rows'> {
  const words = (row: readonly string[]) => new Set(row.map((cell) => cell.trim()).filter((cell) => cell !== '')).size;
  const first = rows.findIndex((row) => words(row) > 1);
  const start = first >= 0 ? first : rows.findIndex((row) => words(row) > 0);
  return start < 0 ? { above: 0, rows: [] } : { above: start, rows: rows.slice(start) };
}
