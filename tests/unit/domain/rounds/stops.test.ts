import {
  COULD_NOT_READ,
  checkStops,
  progress,
  STOP_STATES,
  type StopAnswer,
  sayProgress,
  stopOf,
  stopsOfRound,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const answered = (
  pointId: string,
  answer: StopAnswer['answer'] = 'read',
  takenAt = 10,
  id = `${pointId}-${takenAt}`,
): StopAnswer => ({
  id,
  pointId,
  takenAt,
  answer,
});

describe('one stop', () => {
  it('is to read until it has an answer', () => {
    expect(stopOf('p', [answered('q')])).toEqual({
      pointId: 'p',
      state: 'to-read',
      answerId: null,
      furtherIds: [],
      isAdded: false,
    });
  });

  it('D42: two people at one stop, both kept; the smaller time, then the smaller id counts', () => {
    const stop = stopOf('p', [answered('p', 'read', 10, 'c'), answered('p', 'read', 10, 'b'), answered('p', 'read', 11, 'a')]);
    expect(stop).toMatchObject({ state: 'read', answerId: 'b', furtherIds: ['c', 'a'] });
  });

  it('a reading counts before a reason for none, however late', () => {
    expect(stopOf('p', [answered('p', 'no-way-in', 1), answered('p', 'read', 9)])).toMatchObject({
      state: 'read',
      furtherIds: ['p-1'],
    });
    expect(stopOf('p', [answered('p', 'unsafe', 5), answered('p', 'not-running', 2)]).state).toBe('not-running');
  });

  it('D42: any order and repetition of the answers gives the same stop', () => {
    const answer = fc.record({
      id: fc.constantFrom('a', 'b', 'c', 'd', 'e'),
      pointId: fc.constantFrom('p', 'q'),
      takenAt: fc.integer({ min: 0, max: 3 }),
      answer: fc.constantFrom('read' as const, ...COULD_NOT_READ),
    });
    const answers = fc.uniqueArray(answer, { selector: ({ id }) => id });
    const shuffled = answers.chain((list) =>
      fc.tuple(fc.constant(list), fc.shuffledSubarray([...list, ...list], { minLength: 2 * list.length })),
    );
    fc.assert(
      fc.property(shuffled, ([list, again]) => {
        expect(stopOf('p', again)).toEqual(stopOf('p', list));
      }),
    );
  });
});

describe('a route edited while it is walked without signal', () => {
  const walked = ['a', 'b', 'c'].map((pointId) => answered(pointId));

  it('D43: an added stop is to read, and marked', () => {
    const { stops } = stopsOfRound(['a', 'b', 'c'], ['a', 'new', 'b', 'c'], walked);
    expect(stops.map(({ state, isAdded }) => [state, isAdded])).toEqual([
      ['read', false],
      ['to-read', true],
      ['read', false],
      ['read', false],
    ]);
  });

  it('D43: the answer at a stop taken off stays as a reading', () => {
    const { stops, besideRoute } = stopsOfRound(['a', 'b', 'c'], ['a', 'c'], walked);
    expect(stops.map(({ pointId }) => pointId)).toEqual(['a', 'c']);
    expect(besideRoute.map(({ pointId }) => pointId)).toEqual(['b']);
  });

  it('D43: another order changes no answer', () => {
    fc.assert(
      fc.property(fc.shuffledSubarray(['a', 'b', 'c'], { minLength: 3 }), (current) => {
        const byPoint = (points: readonly string[]) =>
          stopsOfRound(['a', 'b', 'c'], points, walked).stops.toSorted((one, two) => (one.pointId < two.pointId ? -1 : 1));
        expect(byPoint(current)).toEqual(byPoint(['a', 'b', 'c']));
      }),
    );
  });

  it('no answer is lost or counted twice, whatever the edits', () => {
    const points = fc.uniqueArray(fc.constantFrom('a', 'b', 'c', 'd', 'e'));
    fc.assert(
      fc.property(points, points, points, (packed, current, seen) => {
        const { stops, besideRoute } = stopsOfRound(
          packed,
          current,
          seen.map((pointId) => answered(pointId)),
        );
        const kept = [
          ...stops.flatMap(({ answerId, furtherIds }) => [answerId, ...furtherIds]),
          ...besideRoute.map(({ id }) => id),
        ];
        expect(kept.filter((id) => id !== null).sort()).toEqual(seen.map((pointId) => `${pointId}-10`).sort());
      }),
    );
  });
});

describe('progress', () => {
  const stops = (...answers: (StopAnswer['answer'] | null)[]) =>
    answers.map((answer, index) => stopOf(`p${index}`, answer === null ? [] : [answered(`p${index}`, answer)]));

  it('D89: a whole round answered "no way in" is complete, and it is said that nothing was read', () => {
    const all = progress(stops(...Array.from({ length: 17 }, () => 'no-way-in' as const)));
    expect(all).toMatchObject({ total: 17, answered: 17, read: 0, isComplete: true, sameAnswer: 'no-way-in' });
    expect(sayProgress(all)).toBe('17 of 17 stops answered, nothing read: no way in throughout.');
  });

  it('answered and read are two figures', () => {
    const some = progress(stops('read', 'not-running', null, 'read'));
    expect(some).toMatchObject({
      total: 4,
      answered: 3,
      read: 2,
      toRead: 1,
      isComplete: false,
      isHalfWalked: true,
      sameAnswer: null,
    });
    expect(sayProgress(some)).toBe('3 of 4 stops answered: 2 read, 1 not running.');
    expect(sayProgress(progress(stops(null)))).toBe('0 of 1 stop answered.');
  });

  it('D90: a round without stops is neither complete nor half-walked; 500 stops are a route, 501 are two', () => {
    expect(progress([])).toMatchObject({ total: 0, isComplete: false, isHalfWalked: false, sameAnswer: null });
    expect(sayProgress(progress([]))).toBe('This round has no stops.');
    expect(checkStops([])[0]).toMatch(/at least one stop/);
    const points = Array.from({ length: 501 }, (_, index) => `p${index}`);
    expect(checkStops(points.slice(1))).toEqual([]);
    expect(checkStops(points)[0]).toMatch(/at most 500/);
    expect(checkStops(['a', 'a'])[0]).toMatch(/once/);
    expect(
      progress(
        stopsOfRound(
          null,
          points,
          points.map((point) => answered(point)),
        ).stops,
      ).isComplete,
    ).toBe(true);
  });

  it('the states add up to the stops', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom(null, 'read' as const, ...COULD_NOT_READ)), (answers) => {
        const { byState, total, answered: done, toRead } = progress(stops(...answers));
        expect(STOP_STATES.reduce((sum, state) => sum + byState[state], 0)).toBe(total);
        expect(done + toRead).toBe(total);
      }),
    );
  });
});
