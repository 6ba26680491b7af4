import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, startService } from '../../support/harness.ts';
import { check, makeMissing, run } from './import-file.ts';

describe('whatever cells hold', () => {
  let service: Harness;
  let planner: Person;
  let roomId: string;
  beforeAll(async () => {
    service = await startService();
    const place = await service.organisation();
    roomId = place.roomId;
    planner = await service.person(place.id, ['planner']);
    await service.asset(planner, roomId, { tag: 'P-1' });
  });
  afterAll(() => service?.close());

  const odd = [
    '',
    ' ',
    '=1+1',
    '-',
    '1e999',
    '1.234.567',
    '9'.repeat(90),
    '\u202e12',
    '🔥',
    "'; DROP TABLE fact; --",
    '{"a":1}',
    '\\',
    '<b>',
  ];
  const csv = (header: string[], rows: string[][]) =>
    [header, ...rows].map((cells) => cells.map((cell) => `"${cell.replaceAll('"', '""')}"`).join(',')).join('\n');
  const cell = (good: string[], bad: string[] = []) =>
    fc.oneof({ weight: 20, arbitrary: fc.constantFrom(...good) }, fc.constantFrom(...bad, ...odd));

  it('a check ends, and a run brings in exactly the rows that were good', async () => {
    const header = ['tag', 'letter', 'takenAt', 'value', 'unit', 'quantity', 'limit', 'load', 'running', 'words'];
    const row = fc.tuple(
      cell(['P-1', 'p-1 ', 'N-1', 'N-2', 'n-2'], ['P']),
      cell(['', 'a', 'A'], ['b', 'abcde']),
      cell(
        ['2025-03-03 09:00', '3 Mar 2025 9:00 am', '2025-10-26 01:30', '4.3.2025 10:00'],
        ['03/04/2025', '2025-03-30 01:30', '45000'],
      ),
      cell(['60', '61,5', '112 °F', '-0', '1.250'], ['12 mm/s', '<5']),
      cell(['', '°C', '°F'], ['mm/s', 'parsec']),
      cell(['', 'temperature'], ['vibration_mm_s', 'warmth']),
      cell(['90', ''], ['95']),
      cell(['', '80', '80 %'], ['900']),
      cell(['', 'yes', 'no'], ['perhaps']),
      cell(['', 'words']),
    );
    let comeIn = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(row, { minLength: 1, maxLength: 40 }), async (rows) => {
        const columns = Object.fromEntries(header.map((name) => [name, name]));
        const mapping = { columns, makeMissing: makeMissing(roomId, { limit: 90 }) };
        const seen = await check(service, planner, { text: csv(header, rows), mapping });
        expect(seen).toMatchObject({ state: 'checked', doneCount: seen.rowCount });
        const told = new Set(seen.errors.map((error: { row: number }) => error.row));
        if (seen.errors.length < 100) expect(told.size).toBe(seen.badCount);
        const done = await run(service, planner, seen.id, true);
        expect(done).toMatchObject({ state: 'brought-in', badCount: seen.badCount, summary: seen.summary });
        const { created, duplicate, conflict, skipped } = done.summary;
        comeIn += created;
        expect(created + duplicate + conflict + skipped).toBe(seen.rowCount);
        expect(conflict).toBe(0);
      }),
      { numRuns: 12 },
    );
    expect(comeIn).toBeGreaterThan(3);
  }, 60_000);

  it('a register file never stops half way: assets come in whole or not at all', async () => {
    const header = [
      'site',
      'zone',
      'building',
      'room',
      'tag',
      'name',
      'template',
      'criticality',
      'criticalityReason',
      'letter',
      'pointName',
      'quantity',
      'plan',
      'soon',
      'source',
      'reason',
    ];
    let salt = 0;
    let comeIn = 0;
    const row = fc.tuple(
      cell(['Mill', 'mill', 'New site']),
      cell(['Europe/Dublin'], ['Mars']),
      cell(['Engine house', 'Shed']),
      cell(['Pump room', 'Loft']),
      cell(['Q1', 'Q2', 'Q3', 'Q4', 'Q5', 'Q6', 'Q7']),
      cell(['Fan']),
      cell(['', '', 'pump'], ['spaceship']),
      cell(['A', 'a'], ['D']),
      cell(['spare']),
      cell(['a', 'b', 'c', 'd']),
      cell(['Bearing']),
      cell(['temperature', 'pressure']),
      cell(['70', ''], ['90']),
      cell(['80', '81', '']),
      cell(['practice']),
      cell(['known']),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(row, { minLength: 1, maxLength: 12 }), async (rows) => {
        salt++;
        const own = rows.map((cells) => cells.map((one, index) => (index === 4 && /^Q/.test(one) ? `${salt}-${one}` : one)));
        const columns = Object.fromEntries(header.map((name) => [name, name]));
        const seen = await check(service, planner, { kind: 'assets', text: csv(header, own), mapping: { columns } });
        expect(seen.state).toBe('checked');
        const done = await run(service, planner, seen.id, true);
        expect(done).toMatchObject({ state: 'brought-in', badCount: seen.badCount, summary: seen.summary });
        comeIn += done.summary.assetsMade;
      }),
      { numRuns: 15 },
    );
    expect(comeIn).toBeGreaterThan(3);
  }, 60_000);
});
