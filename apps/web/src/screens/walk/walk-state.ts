import type { ExtraStopLine, StopLine } from '@heatround/contract';
import { type Grade, type StopState, sayDay, stopOf, wallTime } from '@heatround/domain';
import { EXTRA, type KeptWalk, type MyRound, type OpenFault, type Step } from '../../outbox/index.ts';

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

export const addressOf = (walk: Pick<Walk, 'id'>, stop: Pick<WalkStop, 'assetId' | 'pointId'>): string =>
  `/stop/${stop.assetId}/${stop.pointId}?walk=${walk.id}`;

/** Stops one after another in the same room; an extra stop among others keeps its own row. */
export interface Room {
  readonly key: string;
  readonly place: StopLine['place'];
  readonly stops: readonly WalkStop[];
  readonly assets: string;
}
export function roomsOf(walk: Walk): Room[] {
  const rooms: { key: string; place: StopLine['place']; stops: WalkStop[] }[] = [];
  for (const stop of walk.stops) {
    const last = rooms.at(-1);
    const isAlone = stop.extra !== null || last?.stops[0]?.extra != null;
    if (last !== undefined && !isAlone && last.place.roomId === stop.place.roomId) last.stops.push(stop);
    else rooms.push({ key: `${stop.place.roomId} ${rooms.length}`, place: stop.place, stops: [stop] });
  }
  return rooms.map((room) => ({ ...room, assets: assetWords(room.stops) }));
}

/** "Feed pump 1, Feed pump 2 and 3 more". */
function assetWords(stops: readonly WalkStop[]): string {
  const names = [...new Set(stops.map((stop) => stop.assetName))];
  // "Sump pump 1, 2 and 3"
  const numbered = names.map((name) => /^(.+) (\d+)$/.exec(name));
  const stem = numbered[0]?.[1];
  if (names.length > 1 && stem !== undefined && numbered.every((found) => found?.[1] === stem)) {
    const numbers = numbered.map((found) => found![2]!);
    return `${stem} ${numbers.slice(0, -1).join(', ')} and ${numbers.at(-1)}`;
  }
  return names.length <= 3 ? names.join(', ') : `${names.slice(0, 2).join(', ')} and ${names.length - 2} more`;
}

const WEEKDAYS = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'];
const DAY = 86_400_000;
/** "today", "by Friday", "by 6 May", "overdue since Tuesday". */
export function sayBy(latestAt: number, now: number, zone: string): string {
  const latest = wallTime(latestAt, zone);
  const today = wallTime(now, zone);
  if (latest.year === today.year && latest.month === today.month && latest.day === today.day) return 'today';
  const isNear = Math.abs(latestAt - now) < 6.5 * DAY;
  const day = isNear ? WEEKDAYS[latest.weekday - 1]! : sayDay(latestAt, zone, now);
  return latestAt < now ? `overdue since ${day}` : `by ${day}`;
}

/** "One today, 17 by Friday." */
export function sayWhen(
  due: readonly { readonly count: number; readonly latestAt: number }[],
  now: number,
  zone: string,
): string {
  const byDay = new Map<string, number>();
  for (const { count, latestAt } of [...due].sort((a, b) => a.latestAt - b.latestAt)) {
    if (count === 0) continue;
    const words = sayBy(latestAt, now, zone);
    byDay.set(words, (byDay.get(words) ?? 0) + count);
  }
  const parts = [...byDay].map(([words, count], index) => `${count === 1 ? (index === 0 ? 'One' : 'one') : count} ${words}`);
  return parts.length === 0 ? '' : `${parts.join(', ')}.`;
}

/** "Keys: key 7" on a line of its own is a name and what belongs to it; other lines stand for themselves. */
export function linesOf(text: string): { readonly name: string | null; readonly text: string }[] {
  return text
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '')
    .map((line) => {
      const found = /^(\p{L}[\p{L} ]{1,14}): +(.+)$/u.exec(line);
      return found === null ? { name: null, text: line } : { name: found[1]!, text: found[2]! };
    });
}
