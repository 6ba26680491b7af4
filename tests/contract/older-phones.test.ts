/**
 * Phones in the field are older than the server. `as-phones-know-it.txt` is the contract of the version they last saw; the present one
 * understands whatever they send and tells them whatever they read. With a release the file is written anew:
 * `HEATROUND_WRITE_OUTLINE=1 npx vitest run tests/contract/older-phones.test.ts`.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factId, type Harness, type Person, startService, TEST_NOW } from '../support/harness.ts';
import { broken, outline } from './outline.ts';

const FILE = join(import.meta.dirname, 'as-phones-know-it.txt');
if (process.env.HEATROUND_WRITE_OUTLINE) writeFileSync(FILE, `${outline().join('\n')}\n`);
const older = readFileSync(FILE, 'utf8').trim().split('\n');

describe('the contract', () => {
  it('takes nothing away from older phones and demands nothing new of them', () => {
    expect(older.length).toBeGreaterThan(500);
    expect(broken(older, outline())).toEqual([]);
  });

  it('would be noticed to have lost a call, a member, a word, or to demand one more', () => {
    const now = outline();
    const without = (line: string) => {
      expect(now).toContain(line);
      return broken(
        now,
        now.filter((one) => one !== line),
      );
    };
    expect(without('listSites: GET /api/sites')).toEqual(['gone: listSites: GET /api/sites']);
    expect(without('fact ><reading-taken> confirmedUnlikely')).toEqual(['gone: fact ><reading-taken> confirmedUnlikely']);
    expect(without('createAsset > criticality = A')).toEqual(['gone: createAsset > criticality = A']);
    expect(broken(now, [...now, 'createAsset > colour', 'createAsset > colour !'])).toEqual(['demanded: createAsset > colour']);
    expect(broken(now, [...now, 'createAsset > paint', 'createAsset > paint colour', 'createAsset > paint colour !'])).toEqual(
      [],
    );
    expect(broken(now, [...now, 'newCall > colour !'])).toEqual([]);
  });
});

/** What the first version of the client sent, word for word. */
const stamp = `"takenAt":"${TEST_NOW}","clock":{"deviceAt":"${TEST_NOW}","monotonicMs":5,"offsetMs":null}`;
const FIRST = (pointId: string, assetId: string) =>
  [
    `{"kind":"reading-taken","id":"${factId()}",${stamp},"pointId":"${pointId}","inputs":{"value":{"text":"87,5","unit":"°C"}},"conditions":{"load":{"text":"96","unit":"%"},"ambient":{"text":"31","unit":"°C"}}}`,
    `{"kind":"stop-answered","id":"${factId()}",${stamp},"pointId":"${pointId}","answer":"no-way-in"}`,
    `{"kind":"work-recorded","id":"${factId()}",${stamp},"assetId":"${assetId}","work":"regreased"}`,
  ].map((text) => JSON.parse(text));

describe('a phone of an older version, after the server was upgraded', () => {
  let service: Harness;
  let technician: Person;
  let pointId: string;
  let assetId: string;
  beforeAll(async () => {
    service = await startService();
    const { id, roomId } = await service.organisation();
    const planner = await service.person(id, ['planner']);
    technician = await service.person(id, ['technician']);
    const made = await service.asset(planner, roomId);
    assetId = made.id;
    [pointId] = made.pointIds as [string];
  });
  afterAll(() => service?.close());

  it('D73: what it sends without the members that came later is taken, judged and concluded', async () => {
    const facts = FIRST(pointId, assetId);
    const { body } = await technician.submit(facts);
    expect(body.results.map((one: { outcome: string }) => one.outcome)).toEqual(['created', 'created', 'created']);
    expect(body.results[0].verdict).toMatchObject({ grade: 'plan' });
    // After the upgrade it sends once more what it had no answer for.
    const again = await technician.submit(facts);
    expect(again.body.results.map((one: { outcome: string }) => one.outcome)).toEqual(['duplicate', 'duplicate', 'duplicate']);
    expect(await service.concludeAll()).toBeGreaterThan(0);
  });

  it('D73: a verdict in the words of another version is kept beside the service’s own, and changes nothing', async () => {
    const fact = {
      ...FIRST(pointId, assetId)[0],
      phoneVerdict: { domainVersion: '0', verdict: { grade: 'amber', comparability: 'as it was', because: null, later: true } },
    };
    const { body } = await technician.submit([fact]);
    expect(body.results[0]).toMatchObject({ outcome: 'created', verdict: { grade: 'plan' } });
    const { readings } = (await technician.call('listReadings', { params: { pointId } })).body;
    expect(readings.find((one: { id: string }) => one.id === fact.id).phoneVerdict).toMatchObject({
      grade: 'amber',
      later: true,
    });
  });

  it('D73: what it asks without the queries that came later is answered', async () => {
    for (const [name, params] of [
      ['listAssets', {}],
      ['getAsset', { assetId }],
      ['myWalk', {}],
      ['whoAmI', {}],
    ] as const)
      expect((await technician.call(name, { params })).status, name).toBe(200);
  });
});
