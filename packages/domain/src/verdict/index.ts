/**
 * The verdict: from one reading and the limits of its time to a grade, its comparability and one sentence.
 * Hides gates, load correction, uncertainty, the combination of criteria and the wording. Always holds: a reading with an open
 * gate has no grade below Plan; a worse figure never gives a better grade; no figure is NaN; the same inputs give the same words.
 */
export * from './assess.ts';
export * from './comparisons.ts';
export * from './correction.ts';
export * from './gates.ts';
export * from './sentence.ts';
export * from './types.ts';
export * from './uncertainty.ts';
