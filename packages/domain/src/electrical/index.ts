/**
 * Electrical parts: classes of a rise, its correction to another load, limits of terminals and conductors, unbalance, insulation.
 * Hides the closure of the gaps in printed tables. The figures are defaults of the general library; a point's own limits go first.
 * Verdict, points and templates take theirs from here, so that a check of this folder is a check of what judges.
 */
export * from './grades.ts';
export * from './insulation.ts';
export * from './load.ts';
export * from './rise-limits.ts';
export * from './unbalance.ts';
