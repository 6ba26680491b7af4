import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, startService } from '../../support/harness.ts';
import { check, makeMissing, run, upload } from './import-file.ts';

describe('what the dry run finds', () => {
  let service: Harness;
  let planner: Person;
  let roomId: string;
  beforeAll(async () => {
    service = await startService();
    const place = await service.organisation();
    roomId = place.roomId;
    planner = await service.person(place.id, ['planner']);
    await service.asset(planner, roomId, { tag: 'P-101', points: [{}, { quantity: 'vibration-velocity' }] });
  });
  afterAll(() => service?.close());

  const reading = (over: Record<string, string>) => {
    const cells = { tag: 'P-101', letter: 'a', takenAt: '2025-03-03 09:00', value: '60', unit: '°C', running: '', ...over };
    return `${Object.keys(cells).join(',')}\n${Object.values(cells).join(',')}\n`;
  };

  it.each([
    ['an unknown tag', { tag: 'P-999' }, 'tag', /tag of an asset/, 'P-999'],
    ['an unknown letter', { letter: 'z' }, 'letter', /of this asset: a, b/, 'z'],
    ['no value', { value: '' }, 'value', /A temperature in °C, such as 87/, 'nothing'],
    ['a word for a value', { value: 'warm' }, 'value', /A temperature/, 'warm °C'],
    ['a formula for a value', { value: '=1+60' }, 'value', /A temperature/, '=1+60 °C'],
    ['a unit that does not fit', { unit: 'bar' }, 'value', /A temperature/, '60 bar'],
    ['a unit nobody knows', { unit: 'gons' }, 'unit', /A unit, such as/, 'gons'],
    ['a date of a spreadsheet', { takenAt: '45000.5' }, 'takenAt', /as spreadsheets store dates/, '45000.5'],
    ['a date that reads two ways', { takenAt: '03/04/2025 09:00' }, 'takenAt', /one way only/, '03/04/2025 09:00'],
    ['a date without a time', { takenAt: '2025-04-03' }, 'takenAt', /one hour for the whole file/, '2025-04-03'],
    ['a day that does not exist', { takenAt: '2025-02-30 09:00' }, 'takenAt', /day of the calendar/, '2025-02-30 09:00'],
    [
      'a clock time that does not exist',
      { takenAt: '2025-03-30 01:30' },
      'takenAt',
      /Europe\/Dublin go forward/,
      '2025-03-30 01:30',
    ],
    ['a time that lies ahead', { takenAt: '2027-03-30 01:30' }, 'takenAt', /lies ahead/, '2027-03-30 01:30'],
    ['a running state that is none', { running: 'maybe' }, 'running', /Yes or no/, 'maybe'],
  ])('%s is told with row, column, what was expected and what was found', async (_, over, column, expected, found) => {
    const columns = Object.fromEntries(['tag', 'letter', 'takenAt', 'value', 'unit', 'running'].map((name) => [name, name]));
    const seen = await check(service, planner, { text: reading(over), mapping: { columns } });
    expect(seen).toMatchObject({ state: 'checked', badCount: 1, errors: [{ row: 2, column, found }] });
    expect(seen.errors[0].expected).toMatch(expected);
  });

  it('only the first 100 errors are shown, and all are counted', async () => {
    const rows = Array.from({ length: 700 }, (_, index) => `X-${index},2025-03-03 09:00,60\n`).join('');
    const seen = await check(service, planner, { text: `tag,takenAt,value\n${rows}` });
    expect(seen).toMatchObject({ badCount: 700, doneCount: 700, summary: { created: 0, skipped: 700 } });
    expect(seen.errors).toHaveLength(100);
    expect(seen.errors[99].row).toBe(101);
  });

  it.each([
    [
      'an unknown target',
      { columns: { tag: 'tag', takenAt: 'takenAt', value: 'value', colour: 'tag' } },
      '#/mapping/columns/colour',
    ],
    ['an unknown column', { columns: { tag: 'tag', takenAt: 'takenAt', value: 'figure' } }, '#/mapping/columns/value'],
    ['no tag', { columns: { takenAt: 'takenAt', value: 'value' } }, '#/mapping/columns/tag'],
    ['no time', { columns: { tag: 'tag', value: 'value' } }, '#/mapping/columns/takenAt'],
    ['no value', { columns: { tag: 'tag', takenAt: 'takenAt' } }, '#/mapping/columns/value'],
    [
      'an unknown zone',
      { columns: { tag: 'tag', takenAt: 'takenAt', value: 'value' }, defaults: { zone: 'Dublin' } },
      '#/mapping/defaults/zone',
    ],
    [
      'an unknown unit',
      { columns: { tag: 'tag', takenAt: 'takenAt', value: 'value' }, defaults: { unit: 'gons' } },
      '#/mapping/defaults/unit',
    ],
  ])('a mapping with %s is refused at once', async (_, mapping, pointer) => {
    const { body } = await upload(planner, { text: reading({}) });
    const { status, body: refused } = await planner.call('checkImport', { params: { importId: body.id }, body: { mapping } });
    expect(status).toBe(422);
    expect(refused.errors.map((one: { pointer: string }) => one.pointer)).toContain(pointer);
  });

  it('limits that differ within a tag are told with the row they differ from', async () => {
    const text = 'tag,takenAt,value,limit\nN-1,2025-03-03 09:00,60,90\nN-1,2025-03-04 09:00,60,95\nN-2,2025-03-04 09:00,60,\n';
    const columns = { tag: 'tag', takenAt: 'takenAt', value: 'value' };
    const mapping = { columns, makeMissing: makeMissing(roomId, { limitColumn: 'limit', limit: null }) };
    const seen = await check(service, planner, { text, mapping });
    expect(seen.errors).toMatchObject([
      { row: 3, column: 'limit', expected: expect.stringMatching(/^90, as in row 2/), found: '95' },
      { row: 4, column: 'limit', expected: expect.stringMatching(/^A limit/), found: 'nothing' },
    ]);
  });

  it('work of a kind we do not know names those we do', async () => {
    const seen = await check(service, planner, { kind: 'work', text: 'tag,takenAt,work\nP-101,2025-03-03 09:00,painted\n' });
    expect(seen.errors).toMatchObject([
      { row: 2, column: 'work', expected: expect.stringMatching(/regreased, tightened/), found: 'painted' },
    ]);
  });

  it('a register file is refused row by row: taken tags, letters twice, limits out of order or without reason, contradictions', async () => {
    const header = 'site,building,room,tag,name,criticality,criticalityReason,letter,pointName,quantity,watch,plan,source,reason';
    const rows = [
      'Mill,Engine house,Pump room,p-101,Pump,B,standby,a,Bearing,temperature,70,80,x,y',
      'Mill,Engine house,Pump room,Q-1,Fan,B,standby,a,Bearing,temperature,80,70,x,y',
      'Mill,Engine house,Pump room,Q-1,Blower,,,a,Bearing,temperature,70,80,x,',
      'Attic,Engine house,Pump room,Q-2,Fan,D,standby,a,Bearing,warmth,,,,',
      'Mill,Engine house,Pump room,Q-3,Fan,C,spare,a,Bearing,temperature,,,,',
    ];
    const seen = await check(service, planner, { kind: 'assets', text: `${[header, ...rows].join('\n')}\n` });
    const told = seen.errors.map((one: { row: number; column: string | null }) => `${one.row} ${one.column}`);
    expect(told.sort()).toEqual(['2 tag', '3 plan', '4 letter', '4 name', '4 reason', '5 criticality', '5 null', '5 quantity']);
    expect(seen).toMatchObject({ badCount: 4, summary: { assetsMade: 1, skipped: 4 } });
  });

  it('a step out of order is refused and names the one that follows', async () => {
    const { body } = await upload(planner, { text: reading({}) });
    const params = { importId: body.id };
    const tooEarly = await planner.call('runImport', { params, body: {} });
    expect(tooEarly).toMatchObject({
      status: 409,
      body: { type: '/problems/import-state', detail: expect.stringMatching(/uploaded.*Check it/) },
    });
    const seen = await check(service, planner, { text: reading({}) });
    await run(service, planner, seen.id);
    const tooLate = await planner.call('checkImport', { params: { importId: seen.id }, body: { mapping: seen.mapping } });
    expect(tooLate).toMatchObject({ status: 409, body: { detail: expect.stringMatching(/brought in already/) } });
    expect((await planner.call('runImport', { params: { importId: seen.id }, body: {} })).body.state).toBe('brought-in');
  });
});
