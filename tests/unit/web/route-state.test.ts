import { checkRule, sayRule } from '@heatround/domain';
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { nextDates } from '../../../apps/web/src/screens/rounds/next-dates.ts';
import {
  moved,
  OFTEN,
  type Often,
  oftenOf,
  ruleOf,
  sayGrace,
  sayWindowRule,
} from '../../../apps/web/src/screens/rounds/route-state.ts';
import { placesOf } from '../../../apps/web/src/shell/places.ts';

describe('the rule of a route', () => {
  test.each([
    [{ ...OFTEN, every: 2, days: [4] }, 'FREQ=WEEKLY;INTERVAL=2;BYDAY=TH', 'every second Thursday'],
    [{ ...OFTEN, kind: 'month-day', days: [1], nth: 1 }, 'FREQ=MONTHLY;BYDAY=1MO', 'every month on the first Monday'],
    [{ ...OFTEN, kind: 'month-day', days: [5], nth: -1 }, 'FREQ=MONTHLY;BYDAY=-1FR', 'every month on the last Friday'],
    [
      { ...OFTEN, kind: 'month-date', every: 3, date: 15 },
      'FREQ=MONTHLY;INTERVAL=3;BYMONTHDAY=15',
      'every third month on the 15th',
    ],
  ] as const)('is written from the form and read back', (often, rule, words) => {
    expect(ruleOf(often as Often)).toBe(rule);
    expect(sayRule(rule, 'Europe/Dublin')).toBe(words);
    expect(ruleOf(oftenOf(rule))).toBe(rule);
    expect(oftenOf(rule).kind).not.toBe('own');
  });
  test('what the fields cannot say stays as it was written', () => {
    for (const rule of [
      'FREQ=YEARLY;BYMONTH=3,9;BYDAY=1MO',
      'FREQ=WEEKLY;BYDAY=MO;COUNT=4',
      'FREQ=MONTHLY;BYDAY=MO,TU;BYSETPOS=1',
      'nonsense',
    ])
      expect([oftenOf(rule).kind, ruleOf(oftenOf(rule))]).toEqual(['own', rule]);
  });
  test('whatever the fields say is a rule that plans', () => {
    const often = fc.record({
      kind: fc.constantFrom<Often['kind']>('weeks', 'month-day', 'month-date'),
      every: fc.integer({ min: 1, max: 53 }),
      days: fc.uniqueArray(fc.integer({ min: 1, max: 7 }), { minLength: 1 }),
      nth: fc.constantFrom(1, 2, 3, 4, -1),
      date: fc.constantFrom(1, 15, 31, -1),
      own: fc.constant(''),
    });
    void fc.assert(
      fc.property(often, (one) => {
        expect(checkRule(ruleOf(one))).toEqual([]);
      }),
    );
  });
  test('a time that the clocks skip is moved and says so', () => {
    const given = { rule: 'FREQ=WEEKLY;BYDAY=SU', startLocal: '2026-03-22T02:30', zone: 'Europe/Berlin', season: null };
    const [first, second] = nextDates(given, Date.parse('2026-03-20T00:00:00Z'));
    expect([first?.movedFrom, second?.movedFrom, second?.local]).toEqual([null, '2026-03-29T02:30:00', '2026-03-29T03:30:00']);
  });
  test('a season leaves its sleep out', () => {
    const given = {
      rule: 'FREQ=MONTHLY;BYMONTHDAY=1',
      startLocal: '2026-01-01T08:00',
      zone: 'UTC',
      season: { fromMonth: 5, toMonth: 6 },
    };
    expect(nextDates(given, Date.parse('2026-04-23T00:00:00Z'), 3).map(({ local }) => local.slice(0, 10))).toEqual([
      '2026-05-01',
      '2026-06-01',
      '2027-05-01',
    ]);
  });
});

test('window and grace in words', () => {
  expect(sayWindowRule({ kind: 'days', daysBefore: 1, daysAfter: 1 })).toBe('that day, 1 day before and after');
  expect(sayWindowRule({ kind: 'days', daysBefore: 4, daysAfter: 0 })).toBe('that day or up to 4 days before');
  expect(sayWindowRule({ kind: 'days', daysBefore: 0, daysAfter: 1 })).toBe('that day or up to 1 day after');
  expect(sayWindowRule({ kind: 'days', daysBefore: 1, daysAfter: 2 })).toBe('1 day before to 2 days after');
  expect(sayWindowRule({ kind: 'minutes', minutesBefore: 120, minutesAfter: 90 })).toBe(
    '2 h before to 1 h 30 min after that time',
  );
  expect([sayGrace(null), sayGrace(86_400_000), sayGrace(0)]).toEqual(['half its window', '1 d', '0 h']);
});

test('a stop moves by one place and not over the ends', () => {
  expect(moved(['a', 'b', 'c'], 1, -1)).toEqual(['b', 'a', 'c']);
  expect(moved(['a', 'b'], 1, 1)).toEqual(['a', 'b']);
});

describe('places', () => {
  const words = (roles: string[], known = () => true) => placesOf(roles, () => true, known).map(({ word }) => word);
  test('by role, the first one first', () => {
    expect(words(['technician'])).toEqual(['My walk', 'Due', 'Register']);
    expect(words(['planner'])).toEqual(['Answers due', 'Orders', 'Rounds', 'Due', 'Register', 'What we carry']);
    expect(words(['manager'])).toEqual(['What we carry', 'Orders', 'Answers due', 'Due', 'Register']);
    expect(words(['administrator'])).toEqual(['Engine room', 'People', 'Register', 'Bring in', 'What we carry']);
    expect(words(['guest-reader'])).toEqual(['Register', 'Due']);
  });
  test('only those that exist', () => {
    expect(
      placesOf(
        ['planner'],
        () => true,
        (href) => href === '/due',
      ).map(({ word }) => word),
    ).toEqual(['Due']);
  });
});
