import { readFileSync } from 'node:fs';
import { checkRule, isoWeek, type Occurrence, occurrencesOf, parseLocal, placeLocal, sayRule, wallTime } from '@heatround/domain';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';

interface GoldenCase {
  readonly rrule: string;
  readonly dtstart_local: string;
  readonly tzid: string;
  readonly n: number;
  readonly dtstart_nonexistent: boolean;
  readonly occurrences_shift: readonly {
    readonly local: string;
    readonly utc: string;
    readonly nonexistent_local_time?: boolean;
    readonly wall_clock_shown?: string;
  }[];
}

const golden = JSON.parse(readFileSync(new URL('../../../golden/rrule.json', import.meta.url), 'utf8')) as {
  cases: readonly GoldenCase[];
};
const cases = golden.cases.filter((one) => !one.dtstart_nonexistent);
const DUBLIN = 'Europe/Dublin';
const DAY = 86_400_000;
const at = (text: string): number => Date.parse(text);
const first = (rule: string, startLocal: string, zone: string, most: number): Occurrence[] =>
  occurrencesOf({ rule, startLocal, zone }, at('1990-01-01T00:00Z'), at('2089-01-01T00:00Z'), most);

describe('recurrence against dateutil and libical', () => {
  const own = process.env.TZ;
  afterAll(() => {
    if (own === undefined) delete process.env.TZ;
    else process.env.TZ = own;
  });

  it.each([
    ['UTC', 0],
    ['America/New_York', 300],
    ['Australia/Lord_Howe', -660],
    ['Pacific/Kiritimati', -840],
  ])('all cases agree while the process runs in %s', (processZone, minutesBehind) => {
    process.env.TZ = processZone;
    expect(new Date(2026, 0, 15).getTimezoneOffset()).toBe(minutesBehind);
    expect(cases.length).toBeGreaterThan(90);
    for (const one of cases) {
      const name = `${one.rrule} from ${one.dtstart_local} in ${one.tzid}`;
      expect(checkRule(one.rrule), name).toEqual([]);
      const expected = one.occurrences_shift.map((occurrence) => ({
        at: at(occurrence.utc),
        local: occurrence.wall_clock_shown ?? occurrence.local,
        movedFrom: occurrence.nonexistent_local_time ? occurrence.local : null,
      }));
      expect(first(one.rrule, one.dtstart_local, one.tzid, one.n), name).toEqual(expected);
    }
  });
});

describe('planned times', () => {
  it('D31: a round planned at 02:30 on the day the clocks go forward is moved by the gap and says so', () => {
    const found = first('FREQ=DAILY', '2026-03-28T01:30', DUBLIN, 3);
    expect(found.map(({ local, movedFrom }) => [local, movedFrom])).toEqual([
      ['2026-03-28T01:30:00', null],
      ['2026-03-29T02:30:00', '2026-03-29T01:30:00'],
      ['2026-03-30T01:30:00', null],
    ]);
    const halfHour = first('FREQ=DAILY', '2026-10-03T02:15', 'Australia/Lord_Howe', 2)[1];
    expect(halfHour).toMatchObject({ local: '2026-10-04T02:45:00', movedFrom: '2026-10-04T02:15:00' });
  });

  it('D31: a time that comes twice in autumn is planned once, at the first', () => {
    const found = first('FREQ=DAILY', '2026-10-24T01:30', DUBLIN, 3);
    expect(found.map((one) => one.at)).toEqual([
      at('2026-10-24T00:30:00Z'),
      at('2026-10-25T00:30:00Z'),
      at('2026-10-26T01:30:00Z'),
    ]);
  });

  it('D31: a day that a zone left out altogether gives no second round on the next', () => {
    // Samoa went over the date line: 30 December 2011 does not exist (IANA time zone database).
    const found = first('FREQ=DAILY', '2011-12-28T08:00', 'Pacific/Apia', 4);
    expect(found.map(({ local }) => local.slice(0, 10))).toEqual(['2011-12-28', '2011-12-29', '2011-12-31', '2012-01-01']);
  });

  it('D32: every second week runs through ISO week 53 without a break', () => {
    const found = first('FREQ=WEEKLY;INTERVAL=2;BYDAY=TH', '2026-12-17T08:00', DUBLIN, 4);
    expect(found.map((one) => isoWeek(one.at, DUBLIN))).toEqual([
      { year: 2026, week: 51 },
      { year: 2026, week: 53 },
      { year: 2027, week: 2 },
      { year: 2027, week: 4 },
    ]);
  });

  it('D32: 29 February is planned in leap years only, and a monthly round on the 31st in months that have one', () => {
    expect(first('FREQ=YEARLY', '2024-02-29T08:00', DUBLIN, 3).map(({ local }) => local.slice(0, 10))).toEqual([
      '2024-02-29',
      '2028-02-29',
      '2032-02-29',
    ]);
    expect(first('FREQ=MONTHLY;BYMONTHDAY=-1', '2028-01-31T08:00', DUBLIN, 2)[1]?.local).toBe('2028-02-29T08:00:00');
  });

  it('D35: the zone of the site decides, whoever asks from where', () => {
    const [round] = first('FREQ=DAILY', '2026-04-30T23:30', 'America/New_York', 1);
    expect(wallTime(round!.at, 'America/New_York').month).toBe(4);
    expect(wallTime(round!.at, DUBLIN).month).toBe(5);
  });

  it('the span asked for includes its beginning and excludes its end', () => {
    const recurrence = { rule: 'FREQ=DAILY', startLocal: '2026-04-01T08:00', zone: 'UTC' };
    const [from, to] = [at('2026-04-03T08:00Z'), at('2026-04-05T08:00Z')];
    expect(occurrencesOf(recurrence, from, to).map((one) => one.at)).toEqual([from, at('2026-04-04T08:00Z')]);
    expect(occurrencesOf(recurrence, to, from)).toEqual([]);
    expect(occurrencesOf(recurrence, from, to, 0)).toEqual([]);
  });

  it('the next 400 days of a daily round are 400 rounds, decades after it began', () => {
    const recurrence = { rule: 'FREQ=DAILY', startLocal: '1997-08-05T09:00', zone: DUBLIN };
    const from = at('2026-04-23T00:00Z');
    expect(occurrencesOf(recurrence, from, from + 400 * DAY)).toHaveLength(400);
    expect(occurrencesOf({ ...recurrence, rule: 'FREQ=DAILY;COUNT=9999' }, from, from + 400 * DAY)).toHaveLength(0);
    expect(occurrencesOf({ ...recurrence, rule: 'FREQ=DAILY;BYDAY=MO;COUNT=9999' }, from, from + 28 * DAY)).toHaveLength(4);
  });

  it('UNTIL in UTC, as a day and as a local time counts its own instant', () => {
    const until = (end: string): number => first(`FREQ=DAILY;UNTIL=${end}`, '2026-04-01T08:00', 'America/New_York', 99).length;
    expect(until('20260403T120000Z')).toBe(3);
    expect(until('20260403T115959Z')).toBe(2);
    expect(until('20260403')).toBe(3);
    expect(until('20260403T075959')).toBe(2);
  });

  it('an unknown zone, a start that does not exist and a wrong rule are refused', () => {
    expect(() => first('FREQ=DAILY', '2026-02-30T08:00', DUBLIN, 1)).toThrow(/2026-03-24T08:00/);
    expect(() => first('FREQ=DAILY', '2026-02-20T08:00', 'Mars/Base', 1)).toThrow(RangeError);
    expect(() => first('FREQ=HOURLY', '2026-02-20T08:00', DUBLIN, 1)).toThrow(/FREQ is DAILY/);
  });

  it('splitting a span gives the same rounds as asking once', () => {
    const rules = [
      'FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SU',
      'FREQ=MONTHLY;BYDAY=-1FR',
      'FREQ=DAILY;INTERVAL=3;COUNT=50',
      'FREQ=YEARLY',
    ];
    fc.assert(
      fc.property(
        fc.constantFrom(...rules),
        fc.constantFrom(DUBLIN, 'America/St_Johns', 'Pacific/Apia', 'Africa/Casablanca'),
        fc.integer({ min: 0, max: 900 }),
        fc.integer({ min: 0, max: 86_399 }),
        (rule, zone, days, seconds) => {
          const recurrence = { rule, startLocal: '2025-06-01T02:30', zone };
          const [from, to] = [at('2025-01-01T00:00Z'), at('2027-09-01T00:00Z')];
          const middle = from + days * DAY + seconds * 1000;
          const whole = occurrencesOf(recurrence, from, to);
          expect([...occurrencesOf(recurrence, from, middle), ...occurrencesOf(recurrence, middle, to)]).toEqual(whole);
          expect(whole.length).toBeGreaterThan(0);
          for (const one of whole) expect(placeLocal(parseLocal(one.movedFrom ?? one.local)!, zone)).toEqual(one);
        },
      ),
      { numRuns: 40 },
    );
  });
});

describe('rules', () => {
  it.each([
    ['', 'FREQ'],
    ['FREQ', 'FREQ'],
    ['FREQ=SOMETIMES', 'FREQ'],
    ['FREQ=HOURLY', 'FREQ'],
    ['FREQ=DAILY;', 'FREQ'],
    ['FREQ=DAILY;FREQ=DAILY', 'FREQ'],
    ['FREQ=DAILY;INTERVAL=0', 'INTERVAL'],
    ['FREQ=DAILY;INTERVAL=1.5', 'INTERVAL'],
    ['FREQ=DAILY;INTERVAL=2,3', 'INTERVAL'],
    ['FREQ=WEEKLY;BYDAY=MONDAY', 'BYDAY'],
    ['FREQ=WEEKLY;BYDAY=1MO', 'BYDAY'],
    ['FREQ=MONTHLY;BYDAY=6MO', 'BYDAY'],
    ['FREQ=MONTHLY;BYDAY=0MO', 'BYDAY'],
    ['FREQ=WEEKLY;BYMONTHDAY=3', 'BYMONTHDAY'],
    ['FREQ=MONTHLY;BYMONTHDAY=32', 'BYMONTHDAY'],
    ['FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30', 'BYMONTHDAY'],
    ['FREQ=YEARLY;BYMONTH=13', 'BYMONTH'],
    ['FREQ=MONTHLY;BYSETPOS=1', 'BYSETPOS'],
    ['FREQ=WEEKLY;WKST=1', 'WKST'],
    ['FREQ=DAILY;COUNT=0', 'COUNT'],
    ['FREQ=DAILY;COUNT=3;UNTIL=20260101', 'UNTIL'],
    ['FREQ=DAILY;UNTIL=20260230', 'UNTIL'],
    ['FREQ=DAILY;UNTIL=tomorrow', 'UNTIL'],
    ['FREQ=DAILY;BYHOUR=8', 'BYHOUR'],
    ['FREQ=YEARLY;BYWEEKNO=20', 'BYWEEKNO'],
  ])('"%s" is refused at %s with what was expected and an example that works', (rule, part) => {
    const [problem] = checkRule(rule);
    expect(problem?.part).toBe(part);
    expect(problem?.expected).toMatch(/\.$/);
    expect(checkRule(problem!.example)).toEqual([]);
  });

  it('D90: no text crashes the check, and what it accepts can be planned and said', () => {
    const words = fc.constantFrom(
      'FREQ=',
      'WEEKLY',
      'MONTHLY',
      ';',
      'BYDAY=',
      'MO',
      '-1FR',
      ',',
      'INTERVAL=',
      '2',
      'UNTIL=',
      '20260101',
      '=',
      'x',
    );
    const text = fc.oneof(
      fc.string(),
      fc.array(words, { maxLength: 8 }).map((parts) => parts.join('')),
    );
    fc.assert(
      fc.property(text, (rule) => {
        if (checkRule(rule).length > 0) return;
        expect(sayRule(rule, DUBLIN)).not.toBe('');
        expect(first(rule, '2026-01-05T08:00', DUBLIN, 3).length).toBeLessThanOrEqual(3);
      }),
    );
  });

  it.each([
    ['FREQ=DAILY', 'every day'],
    ['FREQ=DAILY;INTERVAL=2', 'every second day'],
    ['FREQ=WEEKLY', 'every week'],
    ['FREQ=WEEKLY;BYDAY=TU', 'every Tuesday'],
    ['RRULE:FREQ=WEEKLY;INTERVAL=2;BYDAY=TH', 'every second Thursday'],
    ['freq=weekly;byday=mo,th', 'every Monday and Thursday'],
    ['FREQ=WEEKLY;INTERVAL=4;BYDAY=TU,SU;WKST=MO', 'every fourth week on Tuesday and Sunday'],
    ['FREQ=WEEKLY;INTERVAL=6', 'every 6th week'],
    ['FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR', 'every working day'],
    ['FREQ=WEEKLY;INTERVAL=2;BYDAY=TH;BYMONTH=10,11,12,1,2,3,4', 'every second Thursday, October to April'],
    ['FREQ=MONTHLY;BYDAY=1MO', 'every month on the first Monday'],
    ['FREQ=MONTHLY;BYDAY=-1FR', 'every month on the last Friday'],
    ['FREQ=MONTHLY;BYMONTHDAY=15,-1', 'every month on the 15th and last day'],
    ['FREQ=MONTHLY;BYMONTHDAY=13;BYDAY=FR', 'every month on the 13th where it is a Friday'],
    ['FREQ=MONTHLY;INTERVAL=3;BYMONTHDAY=-2', 'every third month on the second last day'],
    ['FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1', 'every month on the last working day'],
    ['FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29', 'every year on the 29th of February'],
    ['FREQ=YEARLY;BYMONTH=5,9', 'every year in May and September'],
    ['FREQ=WEEKLY;BYDAY=WE;COUNT=6', 'every Wednesday, 6 times'],
    ['FREQ=WEEKLY;BYDAY=WE;UNTIL=20261231T235959Z', 'every Wednesday, until Thu 31 December 2026'],
  ])('%s is said as "%s"', (rule, words) => {
    expect(sayRule(rule, DUBLIN)).toBe(words);
  });
});
