/** Limits of the campus, each figure with its source and with the words of the estates department for it. */
import type { CriterionKind } from '@heatround/domain';
import type { LimitDraft } from '../limits/index.ts';

export type LimitWords = Omit<LimitDraft, 'id' | 'validFrom'>;
type Figures = readonly [watch: number, plan: number, soon: number, now: number];

const limits =
  (criterion: CriterionKind, direction: 'high' | 'low', source: string, reason: string) =>
  ([watch, plan, soon, now]: Figures): LimitWords => ({
    criterion,
    direction,
    watch,
    plan,
    soon,
    now,
    source,
    reason,
    reviewOn: null,
    origin: 'point',
  });

/** Rise of terminals and clips over the room air. */
export const terminalRise = limits(
  'rise-over-ambient',
  'high',
  'IEC 61439-1, table 6: 70 K at terminals for external insulated conductors',
  'The insulation at the lug does not recover from heat, so the steps before 70 K leave 15, 30 and 40 K.',
)([30, 40, 55, 70]);

/** Difference between phases under like load. */
export const phaseDifference = limits(
  'like-part-difference',
  'high',
  'ANSI/NETA MTS, table 100.18, with 8 and 30 K by site practice',
  'Like current, like temperature; wider steps than the table, since at night few ways carry a load to compare with.',
)([3, 8, 15, 30]);

/** Motor frame over its own figure at like load. */
export const frameOverBase = limits(
  'above-base',
  'high',
  'IEC 60034-1 and IEC 60085, class F, with steps by site practice',
  'At like load a sound motor comes back to its base; 10 K are allowed because class F machines run here as class B.',
)([10, 15, 25, 35]);

/** Housing of a grease-lubricated bearing. */
export const bearingTemperature = limits(
  'absolute',
  'high',
  'common practice for grease-lubricated bearings, no standard',
  'Above 70 °C grease lasts half as long for every 15 K more.',
);

/** Vibration velocity of medium machines on a rigid base. */
export const vibrationVelocity = limits(
  'absolute',
  'high',
  'Plan and Soon: ISO 20816-3, medium machines on a rigid base; Watch and Now: site practice',
  'From 2.8 mm/s not meant for long running, from 4.5 mm/s harmful; watched from two thirds of the first on, and Now at 7.1 mm/s, where the maker’s guard trips.',
)([1.8, 2.8, 4.5, 7.1]);

/** Seal housing of the boiler feed pumps. */
export const sealHousing = limits(
  'absolute',
  'high',
  'maker’s sheet of the seal: 125 °C at the housing',
  'The faces run on a film of feed water that is near boiling away there; the steps before it are 10 K each.',
)([95, 105, 115, 125]);

/** Hot water leaving the store. */
export const hotWaterFlow = limits(
  'absolute',
  'low',
  'CEN/TR 16355 and the national hygiene rule: 60 °C stored',
  'Legionella grow in cooler water; exactly 60 °C has no margin left, 61 °C is that margin.',
)([61, 60, 57, 55]);

/** Circulation coming back to the store. */
export const hotWaterReturn = limits(
  'absolute',
  'low',
  'CEN/TR 16355 and the national hygiene rule: 55 °C in the return',
  'Below it some stretch of pipe is cooler still; exactly 55 °C has no margin left, 57 °C is that margin.',
)([57, 55, 53, 50]);

/** Warm side over hot water at the plates. */
export const exchangerApproach = limits(
  'absolute',
  'high',
  'commissioning sheet of the plates: 3 K when clean',
  'Scale on the plates needs a warmer heating side for the same hot water and costs fuel.',
)([5, 7, 10, 14]);

/** Cooling water leaving a recooler, over what it was designed for at the air of the day. */
export const recoolerApproach = limits(
  'absolute',
  'high',
  'commissioning sheet of the recoolers',
  'Every kelvin more costs the chiller three per cent; 8 K over design and it trips on a hot day.',
)([2, 3, 5, 8]);

/** What the gearbox bearing of the ironer was allowed before its grease was known. */
export const gearboxBearingFirst = {
  ...bearingTemperature([75, 85, 92, 100]),
  source: 'commissioning sheet of the drive',
  reason: 'As handed over: 75 °C was seen at the end of the trial run and taken as usual.',
};

/** The same bearing since somebody looked at the sheet of the grease. */
export const gearboxBearingLowered: LimitWords = {
  ...bearingTemperature([70, 80, 90, 100]),
  source: 'data sheet of the grease in use',
  reason: 'Lowered from 75, 85, 92 and 100 °C, since this grease lives half as long for every 15 K above 70 °C.',
  reviewOn: '2026-07-31',
};
