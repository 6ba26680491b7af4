import type { Cell } from './rows.ts';

/** What a spreadsheet would take for the beginning of a formula. */
const FORMULA = /^[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]/;

/**
 * A cell of text that no spreadsheet computes: one that begins like a formula gets an apostrophe before it. Figures stay figures.
 * @example plainText('=1+1') // "'=1+1"
 */
export const plainText = (text: string): string => (FORMULA.test(text) ? `'${text}` : text);

const quoted = (cell: string): string => (/[",;\t\r\n']/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);

function written(cell: Cell): string {
  if (cell === null) return '';
  if (cell instanceof Date) return cell.toISOString();
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  return typeof cell === 'number' ? String(cell) : quoted(plainText(cell));
}

/** One line of a CSV file as RFC 4180 describes it. */
export const csvLine = (cells: readonly Cell[]): string => `${cells.map(written).join(',')}\r\n`;
