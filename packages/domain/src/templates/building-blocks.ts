/** What class templates are built from: limits of the general library with source and reason, and points as they are usually read. */

import { LEAST_LOAD_PERCENT, LOAD_EXPONENT, SIMILAR_K } from '../electrical/index.ts';
import type { LimitDraft } from '../limits/check.ts';
import type { CriterionKind } from '../limits/types.ts';
import { REGREASING_GATE_HOURS } from '../rotating/index.ts';
import { velocityBoundaries, vibrationTrip } from '../vibration/index.ts';
import type { TemplatePoint } from './types.ts';

export type Figures = readonly [watch: number | null, plan: number | null, soon: number | null, now: number | null];

export const limits = (
  criterion: CriterionKind,
  [watch, plan, soon, now]: Figures,
  source: string,
  reason: string,
  direction: 'high' | 'low' = 'high',
): LimitDraft => ({ criterion, direction, watch, plan, soon, now, source, reason, origin: 'general' });

export const COMMON = 'common practice, no standard';

export const bearingTemperature = limits(
  'absolute',
  [70, 80, 90, 100],
  COMMON,
  'Above 70 °C grease lasts half as long for every 15 K more; the ring inside is 5 to 10 K hotter than the housing.',
);
/** Any bearing or machine read by its temperature. */
const changeSinceLast = limits(
  'change-since-last',
  [null, 10, 15, null],
  COMMON,
  'A healthy bearing comes back to the same rise over air at like load from visit to visit; a jump is a fault that has begun.',
);
const overTwin = limits(
  'over-twin',
  [8, null, 12, 25],
  COMMON,
  'The two bearings of one machine run alike under like load. From 12 K over its twin it is Plan, and Soon once a second reading agrees.',
);
export const gearboxOil = limits(
  'absolute',
  [80, 90, 100, 110],
  COMMON,
  'Oil in the sump ages fast above 80 °C; a figure of the maker goes before this one.',
);
const frameOverBase = limits(
  'above-base',
  [8, 12, 18, 25],
  COMMON,
  'The frame of a healthy motor comes back to the same figure at the same load and air; more heat is poor cooling, overload or a winding fault.',
);
const frameTemperature = limits(
  'absolute',
  [75, 85, 95, 110],
  COMMON,
  'Insulation class F (IEC 60085) used at the temperatures of class B; the winding is 20 to 30 K hotter than the frame.',
);
const mediumMachine = velocityBoundaries(2, 'rigid');
const mediumMachineVibration = limits(
  'absolute',
  [2.1, mediumMachine.bc, mediumMachine.cd, vibrationTrip(mediumMachine.cd)],
  'ISO 20816-3, medium machines on a rigid base',
  'Plan and Soon are the boundaries B/C and C/D; Now is 1.25 of C/D, the highest trip the standard knows; Watch at three quarters of B/C is common practice. Machines below 15 kW need their own figures.',
);
export const sealOverBase = limits(
  'above-base',
  [15, 25, 35, null],
  COMMON,
  'A seal or gland that runs hotter than it did when it was good runs dry or is drawn too tight.',
);
/** IEC 61439-1, table 6, K. */
const TERMINAL_RISE_K = 70;
export const terminalRise = limits(
  'rise-over-ambient',
  [50, 0.9 * TERMINAL_RISE_K, TERMINAL_RISE_K, 1.2 * TERMINAL_RISE_K],
  'IEC 61439-1, table 6: 70 K at terminals for external insulated conductors',
  'Brought to full load: Plan at 90 %, Soon at 100 %, Now at 120 % of the limit; Watch at 50 K is common practice.',
);
export const phaseDifference = limits(
  'like-part-difference',
  [SIMILAR_K.least, SIMILAR_K.first, null, SIMILAR_K.second],
  'ANSI/NETA MTS, table 100.18',
  'Like parts under like load share one temperature; a difference means a joint, a contact or a fuse clip that heats by itself.',
);
export const hotWaterFlow = limits(
  'absolute',
  [61, 60, 57, 55],
  'CEN/TR 16355 and national hygiene rules: 60 °C at the outlet of the store',
  'Legionella grow below 55 °C. Exactly 60 °C has no margin left, so it counts as reached; Watch is that margin.',
  'low',
);
export const hotWaterReturn = limits(
  'absolute',
  [57, 55, 53, 50],
  'CEN/TR 16355 and national hygiene rules: 55 °C in the circulation return',
  'A return below 55 °C leaves a stretch of pipe in which legionella grow. Exactly 55 °C counts as reached; Watch is margin.',
  'low',
);

/** A bearing read by infrared on the painted housing. */
export const bearing = (letter: string, name: string, spot: string): TemplatePoint => ({
  letter,
  name,
  quantity: 'temperature',
  spot,
  decimals: 1,
  loadFamily: 'thermal-machine',
  basis: 'raw',
  minimumLoadPercent: 50,
  infrared: true,
  emissivity: 0.93,
  needs: ['load', 'ambient'],
  regreasingGateHours: REGREASING_GATE_HOURS.usual,
  limits: [bearingTemperature, changeSinceLast],
});

/** Two bearings of one machine, each compared with the other. */
export const twinBearings = (first: TemplatePoint, second: TemplatePoint): [TemplatePoint, TemplatePoint] => [
  { ...first, twinLetters: [second.letter], limits: [...first.limits, overTwin] },
  { ...second, twinLetters: [first.letter], limits: [...second.limits, overTwin] },
];

export const vibration = (letter: string, name: string, spot: string): TemplatePoint => ({
  letter,
  name,
  quantity: 'vibration-velocity',
  spot,
  decimals: 2,
  infrared: false,
  loadFamily: 'none',
  needs: [],
  regreasingGateHours: 0,
  limits: [mediumMachineVibration],
});

export const frame = (letter: string, name: string): TemplatePoint => ({
  letter,
  name,
  quantity: 'above-base',
  spot: 'Side of the frame at mid-length, between the fins, one metre away, square on.',
  decimals: 1,
  loadFamily: 'thermal-machine',
  basis: 'corrected',
  minimumLoadPercent: 50,
  loadExponent: 1,
  infrared: true,
  emissivity: 0.93,
  needs: ['load', 'ambient'],
  regreasingGateHours: 0,
  limits: [frameOverBase, frameTemperature],
});

export const phases = (letter: string, name: string, spot: string, emissivity: number | null): TemplatePoint => ({
  letter,
  name,
  quantity: 'like-part-difference',
  spot,
  decimals: 1,
  loadFamily: 'electrical',
  basis: 'corrected',
  minimumLoadPercent: LEAST_LOAD_PERCENT,
  loadExponent: LOAD_EXPONENT,
  infrared: true,
  emissivity,
  needs: ['load'],
  parts: ['L1', 'L2', 'L3'],
  regreasingGateHours: 0,
  limits: [phaseDifference],
});

/** Read on the pipe with a contact thermometer, so that neither emissivity nor load plays a part. */
export const pipe = (letter: string, name: string, spot: string, limit: LimitDraft): TemplatePoint => ({
  letter,
  name,
  quantity: 'temperature',
  spot,
  decimals: 1,
  loadFamily: 'none',
  basis: 'raw',
  minimumLoadPercent: 0,
  infrared: false,
  emissivity: null,
  needs: [],
  regreasingGateHours: 0,
  limits: [limit],
});

/** A temperature read by infrared on a painted face of a machine. */
export const temperature = (
  letter: string,
  name: string,
  spot: string,
  own: readonly LimitDraft[],
  over: Partial<TemplatePoint> = {},
): TemplatePoint => ({
  letter,
  name,
  quantity: 'temperature',
  spot,
  decimals: 1,
  loadFamily: 'thermal-machine',
  basis: 'raw',
  minimumLoadPercent: 50,
  infrared: true,
  emissivity: 0.93,
  needs: ['load', 'ambient'],
  regreasingGateHours: 0,
  limits: own,
  ...over,
});

/** A spot judged against what it was when nothing was wrong. */
export const overBase = (letter: string, name: string, spot: string, own: readonly LimitDraft[]): TemplatePoint => ({
  ...temperature(letter, name, spot, own),
  quantity: 'above-base',
});

/** Air or a part against the air around it, by contact. */
export const riseOverAir = (letter: string, name: string, spot: string, own: readonly LimitDraft[]): TemplatePoint => ({
  letter,
  name,
  quantity: 'rise-over-ambient',
  spot,
  decimals: 1,
  loadFamily: 'electrical',
  basis: 'corrected',
  minimumLoadPercent: LEAST_LOAD_PERCENT,
  loadExponent: LOAD_EXPONENT,
  infrared: false,
  emissivity: null,
  needs: ['load'],
  regreasingGateHours: 0,
  limits: own,
});
