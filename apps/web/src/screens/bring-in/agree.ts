import type { ImportMapping } from '@heatround/contract';

/**
 * A column named as the limit is also where the limits of points that are made come from; one figure for all stays only where no
 * column is named.
 */
export function agree(mapping: ImportMapping): ImportMapping {
  const { makeMissing: made } = mapping;
  const column = mapping.columns.limit ?? null;
  if (made === null || column === null || made.limitColumn !== null) return mapping;
  return { ...mapping, makeMissing: { ...made, limitColumn: column } };
}
