import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, readingFact, startService } from '../../support/harness.ts';
import { check, look, makeMissing, readingsOf, upload } from './import-file.ts';

describe('the dry run', () => {
  let service: Harness;
  let planner: Person;
  let roomId: string;
  let pointId: string;
  beforeAll(async () => {
    service = await startService();
    const place = await service.organisation();
    roomId = place.roomId;
    planner = await service.person(place.id, ['planner']);
    const { pointIds } = await service.asset(planner, roomId, { tag: 'P-101', points: [{}, { quantity: 'vibration-velocity' }] });
    pointId = pointIds[0]!;
    await service.asset(planner, roomId, { tag: 'MCC-1', points: [{ quantity: 'like-part-difference' }] });
    await service.asset(planner, roomId, { tag: 'HX-1', points: [{ quantity: 'approach' }] });
  });
  afterAll(() => service?.close());

  it('says what a run would do and writes nothing else', async () => {
    const text =
      'tag,letter,takenAt,value,unit\np-101,a,2025-03-03 09:00,61.5,°C\nP-101,A,2025-03-10 09:00,142,°F\nP-101,b,2025-03-10 09:00,2.1,mm/s\n';
    const seen = await check(service, planner, { text });
    expect(seen).toMatchObject({
      state: 'checked',
      doneCount: 3,
      badCount: 0,
      errors: [],
      summary: { created: 3, duplicate: 0, conflict: 0, skipped: 0 },
    });
    expect(await readingsOf(planner, pointId)).toEqual([]);
  });

  it('a row twice in the file is counted once and told as a duplicate', async () => {
    const row = 'P-101,a,2025-03-03 09:00,61.5\n';
    const seen = await check(service, planner, { text: `tag,letter,takenAt,value\n${row}${row}` });
    expect(seen.summary).toMatchObject({ created: 1, duplicate: 1 });
  });

  it('takes inputs by name, conditions, running state, instrument and words', async () => {
    const text =
      'tag;takenAt;L1;L2;L3;amps:L1;warm;cold;load;running;instrument;words\n' +
      'MCC-1;2025-03-03 09:00;41,5;52;40;12,5;;;80;yes;Gun 2;"door open; fan on"\n' +
      'HX-1;2025-03-03 09:05;;;;;61;52,25;;;;\n';
    expect(await check(service, planner, { text })).toMatchObject({ badCount: 0, summary: { created: 2 } });
  });

  it.each([
    ['ISO with zone', '2013-12-02T20:00:00+01:00', {}],
    ['ISO without zone', '2013-12-02 20:00:00', {}],
    ['dots', '02.12.2013 20:00', {}],
    ['a month in words', '2 Dec 2013 8:00 pm', {}],
    ['slashes that leave no choice', '25/12/2013 20:00', {}],
    ['slashes with an order given', '02/12/2013 20:00', { dateOrder: 'day-first' }],
    ['a day with the hour of the whole file', '2013-12-02', { hour: '08:00' }],
  ])('a time written as %s is taken', async (_, time, defaults) => {
    const mapping = { columns: { takenAt: 'takenAt', value: 'value' }, defaults: { tag: 'P-101', letter: 'a', ...defaults } };
    expect(await check(service, planner, { text: `takenAt,value\n"${time}",60\n`, mapping })).toMatchObject({ badCount: 0 });
  });

  it('makes missing points: one for all rows of a tag, whatever its case, and needs no more than the file carries', async () => {
    const text =
      'point_id,date,value,limit\nN-1,2025-01-06,50,92\nn-1,2025-01-13,51,\nN-2,2025-01-06,2,4.5\nP-101,2025-01-06,50,1\n';
    const columns = { tag: 'point_id', takenAt: 'date', value: 'value' };
    const mapping = {
      columns,
      defaults: { hour: '08:00' },
      makeMissing: makeMissing(roomId, { limitColumn: 'limit', limit: null }),
    };
    const seen = await check(service, planner, { text, mapping });
    expect(seen).toMatchObject({ badCount: 0, summary: { created: 4, pointsMade: 2, assetsMade: 2 } });
    expect((await planner.call('listAssets', { query: { search: 'N-1' } })).body.assets).toEqual([]);
  });

  it('a decimal comma in a semicolon file is one, also where the figure could be thousands', async () => {
    const text = 'tag;letter;takenAt;value\nP-101;b;2025-03-03 09:00;1,250\n';
    expect(await check(service, planner, { text })).toMatchObject({ badCount: 0 });
  });

  it('a clock time that exists twice is the first one, and the count of such rows is told', async () => {
    const text = 'tag,letter,takenAt,value\nP-101,a,2025-10-26 01:30,60\n';
    expect((await check(service, planner, { text })).summary).toMatchObject({ created: 1, timesThatExistTwice: 1 });
  });

  it('can be repeated with another mapping; the second result stands', async () => {
    const text = 'tag,takenAt,value\nP-101,2025-03-03,60\n';
    const columns = { tag: 'tag', takenAt: 'takenAt', value: 'value' };
    const first = await check(service, planner, { text, mapping: { columns, defaults: { letter: 'a' } } });
    expect(first.badCount).toBe(1);
    const params = { importId: first.id };
    const body = { mapping: { columns, defaults: { letter: 'a', hour: '08:00' } } };
    expect((await planner.call('checkImport', { params, body })).body.state).toBe('checking');
    expect((await planner.call('checkImport', { params, body })).status).toBe(202);
    const { checkImportJob } = await import('@heatround/services/imports');
    await checkImportJob.handle(service.deps, { organisationId: planner.scope.organisationId, importId: first.id });
    expect(await look(planner, first.id)).toMatchObject({ state: 'checked', badCount: 0, errors: [] });
  });

  it('a register file is checked as a whole: our own example passes', async () => {
    const { body } = await planner.call('importTemplate', { params: { kind: 'assets' } });
    const text = body.text.replaceAll('P-10', 'Q-10');
    const seen = await check(service, planner, { kind: 'assets', text });
    expect(seen.errors).toEqual([]);
    expect(seen.summary).toMatchObject({ assetsMade: 2, pointsMade: 6, sitesMade: 0, roomsMade: 0, skipped: 0 });
  });

  it('rows whose tags differ in writing alone are one asset, and that is said before they come in', async () => {
    const { body } = await planner.call('importTemplate', { params: { kind: 'assets' } });
    const [head, ...rows] = body.text.replaceAll('P-10', 'Q-10').split('\r\n');
    const text = [head, rows[0], rows[1].replace('Q-101', 'q-101'), ...rows.slice(2)].join('\r\n');
    const seen = await check(service, planner, { kind: 'assets', text });
    expect(seen).toMatchObject({ errors: [], summary: { assetsMade: 2 } });
    expect(seen.warnings).toEqual(['Q-101 and q-101 in rows 2, 3 are taken for one asset.']);
  });

  it('facts that are stored already are told as duplicates only when they came from the same rows', async () => {
    await planner.submit([readingFact(pointId, '60', { takenAt: '2025-03-03T09:00:00Z' })]);
    const started = await upload(planner, { text: 'tag,letter,takenAt,value\nP-101,a,2025-03-03T09:00Z,60\n' });
    expect(started.status).toBe(201);
    const seen = await check(service, planner, { text: 'tag,letter,takenAt,value\nP-101,a,2025-03-03T09:00Z,60\n' });
    expect(seen.summary).toMatchObject({ created: 1, duplicate: 0 });
  });
});
