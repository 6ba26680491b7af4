/**
 * Tags: what people read off the plate. Two tags are the same when nothing but case, blanks or the way a letter is encoded tells
 * them apart. O and 0 stay different letters; `looksLike` finds such pairs so that a person can be asked.
 */

/**
 * Comparison key of a tag.
 * @example tagKey(' b-iro-01') === tagKey('B-IRO-01') // true
 */
export function tagKey(tag: string): string {
  return tag
    .normalize('NFKC')
    .replace(/[\s\p{Cf}]+/gu, '')
    .toUpperCase()
    .toLowerCase();
}

/** Key under which easily confused tags fall together: O and 0, I, L and 1, dashes and underscores. @example looksLike('B-IR0-0l') === looksLike('B-IRO-01') // true */
export function looksLike(tag: string): string {
  return tagKey(tag)
    .replace(/o/g, '0')
    .replace(/[il]/g, '1')
    .replace(/[‐-―−_]/g, '-');
}

/**
 * The words by which something is found: lower case, without accents, split at blanks; a tag gives its pieces as well.
 * @example searchWords('B-IRO-01 Ironer') // ['b-iro-01', 'b', 'iro', '01', 'ironer']
 */
export function searchWords(text: string): string[] {
  const plain = text
    .normalize('NFKD')
    .replace(/[\p{M}\p{Cf}]/gu, '')
    .toLowerCase();
  const found = new Set<string>();
  for (const token of plain.split(/[\s,;:()/]+/u)) {
    if (!token) continue;
    found.add(token.slice(0, 60));
    for (const piece of token.split(/[^\p{L}\p{N}]+/u)) if (piece) found.add(piece.slice(0, 60));
  }
  return [...found];
}
