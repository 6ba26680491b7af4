/**
 * Series of our own whose truth is known, of the kinds a plant shows: points read weekly at changing load and ambient, a few clean readings
 * of a part that is run to its limit, and series in which nothing moves. Own generator with fixed seeds, no outside source.
 */
import type { ProjectionInput, ProjectionReading } from '@heatround/domain';
import { plainInput, randomFrom } from './cases.ts';
import type { Truth } from './scorer.ts';

export interface OwnCase {
  readonly kind: string;
  readonly input: ProjectionInput;
  readonly spanDays: number;
  readonly truth: Truth;
}

const NOTHING_MOVES: Truth = { type: 'no_trend' };

/** How often each kind of point occurs. */
const KINDS = [
  ['still', 0.3],
  ['line', 0.28],
  ['exponential', 0.14],
  ['step', 0.06],
  ['step-then-line', 0.09],
  ['repaired', 0.08],
  ['wears-again', 0.05],
] as const;
type Kind = (typeof KINDS)[number][0];

/** Points read weekly, with gaps, gross errors, load, a season of ambient and rounding; each is asked on up to four days. */
export function pointsReadWeekly(seed: number, points: number): OwnCase[] {
  const { uniform, normal } = randomFrom(seed);
  const between = (low: number, high: number) => low + (high - low) * uniform();
  const cases: OwnCase[] = [];
  for (let point = 0; point < points; point++) {
    const kind = pick(uniform());
    const isVibration = uniform() < 0.3;
    const margin = isVibration ? between(3, 6) : between(14, 36);
    const base = isVibration ? between(1.5, 2.5) : between(25, 40);
    const noise = isVibration ? between(0.06, 0.26) : between(0.5, 2.3);
    const noiseGrowth = isVibration ? between(1, 3) : 0;
    const exponent = isVibration ? 0.3 * uniform() : between(0, 2);
    const [load, ambient, season] = [between(55, 100), between(20, 28), uniform() < 0.6 ? 6 : 0];

    // Weeks; the rise is a share of the margin, and the limit is met at a share of one.
    const [life, onset, stepWeek, stepHeight] = [between(80, 240), 15 * uniform(), between(10, 30), between(0.15, 0.45)];
    const folds = between(2, 5);
    const repairWeek = between(0.4, 0.9) * life;
    const lifeAfter = life * Math.exp(0.35 * normal());
    const hasRepair = kind === 'repaired' || kind === 'wears-again';
    const shareAt = (week: number): number => {
      const since = Math.max(0, week - onset) / life;
      if (kind === 'line') return since;
      if (kind === 'exponential') return Math.expm1(folds * since) / Math.expm1(folds);
      if (kind === 'step') return week < stepWeek ? 0 : stepHeight;
      if (kind === 'step-then-line') return week < stepWeek ? 0 : stepHeight + ((1 - stepHeight) * (week - stepWeek)) / life;
      if (kind === 'still') return 0;
      if (week <= repairWeek) return week / life;
      return kind === 'repaired' ? 0 : (week - repairWeek) / lifeAfter;
    };
    const crossing = {
      line: onset + life,
      exponential: onset + life,
      'step-then-line': stepWeek + life,
      'wears-again': repairWeek + lifeAfter,
      still: null,
      step: null,
      repaired: null,
    }[kind];
    const end = crossing ?? (hasRepair ? repairWeek : stepWeek) + 100;

    const readings: ProjectionReading[] = [];
    for (let week = 0; week < end; week++) {
      if (uniform() < 0.08) continue;
      const share = shareAt(week);
      const loadPercent = round(Math.max(15, load * (1 + 0.18 * normal())), 1);
      const ambientC = round(ambient + season * Math.sin((2 * Math.PI * (week - point)) / 52) + 1.2 * normal(), 1);
      const rise = (base + margin * share) * (loadPercent / load) ** exponent;
      const gross = uniform() < 0.02 ? (uniform() < 0.5 ? -1 : 1) * between(5, 13) : 0;
      const scatter = noise * (gross + normal() * (1 + noiseGrowth * Math.min(1, share)));
      const value = isVibration ? round(rise + scatter, 2) : round(rise + ambientC + scatter, 1);
      readings.push({ day: 7 * week, value, loadPercent, ambientC: isVibration ? null : ambientC });
    }

    const from = hasRepair ? repairWeek : kind === 'step' || kind === 'step-then-line' ? stepWeek : onset;
    for (const part of [0.1, 0.3, 0.55, 0.8]) {
      const cutWeek = Math.floor(from + Math.max(8, part * (end - from)));
      const used = readings.filter(({ day }) => day <= 7 * cutWeek && (!hasRepair || day > 7 * repairWeek));
      if (cutWeek >= end - 1 || used.length < 3) continue;
      const days = crossing === null ? 0 : 7 * (crossing - cutWeek);
      cases.push({
        kind,
        input: {
          readings,
          cutDay: 7 * cutWeek,
          repairDay: hasRepair ? Math.floor(7 * repairWeek) : null,
          limit: base + margin + (isVibration ? 0 : ambient),
          direction: 'up',
          referenceLoadPercent: load,
          referenceAmbientC: isVibration ? null : ambient,
        },
        spanDays: used.at(-1)!.day - used[0]!.day,
        truth: crossing === null ? NOTHING_MOVES : { type: 'crosses', days_to_limit: days, bracket_days: [days, days] },
      });
    }
  }
  return cases;
}

/** Cracks that speed up (Paris law), wear at a wandering rate, and output lost ever more slowly; four to twelve clean readings. */
export function runToLimit(seed: number, parts: number): OwnCase[] {
  const { uniform, normal } = randomFrom(seed);
  const between = (low: number, high: number) => low + (high - low) * uniform();
  const cases: OwnCase[] = [];
  for (let part = 0; part < parts; part++) {
    const kind = (['crack', 'wandering', 'slowing'] as const)[part % 3]!;
    const [power, pace] = [between(0.5, 1), between(0.25, 0.6)];
    const crackExponent = -between(0.6, 1.8);
    const crackLife = between(10, 22);
    const crackAt = (week: number): number => {
      const left = 0.9 ** crackExponent - ((0.9 ** crackExponent - 1.6 ** crackExponent) * week) / crackLife;
      return left > 0 ? left ** (1 / crackExponent) : 9;
    };
    let worn = 0;
    const values = Array.from({ length: 30 }, (_, week) => {
      if (kind === 'crack') return round(crackAt(week) + 0.004 * normal(), 2);
      if (kind === 'slowing') return round(-pace * week ** power + 0.03 * normal(), 2);
      const before = worn;
      worn += Math.max(0, pace * (1 + 0.35 * normal()));
      return round(before, 2);
    });
    const direction = kind === 'slowing' ? 'down' : 'up';
    const limit =
      kind === 'crack' ? between(1.3, 1.6) : kind === 'wandering' ? between(3, 7) : values[8 + Math.floor(12 * uniform())]!;
    const passed = values.findIndex((value) => (direction === 'up' ? value >= limit : value <= limit));
    for (const count of [4, 6, 8, 10, 12]) {
      if (passed < count) continue;
      const cutDay = 7 * (count - 1);
      const bracket = [7 * (passed - 1) - cutDay, 7 * passed - cutDay] as const;
      const within = (limit - values[passed - 1]!) / (values[passed]! - values[passed - 1]!);
      cases.push({
        kind,
        input: plainInput(
          values.slice(0, count).map((value, week) => [7 * week, value]),
          limit,
          { direction },
        ),
        spanDays: cutDay,
        truth: { type: 'crosses', days_to_limit: bracket[0] + 7 * within, bracket_days: bracket },
      });
    }
  }
  return cases;
}

/** Independent values about a level. */
export function nothingMoves(seed: number, series: number): OwnCase[] {
  const { uniform, normal } = randomFrom(seed);
  return Array.from({ length: series }, (_, i): OwnCase => {
    const count = 6 + (i % 20);
    const samples = Array.from({ length: count }, (_, week): [number, number] => [7 * week, 10 + normal()]);
    return { kind: 'still', input: plainInput(samples, 15 + 10 * uniform()), spanDays: 7 * (count - 1), truth: NOTHING_MOVES };
  });
}

function pick(share: number): Kind {
  let left = share;
  for (const [kind, weight] of KINDS) {
    if (left < weight) return kind;
    left -= weight;
  }
  return 'still';
}

function round(value: number, digits: number): number {
  return Math.round(value * 10 ** digits) / 10 ** digits;
}
