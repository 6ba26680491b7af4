import {
  assessReading,
  type Conclusion,
  concludePoint,
  drawProjection,
  judgeHistory,
  openingSentence,
  READINGS_FOR_BASE,
  READINGS_SINCE_RESET,
  type Reading,
  sayProjection,
  timetable,
  type WorkEvent,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aLimitSet, aPoint, aReading, DAY, phaseReading, phases, START } from '../builders.ts';

const ZONE = 'Europe/Dublin';
const T = '\u202f';
const HALF_DAY = DAY / 2;
/** Monday of week 1 of the demonstration: 3 March 2025. */
const WEEK_1 = Date.UTC(2025, 2, 3, 10);
const week = (w: number, dayOfWeek = 3): number => WEEK_1 + ((w - 1) * 7 + dayOfWeek) * DAY;
/** Small, fixed, without pattern: a stand-in for the scatter of an instrument. */
const scatter = (i: number): number => Math.sin(i * 12.9898) * 0.5 + Math.sin(i * 78.233) * 0.5;
const work = (kind: WorkEvent['work'], takenAt: number, id = 'work'): WorkEvent => ({ id, takenAt, work: kind, words: null });
const valueAt = (takenAt: number, value: number, more: Partial<Reading> = {}) =>
  aReading({ id: `r${takenAt}`, takenAt, inputs: { value }, ...more });

const bearingLimits = aLimitSet([70, 80, 90, 100]);
const ironer = (() => {
  const weeks = Array.from({ length: 30 }, (_, i) => 1 + 2 * i);
  const readings = weeks.map((w, i) =>
    valueAt(week(w), w < 40 ? 58 + 0.4 * scatter(i) : 58 + 2 * 2 ** ((w - 40) / 5.2) + (w === 59 ? 0 : 0.4 * scatter(i))),
  );
  return {
    point: aPoint({ name: 'Gearbox bearing', regreasingGateHours: 24 }),
    limitSets: [bearingLimits],
    readings,
    work: [work('regreased', week(12))],
  };
})();

describe('stories of the demonstration', () => {
  it('the gearbox bearing stands at Plan and runs away towards Soon within weeks', () => {
    const conclusion = concludePoint(ironer);
    expect(conclusion.standing?.grade).toBe('plan');
    expect(conclusion.projections.map(({ grade }) => grade)).toEqual(['soon', 'now']);
    expect(conclusion.countsGrade).toBe('soon');
    const [soon, now] = conclusion.projections;
    // 90 °C about week 61, 100 °C about weeks 62 to 64 (the course the readings were made from).
    expect(soon?.show).toBe('range');
    expect(soon?.earliestAt).toBeGreaterThan(week(59));
    expect(soon?.likelyAt).toBeLessThan(week(63));
    expect(now?.earliestAt).toBeGreaterThan(soon?.earliestAt ?? 0);
    expect(now?.likelyAt).toBeLessThan(week(66));
    expect(conclusion.trend).toBe('running-away');
    const said = openingSentence({ name: 'Ironer main drive' }, [{ name: 'Gearbox bearing', conclusion }], ZONE);
    expect(said).toMatch(/^The gearbox bearing likely reaches 90.°C (between|by) /);
  });

  it('a busbar joint creeps from Plan towards 15 K', () => {
    const readings = [22, 26, 30, 34, 38, 42, 46, 50, 54, 58].map((w, i) =>
      phaseReading(2 + 0.28 * (w - 20) + (w === 58 ? 0 : 0.3 * scatter(i)), 95, { id: `r${w}`, takenAt: week(w) }),
    );
    const limits = aLimitSet([3, 8, 15, 30], { criterion: 'like-part-difference' });
    const conclusion = concludePoint({ point: phases(), limitSets: [limits], readings, work: [] });
    expect(conclusion.standing?.grade).toBe('plan');
    expect(conclusion.trend).toBe('creeping');
    const soon = conclusion.projections.find(({ grade }) => grade === 'soon');
    expect(soon?.show).toBe('range');
    expect(soon?.likelyAt).toBeGreaterThan(week(61));
    expect(soon?.likelyAt).toBeLessThan(week(71));
  });

  it('hot water falls to its limit and counts as reached at 55.0 °C exactly', () => {
    const point = aPoint({ name: 'Return' });
    const limits = aLimitSet([57, 55, 53, 50], { direction: 'low' });
    const readings = Array.from({ length: 10 }, (_, i) => 16 + 4 * i).map((w, i) =>
      valueAt(week(w), w === 52 ? 55 : 58 - 0.075 * (w - 12) + 0.15 * scatter(i)),
    );
    const conclusion = concludePoint({ point, limitSets: [limits], readings, work: [] });
    expect(conclusion.standing?.grade).toBe('plan');
    expect(conclusion.projections.map(({ grade }) => grade)).toEqual(['soon', 'now']);
    expect(conclusion.projections[0]?.direction).toBe('low');
    expect(conclusion.projections[0]?.show).toBe('range');
    const said = openingSentence({ name: 'Hot water west' }, [{ name: 'Return', conclusion }], ZONE);
    expect(said).toMatch(/^The return likely falls to 53.°C /);
  });

  it('a pump bearing doubles in vibration, is changed, and is Fine again with a new history', () => {
    const point = aPoint({ quantity: 'vibration-velocity', unit: 'mm/s', decimals: 2 });
    const limits = aLimitSet([1.8, 2.8, 4.5, 7.1]);
    const before = Array.from({ length: 32 }, (_, i) => i + 1).map((w, i) =>
      valueAt(week(w, 1), (w < 18 ? 1.3 : 1.3 * 2 ** ((w - 18) / 9)) * (1 + 0.03 * scatter(i))),
    );
    const open = concludePoint({ point, limitSets: [limits], readings: before, work: [] });
    expect(open.standing?.grade).toBe('plan');
    expect(open.projections[0]).toMatchObject({ grade: 'soon', show: 'range' });
    const replaced = work('replaced', week(33));
    const waiting = concludePoint({ point, limitSets: [limits], readings: before, work: [replaced] });
    expect(waiting).toMatchObject({
      standing: null,
      isProofAwaited: true,
      comparableCount: 0,
      projections: [],
      reset: { work: 'replaced' },
    });
    const proved = concludePoint({
      point,
      limitSets: [limits],
      readings: [...before, valueAt(week(34, 1), 1.2)],
      work: [replaced],
    });
    expect(proved).toMatchObject({ standing: { grade: 'fine' }, isProofAwaited: false, comparableCount: 1 });
    expect(proved.projections[0]?.reason).toBe('too-few-readings');
  });

  it('a reading at 14 % load enters nothing, the next at 62 % is Fine', () => {
    const limits = aLimitSet([3, 8, 15, 30], { criterion: 'like-part-difference' });
    const readings = [
      phaseReading(2.1, 14, { id: 'low', takenAt: week(30) }),
      phaseReading(1.1, 62, { id: 'again', takenAt: week(31) }),
    ];
    const conclusion = concludePoint({ point: phases(), limitSets: [limits], readings, work: [] });
    expect(conclusion).toMatchObject({ comparableCount: 1, standing: { grade: 'fine', readingId: 'again' } });
    expect(conclusion.latestComparable?.value).toBeCloseTo(2.6, 2);
  });
});

describe('the grade a point stands at', () => {
  const standing = (values: readonly number[], more: Partial<Parameters<typeof concludePoint>[0]> = {}) =>
    concludePoint({
      point: aPoint({ uncertainty: 1 }),
      limitSets: [bearingLimits],
      readings: values.map((value, i) => valueAt(START + i * DAY, value)),
      work: [],
      ...more,
    }).standing;

  it('rises at once and falls only after two readings clearly below', () => {
    expect(standing([60, 81])).toMatchObject({ grade: 'plan', isHeld: false });
    expect(standing([60, 81, 60])).toMatchObject({ grade: 'plan', isHeld: true });
    expect(standing([60, 81, 60, 60])).toMatchObject({ grade: 'fine', isHeld: false });
    // 79 lies within 2u of the limit and breaks the row.
    expect(standing([60, 81, 60, 79, 60])).toMatchObject({ grade: 'plan' });
    expect(standing([60, 101, 75, 60])).toMatchObject({ grade: 'watch' });
  });

  it('a grade seen last, under a low load, is held by nothing better', () => {
    const point = aPoint({ loadFamily: 'thermal-machine', minimumLoadPercent: 50 });
    const at = (day: number, value: number, load: number) =>
      valueAt(START + day * DAY, value, { conditions: { load, ambient: 20 } });
    const conclude = (readings: Reading[]) => concludePoint({ point, limitSets: [bearingLimits], readings, work: [] });
    const seen = conclude([at(0, 60, 100), at(1, 60, 100), at(2, 104, 30)]);
    expect(seen).toMatchObject({
      latest: { verdict: { atLeast: true } },
      standing: { grade: 'now', since: START + 2 * DAY, isHeld: false },
    });
    expect(openingSentence({ name: 'Fan' }, [{ name: 'Bearing', conclusion: seen }], ZONE)).toBe(
      `The bearing was at 104.0${T}°C on Wed 7 January; its Now limit is 100${T}°C, to be read again.`,
    );
    // Seen again under a gate after a better one: the better one is no longer the last word.
    const again = [at(0, 104, 100), at(1, 60, 100)];
    expect(conclude(again).standing).toMatchObject({ grade: 'now', isHeld: true });
    expect(conclude([...again, at(2, 104, 30)]).standing).toMatchObject({ grade: 'now', isHeld: false });
  });

  it('work lets go of it, a changed instrument does not', () => {
    const readings = [valueAt(START, 81), valueAt(START + 2 * DAY, 60)];
    expect(standing([], { readings, work: [work('repaired', START + DAY)] })).toMatchObject({ grade: 'fine' });
    expect(standing([], { readings, work: [work('instrument-changed', START + DAY)] })).toMatchObject({ grade: 'plan' });
  });

  it('a grade seen under an open gate gives way to the first comparable reading', () => {
    const point = aPoint({ infrared: true, emissivity: 0.93, uncertainty: 1 });
    const wrong = valueAt(START, 85, { conditions: { emissivity: 0.3 } });
    const right = valueAt(START + DAY, 60, { conditions: { emissivity: 0.93 } });
    expect(standing([], { point, readings: [wrong] })).toMatchObject({ grade: 'plan' });
    expect(standing([], { point, readings: [wrong, right] })).toMatchObject({ grade: 'fine' });
  });

  it('is none before the first reading', () => {
    const nothing = concludePoint({ point: aPoint(), limitSets: [bearingLimits], readings: [], work: [] });
    expect(nothing).toMatchObject({ latest: null, standing: null, projections: [], trend: null, isProofAwaited: false });
    expect(openingSentence({ name: 'Fan 2' }, [{ name: 'a', conclusion: nothing }], ZONE)).toBe('Fan 2 has not been read yet.');
  });
});

describe('the base of a point above base', () => {
  const frame = aPoint({ quantity: 'above-base', unit: 'K' });
  const limits = aLimitSet([10, 15, 25, 35], { criterion: 'above-base' });
  const conclude = (readings: readonly Reading[], events: readonly WorkEvent[] = []) =>
    concludePoint({ point: frame, limitSets: [limits], readings, work: events });
  const daily = (values: readonly number[], from = START) => values.map((value, i) => valueAt(from + i * DAY, value));

  it('is proposed from five comparable readings, not from four, and used at once', () => {
    expect(conclude(daily([60, 61, 59, 60]))).toMatchObject({
      proposedBase: null,
      standing: null,
      latest: { verdict: { gate: 'base-missing' } },
    });
    const five = conclude(daily([60, 61, 59, 60, 62]));
    expect(five.proposedBase?.value).toBe(60);
    expect(five.standing?.grade).toBe('fine');
    expect(conclude(daily([60, 61, 59, 60, 62, 76])).standing?.grade).toBe('plan');
  });

  it('needs three rounds', () => {
    const oneRound = [0, 1, 2, 3, 4].map((minute) => valueAt(START + minute * 60_000, 60 + minute));
    expect(conclude(oneRound).proposedBase).toBeNull();
    expect(conclude([...oneRound, ...daily([60, 60], START + DAY)]).proposedBase?.readingIds).toHaveLength(7);
  });

  it('begins anew after a repair, not after grease', () => {
    const old = daily([60, 61, 59, 60, 62]);
    const young = daily([50, 50, 51, 49, 50], START + 10 * DAY);
    expect(conclude([...old, ...young], [work('repaired', START + 8 * DAY)]).proposedBase?.value).toBe(50);
    expect(conclude([...old, ...young], [work('regreased', START + 8 * DAY)]).proposedBase?.value).toBe(60);
  });

  it('stays where it was learned when the window has moved on, given the oldest readings', () => {
    const readings = daily(Array.from({ length: READINGS_SINCE_RESET + 40 }, (_, i) => 60 + i * 0.05));
    const input = { point: frame, limitSets: [limits], readings, work: [] };
    expect(concludePoint(input).proposedBase?.value).toBeCloseTo(62.1, 10);
    const kept = concludePoint({ ...input, baseReadings: readings.slice(0, READINGS_FOR_BASE) });
    expect(kept.proposedBase?.value).toBeCloseTo(60.1, 10);
  });

  it('is left alone where one is stored', () => {
    const stored = concludePoint({
      point: { ...frame, base: { value: 40, state: 'confirmed' } },
      limitSets: [limits],
      readings: daily([60, 61, 59, 60, 62]),
      work: [],
    });
    expect(stored).toMatchObject({ proposedBase: null, standing: { grade: 'plan' } });
  });
});

describe('what a trend may rest on', () => {
  it('readings within a day after regreasing are left out', () => {
    const point = aPoint({ regreasingGateHours: 24 });
    const greased = work('regreased', START + 10 * DAY);
    const readings = [valueAt(START + 10 * DAY + 3_600_000, 72), valueAt(START + 12 * DAY, 61)];
    const judged = judgeHistory({ point, limitSets: [bearingLimits], readings, work: [greased] });
    expect(judged.readings.map(({ isComparable }) => isComparable)).toEqual([false, true]);
  });

  it('nothing later than the time asked for counts', () => {
    const readings = [50, 52, 54, 80].map((value, i) => valueAt(START + i * 30 * DAY, value));
    const input = { point: aPoint(), limitSets: [bearingLimits], readings, work: [work('repaired', START + 200 * DAY)] };
    expect(concludePoint({ ...input, asOf: START + 70 * DAY })).toEqual(
      concludePoint({ ...input, readings: readings.slice(0, 3), work: [], asOf: START + 70 * DAY }),
    );
  });

  it('only the window counts, whatever else is handed in', () => {
    const readings = Array.from({ length: READINGS_SINCE_RESET + 50 }, (_, i) => valueAt(START + i * DAY, 50 + scatter(i)));
    const input = { point: aPoint(), limitSets: [bearingLimits], work: [] };
    expect(concludePoint({ ...input, readings })).toEqual(concludePoint({ ...input, readings: readings.slice(50) }));
  });

  it('is drawn by the calendar: a forecast that runs into its sleep goes on when it wakes', () => {
    const from = Date.UTC(2025, 4, 6, 9);
    const readings = [60, 62, 64.2, 66, 68.1, 70, 72.2, 74, 76].map((value, i) => valueAt(from + i * 16 * DAY, value));
    const seasons = [{ fromMonth: 5, toMonth: 9 }];
    const input = { point: aPoint(), limitSets: [bearingLimits], readings, work: [], seasons, zone: ZONE };
    const drawn = drawProjection(input);
    if (drawn?.status !== 'projection') throw new Error('nothing was drawn');
    expect(drawn.curve!.map(({ day }) => drawn.instantOf(day))[0]).toBe(from);
    expect(drawn.instantOf(drawn.curve!.at(-1)!.day)).toBeCloseTo(readings.at(-1)!.takenAt, -3);
    const months = drawn.fan!.map(({ day }) => new Date(drawn.instantOf(day) - HALF_DAY).getUTCMonth() + 1);
    expect(months.filter((month) => month < 5 || month > 9)).toEqual([]);
    expect(new Set(months).has(5)).toBe(true);
  });

  it('says that the newest readings lie apart, since a forecast hardly leans on them', () => {
    const slow = Array.from({ length: 30 }, (_, i) => valueAt(START + i * 7 * DAY, 62 + 0.05 * i + 0.3 * scatter(i)));
    const conclude = (values: readonly number[], more: Partial<Reading> = {}) =>
      concludePoint({
        point: aPoint({ infrared: false }),
        limitSets: [bearingLimits],
        readings: [...slow, ...values.map((value, i) => valueAt(START + (30 + i) * 7 * DAY, value, more))],
        work: [],
      }).projections.find(({ grade }) => grade === 'now')!;
    const usual = conclude([63.6, 63.5]);
    expect(usual.apart).toBeNull();
    expect(sayProjection(usual, '°C', ZONE)).not.toMatch(/apart|hardly/);
    const high = conclude([91, 97]);
    expect(high.apart!.readings).toBe(2);
    expect(high.apart!.by).toBeGreaterThan(25);
    expect(high.apart!.by).toBeLessThan(34);
    expect(sayProjection(high, '°C', ZONE)).toMatch(
      /The last 2 readings lie \d\d.K above what those before say, far more than readings scatter here, and hardly count yet. Read it again: if it stays there, the limit comes sooner.$/,
    );
    expect(sayProjection(conclude([63.5, 40]), '°C', ZONE)).toMatch(
      /The last reading lies \d\d.K below .+ and hardly counts yet\.$/,
    );
    // Taken for a step they count, and nothing says otherwise: figure and grades agree.
    const flat = Array.from({ length: 40 }, (_, i) => valueAt(START + i * 7 * DAY, 60 + 0.3 * scatter(i)));
    const stepped = concludePoint({
      point: aPoint({ infrared: false }),
      limitSets: [bearingLimits],
      readings: [...flat, valueAt(START + 280 * DAY, 90.3), valueAt(START + 287 * DAY, 90.1)],
      work: [],
    });
    for (const one of stepped.projections) {
      if (one.apart != null) expect(one.apart.by).toBeGreaterThan(27);
      expect(one.stepAt !== null && one.apart !== null).toBe(false);
    }
    // Read high for good it is no slip any more: the level has changed, and nothing is apart from it.
    const stays = conclude([91, 92, 91.4, 91.8, 92.1, 91.6, 91.5, 92]);
    expect(stays.apart).toBeNull();
  });

  it('a constant series, two readings in one second, and one wild reading at the end make no forecast', () => {
    const conclude = (readings: readonly Reading[]) =>
      concludePoint({ point: aPoint(), limitSets: [bearingLimits], readings, work: [] });
    const constant = Array.from({ length: 8 }, (_, i) => valueAt(START + i * 14 * DAY, 55));
    expect(conclude(constant)).toMatchObject({
      trend: 'steady',
      projections: [{ show: 'none', reason: 'no-usable-trend' }, {}, {}],
    });
    const twin = { ...valueAt(START, 55), id: 'twin' };
    expect(conclude([valueAt(START, 55), twin, { ...twin, id: 'third' }]).projections[0]?.reason).toBe('span-too-short');
    const wild = conclude([...constant, valueAt(START + 8 * 14 * DAY, 79)]);
    expect(wild.standing?.grade).toBe('watch');
    expect(wild.projections[0]?.show).not.toBe('range');
  });

  it('a five-year gap and a limit changed in between break nothing', () => {
    const readings = [50, 51, 52].map((value, i) => valueAt(START + i * 30 * DAY, value));
    const later = [60, 61].map((value, i) => valueAt(START + (1900 + i * 30) * DAY, value));
    const lowered = aLimitSet([55, 65, 75, 85], { id: 'lowered', version: 2, validFrom: START + 1800 * DAY });
    const conclusion = concludePoint({
      point: aPoint(),
      limitSets: [bearingLimits, lowered],
      readings: [...readings, ...later],
      work: [],
    });
    expect(conclusion.projections[0]?.limit).toBe(65);
    expect(JSON.parse(JSON.stringify(conclusion))).toEqual(conclusion);
  });
});

describe('properties', () => {
  const kinds = ['regreased', 'repaired', 'instrument-changed', 'cleaned'] as const;
  const someReadings = fc
    .array(
      fc.record({
        hours: fc.integer({ min: 0, max: 9000 }),
        value: fc.integer({ min: -200, max: 1300 }),
        load: fc.option(fc.integer({ min: 0, max: 140 }), { nil: undefined }),
      }),
      { maxLength: 25 },
    )
    .map((items) =>
      items.map(({ hours, value, load }, i) =>
        aReading({
          id: `r${i}`,
          takenAt: START + hours * 3_600_000,
          inputs: { value: value / 10 },
          conditions: load === undefined ? {} : { load, ambient: 20 },
        }),
      ),
    );
  const someWork = fc
    .array(fc.record({ hours: fc.integer({ min: 0, max: 9000 }), kind: fc.constantFrom(...kinds) }), { maxLength: 3 })
    .map((items) => items.map(({ hours, kind }, i) => work(kind, START + hours * 3_600_000, `w${i}`)));
  const points = [
    aPoint({ loadFamily: 'thermal-machine', regreasingGateHours: 24 }),
    aPoint({ quantity: 'above-base', unit: 'K', loadFamily: 'thermal-machine', basis: 'corrected' }),
    aPoint({ quantity: 'vibration-velocity', unit: 'mm/s' }),
  ];
  const sets = [bearingLimits, aLimitSet([8, 12, 18, 25], { id: 'base', criterion: 'above-base', origin: 'general' })];
  const input = fc.record({ point: fc.constantFrom(...points), readings: someReadings, work: someWork });
  const later = { ...bearingLimits, id: 'later', version: 2, validFrom: START + 1000 * 3_600_000, plan: 75 };

  it('the order of facts does not matter', () => {
    fc.assert(
      fc.property(input, fc.infiniteStream(fc.nat()), (facts, numbers) => {
        const shuffled = <V>(items: readonly V[]): V[] =>
          items
            .map((item) => [numbers.next().value as number, item] as const)
            .sort((a, b) => a[0] - b[0])
            .map(([, item]) => item);
        const conclusion = concludePoint({ ...facts, limitSets: [...sets, later] });
        expect(
          concludePoint({
            point: facts.point,
            readings: shuffled(facts.readings),
            work: shuffled(facts.work),
            limitSets: shuffled([...sets, later]),
          }),
        ).toEqual(conclusion);
      }),
      { numRuns: 60 },
    );
  });

  it('nothing is NaN, infinite or undefined, dates are in order and every sentence can be said', () => {
    fc.assert(
      fc.property(input, (facts) => {
        const conclusion: Conclusion = concludePoint({ ...facts, limitSets: sets });
        expect(JSON.parse(JSON.stringify(conclusion))).toEqual(conclusion);
        for (const projection of conclusion.projections) {
          const { cutAt, earliestAt, likelyAt, latestAt } = projection;
          if (earliestAt !== null) expect(earliestAt).toBeGreaterThanOrEqual(cutAt);
          if (earliestAt !== null && likelyAt !== null) expect(likelyAt).toBeGreaterThanOrEqual(earliestAt);
          if (likelyAt !== null && latestAt !== null) expect(latestAt).toBeGreaterThanOrEqual(likelyAt);
          expect(sayProjection(projection, conclusion.unit, ZONE)).not.toMatch(/NaN|undefined|null|Invalid/);
        }
        const rows = timetable(conclusion, ZONE);
        expect(rows.map(({ at }) => at)).toEqual(rows.map(({ at }) => at).sort((a, b) => a - b));
        const said = openingSentence({ name: 'Pump 1' }, [{ name: 'Bearing', conclusion }], ZONE);
        expect(said).toMatch(/\.$/);
        expect(said).not.toMatch(/NaN|undefined|null|Invalid/);
      }),
      { numRuns: 80 },
    );
  });

  it('a later fact, however late, never changes how an earlier reading was judged', () => {
    const based = { ...points[1]!, base: { value: 40, state: 'confirmed' } as const };
    const facts = fc.record({ point: fc.constantFrom(points[0]!, based, points[2]!), readings: someReadings, work: someWork });
    const years = fc.integer({ min: 2, max: 200 });
    fc.assert(
      fc.property(facts, years, fc.constantFrom(...kinds), (known, ahead, kind) => {
        const at = START + ahead * 366 * DAY;
        const before = { ...known, work: known.work.filter(({ work: done }) => done !== 'repaired'), limitSets: sets };
        const after = {
          ...before,
          readings: [...known.readings, valueAt(at, 99)],
          work: [...before.work, work(kind, at + 1, 'late')],
          limitSets: [...sets, { ...later, validFrom: at }],
        };
        const judgements = (history: ReturnType<typeof judgeHistory>) =>
          history.readings.slice(0, known.readings.length).map(({ judged }) => judged.judgement);
        expect(judgements(judgeHistory(after))).toEqual(judgements(judgeHistory(before)));
      }),
      { numRuns: 60 },
    );
  });

  it('the latest verdict of a conclusion is the one its reading has alone, words included', () => {
    const [hot, cold] = [valueAt(START + DAY, 81.5), valueAt(START, 60)];
    const { latest } = concludePoint({ point: aPoint(), limitSets: [bearingLimits], readings: [hot, cold], work: [] });
    expect(latest?.verdict).toEqual(assessReading(aPoint(), hot, [bearingLimits], { lastRegreasedAt: null }));
  });

  it('asking again gives the same answer', () => {
    expect(concludePoint(ironer)).toEqual(concludePoint(ironer));
    expect(T).toBe('\u202f');
  });
});
