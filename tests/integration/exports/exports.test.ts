/** Taking out: every row once, in a form that fits again, and nothing that a spreadsheet would compute. */
import { randomUUID } from 'node:crypto';
import { EXPORT_TABLES } from '@heatround/contract';
import { EXPORTS } from '@heatround/services/exports';
import { parse } from 'csv-parse/sync';
import readWorkbook from 'read-excel-file/node';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, readingFact, startService } from '../../support/harness.ts';

describe('taking out', () => {
  let service: Harness;
  let planner: Person;
  let administrator: Person;
  let technician: Person;
  let place: { id: string; roomId: string; siteId: string };
  let pointId: string;
  beforeAll(async () => {
    service = await startService();
    place = await service.organisation();
    planner = await service.person(place.id, ['planner']);
    technician = await service.person(place.id, ['technician']);
    administrator = await service.person(place.id, ['administrator'], { name: '=HYPERLINK("http://example.org")' });
    const asset = await service.asset(planner, place.roomId, { tag: 'P-101', name: '+44 pump', points: [{}, {}] });
    pointId = asset.pointIds[0]!;
    const facts = Array.from({ length: 4500 }, (_, i) =>
      readingFact(pointId, (50 + (i % 20)).toFixed(1), {
        takenAt: new Date(Date.parse('2025-02-01T00:00:00Z') + i * 3_600_000).toISOString(),
        words: i % 3 === 0 ? '=1+1' : i % 3 === 1 ? 'a "quoted", long\nremark' : '-5 is not a formula but looks like one',
      }),
    );
    for (let start = 0; start < facts.length; start += 200)
      expect((await technician.submit(facts.slice(start, start + 200))).status).toBe(200);
  });
  afterAll(() => service?.close());

  const csv = async (table: string, who = administrator) => {
    const reply = await who.call('exportTable', { params: { table }, query: { format: 'csv' } });
    expect(reply.status, table).toBe(200);
    expect(reply.headers['content-disposition']).toBe(`attachment; filename="${table}.csv"`);
    return parse(Buffer.from(reply.body), { bom: true, columns: true }) as Record<string, string>[];
  };

  it('the contract names the tables that exist', () => {
    expect([...EXPORT_TABLES].sort()).toEqual([...EXPORTS].sort());
  });

  it('every table can be taken out in both forms, with the same rows', async () => {
    for (const table of EXPORT_TABLES) {
      const rows = await csv(table);
      if (table === 'readings') continue;
      const reply = await administrator.call('exportTable', { params: { table }, query: { format: 'xlsx' } });
      expect(reply.status, table).toBe(200);
      const [sheet] = await readWorkbook(Buffer.from(reply.body));
      expect(sheet!.data.length - 1, table).toBe(rows.length);
    }
  });

  it('every reading comes once, across pages, with figures as figures', async () => {
    const rows = await csv('readings');
    expect(rows).toHaveLength(4500);
    expect(new Set(rows.map(({ readingId }) => readingId)).size).toBe(4500);
    expect(rows.every(({ tag, letter, unit }) => tag === 'P-101' && letter === 'a' && unit === '°C')).toBe(true);
    expect(rows.every(({ value }) => Number(value) >= 50 && Number(value) < 70)).toBe(true);
  });

  it('D79: no cell begins like a formula', async () => {
    for (const table of EXPORT_TABLES)
      for (const row of await csv(table))
        for (const [column, cell] of Object.entries(row))
          if (Number.isNaN(Number(cell))) expect(cell, `${table}.${column}`).not.toMatch(/^[=+\-@\t\r]/);
    const readings = await csv('readings');
    expect(new Set(readings.map(({ words }) => words))).toEqual(
      new Set(["'=1+1", 'a "quoted", long\nremark', "'-5 is not a formula but looks like one"]),
    );
    expect((await csv('assets'))[0]!.name).toBe("'+44 pump");
  });

  it('the columns of readings are understood when they are brought in elsewhere', async () => {
    const other = await service.organisation();
    const there = await service.person(other.id, ['planner']);
    await service.asset(there, other.roomId, { tag: 'P-101', points: [{}, {}] });
    const reply = await planner.call('exportTable', { params: { table: 'readings' } });
    const id = randomUUID();
    const text = Buffer.from(reply.body).toString();
    expect((await there.call('startImport', { body: { id, kind: 'readings', fileName: 'readings.csv', text } })).status).toBe(
      201,
    );
    const { proposal } = (await there.call('getImport', { params: { importId: id } })).body;
    expect(proposal.columns).toMatchObject({ tag: 'tag', letter: 'letter', takenAt: 'takenAt', value: 'value', unit: 'unit' });
  });

  it('people are for administrators; another organisation sees only its own; sites narrow what is seen', async () => {
    expect((await planner.call('exportTable', { params: { table: 'people' } })).status).toBe(403);
    const other = await service.organisation('Elsewhere');
    const stranger = await service.person(other.id, ['planner']);
    expect(await csv('readings', stranger)).toEqual([]);
    const narrow = await service.person(place.id, ['contractor'], { siteIds: [randomUUID()] });
    expect(await csv('assets', narrow)).toEqual([]);
  });

  it('a table that is not there is a refusal with a reason', async () => {
    expect((await planner.call('exportTable', { params: { table: 'secrets' } })).status).toBe(422);
  });
});
