/** Input that somebody means ill with, or that is far too much: nothing is lost, nothing is run, and a refusal says what is taken. */
import { randomUUID } from 'node:crypto';
import { parse } from 'csv-parse/sync';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, type Harness, type Person, readingFact, startService } from '../../support/harness.ts';
import { check, look, run, upload } from '../imports/import-file.ts';

const SCRIPT = `<script>alert("x")</script>`;

describe('bad input', () => {
  let service: Harness;
  let planner: Person;
  let technician: Person;
  let roomId: string;
  beforeAll(async () => {
    service = await startService();
    const place = await service.organisation();
    roomId = place.roomId;
    planner = await service.person(place.id, ['planner']);
    technician = await service.person(place.id, ['technician']);
  });
  afterAll(() => service?.close());

  const readings = async (pointId: string, query: Record<string, string> = {}) =>
    planner.call('listReadings', { params: { pointId }, query });

  it('D79: a script in a tag, a note and a file name is text wherever it comes back, and is never sent as a page', async () => {
    const { id, pointIds } = await service.asset(planner, roomId, { tag: SCRIPT, name: `"><img src=x onerror=alert(1)>` });
    expect((await technician.submit([readingFact(pointIds[0]!, '60', { words: SCRIPT })])).body.results[0].outcome).toBe(
      'created',
    );
    const page = await planner.call('getAsset', { params: { assetId: id } });
    expect(page.headers['content-type']).toMatch(/^application\/json/);
    expect(page.headers['x-content-type-options']).toBe('nosniff');
    expect(page.body).toMatchObject({ tag: SCRIPT, points: [{ readings: [{ words: SCRIPT }] }] });
    const importId = randomUUID();
    const body = {
      id: importId,
      kind: 'readings',
      fileName: `${SCRIPT}.csv`,
      text: `tag,takenAt,value\n${SCRIPT.replaceAll('"', '')},2025-01-01 08:00,5\n`,
    };
    expect((await planner.call('startImport', { body })).body.fileName).toBe(`${SCRIPT}.csv`);
    const { body: search } = await planner.call('listAssets', { query: { search: '<script' } });
    expect(JSON.stringify(search)).toContain('<script>');
    const refused = await planner.call('getAsset', { params: { assetId: SCRIPT } });
    expect(refused.headers['content-type']).toMatch(/^application\/problem\+json/);
    const csv = await planner.call('exportTable', { params: { table: 'readings' }, query: { format: 'csv' } });
    expect(csv.headers['content-disposition']).toMatch(/^attachment;/);
    expect(csv.headers['x-content-type-options']).toBe('nosniff');
    const rows = parse(Buffer.from(csv.body), { bom: true, columns: true }) as Record<string, string>[];
    expect(rows).toMatchObject([{ tag: SCRIPT, words: SCRIPT }]);
  });

  it.each(['=1+1', '+44', '-2+3', '@SUM(A1)', '\t=1', '\uff1d1'])(
    'D79: %j in a note leaves as text that no spreadsheet computes',
    async (words) => {
      const { pointIds } = await service.asset(planner, roomId, {});
      await technician.submit([readingFact(pointIds[0]!, '60', { words })]);
      const csv = await planner.call('exportTable', { params: { table: 'readings' }, query: { format: 'csv' } });
      const rows = parse(Buffer.from(csv.body), { bom: true, columns: true }) as Record<string, string>[];
      expect(rows.map((row) => row.words)).toContain(`'${words}`);
    },
  );

  it('D80: with the 5,001st row bad nothing comes in, and its cell says what was expected; asked to, the others come', async () => {
    const { pointIds } = await service.asset(planner, roomId, { tag: 'MANY' });
    const rows = Array.from(
      { length: 5000 },
      (_, i) => `MANY;${new Date(Date.parse('2024-01-01T00:00:00Z') + i * 3_600_000).toISOString()};${60 + (i % 9)},5`,
    );
    const text = `\ufefftag;takenAt;value\r\n${rows.join('\r\n')}\r\nMANY;2025-02-01T08:00:00Z;warm\r\n`;
    const seen = await check(service, planner, { text });
    expect(seen).toMatchObject({
      columns: ['tag', 'takenAt', 'value'],
      rowCount: 5001,
      badCount: 1,
      errors: [{ row: 5002, column: 'value', found: 'warm' }],
    });
    expect((await run(service, planner, seen.id)).state).toBe('refused');
    expect((await readings(pointIds[0]!)).body.readings).toEqual([]);
    expect((await run(service, planner, (await check(service, planner, { text })).id, true)).summary).toMatchObject({
      created: 5000,
      skipped: 1,
    });
    const newest = (await readings(pointIds[0]!, { pageSize: '1' })).body;
    expect(newest.readings[0]).toMatchObject({ inputs: { value: { text: '64,5' } }, value: 64.5 });
  }, 180_000);

  it('D80: cells that were merged are empty below the first and are refused, not guessed; dates as numbers say so', async () => {
    await service.asset(planner, roomId, { tag: 'M-1' });
    const text = 'tag,takenAt,value\nM-1,2025-01-01 08:00,60\n,2025-01-02 08:00,61\nM-1,45660,62\nM-1,45661.5,63\n';
    const seen = await check(service, planner, { text });
    expect(seen.errors.map(({ row, column }: { row: number; column: string }) => `${row} ${column}`)).toEqual([
      '3 tag',
      '4 takenAt',
      '5 takenAt',
    ]);
    expect(seen.errors[1].expected).toContain('This is a number, as spreadsheets store dates');
  });

  it('D83: 100,000 readings in one request are refused as too much, and none of them is kept', async () => {
    const { pointIds } = await service.asset(planner, roomId, {});
    const facts = Array.from({ length: 100_000 }, () => ({ id: factId() }));
    facts[0] = readingFact(pointIds[0]!, '60') as never;
    const reply = await technician.submit(facts);
    expect([413, 422]).toContain(reply.status);
    expect(reply.headers['content-type']).toMatch(/^application\/problem\+json/);
    expect((await readings(pointIds[0]!)).body.readings).toEqual([]);
    expect((await technician.submit([readingFact(pointIds[0]!, '60')])).status).toBe(200);
  });

  it('D83: paging to the last reading gives every one once; a page that is negative, nought, huge or made up is refused', async () => {
    const { pointIds } = await service.asset(planner, roomId, {});
    const facts = Array.from({ length: 300 }, (_, i) =>
      readingFact(pointIds[0]!, '60', {
        takenAt: new Date(Date.parse('2026-01-01T00:00:00Z') + Math.floor(i / 3) * 3_600_000).toISOString(),
      }),
    );
    for (let from = 0; from < facts.length; from += 100) await technician.submit(facts.slice(from, from + 100));
    const seen: string[] = [];
    for (let before: string | null = ''; before !== null; ) {
      const { body }: { body: { readings: { id: string }[]; older: string | null } } = await readings(pointIds[0]!, {
        pageSize: '7',
        ...(before ? { before } : {}),
      });
      seen.push(...body.readings.map(({ id }) => id));
      before = body.older;
    }
    expect(seen.sort()).toEqual(facts.map(({ id }) => id).sort());
    for (const pageSize of ['-1', '0', '1.5', '1000000', 'all'])
      expect((await readings(pointIds[0]!, { pageSize })).status, pageSize).toBe(422);
    for (const before of ['-1', 'eyJ', Buffer.from('["x","y"]').toString('base64url')])
      expect((await readings(pointIds[0]!, { before })).status, before).toBe(422);
    for (const after of ['-1', Buffer.from('[-1]').toString('base64url')])
      expect((await planner.call('listAssets', { query: { after } })).status, after).toBe(422);
  });

  it('D84: a note of 50,000 characters is refused with what is taken, and takes nothing else with it', async () => {
    const { id, pointIds } = await service.asset(planner, roomId, {});
    const long = readingFact(pointIds[0]!, '60', { words: 'x'.repeat(50_000) });
    const { status, body } = await technician.submit([long, readingFact(pointIds[0]!, '61')]);
    expect(status).toBe(200);
    expect(body.results).toMatchObject([{ outcome: 'refused' }, { outcome: 'created' }]);
    expect(JSON.stringify(body.results[0])).toContain('4000');
    const shorter = { ...long, words: 'x'.repeat(4000) };
    expect((await technician.submit([shorter])).body.results[0].outcome).toBe('created');
    const page = await planner.call('changeAsset', { params: { assetId: id }, body: { version: 1, name: 'x'.repeat(50_000) } });
    expect(page.status).toBe(422);
    const text = `tag,takenAt,value,words\nX,2025-01-01 08:00,5,${'y'.repeat(50_000)}\n`;
    expect((await upload(planner, { text })).body).toMatchObject({ detail: expect.stringContaining('very long cell') });
  });

  it('D85: an id used again with another body keeps both and counts one, whichever came first; the same body is the same', async () => {
    const { pointIds } = await service.asset(planner, roomId, { points: [{}, {}] });
    const one = readingFact(pointIds[0]!, '60');
    const other = { ...readingFact(pointIds[0]!, '75'), id: one.id };
    const outcomes = [];
    for (const fact of [one, one, other, other, one]) outcomes.push((await technician.submit([fact])).body.results[0].outcome);
    expect(outcomes.slice(0, 3)).toEqual(['created', 'duplicate', 'conflict']);
    expect(outcomes.slice(3).every((outcome: string) => outcome !== 'created')).toBe(true);
    const { body } = await readings(pointIds[0]!);
    expect(body.readings).toHaveLength(1);
    const kept = (await planner.call('listOtherContents', { params: { pointId: pointIds[0]! } })).body.contents;
    expect(kept).toHaveLength(1);
    expect(JSON.stringify(kept)).toContain(body.readings[0].value === 60 ? '"75"' : '"60"');
    const importId = randomUUID();
    expect((await upload(planner, { id: importId, text: 'tag,takenAt,value\nA,2025-01-01 08:00,5\n' })).status).toBe(201);
    expect((await upload(planner, { id: importId, text: 'tag,takenAt,value\nA,2025-01-01 08:00,5\n' })).status).toBe(201);
    const again = await upload(planner, { id: importId, text: 'tag,takenAt,value\nB,2025-01-01 08:00,6\n' });
    expect(again).toMatchObject({ status: 422, body: { errors: [{ pointer: '#/id' }] } });
    expect((await look(planner, importId)).sample).toEqual([['A', '2025-01-01 08:00', '5']]);
  });
});
