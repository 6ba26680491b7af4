/**
 * Steam: its saturation line, traps judged by temperature, and what a trap that stays open loses and costs.
 * Hides the equations of IAPWS and the change between gauge and absolute pressure. Always holds: what temperature cannot prove is
 * said; a loss is an estimate with a range; outside its range a function answers null.
 */
export * from './loss.ts';
export * from './saturation.ts';
export * from './trap.ts';
