/**
 * The plain method the estimator must beat: flat, line, hinge, step and exponential by least squares, weighed by BIC (Schwarz 1978), the
 * limit met where the weighted curves with their standard errors meet it. Load and ambient are taken out beforehand.
 */
import { normalCdf, type ProjectionInput } from '@heatround/domain';
import type { Dated } from './scorer.ts';

const SILENT: Dated = { status: 'no-projection' };
const GATE = 0.6;
const FARTHEST_SPANS = 10;
const AHEAD = Array.from({ length: 80 }, (_, i) => (i === 0 ? 0 : 0.02 * 1000 ** ((i - 1) / 78)));
const FOLDS = [0.5, 1, 2, 3, 4, 6];
const EXPONENTS = Array.from({ length: 13 }, (_, i) => i / 4);

type Column = (u: number) => number;
interface Fitted {
  readonly column: Column;
  readonly moves: boolean;
  readonly level: number;
  readonly rise: number;
  /** Covariance: level², level·rise, rise². */
  readonly covariance: readonly [number, number, number];
  readonly score: number;
}

export function shapeAverage(input: ProjectionInput): Dated {
  const { cutDay, repairDay } = input;
  const readings = input.readings.filter(({ day }) => day <= cutDay && (repairDay === null || day > repairDay));
  const firstDay = readings[0]?.day ?? 0;
  const span = (readings.at(-1)?.day ?? 0) - firstDay;
  if (readings.length < 3 || span <= 0) return SILENT;
  const sign = input.direction === 'down' ? -1 : 1;
  const limit = sign * input.limit;
  const whole = readings.map(({ day }) => (day - firstDay) / span);
  const corrected = atReference({ ...input, readings }, whole).map((value) => sign * value);
  if (median(corrected.slice(-3)) >= limit) return SILENT;
  const kept = notGross(corrected);
  const times = whole.filter((_, i) => kept[i]);
  const fits = fitAll(
    times,
    corrected.filter((_, i) => kept[i]),
  );

  const best = Math.max(...fits.map(({ score }) => score));
  const total = fits.reduce((sum, { score }) => sum + Math.exp(score - best), 0);
  const reached = AHEAD.map(() => 0);
  let moving = 0;
  for (const { column, moves, level, rise, covariance, score } of fits) {
    const weight = Math.exp(score - best) / total;
    if (!moves || rise <= 0 || weight < 1e-6) continue;
    moving += weight;
    let most = 0;
    for (const [i, ahead] of AHEAD.entries()) {
      const x = column((cutDay - firstDay) / span + ahead);
      const variance = covariance[0] + 2 * x * covariance[1] + x * x * covariance[2];
      most = Math.max(most, normalCdf((level + rise * x - limit) / Math.sqrt(variance + 1e-12)));
      reached[i]! += weight * most;
    }
  }
  if (moving < GATE) return SILENT;
  const daysAt = (probability: number): number | null => {
    const at = reached.findIndex((share) => share / moving >= probability);
    return at < 0 ? null : AHEAD[at]! * span;
  };
  const p10Days = daysAt(0.1);
  if (p10Days === null || p10Days > FARTHEST_SPANS * span) return SILENT;
  return { status: 'projection', p10Days, p50Days: daysAt(0.5), p90Days: daysAt(0.9) };
}

/** Ambient subtracted, and the rise brought to reference load by the exponent that leaves the smoothest series. */
function atReference({ readings, referenceAmbientC, referenceLoadPercent }: ProjectionInput, times: readonly number[]): number[] {
  const ambient = referenceAmbientC !== null && readings.every(({ ambientC }) => ambientC !== null) ? referenceAmbientC : null;
  const rises = readings.map(({ value, ambientC }) => (ambient === null ? value : value - ambientC!));
  const offset = ambient ?? 0;
  if (referenceLoadPercent === null) return rises.map((rise) => rise + offset);
  let smallest = Number.POSITIVE_INFINITY;
  let chosen = rises;
  for (const exponent of EXPONENTS) {
    const brought = rises.map((rise, i) => rise / (readings[i]!.loadPercent! / referenceLoadPercent) ** exponent);
    const roughness = median(brought.slice(1).map((rise, i) => Math.abs(rise - brought[i]!) / (1 + times[i + 1]! - times[i]!)));
    if (roughness >= smallest) continue;
    smallest = roughness;
    chosen = brought;
  }
  return chosen.map((rise) => rise + offset);
}

function notGross(values: readonly number[]): boolean[] {
  const around = (i: number) => Math.max(0, Math.min(i - 2, values.length - 5));
  const local = values.map((value, i) => Math.abs(value - median(values.slice(around(i), around(i) + 5))));
  const spread = 1.4826 * median(local);
  return local.map((size) => values.length < 8 || spread === 0 || size < 5 * spread);
}

function fitAll(times: readonly number[], values: readonly number[]): Fitted[] {
  const inner = times.slice(1, -1);
  const places = inner.filter((_, i) => i % Math.ceil(inner.length / 20) === 0);
  const spread = (columns: Column[], moves: boolean) =>
    columns.flatMap((column) => fitOne(times, values, column, moves, 3, -Math.log(columns.length)));
  return [
    ...fitOne(times, values, null, false, 1, 0),
    ...fitOne(times, values, (u) => u, true, 2, 0),
    ...spread(
      places.map((place) => (u) => Math.max(0, u - place)),
      true,
    ),
    ...spread(
      places.map((place) => (u) => (u > place ? 1 : 0)),
      false,
    ),
    ...spread(
      FOLDS.map((folds) => (u) => Math.expm1(Math.min(folds * u, 200)) / Math.expm1(folds)),
      true,
    ),
  ];
}

/** Least squares of a level and, unless null, a column; nothing when the readings are too few for it. */
function fitOne(
  times: readonly number[],
  values: readonly number[],
  column: Column | null,
  moves: boolean,
  parameters: number,
  logPrior: number,
): Fitted[] {
  const count = values.length;
  if (count <= parameters) return [];
  const x = times.map((u) => column?.(u) ?? 0);
  const mean = (list: readonly number[]) => list.reduce((sum, entry) => sum + entry, 0) / count;
  const [meanX, meanY] = [mean(x), mean(values)];
  const squares = x.reduce((sum, entry) => sum + (entry - meanX) ** 2, 0);
  const rise = squares > 0 ? x.reduce((sum, entry, i) => sum + (entry - meanX) * (values[i]! - meanY), 0) / squares : 0;
  const level = meanY - rise * meanX;
  const residual = Math.max(
    1e-12,
    values.reduce((sum, value, i) => sum + (value - level - rise * x[i]!) ** 2, 0),
  );
  const variance = residual / Math.max(1, count - (column === null ? 1 : 2));
  const ofRise = squares > 0 ? variance / squares : 0;
  return [
    {
      column: column ?? (() => 0),
      moves,
      level,
      rise,
      covariance: [variance / count + meanX * meanX * ofRise, -meanX * ofRise, ofRise],
      score: logPrior - 0.5 * (count * Math.log(residual / count) + parameters * Math.log(count)),
    },
  ];
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const half = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
}
