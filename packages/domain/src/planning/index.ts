/**
 * Planning: by when something must be answered and repaired, how much risk it carries, what comes first, and which shutdown window
 * is the last sensible one.
 * Hides the tables behind due dates and clocks, working days, and how a range of dates becomes a probability. Always holds: days
 * are days of the site's calendar; every default is data that an organisation may replace; an ordinal number is compared, never
 * added up or averaged.
 */
export * from './clocks.ts';
export * from './due.ts';
export * from './interval.ts';
export * from './next-of-point.ts';
export * from './queue.ts';
export * from './risk.ts';
export * from './windows.ts';
