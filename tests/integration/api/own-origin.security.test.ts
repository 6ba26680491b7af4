/** A page of somebody else's changes nothing, and what a browser is told leaves no way round. */
import { endpoints } from '@heatround/contract';
import { openAccounts } from '@heatround/platform/accounts';
import { silentLog } from '@heatround/platform/log';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildApp } from '../../../apps/api/src/app.ts';
import { type Harness, type Person, readingFact, startService, TEST_PASSWORD } from '../../support/harness.ts';

const PUBLIC_URL = 'https://rounds.example.org';
let service: Harness;
let app: FastifyInstance;
let planner: Person;
let pointId: string;
beforeAll(async () => {
  service = await startService();
  const { id, roomId } = await service.organisation();
  planner = await service.person(id, ['planner']);
  [pointId] = (await service.asset(planner, roomId)).pointIds as [string];
  const accounts = openAccounts({
    sweepUrl: service.database.urls.sweep,
    secret: service.database.secret,
    publicUrl: PUBLIC_URL,
    log: silentLog,
  });
  const ready = { queue: async () => {}, migrations: async () => {} };
  app = await buildApp({ deps: { ...service.deps, accounts }, ready, publicUrl: PUBLIC_URL });
  app.addHook('onClose', () => accounts.close());
});
afterAll(async () => {
  await app?.close();
  await service?.close();
});

const signIn = (headers: Record<string, string> = {}) =>
  app.inject({ method: 'POST', url: '/api/sign-in', headers, payload: { email: planner.email, password: TEST_PASSWORD } });

describe('a state-changing call', () => {
  it.each([
    ['another origin', { origin: 'https://elsewhere.example.com' }],
    ['a neighbour of the same site', { 'sec-fetch-site': 'same-site', origin: 'https://other.example.org' }],
    ['another site', { 'sec-fetch-site': 'cross-site', origin: PUBLIC_URL }],
    ['a page without an origin', { origin: 'null' }],
    ['the same name without encryption', { origin: 'http://rounds.example.org', host: 'internal:4600' }],
    ['another port', { origin: 'https://rounds.example.org:8443', host: 'internal:4600' }],
  ])('from %s is refused with a problem document, with a session and without', async (_, headers) => {
    const cookie = planner.cookie;
    const before = (await planner.call('listReadings', { params: { pointId } })).body.readings.length;
    const refused = await app.inject({
      method: 'POST',
      url: endpoints.submitFacts.path,
      headers: { ...headers, cookie },
      payload: { facts: [readingFact(pointId, '50')] },
    });
    for (const reply of [refused, await signIn(headers as Record<string, string>)]) {
      expect(reply.statusCode).toBe(403);
      expect(reply.headers['content-type']).toContain('application/problem+json');
      expect(reply.json()).toMatchObject({ type: '/problems/foreign-origin', status: 403 });
      expect(reply.headers['set-cookie']).toBeUndefined();
    }
    expect((await planner.call('listReadings', { params: { pointId } })).body.readings).toHaveLength(before);
  });

  it.each([
    ['the address people type', { origin: PUBLIC_URL }],
    ['a page of the service by the browser’s word', { 'sec-fetch-site': 'same-origin', origin: PUBLIC_URL }],
    ['the address it was reached under in a network', { origin: 'http://192.168.1.5:4600', host: '192.168.1.5:4600' }],
    ['a program that is no browser', {}],
  ])('from %s is answered', async (_, headers) => {
    expect((await signIn(headers as Record<string, string>)).statusCode).toBe(200);
  });

  it('only: reading from elsewhere changes nothing, and shows nothing to the page that asked', async () => {
    const reply = await app.inject({ url: '/healthz', headers: { origin: 'https://elsewhere.example.com' } });
    expect(reply.statusCode).toBe(200);
    expect(Object.keys(reply.headers).filter((name) => name.startsWith('access-control'))).toEqual([]);
    expect(reply.headers['cross-origin-resource-policy']).toBe('same-origin');
  });
});

describe('what a browser is told', () => {
  it('allows no script and no style inside a page, and nothing from elsewhere', async () => {
    for (const url of ['/healthz', '/api/nothing', '/api/openapi.json', '/api/reference']) {
      const { headers } = await app.inject(url);
      const policy = String(headers['content-security-policy']);
      expect(policy, url).toContain("default-src 'none'");
      expect(policy, url).not.toMatch(/unsafe|\*|https?:/);
      for (const part of [
        "script-src 'self'",
        "style-src 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
        "form-action 'self'",
      ])
        expect(policy.split('; '), url).toContain(part);
      expect(headers).toMatchObject({ 'x-content-type-options': 'nosniff', 'strict-transport-security': 'max-age=31536000' });
    }
  });

  it('keeps the session from scripts, from other sites, and from the open line', async () => {
    const cookies = [(await signIn()).headers['set-cookie']].flat().map(String);
    expect(cookies.length).toBeGreaterThan(0);
    for (const cookie of cookies) {
      expect(cookie).toMatch(/^__Secure-heatround\./);
      for (const part of [/; HttpOnly/i, /; Secure/i, /; SameSite=(Lax|Strict)/i, /; Path=\//i]) expect(cookie).toMatch(part);
      expect(cookie).not.toMatch(/; Domain=/i);
    }
  });
});
