import { randomUUID } from 'node:crypto';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, startService } from '../../support/harness.ts';
import { look, upload } from './import-file.ts';

describe('uploading a file', () => {
  let service: Harness;
  let planner: Person;
  beforeAll(async () => {
    service = await startService();
    const { id } = await service.organisation();
    planner = await service.person(id, ['planner']);
  });
  afterAll(() => service?.close());

  it('stores its rows, proposes what its columns mean and brings nothing in', async () => {
    const text = 'point_id,date,quantity,value,load_pct,ambient_c,limit\nX-1,2025-03-03,temperature_c,61.5,80,21,90\n';
    const { status, body } = await upload(planner, { text });
    expect(status).toBe(201);
    expect(body).toMatchObject({
      kind: 'readings',
      state: 'uploaded',
      rowCount: 1,
      doneCount: 0,
      badCount: 0,
      errors: [],
      summary: null,
      sample: [['X-1', '2025-03-03', 'temperature_c', '61.5', '80', '21', '90']],
      proposal: {
        columns: {
          tag: 'point_id',
          takenAt: 'date',
          quantity: 'quantity',
          value: 'value',
          load: 'load_pct',
          ambient: 'ambient_c',
          limit: 'limit',
        },
        defaults: { hour: '08:00', loadUnit: '%', ambientUnit: '°C' },
      },
    });
    const listed = await planner.call('listImports');
    expect(listed.body.imports[0]).toMatchObject({ id: body.id, state: 'uploaded', fileName: 'file.csv' });
  });

  it.each([
    ['Zeitstempel;Temperatur (°F);Maschine', { takenAt: 'Zeitstempel', value: 'Temperatur (°F)' }, { unit: '°F' }],
    ['tag\tletter\tdate\ttime\tL1\tL2\tL3', { tag: 'tag', letter: 'letter', date: 'date', time: 'time', L1: 'L1', L3: 'L3' }, {}],
    [
      'machine,point,Taken at,bearing temperature,comment',
      { tag: 'machine', letter: 'point', takenAt: 'Taken at', value: 'bearing temperature', words: 'comment' },
      {},
    ],
  ])('guesses the meaning of %s', async (header, columns, defaults) => {
    const separator = header.includes(';') ? ';' : header.includes('\t') ? '\t' : ',';
    const { body } = await upload(planner, { text: `${header}\n${header.split(separator).join(separator)}\n` });
    expect(body.proposal.columns).toMatchObject(columns);
    expect(body.proposal.defaults).toEqual(defaults);
  });

  it('D85: the same id with the same text is the same import; with another text it is refused', async () => {
    const id = randomUUID();
    const text = 'tag,takenAt,value\nX,2025-01-01,5\n';
    const first = await upload(planner, { id, text });
    const again = await upload(planner, { id, text });
    expect(again).toMatchObject({ status: 201, body: first.body });
    const other = await upload(planner, { id, text: `${text}Y,2025-01-01,5\n` });
    expect(other).toMatchObject({ status: 422, body: { errors: [{ pointer: '#/id' }] } });
    expect((await look(planner, id)).rowCount).toBe(1);
  });

  it('blank rows are left out and still counted, as a spreadsheet counts them', async () => {
    const { body } = await upload(planner, {
      text: '\ufefftag;takenAt;value;\r\n\r\nX;2025-01-01;5;\r\n;;;\r\nY;2025-01-02;6;\r\n\r\n',
    });
    expect(body).toMatchObject({
      rowCount: 2,
      columns: ['tag', 'takenAt', 'value'],
      sample: [
        ['X', '2025-01-01', '5'],
        ['Y', '2025-01-02', '6'],
      ],
    });
  });

  it('D79: cells that look like formulas stay plain text', async () => {
    const { body } = await upload(planner, { text: 'tag,words\n=1+1,"=HYPERLINK(""x"")"\n+5,@SUM(A1)\n' });
    expect(body.sample).toEqual([
      ['=1+1', '=HYPERLINK("x")'],
      ['+5', '@SUM(A1)'],
    ]);
  });

  it('any quoting of the same cells, with any separator and line end, stages the same rows', async () => {
    const piece = fc.constantFrom('a', '7,5', ';', '"', '\n', '\t', ' ', '=1', 'é', '', '\r\n', '🔥', '-3');
    const cell = fc.array(piece, { maxLength: 4 }).map((pieces) => pieces.join(''));
    const table = fc.array(fc.tuple(cell, cell, cell), { minLength: 1, maxLength: 6 });
    const style = fc.record({
      separator: fc.constantFrom(',', ';', '\t'),
      lineEnd: fc.constantFrom('\n', '\r\n'),
      isMarked: fc.boolean(),
      quotes: fc.array(fc.boolean(), { minLength: 24, maxLength: 24 }),
    });
    await fc.assert(
      fc.asyncProperty(table, style, async (rows, { separator, lineEnd, isMarked, quotes }) => {
        let count = 0;
        const write = (text: string) =>
          /[",;\t\r\n]/.test(text) || quotes[count++ % quotes.length] ? `"${text.replaceAll('"', '""')}"` : text;
        const lines = [['one', 'two', 'three'], ...rows].map((cells) => cells.map(write).join(separator));
        const { status, body } = await upload(planner, { text: `${isMarked ? '\ufeff' : ''}${lines.join(lineEnd)}${lineEnd}` });
        const kept = rows.filter((cells) => cells.some((one) => one.trim() !== ''));
        if (kept.length === 0) expect(status).toBe(422);
        else expect(body).toMatchObject({ columns: ['one', 'two', 'three'], sample: kept, rowCount: kept.length });
      }),
      { numRuns: 30 },
    );
  });

  it.each(['readings', 'work', 'assets'] as const)(
    'the example file of %s can be uploaded, and its own columns are understood',
    async (kind) => {
      const { body } = await planner.call('importTemplate', { params: { kind } });
      const started = await upload(planner, { kind, text: body.text });
      expect(started.status).toBe(201);
      const { columns } = started.body.proposal;
      expect(Object.values(columns).sort()).toEqual([...started.body.columns].sort());
      expect(Object.entries(columns).filter(([target, column]) => target !== column)).toEqual([]);
    },
  );
});
