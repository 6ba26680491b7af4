import type { ReadingRow } from '@heatround/contract';
import { type Comparability, type CriterionKind, type LimitGrade, type LimitSet, sideOf, weatherOf } from '@heatround/domain';

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

/** Limits of one criterion as steps in time, each side by itself; those that hold only in some weather are no line in time. */
export function stretchesOf(limits: readonly LimitSet[], criterion: CriterionKind, from: number, to: number): Stretch[] {
  const found: Stretch[] = [];
  for (const versions of versionsBySide(limits, criterion)) {
    versions.forEach((set, index) => {
      const begins = Math.max(from, set.validFrom);
      const ends = Math.min(to, versions[index + 1]?.validFrom ?? to);
      if (ends <= begins || weatherOf(set) !== null) return;
      const lines = ORDER.flatMap((grade) => (set[grade] === null ? [] : [{ grade, value: set[grade] as number }]));
      if (lines.length > 0) found.push({ from: begins, to: ends, direction: set.direction, lines });
    });
  }
  return found;
}

/** The versions of each side of a criterion, oldest first. */
export function versionsBySide(limits: readonly LimitSet[], criterion: CriterionKind): LimitSet[][] {
  const sides = new Map<string, LimitSet[]>();
  for (const set of limits) {
    if (set.criterion !== criterion) continue;
    const side = sideOf(set);
    sides.set(side, [...(sides.get(side) ?? []), set]);
  }
  return [...sides.values()].map((versions) => versions.sort((a, b) => a.validFrom - b.validFrom || a.version - b.version));
}

export interface Scale {
  readonly low: number;
  readonly high: number;
  readonly y: (value: number) => number;
}

/**
 * Value scale that shows every reading, the limits in force up to the grade reached and the next ones, and whatever else must be
 * seen. Give it every sounding that is drawn, judged or not: nothing may lie on the edge.
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

/** Two to four round figures that lie inside a scale, lowest first. */
export function roundFigures({ low, high }: Pick<Scale, 'low' | 'high'>): {
  readonly values: readonly number[];
  readonly decimals: number;
} {
  const span = high - low;
  if (!(span > 0) || !Number.isFinite(span)) return { values: [], decimals: 0 };
  let found: { values: readonly number[]; decimals: number } = { values: [], decimals: 0 };
  const top = Math.floor(Math.log10(span));
  for (let power = top; power >= top - 2; power--) {
    for (const digit of [5, 2, 1]) {
      // Counted in whole steps, so that no figure comes out as 0.30000000000000004.
      const step = digit * 10 ** power;
      const first = Math.ceil(low / step - 1e-9);
      const many = Math.floor(high / step + 1e-9) - first + 1;
      if (many > 4) return found;
      const decimals = Math.max(0, -power);
      if (many >= 2)
        found = {
          values: Array.from({ length: many }, (_, index) => Number(((first + index) * step).toFixed(decimals))),
          decimals,
        };
    }
  }
  return found;
}

const DAY = 86_400_000;
const WEEK = 7 * DAY;
/** A history this long is offered in pieces. */
const LONG_MS = 104 * WEEK;

export const RANGES = ['all', 'two-years', 'three-months', 'since-work'] as const;
export type Range = (typeof RANGES)[number];
const RANGE_MS = { 'two-years': 2 * 365.25 * DAY, 'three-months': 91 * DAY } as const;

export interface BehindSpan {
  readonly from: number;
  readonly to: number;
  /** The last reading, where it is so long ago that the panel ends with it; null where it reaches to the present. */
  readonly restsSince: number | null;
  /** What may be chosen; empty for a history that fits as a whole. */
  readonly ranges: readonly Range[];
}

/**
 * The time a history is drawn over: first to last reading, and to the present unless the last reading is long ago.
 * @param times of the readings drawn, oldest first.
 * @param works when work was recorded.
 */
export function behindSpan(times: readonly number[], works: readonly number[], now: number, range: Range): BehindSpan {
  const first = times[0] ?? now;
  const last = times.at(-1) ?? now;
  const isLongAgo = times.length > 0 && now - last > Math.max(12 * WEEK, (last - first) / 3);
  const to = isLongAgo ? last : now;
  const whole = Math.min(first, to - (isLongAgo ? 2 : 12) * WEEK);
  const lastWork = works.filter((at) => at > first && at < last).reduce((most, at) => Math.max(most, at), 0);
  const isLong = to - whole > LONG_MS;
  const ranges = isLong ? RANGES.filter((one) => one !== 'since-work' || lastWork > 0) : [];
  const begin = (): number => {
    if (!ranges.includes(range) || range === 'all') return whole;
    // Work and the reading before it are both seen.
    if (range === 'since-work') return Math.max(whole, lastWork - Math.max(WEEK, (to - lastWork) * 0.06));
    return Math.max(whole, to - RANGE_MS[range]);
  };
  return { from: begin(), to, restsSince: isLongAgo ? last : null, ranges };
}
