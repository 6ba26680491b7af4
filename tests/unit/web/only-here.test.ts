import type { Fact } from '@heatround/domain';
import { expect, test } from 'vitest';
import type { Kept } from '../../../apps/web/src/outbox/merge.ts';
import { onlyHere } from '../../../apps/web/src/outbox/only-here.ts';
import { agree } from '../../../apps/web/src/screens/bring-in/agree.ts';

const kept = (
  assetId: string,
  pointId: string,
  grade: string | null,
  minute: number,
  state: Kept['state'] = 'waiting',
): Kept => ({
  id: `${pointId}${minute}`,
  order: minute,
  fact: {
    kind: 'reading-taken',
    pointId,
    takenAt: new Date(minute * 60_000).toISOString(),
    phoneVerdict: { domainVersion: '1', verdict: { grade } },
  } as unknown as Fact,
  label: '',
  assetId,
  state,
  why: null,
  errors: [],
});

test('the worst verdict of an asset that only this device has, of the newest reading of each point', () => {
  const found = onlyHere([
    kept('A', 'a', 'now', 1),
    kept('A', 'a', 'watch', 2),
    kept('A', 'b', 'plan', 3),
    kept('B', 'c', null, 4),
    kept('C', 'd', 'now', 5, 'conflict'),
    kept('D', 'e', 'soon', 6, 'refused'),
  ]);
  expect([...found]).toEqual([
    ['A', 'plan'],
    ['B', null],
    ['D', 'soon'],
  ]);
});

test('a column named as the limit is where limits of made points come from', () => {
  const made = { limitColumn: null, limit: 90 };
  const mapping = (columns: Record<string, string>, makeMissing: unknown) =>
    agree({ columns, defaults: {}, makeMissing } as unknown as Parameters<typeof agree>[0]).makeMissing;
  expect(mapping({ limit: 'max_T' }, made)?.limitColumn).toBe('max_T');
  expect(mapping({}, made)?.limitColumn).toBeNull();
  expect(mapping({ limit: 'max_T' }, null)).toBeNull();
});
