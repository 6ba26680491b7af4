import type { StopLine } from '@heatround/contract';
import { sayDay, wallTime } from '@heatround/domain';
import { isAnswered, type Walk, type WalkStop } from './walk-state.ts';

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

/**
 * Stops in few words, what they have in common said once: "Hot water, west wing" where all of a machine's stops are among them,
 * "Ward extract fan, scaffold" with the reason, "Ironer 1, gearbox bearing, 87.0 °C" for one. Empty for many machines.
 * @param all of the walk.
 */
export function sayStops(stops: readonly WalkStop[], all: readonly WalkStop[]): string {
  const groups = new Map<string, WalkStop[]>();
  for (const stop of stops) {
    const key = `${stop.assetId} ${stop.said ?? ''}`;
    groups.set(key, [...(groups.get(key) ?? []), stop]);
  }
  if (groups.size > MOST_NAMED) return '';
  return [...groups.values()].map((group) => sayGroup(group, all)).join('; ');
}
const MOST_NAMED = 3;

function sayGroup(group: readonly WalkStop[], all: readonly WalkStop[]): string {
  const { assetId, assetName, said } = group[0]!;
  const isWhole = group.length > 1 && group.length === all.filter((stop) => stop.assetId === assetId).length;
  const points = isWhole
    ? []
    : [group.length > 2 ? `${group.length} stops` : group.map((stop) => lowerFirst(stop.pointName)).join(' and ')];
  return [assetName, ...points, ...(said === null ? [] : [said])].join(', ');
}

/** "Gearbox bearing" within a sentence; "L3" stays. */
export const lowerFirst = (text: string): string =>
  /^\p{Lu}\p{Ll}/u.test(text) ? text.charAt(0).toLowerCase() + text.slice(1) : text;

/** "Mara answered 6, you 1." where somebody else has answered; null: all of it is one's own. */
export function sayWhose(stops: readonly WalkStop[], me: string): string | null {
  const counts = new Map<string, number>();
  for (const { by } of stops.filter(isAnswered)) {
    const name = by === null || by === me ? 'you' : by;
    counts.set(name, (counts.get(name) ?? 0) + 1);
  }
  const own = counts.get('you') ?? 0;
  counts.delete('you');
  if (counts.size === 0) return null;
  const others = [...counts].map(([name, count], index) => `${name} ${index === 0 ? 'answered ' : ''}${count}`);
  return `${[...others, ...(own === 0 ? [] : [`you ${own}`])].join(', ')}.`;
}
