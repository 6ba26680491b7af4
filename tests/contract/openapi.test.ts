import { type EndpointDescription, endpoints } from '@heatround/contract';
import { compileErrors, validate } from '@readme/openapi-parser';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, startService } from '../support/harness.ts';

describe('the API document and health', () => {
  let service: Harness;
  beforeAll(async () => {
    service = await startService();
  });
  afterAll(() => service?.close());

  it('is a valid OpenAPI 3.1 document that names every endpoint', async () => {
    const reply = await service.app.inject('/api/openapi.json');
    expect(reply.statusCode).toBe(200);
    const document = reply.json();
    expect(document.openapi).toBe('3.1.0');
    const result = await validate(structuredClone(document));
    expect(result.valid ? '' : compileErrors(result)).toBe('');
    const described = Object.values(endpoints) as EndpointDescription[];
    expect(described.length).toBeGreaterThan(20);
    for (const { path, method, name } of described) {
      const operation = document.paths[path.replace(/:(\w+)/g, '{$1}')]?.[method.toLowerCase()];
      expect(operation?.operationId, name).toBe(name);
    }
  });

  it('healthz says alive, readyz says database, queue and migrations are ready', async () => {
    expect((await service.app.inject('/healthz')).json()).toEqual({ status: 'alive' });
    const ready = await service.app.inject('/readyz');
    expect(ready.statusCode).toBe(200);
    expect(ready.json()).toEqual({ database: 'ok', queue: 'ok', migrations: 'ok' });
  });

  it('a broken body is a problem document that says what was expected, and nothing inside leaks', async () => {
    const broken = await service.app.inject({
      method: 'POST',
      url: '/api/sign-in',
      headers: { 'content-type': 'application/json' },
      payload: '{',
    });
    expect(broken.statusCode).toBe(400);
    expect(broken.json().type).toBe('/problems/unreadable-request');
    const wrong = await service.app.inject({
      method: 'POST',
      url: '/api/sign-in',
      payload: { email: 'no address', password: '', more: 1 },
    });
    expect(wrong.statusCode).toBe(422);
    expect(wrong.headers['content-type']).toContain('application/problem+json');
    expect(wrong.json().errors.length).toBeGreaterThan(0);
    expect(wrong.json().errors[0]).toHaveProperty('pointer');
    const nowhere = await service.app.inject('/api/nothing-here');
    expect(nowhere.json()).toMatchObject({ status: 404, type: '/problems/not-found' });
  });
});
