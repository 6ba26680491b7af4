import type { AssetPage } from '@heatround/contract';
import { expect, test } from 'vitest';
import { asOfToday } from '../../../apps/web/src/outbox/older.ts';

const point = { id: 'p', letter: 'a', name: 'Bearing', quantity: 'temperature', spot: 'Cap', version: 3, emissivity: 0.9 };
const oldPage = {
  id: 'a',
  tag: 'B-IRO-01',
  name: 'Ironer',
  points: [{ point, limits: [], conclusion: null, concludedAt: null, readings: [] }],
} as unknown as AssetPage;

test('a page kept by an earlier version has everything that this one reads', () => {
  const [page] = [asOfToday(oldPage)];
  expect(page).toMatchObject({ outOfService: null, oldTags: [], work: [] });
  expect(page.points[0]).toMatchObject({ twins: [], isBehind: false, olderReadings: null });
  // What a point gained is at its usual value; what was kept is as it was.
  expect(page.points[0]!.point).toMatchObject({ twins: [], curve: [], targetMm: null, gasExponent: null, unit: '°C' });
  expect(page.points[0]!.point).toMatchObject(point);
});

test('a page of this version comes back as it was', () => {
  const page = asOfToday(oldPage);
  expect(asOfToday(page)).toEqual(page);
  const left = { ...page, outOfService: { at: '2026-04-01T00:00:00Z', reason: 'sold', byName: null } };
  expect(asOfToday(left)).toEqual(left);
});
