/**
 * The computation of Heatround: from raw inputs to a verdict, from a history to a time to limit.
 * Pure and browser-safe: no clock, no randomness, no input or output; the phone and the server run the same functions.
 */
export * from './cautions/index.ts';
export * from './cooling/index.ts';
export * from './electrical/index.ts';
export * from './envelope/index.ts';
export * from './facts/types.ts';
export * from './findings/index.ts';
export * from './heat/index.ts';
export * from './history/index.ts';
export * from './ids/index.ts';
export * from './limits/index.ts';
export * from './numbers/index.ts';
export * from './peers/index.ts';
export * from './planning/index.ts';
export * from './points/defaults.ts';
export * from './points/index.ts';
export * from './problem.ts';
export * from './projection/diary.ts';
export * from './projection/index.ts';
export * from './radiometry/index.ts';
export * from './rights/index.ts';
export * from './rotating/index.ts';
export * from './rounds/index.ts';
export * from './steam/index.ts';
export * from './tags/index.ts';
export * from './templates/index.ts';
export * from './time/index.ts';
export * from './trend/index.ts';
export * from './uncertainty/index.ts';
export * from './units/index.ts';
export * from './verdict/index.ts';
export * from './verdict/severity.ts';
export * from './version.ts';
export * from './vibration/index.ts';
export * from './work-orders/index.ts';
