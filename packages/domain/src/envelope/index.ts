/**
 * The envelope of a building and the moist air at it: dew point, humidity at a surface, factor of a surface, what they say together.
 * Hides the equations of ISO 13788 and of Magnus. Always holds: a snapshot is an indication; outside its range a function
 * answers null, and what cannot be told is no grade.
 */
export * from './moist-air.ts';
export * from './surface.ts';
