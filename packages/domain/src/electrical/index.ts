/**
 * Electrical thermography: classes of a rise, its correction to another load, and the least load.
 * Hides the closure of the gaps in printed tables. Always: a class exists for every finite rise; nothing is corrected without
 * two currents. The figures are defaults of the general library; a point's own limits go first. Verdict, points and templates
 * take theirs from here, so that a check of this folder is a check of what judges.
 */

export type SimilarClass = 'none' | 'similar-1' | 'similar-2' | 'similar-4';
export type AmbientClass = 'none' | 'ambient-1' | 'ambient-2' | 'ambient-3' | 'ambient-4';
export type NavyClass = 'none' | 'desirable' | 'important' | 'mandatory' | 'immediate';

/**
 * ANSI/NETA ATS and MTS, table 100.18, rise over a similar part: where the first class begins, and upper ends of the classes, K.
 * Printed as whole bins; gaps close upwards (own rule).
 */
export const SIMILAR_K = { least: 1, first: 3, second: 15 } as const;
/** The same table, rise over the air. */
export const AMBIENT_K = { least: 1, first: 10, second: 20, third: 40 } as const;
/** MIL-STD-2194(SH): lower ends of the classes, K. */
const NAVY_K = { desirable: 10, important: 25, mandatory: 40, immediate: 70 } as const;

/** Usual exponent of the load correction, between 1.6 (natural convection) and 2 (constant film): n = 2/(1 + m) for h ~ ΔT^m. */
export const LOAD_EXPONENT = 1.8;
/** The exponent is known no better than this on either side. */
export const EXPONENT_BAND = 0.2;
/** A rise is never brought to more than this multiple of the load it was read at (common practice, no source). */
export const MOST_LOAD_RATIO = 2.5;
/** NFPA 70B and NETA survey practice: at least 40 % of rated load. */
export const LEAST_LOAD_PERCENT = 40;

/**
 * Class of a rise over a similar part under similar load. ANSI/NETA MTS table 100.18.
 * @param riseK any finite number; below 1 K, or not a number, is no class.
 * @example gradeSimilar(3.6) // 'similar-2'
 */
export function gradeSimilar(riseK: number): SimilarClass {
  if (!(riseK >= SIMILAR_K.least)) return 'none';
  if (riseK <= SIMILAR_K.first) return 'similar-1';
  return riseK <= SIMILAR_K.second ? 'similar-2' : 'similar-4';
}

/**
 * Class of a rise over the ambient air. ANSI/NETA MTS table 100.18. Every loaded part runs some kelvin above ambient, so the
 * first class only informs.
 * @param riseK any finite number; below 1 K, or not a number, is no class.
 * @example gradeAmbient(30) // 'ambient-3'
 */
export function gradeAmbient(riseK: number): AmbientClass {
  if (!(riseK >= AMBIENT_K.least)) return 'none';
  if (riseK <= AMBIENT_K.first) return 'ambient-1';
  if (riseK <= AMBIENT_K.second) return 'ambient-2';
  return riseK <= AMBIENT_K.third ? 'ambient-3' : 'ambient-4';
}

/**
 * Class of a rise on the optional military scale. MIL-STD-2194(SH), as quoted in secondary lists.
 * @param riseK any finite number; below 10 K, or not a number, is no class.
 * @example gradeNavy(30) // 'important'
 */
export function gradeNavy(riseK: number): NavyClass {
  if (!(riseK >= NAVY_K.desirable)) return 'none';
  if (riseK < NAVY_K.important) return 'desirable';
  if (riseK < NAVY_K.mandatory) return 'important';
  return riseK < NAVY_K.immediate ? 'mandatory' : 'immediate';
}

/**
 * A rise brought to another load: rise · (to/from)^n (common practice). Currents or percentages, since only their ratio counts,
 * which is capped at MOST_LOAD_RATIO; with an exponent of their own also for machines.
 * @param rise at the load of the reading, in K or whatever follows the load.
 * @param exponent 1.6 to 2 for electrical parts.
 * @returns the rise in its unit, or null when a load is missing, zero or negative, or the result is no finite number.
 * @example loadCorrect(10, 50, 100, 2) // 40
 */
export function loadCorrect(
  rise: number,
  from: number | null,
  to: number | null,
  exponent: number = LOAD_EXPONENT,
): number | null {
  if (from === null || to === null || !(from > 0) || !(to > 0)) return null;
  const corrected = rise * Math.min(to / from, MOST_LOAD_RATIO) ** exponent;
  return Number.isFinite(corrected) ? corrected : null;
}

/**
 * May a reading at this load be judged?
 * @param leastPercent of rated; left out, that of electrical parts.
 * @example loadGate(30) // 'load-too-low'
 */
export function loadGate(
  loadPercent: number | null,
  leastPercent: number = LEAST_LOAD_PERCENT,
): 'ok' | 'load-missing' | 'load-too-low' {
  if (loadPercent === null || !Number.isFinite(loadPercent)) return 'load-missing';
  return loadPercent < leastPercent ? 'load-too-low' : 'ok';
}
