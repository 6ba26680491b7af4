/**
 * Rotating machines: bearings by temperature, grease and rating life, windings and their ageing. Vibration has a folder of its own.
 * Hides the tables. Always: a figure of planning or a guess from outside never clears a machine.
 */
export * from './bearings.ts';
export * from './windings.ts';
