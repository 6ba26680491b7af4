/**
 * Cooling: recoolers against the air they work with, and gases behind their compression.
 * Hides Stull's fit of the wet bulb and the limits of the trade. Always holds: outside its range a function answers null.
 */
export * from './discharge.ts';
export * from './tower.ts';
