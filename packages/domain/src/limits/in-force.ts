import { holdsAt, sideOf } from './holds.ts';
import { CRITERIA, LIMIT_GRADES, type LimitSet } from './types.ts';

/** The version that judges a reading. */
export interface LimitInForce {
  readonly set: LimitSet;
  /** The reading is older than the first version, so that the first version judges it; its sentence says so. */
  readonly backdated: boolean;
}

/** Has this version any figure? One without withdraws its side. */
export const hasFigures = (set: Pick<LimitSet, 'watch' | 'plan' | 'soon' | 'now'>): boolean =>
  LIMIT_GRADES.some((grade) => set[grade] !== null);

/**
 * The limit versions that are valid at a time, one per side of a criterion: the newest validFrom not after it, ties by the
 * higher version. Seasons that do not hold on the day and sides that were withdrawn are left out.
 * A reading older than every version of a criterion is judged by its first ones and marked, since imported history must be judged by
 * something and a judgement by a stated later limit is more honest than none.
 *
 * @param sets all versions, any order.
 * @param at epoch milliseconds.
 * @returns in the order of CRITERIA, upper sides before lower ones.
 */
export function limitsInForce(sets: readonly LimitSet[], at: number): LimitInForce[] {
  const inForce: LimitInForce[] = [];
  for (const criterion of CRITERIA) {
    const own = sets.filter((set) => set.criterion === criterion);
    const begun = own.filter((set) => set.validFrom <= at);
    const backdated = begun.length === 0;
    const beginning = backdated ? Math.min(...own.map((set) => set.validFrom)) : 0;
    const sides = new Map<string, LimitSet>();
    for (const set of backdated ? own.filter(({ validFrom }) => validFrom === beginning) : begun) {
      const side = sideOf(set);
      const before = sides.get(side);
      if (before === undefined || isLater(set, before)) sides.set(side, set);
    }
    for (const side of [...sides.keys()].sort()) {
      const set = sides.get(side)!;
      if (hasFigures(set) && holdsAt(set.holds, at)) inForce.push({ set, backdated });
    }
  }
  return inForce;
}

function isLater(a: LimitSet, b: LimitSet): boolean {
  if (a.validFrom !== b.validFrom) return a.validFrom > b.validFrom;
  if (a.version !== b.version) return a.version > b.version;
  return a.id > b.id;
}
