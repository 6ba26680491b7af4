import {
  daysBetween,
  isoWeek,
  isZone,
  sayAbout,
  sayDate,
  sayDay,
  sayShortDate,
  sayTime,
  startOfDay,
  wallTime,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const DUBLIN = 'Europe/Dublin';
const demoStart = Date.UTC(2026, 3, 23, 7);

describe('calendar in a zone', () => {
  it('wall clock and weekday are those of the zone', () => {
    expect(wallTime(demoStart, DUBLIN)).toEqual({ year: 2026, month: 4, day: 23, hour: 8, minute: 0, weekday: 4 });
    expect(wallTime(demoStart, 'Pacific/Auckland')).toMatchObject({ day: 23, hour: 19 });
    expect(wallTime(Date.UTC(1969, 11, 29), 'UTC').weekday).toBe(1);
  });

  // ISO 8601: 2026 ends on a Thursday and has 53 weeks; 1 January 2027 still belongs to it; 29 December 2025 is in 2026.
  it.each([
    [Date.UTC(2026, 11, 31), 2026, 53],
    [Date.UTC(2027, 0, 1), 2026, 53],
    [Date.UTC(2025, 11, 29), 2026, 1],
    [Date.UTC(2024, 1, 29), 2024, 9],
    [demoStart, 2026, 17],
  ])('ISO 8601 week of %d', (at, year, week) => {
    expect(isoWeek(at, 'UTC')).toEqual({ year, week });
  });

  it('a day begins at local midnight, on the days the clocks change too', () => {
    expect(startOfDay({ year: 2026, month: 3, day: 29 }, DUBLIN)).toBe(Date.UTC(2026, 2, 29));
    expect(startOfDay({ year: 2026, month: 3, day: 30 }, DUBLIN)).toBe(Date.UTC(2026, 2, 29, 23));
    expect(startOfDay({ year: 2026, month: 10, day: 26 }, DUBLIN)).toBe(Date.UTC(2026, 9, 26));
    // Midnight of 6 September 2026 does not exist in Santiago: clocks go from 24:00 to 01:00 (IANA time zone database).
    expect(wallTime(startOfDay({ year: 2026, month: 9, day: 6 }, 'America/Santiago'), 'America/Santiago')).toMatchObject({
      day: 6,
      hour: 1,
    });
  });

  it('days between two instants count midnights, not hours', () => {
    expect(daysBetween(Date.UTC(2026, 2, 28, 23, 30), Date.UTC(2026, 2, 29, 0, 30), DUBLIN)).toBe(1);
    expect(daysBetween(demoStart, demoStart - 1000, DUBLIN)).toBe(0);
  });

  it('start of day and wall clock agree everywhere', () => {
    const zones = ['Europe/Dublin', 'America/St_Johns', 'Asia/Kathmandu', 'Pacific/Kiritimati', 'America/Santiago'];
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 4e12 }), fc.constantFrom(...zones), (at, zone) => {
        const local = wallTime(at, zone);
        const start = startOfDay(local, zone);
        expect(start).toBeLessThanOrEqual(at);
        expect(wallTime(start, zone)).toMatchObject({ year: local.year, month: local.month, day: local.day });
        expect(wallTime(start - 1, zone).day).not.toBe(local.day);
      }),
      { numRuns: 60 },
    );
  });

  it('an unknown zone is known to be unknown', () => {
    expect([isZone(DUBLIN), isZone('Mars/Olympus')]).toEqual([true, false]);
  });
});

describe('dates in words', () => {
  it('say the year only where it differs', () => {
    expect(sayDate(demoStart, DUBLIN)).toBe('Thu 23 April');
    expect(sayDate(Date.UTC(2027, 0, 5, 12), DUBLIN, demoStart)).toBe('Tue 5 January 2027');
    expect(sayDay(demoStart, DUBLIN, demoStart)).toBe('23 April');
    expect(sayShortDate(demoStart, DUBLIN)).toBe('23 Apr');
    expect(sayTime(demoStart, DUBLIN)).toBe('08:00');
  });

  it('are never finer than they are known', () => {
    const said = (precision: number) => sayAbout(demoStart, DUBLIN, precision);
    expect([1, 3.5, 6, 20, 100].map(said)).toEqual(['23 April', '23 April', 'late April', 'April', '2026']);
  });
});
