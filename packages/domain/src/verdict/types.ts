import type { CriterionKind, Grade, LimitGrade } from '../limits/types.ts';
import type { Basis } from '../points/types.ts';

/** Why a reading cannot be compared, most important first. */
export const GATES = [
  'not-running',
  'quantity-missing', // an input of the quantity is missing, for instance the like part
  'load-missing',
  'load-too-low',
  'load-too-high',
  'ambient-missing',
  'base-missing',
  'emissivity-unreliable',
  'target-too-small',
  'not-steady',
  'after-regreasing',
  'sun-too-weak',
  'too-windy',
  'difference-too-small', // too little between two temperatures to tell anything from
  'twin-missing',
  'nothing-before', // no comparable reading to compare with
] as const;
export type Gate = (typeof GATES)[number];

/** Marks that do not block the judgement but are always shown. */
export const NOTES = [
  'emissivity-reduced',
  'calibration-expired',
  'instrument-changed',
  'wind',
  'angle',
  'room-not-machine', // a raw limit is reached only because the air is warm
  'twin-worse', // its twin is as far above it as its own limits allow it to be above the twin
] as const;
export type Note = (typeof NOTES)[number];

export type Comparability = 'like-for-like' | 'corrected' | 'not-judged';

/** The criterion that decided, with everything its sentence needs. */
export interface Because {
  readonly criterion: CriterionKind;
  readonly basis: Basis;
  /** Canonical unit of the figure compared. */
  readonly unit: string;
  /** The figure compared with the limits. */
  readonly value: number;
  /** The figure as read, before load correction; equal to value when nothing was corrected. */
  readonly rawValue: number;
  /** The figure as the imager showed it, where a correction brought it to the true emissivity or reflection; else null or absent. */
  readonly asRead?: number | null | undefined;
  /** Values at the two ends of the exponent band, n ± 0.2 (1.6 … 2.0 electrical); null when nothing was corrected. */
  readonly band: readonly [number, number] | null;
  /** The limit reached, or, when Fine, the first limit ahead. Null when the criterion has no limits. */
  readonly limitGrade: LimitGrade | null;
  readonly limit: number | null;
  readonly direction: 'high' | 'low';
  readonly source: string;
  readonly reason: string;
  readonly limitSetId: string | null;
  readonly limitVersion: number | null;
  /** Standard uncertainty, same unit. */
  readonly uncertainty: number;
  /** True when relative evidence of the general library was capped at Plan. */
  readonly capped: boolean;
}

/** All of a verdict but its sentence: a grade or Not judged (grade null), and how comparable the reading is. */
export interface Judgement {
  readonly grade: Grade | null;
  readonly comparability: Comparability;
  /** A bad value seen under low load or on too small a target: the grade is a lower bound. */
  readonly atLeast: boolean;
  /** A bad value seen under another gate: check this first. */
  readonly check: Gate | null;
  /** First blocking gate; null when the reading is comparable. */
  readonly gate: Gate | null;
  readonly notes: readonly Note[];
  /** False: close to the limit, within the uncertainty of the reading. Says nothing (false) while there is no grade. */
  readonly firm: boolean;
  readonly because: Because | null;
}

/** The answer at the stop: the judgement, and why in words. */
export interface Verdict extends Judgement {
  /** One plain sentence with value, limit and source. */
  readonly sentence: string;
}
