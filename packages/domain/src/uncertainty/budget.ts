import { type ImagerSettings, sensitivitiesAt } from '../radiometry/index.ts';

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

/** What a budget is made of. All but the temperature and the settings have usual values. */
export interface BudgetInput extends Pick<ImagerSettings, 'emissivity' | 'reflectedC'> {
  /** Corrected temperature, °C. */
  readonly trueC: number;
  /** Standard uncertainties, K; of the emissivity, 1. */
  readonly instrument?: number | undefined;
  readonly repeat?: number | undefined;
  readonly emissivityUncertainty?: number | undefined;
  readonly reflectedUncertainty?: number | undefined;
}

/** One line: what, and its standard uncertainty in K. */
export interface BudgetLine {
  readonly term: 'instrument' | 'repeat' | 'emissivity' | 'reflected';
  readonly standard: number;
}
/** Lines, their root sum of squares, and twice that, about 95 %. */
export interface Budget {
  readonly lines: readonly BudgetLine[];
  readonly combined: number;
  readonly expanded: number;
}

/**
 * The budget of a temperature read by an imager (GUM 5.1.2), with the sensitivities of the state equation.
 * @returns null where the emissivity is no share above 0, or a temperature is none.
 * @example budgetOf({ trueC: 80, emissivity: 0.95, reflectedC: 20, emissivityUncertainty: 0.02, reflectedUncertainty: 2 })?.combined // 1.62
 */
export function budgetOf(input: BudgetInput): Budget | null {
  const sensitivities = sensitivitiesAt(input.trueC, input);
  if (sensitivities === null) return null;
  const lines: BudgetLine[] = [
    { term: 'instrument', standard: input.instrument ?? instrumentUncertainty(input.trueC) },
    { term: 'repeat', standard: input.repeat ?? REPEAT_K },
    {
      term: 'emissivity',
      standard: Math.abs(sensitivities.emissivity) * (input.emissivityUncertainty ?? EMISSIVITY_UNCERTAINTY.table),
    },
    {
      term: 'reflected',
      standard: Math.abs(sensitivities.reflected) * (input.reflectedUncertainty ?? REFLECTED_UNCERTAINTY_K.indoors),
    },
  ];
  const combined = Math.hypot(...lines.map(({ standard }) => standard));
  return { lines, combined, expanded: 2 * combined };
}

/**
 * Standard uncertainty of the difference of two temperatures of one instrument, u² = 2·u_i²·(1 − r) + 2·u_r² (GUM 5.2.2).
 * @param shared correlation r of the instrument's error, 0.9 in one picture of like surfaces; taken as 0 to 1.
 * @example differenceUncertainty(1.1547) // 0.876
 */
export const differenceUncertainty = (instrument: number, shared = SHARED, repeat = REPEAT_K): number =>
  Math.sqrt(2 * instrument ** 2 * (1 - Math.min(1, Math.max(0, shared))) + 2 * repeat ** 2);
