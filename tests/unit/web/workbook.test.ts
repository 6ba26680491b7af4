/** Workbooks as people save them: made with another library, read as the screen reads them. */
import { strToU8, unzipSync, zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import writeWorkbook from 'write-excel-file/node';
import { csvOf, NotAWorkbook, readWorkbook } from '../../../apps/web/src/screens/bring-in/workbook.ts';

const day = (text: string) => ({ value: new Date(text), type: Date, format: 'dd.mm.yyyy' });
const moment = (text: string) => ({ value: new Date(text), type: Date, format: 'dd.mm.yyyy hh:mm' });

describe('workbooks', () => {
  it('D80: gives dates, figures and texts as they stand, a merged cell for every cell, and the header below a title', async () => {
    const buffer = await writeWorkbook(
      [
        [{ value: 'Register of the mill', columnSpan: 5 }, null, null, null, null],
        [null, null, null, null, null],
        ['room', 'tag', 'takenAt', 'value', 'words'].map((value) => ({ value })),
        [
          { value: 'Pump room', rowSpan: 2 },
          { value: 'P-101' },
          day('2025-04-03T00:00:00Z'),
          { value: 61.5 },
          { value: '82,5 with a comma' },
        ],
        [
          null,
          { value: 'P-102' },
          moment('2025-04-03T09:14:00Z'),
          { value: 0.30000000000000004 },
          { value: 'a "quoted", long\nremark' },
        ],
        [{ value: 'Attic' }, { value: '00123' }, null, { value: -7 }, { value: true, type: Boolean }],
      ],
      { sheet: 'Readings' },
    ).toBuffer();
    const [sheet] = await readWorkbook(new Uint8Array(buffer));
    expect(sheet).toEqual({
      name: 'Readings',
      above: 2,
      rows: [
        ['room', 'tag', 'takenAt', 'value', 'words'],
        ['Pump room', 'P-101', '2025-04-03', '61.5', '82,5 with a comma'],
        ['Pump room', 'P-102', '2025-04-03 09:14', '0.30000000000000004', 'a "quoted", long\nremark'],
        ['Attic', '00123', '', '-7', 'yes'],
      ],
    });
    // The third row of the sheet is the third line, so that what is wrong is named by the row that the spreadsheet shows.
    expect(csvOf(sheet!).split('\n').slice(0, 3)).toEqual(['', '', 'room,tag,takenAt,value,words']);
    expect(csvOf(sheet!).split('\n')[3]).toBe('Pump room,P-101,2025-04-03,61.5,"82,5 with a comma"');
    expect(csvOf(sheet!)).toContain('"a ""quoted"", long\nremark"');
  });

  it('has the sheets that hold anything, in their order', async () => {
    const buffer = await writeWorkbook([
      { data: [[{ value: 'tag' }], [{ value: 'A' }]], sheet: 'Old & new' },
      { data: [[null]], sheet: 'Empty' },
      {
        data: [
          [{ value: 'tag' }, { value: 'value' }],
          [{ value: 'B' }, { value: 2 }],
        ],
        sheet: 'Second',
      },
    ]).toBuffer();
    const sheets = await readWorkbook(new Uint8Array(buffer));
    expect(sheets.map(({ name }) => name)).toEqual(['Old & new', 'Second']);
  });

  it('what is no workbook, or unpacks to more than fits, is refused with a sentence', async () => {
    await expect(readWorkbook(zipSync({ 'a.txt': strToU8('hello') }))).rejects.toThrow(NotAWorkbook);
    await expect(readWorkbook(new Uint8Array([0x50, 0x4b, 3, 4, 1, 2, 3]))).rejects.toThrow('could not be read');
    const buffer = await writeWorkbook([[{ value: 'tag' }]], { sheet: 'One' }).toBuffer();
    const parts = unzipSync(new Uint8Array(buffer));
    const huge = new Uint8Array(250 * 1024 * 1024);
    const bomb = zipSync({ ...parts, 'xl/worksheets/sheet2.xml': [huge, { level: 1 }] });
    expect(bomb.length).toBeLessThan(5_000_000);
    await expect(readWorkbook(bomb)).rejects.toThrow('too large');
  });
});
