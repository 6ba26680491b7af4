/** What is measured at a point. The quantity decides the entry form, the criterion and how the reading is computed. */
export const QUANTITIES = [
  'temperature',
  'rise-over-ambient',
  'like-part-difference',
  'above-base',
  'approach',
  'vibration-velocity',
  'sound-level',
  'pressure',
  'voltage',
  'spread',
  'effectiveness',
  'steam-trap',
  'over-cooling-air',
  'over-wet-bulb',
  'discharge-over-calculated',
  'over-dew-point',
  'surface-humidity',
  'voltage-unbalance',
  'current-unbalance',
  'current-of-rated',
  'insulation-resistance',
  'below-curve',
  'neighbour-difference',
  'pressure-loss',
  'filling-level',
] as const;
export type Quantity = (typeof QUANTITIES)[number];

/** Which physics the load correction and the minimum load follow. */
export const LOAD_FAMILIES = ['electrical', 'thermal-machine', 'none'] as const;
export type LoadFamily = (typeof LOAD_FAMILIES)[number];

/** Raw: the figure as read. Corrected: the figure at the point's reference load. */
export type Basis = 'raw' | 'corrected';

/** A condition that a person enters beside the inputs, each with its canonical unit. */
export const CONDITION_NAMES = [
  'load', // % of rated
  'current', // A
  'ambient', // °C
  'emissivity', // 1
  'reflected', // °C
  'distance', // m
  'angle', // ° from the normal
  'minutesRunning', // min
  'outdoor', // °C
  'speed', // 1/min
  'hoursSinceRegreasing', // h
  'humidity', // % of saturation
  'steamPressure', // bar above the air
  'returnPressure', // bar above the air
  'irradiance', // W/m²
  'wind', // m/s
  'pictureElement', // mrad
  'trueEmissivity', // 1
  'trueReflected', // °C
] as const;
export type ConditionName = (typeof CONDITION_NAMES)[number];

export const CRITICALITIES = ['A', 'B', 'C'] as const;
export type Criticality = (typeof CRITICALITIES)[number];

/** A measurement point as the verdict needs it: the same object on the phone and on the server. */
export interface Point {
  readonly id: string;
  /** Short letter within the asset: a, b, c … */
  readonly letter: string;
  readonly name: string;
  readonly quantity: Quantity;
  /** Canonical unit of the quantity, see units. */
  readonly unit: string;
  readonly decimals: number;
  readonly loadFamily: LoadFamily;
  readonly basis: Basis;
  /** Load, in % of rated, at which readings are compared. 100 unless the point states another. */
  readonly referenceLoadPercent: number;
  /** Below this load a reading is not judged. */
  readonly minimumLoadPercent: number;
  /** Exponent n of rise ∝ (load)^n. */
  readonly loadExponent: number;
  readonly ratedCurrentA: number | null;
  /** Ambient to which trends are brought; null: the median of the readings. */
  readonly referenceAmbientC: number | null;
  /** Emissivity to be set on the imager; null when the quantity is not read by infrared or no target was ever fixed on bare metal. */
  readonly emissivity: number | null;
  /** True when the point is read by infrared, so that emissivity counts. */
  readonly infrared: boolean;
  /** Conditions a person must give for the reading to be comparable. */
  readonly needs: readonly ConditionName[];
  /** Names of the like parts (L1, L2, L3 …) for a difference; empty otherwise. */
  readonly parts: readonly string[];
  /** Ids of the points it is compared with on the same visit: its twin, or its neighbours on one header. */
  readonly twins: readonly string[];
  /** Smallest width of what is aimed at, mm; null: not known, so that no reading is too far away. */
  readonly targetMm: number | null;
  /** Range of a cooler at its rated load, K, from which the load of a reading follows; null where the load is entered. */
  readonly ratedRangeK: number | null;
  /** Isentropic exponent of the gas of a compressor; null: air. */
  readonly gasExponent: number | null;
  /** Bore of the orifice of a steam trap, mm, and what a tonne of its steam costs; null: not known. */
  readonly orificeMm: number | null;
  readonly steamPricePerTonne: number | null;
  /** Acceptance or maker's curve: [at, value], the first ascending; straight in between, nothing beyond. Empty without one. */
  readonly curve: readonly (readonly [at: number, value: number])[];
  /** Base of the figure as it stands by itself, canonical unit of that figure; null until learned or given. */
  readonly base: { readonly value: number; readonly state: 'provisional' | 'confirmed' } | null;
  /** Fire pumps and the like: level 2 and above counts one grade higher. */
  readonly lifeSafety: boolean;
  /** Sealed bearings stay warm longer after regreasing: hours during which readings are not judged after work on the lubrication. */
  readonly regreasingGateHours: number;
  /** Standard uncertainty of the quantity, canonical unit; null: the default of the quantity. */
  readonly uncertainty: number | null;
}
