import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, startService } from '../../support/harness.ts';
import { check, run, upload } from './import-file.ts';

describe('who may bring in files', () => {
  let service: Harness;
  let planner: Person;
  let technician: Person;
  let stranger: Person;
  let importId: string;
  const text = 'tag,takenAt,value\nX-1,2025-01-01 08:00,5\n';
  const mapping = { columns: { tag: 'tag', takenAt: 'takenAt', value: 'value' } };
  beforeAll(async () => {
    service = await startService();
    const mine = await service.organisation();
    planner = await service.person(mine.id, ['planner']);
    technician = await service.person(mine.id, ['technician']);
    stranger = await service.person((await service.organisation('Elsewhere')).id, ['planner', 'administrator']);
    importId = (await upload(planner, { text })).body.id;
  });
  afterAll(() => service?.close());

  it('a technician may not, in any of the steps', async () => {
    const params = { importId };
    const replies = await Promise.all([
      upload(technician, { text }),
      technician.call('checkImport', { params, body: { mapping } }),
      technician.call('runImport', { params, body: {} }),
      technician.call('getImport', { params }),
      technician.call('listImports'),
      technician.call('importTemplate', { params: { kind: 'readings' } }),
    ]);
    expect(replies.map(({ status }) => status)).toEqual([403, 403, 403, 403, 403, 403]);
  });

  it('a foreign import looks like a missing one, and its id is free elsewhere', async () => {
    for (const params of [{ importId }, { importId: randomUUID() }]) {
      expect((await stranger.call('getImport', { params })).status).toBe(404);
      expect((await stranger.call('checkImport', { params, body: { mapping } })).status).toBe(404);
      expect((await stranger.call('runImport', { params, body: {} })).status).toBe(404);
    }
    expect((await stranger.call('listImports')).body.imports).toEqual([]);
    expect((await upload(stranger, { id: importId, text: `${text}X-2,2025-01-01 08:00,5\n` })).status).toBe(201);
    expect((await planner.call('getImport', { params: { importId } })).body.rowCount).toBe(1);
  });

  it('a planner narrowed to a site brings nothing in elsewhere and learns nothing of it', async () => {
    const { id, siteId } = await service.organisation('Two sites');
    const chief = await service.person(id, ['planner']);
    const annex = await chief.call('createSite', { body: { name: 'Annex', zone: 'UTC' } });
    const building = await chief.call('createBuilding', { params: { siteId: annex.body.id }, body: { name: 'B' } });
    const room = await chief.call('createRoom', { params: { buildingId: building.body.id }, body: { name: 'R' } });
    await service.asset(chief, room.body.id, { tag: 'X-1' });
    const narrowed = await service.person(id, ['planner'], { siteIds: [siteId] });
    const seen = await check(service, narrowed, { text });
    expect(seen).toMatchObject({ state: 'checked', badCount: 1, errors: [{ row: 2, column: 'tag' }] });
    expect(await run(service, narrowed, seen.id)).toMatchObject({ state: 'refused' });
    expect(await check(service, chief, { text })).toMatchObject({ badCount: 0, summary: { created: 1 } });
    const made = { roomId: room.body.id, quantity: 'temperature', criticalityReason: 'x', limit: 9, source: 'x', reason: 'x' };
    const started = await upload(narrowed, { text });
    const asked = await narrowed.call('checkImport', {
      params: { importId: started.body.id },
      body: { mapping: { ...mapping, makeMissing: made } },
    });
    expect(asked.status).toBe(404);
  });
});
