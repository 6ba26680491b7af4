/**
 * Taking out what an organisation has, table by table, as CSV or as a workbook. Hides the queries, their pages and how cells are written.
 * What always holds: only what the person may see, one row per row of the table, no text that a spreadsheet would compute; a table of
 * any length is sent while it is read, in pages that hold nobody up.
 */
import { Readable } from 'node:stream';
import { Problem } from '@heatround/domain';
import writeWorkbook, { type Row } from 'write-excel-file/node';
import { type Deps, mustBeAllowed, type Scope } from '../deps/index.ts';
import { csvLine } from './csv.ts';
import { type Cell, rowsOf } from './rows.ts';
import { type ExportName, TABLES, type TableOfExport } from './tables.ts';

export type { ExportName };
export const EXPORTS = Object.keys(TABLES) as ExportName[];

/** A workbook is held in memory while it is written. */
export const MOST_WORKBOOK_ROWS = 100_000;

/** A file on its way. */
export interface FileOut {
  readonly fileName: string;
  readonly mediaType: string;
  readonly content: Readable;
}

/**
 * One table as a file. Instants are UTC in CSV and in workbooks.
 * @throws Problem not-allowed; too-large when a workbook would hold more than MOST_WORKBOOK_ROWS rows.
 */
export async function exportTable(deps: Deps, scope: Scope, name: ExportName, format: 'csv' | 'xlsx'): Promise<FileOut> {
  const table: TableOfExport = TABLES[name];
  mustBeAllowed(scope, table.right);
  const pages = rowsOf(deps, scope, table);
  // The first page is read before anything is sent, so that a refusal is still a refusal.
  const first = await pages.next();
  const all = (async function* () {
    if (!first.done) yield first.value;
    yield* pages;
  })();
  const heading = table.columns.map(({ name: column }) => column);
  if (format === 'csv')
    return { fileName: `${name}.csv`, mediaType: 'text/csv; charset=utf-8', content: Readable.from(lines(heading, all)) };
  const rows: Row[] = [heading.map((value) => ({ value, fontWeight: 'bold' as const }))];
  for await (const page of all) {
    for (const cells of page) rows.push(cells.map((cell, i) => workbookCell(cell, table.columns[i]!.kind)));
    if (rows.length > MOST_WORKBOOK_ROWS + 1)
      throw new Problem(
        'too-large',
        `A workbook holds at most ${MOST_WORKBOOK_ROWS.toLocaleString('en-GB')} rows here, and this table has more. Take it out as CSV.`,
      );
  }
  const buffer = await writeWorkbook(rows, { sheet: name, stickyRowsCount: 1 }).toBuffer();
  return {
    fileName: `${name}.xlsx`,
    mediaType: 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
    content: Readable.from([buffer]),
  };
}

async function* lines(heading: readonly string[], pages: AsyncIterable<Cell[][]>): AsyncGenerator<string> {
  yield `\ufeff${csvLine(heading)}`;
  for await (const page of pages) yield page.map(csvLine).join('');
}

/** Texts are text cells, which no spreadsheet computes, whatever they begin with. */
function workbookCell(cell: Cell, kind: TableOfExport['columns'][number]['kind']): Row[number] {
  if (cell === null) return null;
  if (cell instanceof Date) return { value: cell, type: Date, format: 'yyyy-mm-dd hh:mm:ss' };
  if (typeof cell === 'number') return { value: cell, type: Number };
  if (typeof cell === 'boolean') return { value: cell ? 'yes' : 'no', type: String };
  return { value: kind === 'text' ? cell.slice(0, MOST_CELL) : cell, type: String };
}

/** Longest text of a workbook cell (ECMA-376 as written by spreadsheets). */
const MOST_CELL = 32_767;
