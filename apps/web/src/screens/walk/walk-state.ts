import type { ExtraStopLine, StopLine } from '@heatround/contract';
import { type Grade, type StopState, stopOf } from '@heatround/domain';
import { type AwaitedProof, EXTRA, type KeptWalk, type MyRound, type OpenFault, type Step } from '../../outbox/index.ts';

/** One stop of a walk as this device knows it: what the service said, and what was answered here since. */
export interface WalkStop {
  readonly pointId: string;
  readonly assetId: string;
  readonly tag: string;
  readonly letter: string;
  readonly assetName: string;
  readonly pointName: string;
  readonly place: StopLine['place'];
  readonly state: StopState;
  readonly grade: Grade | null;
  readonly isJudged: boolean;
  /** Value or words; null: none known here. */
  readonly said: string | null;
  /** Answered on this device; by whom otherwise. */
  readonly by: string | null;
  readonly extra: ExtraStopLine | null;
}
export interface Walk {
  readonly id: string;
  /** Null: extra stops that belong to no round. */
  readonly roundId: string | null;
  readonly code: string;
  readonly name: string;
  readonly round: MyRound | null;
  readonly stops: readonly WalkStop[];
  readonly faults: readonly OpenFault[];
  readonly proofs: readonly AwaitedProof[];
  readonly givenNote: string | null;
  readonly isTaken: boolean;
  /** Here, epoch milliseconds. */
  readonly handedInAt: number | null;
  readonly givenTo: string | null;
}

export const isAnswered = (stop: WalkStop): boolean => stop.state !== 'to-read';

function answered(line: StopLine, steps: readonly Step[]): Pick<WalkStop, 'state' | 'grade' | 'isJudged' | 'said' | 'by'> {
  const here = steps.filter((step) => step.kind === 'answer' && step.pointId === line.pointId && step.answer !== null);
  const stop = stopOf(
    line.pointId,
    here.map((step) => ({ id: step.id, pointId: line.pointId, takenAt: step.at, answer: step.answer! })),
  );
  const isHere = stop.state !== 'to-read' && (line.state === 'to-read' || (stop.state === 'read' && line.state !== 'read'));
  if (!isHere) {
    return { state: line.state, grade: line.grade, isJudged: !line.notJudged, said: line.words, by: line.by };
  }
  // Read again after something was put right: the walker looks at the last one.
  const last = here.filter((step) => step.answer === stop.state).at(-1)!;
  return { state: stop.state, grade: last.grade, isJudged: last.isJudged, said: last.said === '' ? null : last.said, by: null };
}

/** A walk from its kept pack and what was done here. An extra stop stands after the last stop of its room, else of its building. */
export function walkOf(kept: KeptWalk, steps: readonly Step[]): Walk {
  const own = steps.filter((step) => step.walkId === kept.id);
  const stops: WalkStop[] = kept.stops.map((line) => ({
    ...line,
    ...answered(line, own),
    extra: kept.extraStops.find((one) => one.pointId === line.pointId) ?? null,
  }));
  for (const extra of kept.extraStops) {
    if (stops.some((stop) => stop.pointId === extra.pointId)) continue;
    const line: StopLine = {
      pointId: extra.pointId,
      assetId: extra.assetId,
      tag: extra.tag,
      letter: extra.letter,
      assetName: extra.assetName,
      pointName: extra.pointName,
      place: extra.place,
      state: 'to-read',
      grade: null,
      notJudged: false,
      words: null,
      answeredAt: null,
      by: null,
      isAdded: true,
    };
    const after = (same: (stop: WalkStop) => boolean): number => stops.findLastIndex(same);
    const room = after((stop) => stop.place.roomId === extra.place.roomId);
    const at = room >= 0 ? room : after((stop) => stop.place.buildingId === extra.place.buildingId);
    stops.splice(at < 0 ? stops.length : at + 1, 0, { ...line, ...answered(line, own), extra });
  }
  const { round } = kept;
  return {
    id: kept.id,
    roundId: kept.id === EXTRA ? null : kept.id,
    code: round?.code ?? 'Extra stops',
    name: round?.name ?? '',
    round,
    stops,
    faults: kept.faults,
    proofs: kept.proofs ?? [],
    givenNote: kept.givenNote,
    isTaken: kept.id === EXTRA ? stops.some(isAnswered) : own.some((step) => step.kind === 'taken'),
    handedInAt: own.findLast((step) => step.kind === 'handed-in')?.at ?? null,
    givenTo: own.findLast((step) => step.kind === 'given')?.said ?? null,
  };
}

/** The stop after this one that wants an answer, from the start again at the end; null when all have theirs. */
export function nextStop(walk: Walk, afterPointId: string | null): WalkStop | null {
  const here = walk.stops.findIndex((stop) => stop.pointId === afterPointId);
  const inOrder = [...walk.stops.slice(here + 1), ...walk.stops.slice(0, Math.max(0, here))];
  return inOrder.find((stop) => !isAnswered(stop)) ?? null;
}

/**
 * Stops whose answer is safe on the server, and those that have one only here; every answered stop is one of them. A second reading
 * at a stop is only here until it went up, too.
 * @param pending ids of the facts that the service does not have.
 */
export function whereAnswersAre(
  walk: Pick<Walk, 'stops'>,
  steps: readonly Step[],
  pending: ReadonlySet<string>,
): { readonly safe: number; readonly here: number } {
  const waiting = new Set(steps.flatMap((step) => (step.kind === 'answer' && pending.has(step.id) ? [step.pointId] : [])));
  const answered = walk.stops.filter(isAnswered);
  const here = answered.filter((stop) => waiting.has(stop.pointId)).length;
  return { safe: answered.length - here, here };
}

export const addressOf = (walk: Pick<Walk, 'id'>, stop: Pick<WalkStop, 'assetId' | 'pointId'>): string =>
  `/stop/${stop.assetId}/${stop.pointId}?walk=${walk.id}`;
