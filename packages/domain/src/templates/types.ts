import type { Hazard } from '../cautions/index.ts';
import type { LimitDraft } from '../limits/check.ts';
import type { PointDraft } from '../points/defaults.ts';

/** A point of a template: everything but its id, with the hint for the spot and the limits it starts with. */
export interface TemplatePoint extends Omit<PointDraft, 'id' | 'twins'> {
  /** Where to aim and from where. */
  readonly spot: string;
  readonly limits: readonly LimitDraft[];
  /** Letters of the points of the same asset that it is compared with. */
  readonly twinLetters?: readonly string[] | undefined;
}

/** What a new asset of a class starts with; every figure can be changed afterwards. */
export interface AssetTemplate {
  /** Stored with the asset. */
  readonly key: string;
  readonly name: string;
  /** One sentence on what it creates. */
  readonly what: string;
  readonly hazards: readonly Hazard[];
  /** Lives depend on it: a bad value counts one grade higher. */
  readonly lifeSafety?: true;
  /** Read at least so often, where the trade or a standard asks for it. */
  readonly readEveryDays?: number;
  readonly points: readonly TemplatePoint[];
}
