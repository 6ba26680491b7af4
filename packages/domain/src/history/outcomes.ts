import { type DiaryForecast, type ForecastOutcome, scoreForecast } from '../projection/diary.ts';
import { isReset } from './around.ts';
import { comparedValue } from './conclude.ts';
import { judgeHistory } from './judge.ts';
import type { ConcludeInput } from './types.ts';

/**
 * What became of forecasts of a point, by the figures as they were compared; in the order given. Looks at as many readings as a
 * conclusion does, so a forecast that is older than its window is judged by what is left of it.
 *
 * @param input as for concludePoint.
 * @example outcomesOf(input, [{ cutAt, earliestAt, likelyAt, latestAt, limit: 80, direction: 'high' }]) // ['hit']
 */
export function outcomesOf(input: ConcludeInput, forecasts: readonly DiaryForecast[]): ForecastOutcome[] {
  const { readings, point } = judgeHistory(input);
  const compared = readings
    .filter(({ isComparable }) => isComparable)
    .map((one) => ({ at: one.reading.takenAt, value: comparedValue(point, one) }));
  const resets = input.work.filter(({ work }) => isReset(point, work)).map(({ takenAt }) => takenAt);
  return forecasts.map((forecast) => scoreForecast(forecast, compared, resets));
}
