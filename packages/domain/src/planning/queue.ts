/** What the order of a queue depends on. */
export interface Queued {
  readonly id: string;
  /** Flagged to come first, such as life safety or Now. */
  readonly isCritical: boolean;
  /** 1 … 25 */
  readonly risk: number;
  /** 1 … 5 */
  readonly consequence: number;
  /** Epoch milliseconds; null: no date, comes after those with one. */
  readonly dueAt: number | null;
  /** When it was reported; the older comes first. */
  readonly reportedAt: number;
}

/**
 * Order of a queue of work: critical first, then risk, consequence, due date, age; the id settles the rest, so that the order is the
 * same wherever it is made. For `sort`. @example orders.toSorted(compareQueued)
 */
export function compareQueued(a: Queued, b: Queued): number {
  return (
    Number(b.isCritical) - Number(a.isCritical) ||
    b.risk - a.risk ||
    b.consequence - a.consequence ||
    compareDates(a.dueAt, b.dueAt) ||
    a.reportedAt - b.reportedAt ||
    compareIds(a.id, b.id)
  );
}

/** What the order of the answers due depends on. */
export interface Unanswered extends Queued {
  /** End of the last sensible window; null: none is known. */
  readonly lastWindowAt: number | null;
}

/** Order of the answers due: critical first, then the last sensible window, then as any queue. For `sort`. */
export function compareUnanswered(a: Unanswered, b: Unanswered): number {
  return Number(b.isCritical) - Number(a.isCritical) || compareDates(a.lastWindowAt, b.lastWindowAt) || compareQueued(a, b);
}

/** Earlier first, none last. */
function compareDates(a: number | null, b: number | null): number {
  if (a === b) return 0;
  if (a === null) return 1;
  return b === null ? -1 : a - b;
}

function compareIds(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** Lists are counted no further: so many mean so many or more, since nobody plans by the difference and counting on would cost. */
export const MOST_COUNTED = 1000;
