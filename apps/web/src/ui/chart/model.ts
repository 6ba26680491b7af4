import type { ReadingRow } from '@heatround/contract';
import type { Comparability, CriterionKind, LimitGrade, LimitSet } from '@heatround/domain';

/** One sounding of a chart. */
export interface Sounding {
  readonly id: string;
  readonly at: number;
  readonly value: number;
  readonly kind: Comparability;
}
export interface ChartEvent {
  readonly at: number;
  readonly words: string;
}
/** Limits as they were during a stretch of time, mildest first. */
export interface Stretch {
  readonly from: number;
  readonly to: number;
  readonly direction: 'high' | 'low';
  readonly lines: readonly { readonly grade: LimitGrade; readonly value: number }[];
}

export const ORDER: readonly LimitGrade[] = ['watch', 'plan', 'soon', 'now'];

/** The figure that a reading was judged by; a reading without one shows its own value. */
export function figureOfRow(row: Pick<ReadingRow, 'value' | 'verdict'>, criterion: CriterionKind): number | null {
  const because = row.verdict?.because ?? null;
  return because !== null && because.criterion === criterion ? because.value : row.value;
}

export function soundingsOf(rows: readonly ReadingRow[], criterion: CriterionKind): Sounding[] {
  const found: Sounding[] = [];
  for (const row of rows) {
    if (!row.counts) continue;
    const value = figureOfRow(row, criterion);
    if (value !== null) found.push({ id: row.id, at: Date.parse(row.takenAt), value, kind: row.comparability });
  }
  return found.sort((a, b) => a.at - b.at);
}

/** Limits of one criterion as steps in time. */
export function stretchesOf(limits: readonly LimitSet[], criterion: CriterionKind, from: number, to: number): Stretch[] {
  const versions = limits
    .filter((set) => set.criterion === criterion)
    .sort((a, b) => a.validFrom - b.validFrom || a.version - b.version);
  const found: Stretch[] = [];
  versions.forEach((set, index) => {
    const begins = Math.max(from, set.validFrom);
    const ends = Math.min(to, versions[index + 1]?.validFrom ?? to);
    if (ends <= begins) return;
    const lines = ORDER.flatMap((grade) => (set[grade] === null ? [] : [{ grade, value: set[grade] as number }]));
    if (lines.length > 0) found.push({ from: begins, to: ends, direction: set.direction, lines });
  });
  return found;
}

export interface Scale {
  readonly low: number;
  readonly high: number;
  readonly y: (value: number) => number;
}

/**
 * Value scale that shows every reading, the limits in force up to the second one not yet reached, and whatever else must be seen.
 */
export function scaleFor(
  soundings: readonly Sounding[],
  stretches: readonly Stretch[],
  must: readonly number[],
  top: number,
  bottom: number,
  limitsAhead = 2,
): Scale {
  const values = soundings.map((one) => one.value);
  const seen = [...values, ...must].filter(Number.isFinite);
  const present = stretches.at(-1);
  if (present !== undefined) {
    const sign = present.direction === 'high' ? 1 : -1;
    const worst =
      seen.length === 0
        ? Number.NEGATIVE_INFINITY
        : seen.reduce((most, value) => Math.max(most, value * sign), Number.NEGATIVE_INFINITY);
    let ahead = 0;
    for (const { value } of present.lines) {
      if (value * sign > worst && ++ahead > limitsAhead) break;
      seen.push(value);
    }
  }
  if (seen.length === 0) seen.push(0, 1);
  let low = seen.reduce((least, value) => Math.min(least, value), Number.POSITIVE_INFINITY);
  let high = seen.reduce((most, value) => Math.max(most, value), Number.NEGATIVE_INFINITY);
  const span = high - low || Math.abs(high) * 0.2 || 1;
  low -= span * 0.1;
  high += span * 0.14;
  return { low, high, y: (value) => bottom - ((value - low) / (high - low)) * (bottom - top) };
}
