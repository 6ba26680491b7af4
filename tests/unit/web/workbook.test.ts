/** Workbooks as people save them: made with another library, read as the screen reads them. */
import { strToU8, unzipSync, zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import writeWorkbook from 'write-excel-file/node';
import { csvOf, isWorkbook, NotAWorkbook, readWorkbook } from '../../../apps/web/src/screens/bring-in/workbook.ts';

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

  it('D81: an archive that lies about its size, reaches far, climbs out of its folder or is a web page harms nobody', {
    timeout: 60_000,
  }, async () => {
    const buffer = await writeWorkbook(
      [
        [{ value: 'tag' }, { value: 'value' }],
        [{ value: 'A' }, { value: 1 }],
      ],
      { sheet: 'One' },
    ).toBuffer();
    const parts = unzipSync(new Uint8Array(buffer));
    const sheet = Object.keys(parts).find((name) => name.startsWith('xl/worksheets/sheet'))!;
    const rows = [
      ['tag', 'value'],
      ['A', '1'],
    ];

    // One cell at the end of the sheet would make a million rows of sixteen thousand cells.
    const far = new TextDecoder()
      .decode(parts[sheet]!)
      .replace('</sheetData>', '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>');
    await expect(readWorkbook(zipSync({ ...parts, [sheet]: strToU8(far) }))).rejects.toThrow(/as far as cell XFD1048576/);

    // 300 MB that say they were 1000 bytes.
    const size = 300 * 1024 * 1024;
    const bomb = zipSync({ ...parts, [sheet]: [new Uint8Array(size).fill(32), { level: 1 }] });
    const view = new DataView(bomb.buffer, bomb.byteOffset, bomb.byteLength);
    let patched = 0;
    for (let at = 0; at + 30 < bomb.length; at++) {
      const said = { 67324752: at + 22, 33639248: at + 24 }[view.getUint32(at, true)];
      if (said === undefined || view.getUint32(said, true) !== size) continue;
      view.setUint32(said, 1000, true);
      patched++;
    }
    expect(patched).toBe(2);
    await expect(readWorkbook(bomb)).rejects.toThrow(NotAWorkbook);

    const climbing = {
      ...parts,
      '../../etc/passwd': strToU8('x'),
      '/abs': strToU8('x'),
      'xl/worksheets/../../../x.xml': strToU8('<a/>'),
    };
    expect(await readWorkbook(zipSync(climbing))).toEqual([{ name: 'One', above: 0, rows }]);
    const page = strToU8('<!doctype html><script>alert(1)</script>');
    expect(isWorkbook(page)).toBe(false);
    await expect(readWorkbook(page)).rejects.toThrow(NotAWorkbook);
  });
});
