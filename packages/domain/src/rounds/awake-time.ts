import { startOfDay, wallTime } from '../time/index.ts';
import { isMonthAwake, type Season } from './season.ts';

/** Time as a seasonal point lives it: the months in which it sleeps last no time at all. */
export interface AwakeTime {
  /** Milliseconds awake from one instant to another; below zero where the second is the earlier one. */
  between(from: number, to: number): number;
  /** The same, and asleep a billionth of what passes: what was read and done meanwhile keeps its order, and years of it are no span. */
  told(from: number, to: number): number;
  /** The instant by which so many milliseconds (≥ 0) awake have passed; nothing has to pass for `from` itself. */
  ahead(from: number, awakeMs: number): number;
}

/** Months looked at one by one; what is further apart is measured by the share of the year that is awake. */
const MOST_MONTHS = 1200;

const ASLEEP_PACE = 1e-9;

const passed = (from: number, to: number): number => to - from;
const ALWAYS: AwakeTime = { between: passed, told: passed, ahead: (from, awakeMs) => from + awakeMs };

/**
 * The time in which a point runs and is walked past: wear, growth and drift are told by it, so that a forecast pauses while the point
 * sleeps. Months begin by the clocks of the site.
 *
 * @param seasons of the routes that come by; awake in any of them is awake. null or none: awake all year.
 * @example awakeTime([{ fromMonth: 5, toMonth: 9 }], 'Europe/Dublin').ahead(endOfAugust, 40 * DAY) // the tenth of May
 */
export function awakeTime(seasons: readonly Season[] | null, zone: string): AwakeTime {
  const months = Array.from({ length: 12 }, (_, i) => (seasons ?? []).some((season) => isMonthAwake(season, i + 1)));
  const awakeMonths = months.filter(Boolean).length;
  if (awakeMonths === 0 || awakeMonths === 12) return ALWAYS;

  const starts = new Map<number, number>();
  /** @param month counted from January of the year 0. */
  const startOf = (month: number): number => {
    let start = starts.get(month);
    if (start === undefined) {
      start = startOfDay({ year: Math.floor(month / 12), month: modulo(month, 12) + 1, day: 1 }, zone);
      starts.set(month, start);
    }
    return start;
  };
  const monthOf = (at: number): number => {
    const { year, month } = wallTime(at, zone);
    return year * 12 + month - 1;
  };
  const isAwake = (month: number): boolean => months[modulo(month, 12)]!;

  const between = (from: number, to: number): number => {
    if (to < from) return -between(to, from);
    const last = monthOf(to);
    const first = monthOf(from);
    if (last - first > MOST_MONTHS) return ((to - from) * awakeMonths) / 12;
    let awake = 0;
    for (let month = first; month <= last; month++) {
      if (isAwake(month)) awake += Math.max(0, Math.min(to, startOf(month + 1)) - Math.max(from, startOf(month)));
    }
    return awake;
  };
  const ahead = (from: number, awakeMs: number): number => {
    if (!(awakeMs > 0)) return from;
    const first = monthOf(from);
    let left = awakeMs;
    for (let month = first; month < first + MOST_MONTHS; month++) {
      if (!isAwake(month)) continue;
      const begins = Math.max(from, startOf(month));
      const lasts = startOf(month + 1) - begins;
      if (left <= lasts) return begins + left;
      left -= lasts;
    }
    return startOf(first + MOST_MONTHS) + (left * 12) / awakeMonths;
  };
  return { between, told: (from, to) => between(from, to) + (to - from) * ASLEEP_PACE, ahead };
}

function modulo(a: number, b: number): number {
  return ((a % b) + b) % b;
}
