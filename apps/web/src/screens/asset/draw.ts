import type { AssetPage, PointPage } from '@heatround/contract';
import { drawProjection, type Point } from '@heatround/domain';
import type { FanSpot } from '../../ui/chart/ahead.tsx';
import type { Curve } from '../../ui/chart/behind.tsx';

export interface Drawn {
  readonly curve: readonly Curve[];
  readonly fan: readonly FanSpot[];
}

/** Fitted stretch and fan, from the same facts and with the same functions as the forecast itself. Loaded after the page stands. */
export function drawPoint(page: AssetPage, at: PointPage): Drawn {
  const point = at.point as unknown as Point;
  const found = drawProjection({
    // A base that was only concluded is learned anew, as the service does it.
    point: { ...point, base: point.base?.state === 'confirmed' ? point.base : null },
    limitSets: at.limits,
    readings: at.readings
      .filter((row) => row.counts)
      .map((row) => ({
        id: row.id,
        takenAt: Date.parse(row.takenAt),
        inputs: row.figures.inputs,
        conditions: row.figures.conditions,
        running: row.running,
        instrument: row.instrument,
      })),
    work: page.work
      .filter((work) => work.pointId === null || work.pointId === point.id)
      .map((work) => ({ id: work.id, takenAt: Date.parse(work.takenAt), work: work.work, words: work.words })),
    seasons: at.conclusion?.seasons,
    zone: page.place.zone,
  });
  if (found === null || found.status !== 'projection') return { curve: [], fan: [] };
  return {
    curve: (found.curve ?? []).map((one) => ({ at: found.instantOf(one.day), value: one.level })),
    fan: (found.fan ?? []).map((one) => ({ at: found.instantOf(one.day), low: one.low, mid: one.mid, high: one.high })),
  };
}
