import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, startService } from '../../support/harness.ts';
import { upload } from './import-file.ts';

describe('a file that cannot be taken', () => {
  let service: Harness;
  let planner: Person;
  beforeAll(async () => {
    service = await startService();
    const { id } = await service.organisation();
    planner = await service.person(id, ['planner']);
  });
  afterAll(() => service?.close());

  it.each([
    ['an empty one', '', /empty/, /header row/],
    ['one of blank lines', '\n\r\n  \n', /empty/, /header row/],
    ['a header only', 'tag,takenAt,value\n', /nothing below/, /at least one row/],
    ['ragged rows, by their numbers', 'a,b\n1,2\n3\n4,5,6\n', /as many cells/, /2 cells in every row.*comma.*row 3: 1, row 4: 3/],
    ['two columns of one name', 'tag,value,tag\n1,2,3\n', /same name/, /"tag" twice/],
    ['a column without a name', 'tag,,value\n1,2,3\n', /no name/, /column 2/],
    ['a workbook', 'PK\u0003\u0004abc', /workbook/, /save the sheet as CSV/],
    ['binary data', 'a,b\n1,\u0000\u0001\n', /not a text file/, /CSV, UTF-8/],
    ['another encoding', 'tag,value\nX,5 \ufffdC\n', /could not be read/, /UTF-8.*line 2/],
    ['a quotation mark that is never closed', 'a,b\n1,2\n3,"4\n', /row 3 is never closed/, /second quotation mark/],
    ['a quotation mark inside a cell', 'a,b\n1,5" pipe\n', /row 2 stands in the middle/, /doubled/],
  ])('%s is refused saying what was expected', async (_, text, title, detail) => {
    const { status, body } = await upload(planner, { text });
    expect(status).toBe(422);
    expect(body.detail).toMatch(title);
    expect(body.errors[0].detail).toMatch(detail);
    expect((await planner.call('listImports')).body.imports).toEqual([]);
  });

  it('more than a million rows are refused as too large', async () => {
    const { status, body } = await upload(planner, { text: `a\n${'1\n'.repeat(1_000_001)}` });
    expect(status).toBe(413);
    expect(body.detail).toMatch(/1,000,000 rows/);
  });
});
