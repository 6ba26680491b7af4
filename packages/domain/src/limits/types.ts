/** Which figure the limits are compared with. A point has the criterion of its quantity and may carry further ones. */
export const CRITERIA = [
  'absolute',
  'rise-over-ambient',
  'like-part-difference',
  'above-base',
  'above-base-percent',
  'over-twin', // over the point named as its twin, or over the median of its neighbours, on the same visit
  'change-since-last', // since the last comparable reading
  'polarisation-index',
  'over-return', // outlet of a steam trap over the saturation of its return
  'surface-factor', // f_Rsi of a spot of a wall
] as const;
export type CriterionKind = (typeof CRITERIA)[number];

export const GRADES = ['fine', 'watch', 'plan', 'soon', 'now'] as const;
/** When somebody must act. Not judged is no grade: it is written as null. */
export type Grade = (typeof GRADES)[number];
export type LimitGrade = Exclude<Grade, 'fine'>;
export const LIMIT_GRADES = ['watch', 'plan', 'soon', 'now'] as const satisfies readonly LimitGrade[];

export const WEATHERS = ['mild', 'cold'] as const;
export type Weather = (typeof WEATHERS)[number];

/** When limits hold: in mild or in cold weather, by the outdoor temperature of the reading, or in a season of the year. */
export type LimitHolds =
  | { readonly weather: Weather }
  /** First and last day as MM-DD, both included, in UTC; the season may pass over the new year. Its name tells seasons of one side apart. */
  | { readonly season: string; readonly from: string; readonly until: string };

/**
 * One version of the limits of one side of a criterion at a point. Never edited: a change is a new version with its own
 * validFrom. A band is two sets, one of each direction. A version without figures withdraws the side.
 */
export interface LimitSet {
  readonly id: string;
  readonly version: number;
  readonly criterion: CriterionKind;
  /** high: reached from below (value ≥ limit). low: reached from above (value ≤ limit). */
  readonly direction: 'high' | 'low';
  readonly watch: number | null;
  readonly plan: number | null;
  readonly soon: number | null;
  readonly now: number | null;
  /** Null or absent: always. */
  readonly holds?: LimitHolds | null | undefined;
  /** Where the figures come from: a standard by name and number, a maker's sheet, commissioning, site practice, common practice. */
  readonly source: string;
  /** Why these figures are right for this point, in plain words. */
  readonly reason: string;
  readonly author: string;
  /** Epoch milliseconds. */
  readonly validFrom: number;
  readonly reviewOn: string | null;
  /** general: taken unchanged from the general library, so relative evidence alone is capped at Plan. */
  readonly origin: 'general' | 'point';
}
