/**
 * History: what follows from all facts of a point together, and how it is said.
 * Hides which readings may be compared, what work resets, how a grade falls, how a base is learned, and what the estimator is
 * fed with. Always holds: the same facts in any order give the same conclusion; only comparable readings enter base, trend and
 * projection; a sentence never promises more than the figures.
 */
export * from './around.ts';
export * from './conclude.ts';
export * from './judge.ts';
export * from './outcomes.ts';
export * from './standing.ts';
export * from './try-limits.ts';
export * from './types.ts';
export * from './wording.ts';
