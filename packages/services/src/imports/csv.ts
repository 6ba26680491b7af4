import { Readable } from 'node:stream';
import { Problem } from '@heatround/domain';
import { CsvError, parse } from 'csv-parse';

export const SEPARATORS = [',', ';', '\t'] as const;
export type Separator = (typeof SEPARATORS)[number];

/** A row of a file, cells as written. Its number is the one a spreadsheet shows: the header is row 1, blank rows count. */
export interface FileRow {
  readonly row: number;
  readonly cells: readonly string[];
}

export const MOST_ROWS = 1_000_000;
const MOST_COLUMNS = 200;
const MOST_CELL_LENGTH = 10_000;
/** Ragged rows named in one refusal. */
const MOST_NAMED = 20;
const SLICE = 32 * 1024;
const PART = 512 * 1024;

const refused = (what: string, expected: string, found?: string): Problem =>
  new Problem('invalid-request', `${what} Nothing was kept.`, [
    { pointer: '#/text', detail: found === undefined ? `expected ${expected}` : `expected ${expected}; found ${found}` },
  ]);

/**
 * Reads a whole file of text into its header and its rows, in chunks, letting other work pass in between. Cells are plain text,
 * whatever they look like. Blank rows are left out; a byte order mark, every line ending and quoted cells are taken.
 * @throws Problem invalid-request or too-large saying what was expected; always before the chunk concerned is handed out.
 */
export async function readCsv(
  text: string,
  onChunk: (rows: FileRow[]) => Promise<void>,
  chunkSize = 2000,
): Promise<{ columns: string[]; separator: Separator; rowCount: number }> {
  const plain = text.startsWith('\ufeff') ? text.slice(1) : text;
  await mustBeText(plain);
  const separator = separatorOf(plain);
  const parser = Readable.from(slices(plain)).pipe(
    parse({
      delimiter: separator,
      record_delimiter: ['\r\n', '\n', '\r'],
      relax_column_count: true,
      max_record_size: MOST_COLUMNS * MOST_CELL_LENGTH,
    }),
  );
  let columns: string[] | null = null;
  let chunk: FileRow[] = [];
  let rowCount = 0;
  let row = 0;
  const ragged: string[] = [];
  try {
    for await (const cells of parser as AsyncIterable<string[]>) {
      row++;
      if (columns === null) {
        if (cells.every(isBlank)) continue;
        columns = headerOf(cells, row);
        continue;
      }
      if (cells.every(isBlank)) continue;
      if (++rowCount > MOST_ROWS) {
        const most = MOST_ROWS.toLocaleString('en-GB');
        throw new Problem('too-large', `A file takes at most ${most} rows below its header; split it. Nothing was kept.`);
      }
      const kept = cells.slice(0, columns.length);
      if (kept.length < columns.length || cells.slice(columns.length).some((cell) => !isBlank(cell))) {
        ragged.push(`row ${row}: ${cells.length}`);
        if (ragged.length >= MOST_NAMED) break;
      }
      if (kept.some((cell) => cell.length > MOST_CELL_LENGTH)) {
        throw refused(`Row ${row} has a very long cell.`, `at most ${MOST_CELL_LENGTH} characters in a cell`);
      }
      if (ragged.length > 0) continue;
      chunk.push({ row, cells: kept });
      if (chunk.length >= chunkSize) {
        await onChunk(chunk);
        chunk = [];
      }
    }
  } catch (error) {
    throw error instanceof CsvError ? badQuoting(error) : error;
  }
  if (columns === null) throw refused('The file is empty.', 'a header row with the names of the columns and the rows below it');
  if (ragged.length > 0) {
    throw refused(
      'Some rows do not have as many cells as the header.',
      `${columns.length} cells in every row, as in the header; put a cell that holds a ${nameOf(separator)} into quotation marks`,
      `${ragged.join(', ')} cells`,
    );
  }
  if (rowCount === 0) throw refused('The file has a header and nothing below it.', 'at least one row below the header');
  if (chunk.length > 0) await onChunk(chunk);
  return { columns, separator, rowCount };
}

const isBlank = (cell: string): boolean => cell.trim() === '';
const nameOf = (separator: Separator): string => ({ ',': 'comma', ';': 'semicolon', '\t': 'tab' })[separator];

async function mustBeText(text: string): Promise<void> {
  const expected = 'text with one row per line and cells set apart by comma, semicolon or tab (CSV, UTF-8)';
  if (text.startsWith('PK\u0003\u0004')) {
    throw refused('This is a workbook, not a text file.', `${expected}; save the sheet as CSV`);
  }
  for (const part of partsOf(text)) {
    // biome-ignore lint/suspicious/noControlCharactersInRegex: these are what tells binary data from text
    if (/[\u0000-\u0008\u000e-\u001f]/.test(part)) throw refused('This is not a text file.', expected, 'control characters');
    await breathe();
  }
  // Both are native and pass over the longest file in milliseconds; the place is looked for only when there is one.
  if (text.includes('\ufffd') || !(text as string & { isWellFormed(): boolean }).isWellFormed()) {
    const at = text.search(/\ufffd|\p{Surrogate}/u);
    const line = text.slice(0, at).split(/\r\n|\n|\r/).length;
    throw refused('Some characters could not be read.', 'a file saved as UTF-8', `a broken character in line ${line}`);
  }
}

/** Lets whatever else is waiting go first. */
export const breathe = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));

/** A text in parts small enough that work on one of them holds nobody up. */
export function* partsOf(text: string): Generator<string> {
  for (let start = 0; start < text.length; start += PART) yield text.slice(start, start + PART);
}

function headerOf(cells: readonly string[], row: number): string[] {
  const columns = cells.map((cell) => cell.trim());
  while (columns.at(-1) === '') columns.pop();
  const nameless = columns.indexOf('');
  if (nameless >= 0) {
    throw refused('A column has no name.', `a name for every column in row ${row}`, `none above column ${nameless + 1}`);
  }
  const twice = [...new Set(columns.filter((name, index) => columns.indexOf(name) !== index))];
  if (twice.length > 0) {
    throw refused(
      'Two columns have the same name.',
      'every column name once',
      `${twice.map((name) => `"${name}"`).join(', ')} twice`,
    );
  }
  if (columns.length > MOST_COLUMNS)
    throw refused('There are too many columns.', `at most ${MOST_COLUMNS}`, String(columns.length));
  const long = columns.find((name) => name.length > 200);
  if (long !== undefined)
    throw refused('A column name is very long.', 'names of at most 200 characters', `${long.slice(0, 40)}…`);
  return columns;
}

/** Its row is the one being read, right after the last whole one. */
function badQuoting(error: CsvError): Problem {
  const lastRow = Number((error as { records?: unknown }).records ?? 0);
  if (error.code === 'CSV_QUOTE_NOT_CLOSED') {
    return refused(`A quotation mark in row ${lastRow + 1} is never closed.`, 'a second quotation mark at the end of the cell');
  }
  if (error.code === 'CSV_MAX_RECORD_SIZE') {
    return refused(`Row ${lastRow + 1} is very long.`, 'a quotation mark at the end of every quoted cell');
  }
  return refused(
    `A quotation mark in row ${lastRow + 1} stands in the middle of a cell.`,
    'the whole cell in quotation marks and every mark inside doubled, such as "5"" pipe"',
  );
}

/** The text in slices of bytes, with a pause after each, so that reading a big file holds nobody up. */
async function* slices(text: string): AsyncGenerator<Buffer> {
  const bytes = Buffer.from(text);
  for (let start = 0; start < bytes.length; start += SLICE) {
    yield bytes.subarray(start, start + SLICE);
    await breathe();
  }
}

/**
 * The separator that gives every one of the first rows as many cells as the header; of several the one with the most columns.
 * Quotation marks are counted in pairs, which holds whichever separator it is.
 */
function separatorOf(text: string): Separator {
  const rows: Record<Separator, number>[] = [];
  let counts = { ',': 0, ';': 0, '\t': 0 };
  let quoted = false;
  let blank = true;
  for (let i = 0; i < Math.min(text.length, 200_000) && rows.length < 30; i++) {
    const character = text[i]!;
    if (character === '"') {
      quoted = !quoted;
      blank = false;
    } else if (quoted) continue;
    else if (character === '\n' || character === '\r') {
      if (!blank) rows.push(counts);
      counts = { ',': 0, ';': 0, '\t': 0 };
      blank = true;
    } else {
      blank = false;
      if (character in counts) counts[character as Separator]++;
    }
  }
  if (!blank && rows.length === 0) rows.push(counts);
  const header = rows[0] ?? counts;
  const scored = SEPARATORS.filter((separator) => header[separator] > 0).map((separator) => ({
    separator,
    cells: header[separator],
    even: rows.every((one) => one[separator] === header[separator]),
  }));
  scored.sort((a, b) => Number(b.even) - Number(a.even) || b.cells - a.cells);
  return scored[0]?.separator ?? ',';
}
