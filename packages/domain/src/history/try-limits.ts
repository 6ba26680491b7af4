import { sideOf } from '../limits/holds.ts';
import type { Grade, LimitSet } from '../limits/types.ts';
import { concludePoint } from './conclude.ts';
import { judgeHistory } from './judge.ts';
import type { ConcludeInput, Conclusion } from './types.ts';

/** One side of limits with figures that nobody has saved; without figures the side is done without. */
export type TriedLimits = Pick<LimitSet, 'criterion' | 'direction' | 'watch' | 'plan' | 'soon' | 'now' | 'holds'>;

/** A reading as it is judged, and as it would have been; null: not judged. */
export interface TriedReading {
  readonly readingId: string;
  readonly takenAt: number;
  readonly before: Grade | null;
  readonly after: Grade | null;
}

/** What limits would have said, had they held all the while. */
export interface LimitTrial {
  /** Those that a conclusion looks at, oldest first. */
  readonly readings: readonly TriedReading[];
  readonly before: Conclusion;
  readonly after: Conclusion;
}

/**
 * Replays the history of a point with other limits of one side, as if they had held from the first day. Readings are judged before
 * by the limits of their own day. Base, work and the other sides stay as they are; nothing is kept.
 *
 * @param input as for concludePoint.
 * @example tryLimits(input, { criterion: 'absolute', direction: 'high', watch: 65, plan: 70, soon: 80, now: 90 }).readings[0]?.after
 */
export function tryLimits(input: ConcludeInput, tried: TriedLimits): LimitTrial {
  const side = sideOf(tried);
  const draft: LimitSet = {
    ...tried,
    id: 'tried',
    version: 1,
    source: '',
    reason: '',
    author: '',
    // The first moment there is.
    validFrom: -8.64e15,
    reviewOn: null,
    origin: 'point',
  };
  const changed = { ...input, limitSets: [...input.limitSets.filter((set) => sideOf(set) !== side), draft] };
  const after = new Map(judgeHistory(changed).readings.map(({ reading, judged }) => [reading.id, judged.judgement.grade]));
  return {
    readings: judgeHistory(input).readings.map(({ reading, judged }) => ({
      readingId: reading.id,
      takenAt: reading.takenAt,
      before: judged.judgement.grade,
      after: after.get(reading.id) ?? null,
    })),
    before: concludePoint(input),
    after: concludePoint(changed),
  };
}
