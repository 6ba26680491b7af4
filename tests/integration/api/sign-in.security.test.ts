/** Guessing passwords is slow; colleagues behind the same address are not locked out by it. */
import postgres from 'postgres';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildApp } from '../../../apps/api/src/app.ts';
import { type Harness, type Person, startService, TEST_NOW, TEST_PASSWORD } from '../../support/harness.ts';

describe('tries to sign in', () => {
  let service: Harness;
  let ines: Person;
  let tomas: Person;
  beforeAll(async () => {
    service = await startService();
    const { id } = await service.organisation();
    ines = await service.person(id, ['technician']);
    tomas = await service.person(id, ['technician']);
  });
  afterAll(() => service?.close());

  const signIn = (email: string, password = 'a wrong password') => service.call('signIn', { body: { email, password } });

  it('ten failed ones with an e-mail from an address within five minutes, then it must wait, whatever the password', async () => {
    service.clock.set(TEST_NOW);
    for (let i = 0; i < 5; i++) expect((await signIn(ines.email)).status).toBe(401);
    service.clock.advance(4 * 60_000);
    for (let i = 0; i < 5; i++) expect((await signIn(ines.email.toUpperCase())).status).toBe(401);
    const refused = await signIn(ines.email, TEST_PASSWORD);
    expect(refused).toMatchObject({
      status: 429,
      headers: { 'retry-after': '60' },
      body: { type: '/problems/too-many-requests' },
    });
    // A colleague behind the same address is not concerned.
    expect((await signIn(tomas.email, TEST_PASSWORD)).status).toBe(200);
    // No window ends at once: of the first five one more may go wrong for each that has left.
    service.clock.advance(60_000);
    expect((await signIn(ines.email)).status).toBe(401);
    expect((await signIn(ines.email, TEST_PASSWORD)).status).toBe(200);
  });

  it('a successful one clears the count', async () => {
    service.clock.advance(3_600_000);
    for (let i = 0; i < 9; i++) await signIn(tomas.email);
    expect((await signIn(tomas.email, TEST_PASSWORD)).status).toBe(200);
    for (let i = 0; i < 9; i++) expect((await signIn(tomas.email)).status).toBe(401);
    expect((await signIn(tomas.email, TEST_PASSWORD)).status).toBe(200);
  });

  it('many at once do not slip through', async () => {
    service.clock.advance(3_600_000);
    const statuses = (await Promise.all(Array.from({ length: 14 }, () => signIn(tomas.email)))).map(({ status }) => status);
    expect(statuses.filter((status) => status === 401)).toHaveLength(10);
    expect(statuses.filter((status) => status === 429)).toHaveLength(4);
  });

  it('all processes count together, and nobody who tried is named in what they keep', async () => {
    service.clock.advance(3_600_000);
    const ready = { queue: async () => {}, migrations: async () => {} };
    const others = await Promise.all([1, 2].map(() => buildApp({ deps: service.deps, ready })));
    try {
      const call = (app: (typeof others)[number], password: string) =>
        app.inject({ method: 'POST', url: '/api/sign-in', payload: { email: ines.email, password } });
      for (let i = 0; i < 10; i++) expect((await call(others[i % 2]!, 'a wrong password')).statusCode).toBe(401);
      for (const app of others) expect((await call(app, TEST_PASSWORD)).statusCode).toBe(429);
      const owner = postgres(service.database.urls.owner, { max: 1 });
      const rows = await owner`SELECT t::text AS row FROM auth.failed_try t`;
      await owner.end();
      // What is over is gone: the tries of the tests before are an hour old.
      expect(rows).toHaveLength(1);
      expect(rows[0]!.row).not.toMatch(/@|127\.0\.0\.1/);
    } finally {
      await Promise.all(others.map((app) => app.close()));
    }
  });

  it('an address as a whole has a limit too, with Retry-After', async () => {
    const ready = { queue: async () => {}, migrations: async () => {} };
    const app = await buildApp({ deps: service.deps, ready, signInsPerMinute: 2 });
    try {
      const call = (email: string) =>
        app.inject({ method: 'POST', url: '/api/sign-in', payload: { email, password: 'a wrong password' } });
      for (const name of ['a', 'b']) expect((await call(`${name}@example.org`)).statusCode).toBe(401);
      const refused = await call('c@example.org');
      expect(refused.statusCode).toBe(429);
      expect(Number(refused.headers['retry-after'])).toBeGreaterThan(0);
    } finally {
      await app.close();
    }
  });
});
