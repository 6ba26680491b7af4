/**
 * Median; the average of the middle two for an even count. https://en.wikipedia.org/wiki/Median
 *
 * @param values any order, any unit; not changed. Values that are not finite are left out.
 * @returns the median in the unit of the values, or null when no finite value is left. O(n).
 * @example median([3, 1, 10, 2]) // 2.5
 */
export function median(values: ArrayLike<number>): number | null {
  const kept = new Float64Array(values.length);
  let count = 0;
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    if (Number.isFinite(value)) kept[count++] = value;
  }
  return count === 0 ? null : medianInPlace(kept, count);
}

/**
 * Median of the first `count` entries by Hoare's selection, reordering them: for hot loops that own their scratch space.
 * https://en.wikipedia.org/wiki/Quickselect
 *
 * @param scratch finite values; the first `count` entries are reordered.
 * @param count at least 1.
 * @returns the median. O(n) on average.
 */
export function medianInPlace(scratch: Float64Array, count: number): number {
  const middle = count >> 1;
  const upper = select(scratch, count, middle);
  if (count % 2 === 1) return upper;
  let lower = scratch[0]!;
  for (let i = 1; i < middle; i++) if (scratch[i]! > lower) lower = scratch[i]!;
  return lower / 2 + upper / 2;
}

/** The value of the given rank; entries below the rank end up left of it. */
function select(scratch: Float64Array, count: number, rank: number): number {
  let left = 0;
  let right = count - 1;
  while (left < right) {
    const pivot = scratch[(left + right) >> 1]!;
    let low = left;
    let high = right;
    while (low <= high) {
      while (scratch[low]! < pivot) low++;
      while (scratch[high]! > pivot) high--;
      if (low > high) break;
      const swapped = scratch[low]!;
      scratch[low++] = scratch[high]!;
      scratch[high--] = swapped;
    }
    if (rank <= high) right = high;
    else if (rank >= low) left = low;
    else break;
  }
  return scratch[rank]!;
}
