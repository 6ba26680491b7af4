import type { LimitProjection } from '../history/types.ts';
import type { Grade } from '../limits/types.ts';
import type { Criticality } from '../points/types.ts';
import { endOfDay } from '../rounds/local-time.ts';
import { daysBetween, wallTime } from '../time/index.ts';

/** Days to the repair by grade and criticality; null: the next visit of the route, read twice as often until then. */
export type DueDays = Readonly<Record<Grade, Readonly<Record<Criticality, number | null>>>>;

/** Common practice, no source. */
export const DUE_DAYS: DueDays = {
  fine: { A: null, B: null, C: null },
  watch: { A: null, B: null, C: null },
  plan: { A: 14, B: 30, C: 60 },
  soon: { A: 2, B: 7, C: 14 },
  now: { A: 0, B: 0, C: 1 },
};

/** When a repair is due, and what decided it. */
export interface RepairDue {
  /** Last millisecond of the day, in the zone of the site; null: the next visit of the route. */
  readonly at: number | null;
  /** Whole days from the day it was found; null with `at`. */
  readonly days: number | null;
  readonly because: 'grade' | 'forecast' | 'next-visit';
}

const DAY = 86_400_000;

/**
 * Days to the repair: those of the table, or half the days to the earliest date of the limit that counts where that is sooner.
 * @param daysToEarliest null: no forecast is shown; below zero counts as zero.
 * @example dueDays('plan', 'B', 24) // 12
 */
export function dueDays(
  grade: Grade,
  criticality: Criticality,
  daysToEarliest: number | null,
  table: DueDays = DUE_DAYS,
): number | null {
  const days = table[grade][criticality];
  if (daysToEarliest === null || !Number.isFinite(daysToEarliest)) return days;
  return Math.max(0, Math.min(days ?? Number.POSITIVE_INFINITY, daysToEarliest / 2));
}

/**
 * When a repair is due, as a day of the site's calendar; broken days count down to the whole one. A forecast shortens what the
 * table allows and never lengthens it; at Watch, where the table names no day, it gives one.
 *
 * @param found grade, criticality and when it was found; `agreedAt`: when its repair was agreed to, from when on the time that the
 *   forecast still leaves is halved, so that no repair is late the moment it is agreed to. Absent: when it was found.
 * @param projection of the limit that counts; used only where a date is shown.
 */
export function repairDueAt(
  found: {
    readonly grade: Grade;
    readonly criticality: Criticality;
    readonly at: number;
    readonly agreedAt?: number | undefined;
  },
  projection: Pick<LimitProjection, 'earliestAt' | 'show'> | null,
  zone: string,
  table: DueDays = DUE_DAYS,
): RepairDue {
  const isShown =
    projection !== null && projection.earliestAt !== null && projection.show !== 'none' && projection.show !== 'far';
  const byTable = dueDays(found.grade, found.criticality, null, table);
  const waited = Math.max(0, (found.agreedAt ?? found.at) - found.at) / DAY;
  const daysLeft = isShown && found.grade !== 'fine' ? Math.max(0, (projection.earliestAt! - found.at) / DAY - waited) : null;
  const wanted = daysLeft === null ? byTable : Math.min(byTable ?? Number.POSITIVE_INFINITY, waited + daysLeft / 2);
  if (wanted === null) return { at: null, days: null, because: 'next-visit' };
  const days = Math.floor(wanted);
  const day = wallTime(found.at, zone);
  const because = byTable === null || wanted < byTable ? 'forecast' : 'grade';
  return { at: endOfDay({ ...day, day: day.day + days }, zone), days, because };
}

/**
 * Whole days overdue on the calendar of the site; 0 until the due instant has passed.
 * @example overdueDays(endOf31March, morningOf23April, 'Europe/Dublin') // 23
 */
export function overdueDays(dueAt: number | null, now: number, zone: string): number {
  return dueAt === null || now <= dueAt ? 0 : daysBetween(dueAt, now, zone);
}
