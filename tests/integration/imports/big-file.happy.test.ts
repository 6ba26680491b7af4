/** A big upload lets other requests pass: between two turns of the event loop only a small part of it is worked on. */
import { randomUUID } from 'node:crypto';
import { startImport } from '@heatround/services/imports';
import { expect, it } from 'vitest';
import { startService } from '../../support/harness.ts';

it('reading and staging 20,000 rows leaves many turns of the event loop to others', async () => {
  const service = await startService();
  try {
    const { id } = await service.organisation();
    const planner = await service.person(id, ['planner']);
    const rows = Array.from(
      { length: 20_000 },
      (_, i) => `M-${i % 500},2025-01-01T00:00:00Z,${60 + (i % 10)}.5,"a word, ${i}"\n`,
    );
    const text = `tag,takenAt,value,words\n${rows.join('')}`;
    let turns = 0;
    let isDone = false;
    const turn = () => {
      turns++;
      if (!isDone) setImmediate(turn);
    };
    setImmediate(turn);
    // Every statement is counted with the turn it was sent in: a loop that never pauses sends several in one.
    const sentIn = new Map<number, number>();
    const inTenant: typeof service.deps.database.inTenant = (scope, work) => {
      sentIn.set(turns, (sentIn.get(turns) ?? 0) + 1);
      return service.deps.database.inTenant(scope, work);
    };
    const deps = { ...service.deps, database: { ...service.deps.database, inTenant } };
    const view = await startImport(deps, planner.scope, { id: randomUUID(), kind: 'readings', fileName: 'big.csv', text });
    isDone = true;
    expect(view).toMatchObject({ state: 'uploaded', rowCount: 20_000 });
    expect(Math.max(...sentIn.values())).toBe(1);
    // Twice through the text in parts of at most 32 KiB.
    expect(turns).toBeGreaterThan((2 * text.length) / (32 * 1024));
  } finally {
    await service.close();
  }
}, 60_000);
