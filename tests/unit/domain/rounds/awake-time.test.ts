import { awakeTime, isAwake, type Season } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY } from '../builders.ts';

const ZONE = 'Europe/Dublin';
const HOUR = DAY / 24;
const SUMMER: Season[] = [{ fromMonth: 5, toMonth: 9 }];
const HEATING: Season[] = [{ fromMonth: 10, toMonth: 4 }];
/** Midnight in Dublin, where the clocks are an hour ahead in summer. */
const dublin = (year: number, month: number, day: number): number =>
  Date.UTC(year, month - 1, day) - (month > 3 && month < 11 ? HOUR : 0);

const month = fc.integer({ min: 1, max: 12 });
const seasons = fc.array(fc.record({ fromMonth: month, toMonth: month }), { minLength: 1, maxLength: 3 });
const instant = fc.integer({ min: Date.UTC(2019, 0, 1), max: Date.UTC(2027, 11, 31) });
const zone = fc.constantFrom('Europe/Dublin', 'America/New_York', 'Pacific/Apia', 'Asia/Kolkata');

describe('time awake', () => {
  it('counts the days of the months that are awake, by the clocks of the site', () => {
    const { between, ahead } = awakeTime(SUMMER, ZONE);
    expect(between(dublin(2025, 5, 1), dublin(2025, 10, 1))).toBe(153 * DAY);
    expect(between(dublin(2025, 10, 1), dublin(2026, 5, 1))).toBe(0);
    expect(between(dublin(2025, 9, 1), dublin(2026, 5, 11))).toBe(40 * DAY);
    expect(ahead(dublin(2025, 9, 1), 40 * DAY)).toBe(dublin(2026, 5, 11));
    expect(ahead(dublin(2025, 12, 24), 0)).toBe(dublin(2025, 12, 24));
    expect(ahead(dublin(2025, 12, 24), 1)).toBe(dublin(2026, 5, 1) + 1);
    // A season over the turn of the year, with the short day of March and the long one of October in it.
    expect(awakeTime(HEATING, ZONE).between(dublin(2024, 10, 1), dublin(2025, 5, 1))).toBe(212 * DAY);
  });

  it('without a season, or with seasons that fill the year, it is the time of the calendar', () => {
    for (const all of [null, [], [...SUMMER, ...HEATING], [{ fromMonth: 1, toMonth: 12 }]]) {
      const { between, ahead } = awakeTime(all, ZONE);
      expect(between(3, 10 * DAY)).toBe(10 * DAY - 3);
      expect(ahead(7, DAY)).toBe(DAY + 7);
    }
  });

  it('is what one counts hour by hour', () => {
    fc.assert(
      fc.property(seasons, instant, fc.integer({ min: 0, max: 600 }), zone, (all, from, days, where) => {
        const start = Math.floor(from / HOUR) * HOUR;
        let hours = 0;
        for (let h = 0; h < days * 24; h++) if (all.some((one) => isAwake(one, start + h * HOUR, where))) hours++;
        // Months begin at whole hours nearly everywhere; where they do not, an hour is cut once a month.
        const most = where === 'Asia/Kolkata' ? (days / 28 + 2) * HOUR : 0;
        const difference = Math.abs(awakeTime(all, where).between(start, start + days * DAY) - hours * HOUR);
        expect(difference).toBeLessThanOrEqual(most);
      }),
      { numRuns: 60 },
    );
  });

  it('adds up, never runs backwards, and goes forth what it came back', () => {
    fc.assert(
      fc.property(seasons, fc.tuple(instant, instant, instant), zone, (all, three, where) => {
        const [a, b, c] = [...three].sort((one, other) => one - other) as [number, number, number];
        const { between, ahead } = awakeTime(all, where);
        expect(between(a, b) + between(b, c)).toBe(between(a, c));
        expect(between(c, a) + between(a, c)).toBe(0);
        expect(between(a, b)).toBeGreaterThanOrEqual(0);
        expect(between(a, b)).toBeLessThanOrEqual(b - a);
        const reached = ahead(a, between(a, b));
        expect(between(a, reached)).toBe(between(a, b));
        expect(reached).toBeLessThanOrEqual(b);
      }),
    );
  });

  it('stays finite and quick centuries ahead', () => {
    const { ahead, between } = awakeTime([{ fromMonth: 7, toMonth: 7 }], ZONE);
    const far = ahead(0, 200 * 365 * DAY);
    expect(Number.isFinite(far)).toBe(true);
    expect(far / (365 * DAY)).toBeGreaterThan(2000);
    expect(between(0, far) / (365 * DAY)).toBeGreaterThan(195);
    expect(between(0, far) / (365 * DAY)).toBeLessThan(205);
  });
});
