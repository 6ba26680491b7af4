import { dayNumber, placeLocal, wallTime } from '@heatround/domain';

const DAY = 86_400_000;
const MINUTE = 60_000;

/**
 * The next instant at which a wall clock shows a time of day, strictly after an instant. A time that the spring change swallows is moved
 * by the gap; one that autumn shows twice is the first.
 * @param now epoch milliseconds. @param minutes after midnight, 0 to 1439. @param zone IANA.
 * @example nextMailAt(Date.UTC(2026, 3, 23, 7), 'Europe/Dublin', 360) // 24 April 2026, 06:00 +01:00
 */
export function nextMailAt(now: number, zone: string, minutes: number): number {
  const today = dayNumber(wallTime(now, zone));
  // The time of today, else of tomorrow; two days more for a zone that skipped a whole day.
  for (let day = today; day <= today + 2; day++) {
    const { at } = placeLocal(day * DAY + minutes * MINUTE, zone);
    if (at > now) return at;
  }
  return now + DAY;
}

/** The day a letter is for, where the person is. @example dayOf(at, 'Europe/Dublin') // '2026-04-23' */
export function dayOf(at: number, zone: string): string {
  return new Date(dayNumber(wallTime(at, zone)) * DAY).toISOString().slice(0, 10);
}
