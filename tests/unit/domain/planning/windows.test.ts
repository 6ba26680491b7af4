import { type LimitGrade, lastSensibleWindow, overlappingWindows, type ShutdownWindow } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const zone = 'Europe/Dublin';
const HOUR = 3_600_000;
const at = (text: string): number => Date.parse(text);
const now = at('2026-04-23T08:00+01:00');
const aWindow = (day: string, hours = 9, overrides: Partial<ShutdownWindow> = {}): ShutdownWindow => {
  const from = at(`${day}T07:00+01:00`);
  return { id: day, from, to: from + hours * HOUR, words: null, ...overrides };
};
const earliest = (grade: LimitGrade, day: string, show: 'range' | 'none' = 'range') => ({
  grade,
  earliestAt: at(`${day}T12:00+01:00`),
  show,
});
const ask = (
  windows: readonly ShutdownWindow[],
  projections: Parameters<typeof lastSensibleWindow>[0]['projections'],
  jobMs = 0,
) => lastSensibleWindow({ windows, projections, jobMs, now, zone });

describe('last sensible window', () => {
  const may2 = aWindow('2026-05-02', 5, { words: 'half day' });
  const may16 = aWindow('2026-05-16');

  it('ends before the earliest date of Soon; later ones say how many days too late', () => {
    const answer = ask(
      [aWindow('2026-07-04'), aWindow('2026-05-09'), may2],
      [earliest('soon', '2026-05-20'), earliest('now', '2026-06-20')],
    );
    expect(answer).toMatchObject({ before: 'soon', window: { id: '2026-05-09' }, tooLate: [{ daysTooLate: 45 }] });
    expect(answer.sentence).toBe(
      'Sat 9 May is the last one before the earliest date of Soon (Wed 20 May). Sat 4 July is 45 days too late.',
    );
  });

  it('where none lies before Soon it is the last one before Now, and the sentence says so', () => {
    const answer = ask([may16, may2], [earliest('soon', '2026-04-28'), earliest('now', '2026-05-04')]);
    expect(answer).toMatchObject({ before: 'now', window: { id: '2026-05-02' } });
    expect(answer.sentence).toBe(
      'Sat 2 May, half day, is the last one before the earliest date of Now (Mon 4 May); none lies before Soon. Sat 16 May is 12 days too late.',
    );
    const past = ask([may16, may2], [earliest('soon', '2026-04-20'), earliest('now', '2026-05-04')]);
    expect(past.sentence).toContain('; that of Soon is past.');
  });

  it('where none is in time nothing is named, and what to do is said', () => {
    const answer = ask([may16], [earliest('soon', '2026-04-28'), earliest('now', '2026-05-04')]);
    expect(answer).toMatchObject({ before: 'now', window: null, tooLate: [{ daysTooLate: 12 }] });
    expect(answer.sentence).toBe(
      'No window lies before the earliest date of Now (Mon 4 May): ask for one. Sat 16 May is 12 days too late.',
    );
    expect(ask([may16], [earliest('soon', '2026-04-28')]).sentence).toContain('earliest date of Soon');
    expect(ask([may16], [earliest('now', '2026-04-22')]).sentence).toMatch(
      /^The earliest date of Now \(Wed 22 April\) is past: do not wait/,
    );
  });

  it('without a forecast that shows a date there is none', () => {
    const nothing = {
      window: null,
      before: null,
      earliestAt: null,
      tooLate: [],
      sentence: 'No forecast names a date, so no window is the last sensible one.',
    };
    expect(ask([may2], [])).toMatchObject(nothing);
    expect(ask([may2], [earliest('soon', '2026-05-20', 'none'), { grade: 'plan', earliestAt: 0, show: 'range' }])).toMatchObject(
      nothing,
    );
  });

  it('D38: a window shorter than the job is left out and named, one that has begun counts with what is left', () => {
    const answer = ask([may2, aWindow('2026-04-25')], [earliest('soon', '2026-05-20')], 6 * HOUR);
    expect(answer).toMatchObject({ window: { id: '2026-04-25' }, tooShort: [{ id: '2026-05-02' }] });
    expect(answer.sentence).toMatch(/Too short for the job: Sat 2 May\.$/);
    const begun = aWindow('2026-04-23', 9);
    expect(ask([begun], [earliest('soon', '2026-05-20')], 8 * HOUR).window).toBe(begun);
    expect(ask([begun], [earliest('soon', '2026-05-20')], 8 * HOUR + 1)).toMatchObject({ window: null, tooShort: [begun] });
    expect(ask([aWindow('2026-04-22')], [earliest('soon', '2026-05-20')]).window).toBeNull();
  });

  it('D38: two that overlap are never joined; the one that ends last counts, of two that end together the longer', () => {
    const short = aWindow('2026-05-02', 3);
    const later = aWindow('2026-05-02', 3, { id: 'later', from: short.from + 2 * HOUR, to: short.to + 2 * HOUR });
    expect(ask([later, short], [earliest('soon', '2026-05-20')]).window?.id).toBe('later');
    expect(ask([later, short], [earliest('soon', '2026-05-20')], 4 * HOUR)).toMatchObject({
      window: null,
      tooShort: [short, later],
    });
    const longer = { ...later, id: 'longer', from: short.from };
    expect(ask([longer, later], [earliest('soon', '2026-05-20')]).window?.id).toBe('longer');
    expect(overlappingWindows([later, may16, short])).toEqual([[short, later]]);
    expect(overlappingWindows([short, { ...later, from: short.to }])).toEqual([]);
  });

  it('the order of windows plays no part, and the answer is in time, long enough and the last of those', () => {
    const window = fc
      .tuple(fc.integer({ min: -5, max: 60 }), fc.integer({ min: 1, max: 60 }), fc.nat())
      .map(([day, hours, id]) => ({
        id: String(id),
        from: now + day * 24 * HOUR,
        to: now + day * 24 * HOUR + hours * HOUR,
        words: null,
      }));
    const windows = fc.uniqueArray(window, { selector: ({ id }) => id, maxLength: 8 });
    fc.assert(
      fc.property(windows, fc.integer({ min: -3, max: 70 }), fc.integer({ min: 0, max: 50 }), (list, day, hours) => {
        const soon = { grade: 'soon' as const, earliestAt: now + day * 24 * HOUR, show: 'range' as const };
        const answer = ask(list, [soon], hours * HOUR);
        expect(ask(list.toReversed(), [soon], hours * HOUR)).toEqual(answer);
        const good = list.filter(
          (one) => one.to > now && one.to < soon.earliestAt && one.to - Math.max(one.from, now) >= hours * HOUR,
        );
        expect(answer.window?.to ?? null).toBe(good.length === 0 ? null : Math.max(...good.map(({ to }) => to)));
        for (const { daysTooLate } of answer.tooLate) expect(daysTooLate).toBeGreaterThanOrEqual(1);
      }),
    );
  });
});
