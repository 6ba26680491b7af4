/** Classes of a rise, as tables of the trade print them. Always: a class exists for every finite rise. */

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
