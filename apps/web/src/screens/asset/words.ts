import type { CriterionKind, KindOfWork } from '@heatround/domain';

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
};
