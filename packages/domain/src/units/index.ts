/**
 * Units: which ones exist, how a value goes from one to another, and how typed text becomes a canonical value.
 * Hides factors and offsets, spellings, scripts and separators. Always holds: a temperature (°C, °F) is never turned into
 * a difference (K, Δ°F) or back; a parsed value is finite and inside what its kind can be; a refusal says what was expected
 * and gives an example.
 */
export * from './entry.ts';
export * from './say.ts';
export * from './units.ts';
