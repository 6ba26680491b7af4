import { runImportJob } from '@heatround/services/imports';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, startService } from '../../support/harness.ts';
import { check, look, makeMissing, readingsOf, run } from './import-file.ts';

describe('bringing a file in', () => {
  let service: Harness;
  let planner: Person;
  let administrator: Person;
  let roomId: string;
  beforeAll(async () => {
    service = await startService();
    const place = await service.organisation();
    roomId = place.roomId;
    planner = await service.person(place.id, ['planner'], { name: 'Ines' });
    administrator = await service.person(place.id, ['administrator']);
  });
  afterAll(() => service?.close());

  const history = (tag: string, count: number, value = (index: number) => 60 + (index % 10)) =>
    `tag,takenAt,value\n${Array.from({ length: count }, (_, index) => {
      const at = new Date(Date.parse('2025-01-01T00:00:00Z') + index * 3_600_000).toISOString();
      return `${tag},${at},${value(index)}\n`;
    }).join('')}`;

  it('its readings are facts: judged with the limits of their day, from the person who brought them in, as written', async () => {
    const { pointIds } = await service.asset(planner, roomId, { tag: 'R-1' });
    const text = 'tag;takenAt;value;load;ambient;instrument;words\nR-1;01.02.2026 09:00;85,5;100;20;Gun 2;from the old book\n';
    const seen = await check(service, planner, { text });
    const done = await run(service, planner, seen.id);
    expect(done).toMatchObject({
      state: 'brought-in',
      doneCount: 1,
      badCount: 0,
      summary: { created: 1, duplicate: 0, skipped: 0 },
    });
    expect(await readingsOf(planner, pointIds[0]!)).toMatchObject([
      {
        takenAt: '2026-02-01T09:00:00.000Z',
        by: 'Ines',
        value: 85.5,
        grade: 'plan',
        inputs: { value: { text: '85,5', unit: '' } },
        instrument: 'Gun 2',
        words: 'from the old book',
      },
    ]);
    await service.concludeAll();
    const page = await planner.call('getAsset', {
      params: { assetId: (await planner.call('listAssets', { query: { search: 'R-1' } })).body.assets[0].id },
    });
    expect(page.body.points[0]).toMatchObject({ isBehind: false, conclusion: { standing: { grade: 'plan' } } });
  });

  it('the same file twice gives duplicates and never doubles, whoever brings it in', async () => {
    const { pointIds } = await service.asset(planner, roomId, { tag: 'R-2' });
    const text = history('R-2', 30);
    const first = await run(service, planner, (await check(service, planner, { text })).id);
    expect(first.summary).toMatchObject({ created: 30, duplicate: 0 });
    const seen = await check(service, administrator, { text });
    expect(seen.summary).toMatchObject({ created: 0, duplicate: 30 });
    const again = await run(service, administrator, seen.id);
    expect(again.summary).toMatchObject({ created: 0, duplicate: 30, conflict: 0 });
    expect(await readingsOf(planner, pointIds[0]!)).toHaveLength(30);
  });

  it('missing points are made once with their limit, and the second time they are there', async () => {
    const text =
      'point_id,date,quantity,value,limit\nM-1,2025-01-06,temperature_c,80,76.5\nM-1,2025-01-13,temperature_c,50,76.5\nM-2,2025-01-06,vibration_mm_s,2,4.5\n';
    const file = {
      text,
      mapping: {
        columns: { tag: 'point_id', takenAt: 'date', quantity: 'quantity', value: 'value', limit: 'limit' },
        defaults: { hour: '08:00' },
        makeMissing: makeMissing(roomId, { limit: null }),
      },
    };
    const seen = await check(service, planner, file);
    expect(seen.summary).toMatchObject({ created: 3, pointsMade: 2, assetsMade: 2 });
    const done = await run(service, planner, seen.id);
    expect(done.summary).toMatchObject({ created: 3, pointsMade: 2, assetsMade: 2 });
    const [line] = (await planner.call('listAssets', { query: { search: 'M-2' } })).body.assets;
    const page = (await planner.call('getAsset', { params: { assetId: line.id } })).body;
    expect(page.points[0]).toMatchObject({
      point: { letter: 'a', quantity: 'vibration-velocity' },
      limits: [{ soon: 4.5, watch: null, source: 'site practice', validFrom: Date.parse('2025-01-06T08:00:00Z') }],
      readings: [{ grade: 'fine', comparability: 'like-for-like' }],
    });
    const again = await check(service, planner, file);
    expect(again.summary).toMatchObject({ created: 0, duplicate: 3, pointsMade: 0, assetsMade: 0 });
  });

  it('points made from a file with a load column refer to its usual load, and one limit for all holds from its first reading', async () => {
    const loads = [62, 58, 64, 62.4, 61];
    const rows = loads.map((load, i) => `L-1,2025-01-0${i + 1} 09:00,${(20 + 0.87 * load).toFixed(1)},${load},21`);
    const text = `tag,takenAt,value,load,ambient\n${rows.join('\n')}\nL-2,2025-02-01 09:00,70,250,21\nL-3,2025-02-01 09:00,70,,21\n`;
    const seen = await check(service, planner, {
      text,
      mapping: {
        columns: { tag: 'tag', takenAt: 'takenAt', value: 'value', load: 'load', ambient: 'ambient' },
        makeMissing: makeMissing(roomId, { limit: 82 }),
      },
    });
    await run(service, planner, seen.id);
    const pageOf = async (tag: string) => {
      const [line] = (await planner.call('listAssets', { query: { search: tag } })).body.assets;
      return (await planner.call('getAsset', { params: { assetId: line.id } })).body.points[0];
    };
    await service.concludeAll();
    const point = await pageOf('L-1');
    expect(point).toMatchObject({
      point: { referenceLoadPercent: 62, basis: 'raw' },
      limits: [{ soon: 82, validFrom: Date.parse('2025-01-01T09:00:00Z') }],
      conclusion: { standing: { grade: 'fine' } },
    });
    expect(point.readings.map((one: { grade: string }) => one.grade)).toEqual(loads.map(() => 'fine'));
    expect(point.conclusion.projections[0].reason).not.toBe('over-limit');
    expect((await pageOf('L-2')).point.referenceLoadPercent).toBe(150);
    expect((await pageOf('L-3')).point.referenceLoadPercent).toBe(100);
  });

  it('a file-wide unit, zone, tag and letter stand where the file has no column', async () => {
    const { pointIds } = await service.asset(planner, roomId, { tag: 'R-3' });
    const mapping = {
      columns: { takenAt: 'timestamp', value: 'value' },
      defaults: { tag: 'R-3', letter: 'a', unit: '°F', zone: 'America/New_York' },
    };
    const seen = await check(service, planner, { text: 'timestamp,value\n2013-12-02 20:00:00,78.8\n', mapping });
    await run(service, planner, seen.id);
    expect(await readingsOf(planner, pointIds[0]!)).toMatchObject([
      { takenAt: '2013-12-03T01:00:00.000Z', value: expect.closeTo(26, 6), inputs: { value: { text: '78.8', unit: '°F' } } },
    ]);
  });

  it('work recorded comes in with its own file, on a point or on the whole asset', async () => {
    const { id } = await service.asset(planner, roomId, { tag: 'R-4' });
    const text = 'point_id,date,event,letter\nR-4,2025-03-23,repair,\nR-4,2025-04-01,Regreased,a\n';
    const seen = await check(service, planner, { kind: 'work', text });
    const done = await run(service, planner, seen.id);
    expect(done).toMatchObject({ state: 'brought-in', summary: { created: 2 } });
    const { body } = await planner.call('getAsset', { params: { assetId: id } });
    expect(body.work).toMatchObject([
      { work: 'regreased', pointId: expect.any(String) },
      { work: 'repaired', pointId: null },
    ]);
  });

  it('a register comes in with its places, points and limits', async () => {
    const header =
      'site,zone,building,room,tag,name,template,criticality,criticalityReason,letter,pointName,quantity,unit,soon,source,reason';
    const rows = [
      'Quay,Europe/Oslo,Hall,Bay 1,K-1,Crane,,A,only one,a,Gearbox,temperature,°F,194,site practice,seen in 2019',
      ',,,,K-1,,,,,b,Brake,temperature,,80,site practice,seen in 2019',
      'quay,,hall,Bay 2,K-2,Pump,pump,C,stands by,,,,,,,',
    ];
    const mapping = { columns: Object.fromEntries(header.split(',').map((name) => [name, name])), defaults: {} };
    const seen = await check(service, planner, { kind: 'assets', text: `${[header, ...rows].join('\n')}\n`, mapping });
    expect(seen.errors).toEqual([]);
    const done = await run(service, planner, seen.id);
    expect(done).toMatchObject({
      state: 'brought-in',
      doneCount: 3,
      summary: { assetsMade: 2, pointsMade: 6, sitesMade: 1, buildingsMade: 1, roomsMade: 2, skipped: 0 },
    });
    const [line] = (await planner.call('listAssets', { query: { search: 'K-1' } })).body.assets;
    expect(line).toMatchObject({ tag: 'K-1', pointCount: 2, place: { site: 'Quay', zone: 'Europe/Oslo', room: 'Bay 1' } });
    const page = (await planner.call('getAsset', { params: { assetId: line.id } })).body;
    expect(page.points[0].limits).toMatchObject([{ soon: expect.closeTo(90, 6), author: 'Ines' }]);
  });

  it('a worker killed between chunks is followed by one that goes on; nothing is lost and nothing doubled', async () => {
    const { pointIds } = await service.asset(planner, roomId, { tag: 'R-5' });
    const seen = await check(service, planner, { text: history('R-5', 1200) });
    await planner.call('runImport', { params: { importId: seen.id }, body: {} });
    const job = { organisationId: planner.scope.organisationId, importId: seen.id };
    let transactions = 0;
    const dying = {
      ...service.deps,
      database: {
        ...service.deps.database,
        inTenant: ((scope, work) => {
          if (++transactions > 6) throw new Error('killed');
          return service.deps.database.inTenant(scope, work);
        }) as typeof service.deps.database.inTenant,
      },
    };
    await expect(runImportJob.handle(dying, job)).rejects.toThrow('killed');
    const half = await look(planner, seen.id);
    expect(half.state).toBe('bringing-in');
    expect(half.doneCount).toBeGreaterThan(0);
    expect(half.doneCount).toBeLessThan(1200);
    await Promise.all([runImportJob.handle(service.deps, job), runImportJob.handle(service.deps, job)]);
    await runImportJob.handle(service.deps, job);
    expect(await look(planner, seen.id)).toMatchObject({
      state: 'brought-in',
      doneCount: 1200,
      summary: { created: 1200, duplicate: 0 },
    });
    expect(await readingsOf(planner, pointIds[0]!)).toHaveLength(500);
  });
});

describe('a register file whose worker is killed', () => {
  it('comes in once, whatever was made before', async () => {
    const service = await startService();
    try {
      const { id } = await service.organisation();
      const planner = await service.person(id, ['planner']);
      const rows = Array.from({ length: 450 }, (_, index) => `Quay,UTC,Hall,Bay ${index % 3},K-${index},Fan,C,spare`);
      const text = `site,zone,building,room,tag,name,criticality,criticalityReason\n${rows.join('\n')}\n`;
      const seen = await check(service, planner, { kind: 'assets', text });
      await planner.call('runImport', { params: { importId: seen.id }, body: {} });
      const job = { organisationId: id, importId: seen.id };
      let transactions = 0;
      const inTenant: typeof service.deps.database.inTenant = (scope, work) => {
        if (++transactions > 3) throw new Error('killed');
        return service.deps.database.inTenant(scope, work);
      };
      const dying = { ...service.deps, database: { ...service.deps.database, inTenant } };
      await expect(runImportJob.handle(dying, job)).rejects.toThrow('killed');
      expect(await look(planner, seen.id)).toMatchObject({ state: 'bringing-in', doneCount: 200 });
      await runImportJob.handle(service.deps, job);
      const done = await look(planner, seen.id);
      expect(done).toMatchObject({ state: 'brought-in', doneCount: 450, badCount: 0 });
      expect(done.summary).toMatchObject({ assetsMade: 450, sitesMade: 1, buildingsMade: 1, roomsMade: 3, skipped: 0 });
    } finally {
      await service.close();
    }
  });
});

describe('with a worker', () => {
  let service: Harness;
  beforeAll(async () => {
    service = await startService({ withWorker: true });
  });
  afterAll(() => service?.close());

  it('a file is checked, brought in and concluded in the background, also when the hint to do so was lost', async () => {
    const { id, roomId } = await service.organisation();
    const planner = await service.person(id, ['planner']);
    const { pointIds, id: assetId } = await service.asset(planner, roomId, { tag: 'W-1' });
    const { upload } = await import('./import-file.ts');
    const until = async (importId: string, state: string) => {
      for (let tries = 0; tries < 100; tries++) {
        const seen = await look(planner, importId);
        if (seen.state === state) return seen;
        await new Promise((resolve) => setTimeout(resolve, 100));
      }
      throw new Error(`never ${state}`);
    };
    const { body } = await upload(planner, { text: 'tag,takenAt,value\nW-1,2025-03-03T09:00Z,60\n' });
    const params = { importId: body.id };
    await planner.call('checkImport', { params, body: { mapping: body.proposal } });
    expect((await until(body.id, 'checked')).badCount).toBe(0);
    // As if the queue had been down when somebody asked: only the database knows.
    await service.db.inTenant(planner.scope, ({ db }) =>
      db.$executeRawUnsafe(
        `UPDATE import SET state = 'bringing-in', done_count = 0, version = version + 1 WHERE id = '${body.id}'`,
      ),
    );
    expect((await until(body.id, 'brought-in')).summary).toMatchObject({ created: 1 });
    for (let tries = 0; tries < 100; tries++) {
      const page = await planner.call('getAsset', { params: { assetId } });
      if (page.body.points[0].conclusion && !page.body.points[0].isBehind) break;
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
    const page = await planner.call('getAsset', { params: { assetId } });
    expect(page.body.points[0]).toMatchObject({ isBehind: false, readings: [{ id: expect.any(String) }] });
    expect(pointIds).toHaveLength(1);
  });
});
