import type { AssetPage, PointPage, ReadingRow } from '@heatround/contract';
import {
  type Around,
  type EarlierReading,
  type Fact,
  type KindOfWork,
  type Point,
  parseReading,
  type Reading,
  type ReadingAtPoint,
} from '@heatround/domain';

/** A point as the domain takes it: the same object, without what only people need. */
export const asPoint = ({ point }: Pick<PointPage, 'point'>): Point => point as unknown as Point;

export const asReading = (row: ReadingRow): Reading => ({
  id: row.id,
  takenAt: Date.parse(row.takenAt),
  ...row.figures,
  running: row.running,
  instrument: row.instrument,
});

/**
 * What this phone knows round about a point: readings and work as they came from the service, and what waits on the phone itself.
 * The same computation on the server starts from the same facts.
 *
 * @param waiting facts that have not been handed in yet, any order.
 * @param replaced reading that is being corrected; it counts no longer.
 */
export function aroundOf(page: AssetPage, at: PointPage, waiting: readonly Fact[], replaced: string | null = null): Around {
  const pointId = at.point.id;
  const corrected = new Set(waiting.flatMap((fact) => (fact.kind === 'reading-taken' && fact.corrects ? [fact.corrects] : [])));
  if (replaced !== null) corrected.add(replaced);
  const counts = (id: string): boolean => !corrected.has(id);
  const here = (id: string | null | undefined): boolean => id == null || id === pointId;
  const waitingWork = waiting.flatMap((fact): { takenAt: string; work: KindOfWork }[] =>
    (fact.kind === 'work-recorded' && fact.assetId === page.id && here(fact.pointId)) ||
    (fact.kind === 'put-right' && fact.pointId === pointId)
      ? [fact]
      : [],
  );
  const work = [...page.work.filter((row) => here(row.pointId)), ...waitingWork];
  return {
    work: work.map((one) => ({ work: one.work, takenAt: Date.parse(one.takenAt) })),
    earlier: [
      ...at.readings
        .filter((row) => row.counts && counts(row.id))
        .map((row) => ({ reading: asReading(row), judgement: row.verdict })),
      ...readingsWaiting(asPoint(at), waiting).flatMap(({ reading, judgement }): EarlierReading[] =>
        counts(reading.id) && judgement !== null ? [{ reading, judgement }] : [],
      ),
    ],
    // A pack from before twins were known has none.
    twins: (at.twins ?? []).flatMap((twin): ReadingAtPoint[] => {
      const point = asPoint(twin);
      const rows = twin.readings.filter((row) => row.counts).map(asReading);
      const taken = readingsWaiting(point, waiting).map(({ reading }) => reading);
      return [...rows, ...taken].filter(({ id }) => counts(id)).map((reading) => ({ point, reading }));
    }),
  };
}

function readingsWaiting(
  point: Point,
  waiting: readonly Fact[],
): { readonly reading: Reading; readonly judgement: EarlierReading['judgement'] | null }[] {
  return waiting.flatMap((fact) => {
    if (fact.kind !== 'reading-taken' || fact.pointId !== point.id) return [];
    const parsed = parseReading(fact, point);
    return 'reading' in parsed ? [{ reading: parsed.reading, judgement: fact.phoneVerdict?.verdict ?? null }] : [];
  });
}
