/**
 * Findings: what a verdict of Plan or worse makes, and the answer that is owed to whoever found it.
 * Hides when a finding is new, joins an open one or reaches one already ended, what may be answered by whom, merging, and living
 * with a fault until a date. Always holds: one open finding per point and mode; a verdict adds and never deletes; every answer has
 * a name and a time; merging makes no circle; a refused move changes nothing and names the moves that are open.
 */
export * from './episode.ts';
export * from './finding.ts';
export * from './head.ts';
export * from './moves.ts';
export * from './second-look.ts';
