import { CRITERIA, type LimitSet } from './types.ts';

/** The version that judges a reading. */
export interface LimitInForce {
  readonly set: LimitSet;
  /** The reading is older than the first version, so that the first version judges it; its sentence says so. */
  readonly backdated: boolean;
}

/**
 * The limit version of each criterion that is valid at a time: the newest validFrom not after it, ties by the higher version.
 * A reading older than every version is judged by the first one and marked, since imported history must be judged by something
 * and a judgement by a stated later limit is more honest than none.
 *
 * @param sets all versions, any order.
 * @param at epoch milliseconds.
 * @returns at most one per criterion, in the order of CRITERIA.
 */
export function limitsInForce(sets: readonly LimitSet[], at: number): LimitInForce[] {
  const inForce: LimitInForce[] = [];
  for (const criterion of CRITERIA) {
    let newest: LimitSet | null = null;
    let first: LimitSet | null = null;
    for (const set of sets) {
      if (set.criterion !== criterion) continue;
      if (set.validFrom <= at && (newest === null || isLater(set, newest))) newest = set;
      if (first === null || set.validFrom < first.validFrom || (set.validFrom === first.validFrom && isLater(set, first)))
        first = set;
    }
    const set = newest ?? first;
    if (set !== null) inForce.push({ set, backdated: newest === null });
  }
  return inForce;
}

function isLater(a: LimitSet, b: LimitSet): boolean {
  if (a.validFrom !== b.validFrom) return a.validFrom > b.validFrom;
  if (a.version !== b.version) return a.version > b.version;
  return a.id > b.id;
}
