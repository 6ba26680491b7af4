/**
 * Templates: what a new asset of a class starts with: points, spots, hazards, and limits with source and reason.
 * Hides the figures of the general library. Always holds: every template passes the checks a person's own limits must pass;
 * a figure without a standard says so in its source.
 */
export * from './apply.ts';
export * from './library.ts';
export * from './types.ts';
