import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { KeptWalk, Step } from '../../../apps/web/src/outbox/store.ts';
import { nextStop, walkOf, whereAnswersAre } from '../../../apps/web/src/screens/walk/walk-state.ts';
import { linesOf, roomsOf, sayStops, sayWhen, sayWhose } from '../../../apps/web/src/screens/walk/walk-words.ts';

const ZONE = 'Europe/Dublin';
const NOW = Date.parse('2026-04-23T07:00:00Z');
const place = (room: string, building = 'B') => ({
  siteId: 's',
  site: 'Mill',
  zone: ZONE,
  buildingId: building,
  building,
  roomId: room,
  room,
});
const line = (pointId: string, room = 'hall', over: object = {}) => ({
  pointId,
  assetId: `asset ${pointId[0]}`,
  tag: 'T-1',
  letter: 'a',
  assetName: 'Pump',
  pointName: 'Bearing',
  place: place(room),
  state: 'to-read' as const,
  grade: null,
  notJudged: false,
  words: null,
  answeredAt: null,
  by: null,
  isAdded: false,
  ...over,
});
const extra = (pointId: string, room: string, building = 'B') => ({
  ...line(pointId, room),
  place: place(room, building),
  id: `e-${pointId}`,
  kind: 'asked' as const,
  roundId: null,
  walker: null,
  orderId: null,
  orderNumber: null,
  findingId: null,
  earliestAt: '2026-04-23T00:00:00Z',
  latestAt: '2026-04-23T22:59:59Z',
  note: 'still rising?',
  askedBy: 'Jun Okafor',
  target: null,
});
const kept = (over: Partial<KeptWalk> = {}): KeptWalk => ({
  id: 'r',
  keptAt: NOW,
  round: null,
  stops: [line('a1'), line('a2'), line('b1', 'cellar')],
  extraStops: [],
  assetIds: [],
  faults: [],
  givenNote: null,
  ...over,
});
const step = (pointId: string, answer: Step['answer'], at = NOW, over: Partial<Step> = {}): Step => ({
  id: `${pointId}-${at}`,
  walkId: 'r',
  at,
  kind: 'answer',
  pointId,
  answer,
  grade: null,
  isJudged: true,
  said: '',
  ...over,
});
const states = (steps: Step[], over: Partial<KeptWalk> = {}) => walkOf(kept(over), steps).stops.map(({ state }) => state);

describe('how a stop stands here', () => {
  test('what was answered on this device counts before the service knows it, of this walk only', () => {
    expect(states([step('a1', 'read'), step('a2', 'no-way-in', NOW, { walkId: 'other' })])).toEqual([
      'read',
      'to-read',
      'to-read',
    ]);
  });
  test('a reading counts before any other answer, from either side', () => {
    expect(states([step('a1', 'no-way-in', 1), step('a1', 'read', 2)])[0]).toBe('read');
    expect(states([step('a1', 'unsafe')], { stops: [line('a1', 'hall', { state: 'read', grade: 'watch' })] })).toEqual(['read']);
    expect(states([step('a1', 'read')], { stops: [line('a1', 'hall', { state: 'no-way-in' })] })).toEqual(['read']);
  });
  test('of two readings the walker sees the last one, as after something was put right', () => {
    const walk = walkOf(kept(), [step('a1', 'read', 1, { grade: 'plan' }), step('a1', 'read', 2, { grade: 'fine' })]);
    expect(walk.stops[0]?.grade).toBe('fine');
  });
});

describe('extra stops', () => {
  test('stand after the last stop of their room, else of their building, else at the end', () => {
    const order = (one: ReturnType<typeof extra>) => walkOf(kept({ extraStops: [one] }), []).stops.map(({ pointId }) => pointId);
    expect(order(extra('x', 'hall'))).toEqual(['a1', 'a2', 'x', 'b1']);
    expect(order(extra('x', 'loft'))).toEqual(['a1', 'a2', 'b1', 'x']);
    expect(order(extra('x', 'loft', 'Z'))).toEqual(['a1', 'a2', 'b1', 'x']);
  });
  test('at a point of the route are asked there and not twice', () => {
    const walk = walkOf(kept({ extraStops: [extra('a2', 'hall')] }), []);
    expect(walk.stops.map((stop) => stop.extra !== null)).toEqual([false, true, false]);
  });
  test('have a row of their own on the way', () => {
    const walk = walkOf(kept({ extraStops: [extra('x', 'hall')] }), []);
    expect(roomsOf(walk).map((room) => room.stops.length)).toEqual([2, 1, 1]);
  });
});

test('the next stop is the one ahead, then those passed over, never one that is answered', () => {
  const walk = walkOf(kept(), [step('a2', 'read')]);
  expect(nextStop(walk, 'a1')?.pointId).toBe('b1');
  expect(nextStop(walk, 'b1')?.pointId).toBe('a1');
  void fc.assert(
    fc.property(fc.subarray(['a1', 'a2', 'b1']), fc.constantFrom('a1', 'a2', 'b1', 'nowhere'), (answered, from) => {
      const some = walkOf(
        kept(),
        answered.map((pointId) => step(pointId, 'read')),
      );
      const next = nextStop(some, from);
      const left = some.stops.filter((stop) => stop.state === 'to-read' && stop.pointId !== from);
      expect(next === null).toBe(left.length === 0);
      expect(next?.state ?? 'to-read').toBe('to-read');
    }),
  );
});

describe('when it is to be walked', () => {
  const on = (count: number, day: string) => ({ count, latestAt: Date.parse(`${day}T22:59:59Z`) });
  test('today, by a weekday, by a date, and overdue', () => {
    expect(sayWhen([on(17, '2026-04-24'), on(1, '2026-04-23')], NOW, ZONE)).toBe('One today, 17 by Friday.');
    expect(sayWhen([on(2, '2026-05-06')], NOW, ZONE)).toBe('2 by 6 May.');
    expect(sayWhen([on(3, '2026-04-21')], NOW, ZONE)).toBe('3 overdue since Tuesday.');
    expect(sayWhen([on(0, '2026-04-24')], NOW, ZONE)).toBe('');
  });
});

test('lines before leaving: a name and what belongs to it, or words', () => {
  expect(linesOf('Keys: key 7\n\nwatch the ramp\nAt 10:00 the hall opens')).toEqual([
    { name: 'Keys', text: 'key 7' },
    { name: null, text: 'watch the ramp' },
    { name: null, text: 'At 10:00 the hall opens' },
  ]);
});

describe('where the answers are', () => {
  const named = (pointId: string) => line(pointId, 'hall', { state: 'read', by: 'Mara' });
  const where = (stops: ReturnType<typeof line>[], steps: Step[], pending: string[]) =>
    whereAnswersAre(walkOf(kept({ stops }), steps), steps, new Set(pending));
  test('every answered stop once, whether the service names it, a receipt does, or both', () => {
    const own = [step('a1', 'read', 1), step('a2', 'no-way-in', 2)];
    expect(where([named('a1'), line('a2'), line('b1')], own, [])).toEqual({ safe: 2, here: 0 });
    expect(where([line('a1'), line('a2'), line('b1')], own, ['a2-2'])).toEqual({ safe: 1, here: 1 });
  });
  test('a stop read twice is one answer, and only here until the second reading went up', () => {
    const twice = [step('a1', 'read', 1), step('a1', 'read', 2)];
    expect(where([named('a1')], twice, ['a1-2'])).toEqual({ safe: 0, here: 1 });
    expect(where([named('a1')], twice, [])).toEqual({ safe: 1, here: 0 });
  });
});

describe('what was found, in few words', () => {
  const stopsOf = (steps: Step[], over: Partial<KeptWalk> = {}) => walkOf(kept(over), steps).stops;
  const words = (steps: Step[], names: string[]): string => {
    const all = stopsOf(steps);
    return sayStops(
      all.filter((stop) => names.includes(stop.pointId)),
      all,
    );
  };
  test('a machine answered as a whole is named once, with its reason', () => {
    const both = [step('a1', 'left-out', 1, { said: 'scaffold' }), step('a2', 'left-out', 2, { said: 'scaffold' })];
    expect(words(both, ['a1', 'a2'])).toBe('Pump, scaffold');
    expect(words([step('a1', 'no-way-in'), step('a2', 'no-way-in')], ['a1', 'a2'])).toBe('Pump');
  });
  test('single stops are named with their point and value; other reasons stand apart', () => {
    expect(words([step('b1', 'read', 1, { said: '87.0 °C' })], ['b1'])).toBe('Pump, bearing, 87.0 °C');
    const apart = [step('a1', 'left-out', 1, { said: 'scaffold' }), step('a2', 'left-out', 2, { said: 'bees' })];
    expect(words(apart, ['a1', 'a2'])).toBe('Pump, bearing, scaffold; Pump, bearing, bees');
  });
  test('many machines are counted, not named', () => {
    const names = ['a1', 'b1', 'c1', 'd1'];
    const all = stopsOf([], { stops: names.map((name) => line(name)) });
    expect(sayStops(all, all)).toBe('');
  });
  test('it is said whose answers they are, where they are not all one’s own', () => {
    const by = (name: string) => line(`${name}1`, 'hall', { state: 'read', by: name });
    expect(sayWhose(stopsOf([], { stops: [by('Mara'), line('a1')] }), 'Mara')).toBeNull();
    const shared = { stops: [by('Mara'), line('a1'), line('a2')] };
    expect(sayWhose(stopsOf([step('a1', 'read')], shared), 'Tomasz')).toBe('Mara answered 1, you 1.');
  });
});
