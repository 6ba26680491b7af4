import {
  awakeOccurrences,
  checkSeason,
  isAwake,
  isAwakeInRound,
  occurrencesOf,
  ROUND_STATES,
  type RoundRecord,
  roundAt,
  roundMovesAllowed,
  roundState,
  seasonTurns,
  wallTime,
  windowOf,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const DUBLIN = 'Europe/Dublin';
const HOUR = 3_600_000;
const at = (text: string): number => Date.parse(text);
const aRound = (overrides: Partial<RoundRecord> = {}): RoundRecord => ({
  earliestAt: 100,
  latestAt: 200,
  graceMs: 50,
  takenBy: null,
  startedAt: null,
  handedInAt: null,
  lookedOverAt: null,
  calledOff: null,
  ...overrides,
});
const calledOff = { at: 90, by: 'planner', reason: 'holidays' };

describe('window', () => {
  const tuesday = { at: at('2026-03-31T08:00+01:00') };

  it('of whole days runs from midnight to the last instant of the last day in the zone of the site', () => {
    const window = windowOf({ window: { kind: 'days', daysBefore: 1, daysAfter: 1 }, graceMs: null, zone: DUBLIN }, tuesday);
    expect(window).toEqual({
      plannedAt: tuesday.at,
      earliestAt: at('2026-03-30T00:00+01:00'),
      latestAt: at('2026-04-02T00:00+01:00') - 1,
      graceMs: 36 * HOUR,
    });
    expect(wallTime(window.latestAt, DUBLIN).day).toBe(1);
  });

  it('D31: a day on which the clocks change is a day, not 24 hours', () => {
    const sunday = { at: at('2026-03-29T12:00+01:00') };
    const window = windowOf({ window: { kind: 'days', daysBefore: 0, daysAfter: 0 }, graceMs: null, zone: DUBLIN }, sunday);
    expect(window.latestAt + 1 - window.earliestAt).toBe(23 * HOUR);
  });

  it('D32: of a week is the ISO week, in week 53 and over the turn of the year too', () => {
    const newYear = { at: at('2027-01-01T08:00Z') };
    const window = windowOf({ window: { kind: 'week' }, graceMs: 0, zone: DUBLIN }, newYear);
    expect(window).toMatchObject({ earliestAt: at('2026-12-28T00:00Z'), latestAt: at('2027-01-04T00:00Z') - 1, graceMs: 0 });
  });

  it('of minutes lies around the planned time', () => {
    const window = windowOf(
      { window: { kind: 'minutes', minutesBefore: 30, minutesAfter: 90 }, graceMs: null, zone: DUBLIN },
      tuesday,
    );
    expect(window).toMatchObject({ earliestAt: tuesday.at - HOUR / 2, latestAt: tuesday.at + 1.5 * HOUR, graceMs: HOUR });
  });

  it('a negative or endless length is refused', () => {
    for (const length of [-1, Number.NaN, Number.POSITIVE_INFINITY]) {
      const route = { window: { kind: 'days', daysBefore: length, daysAfter: 0 }, graceMs: null, zone: DUBLIN } as const;
      expect(() => windowOf(route, tuesday)).toThrow(RangeError);
      expect(() => windowOf({ ...route, window: { kind: 'week' }, graceMs: length }, tuesday)).toThrow(RangeError);
    }
  });
});

describe('state of a round', () => {
  it.each([
    [99, {}, 'coming'],
    [100, {}, 'ready-to-walk'],
    [200, { takenBy: 'technician' }, 'ready-to-walk'],
    [250, {}, 'ready-to-walk'],
    [251, {}, 'missed'],
    [150, { startedAt: 140 }, 'being-walked'],
    [90, { startedAt: 80 }, 'being-walked'],
    [251, { startedAt: 140 }, 'missed'],
    [150, { startedAt: 140, handedInAt: 150 }, 'handed-in'],
    [999, { startedAt: 140, handedInAt: 150 }, 'handed-in'],
    [999, { startedAt: 140, handedInAt: 150, lookedOverAt: 300 }, 'looked-over'],
    [150, { calledOff }, 'called-off'],
    [999, { calledOff }, 'called-off'],
  ] as const)('at %d with %j it is %s', (now, record, state) => {
    expect(roundState(aRound(record), now).state).toBe(state);
  });

  it('D34: a walk during which the window ends may be handed in until the end of the grace', () => {
    const walked = aRound({ startedAt: 195 });
    expect(roundState(walked, 240)).toMatchObject({ state: 'being-walked', isInGrace: true, endsAt: 250 });
    expect(roundState({ ...walked, handedInAt: 250 }, 999)).toMatchObject({ state: 'handed-in', isLate: true });
    expect(roundState({ ...walked, handedInAt: 251 }, 999)).toMatchObject({ state: 'missed', isLate: true });
  });

  it('D34: a round taken for missed is restored by a hand-in from a phone without signal', () => {
    const before = aRound({ startedAt: 150 });
    expect(roundState(before, 10_000).state).toBe('missed');
    expect(roundState({ ...before, handedInAt: 180 }, 10_000)).toMatchObject({ state: 'handed-in', isLate: false });
  });

  it('what was walked in time stands though it was called off meanwhile, and says so', () => {
    const both = aRound({ calledOff, startedAt: 110, handedInAt: 120 });
    expect(roundState(both, 300)).toMatchObject({ state: 'handed-in', isWalkedThoughCalledOff: true });
  });

  it('a round begun before its window counts and says so', () => {
    expect(roundState(aRound({ startedAt: 50, handedInAt: 60 }), 70)).toMatchObject({ state: 'handed-in', isEarly: true });
  });

  it('with time alone a round only goes from coming to ready to missed', () => {
    const order = ['coming', 'ready-to-walk', 'missed'];
    fc.assert(
      fc.property(fc.integer({ max: 400, min: 0 }), fc.integer({ max: 400, min: 0 }), (a, b) => {
        const [early, late] = [Math.min(a, b), Math.max(a, b)];
        const place = (now: number): number => order.indexOf(roundState(aRound(), now).state);
        expect(place(early)).toBeLessThanOrEqual(place(late));
        expect(place(early)).toBeGreaterThanOrEqual(0);
      }),
    );
  });

  it('every state names its moves', () => {
    for (const state of ROUND_STATES) expect(Array.isArray(roundMovesAllowed(state))).toBe(true);
    expect(roundMovesAllowed('looked-over')).toEqual([]);
  });
});

describe('which round a reading belongs to', () => {
  const route = { window: { kind: 'days', daysBefore: 0, daysAfter: 0 }, graceMs: null, zone: DUBLIN } as const;
  const rounds = occurrencesOf(
    { rule: 'FREQ=DAILY', startLocal: '2026-04-20T08:00', zone: DUBLIN },
    0,
    at('2026-04-24T00:00Z'),
  ).map((occurrence, index) => ({ ...aRound(), ...windowOf(route, occurrence), id: index }));

  it('D34: a round begun before midnight keeps its readings after midnight', () => {
    const started = { ...rounds[1]!, startedAt: at('2026-04-21T23:50+01:00'), handedInAt: at('2026-04-22T00:30+01:00') };
    const all = [rounds[2]!, rounds[0]!, started];
    expect(roundAt(all, at('2026-04-22T00:10+01:00'))?.id).toBe(1);
    expect(roundAt(all, at('2026-04-22T00:31+01:00'))?.id).toBe(2);
  });

  it('its window comes before the grace of the one before', () => {
    expect(roundAt(rounds, at('2026-04-22T07:00+01:00'))?.id).toBe(2);
    expect(roundAt(rounds.slice(0, 2), at('2026-04-22T07:00+01:00'))?.id).toBe(1);
    expect(roundAt(rounds.slice(0, 2), at('2026-04-22T13:00+01:00'))).toBeNull();
    expect(roundAt([{ ...rounds[0]!, calledOff }], at('2026-04-20T09:00+01:00'))).toBeNull();
  });
});

describe('seasons', () => {
  const summer = { fromMonth: 5, toMonth: 9 };
  const winter = { fromMonth: 10, toMonth: 4 };

  it('sleep and wake by the month at the site, over the turn of the year too', () => {
    const newYear = at('2026-12-31T23:59Z');
    expect([isAwake(summer, newYear, DUBLIN), isAwake(winter, newYear, DUBLIN), isAwake(null, newYear, DUBLIN)]).toEqual([
      false,
      true,
      true,
    ]);
    const lastOfApril = at('2026-04-30T23:30Z');
    expect(isAwake(summer, lastOfApril, DUBLIN)).toBe(true);
    expect(isAwake(summer, lastOfApril, 'UTC')).toBe(false);
  });

  it('D40: the planned time of a round decides for all of it, wherever the season turns meanwhile', () => {
    const round = { plannedAt: at('2026-04-30T08:00Z') };
    expect(isAwakeInRound(winter, round, DUBLIN)).toBe(true);
    expect(isAwakeInRound(summer, round, DUBLIN)).toBe(false);
  });

  it('names the next waking and the next sleep', () => {
    const april = at('2026-04-23T07:00Z');
    expect(seasonTurns(summer, april, DUBLIN)).toEqual({
      wakesAt: at('2026-05-01T00:00+01:00'),
      sleepsAt: at('2026-10-01T00:00+01:00'),
    });
    expect(seasonTurns(winter, april, DUBLIN)).toEqual({
      wakesAt: at('2026-10-01T00:00+01:00'),
      sleepsAt: at('2026-05-01T00:00+01:00'),
    });
    expect(seasonTurns(null, april, DUBLIN)).toEqual({ wakesAt: null, sleepsAt: null });
    expect(seasonTurns({ fromMonth: 1, toMonth: 12 }, april, DUBLIN)).toEqual({ wakesAt: null, sleepsAt: null });
  });

  it('a seasonal round plans nothing while asleep, and months outside the calendar are refused', () => {
    const all = occurrencesOf({ rule: 'FREQ=MONTHLY', startLocal: '2026-01-05T08:00', zone: DUBLIN }, 0, at('2027-01-01T00:00Z'));
    expect(awakeOccurrences(all, summer, DUBLIN)).toHaveLength(5);
    expect(checkSeason(summer)).toBeNull();
    expect(checkSeason({ fromMonth: 0, toMonth: 13 })).toMatch(/May to September/);
  });
});
