import type { ReadingRow } from '@heatround/contract';
import { assessReading } from '@heatround/domain';
import { describe, expect, test } from 'vitest';
import type { AwaitedProof } from '../../../apps/web/src/outbox/store.ts';
import { sayProof } from '../../../apps/web/src/screens/stop/proof.ts';
import { aLimitSet, aPoint, aReading } from '../domain/builders.ts';

const point = aPoint({ loadFamily: 'thermal-machine', minimumLoadPercent: 50, needs: ['load'] });
const limits = [aLimitSet([70, 80, 90, 100])];
const taken = (value: number, load: number) => {
  const reading = aReading({ inputs: { value }, conditions: { load } });
  return { reading, verdict: assessReading(point, reading, limits) };
};
const found = taken(84, 78);
const before = {
  id: 'before',
  takenAt: '2026-01-01T10:00:00Z',
  figures: { inputs: found.reading.inputs, conditions: found.reading.conditions },
  running: null,
  instrument: null,
  verdict: found.verdict,
} as unknown as ReadingRow;
const order: AwaitedProof = {
  pointId: point.id,
  orderNumber: 5,
  since: 0,
  isSecond: false,
  inWords: 'below 70.0 °C',
  target: null,
  before,
};
const say = (value: number, load: number, over: Partial<AwaitedProof> = {}): string =>
  sayProof({ ...order, ...over }, point, limits, taken(value, load));

describe('what a reading does to a repair that waits for it', () => {
  test('it proves the order, or sends it back under its number', () => {
    expect(say(52, 78)).toBe('This proves order 5: below 70.0 °C.');
    expect(say(75, 78)).toBe('This does not prove order 5; it goes back to Agreed.');
  });
  test('a target that the order states counts instead of the Watch limit', () => {
    const stated = { target: { value: 60, direction: 'high' as const }, inWords: 'below 60.0 °C' };
    expect(say(65, 78, stated)).toBe('This does not prove order 5; it goes back to Agreed.');
    expect(say(59, 78, stated)).toBe('This proves order 5: below 60.0 °C.');
  });
  test('under other conditions it proves nothing and says what to come back with', () => {
    expect(say(40, 30)).toMatch(/^This proves nothing at 30 % load: come back at ≥ 50 % load\. Order 5 waits on\.$/);
    expect(say(52, 55)).toMatch(/^This proves nothing at 55 % load: come back at 63 to 93 % load\./);
  });
  test('a second proof ends nothing: the fault may be back', () => {
    expect(say(52, 78, { isSecond: true })).toBe('This proves order 5 a second time: below 70.0 °C.');
    expect(say(82, 78, { isSecond: true })).toBe('This does not prove order 5 a second time: the fault is back.');
  });
});
