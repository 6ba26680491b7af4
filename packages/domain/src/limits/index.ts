/**
 * Limits: which sets may be kept, which version judges a time, when a limit counts as reached.
 * Hides versions and the closure of the classes in standards. Always holds: a kept set has a source, a reason and a strict
 * order; exactly one version of each side of a criterion judges a reading, the same whatever the order of the versions.
 */
export * from './check.ts';
export * from './holds.ts';
export * from './in-force.ts';
export * from './reached.ts';
export * from './types.ts';
