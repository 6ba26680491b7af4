/** Everything that is logged while people work, sign in, fail and are refused: nobody is in it. */
import { createLog } from '@heatround/platform/log';
import { afterAll, beforeAll, expect, it, vi } from 'vitest';
import { type Harness, type Person, readingFact, startService, TEST_PASSWORD } from '../../support/harness.ts';

const lines: string[] = [];
let service: Harness;
let planner: Person;
let pointId: string;
beforeAll(async () => {
  service = await startService({ withWorker: true, log: createLog('debug', { write: (line: string) => void lines.push(line) }) });
  const { id, roomId } = await service.organisation('Hushwater Works');
  planner = await service.person(id, ['planner'], { name: 'Tilda Overbeck' });
  [pointId] = (await service.asset(planner, roomId, { tag: 'Q-HUSH-7', name: 'Whisper pump' })).pointIds as [string];
}, 60_000);
afterAll(() => service?.close());

it('holds no e-mail, name, note, password, token or cookie, whatever goes well or wrong', { timeout: 60_000 }, async () => {
  const secret = planner.cookie.split('=')[1]!;
  const token = (await planner.call('whoAmI')).body.handOver[0].token as string;
  const note = 'the key hangs behind the third pipe';
  const wrongPassword = 'not-the-password-of-anybody';
  await service.call('signIn', { body: { email: planner.email, password: wrongPassword } });
  await service.call('signIn', { body: { email: 'guess@hushwater.example', password: wrongPassword } });
  const fact = readingFact(pointId, '88', { words: note });
  await planner.submit([fact]);
  await planner.submit([
    { ...fact, words: `${note} no more` },
    { kind: 'nonsense', words: note },
    { ...readingFact(pointId, note) },
  ]);
  await planner.submit([readingFact('018f0000-0000-7000-8000-000000000000', '50', { words: note })]);
  await planner.call('listAssets', { query: { search: 'Whisper', pageSize: 'many' } });
  await planner.call('listAssets', { query: { search: 'Tilda Overbeck' } });
  await planner.call('getAsset', { params: { assetId: planner.email } });
  await service.app.inject({
    method: 'POST',
    url: '/api/sign-in',
    headers: { 'content-type': 'application/json' },
    payload: `{"email":"${planner.email}`,
  });
  await service.app.inject({
    method: 'POST',
    url: `/api/submissions?note=${encodeURIComponent(note)}`,
    headers: { authorization: `Bearer ${token}`, origin: 'https://elsewhere.example.com' },
  });
  await service.call('handOver', { body: { token, facts: [readingFact(pointId, '77', { words: note })] } });
  // A mistake of ours, with everything in its words that the database knew.
  const broken = vi
    .spyOn(service.deps.accounts, 'whoIs')
    .mockRejectedValueOnce(
      Object.assign(new Error('something broke'), { client: { password: wrongPassword }, parameters: [note, planner.email] }),
    );
  expect((await planner.call('listSites')).status).toBe(500);
  broken.mockRestore();
  await vi.waitFor(
    async () => {
      const { body } = await planner.call('listForecasts', { params: { pointId } });
      expect(body.forecasts.length).toBeGreaterThan(0);
    },
    { timeout: 20_000 },
  );

  // It was really listened to: requests, their outcomes, the mistake.
  const written = lines.map((line) => JSON.parse(line));
  expect(written.filter(({ msg }) => msg === 'request').length).toBeGreaterThan(10);
  expect(written.some(({ msg }) => msg === 'a request failed')).toBe(true);
  expect(written.some(({ msg }) => msg === 'across organisations')).toBe(true);
  const all = lines.join('');
  const hidden = {
    email: planner.email,
    'other e-mail': 'guess@hushwater.example',
    name: 'Overbeck',
    organisation: 'Hushwater',
    asset: 'Whisper',
    tag: 'Q-HUSH',
    note: 'third pipe',
    password: TEST_PASSWORD,
    'wrong password': wrongPassword,
    cookie: secret,
    'decoded cookie': decodeURIComponent(secret),
    token,
  };
  for (const [what, text] of Object.entries(hidden)) expect(all.includes(text), what).toBe(false);
});

it('holds nothing of a fact that the database itself refuses', async () => {
  lines.length = 0;
  const note = 'behind the fourth pipe';
  const { database } = service.deps;
  const failing = vi.spyOn(database, 'inTenant').mockImplementationOnce(async (scope, work) => {
    // What the client library says of a refused statement, with values in the detail of the server.
    return service.db.inTenant(scope, async (unit) => {
      await unit.db.$queryRawUnsafe(`SELECT cast('${note}' AS integer)`).catch((error: unknown) => Promise.reject(error));
      return work(unit);
    });
  });
  const reply = await planner.submit([readingFact(pointId, '61', { words: note })]);
  failing.mockRestore();
  expect(reply.body.results[0].outcome).toBe('created');
  expect(lines.join('')).toContain('a batch did not go in as a whole');
  expect(lines.join('')).not.toContain('fourth pipe');
});
