/**
 * Points: what is measured, which fields a person fills in for it, and how the figure comes from the raw inputs.
 * Hides the entry form of each quantity, the comparison of like parts under unequal currents and the question about unlikely
 * values. Always holds: nothing is guessed for a missing input, the missing one is named; every figure is finite or null.
 */
export * from './inputs.ts';
export * from './measure.ts';
export * from './plausible.ts';
export { curveAt } from './quantities/below-curve.ts';
export { criterionFits, plainUnitOf, restsOnBase, unitOfCriterion, WITH_PARTS } from './quantities/index.ts';
export * from './true-settings.ts';
export * from './types.ts';
