import type { CouldNotRead } from '@heatround/domain';

/** Spoken answers of a stop that gave no value. */
export const COULD_NOT_WORDS: Readonly<Record<CouldNotRead, { readonly word: string; readonly what: string }>> = {
  'not-running': { word: 'Not running', what: 'it stands or is switched off' },
  'no-way-in': { word: 'No way in', what: 'locked, blocked, no key' },
  unsafe: { word: 'Unsafe', what: 'I will not go there' },
  'instrument-trouble': { word: 'Instrument trouble', what: 'broken, empty, not here' },
  'left-out': { word: 'Left out', what: 'another reason, in words' },
};
