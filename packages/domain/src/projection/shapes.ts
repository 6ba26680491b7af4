/**
 * The shapes a fault may take and where they may bend. Time is scaled: 0 is the first reading, 1 the last.
 * The level of every shape is β₀ + β₁·rise(u) + β₂·shift(u) with rise(1) = 1, so β₁ is the rise over the span.
 */
import {
  EXPONENTIAL,
  LAST_HINGE,
  MAX_ONSETS,
  MAX_STEPS,
  RISE_SD,
  RISE_SD_WITH_STEP,
  RUNAWAY,
  SATURATING,
  SHAPE_WEIGHT,
  SLOWING,
  STEP_SD,
} from './setting.ts';

export const SHAPES = [
  'flat',
  'line',
  'exponential',
  'saturating',
  'runaway',
  'hinge',
  'step',
  'step-then-rise',
  'line-with-step',
  'knee',
] as const;
export type Shape = (typeof SHAPES)[number];

/** A shape with its parameter fixed; each of its prior scales is one hypothesis. */
export interface Candidate {
  readonly shape: Shape;
  /** Folds, pole or onset, by shape; saturating: folds below zero, or the power of a growth without a ceiling above. */
  readonly parameter: number;
  /** Prior standard deviations of β₁ in margins; 0 when the shape has no rise. */
  readonly riseSds: readonly number[];
  /** Prior standard deviation of β₂ in margins; 0 when the shape has no shift. */
  readonly shiftSd: number;
  /** Logarithm of the prior weight of each scale. */
  readonly logWeight: number;
  /** rise at every reading for bent shapes, otherwise null and the ramps below hold. */
  readonly bend: Float64Array | null;
  /** rise and shift of straight shapes are 1 − slope·(1 − u) from this reading on and 0 before; from = count: never. */
  readonly riseFrom: number;
  readonly riseSlope: number;
  readonly shiftFrom: number;
  readonly shiftSlope: number;
}

/** Flat and step hold their level: they add nothing to the first passage. */
export function isMoving(shape: Shape): boolean {
  return shape !== 'flat' && shape !== 'step';
}

/** Keeps the exponential finite far beyond any horizon. */
const MAX_FOLDS = 300;
/** Distance kept from the pole of the runaway shape. */
const POLE_GUARD = 1e-6;

/** rise(u) of a shape. */
export function riseAt(shape: Shape, parameter: number, u: number): number {
  switch (shape) {
    case 'flat':
    case 'step':
      return 0;
    case 'line':
    case 'line-with-step':
      return u;
    case 'exponential':
      return foldsAt(parameter, u);
    case 'saturating':
      return parameter > 0 ? u ** parameter : foldsAt(parameter, u);
    case 'runaway':
      return (u * (1 - 1 / parameter)) / Math.max(1 - u / parameter, POLE_GUARD);
    case 'hinge':
    case 'step-then-rise':
    case 'knee':
      return Math.max(0, u - parameter) / (1 - parameter);
  }
}

function foldsAt(folds: number, u: number): number {
  return Math.expm1(Math.min(folds * u, MAX_FOLDS)) / Math.expm1(folds);
}

/** shift(u) of a shape: a jump, or the first slope of a knee. */
export function shiftAt(shape: Shape, parameter: number, u: number): number {
  switch (shape) {
    case 'step':
    case 'step-then-rise':
    case 'line-with-step':
      return u >= parameter ? 1 : 0;
    case 'knee':
      return u;
    default:
      return 0;
  }
}

/** All candidates for readings at these scaled times (sorted), in the order that settles ties. */
export function listCandidates(time: Float64Array): Candidate[] {
  const count = time.length;
  const list: Candidate[] = [];

  const add = (shape: Shape, parameter: number, riseSds: readonly number[], shiftSd: number, share: number): void => {
    const isBent = shape === 'exponential' || shape === 'saturating' || shape === 'runaway';
    const onset = isBent || shape === 'flat' || shape === 'line' ? 0 : firstAtOrAfter(time, parameter);
    const isRamp = shape === 'hinge' || shape === 'step-then-rise' || shape === 'knee';
    const isLine = shape === 'line' || shape === 'line-with-step';
    const hasJump = shape === 'step' || shape === 'step-then-rise' || shape === 'line-with-step';
    list.push({
      shape,
      parameter,
      riseSds,
      shiftSd,
      logWeight: Math.log((SHAPE_WEIGHT[shape] * share) / riseSds.length),
      bend: isBent ? bendOf(shape, parameter, time) : null,
      riseFrom: isRamp ? onset : isLine ? 0 : count,
      riseSlope: isRamp ? 1 / (1 - parameter) : 1,
      shiftFrom: hasJump ? onset : shape === 'knee' ? 0 : count,
      shiftSlope: hasJump ? 0 : 1,
    });
  };
  const addEach = (shape: Shape, places: readonly number[], riseSds: readonly number[], shiftSd: number): void => {
    for (const place of places) add(shape, place, riseSds, shiftSd, 1 / places.length);
  };

  add('flat', 0, [0], 0, 1);
  add('line', 0, RISE_SD, 0, 1);
  for (const folds of EXPONENTIAL.folds) {
    const sds = EXPONENTIAL.amplitudes.map((amplitude) => amplitude * Math.expm1(folds));
    add('exponential', folds, sds, 0, 1 / EXPONENTIAL.folds.length);
  }
  for (const folds of SATURATING.folds) {
    const sds = SATURATING.amplitudes.map((amplitude) => -amplitude * Math.expm1(folds));
    add('saturating', folds, sds, 0, (1 - SLOWING.share) / SATURATING.folds.length);
  }
  for (const power of SLOWING.powers) add('saturating', power, SLOWING.riseSds, 0, SLOWING.share / SLOWING.powers.length);
  for (const pole of RUNAWAY.poles) {
    const sds = RUNAWAY.amplitudes.map((amplitude) => amplitude / (pole - 1));
    add('runaway', pole, sds, 0, 1 / RUNAWAY.poles.length);
  }
  const places = listPlaces(time);
  addEach('hinge', places.hinges, RISE_SD, 0);
  addEach('step', places.steps, [0], STEP_SD);
  for (const place of places.jumps) {
    add('step-then-rise', place, RISE_SD_WITH_STEP, STEP_SD, 1 / places.jumps.length);
    add('line-with-step', place, RISE_SD_WITH_STEP, STEP_SD, 1 / places.jumps.length);
  }
  addEach('knee', places.knees, RISE_SD_WITH_STEP, STEP_SD);
  return list;
}

function bendOf(shape: Shape, parameter: number, time: Float64Array): Float64Array {
  const bend = new Float64Array(time.length);
  for (let i = 0; i < time.length; i++) bend[i] = riseAt(shape, parameter, time[i]!);
  return bend;
}

/** Onsets lie on distinct days, steps in the middle of gaps; each kind needs a number of distinct days. */
function listPlaces(time: Float64Array): Record<'hinges' | 'steps' | 'jumps' | 'knees', number[]> {
  const days: number[] = [];
  for (const u of time) if (u !== days[days.length - 1]) days.push(u);
  const gaps: number[] = [];
  for (let i = 1; i < days.length; i++) gaps.push((days[i]! + days[i - 1]!) / 2);
  const inner = days.slice(1, -1).filter((u) => u <= LAST_HINGE);
  return {
    hinges: days.length >= 4 ? thin(inner, MAX_ONSETS) : [],
    steps: days.length >= 5 ? thin(gaps.slice(1, -1), MAX_STEPS) : [],
    jumps: days.length >= 6 ? thin(gaps.slice(1, -2), MAX_STEPS) : [],
    knees: days.length >= 7 ? thin(days.slice(2, -2), MAX_ONSETS) : [],
  };
}

/** At most `most` entries, evenly by index, rounded half up in whole numbers. */
function thin(entries: readonly number[], most: number): number[] {
  if (entries.length <= most) return [...entries];
  return Array.from({ length: most }, (_, i) => {
    const index = Math.floor((2 * i * (entries.length - 1) + most - 1) / (2 * (most - 1)));
    return entries[index]!;
  });
}

function firstAtOrAfter(time: Float64Array, u: number): number {
  let low = 0;
  let high = time.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (time[middle]! >= u) high = middle;
    else low = middle + 1;
  }
  return low;
}
