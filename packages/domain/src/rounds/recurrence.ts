import { RRuleTemporal } from 'rrule-temporal';
import { type PlacedTime, parseLocal, placeLocal, sayLocal } from './local-time.ts';
import { lastInstantOf, ruleWithoutEnd } from './rule.ts';

/** When a route recurs: a rule, the first planned time on the wall clock of the site, and the zone of the site. */
export interface Recurrence {
  /** RRULE of RFC 5545 section 3.3.10, with or without "RRULE:" before it. */
  readonly rule: string;
  /** YYYY-MM-DDTHH:MM, with or without :SS. */
  readonly startLocal: string;
  /** IANA, such as Europe/Dublin. */
  readonly zone: string;
}

/** One planned time; where the clocks swallow it, moved by the gap and saying so. */
export type Occurrence = PlacedTime;

const DAY = 86_400_000;
/** No calendar is asked further ahead than this. */
const YEARS_AHEAD = 100;
/** Days asked of the library at a time, so that `most` bounds the work. */
const STEP_DAYS = 400;

/**
 * The planned times of a recurrence from `fromMs` on and before `toMs`, in order. The rule counts on the wall clock of the site:
 * 08:00 stays 08:00 through the year. A time that the spring change swallows is moved by the gap and carries `movedFrom`; a time
 * that comes twice in autumn is the first; COUNT counts moved ones. The start itself is planned only where it fits the rule.
 * RFC 5545 sections 3.3.5 and 3.3.10; https://www.rfc-editor.org/rfc/rfc5545
 *
 * @param most no more than these are returned; they are the earliest. Nothing is looked for beyond a hundred years from `fromMs`.
 * @throws RangeError where checkRule has something to say, for an unreadable start and for an unknown zone.
 * @example occurrencesOf({ rule: 'FREQ=WEEKLY', startLocal: '2026-03-24T08:00', zone: 'Europe/Dublin' }, from, to, 2).map(({ local }) => local)
 * // ['2026-03-24T08:00:00', '2026-03-31T08:00:00']
 */
export function occurrencesOf(recurrence: Recurrence, fromMs: number, toMs: number, most = 1000): Occurrence[] {
  const { startLocal, zone } = recurrence;
  const start = parseLocal(startLocal);
  if (start === null) throw new RangeError(`A start such as 2026-03-24T08:00 was expected, not "${startLocal}".`);
  const last = lastInstantOf(recurrence.rule, zone);
  const end = Math.min(toMs, fromMs + YEARS_AHEAD * 366 * DAY, last === null ? Number.POSITIVE_INFINITY : last + 1);
  if (!(end > fromMs) || most < 1) return [];
  // The library counts on a clock without changes; what a zone makes of the result is decided here, in one place.
  const stamp = sayLocal(start).replaceAll(/[-:]/g, '');
  const rruleString = `DTSTART:${stamp}Z\nRRULE:${ruleWithoutEnd(recurrence.rule)}`;
  const library = new RRuleTemporal({ rruleString, maxIterations: 1_000_000 });
  const found: Occurrence[] = [];
  // Clocks lie within a day of UTC, and a moved time within another day of the one asked for.
  const lastClock = end + 2 * DAY;
  for (let from = Math.max(start, fromMs - 2 * DAY); from < lastClock && found.length <= most; from += STEP_DAYS * DAY) {
    const until = Math.min(lastClock, from + STEP_DAYS * DAY - 1);
    for (const { epochMilliseconds } of library.between(new Date(from), new Date(until), true)) {
      const placed = placeLocal(epochMilliseconds, zone);
      if (placed.at < fromMs) continue;
      // One more than asked for: a day that a zone left out altogether moves onto the next, which may be planned itself.
      if (placed.at >= end || found.length > most) break;
      if (found.at(-1)?.at === placed.at) found.pop();
      found.push(placed);
    }
  }
  return found.slice(0, most);
}
