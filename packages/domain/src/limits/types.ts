/** Which figure the limits are compared with. A point has the criterion of its quantity and may carry further ones. */
export const CRITERIA = ['absolute', 'rise-over-ambient', 'like-part-difference', 'above-base'] as const;
export type CriterionKind = (typeof CRITERIA)[number];

export const GRADES = ['fine', 'watch', 'plan', 'soon', 'now'] as const;
/** When somebody must act. Not judged is no grade: it is written as null. */
export type Grade = (typeof GRADES)[number];
export type LimitGrade = Exclude<Grade, 'fine'>;
export const LIMIT_GRADES = ['watch', 'plan', 'soon', 'now'] as const satisfies readonly LimitGrade[];

/** One version of the limits of a criterion at a point. Never edited: a change is a new version with its own validFrom. */
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
