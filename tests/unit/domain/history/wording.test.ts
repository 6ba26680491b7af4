import {
  assessReading,
  type Conclusion,
  concludePoint,
  type LimitProjection,
  openingSentence,
  sayEvidence,
  sayGrade,
  sayProjection,
  timetable,
} from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { aLimitSet, aPoint, aReading, DAY } from '../builders.ts';

const ZONE = 'Europe/Dublin';
const T = '\u202f';
const cutAt = Date.UTC(2026, 3, 16, 9);
const days = (n: number): number => cutAt + n * DAY;

const aProjection = (overrides: Partial<LimitProjection> = {}): LimitProjection => ({
  grade: 'soon',
  limit: 90,
  direction: 'high',
  cutAt,
  show: 'range',
  earliestAt: days(14),
  likelyAt: days(18),
  latestAt: days(23),
  precisionDays: 1,
  confidence: 'firm',
  probabilityMoving: 0.976,
  reason: null,
  stepAt: null,
  readingCount: 9,
  spanDays: 200,
  ...overrides,
});
const none = (reason: LimitProjection['reason'], overrides: Partial<LimitProjection> = {}) =>
  aProjection({ show: 'none', earliestAt: null, likelyAt: null, latestAt: null, precisionDays: null, reason, ...overrides });
const say = (overrides: Partial<LimitProjection>) => sayProjection(aProjection(overrides), '°C', ZONE);

const aConclusion = (overrides: Partial<Conclusion> = {}): Conclusion => {
  const verdict = assessReading(aPoint(), aReading({ takenAt: cutAt, inputs: { value: 83.2 } }), [aLimitSet([70, 80, 90, 100])]);
  return {
    pointId: 'point',
    unit: '°C',
    decimals: 1,
    readingCount: 9,
    comparableCount: 9,
    latest: { readingId: 'r', takenAt: cutAt, verdict },
    latestComparable: { readingId: 'r', takenAt: cutAt, value: 83.2 },
    standing: { grade: 'plan', since: cutAt, readingId: 'r', isHeld: false },
    isProofAwaited: false,
    proposedBase: null,
    reset: null,
    projections: [],
    countsGrade: null,
    trend: null,
    confidence: null,
    noise: null,
    ...overrides,
  };
};
const open = (...conclusions: Conclusion[]) =>
  openingSentence(
    { name: 'Ironer main drive' },
    conclusions.map((conclusion, i) => ({ name: i === 0 ? 'Gearbox bearing' : `Point ${i + 1}`, conclusion })),
    ZONE,
  );

describe('what a conclusion rests on', () => {
  const evidence = (overrides: Partial<Conclusion> = {}) => sayEvidence(aConclusion(overrides), ZONE);
  it('counts the readings used, and says of those left out why', () => {
    expect(evidence()).toBe('Rests on 9 comparable readings.');
    expect(evidence({ leftOut: [{ gate: 'not-running', count: 1 }] })).toBe(
      'Rests on 9 comparable readings. 1 was left out because it was not running.',
    );
    expect(
      evidence({
        comparableCount: 1,
        leftOut: [
          { gate: 'load-missing', count: 2 },
          { gate: 'not-running', count: 1 },
        ],
      }),
    ).toBe('Rests on 1 comparable reading. 3 were left out: 2 because the load was not read, 1 because it was not running.');
  });
  it('begins with the last work that began it anew', () => {
    expect(evidence({ comparableCount: 0, reset: { workId: 'w', at: cutAt, work: 'replaced' } })).toMatch(
      /^Rests on no comparable readings since the work of \d/,
    );
  });
  it('of a history tells one thing with the readings', () => {
    const point = aPoint({ needs: ['load'], basis: 'corrected', loadFamily: 'thermal-machine' });
    const loads = [90, undefined, 92, undefined, 88];
    const readings = loads.map((load, week) =>
      aReading({
        id: `r${week}`,
        takenAt: cutAt + week * 7 * DAY,
        inputs: { value: 60 },
        conditions: load === undefined ? {} : { load },
      }),
    );
    const conclusion = concludePoint({ point, limitSets: [aLimitSet([70, 80, 90, 100])], readings, work: [] });
    expect(conclusion.comparableCount + (conclusion.leftOut ?? []).reduce((sum, { count }) => sum + count, 0)).toBe(5);
    expect(conclusion.leftOut).toEqual([{ gate: 'load-missing', count: 2 }]);
  });
});

describe('a projection in words', () => {
  it('never says a hundred: what was not seen is not certain', () => {
    expect(say({ probabilityMoving: 1 })).toContain(`It moves with 99${T}% probability.`);
  });

  it('names a range, the likely date, and how probable it is that anything moves', () => {
    expect(say({})).toBe(
      `Likely at 90${T}°C between 30 April and 9 May (80${T}%), about 4 May. It moves with 97${T}% probability.`,
    );
  });

  it('is no finer than a tenth of its range', () => {
    expect(say({ precisionDays: 6, earliestAt: days(30), likelyAt: days(55), latestAt: days(90) })).toContain(
      'between mid May and mid July',
    );
  });

  it('without a latest date it may not happen at all; with three readings only the earliest is named', () => {
    expect(say({ latestAt: null })).toBe(
      `Not at 90${T}°C before 30 April (90${T}%), likely about 4 May, or not at all. It moves with 97${T}% probability.`,
    );
    expect(say({ show: 'not-before', likelyAt: null, latestAt: null, precisionDays: null })).toContain(
      `Not expected at 90${T}°C before Thu 30 April (90${T}%).`,
    );
  });

  it('names no date beyond three times the observed period, nor beyond two years', () => {
    expect(say({ spanDays: 6 })).toContain('or not at all');
    expect(say({ show: 'far', earliestAt: days(700), likelyAt: days(900), latestAt: null, precisionDays: null })).toBe(
      `Rising; 90${T}°C lies further ahead than three times the observed period. It moves with 97${T}% probability.`,
    );
    expect(say({ show: 'far', direction: 'low', precisionDays: null })).toContain(
      `Falling; 90${T}°C lies further ahead than three times the observed period; not before Thu 30 April (90${T}%).`,
    );
  });

  it('a date that has passed is said to have passed', () => {
    expect(sayProjection(aProjection(), '°C', ZONE, days(30))).toBe(
      `It was expected at 90${T}°C by 9 May and has not been read since 16 April: read it now.`,
    );
    expect(sayProjection(aProjection({ precisionDays: 20, latestAt: null }), '°C', ZONE, days(300), days(1))).toBe(
      `It was expected at 90${T}°C about May 2026 and could not be judged since 16 April 2026: read it now.`,
    );
    expect(sayProjection(aProjection(), '°C', ZONE, days(20))).toMatch(
      /^Likely at 90.°C by 9 May .+, perhaps already\. It moves/,
    );
  });

  it('a "not before" that is no longer ahead promises nothing', () => {
    const early = aProjection({ show: 'not-before', likelyAt: null, latestAt: null, precisionDays: null });
    expect(sayProjection(early, '°C', ZONE, days(13))).toMatch(/^Not expected at 90.°C before Thu 30 April/);
    expect(sayProjection(early, '°C', ZONE, days(14))).toMatch(/^Perhaps already at 90.°C\./);
    expect(sayProjection({ ...early, show: 'far' }, '°C', ZONE, days(20))).toContain(`; perhaps already at 90${T}°C.`);
    const conclusion = aConclusion({ projections: [early], countsGrade: 'soon' });
    expect(timetable(conclusion, ZONE, days(13))).toHaveLength(1);
    expect(timetable(conclusion, ZONE, days(14))).toEqual([]);
  });

  it('names the year where it is not the present one', () => {
    const now = days(-300);
    expect(sayProjection(aProjection(), '°C', ZONE, now)).toContain('between 30 April 2026 and 9 May 2026 (80');
    expect(timetable(aConclusion({ projections: [aProjection()], countsGrade: 'soon' }), ZONE, now)[0]!.date).toBe(
      'Thu 30 April 2026',
    );
    expect(sayProjection(none('no-usable-trend', { stepAt: days(-42) }), '°C', ZONE, days(400))).toContain(
      'about Thu 5 March 2026',
    );
  });

  it('a limit reached at the reference load only is said so, with what was read', () => {
    const lastRead = { value: 74.1, loadPercent: 62.3, referenceLoadPercent: 100 };
    const beyond = none('over-limit', { limit: 82, lastRead });
    const said = `At its reference load of 100${T}% it would be at the Soon limit of 82${T}°C already; at 62${T}% it reads 74.1${T}°C.`;
    expect(sayProjection(beyond, '°C', ZONE)).toBe(said);
    const fine = aConclusion({
      standing: { grade: 'fine', since: cutAt, readingId: 'r', isHeld: false },
      projections: [beyond],
      countsGrade: 'soon',
    });
    expect(open(fine)).toBe(said.replace(' it would', ' the gearbox bearing would'));
    const scatter = none('over-limit', { limit: 82, lastRead: { value: 81.9, loadPercent: null } });
    expect(sayProjection(scatter, '°C', ZONE)).toBe(
      `All readings together put it at the Soon limit of 82${T}°C already; the last one is 81.9${T}°C.`,
    );
  });

  it('a machine at part load whose limit is reached at full load is never called far from it', () => {
    const point = aPoint({ loadFamily: 'thermal-machine', referenceLoadPercent: 100 });
    const readings = Array.from({ length: 12 }, (_, i) =>
      aReading({
        id: `r${i}`,
        takenAt: cutAt + (i - 11) * 7 * DAY,
        inputs: { value: 20 + 0.85 * (60 + (i % 4) * 3) },
        conditions: { load: 60 + (i % 4) * 3, ambient: 20 },
      }),
    );
    const conclusion = concludePoint({ point, limitSets: [aLimitSet([null, null, 82, null])], readings, work: [] });
    expect(conclusion.standing?.grade).toBe('fine');
    expect(conclusion.projections).toMatchObject([
      { reason: 'over-limit', lastRead: { value: expect.closeTo(78.65, 6), loadPercent: 69 } },
    ]);
    expect(open(conclusion)).toMatch(
      /^At its reference load of 100.% the gearbox bearing would be at the Soon limit of 82.°C already/,
    );
  });

  it('may already be there', () => {
    expect(say({ earliestAt: cutAt })).toContain(`Likely at 90${T}°C by 9 May (90${T}%), about 4 May, perhaps already.`);
  });

  it.each([
    [none('too-few-readings', { readingCount: 2 }), 'Too few readings for a forecast (2 of 3).'],
    [none('span-too-short'), 'No forecast: all readings are of one day.'],
    [none('over-limit'), `The Soon limit of 90${T}°C is reached.`],
    [none('no-usable-trend'), `No forecast: nothing moves towards 90${T}°C.`],
    [
      none('no-usable-trend', { stepAt: days(-42) }),
      'The level changed about Thu 5 March and has held since. Was there work on this point?',
    ],
    [none('beyond-horizon'), `Moving, but 90${T}°C lies far beyond what these readings can tell.`],
    [
      none('limit-at-baseline'),
      `No forecast: the Soon limit of 90${T}°C lies where this point began, or below it. Check the limit.`,
    ],
  ])('no forecast because …: %#', (projection, words) => {
    expect(sayProjection(projection, '°C', ZONE)).toBe(words);
  });
});

describe('the timetable ahead', () => {
  it('is in order of time, with earliest and latest only of the limit that counts', () => {
    const now = aProjection({ grade: 'now', limit: 100, earliestAt: days(20), likelyAt: days(27), latestAt: days(35) });
    const rows = timetable(aConclusion({ projections: [aProjection(), now], countsGrade: 'soon' }), ZONE);
    expect(rows.map(({ date, title, detail }) => [date, title, detail])).toEqual([
      ['Thu 30 April', `earliest at 90${T}°C`, 'from then on: Soon'],
      ['Mon 4 May', `likely at 90${T}°C`, ''],
      ['Sat 9 May', `latest at 90${T}°C`, ''],
      ['Wed 13 May', `likely at 100${T}°C`, 'from then on: Now'],
    ]);
  });

  it('is empty where nothing may be named', () => {
    expect(timetable(aConclusion({ projections: [none('no-usable-trend')], countsGrade: 'soon' }), ZONE)).toEqual([]);
  });
});

describe('the sentence that opens an asset', () => {
  const ahead = { projections: [aProjection()], countsGrade: 'soon' } as const;
  const fine = aConclusion({ standing: { grade: 'fine', since: cutAt, readingId: 'r', isHeld: false } });

  it('says when a limit is reached', () => {
    expect(open(aConclusion(ahead), fine)).toBe(`The gearbox bearing likely reaches 90${T}°C between 30 April and 9 May.`);
    expect(open(aConclusion({ projections: [aProjection({ latestAt: null })], countsGrade: 'soon' }))).toBe(
      `The gearbox bearing may reach 90${T}°C from 30 April on, about 4 May.`,
    );
  });

  it('says first what is at Now already', () => {
    const verdict = assessReading(aPoint(), aReading({ takenAt: cutAt, inputs: { value: 104 } }), [aLimitSet([70, 80, 90, 100])]);
    const now = aConclusion({
      latest: { readingId: 'r', takenAt: cutAt, verdict },
      standing: { grade: 'now', since: cutAt, readingId: 'r', isHeld: false },
    });
    expect(open(now, aConclusion(ahead))).toBe(
      `The gearbox bearing was at 104.0${T}°C on Thu 16 April; its Now limit is 100${T}°C.`,
    );
  });

  it('without a forecast says the worst limit reached, and that a better reading awaits the next', () => {
    expect(open(aConclusion(), fine)).toBe(`The gearbox bearing was at 83.2${T}°C on Thu 16 April; its Plan limit is 80${T}°C.`);
    expect(open(aConclusion({ standing: { grade: 'plan', since: cutAt, readingId: 'r', isHeld: true } }))).toBe(
      'The gearbox bearing stands at Plan since 16 April; the last reading is better, the next one decides.',
    );
  });

  it('with nothing near a limit says so, and how many were judged', () => {
    expect(open(fine)).toBe('Nothing is near a limit: one point is fine, last read on Thu 16 April.');
    expect(open(fine, fine, aConclusion({ latest: null, standing: null }))).toBe(
      'Nothing is near a limit: 2 points are fine, 1 without a judged reading, last read on Thu 16 April.',
    );
  });

  it('a point that was not read for long is not called far from a limit, and the year is said', () => {
    const [year, season] = [Date.UTC(2027, 1, 1), days(91)];
    const openAt = (now: number, ...conclusions: Conclusion[]) =>
      openingSentence(
        { name: 'Pump' },
        conclusions.map((conclusion, i) => ({ name: `Point ${i + 1}`, conclusion })),
        ZONE,
        now,
      );
    expect(openAt(days(90), fine)).toBe('Nothing is near a limit: one point is fine, last read on Thu 16 April.');
    expect(openAt(season, fine)).toBe('Not read since 16 April.');
    expect(openAt(year, fine)).toBe('Not read since 16 April 2026.');
    const fresh = { ...fine, latest: { ...fine.latest!, takenAt: Date.UTC(2027, 0, 20) } };
    expect(openAt(year, fine, fresh)).toBe(
      'Nothing is near a limit: one point is fine, 1 not read since 16 April 2026, last read on Wed 20 January.',
    );
    expect(openAt(year, aConclusion())).toBe(`The point 1 was at 83.2${T}°C on Thu 16 April 2026; its Plan limit is 80${T}°C.`);
    expect(openAt(year, aConclusion({ standing: { grade: 'plan', since: cutAt, readingId: 'r', isHeld: true } }))).toContain(
      'since 16 April 2026;',
    );
    expect(openAt(days(40), aConclusion(ahead))).toBe(
      `The point 1 was expected at 90${T}°C by 9 May and has not been read since 16 April: read it now.`,
    );
  });

  it('before any reading, or after work without one, says that', () => {
    expect(open(aConclusion({ latest: null, standing: null }))).toBe('Ironer main drive has not been read yet.');
    expect(open(aConclusion({ standing: null, isProofAwaited: true }))).toBe(
      'The gearbox bearing waits for a reading that proves the work on it.',
    );
    const waits = aConclusion({ standing: null, isProofAwaited: true });
    expect(open(waits, fine)).toBe(
      'The gearbox bearing waits for a reading that proves the work on it; one point is fine, last read on Thu 16 April.',
    );
    expect(open(waits, waits, fine, fine)).toMatch(
      /^2 points wait for readings that prove the work on them; 2 points are fine, last read on /,
    );
  });

  it('agrees with a computed conclusion', () => {
    const readings = [70, 72.1, 74, 75.8, 78.1, 79.7].map((value, i) =>
      aReading({ id: `r${i}`, takenAt: cutAt + (i - 5) * 14 * DAY, inputs: { value } }),
    );
    const conclusion = concludePoint({ point: aPoint(), limitSets: [aLimitSet([70, 80, 90, 100])], readings, work: [] });
    expect(open(conclusion)).toMatch(/^The gearbox bearing likely reaches 90.°C between .+ and .+\.$/);
  });
});

describe('a grade with its reservation', () => {
  it.each([
    [{ grade: null, atLeast: false, check: null }, 'Not judged'],
    [{ grade: 'plan', atLeast: false, check: null }, 'Plan'],
    [{ grade: 'plan', atLeast: true, check: null }, 'Plan at least'],
    [{ grade: 'plan', atLeast: false, check: 'emissivity-unreliable' }, 'Plan, check emissivity'],
  ] as const)('%o is %s', (verdict, words) => {
    expect(sayGrade(verdict)).toBe(words);
  });
});
