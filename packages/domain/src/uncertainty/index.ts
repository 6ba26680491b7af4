/**
 * Uncertainty: how well a temperature, a difference or any figure is known, and what that means beside a limit (GUM, JCGM 100; JCGM 106).
 * Hides how the terms combine. Always holds: everything inside is a standard uncertainty; no term is negative.
 */
export * from './budget.ts';
export * from './limits.ts';
