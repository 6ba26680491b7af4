import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, startService } from '../../support/harness.ts';
import { check, look, readingsOf, run } from './import-file.ts';

describe('a file with bad rows', () => {
  let service: Harness;
  let planner: Person;
  let roomId: string;
  beforeAll(async () => {
    service = await startService();
    const place = await service.organisation();
    roomId = place.roomId;
    planner = await service.person(place.id, ['planner']);
  });
  afterAll(() => service?.close());

  it('one bad row behind 5,000 good ones brings nothing in, unless bad rows are to be skipped', async () => {
    const { pointIds } = await service.asset(planner, roomId, { tag: 'B-1' });
    const start = Date.parse('2025-01-01T00:00:00Z');
    const good = Array.from({ length: 5000 }, (_, index) => `B-1,${new Date(start + index * 3_600_000).toISOString()},60\n`).join(
      '',
    );
    const seen = await check(service, planner, { text: `tag,takenAt,value\n${good}B-1,2025-09-01 09:00,hot\n` });
    expect(seen).toMatchObject({ rowCount: 5001, badCount: 1, errors: [{ row: 5002, column: 'value', found: 'hot' }] });
    const refused = await run(service, planner, seen.id);
    expect(refused).toMatchObject({ state: 'refused', badCount: 1, errors: [{ row: 5002 }] });
    expect(await readingsOf(planner, pointIds[0]!)).toEqual([]);

    const again = await planner.call('runImport', { params: { importId: seen.id }, body: { skipBadRows: true } });
    expect(again).toMatchObject({ status: 409, body: { detail: expect.stringMatching(/Check it again/) } });
    const { checkImportJob } = await import('@heatround/services/imports');
    await planner.call('checkImport', { params: { importId: seen.id }, body: { mapping: seen.mapping } });
    await checkImportJob.handle(service.deps, { organisationId: planner.scope.organisationId, importId: seen.id });
    const done = await run(service, planner, seen.id, true);
    expect(done).toMatchObject({ state: 'brought-in', summary: { created: 5000, skipped: 1 } });
    expect(await readingsOf(planner, pointIds[0]!)).toHaveLength(500);
  }, 60_000);

  it('a register brings in no asset of a bad file; skipping leaves out whole assets', async () => {
    const header = 'site,building,room,tag,name,criticality,criticalityReason,letter,pointName,quantity';
    const row = (tag: string, letter: string, quantity = 'temperature') =>
      `Mill,Engine house,Pump room,${tag},Fan,C,spare,${letter},Bearing,${quantity}\n`;
    const text = `${header}\n${row('C-1', 'a')}${row('C-2', 'a')}${row('C-2', 'b', 'warmth')}`;
    const seen = await check(service, planner, { kind: 'assets', text });
    expect(seen).toMatchObject({ badCount: 1, summary: { assetsMade: 1, skipped: 2 } });
    expect(await run(service, planner, seen.id)).toMatchObject({ state: 'refused' });
    const search = async () =>
      (await planner.call('listAssets', { query: { search: 'Fan' } })).body.assets.map((one: { tag: string }) => one.tag);
    expect(await search()).toEqual([]);
    const second = await check(service, planner, { kind: 'assets', text });
    expect(await run(service, planner, second.id, true)).toMatchObject({
      state: 'brought-in',
      summary: { assetsMade: 1, skipped: 2 },
    });
    expect(await search()).toEqual(['C-1']);
  });

  it('a point retired between check and run refuses the file before its first row; with skipping its rows say so', async () => {
    const first = await service.asset(planner, roomId, { tag: 'D-1' });
    const second = await service.asset(planner, roomId, { tag: 'D-2' });
    const text = 'tag,takenAt,value\nD-1,2025-03-03 09:00,60\nD-2,2025-03-03 09:00,60\n';
    const seen = await check(service, planner, { text });
    const retired = await check(service, planner, { text });
    const out = { version: 1, outOfService: { reason: 'scrapped' } };
    expect((await planner.call('changeAsset', { params: { assetId: second.id }, body: out })).status).toBe(200);
    expect(await run(service, planner, seen.id)).toMatchObject({
      state: 'refused',
      badCount: 1,
      errors: [{ row: 3, column: 'tag', expected: expect.stringMatching(/when the file was checked/) }],
    });
    expect(await readingsOf(planner, first.pointIds[0]!)).toEqual([]);
    const done = await run(service, planner, retired.id, true);
    expect(done).toMatchObject({
      state: 'brought-in',
      badCount: 1,
      summary: { created: 1, skipped: 1 },
      errors: [{ row: 3, column: 'tag' }],
    });
  });

  it('a tag taken between check and run refuses a register file', async () => {
    const text = 'site,building,room,tag,name,criticality,criticalityReason\nMill,Engine house,Pump room,E-1,Fan,C,spare\n';
    const seen = await check(service, planner, { kind: 'assets', text });
    await service.asset(planner, roomId, { tag: 'e-1' });
    expect(await run(service, planner, seen.id)).toMatchObject({ state: 'refused', errors: [{ row: 2, column: 'tag' }] });
    expect((await look(planner, seen.id)).badCount).toBe(1);
  });
});
