import type { Grade } from '../limits/types.ts';
import { endOfDay } from '../rounds/local-time.ts';
import { dayNumber, wallTime } from '../time/index.ts';

/** How long an answer may take: minutes of the clock, nights included, or whole working days; null: at the next review. */
export type AnswerClock = { readonly minutes: number } | { readonly workingDays: number } | null;
export type AnswerClocks = Readonly<Record<Exclude<Grade, 'fine'>, AnswerClock>>;

/** Common practice, no source. */
export const ANSWER_CLOCKS: AnswerClocks = {
  now: { minutes: 15 },
  soon: { minutes: 240 },
  plan: { workingDays: 3 },
  watch: null,
};

/** Which days are worked at a site. */
export interface WorkingCalendar {
  /** 1 Monday … 7 Sunday. */
  readonly weekdays: readonly number[];
  /** Days off, YYYY-MM-DD. */
  readonly holidays: readonly string[];
}
export const MONDAY_TO_FRIDAY: WorkingCalendar = { weekdays: [1, 2, 3, 4, 5], holidays: [] };

const DAY = 86_400_000;
/** No calendar has so many days off in a row that a working day lies beyond. */
const DAYS_TO_LOOK = 3660;

/**
 * End of the n-th working day after the day of an instant, in the zone of the site. The day itself does not count, worked or not.
 * @param days 0: the end of the day itself. @returns null where the calendar has no such day within ten years.
 * @example endOfWorkingDay(thursday, 3, 'Europe/Dublin') // Tuesday 23:59:59.999
 */
export function endOfWorkingDay(
  at: number,
  days: number,
  zone: string,
  calendar: WorkingCalendar = MONDAY_TO_FRIDAY,
): number | null {
  const from = wallTime(at, zone);
  const holidays = new Set(calendar.holidays);
  const today = dayNumber(from);
  let left = days;
  for (let ahead = 0; ahead <= DAYS_TO_LOOK; ahead++) {
    const weekday = ((from.weekday - 1 + ahead) % 7) + 1;
    const date = new Date((today + ahead) * DAY).toISOString().slice(0, 10);
    if (ahead > 0 && calendar.weekdays.includes(weekday) && !holidays.has(date)) left -= 1;
    if (left <= 0) return endOfDay({ ...from, day: from.day + ahead }, zone);
  }
  return null;
}

/**
 * By when a finding must be answered; null: at the next review.
 * @example answerDueAt('soon', reportedAt, 'Europe/Dublin') - reportedAt // 14_400_000
 */
export function answerDueAt(
  grade: Grade,
  reportedAt: number,
  zone: string,
  clocks: AnswerClocks = ANSWER_CLOCKS,
  calendar: WorkingCalendar = MONDAY_TO_FRIDAY,
): number | null {
  const clock = grade === 'fine' ? null : clocks[grade];
  if (clock === null) return null;
  return 'minutes' in clock
    ? reportedAt + clock.minutes * 60_000
    : endOfWorkingDay(reportedAt, clock.workingDays, zone, calendar);
}
