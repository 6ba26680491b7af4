/** Taking a file back: what it brought in counts no longer, what nobody built on goes, what a person entered stays. */
import { randomUUID } from 'node:crypto';
import { sql } from '@heatround/platform/database';
import { undoImportJob } from '@heatround/services/imports';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, type Harness, type Person, readingFact, startService, TEST_NOW, testLimits } from '../../support/harness.ts';
import { check, look, makeMissing, readingsOf, run, takeBack } from './import-file.ts';

const DAY = 86_400_000;

describe('taking a file back', () => {
  let service: Harness;
  let planner: Person;
  let technician: Person;
  let place: { id: string; roomId: string; siteId: string };
  beforeAll(async () => {
    service = await startService();
    place = await service.organisation();
    planner = await service.person(place.id, ['planner']);
    technician = await service.person(place.id, ['technician']);
  });
  afterAll(() => service?.close());

  const bringIn = async (file: Parameters<typeof check>[2], who = planner) => {
    const seen = await check(service, who, file);
    expect(seen.errors).toEqual([]);
    return run(service, who, seen.id);
  };
  const preview = async (importId: string, who = planner) => (await who.call('previewUndo', { params: { importId } })).body;
  const assetBy = async (tag: string) =>
    (await planner.call('listAssets', { query: { search: tag } })).body.assets.find((one: { tag: string }) => one.tag === tag);
  const conclusionOf = async (assetId: string) => {
    await service.concludeAll();
    return (await planner.call('getAsset', { params: { assetId } })).body.points[0].conclusion;
  };
  const readings = (tag: string, values: readonly number[]) =>
    `tag,takenAt,value,load,ambient\n${values.map((value, i) => `${tag},${new Date(Date.parse('2026-01-01T08:00:00Z') + i * DAY).toISOString()},${value},100,20`).join('\n')}\n`;
  const register = (tags: readonly string[], room = 'Pump room') =>
    `site,building,room,tag,name,criticality,criticalityReason,letter,pointName,quantity,watch,plan,soon,now,source,reason\n${tags
      .map(
        (tag) =>
          `Mill,Engine house,${room},${tag},Pump ${tag},C,small,a,Bearing,temperature,70,80,90,100,site practice,grease ages`,
      )
      .join('\n')}\n`;

  it('its readings count no longer, the conclusion follows, and those entered by hand stay', async () => {
    const { id, pointIds } = await service.asset(planner, place.roomId, { tag: 'U-1' });
    await technician.submit([readingFact(pointIds[0]!, '50', { takenAt: '2025-12-01T08:00:00Z' })]);
    const before = await conclusionOf(id);
    const done = await bringIn({ text: readings('U-1', [85, 86, 87]) });
    expect(done.undoUntil).toBe(new Date(Date.parse(TEST_NOW) + DAY).toISOString());
    expect((await conclusionOf(id)).standing).toMatchObject({ grade: 'plan' });
    const seen = await preview(done.id);
    expect(seen).toEqual({ goes: { readings: 3 }, stays: {}, examples: [] });
    expect(await readingsOf(planner, pointIds[0]!)).toHaveLength(4);

    const back = await takeBack(service, planner, done.id);
    expect(back).toMatchObject({ state: 'taken-back', undo: seen, undoUntil: null });
    expect(await readingsOf(planner, pointIds[0]!)).toMatchObject([{ value: 50 }]);
    expect(await conclusionOf(id)).toEqual(before);
    const all = await planner.call('listReadings', { params: { pointId: pointIds[0]! }, query: { all: 'true' } });
    expect(all.body.readings.map(({ counts }: { counts: boolean }) => counts)).toEqual([false, false, false, true]);
  });

  it('twice is once, and what was not brought in or is older than 24 hours is refused', async () => {
    await service.asset(planner, place.roomId, { tag: 'U-2' });
    const seen = await check(service, planner, { text: readings('U-2', [60]) });
    const early = await planner.call('undoImport', { params: { importId: seen.id } });
    expect(early).toMatchObject({ status: 409, body: { type: '/problems/import-state', state: 'checked' } });
    const done = await run(service, planner, seen.id);
    const once = await takeBack(service, planner, done.id);
    expect(await takeBack(service, planner, done.id)).toEqual(once);
    expect((await planner.call('runImport', { params: { importId: done.id }, body: {} })).status).toBe(409);

    const late = await bringIn({ text: readings('U-2', [61, 62]) });
    service.clock.set(Date.parse(TEST_NOW) + DAY + 1);
    for (const name of ['undoImport', 'previewUndo'] as const) {
      const refused = await planner.call(name, { params: { importId: late.id } });
      expect(refused).toMatchObject({ status: 409, body: { type: '/problems/import-state' } });
      expect(refused.body.detail).toContain('2026-04-24T07:00:00.000Z');
    }
    service.clock.set(Date.parse(TEST_NOW) + DAY);
    expect((await preview(late.id)).goes).toEqual({ readings: 2 });
    service.clock.set(Date.parse(TEST_NOW));
    expect((await look(planner, late.id)).state).toBe('brought-in');
  });

  it('a reading that two files brought in counts as long as one of them stands, and comes back with a third', async () => {
    const { pointIds } = await service.asset(planner, place.roomId, { tag: 'U-3' });
    const count = async () => (await readingsOf(planner, pointIds[0]!)).length;
    const first = await bringIn({ text: readings('U-3', [60, 61]) });
    const second = await bringIn({ text: readings('U-3', [60, 61, 62]) });
    expect(second.summary).toMatchObject({ created: 1, duplicate: 2 });
    const back = await takeBack(service, planner, first.id);
    expect(back.undo).toMatchObject({
      goes: {},
      stays: { readings: 2 },
      examples: [{ why: expect.stringContaining('another file') }],
    });
    expect(await count()).toBe(3);
    await takeBack(service, planner, second.id);
    expect(await count()).toBe(0);
    const third = await bringIn({ text: readings('U-3', [60, 61]) });
    expect(third.summary).toMatchObject({ created: 2, duplicate: 0 });
    expect(await count()).toBe(2);
  });

  it('work goes with its file and resets nothing any longer', async () => {
    const { id, pointIds } = await service.asset(planner, place.roomId, { tag: 'U-4' });
    await technician.submit(
      [70, 71, 72, 73, 74, 75].map((value, i) =>
        readingFact(pointIds[0]!, String(value), {
          takenAt: new Date(Date.parse('2026-03-01T08:00:00Z') + i * 3 * DAY).toISOString(),
        }),
      ),
    );
    const before = await conclusionOf(id);
    const done = await bringIn({ kind: 'work', text: 'tag,letter,date,work\nU-4,a,2026-03-10,replaced\n' });
    expect(await conclusionOf(id)).not.toEqual(before);
    await takeBack(service, planner, done.id);
    expect(await conclusionOf(id)).toEqual(before);
    expect((await planner.call('getAsset', { params: { assetId: id } })).body.work).toEqual([]);
  });

  it('assets that nobody built on go, with tags and letters free for the next try; those built on stay and are named', async () => {
    const tags = ['V-1', 'V-2', 'V-3', 'V-4', 'V-5', 'V-6', 'V-7'];
    const done = await bringIn({ kind: 'assets', text: register(tags) });
    const pages = await Promise.all(
      tags.map(async (tag) => (await planner.call('getAsset', { params: { assetId: (await assetBy(tag)).id } })).body),
    );
    const point = (i: number): string => pages[i].points[0].point.id;
    await technician.submit([readingFact(point(1), '50')]);
    await planner.call('changeAsset', { params: { assetId: pages[2].id }, body: { version: 1, name: 'Renamed by hand' } });
    const { validFrom: _, ...draft } = testLimits();
    expect((await planner.call('addLimits', { params: { pointId: point(3) }, body: { ...draft, watch: 65 } })).status).toBe(201);
    await planner.call('createRoute', {
      body: {
        siteId: place.siteId,
        code: 'RV',
        name: 'Pumps',
        rule: 'FREQ=DAILY',
        startLocal: '2026-04-23T08:00',
        window: { kind: 'days', daysBefore: 0, daysAfter: 0 },
        pointIds: [point(4)],
      },
    });
    await planner.call('addPoint', {
      params: { assetId: pages[5].id },
      body: { letter: 'b', name: 'Further', quantity: 'vibration-velocity' },
    });
    const back = await takeBack(service, planner, done.id);
    expect(back.undo.goes).toEqual({ assets: 2 });
    expect(back.undo.stays).toEqual({ assets: 5 });
    expect(back.undo.examples.map(({ name, why }: { name: string; why: string }) => `${name}: ${why}`)).toEqual([
      'V-2: it was read or answered since',
      'V-3: somebody changed it since',
      'V-4: its limits were changed since',
      'V-5: it is a stop of a route, or was asked for',
      'V-6: a point was added to it since',
    ]);
    expect(await Promise.all(tags.map(async (tag) => (await assetBy(tag)) !== undefined))).toEqual([
      false,
      true,
      true,
      true,
      true,
      true,
      false,
    ]);
    expect((await planner.call('getAsset', { params: { assetId: pages[0].id } })).status).toBe(404);
    const out = await planner.call('listAssets', { query: { outOfService: 'true' } });
    expect(out.body.assets).toEqual([]);

    const again = await bringIn({ kind: 'assets', text: register(['V-1', 'V-7'], 'Fan room') });
    expect(again.summary).toMatchObject({ assetsMade: 2, pointsMade: 2 });
    expect((await assetBy('V-1')).place.room).toBe('Fan room');
    expect((await assetBy('V-1')).id).not.toBe(pages[0].id);

    // A reading that was taken in the meantime and comes late is not lost from sight.
    await technician.submit([readingFact(point(0), '51', { takenAt: '2026-04-22T07:00:00Z' })]);
    const late = await planner.call('getAsset', { params: { assetId: pages[0].id } });
    expect(late.body).toMatchObject({
      outOfService: { reason: 'Taken back with the file file.csv' },
      points: [{ readings: [{ value: 51 }] }],
    });
    // Its tag is another's by now.
    const taken = await planner.call('changeAsset', {
      params: { assetId: pages[0].id },
      body: { version: late.body.version, outOfService: null },
    });
    expect(taken).toMatchObject({ status: 409, body: { type: '/problems/tag-taken' } });
  });

  it('points made for a history go with it, on new assets and on known ones, and the corrected file makes them anew', async () => {
    await service.asset(planner, place.roomId, { tag: 'W-1' });
    const file = (value: number) => ({
      text: `tag,letter,takenAt,value\nW-1,b,2026-01-01 08:00,${value}\nW-2,a,2026-01-01 08:00,${value}\nW-3,a,2026-01-01 08:00,${value}\n`,
      mapping: {
        columns: { tag: 'tag', letter: 'letter', takenAt: 'takenAt', value: 'value' },
        makeMissing: makeMissing(place.roomId),
      },
    });
    const done = await bringIn(file(40));
    const w3 = (await planner.call('getAsset', { params: { assetId: (await assetBy('W-3')).id } })).body;
    await technician.submit([
      readingFact(w3.points[0].point.id, '41', {
        id: factId(),
        corrects: w3.points[0].readings[0].id,
        takenAt: '2026-01-01T08:00:00Z',
      }),
    ]);
    const back = await takeBack(service, planner, done.id);
    expect(back.undo).toMatchObject({
      goes: { readings: 3, assets: 1, points: 1 },
      stays: { assets: 1 },
      examples: [{ name: 'W-3', why: 'it was read or answered since' }],
    });
    expect(await assetBy('W-2')).toBeUndefined();
    expect(await readingsOf(planner, w3.points[0].point.id)).toMatchObject([]);
    const again = await bringIn(file(44));
    expect(again.summary).toMatchObject({ created: 3, pointsMade: 2, assetsMade: 1 });
    const w1 = (await planner.call('getAsset', { params: { assetId: (await assetBy('W-1')).id } })).body;
    expect(
      w1.points.map(({ point, readings }: { point: { letter: string }; readings: unknown[] }) => [point.letter, readings.length]),
    ).toEqual([
      ['a', 0],
      ['b', 1],
    ]);
  });

  it('a reading that a finding names stays', async () => {
    const { pointIds } = await service.asset(planner, place.roomId, { tag: 'U-5' });
    const done = await bringIn({ text: readings('U-5', [75, 76]) });
    const hot = readingFact(pointIds[0]!, '92');
    await technician.submit([hot]);
    const [imported] = (await readingsOf(planner, pointIds[0]!)).filter(({ value }: { value: number }) => value === 76);
    await service.db.inTenant(planner.scope, ({ db }) =>
      db.$executeRaw(sql`INSERT INTO finding_evidence (organisation_id, finding_id, fact_id, added_at)
        SELECT organisation_id, id, ${imported.id}::uuid, now() FROM finding WHERE point_id = ${pointIds[0]!}::uuid`),
    );
    const back = await takeBack(service, planner, done.id);
    expect(back.undo).toMatchObject({
      goes: { readings: 1 },
      stays: { readings: 1 },
      examples: [{ name: '2026-01-02 08:00 UTC, U-5 a', why: 'a finding or an order names it' }],
    });
    expect((await readingsOf(planner, pointIds[0]!)).map(({ value }: { value: number }) => value)).toEqual([92, 76]);
  });

  it('corrections, readings and files give the same whatever the order of arrival', async () => {
    const outcomes: unknown[] = [];
    const orders = ['import correct undo', 'import undo correct', 'import undo correct-foreign', 'import correct-foreign undo'];
    for (const order of orders) {
      const tag = `X-${outcomes.length}`;
      const { id, pointIds } = await service.asset(planner, place.roomId, { tag });
      let importId = '';
      let target = '';
      for (const step of order.split(' ')) {
        if (step === 'import') {
          importId = (await bringIn({ text: readings(tag, [85]) })).id;
          [{ id: target }] = await readingsOf(planner, pointIds[0]!);
        }
        if (step === 'undo') await takeBack(service, planner, importId);
        if (step.startsWith('correct'))
          await (step === 'correct' ? planner : technician).submit([
            readingFact(pointIds[0]!, '60', { corrects: target, takenAt: '2026-01-01T08:00:00Z' }),
          ]);
      }
      const conclusion = await conclusionOf(id);
      outcomes.push({
        counted: (await readingsOf(planner, pointIds[0]!)).map(({ value }: { value: number }) => value),
        grade: conclusion.standing?.grade ?? null,
      });
    }
    expect(outcomes[0]).toEqual(outcomes[1]);
    expect(outcomes[0]).toMatchObject({ counted: [60], grade: 'fine' });
    expect(outcomes[2]).toEqual(outcomes[3]);
    expect(outcomes[2]).toMatchObject({ counted: [], grade: null });
  });

  it('a worker that died in the middle is followed by one that finishes, and a sweep finds it', async () => {
    const { pointIds } = await service.asset(planner, place.roomId, { tag: 'U-6' });
    const done = await bringIn({ text: readings('U-6', [60, 61]) });
    expect((await planner.call('undoImport', { params: { importId: done.id } })).body.state).toBe('taking-back');
    const { findDueImports } = await import('@heatround/services/imports');
    const due = await findDueImports({ database: service.db }, 1000);
    const own = due.find(({ payload }) => payload.importId === done.id)!;
    expect(own.job.name).toBe('undo-import');
    await Promise.all([own.job.handle(service.deps, own.payload), own.job.handle(service.deps, own.payload)]);
    expect(await look(planner, done.id)).toMatchObject({ state: 'taken-back', undo: { goes: { readings: 2 } } });
    expect(await readingsOf(planner, pointIds[0]!)).toEqual([]);
    await undoImportJob.handle(service.deps, own.payload);
  });

  it('somebody narrowed to some sites takes back only what lies within them', async () => {
    await service.asset(planner, place.roomId, { tag: 'U-7' });
    const done = await bringIn({ text: readings('U-7', [60]) });
    const elsewhere = await service.person(place.id, ['planner'], { siteIds: [randomUUID()] });
    const refused = await elsewhere.call('undoImport', { params: { importId: done.id } });
    expect(refused).toMatchObject({ status: 403, body: { type: '/problems/not-allowed' } });
    const within = await service.person(place.id, ['planner'], { siteIds: [place.siteId] });
    expect((await takeBack(service, within, done.id)).state).toBe('taken-back');
  });
});
