/**
 * Radiometry: what an imager receives, and the temperature that follows from it.
 * Hides Planck's law in a band and its inversion. Always holds: seen and true temperature lead back to each other; where the signal
 * is weaker than what surrounds the object sends, there is no temperature, never an invented one.
 */
export * from './black-body.ts';
export * from './emissivity.ts';
export * from './optics.ts';
export * from './state-equation.ts';
