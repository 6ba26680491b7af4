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
  'Brought to full load, Now is the 70 K the terminals are built for. 55, 40 and 30 K keep distance from it, because insulation that was once too hot does not recover.',
)([30, 40, 55, 70]);

/** Difference between phases under like load. */
export const phaseDifference = limits(
  'like-part-difference',
  'high',
  'ANSI/NETA MTS, table 100.18, for 3 and 15 K; 8 and 30 K are site practice',
  'Three conductors with the same current share one temperature, so a difference is a joint that heats by itself. The estates department chose 3, 8, 15 and 30 K in place of the narrower general steps: at night there are few spares and little load to compare with.',
)([3, 8, 15, 30]);

/** Motor frame over its own figure at like load. */
export const frameOverBase = limits(
  'above-base',
  'high',
  'IEC 60034-1 and IEC 60085, insulation class F; the steps are site practice',
  'At like load a sound motor comes back to the same frame temperature; what is above it is dirt, overload or the winding. The estates department allows 10 K before the first grade, since class F machines run here at the temperatures of class B.',
)([10, 15, 25, 35]);

/** Housing of a grease-lubricated bearing. */
export const bearingTemperature = limits(
  'absolute',
  'high',
  'common practice for grease-lubricated bearings, no standard',
  'Above 70 °C grease lasts half as long for every 15 K more. At 100 °C on the housing the ring inside is past what its grease bears.',
);

/** Vibration velocity of medium machines on a rigid base. */
export const vibrationVelocity = limits(
  'absolute',
  'high',
  'ISO 20816-3, medium machines on a rigid base, for 2.8 and 4.5 mm/s; Now is the trip of the maker',
  'From 2.8 mm/s a machine is not meant to run for long, from 4.5 mm/s it harms itself. 1.8 mm/s gives a first warning; the estates department put Now at 7.1 mm/s, where the guard the maker built in trips by itself.',
)([1.8, 2.8, 4.5, 7.1]);

/** Seal housing of the boiler feed pumps. */
export const sealHousing = limits(
  'absolute',
  'high',
  'sheet of the seal’s maker: 125 °C at the housing',
  'The faces run on a film of feed water. The hotter the housing, the nearer that film is to boiling away; 125 °C is where the maker ends the promise, the steps below it are 10 K each.',
)([95, 105, 115, 125]);

/** Hot water leaving the store. */
export const hotWaterFlow = limits(
  'absolute',
  'low',
  'CEN/TR 16355 and the national hygiene rule: 60 °C stored',
  'Legionella grow in water that is kept too cool. Exactly 60 °C has no margin left and counts as reached; 61 °C is that margin.',
)([61, 60, 57, 55]);

/** Circulation coming back to the store. */
export const hotWaterReturn = limits(
  'absolute',
  'low',
  'CEN/TR 16355 and the national hygiene rule: 55 °C in the return',
  'A return below 55 °C means a stretch of pipe somewhere that is cooler still. Exactly 55 °C counts as reached; 57 °C is the margin the estates department wants to keep.',
)([57, 55, 53, 50]);

/** Warm side over hot water at the plates. */
export const exchangerApproach = limits(
  'absolute',
  'high',
  'commissioning figures of the plates, 3 K when clean; the steps are site practice',
  'Scale on the plates needs a warmer heating side for the same hot water, which costs fuel long before anybody misses the heat.',
)([5, 7, 10, 14]);

/** What the gearbox bearing of the ironer was allowed before its grease was known. */
export const gearboxBearingFirst = {
  ...bearingTemperature([75, 85, 92, 100]),
  source: 'commissioning sheet of the drive',
  reason:
    'As handed over: 75 °C was seen at the end of the trial run and taken as usual; 100 °C is the end of the scale on the sheet.',
};

/** The same bearing since somebody looked at the sheet of the grease. */
export const gearboxBearingLowered: LimitWords = {
  ...bearingTemperature([70, 80, 90, 100]),
  source: 'data sheet of the grease in use; above 70 °C common practice for grease-lubricated bearings',
  reason:
    'Lowered from 75, 85, 92 and 100 °C: the grease in this bearing is a multi-purpose one whose sheet halves its life for every 15 K above 70 °C. The old figures allowed weeks at a temperature at which it lasts a quarter of its time.',
  reviewOn: '2026-07-31',
};
