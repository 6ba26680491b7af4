import { GRADES, type Grade } from '@heatround/domain';
import type { Kept } from './merge.ts';

/** What readings say that only this device has; null: the worst of them could not be judged. */
export type OnlyHere = Grade | null;

/**
 * The worst verdict of this device per asset, of the newest reading of each point, among what the service does not have yet.
 * @param kept everything that is only here.
 */
export function onlyHere(kept: readonly Kept[]): ReadonlyMap<string, OnlyHere> {
  const newest = new Map<string, { assetId: string; takenAt: string; grade: OnlyHere }>();
  for (const { fact, assetId, state } of kept) {
    // With a conflict the service has a content, too.
    if (fact.kind !== 'reading-taken' || assetId === null || state === 'conflict' || fact.phoneVerdict === undefined) continue;
    const before = newest.get(fact.pointId);
    if (before === undefined || before.takenAt <= fact.takenAt)
      newest.set(fact.pointId, { assetId, takenAt: fact.takenAt, grade: fact.phoneVerdict.verdict.grade });
  }
  const rank = (grade: OnlyHere): number => (grade === null ? -1 : GRADES.indexOf(grade));
  const worst = new Map<string, OnlyHere>();
  for (const { assetId, grade } of newest.values()) {
    const before = worst.get(assetId);
    if (before === undefined || rank(grade) > rank(before)) worst.set(assetId, grade);
  }
  return worst;
}
