import type { AssetPage, PointPage } from '@heatround/contract';
import { completePoint } from '@heatround/domain';

/** A page as an earlier version of the client may have kept it: what came later is missing. */
type Older<T, Later extends keyof T> = Omit<T, Later> & Partial<Pick<T, Later>>;
type OlderPoint = Omit<Older<PointPage, 'twins' | 'isBehind' | 'olderReadings'>, 'point'> & {
  readonly point: Pick<PointPage['point'], 'id' | 'letter' | 'name' | 'quantity'> & Partial<PointPage['point']>;
};
type OlderPage = Omit<Older<AssetPage, 'outOfService' | 'oldTags' | 'work'>, 'points'> & {
  readonly points: readonly OlderPoint[];
};

/**
 * A kept page as this version reads it. Without signal there is nobody to ask for what is missing: it stands at what it meant before
 * it existed. Whatever is there stays as it is; anything that pages gain later is given its place here.
 */
export function asOfToday(kept: AssetPage): AssetPage {
  const page: OlderPage = kept;
  return {
    ...page,
    oldTags: page.oldTags ?? [],
    outOfService: page.outOfService ?? null,
    work: page.work ?? [],
    points: page.points.map((one) => ({
      ...one,
      point: { spot: '', version: 1, ...completePoint(one.point), ...one.point } as PointPage['point'],
      twins: (one.twins ?? []).map((twin) => ({ ...twin, point: { ...completePoint(twin.point), ...twin.point } })),
      isBehind: one.isBehind ?? false,
      olderReadings: one.olderReadings ?? null,
    })),
  };
}
