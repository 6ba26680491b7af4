/** Characters that cannot be stored, addresses that lead nowhere, ids in capitals: refused or taken, never a failure of ours. */
import { randomUUID } from 'node:crypto';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildApp } from '../../../apps/api/src/app.ts';
import { badTexts } from '../../../apps/api/src/plugins/plain-text.ts';
import { factId, type Harness, type Person, readingFact, startService, testLimits } from '../../support/harness.ts';

const NUL = 'must not contain the character U+0000';
const HALF = 'must not contain half of a surrogate pair (U+D800 to U+DFFF)';

describe('texts that cannot be kept', () => {
  let service: Harness;
  let planner: Person;
  let assetId: string;
  let pointId: string;
  beforeAll(async () => {
    service = await startService();
    const place = await service.organisation();
    planner = await service.person(place.id, ['planner']);
    const asset = await service.asset(planner, place.roomId);
    assetId = asset.id;
    pointId = asset.pointIds[0]!;
  });
  afterAll(() => service?.close());

  it.each([
    ['U+0000', 'a\u0000b', NUL],
    ['half a surrogate pair', 'a\ud800b', HALF],
  ])('%s is refused by name wherever it stands', async (_, text, detail) => {
    const { validFrom: _from, origin: _origin, reviewOn: _review, ...limits } = testLimits();
    const version = 1;
    const calls = [
      ['createSite', { body: { name: text, zone: 'Europe/Dublin' } }, '#/name'],
      ['changeAsset', { params: { assetId }, body: { version, name: text } }, '#/name'],
      ['changeAsset', { params: { assetId }, body: { version, tag: text } }, '#/tag'],
      ['addLimits', { params: { pointId }, body: { ...limits, source: text } }, '#/source'],
      ['addLimits', { params: { pointId }, body: { ...limits, reason: text } }, '#/reason'],
      ['startImport', { body: { id: randomUUID(), kind: 'readings', fileName: text, text: 'tag\nx\n' } }, '#/fileName'],
    ] as const;
    for (const [name, options, pointer] of calls) {
      const reply = await planner.call(name, options);
      expect(reply.status, name).toBe(422);
      expect(reply.body, name).toMatchObject({ type: '/problems/invalid-request', errors: [{ pointer, detail }] });
    }
    const signIn = await service.call('signIn', { body: { email: `${text}@example.org`, password: text } });
    expect(signIn).toMatchObject({ status: 422, body: { errors: [{ pointer: '#/password' }, { pointer: '#/email' }] } });
  });

  it('U+0000 in the search of the register is refused', async () => {
    const reply = await planner.call('listAssets', { query: { search: '\u0000' } });
    expect(reply).toMatchObject({ status: 422, body: { errors: [{ pointer: '#/search', detail: NUL }] } });
  });

  it('among handed-in facts only the one concerned is refused', async () => {
    const { results } = (
      await planner.submit([
        readingFact(pointId, '50', { words: 'fine' }),
        readingFact(pointId, '51', { words: 'a\u0000' }),
        { ...readingFact(pointId, '52'), inputs: { 'va\u0000lue': { text: '5\ud800', unit: '' } } },
        {
          kind: 'stop-answered',
          id: factId(),
          takenAt: '2026-04-23T06:00:00Z',
          clock: { deviceAt: '2026-04-23T06:00:00Z', monotonicMs: 1, offsetMs: 0 },
          pointId,
          answer: 'not-running',
          words: '\udc00',
        },
        readingFact(pointId, '53'),
      ])
    ).body;
    expect(results.map((one: { outcome: string }) => one.outcome)).toEqual([
      'created',
      'refused',
      'refused',
      'refused',
      'created',
    ]);
    expect(results[1].problem).toMatchObject({ code: 'invalid-request', errors: [{ pointer: '/words', detail: NUL }] });
    expect(results[2].problem.errors).toEqual([
      { pointer: '/inputs/va\\u0000lue', detail: NUL },
      { pointer: '/inputs/va\\u0000lue/text', detail: HALF },
    ]);
    expect(results[3].problem.errors).toEqual([{ pointer: '/words', detail: HALF }]);
  });

  it('whole pairs, any script and any depth pass', () => {
    expect(badTexts({ a: ['🔧 Lüfter 風扇', { b: 1, c: null }] }, '#')).toEqual([]);
    let deep: unknown = 'x\u0000';
    for (let i = 0; i < 3_000; i++) deep = [deep];
    expect(badTexts(deep, '#')).toHaveLength(1);
  });

  it('ids compare without regard to case: of the organisation, in addresses and in facts', async () => {
    const organisationId = planner.scope.organisationId.toUpperCase();
    const page = await planner.call('getAsset', { organisationId, params: { assetId: assetId.toUpperCase() } });
    expect(page).toMatchObject({ status: 200, body: { id: assetId } });
    const reading = { ...readingFact(pointId, '54'), pointId: pointId.toUpperCase() };
    const outcomes = [];
    for (const fact of [reading, { ...reading, id: reading.id.toUpperCase(), pointId }]) {
      outcomes.push((await planner.submit([fact])).body.results[0]);
    }
    expect(outcomes).toMatchObject([
      { outcome: 'created', id: reading.id },
      { outcome: 'duplicate', id: reading.id },
    ]);
  });

  it('an address that leads out of the folder of the client is not found', async () => {
    const webFolder = await mkdtemp(join(tmpdir(), 'heatround-web-'));
    await writeFile(join(webFolder, 'index.html'), 'the client');
    const ready = { queue: async () => {}, migrations: async () => {} };
    const app = await buildApp({ deps: service.deps, ready, webFolder });
    try {
      await app.listen({ port: 0, host: '127.0.0.1' });
      const port = Number(new URL(app.listeningOrigin).port);
      const raw = (path: string) =>
        new Promise<string>((resolve, reject) => {
          let answer = '';
          const socket = connect(port, '127.0.0.1', () =>
            socket.write(`GET ${path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n`),
          );
          socket.on('data', (data) => {
            answer += data;
          });
          socket.on('end', () => resolve(answer.split('\r\n')[0]!));
          socket.on('error', reject);
        });
      for (const path of ['/../../etc/passwd', '/..%2f..%2fetc/passwd', '/%2e%2e/%2e%2e/etc/passwd', '/a%00b', '/.env']) {
        expect(await raw(path), path).toMatch(/ (200|400|404) /);
      }
      expect(await raw('/../../etc/passwd')).toMatch(/ 404 /);
      expect(await raw('/asset/x')).toMatch(/ 200 /);
    } finally {
      await app.close();
      await rm(webFolder, { recursive: true });
    }
  });
});
