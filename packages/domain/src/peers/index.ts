/**
 * Like components against each other, from the first visit on: robust scores of many like values, and the faulty ones among components
 * at different loads.
 * Hides the model of their scatter. Always holds: nothing needs a history; fewer than three are not compared; the order given
 * does not matter; every answer is finite or null.
 */
export * from './modified-z.ts';
export * from './stand-out.ts';
