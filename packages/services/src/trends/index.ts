/**
 * What follows from the facts of a point: verdict, trend, time to limit. A job is only a hint; the truth about what is due stands
 * in the database (revision > concluded), raised there with every fact, correction, work and limit, and the sweep finds it.
 * Concluding twice, late or by two workers at once changes nothing; every forecast also goes to the diary as it was given.
 */
export { findClassesToLearn, learnClassesJob } from './class-noise.job.ts';
export { type ConclusionContext, concludePointJob, concludePoints, concludePointsJob } from './conclude-points.job.ts';
export { type ForecastView, listForecasts } from './forecasts.ts';
export { hitRates } from './outcomes.ts';
export { findDueConclusions, findDuePoints, oldestDueSeconds } from './sweep.ts';
export { tryLimitsAt } from './try-limits.ts';
