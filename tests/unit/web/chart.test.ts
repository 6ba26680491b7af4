import type { LimitSet } from '@heatround/domain';
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { behindSpan, roundFigures, type Sounding, scaleFor, stretchesOf } from '../../../apps/web/src/ui/chart/model.ts';
import { freeStart, wordStart } from '../../../apps/web/src/ui/chart/parts.tsx';
import { sharedDays, whenReadAmong } from '../../../apps/web/src/ui/format.ts';

const DAY = 86_400_000;
const NOW = Date.parse('2026-04-23T07:05:00Z');
const at = (value: number, daysBefore = 0, kind: Sounding['kind'] = 'like-for-like'): Sounding => ({
  id: `${value}`,
  at: NOW - daysBefore * DAY,
  value,
  kind,
});
const limits = (direction: 'high' | 'low', figures: [number, number, number, number]) =>
  stretchesOf(
    [
      {
        criterion: 'absolute',
        direction,
        watch: figures[0],
        plan: figures[1],
        soon: figures[2],
        now: figures[3],
        validFrom: 0,
        version: 1,
      } as unknown as LimitSet,
    ],
    'absolute',
    NOW - 100 * DAY,
    NOW,
  );

describe('the value scale of a chart', () => {
  test('holds a dot above the uppermost limit, and every band below it', () => {
    const scale = scaleFor([at(2, 9), at(33.5, 0, 'not-judged')], limits('high', [3, 8, 15, 30]), [], 0, 100);
    expect(scale.y(33.5)).toBeGreaterThan(4);
    for (const limit of [3, 8, 15, 30]) expect(scale.y(limit)).toBeLessThan(98);
    expect(scale.y(30)).toBeGreaterThan(scale.y(33.5));
  });
  test('does the same downwards', () => {
    const scale = scaleFor([at(4, 9), at(0.4)], limits('low', [3, 2, 1.5, 1]), [], 0, 100);
    expect(scale.y(0.4)).toBeLessThan(96);
    for (const limit of [3, 2, 1.5, 1]) expect(scale.y(limit)).toBeGreaterThan(2);
  });
  test('whatever is drawn lies inside, with the limits reached and the next one', () => {
    void fc.assert(
      fc.property(
        fc.array(fc.double({ min: -50, max: 900, noNaN: true }), { minLength: 1, maxLength: 40 }),
        fc.constantFrom('high' as const, 'low' as const),
        (values, direction) => {
          const four: [number, number, number, number] = direction === 'high' ? [70, 80, 90, 100] : [40, 30, 20, 10];
          const stretches = limits(direction, four);
          const scale = scaleFor(
            values.map((value) => at(value)),
            stretches,
            [],
            0,
            100,
          );
          const sign = direction === 'high' ? 1 : -1;
          const worst = Math.max(...values.map((value) => value * sign));
          const next = four.find((limit) => limit * sign > worst);
          const must = [...values, ...four.filter((limit) => limit * sign <= worst), ...(next === undefined ? [] : [next])];
          for (const value of must) {
            expect(scale.y(value)).toBeGreaterThan(0);
            expect(scale.y(value)).toBeLessThan(100);
          }
        },
      ),
    );
  });
  test('is read off at two to four round figures', () => {
    expect(roundFigures({ low: 57, high: 103 })).toEqual({ values: [60, 80, 100], decimals: 0 });
    expect(roundFigures({ low: 0.9, high: 3.1 }).values).toEqual([1, 2, 3]);
    void fc.assert(
      fc.property(
        fc.double({ min: -500, max: 500, noNaN: true }),
        fc.double({ min: 0.02, max: 900, noNaN: true }),
        (low, span) => {
          const { values, decimals } = roundFigures({ low, high: low + span });
          expect(values.length).toBeGreaterThanOrEqual(2);
          expect(values.length).toBeLessThanOrEqual(4);
          for (const value of values) {
            expect(value).toBeGreaterThanOrEqual(low - span * 0.01);
            expect(value).toBeLessThanOrEqual(low + span * 1.01);
            expect(Number(value.toFixed(decimals))).toBe(value);
          }
        },
      ),
    );
  });
});

describe('the time a history is drawn over', () => {
  test('ends with the last reading where that is long ago', () => {
    const times = [Date.parse('2013-12-01'), Date.parse('2014-02-19')];
    const span = behindSpan(times, [], NOW, 'all');
    expect(span).toEqual({ from: times[0], to: times[1], restsSince: times[1], ranges: [] });
  });
  test('reaches to the present otherwise, and shows twelve weeks at least', () => {
    const span = behindSpan([NOW - 20 * DAY, NOW - 6 * DAY], [], NOW, 'all');
    expect(span).toEqual({ from: NOW - 84 * DAY, to: NOW, restsSince: null, ranges: [] });
  });
  test('a reading a year is no silence', () => {
    const times = [5, 4, 3, 2, 1].map((years) => NOW - years * 365 * DAY + 150 * DAY);
    expect(behindSpan(times, [], NOW, 'all').restsSince).toBeNull();
  });
  test('a long history is offered in pieces, the last work only where there was one', () => {
    const times = Array.from({ length: 200 }, (_, index) => NOW - (200 - index) * 7 * DAY);
    expect(behindSpan(times, [], NOW, 'all').ranges).toEqual(['all', 'two-years', 'three-months']);
    const worked = behindSpan(times, [NOW - 300 * DAY, NOW - 70 * DAY], NOW, 'since-work');
    expect(worked.ranges).toContain('since-work');
    expect(worked.from).toBe(NOW - 77 * DAY);
    expect(behindSpan(times, [], NOW, 'three-months').from).toBe(NOW - 91 * DAY);
    expect(behindSpan(times, [], NOW, 'all').from).toBe(times[0]);
  });
});

describe('words in a chart', () => {
  test('a month at the right edge is moved under its tick rather than cut, and left out where even that has no room', () => {
    expect(wordStart(100, 'May', 14, 343)).toBe(103);
    const start = wordStart(320, 'May', 14, 343)!;
    expect(start).toBeLessThan(320);
    expect(start + 'May'.length * 14 * 0.64).toBeLessThanOrEqual(343);
    expect(wordStart(335, 'May', 14, 343)).toBeNull();
  });

  test('the name of a limit covers no dot where there is room beside it', () => {
    expect(freeStart(10, 50, 0, 300, [])).toBe(10);
    const start = freeStart(10, 50, 0, 300, [{ x: 40 }, { x: 90 }])!;
    expect([40, 90].every((dot) => dot < start || dot > start + 50)).toBe(true);
    expect(freeStart(10, 50, 0, 70, [{ x: 35 }])).toBeNull();
  });
});

describe('dates', () => {
  test('the time of day is said where another reading fell on the same day, by the clock of the site', () => {
    const day = ['2014-02-19T23:30:00Z', '2014-02-20T08:00:00Z', '2014-02-20T10:00:00Z'];
    const isShared = sharedDays(day, 'Europe/Dublin');
    expect(day.map(isShared)).toEqual([false, true, true]);
    expect(sharedDays(day, 'Europe/Berlin')(day[0]!)).toBe(true);
    expect(whenReadAmong(day[2]!, day, 'Europe/Dublin', NOW)).toBe('20 February 2014, 10:00');
    expect(whenReadAmong(day[0]!, day, 'Europe/Dublin', NOW)).toBe('19 February 2014');
  });
});
