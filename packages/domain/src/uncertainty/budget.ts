import { type ImagerSettings, sensitivitiesAt } from '../radiometry/index.ts';
import { coverageFactor } from './limits.ts';

/** Half-width of a usual imager or thermometer: ±2 K or ±2 % of the reading in °C, the larger. */
const INSTRUMENT_K = 2;
const INSTRUMENT_PERCENT = 2;
/** Focus, position and repeat of one temperature, K (common practice, no source). */
export const REPEAT_K = 0.5;
/** Two spots of one picture share most of the instrument's error (common practice, no source). */
export const SHARED = 0.9;
/** Emissivity as it was found: measured, of tape, from a table, guessed (common practice, no source). */
export const EMISSIVITY_UNCERTAINTY = { measured: 0.02, tape: 0.02, table: 0.05, guess: 0.1 } as const;
/** Reflected apparent temperature: measured, taken for the air indoors, outdoors under a sky; K (common practice, no source). */
export const REFLECTED_UNCERTAINTY_K = { measured: 2, indoors: 5, outdoors: 15 } as const;

/** Half-width of an instrument as standard uncertainty, for an error that is equally likely anywhere in between (GUM 4.3.7). @example rectangular(2) // 1.155 */
export const rectangular = (halfWidth: number): number => halfWidth / Math.sqrt(3);

/**
 * Standard uncertainty of an instrument specified as the larger of a fixed part and a share of the reading.
 * @param readingC °C. @example instrumentUncertainty(140) // 1.617
 */
export const instrumentUncertainty = (readingC: number, absoluteK = INSTRUMENT_K, percent = INSTRUMENT_PERCENT): number =>
  rectangular(Math.max(absoluteK, (percent / 100) * Math.abs(readingC)));

/** Tolerance of a resistance thermometer of class B, K: 0.30 + 0.005·|t| (IEC 60751, from memory). */
const CONTACT = { fixedK: 0.3, perDegree: 0.005 } as const;
/** Contact, depth of immersion and reading of a thermometer, K (common practice, no source). */
const CONTACT_REPEAT_K = 0.3;

/**
 * Standard uncertainty of one temperature read by contact: a thermometer in a pocket or a probe, class B or as good.
 * @param readingC °C. @example contactUncertainty(60) // 0.458
 */
export const contactUncertainty = (readingC: number): number =>
  Math.hypot(rectangular(CONTACT.fixedK + CONTACT.perDegree * Math.abs(readingC)), CONTACT_REPEAT_K);

/** A window lets through a share that is known so well (common practice, no source). */
export const WINDOW_UNCERTAINTY = 0.03;
/** The air of a long way likewise: the model is empirical (common practice, no source). */
export const AIR_UNCERTAINTY = 0.01;
/** What lies within two standard deviations of a normal distribution. */
const TWO_SIGMA = 0.9545;

/** What a budget is made of. All but the temperature and the settings have usual values. */
export interface BudgetInput extends ImagerSettings {
  /** Corrected temperature, °C. */
  readonly trueC: number;
  /** Standard uncertainties, K; of the emissivity, 1. */
  readonly instrument?: number | undefined;
  readonly repeat?: number | undefined;
  readonly emissivityUncertainty?: number | undefined;
  readonly reflectedUncertainty?: number | undefined;
  /** The same spot read again, °C, where it was: two or more take the place of `repeat`, and their mean is what is known. */
  readonly repeats?: readonly number[] | undefined;
}

export type BudgetTerm = 'instrument' | 'repeat' | 'emissivity' | 'reflected' | 'air' | 'window';
/** One line: what, and its standard uncertainty in K. */
export interface BudgetLine {
  readonly term: BudgetTerm;
  readonly standard: number;
}
/** Lines, their root sum of squares, the factor and the range of about 95 %, factor times the combined one. */
export interface Budget {
  readonly lines: readonly BudgetLine[];
  readonly combined: number;
  /** 2, or more where a few repeats dominate (Student's t, GUM annex G). */
  readonly coverage: number;
  readonly expanded: number;
}

/** Lines of 0 are left out, but for the two that every reading has. */
function sumUp(terms: Readonly<Record<BudgetTerm, number>>, degreesOfRepeat: number | null): Budget {
  const lines = (Object.entries(terms) as [BudgetTerm, number][])
    .map(([term, standard]) => ({ term, standard: Math.abs(standard) }))
    .filter(({ term, standard }) => standard > 0 || term === 'instrument' || term === 'repeat');
  const combined = Math.hypot(...lines.map(({ standard }) => standard));
  // Welch and Satterthwaite (GUM G.4.1): all lines but the repeats are taken as known without limit.
  const effective = degreesOfRepeat === null ? Infinity : degreesOfRepeat * (combined / terms.repeat) ** 4;
  const coverage = Number.isFinite(effective) ? coverageFactor(TWO_SIGMA, effective) : 2;
  return { lines, combined, coverage, expanded: coverage * combined };
}

/** Scatter of the mean of repeats and its degrees of freedom; null with fewer than two (GUM 4.2.3). */
function ofRepeats(repeats: readonly number[] | undefined): { readonly standard: number; readonly degrees: number } | null {
  if (repeats === undefined || repeats.length < 2 || !repeats.every(Number.isFinite)) return null;
  const mean = repeats.reduce((sum, one) => sum + one, 0) / repeats.length;
  const scatter = Math.sqrt(repeats.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (repeats.length - 1));
  return { standard: scatter / Math.sqrt(repeats.length), degrees: repeats.length - 1 };
}

/**
 * The budget of a temperature read by an imager (GUM 5.1.2), with the sensitivities of the state equation.
 * @returns null where the emissivity or a transmittance is no share above 0, or a temperature is none.
 * @example budgetOf({ trueC: 80, emissivity: 0.95, reflectedC: 20, emissivityUncertainty: 0.02, reflectedUncertainty: 2 })?.combined // 1.62
 */
export function budgetOf(input: BudgetInput): Budget | null {
  const moves = sensitivitiesAt(input.trueC, input);
  if (moves === null) return null;
  const repeats = ofRepeats(input.repeats);
  return sumUp(
    {
      instrument: input.instrument ?? instrumentUncertainty(input.trueC),
      repeat: repeats?.standard ?? input.repeat ?? REPEAT_K,
      emissivity: moves.emissivity * (input.emissivityUncertainty ?? EMISSIVITY_UNCERTAINTY.table),
      reflected: moves.reflected * (input.reflectedUncertainty ?? REFLECTED_UNCERTAINTY_K.indoors),
      air: moves.air * AIR_UNCERTAINTY,
      window: moves.window * WINDOW_UNCERTAINTY,
    },
    repeats?.degrees ?? null,
  );
}

/** Two temperatures of one picture, taken with one instrument. */
export interface DifferenceBudgetInput {
  /** The two corrected temperatures, °C. */
  readonly trueC: readonly [number, number];
  /** One emissivity for like surfaces; two where they are not alike. */
  readonly emissivity: number | readonly [number, number];
  readonly reflectedC: number;
  /** Standard uncertainties as for a reading. */
  readonly instrument?: number | undefined;
  readonly repeat?: number | undefined;
  readonly emissivityUncertainty?: number | undefined;
  readonly reflectedUncertainty?: number | undefined;
  /** Correlation of the instrument's error, 0 to 1; {@link SHARED} in one picture, 0 on two days with two instruments. */
  readonly shared?: number | undefined;
}

/**
 * The budget of a difference (GUM 5.2.2). What is common to both temperatures moves both and leaves what differs between them: most of
 * the instrument's error, the reflected temperature, and on like surfaces the emissivity. On unlike surfaces its two errors are independent,
 * and with them the advantage is lost.
 * @returns null where {@link budgetOf} has none for one of the two.
 * @example differenceBudgetOf({ trueC: [80, 70], emissivity: 0.95, reflectedC: 20 })?.combined // 0.950
 */
export function differenceBudgetOf(input: DifferenceBudgetInput): Budget | null {
  const { emissivity, trueC, reflectedC } = input;
  const areAlike = typeof emissivity === 'number';
  const [first, second] = areAlike ? [emissivity, emissivity] : emissivity;
  const a = sensitivitiesAt(trueC[0], { emissivity: first, reflectedC });
  const b = sensitivitiesAt(trueC[1], { emissivity: second, reflectedC });
  if (a === null || b === null) return null;
  const instrument = input.instrument ?? instrumentUncertainty(Math.max(Math.abs(trueC[0]), Math.abs(trueC[1])));
  const ofEmissivity = input.emissivityUncertainty ?? EMISSIVITY_UNCERTAINTY.table;
  return sumUp(
    {
      instrument: differenceUncertainty(instrument, input.shared, 0),
      repeat: Math.SQRT2 * (input.repeat ?? REPEAT_K),
      emissivity: (areAlike ? a.emissivity - b.emissivity : Math.hypot(a.emissivity, b.emissivity)) * ofEmissivity,
      reflected: (a.reflected - b.reflected) * (input.reflectedUncertainty ?? REFLECTED_UNCERTAINTY_K.indoors),
      air: 0,
      window: 0,
    },
    null,
  );
}

/**
 * Standard uncertainty of the difference of two temperatures of one instrument, u² = 2·u_i²·(1 − r) + 2·u_r² (GUM 5.2.2).
 * @param shared correlation r of the instrument's error, 0.9 in one picture of like surfaces; taken as 0 to 1.
 * @example differenceUncertainty(1.1547) // 0.876
 */
export const differenceUncertainty = (instrument: number, shared = SHARED, repeat = REPEAT_K): number =>
  Math.sqrt(2 * instrument ** 2 * (1 - Math.min(1, Math.max(0, shared))) + 2 * repeat ** 2);
