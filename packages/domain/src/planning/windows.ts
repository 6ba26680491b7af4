import type { LimitProjection } from '../history/types.ts';
import { daysBetween, sayDate } from '../time/index.ts';

/** A time in which a machine may stand still. Epoch milliseconds. */
export interface ShutdownWindow {
  readonly id: string;
  readonly from: number;
  readonly to: number;
  /** A word beside its day, such as "half day"; null: none. */
  readonly words: string | null;
}

/** A window that cannot be used in time. */
export interface LateWindow {
  readonly window: ShutdownWindow;
  /** Days from the earliest date of the limit to the end of the window, on the calendar of the site; at least 1. */
  readonly daysTooLate: number;
}

/** Which window is the last sensible one, and why. */
export interface LastWindow {
  /** null: none is in time, or nothing says by when. */
  readonly window: ShutdownWindow | null;
  /** The limit it is in time for; null: no forecast names a date ahead. */
  readonly before: 'soon' | 'now' | null;
  /** Earliest date of that limit. */
  readonly earliestAt: number | null;
  /** Windows ahead that end later than that, in the order of time. */
  readonly tooLate: readonly LateWindow[];
  /** Windows ahead that are shorter than the job, or what is left of them is. */
  readonly tooShort: readonly ShutdownWindow[];
  readonly sentence: string;
}

/** What the choice of a window depends on. */
export interface WindowQuestion {
  /** Any order; they may overlap. */
  readonly windows: readonly ShutdownWindow[];
  /** Forecasts of the point; those of Soon and Now are looked at. */
  readonly projections: readonly Pick<LimitProjection, 'grade' | 'earliestAt' | 'show'>[];
  /** Length of the job; 0: unknown. */
  readonly jobMs: number;
  readonly now: number;
  /** IANA zone of the site. */
  readonly zone: string;
}

/**
 * The last sensible window: the last one that ends before the earliest date of Soon; where that is past or none lies before it,
 * before the earliest date of Now, and the sentence says which.
 *
 * Decided here: a window counts when the job fits into what is left of it; two windows that overlap are two windows, since they need
 * not stop the same machine, and are never joined into a longer one; of two that end together the longer is named. Dates on which a
 * forecast shows nothing are not used.
 *
 * @example lastSensibleWindow({ windows, projections, jobMs: 0, now, zone: 'Europe/Dublin' }).sentence
 * // 'Sat 2 May, half day, is the last one before the earliest date of Now (Mon 4 May); none lies before Soon. Sat 16 May is 12 days too late.'
 */
export function lastSensibleWindow(question: WindowQuestion): LastWindow {
  const { now, zone } = question;
  const { window, before, earliestAt, usable, tooShort, soon } = choose(question);
  const say = (one: ShutdownWindow): string => `${sayDate(one.from, zone, now)}${one.words === null ? '' : `, ${one.words},`}`;
  const sayDay = (at: number): string => sayDate(at, zone, now);
  const tooLate = earliestAt === null ? [] : lateOf(usable, earliestAt, zone);
  // Days are counted to its end, so a window of several days is named by both ends.
  const sayLate = ({ window: one, daysTooLate }: LateWindow): string =>
    daysBetween(one.from, one.to, zone) === 0
      ? `${say(one)} is ${days(daysTooLate)} too late.`
      : `${sayDay(one.from)} to ${sayDay(one.to)}${one.words === null ? '' : `, ${one.words}`}, ends ${days(daysTooLate)} too late.`;
  const late = tooLate.slice(0, 1).map((one) => ` ${sayLate(one)}`);
  const short = tooShort.length === 0 ? '' : ` Too short for the job: ${tooShort.map((one) => sayDay(one.from)).join(', ')}.`;
  const text = (): string => {
    if (earliestAt === null) return 'No forecast names a date, so no window is the last sensible one.';
    const date = `the earliest date of ${before === 'soon' ? 'Soon' : 'Now'} (${sayDay(earliestAt)})`;
    if (window !== null) {
      const missed = before === 'soon' || soon === null ? '' : soon <= now ? '; that of Soon is past' : '; none lies before Soon';
      return `${say(window)} is the last one before ${date}${missed}.`;
    }
    return earliestAt <= now
      ? `T${date.slice(1)} is past: do not wait for a window.`
      : `No window lies before ${date}: ask for one.`;
  };
  return { window, before, earliestAt, tooLate, tooShort, sentence: `${text()}${late.join('')}${short}` };
}

/**
 * End of the last sensible window alone, without words: for putting many faults in order. Epoch milliseconds; null: there is none.
 * @example lastWindowEnd({ windows, projections, jobMs: 0, now }) === lastSensibleWindow({ windows, projections, jobMs: 0, now, zone }).window?.to // true
 */
export function lastWindowEnd(question: Omit<WindowQuestion, 'zone'>): number | null {
  return choose(question).window?.to ?? null;
}

interface Choice extends Pick<LastWindow, 'window' | 'before' | 'earliestAt' | 'tooShort'> {
  /** Windows ahead into which the job fits, by their ends. */
  readonly usable: readonly ShutdownWindow[];
  /** Earliest date of Soon. */
  readonly soon: number | null;
}

function choose({ windows, projections, jobMs, now }: Omit<WindowQuestion, 'zone'>): Choice {
  const ahead = windows.filter(({ from, to }) => to > from && to > now).sort(byEnd);
  const fits = ({ from, to }: ShutdownWindow): boolean => to - Math.max(from, now) >= jobMs;
  const usable = ahead.filter(fits);
  const soon = earliestOf(projections, 'soon');
  const last = earliestOf(projections, 'now');
  const about = { usable, tooShort: ahead.filter((window) => !fits(window)), soon };
  const beforeSoon = soon === null ? null : lastBefore(usable, soon);
  if (beforeSoon !== null) return { ...about, window: beforeSoon, before: 'soon', earliestAt: soon };
  const before = last !== null ? 'now' : soon !== null ? 'soon' : null;
  return { ...about, window: last === null ? null : lastBefore(usable, last), before, earliestAt: last ?? soon };
}

/** The last of the windows, in order of their ends, that ends before an instant. */
function lastBefore(windows: readonly ShutdownWindow[], at: number): ShutdownWindow | null {
  return windows.findLast(({ to }) => to < at) ?? null;
}

/** Earliest date of a limit, where its forecast shows one. */
function earliestOf(projections: WindowQuestion['projections'], grade: 'soon' | 'now'): number | null {
  const found = projections.find((one) => one.grade === grade);
  return found === undefined || found.show === 'none' || found.show === 'far' ? null : found.earliestAt;
}

function lateOf(windows: readonly ShutdownWindow[], earliestAt: number, zone: string): LateWindow[] {
  return windows
    .filter(({ to }) => to >= earliestAt)
    .map((window) => ({ window, daysTooLate: Math.max(1, daysBetween(earliestAt, window.to, zone)) }));
}

/** By end; of two that end together the longer one later, so that it is the last; then by id. */
function byEnd(a: ShutdownWindow, b: ShutdownWindow): number {
  return a.to - b.to || b.from - a.from || (a.id < b.id ? -1 : a.id > b.id ? 1 : 0);
}

function days(count: number): string {
  return count === 1 ? '1 day' : `${count} days`;
}

/** Two windows that share some time, once each pair, in the order of time. O(n²); a site has some dozens. */
export function overlappingWindows(windows: readonly ShutdownWindow[]): readonly (readonly [ShutdownWindow, ShutdownWindow])[] {
  const inOrder = windows.toSorted((a, b) => a.from - b.from || byEnd(a, b));
  return inOrder.flatMap((one, index) =>
    inOrder.slice(index + 1).flatMap((other) => (other.from < one.to ? [[one, other] as const] : [])),
  );
}
