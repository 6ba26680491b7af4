/** Something that may have been merged into another. */
export interface Mergeable {
  readonly id: string;
  /** Id of the one it is the same as; null: it stands for itself. */
  readonly sameAs: string | null;
}

/**
 * The one that stands for a merged one: follows "same as" to its end.
 * @param find by id; undefined for one that is not at hand, whose id is then the answer.
 * @returns an id. Should old data hold a circle, the smallest id in it, the same from wherever it is entered. O(length of the chain).
 * @example headOf('a', (id) => ({ a: { id: 'a', sameAs: 'b' } })[id]) // 'b'
 */
export function headOf(id: string, find: (id: string) => Mergeable | undefined): string {
  const path: string[] = [];
  let here = id;
  while (!path.includes(here)) {
    path.push(here);
    const next = find(here)?.sameAs ?? null;
    if (next === null) return here;
    here = next;
  }
  return path.slice(path.indexOf(here)).sort()[0]!;
}

/**
 * Where a merge leads: the head of the target, or null where it would come back to the one that is merged.
 * @example mergeTarget('a', 'a', () => undefined) // null
 */
export function mergeTarget(id: string, targetId: string, find: (id: string) => Mergeable | undefined): string | null {
  const head = headOf(targetId, find);
  return head === id || headOf(id, find) === head ? null : head;
}
