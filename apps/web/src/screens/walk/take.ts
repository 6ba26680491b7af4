import type { Outbox } from '../../outbox/index.ts';
import { isAnswered, type Walk } from './walk-state.ts';

/** Setting out on a round is a fact of its own, with the points that were on the phone; once is enough. */
export async function takeWalk(outbox: Outbox, walk: Walk): Promise<void> {
  if (walk.roundId === null || walk.isTaken || walk.handedInAt !== null) return;
  if (walk.stops.length > 0 && walk.stops.every(isAnswered)) return;
  const packed = walk.stops.map((stop) => stop.pointId);
  await outbox.record({ kind: 'round-taken', ...outbox.stamp(), roundId: walk.roundId, packed }, `${walk.code}, taken`, null, {
    walkId: walk.id,
    kind: 'taken',
    pointId: null,
    answer: null,
    grade: null,
    isJudged: true,
    said: '',
  });
}
