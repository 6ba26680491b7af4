import { displayProjection, projectTimeToLimit, type TimeToLimit, trendWord } from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { type GoldenValue, goldenValues, inputOf } from '../golden-values.ts';
import { plainInput, wobble } from './cases.ts';

// Rules: own, as published at displayProjection and trendWord.

const weekly = (count: number, value: (i: number) => number): [number, number][] =>
  Array.from({ length: count }, (_, i) => [7 * i, value(i)]);

const line = weekly(12, (i) => 50 + 1.5 * i + 0.3 * wobble(i));
const runaway = weekly(20, (i) => 40 + Math.exp(0.17 * i) + 0.3 * wobble(i));
const still = weekly(20, (i) => 50 + 0.5 * wobble(i));
const jumped = weekly(24, (i) => (i < 10 ? 50 : 58) + 0.4 * wobble(i));

function made(overrides: Partial<TimeToLimit>): TimeToLimit {
  const projection = projectTimeToLimit(plainInput(line, 80));
  if (projection.status !== 'projection') throw new Error('a line to the limit is projected');
  return {
    ...projection,
    p10Days: 60,
    p50Days: 70,
    p90Days: 80,
    readingCount: 12,
    spanDays: 100,
    probabilityMoving: 1,
    ...overrides,
  };
}

describe('what a screen may show', () => {
  // Our own words for those of the rule: a limit further ahead than three spans keeps its earliest day.
  const inWords = (given: GoldenValue) => {
    const [n, span] = [inputOf<number>(given, 'n'), inputOf<number>(given, 'span')];
    if (n < 3) {
      const shown = displayProjection(projectTimeToLimit(plainInput(line.slice(0, n), 80)));
      return shown.show === 'none' ? `none:${shown.reason}` : shown.show;
    }
    const p50Days = inputOf<number | null>(given, 'p50');
    const moving = inputOf<number>(given, 'pRising');
    const shown = displayProjection(
      made({
        readingCount: n,
        spanDays: span,
        probabilityMoving: moving,
        p50Days,
        ...(p50Days === null ? { p90Days: null } : {}),
      }),
    );
    return shown.show === 'far' ? 'none:beyond-3x-span' : shown.show === 'none' ? `none:${shown.reason}` : 'show';
  };
  it.each(goldenValues('prognosis.displayGate'))('%s', (_, value) => expect(inWords(value)).toBe(value.expected));

  it('a clear line gives a range with its readings, its probability and its confidence', () => {
    const shown = displayProjection(projectTimeToLimit(plainInput(line, 80)));
    expect(shown).toMatchObject({ show: 'range', confidence: 'firm', readingCount: 12 });
    if (shown.show !== 'range') return;
    expect(shown.notBeforeDays).toBeLessThan(shown.likelyDays);
    expect(shown.likelyDays).toBeLessThan(shown.latestDays ?? 0);
  });

  it('three readings promise no more than an earliest day', () => {
    expect(displayProjection(made({ readingCount: 3 }))).toMatchObject({ show: 'not-before', notBeforeDays: 60 });
  });

  it('less than two weeks promise no more than an earliest day', () => {
    expect(displayProjection(made({ spanDays: 13.9 })).show).toBe('not-before');
    expect(displayProjection(made({ spanDays: 30 })).show).toBe('range');
  });

  it('a limit that may never be reached gets no likely day', () => {
    expect(displayProjection(made({ p50Days: null, p90Days: null })).show).toBe('not-before');
  });

  it('no date lies beyond three observed spans or two years', () => {
    expect(displayProjection(made({ p50Days: 301 }))).toMatchObject({ show: 'far', notBeforeDays: 60 });
    expect(displayProjection(made({ p50Days: 731, spanDays: 1000 })).show).toBe('far');
    expect(displayProjection(made({ p50Days: 729, p90Days: 900, spanDays: 1000 })).show).toBe('range');
  });

  it('an open end is said as such', () => {
    expect(displayProjection(made({ p90Days: null }))).toMatchObject({ show: 'range', latestDays: null, confidence: 'thin' });
  });

  it('dates are never finer than a tenth of the range, nor than a day', () => {
    expect(displayProjection(made({ p10Days: 40, p90Days: 240 }))).toMatchObject({ precisionDays: 20 });
    expect(displayProjection(made({}))).toMatchObject({ precisionDays: 2 });
    expect(displayProjection(made({ p10Days: 69, p90Days: 71 }))).toMatchObject({ precisionDays: 1 });
  });

  it('confidence needs readings, a narrow range and a sure movement, all three', () => {
    const confidence = (overrides: Partial<TimeToLimit>): unknown => {
      const shown = displayProjection(made(overrides));
      return shown.show === 'range' ? shown.confidence : shown.show;
    };
    expect(confidence({})).toBe('firm');
    expect(confidence({ readingCount: 7 })).toBe('fair');
    expect(confidence({ p90Days: 181 })).toBe('fair');
    expect(confidence({ probabilityMoving: 0.89 })).toBe('fair');
    expect(confidence({ readingCount: 4 })).toBe('thin');
    expect(confidence({ p90Days: 481 })).toBe('thin');
    expect(confidence({ probabilityMoving: 0.7 })).toBe('thin');
    expect(confidence({ p10Days: 0, p50Days: 5, p90Days: 14 })).toBe('firm');
  });

  it('silence carries its reason and, after a level change, the day to ask about', () => {
    const shown = displayProjection(projectTimeToLimit(plainInput(jumped, 75)));
    expect(shown).toMatchObject({ show: 'none', reason: 'no-usable-trend' });
    if (shown.show !== 'none') return;
    expect(shown.stepAtDay).toBeGreaterThan(63);
    expect(shown.stepAtDay).toBeLessThan(70);
  });
});

describe('the trend word', () => {
  it('tells steady, creeping, running away and jumped apart', () => {
    expect(trendWord(projectTimeToLimit(plainInput(still, 75)))).toBe('steady');
    expect(trendWord(projectTimeToLimit(plainInput(line, 80)))).toBe('creeping');
    expect(trendWord(projectTimeToLimit(plainInput(runaway, 90)))).toBe('running-away');
    expect(trendWord(projectTimeToLimit(plainInput(jumped, 75)))).toBe('jumped');
  });

  it('is silent when the readings were not enough to ask', () => {
    expect(trendWord(projectTimeToLimit(plainInput(line.slice(0, 2), 80)))).toBeNull();
    expect(trendWord(projectTimeToLimit(plainInput(line, 55)))).toBeNull();
  });
});

describe('curve and fan', () => {
  const projection = projectTimeToLimit(plainInput(line, 80, { cutDay: 80 }), { withCurve: true });
  if (projection.status !== 'projection') throw new Error('a line to the limit is projected');
  const { curve = [], fan = [], p10Days, p50Days, p90Days } = projection;

  it('are left out unless asked for, and change no figure', () => {
    const { curve: _, fan: __, ...figures } = projection;
    expect(projectTimeToLimit(plainInput(line, 80, { cutDay: 80 }))).toEqual(figures);
  });

  it('the curve follows the readings from first to last', () => {
    expect(curve.length).toBeLessThanOrEqual(40);
    expect(curve[0]?.day).toBe(0);
    expect(curve.at(-1)?.day).toBeCloseTo(77, 9);
    for (const { day, level } of curve) expect(Math.abs(level - (50 + (1.5 * day) / 7))).toBeLessThan(0.5);
  });

  it('the fan begins on the day of asking and meets the limit at P10, P50 and P90', () => {
    const dayAtLimit = (key: 'low' | 'mid' | 'high'): number => {
      const after = fan.findIndex((sample) => sample[key] >= 80);
      const [a, b] = [fan[after - 1], fan[after]];
      if (a === undefined || b === undefined) return Number.NaN;
      return a.day + ((b.day - a.day) * (80 - a[key])) / (b[key] - a[key]);
    };
    expect(fan.length).toBeLessThanOrEqual(30);
    expect(fan[0]?.day).toBeCloseTo(80, 9);
    // The times are interpolated on a coarser grid than the fan is drawn on: within a day.
    expect(Math.abs(dayAtLimit('high') - 80 - p10Days)).toBeLessThan(1);
    expect(Math.abs(dayAtLimit('mid') - 80 - (p50Days ?? 0))).toBeLessThan(1);
    expect(Math.abs(dayAtLimit('low') - 80 - (p90Days ?? 0))).toBeLessThan(1);
  });

  it('a falling quantity is drawn in its own unit, low below high', () => {
    const falling = plainInput(
      line.map(([day, value]) => [day, 100 - value]),
      20,
      { direction: 'down' },
    );
    const down = projectTimeToLimit(falling, { withCurve: true });
    if (down.status !== 'projection') throw new Error('a fall to the limit is projected');
    expect(down.curve?.[0]?.level).toBeCloseTo(50, 0);
    expect(down.fan?.at(-1)?.low).toBeLessThan(20);
    expect(down.levelNow).toBeCloseTo(100 - 66.5, 0);
  });
});
