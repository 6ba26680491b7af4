import type { CriterionKind, KindOfWork, LimitHolds } from '@heatround/domain';
import { sayMonthDay } from '../../ui/format.ts';

export const WORK_WORDS: Readonly<Record<KindOfWork, string>> = {
  regreased: 'regreased',
  tightened: 'tightened',
  cleaned: 'cleaned',
  adjusted: 'adjusted',
  repaired: 'repaired',
  replaced: 'replaced',
  'instrument-changed': 'instrument changed',
};
export const CRITERION_WORDS: Readonly<Record<CriterionKind, string>> = {
  absolute: 'as read',
  'rise-over-ambient': 'over the air',
  'like-part-difference': 'over like parts',
  'above-base': 'above the base',
  'above-base-percent': 'above the base',
  'over-twin': 'over its twin or neighbours',
  'change-since-last': 'more than last time',
  'polarisation-index': 'polarisation index',
  'over-return': 'outlet over its return',
  'surface-factor': 'surface factor',
};

/** ", in mild weather": when limits hold; empty where they always do. */
export function sayHolds(holds: LimitHolds | null | undefined): string {
  if (holds == null) return '';
  if ('weather' in holds)
    return holds.weather === 'mild' ? ', in mild weather (10 °C outdoors or more)' : ', in cold weather (below 5 °C outdoors)';
  return `, in the ${holds.season} season (${sayMonthDay(holds.from)} to ${sayMonthDay(holds.until)})`;
}
