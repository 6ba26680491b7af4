import { type ProjectionReading, projectTimeToLimit } from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { dayOf, readGolden } from './cases.ts';
import { type ScoredCase, score, type Truth } from './scorer.ts';

interface SimulatedCase {
  readonly point_id: string;
  readonly limit: number;
  readonly direction: 'up' | 'down';
  readonly cut_date: string;
  readonly repair_date: string | null;
  readonly reference?: { readonly load_pct: number | null; readonly ambient_c: number | null };
  readonly span_days: number;
  readonly truth: Truth;
}

// Source: an outside simulator of 60 points whose truth is known (weekly readings, load, ambient, outliers, gaps, repairs).
function readPoints(): Map<string, ProjectionReading[]> {
  const points = new Map<string, ProjectionReading[]>();
  const number = (cell: string | undefined): number | null => (cell ? Number(cell) : null);
  for (const line of readGolden('simulated/readings.csv').trim().split(/\r?\n/).slice(1)) {
    const [point = '', date = '', , value, load, ambient] = line.split(',');
    const readings = points.get(point) ?? [];
    points.set(point, readings);
    readings.push({
      day: dayOf(date),
      value: number(value) ?? Number.NaN,
      loadPercent: number(load),
      ambientC: number(ambient),
    });
  }
  return points;
}

describe('231 simulated cases', () => {
  const points = readPoints();
  const { cases } = JSON.parse(readGolden('simulated/cases.json')) as { cases: SimulatedCase[] };
  const scored = cases.map(
    (each): ScoredCase => ({
      truth: each.truth,
      spanDays: each.span_days,
      projection: projectTimeToLimit({
        readings: points.get(each.point_id) ?? [],
        cutDay: dayOf(each.cut_date),
        repairDay: each.repair_date === null ? null : dayOf(each.repair_date),
        limit: each.limit,
        direction: each.direction,
        referenceLoadPercent: each.reference?.load_pct ?? null,
        referenceAmbientC: each.reference?.ambient_c ?? null,
      }),
    }),
  );
  const scores = score(scored);

  it('are all scored', () => {
    expect(scored.filter(({ truth }) => truth.type === 'crosses')).toHaveLength(127);
    expect(scored.filter(({ truth }) => truth.type === 'no_trend')).toHaveLength(104);
  });

  it('a point in which nothing moves is left alone at least 19 times in 20', () => {
    expect(scores.quietRight).toBeGreaterThanOrEqual(0.95);
  });

  it('a point on its way to the limit is answered at least 3 times in 4', () => {
    expect(scores.answered).toBeGreaterThanOrEqual(0.75);
  });

  it('the range from P10 to P90 holds the truth about 8 times in 10', () => {
    expect(scores.cover80).toBeGreaterThanOrEqual(0.72);
    expect(scores.cover80).toBeLessThanOrEqual(0.9);
  });

  it('the likely day is off by less than 18 % in half the cases', () => {
    expect(scores.relativeError).toBeLessThanOrEqual(0.18);
  });

  it('range and silence together cost little, and the range is no wider than it must be', () => {
    expect(scores.pinball).toBeLessThanOrEqual(0.17);
    expect(scores.width).toBeLessThanOrEqual(1.2);
  });
});
