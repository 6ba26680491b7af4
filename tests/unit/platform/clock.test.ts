import { fixedClock } from '@heatround/platform/clock';
import { expect, test } from 'vitest';

test('a fixed clock stands still until it is moved', () => {
  const clock = fixedClock('2026-03-16T07:00:00Z');
  expect(clock.now()).toBe(1773644400000);
  clock.advance(1000);
  expect(clock.now()).toBe(1773644401000);
  clock.set('2026-03-16T08:00:00+01:00');
  expect(clock.now()).toBe(1773644400000);
});

test('a fixed clock refuses what is no instant', () => {
  expect(() => fixedClock('soon')).toThrow('not an instant: soon');
});
