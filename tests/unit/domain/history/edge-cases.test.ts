/** Cases a careful tester would try with the history of a point; the number is that of the case. */
import {
  awakeTime,
  concludePoint,
  judgeHistory,
  type KindOfWork,
  openingSentence,
  outcomesOf,
  parseReading,
  type Reading,
  sayEvidence,
  sayProjection,
  trendAt,
} from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { aFact, aLimitSet, aPoint, aReading, DAY, entry, START } from '../builders.ts';

const bearingLimits = aLimitSet([70, 80, 90, 100]);
const noise = (i: number): number => 0.4 * Math.sin(i * 12.9898) + 0.2 * Math.cos(i * 78.233);
const series = (values: readonly number[], days = 14, from = START): Reading[] =>
  values.map((value, i) =>
    aReading({ id: `r${String(from + i).slice(-8)}-${i}`, takenAt: from + i * days * DAY, inputs: { value } }),
  );
const conclude = (values: readonly number[], more: Partial<Parameters<typeof concludePoint>[0]> = {}) =>
  concludePoint({ point: aPoint(), limitSets: [bearingLimits], readings: series(values), work: [], ...more });
const rising = (n: number, from: number, perReading: number): number[] =>
  Array.from({ length: n }, (_, i) => from + perReading * i + noise(i));
const work = (kind: KindOfWork, takenAt: number) => ({ id: `w${takenAt}`, takenAt, work: kind, words: null });

describe('readings', () => {
  it('D14: two readings of the same second both count, and their order follows from their ids', () => {
    const [first, second] = [aReading({ id: 'a', inputs: { value: 60 } }), aReading({ id: 'b', inputs: { value: 85 } })];
    const both = conclude([], { readings: [second, first] });
    expect(both).toEqual(conclude([], { readings: [first, second] }));
    expect(both).toMatchObject({ readingCount: 2, latest: { readingId: 'b' }, standing: { grade: 'plan' } });
  });

  it('D17: what falls towards a low limit is forecast to reach it', () => {
    const low = aLimitSet([57, 55, 53, 50], { direction: 'low' });
    const falling = rising(16, 66, -0.5);
    const { projections, trend } = conclude(falling, { limitSets: [low] });
    const soon = projections.find(({ grade }) => grade === 'soon')!;
    expect(soon).toMatchObject({ direction: 'low', limit: 53, show: 'range' });
    expect(soon.likelyAt).toBeGreaterThan(soon.cutAt);
    expect(trend).not.toBeNull();
  });

  it('D19: after a step the slope goes on from the new level, not from the old one', () => {
    const steps = [...rising(10, 50, 0.02), ...rising(10, 62, 0.5)];
    const { projections } = conclude(steps);
    const plan = projections.find(({ grade }) => grade === 'plan')!;
    // 13.5 K at 0.5 K in 14 days are 378 days; a line through all of it would rise nearly twice as fast and say 217.
    expect(plan.show).toBe('range');
    const days = (plan.likelyAt! - plan.cutAt) / DAY;
    expect(days).toBeGreaterThan(300);
    expect(days).toBeLessThan(520);
  });

  it('D24: a gap of five years leaves the sides of it in one history and promises nothing beyond what was seen', () => {
    const old = series(rising(8, 55, 0.1));
    const young = series(rising(3, 58, 0.1), 14, START + 5 * 365 * DAY);
    const { projections, readingCount } = conclude([], { readings: [...old, ...young] });
    expect(readingCount).toBe(11);
    for (const { earliestAt, cutAt, spanDays } of projections) {
      expect(spanDays).toBeGreaterThan(1800);
      if (earliestAt !== null) expect(earliestAt).toBeGreaterThanOrEqual(cutAt);
    }
  });

  it('D25: a trend through zero has figures and dates as any other', () => {
    const point = aPoint({ quantity: 'approach', unit: 'K' });
    const through = rising(14, -3, 0.45).map((value, i) =>
      aReading({ id: `z${i}`, takenAt: START + i * 14 * DAY, inputs: { warm: 40 + value, cold: 40 } }),
    );
    const conclusion = concludePoint({ point, limitSets: [aLimitSet([4, 6, 8, 10])], readings: through, work: [] });
    expect(JSON.stringify(conclusion)).not.toMatch(/NaN|Infinity/);
    expect(conclusion.projections.find(({ grade }) => grade === 'soon')).toMatchObject({ show: 'range' });
  });

  it('D26, D27: no date lies before the last reading, and none beyond what the span of it carries', () => {
    for (const values of [rising(12, 60, 1.4), rising(12, 60, 0.02), rising(12, 77, 0.15)]) {
      const conclusion = conclude(values);
      for (const one of conclusion.projections) {
        for (const at of [one.earliestAt, one.likelyAt, one.latestAt])
          if (at !== null) expect(at).toBeGreaterThanOrEqual(one.cutAt);
        const furthest = Math.min(730, 3 * one.spanDays) * DAY;
        if (one.show === 'range') expect(one.earliestAt! - one.cutAt).toBeLessThanOrEqual(furthest);
        expect(sayProjection(one, conclusion.unit, 'Europe/Dublin')).not.toMatch(/NaN|null|Invalid/);
      }
    }
  });

  it('D28: a forecast waits while the point sleeps, and what it stands at does not go away', () => {
    // Awake from May to September; the last of twelve readings is of 4 September, one every 11 days, 1.4 K each.
    const from = Date.UTC(2025, 4, 6, 9);
    const readings = series(rising(12, 60, 1.4), 11, from);
    const season = [{ fromMonth: 5, toMonth: 9 }];
    const awake = conclude([], { readings });
    const seasonal = conclude([], { readings, seasons: season, zone: 'Europe/Dublin' });
    expect(seasonal.standing).toEqual(awake.standing);
    expect(seasonal.standing?.grade).toBe('watch');
    const [soonAwake, soon] = [awake, seasonal].map(({ projections }) => projections.find(({ grade }) => grade === 'soon')!);
    // Some 14 K at 1.4 K in 11 days: at the turn of the year by the calendar, so some three months into the next summer.
    const sleeps = [Date.UTC(2025, 8, 30, 23), Date.UTC(2026, 3, 30, 23)] as const;
    expect(soonAwake!.likelyAt).toBeGreaterThan(sleeps[0]);
    expect(soonAwake!.likelyAt).toBeLessThan(sleeps[1]);
    expect(soon!.likelyAt! - soonAwake!.likelyAt!).toBeCloseTo(sleeps[1] - sleeps[0], -6);
    expect(trendAt(seasonal, 'Europe/Dublin', Date.UTC(2025, 11, 24))).toBe('asleep');
    expect(trendAt(seasonal, 'Europe/Dublin', Date.UTC(2026, 4, 24))).toBe(seasonal.trend);
    expect(sayEvidence(seasonal, 'Europe/Dublin', Date.UTC(2025, 11, 24))).toBe(
      'Rests on 12 comparable readings. Only the time awake counts, May to September; asleep until 1 May 2026.',
    );
    const opening = (now: number) =>
      openingSentence({ name: 'Recooler' }, [{ name: 'Fan bearing', conclusion: seasonal }], 'Europe/Dublin', now);
    // The worst thing stays first, asleep or not.
    expect(opening(Date.UTC(2025, 11, 24))).toMatch(/^The fan bearing was at/);
  });

  it('D28: two seasons are one history, and a repair in between begins a new one', () => {
    const seasons = [{ fromMonth: 5, toMonth: 9 }];
    const [first, second] = [Date.UTC(2024, 4, 6, 9), Date.UTC(2025, 4, 6, 9)];
    // 0.6 K in 14 days while it runs: ten readings of one summer, six of the next. By the calendar the winter is a flat stretch.
    const values = rising(16, 60, 0.6);
    const readings = [...series(values.slice(0, 10), 14, first), ...series(values.slice(10), 14, second)];
    const known = { readings, seasons, zone: 'Europe/Dublin' };
    const plan = conclude([], known).projections.find(({ grade }) => grade === 'plan')!;
    // 11 K at 0.6 K in 14 days awake are 257 days: from mid July over what is left of two summers.
    expect(new Date(plan.likelyAt!).getUTCFullYear()).toBeGreaterThan(2025);
    const left = awakeTime(seasons, 'Europe/Dublin').between(plan.cutAt, plan.likelyAt!) / DAY;
    expect(left).toBeGreaterThan(180);
    expect(left).toBeLessThan(330);
    // Cleaned in January and read once while it was tried: that reading is after the work.
    const tried = aReading({ id: 'tried', takenAt: Date.UTC(2025, 1, 3), inputs: { value: 58 } });
    const repaired = conclude([], { ...known, readings: [...readings, tried], work: [work('repaired', Date.UTC(2025, 0, 20))] });
    expect(repaired.comparableCount).toBe(7);
    expect(repaired.projections.find(({ grade }) => grade === 'plan')!.readingCount).toBe(7);
  });

  it('D28: what was read asleep alone forecasts nothing, and a step in the sleep is dated when it was', () => {
    const known = { seasons: [{ fromMonth: 5, toMonth: 9 }], zone: 'Europe/Dublin' };
    const winter = Date.UTC(2025, 10, 3, 9);
    const asleep = conclude([], { ...known, readings: series(rising(8, 60, 1.1), 14, winter) });
    for (const one of asleep.projections) expect(one).toMatchObject({ show: 'none', reason: 'span-too-short', earliestAt: null });
    expect(conclude([], { readings: series(rising(8, 60, 1.1), 14, winter) }).projections[0]!.show).toBe('range');
    const before = [
      ...series(rising(20, 60, 0), 7, Date.UTC(2025, 4, 6, 9)),
      ...series(rising(3, 60, 0), 10, Date.UTC(2025, 10, 3, 9)),
    ];
    const after = [
      ...series(rising(4, 66, 0), 10, Date.UTC(2025, 11, 15, 9)),
      ...series(rising(3, 66, 0), 7, Date.UTC(2026, 4, 5, 9)),
    ];
    const stepped = conclude([], { ...known, readings: [...before, ...after] });
    const steps = stepped.projections.flatMap(({ stepAt }) => stepAt ?? []);
    expect(steps.length).toBeGreaterThan(0);
    for (const stepAt of steps) {
      // Between the last reading at the old level and the first one at the new, both read asleep.
      expect(stepAt).toBeGreaterThan(before.at(-1)!.takenAt);
      expect(stepAt).toBeLessThanOrEqual(after[0]!.takenAt);
    }
  });

  it('D28: how far ahead a date may be named is told in time awake, as the observed period is', () => {
    const readings = series(rising(12, 65, 0.8), 5, Date.UTC(2025, 6, 20, 9));
    const conclusion = conclude([], { readings, seasons: [{ fromMonth: 5, toMonth: 9 }], zone: 'Europe/Dublin' });
    const plan = conclusion.projections.find(({ grade }) => grade === 'plan')!;
    expect(plan.latestAt).not.toBeNull();
    expect(new Date(plan.latestAt!).getUTCFullYear()).toBe(2026);
    expect(sayProjection(plan, '°C', 'Europe/Dublin')).toMatch(/^Likely at 80.°C (between|by) .+ \((80|90).%\), about/);
  });

  it('D28: a forecast that waits for the season is held against the time awake', () => {
    const [autumn, spring] = [Date.UTC(2025, 8, 20, 9), Date.UTC(2026, 4, 10, 9)];
    const readings = series([77, 77.5, 78], 5, autumn - 10 * DAY).concat(series([81, 81.4], 5, spring));
    const [earliestAt, latestAt] = [Date.UTC(2026, 4, 2), Date.UTC(2026, 4, 12)];
    const given = { cutAt: autumn, earliestAt, likelyAt: null, latestAt, limit: 80, direction: 'high' } as const;
    const known = { point: aPoint(), limitSets: [bearingLimits], readings, work: [] };
    expect(outcomesOf({ ...known, seasons: [{ fromMonth: 5, toMonth: 9 }], zone: 'Europe/Dublin' }, [given])).toEqual(['hit']);
    expect(outcomesOf(known, [given])).toEqual(['early']);
  });
});

describe('limits and devices in mid-trend', () => {
  it('D20: limits changed in mid-trend judge later readings only, and the forecast goes to the limits of now', () => {
    const values = rising(12, 60, 0.8);
    const changed = aLimitSet([60, 66, 72, 80], { id: 'second', version: 2, validFrom: START + 6 * 14 * DAY });
    const history = judgeHistory({ point: aPoint(), limitSets: [bearingLimits, changed], readings: series(values), work: [] });
    const used = history.readings.map(({ judged }) => judged.judgement.because?.limitVersion);
    expect(used).toEqual([1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2]);
    expect(conclude(values, { limitSets: [bearingLimits, changed] }).projections.map(({ limit }) => limit)).toEqual([72, 80]);
  });

  it('D21: a replaced device starts anew: no line joins the two, and the old grade does not stand', () => {
    const old = series(rising(10, 70, 1.8));
    const replacedAt = START + 10 * 14 * DAY;
    const young = series(rising(6, 55, 0), 14, replacedAt + 14 * DAY);
    const replaced = conclude([], { readings: [...old, ...young], work: [work('replaced', replacedAt)] });
    expect(replaced).toMatchObject({ standing: { grade: 'fine' }, comparableCount: 6, reset: { work: 'replaced' } });
    expect(replaced.projections.filter(({ show }) => show === 'range')).toEqual([]);
    expect(conclude([], { readings: old })).toMatchObject({ standing: { grade: 'plan' }, comparableCount: 10 });
  });

  it('D22: after 200 readings the unit of a point is what it was; entries in another unit join the same history', () => {
    const values = rising(200, 60, 0.01);
    // The unit follows from the quantity and cannot be changed; °F are brought to °C before anything is computed.
    const inFahrenheit = series(values).map((reading, i): Reading => {
      const text = i < 100 ? entry(`${values[i]}`, '°C') : entry(`${values[i]! * 1.8 + 32}`, '°F');
      const parsed = parseReading(aFact({ id: reading.id, inputs: { value: text } }), aPoint());
      if (!('reading' in parsed)) throw new Error(JSON.stringify(parsed.errors));
      return { ...parsed.reading, takenAt: reading.takenAt };
    });
    const canonical = conclude(values);
    const converted = conclude([], { readings: inFahrenheit });
    expect(converted.latestComparable?.value).toBeCloseTo(canonical.latestComparable!.value, 9);
    expect(converted.readingCount).toBe(200);
    expect(converted.standing).toEqual(canonical.standing);
  });
});
