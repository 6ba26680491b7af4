import type { LimitDraft } from '../limits/check.ts';
import type { PointDraft } from '../points/defaults.ts';
import { TEMPLATES } from './library.ts';
import type { AssetTemplate } from './types.ts';

/** What the points of one asset share, whatever its class. */
export interface TemplateOptions {
  /** Called once per point; UUIDv7 on phone and server. */
  readonly makeId: () => string;
  /** Beside what the class says by itself. */
  readonly lifeSafety?: boolean | undefined;
  /** Of electrical points. */
  readonly ratedCurrentA?: number | null | undefined;
}

export interface FromTemplate {
  readonly points: readonly (PointDraft & { readonly spot: string })[];
  /** In the order of the points; a point may have several. */
  readonly limits: readonly { readonly pointId: string; readonly draft: LimitDraft }[];
}

/** The template of a key, or null when there is none. */
export function templateOf(key: string): AssetTemplate | null {
  return TEMPLATES.find((template) => template.key === key) ?? null;
}

/**
 * The points and limits of a new asset.
 * @returns null for an unknown key.
 * @example pointsFromTemplate('pump', { makeId: newId })?.points.map((point) => point.letter) // ['a', 'b', 'c', 'd']
 */
export function pointsFromTemplate(key: string, options: TemplateOptions): FromTemplate | null {
  const template = templateOf(key);
  if (template === null) return null;
  const points: (PointDraft & { spot: string })[] = [];
  const limits: { pointId: string; draft: LimitDraft }[] = [];
  const idOf = new Map(template.points.map(({ letter }) => [letter, options.makeId()]));
  for (const { limits: drafts, twinLetters = [], ...rest } of template.points) {
    const id = idOf.get(rest.letter)!;
    const twins = twinLetters.map((letter) => idOf.get(letter)!);
    const ratedCurrentA = rest.loadFamily === 'electrical' ? (options.ratedCurrentA ?? null) : null;
    points.push({ ...rest, id, twins, ratedCurrentA, lifeSafety: options.lifeSafety === true || template.lifeSafety === true });
    for (const draft of drafts) limits.push({ pointId: id, draft });
  }
  return { points, limits };
}
