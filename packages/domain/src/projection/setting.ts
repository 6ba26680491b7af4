/**
 * The one setting of the estimator, the same for every point, quantity and unit: lengths of time are in observed spans and
 * heights in margins (limit minus baseline). Source: own method, tuned on no single group; the reasons stand beside the figures.
 */
import type { Shape } from './shapes.ts';

/** Written beside every stored projection. Change it whenever a figure or a step of the method changes. */
export const PROJECTION_METHOD = 'shape-average/4';

/** Degrees of freedom of the Student-t weights: a reading 8 standard deviations off counts about a twelfth of a typical one. */
export const ROBUST_FREEDOM = 5;

/** Noise before any reading is seen: worth two readings, 1 % of the margin. Keeps 3 to 5 points from claiming zero noise. */
export const NOISE_PRIOR = { freedom: 2, shareOfMargin: 0.01 } as const;

/** After a repair the noise and load exponent of the time before are taken over: same instrument, same machine. */
export const CARRY_OVER = { maxFreedom: 8, minReadings: 8, minExponentSd: 0.1, newestReadings: 160 } as const;
/**
 * While a point has few readings of its own, the noise of like points stands in for the first figure above: worth eight readings, and a
 * quarter wider, since conditions drift and neighbouring readings resemble each other. Without it, of the dates shown at four readings
 * with noise of 1.5 K half came of nothing but noise; with it nine of ten hold (tests/unit/domain/projection/healthy-and-degrading).
 * Leaving each simulated point out of its own class, quiet points rise from .971 to .981 and no other figure gets worse; without a
 * bound on the readings one true projection in sixty is lost.
 */
export const LIKE_POINTS = { freedom: 8, widening: 1.25, mostReadings: 12, fewest: 5 } as const;

/** Prior weight of each shape. Most points are healthy, so flat leads; wear feeds itself, so bent shapes outweigh the line. */
export const SHAPE_WEIGHT: Readonly<Record<Shape, number>> = {
  flat: 0.3,
  line: 0.15,
  exponential: 0.15,
  saturating: 0.02,
  runaway: 0.1,
  hinge: 0.1,
  step: 0.06,
  'step-then-rise': 0.04,
  'line-with-step': 0.02,
  knee: 0.02,
};

/** Prior standard deviations of the rise over the span for straight shapes; three scales come near a scale-free prior. */
export const RISE_SD: readonly number[] = [0.05, 0.2, 0.8];
/** The same for shapes with a step or a knee. */
export const RISE_SD_WITH_STEP: readonly number[] = [0.25];
export const STEP_SD = 0.4;
/** Practically flat, the same for all shapes. */
export const INTERCEPT_SD = 10;

/** e-foldings over the span, and amplitudes: a fault starts small (0.1), or the curve is a slightly bent line (1). */
export const EXPONENTIAL = { folds: [0.5, 1, 1.5, 2, 3, 4, 6], amplitudes: [0.1, 1] } as const;
/** Running-in, or fouling that levels off. */
export const SATURATING = { folds: [-1, -2, -4], amplitudes: [0.3, 1] } as const;
/**
 * Growth that slows but has no ceiling takes half of the weight of saturating: the parabolic law of films and layers that hinder their
 * own growth (power 1/2) and one between it and a line. Without it such a point is silent or late, since every other slowing curve levels
 * off. What slows has begun fast, so its rise is a large share of the margin: the widest scale of RISE_SD.
 */
export const SLOWING = { powers: [0.5, 0.7], riseSds: [0.8], share: 0.5 } as const;
/** Self-reinforcing faults: where the hyperbola has its pole, in spans. */
export const RUNAWAY = { poles: [1.25, 1.6, 2.2, 3.2, 5], amplitudes: [0.3, 1] } as const;

/** At most so many onsets of a hinge or knee, and places of a step, evenly by index. */
export const MAX_ONSETS = 12;
export const MAX_STEPS = 40;
/** No hinge begins in the last twentieth of the span. */
export const LAST_HINGE = 0.95;

/** Load exponent of the rise over ambient: none (0) to ohmic heat (2) lie inside one standard deviation. */
export const LOAD_EXPONENT = { mean: 1, sd: 1, least: 0, most: 3 } as const;
/** Additive load effect where no ambient is known: per unit of ln(load/reference), share of the margin. */
export const LOAD_EFFECT_SD = 0.5;
/** The effect of ambient on the value is 1 ± 0.05. */
export const AMBIENT_EFFECT_SD = 0.05;
/** A load outside reference/1000 … reference·1000 is a typing error or a machine at rest: it counts as missing. */
export const LOAD_RATIO_MAX = 1000;

/** Noise growing with the rise (vibration): factor and prior weight; judged from twelve readings on. */
export const NOISE_GROWTH = { factors: [0, 1.5, 4], weights: [0.6, 0.2, 0.2], minReadings: 12 } as const;

/** Weights and averages are renewed so often. */
export const ROUNDS = 4;
/** Hypotheses less probable than this after the first round are dropped for good. */
export const DROP_BELOW = 1e-6;
/** Hypotheses less probable than this add nothing visible to the averages. */
export const NEGLIGIBLE = 1e-8;

/**
 * The future pace differs from the past one by this share (standard deviation). The method began with 0.12; the slowing shapes explain a
 * part of what it stood for, and with 0.11 the 80 % ranges hold as often as before on our own series, closer to 80 % on the shown ones.
 */
export const FUTURE_PACE_SD = 0.11;
/** The most probable hypotheses used for the first passage: up to this probability together, and no more than so many. */
export const KEEP = { mass: 0.995, most: 25 } as const;

/** Probability of a movement towards the limit from which a projection is given. */
export const GATE = 0.6;
/** In spans: no projection when P10 lies further ahead. */
export const HORIZON_SPANS = 10;

/** Longer histories are condensed: the newest stay whole, older ones become groups. */
export const CONDENSE = { above: 160, newest: 120, groups: 40 } as const;
/** Only so many of the newest readings since the last repair are looked at, so the cost of a refit is flat. */
export const NEWEST_READINGS = 500;

/** Times ahead, in spans: 0 and 60 geometric steps from 0.02 to 20. */
export const TIMES_AHEAD: Float64Array = Float64Array.from({ length: 61 }, (_, i) =>
  i === 0 ? 0 : 0.02 * 1000 ** ((i - 1) / 59),
);
