/** Cases a careful tester would try; the number is that of the case. */
import {
  assessReading,
  concludePoint,
  criterionFits,
  type Grade,
  loadPercentOf,
  type Point,
  parseReading,
  questionUnlikely,
  type Reading,
} from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { aFact, aLimitSet, aPoint, aReading, DAY, entry, phaseReading, phases, START } from '../builders.ts';

const bearingLimits = aLimitSet([70, 80, 90, 100]);
const typed = (point: Point, inputs: Parameters<typeof aFact>[0]): Reading => {
  const parsed = parseReading(aFact(inputs), point);
  if (!('reading' in parsed)) throw new Error(JSON.stringify(parsed.errors));
  return parsed.reading;
};
const series = (values: readonly number[], days = 14) =>
  values.map((value, i) => aReading({ id: `r${i}`, takenAt: START + i * days * DAY, inputs: { value } }));
const conclude = (values: readonly number[], more: Partial<Parameters<typeof concludePoint>[0]> = {}) =>
  concludePoint({ point: aPoint(), limitSets: [bearingLimits], readings: series(values), work: [], ...more });

describe('limits and figures', () => {
  it('D1: a limit counts as reached by exactly its figure, also when that was typed in °F', () => {
    const grade = (text: string, unit: string): Grade | null =>
      assessReading(aPoint(), typed(aPoint(), { inputs: { value: entry(text, unit) } }), [bearingLimits]).grade;
    expect([grade('80', '°C'), grade('176', '°F'), grade('175.99', '°F')]).toEqual(['plan', 'plan', 'watch']);
    expect([grade('158', '°F'), grade('194', '°F'), grade('212', '°F')]).toEqual(['watch', 'soon', 'now']);
  });

  it('D3: limits on the low side only leave the high side alone', () => {
    const low = aLimitSet([null, 2, 1, null], { direction: 'low' });
    const grade = (value: number) => assessReading(aPoint(), aReading({ inputs: { value } }), [low]).grade;
    expect([900, 2.1, 2, 1, -40].map(grade)).toEqual(['fine', 'fine', 'plan', 'soon', 'soon']);
  });

  it('D4: in frost a rise is a rise, and a difference of −0 is said as 0', () => {
    const rise = aPoint({ quantity: 'rise-over-ambient', unit: 'K' });
    const limits = aLimitSet([30, 40, 55, 70], { criterion: 'rise-over-ambient' });
    const cold = typed(rise, { inputs: { part: entry('−2,5'), air: entry('–22') } });
    expect(assessReading(rise, cold, [limits])).toMatchObject({ grade: 'fine', because: { value: 19.5 } });
    const none = typed(phases(), {
      inputs: { L1: entry('-0'), L2: entry('0'), L3: entry('−0,0') },
      conditions: { load: entry('100') },
    });
    expect(assessReading(phases(), none, [aLimitSet([3], { criterion: 'like-part-difference' })]).sentence).toMatch(
      /^0\.0.K over/,
    );
  });

  it('D5: a figure no instrument shows is refused, one that hardly can be is asked about', () => {
    const refused = parseReading(aFact({ inputs: { value: entry('9999') } }), aPoint());
    expect('errors' in refused && refused.errors[0]?.pointer).toBe('/inputs/value');
    const wild = typed(aPoint(), { inputs: { value: entry('1e3') } });
    expect(questionUnlikely(aPoint(), wild, [82, 83])).toBe('1000\u202f°C? The last was 83.0.');
    expect(assessReading(aPoint(), wild, [bearingLimits]).grade).toBe('now');
  });

  it('D6: °F typed into a field of °C is asked about, and a difference has no offset of 32', () => {
    expect(questionUnlikely(aPoint(), typed(aPoint(), { inputs: { value: entry('150') } }), [65, 65.5])).toMatch(
      /Was that °F\?$/,
    );
    const gap = aPoint({ quantity: 'approach', unit: 'K' });
    const both = typed(gap, { inputs: { warm: entry('140', '°F'), cold: entry('122', '°F') } });
    expect(assessReading(gap, both, [aLimitSet([9, 10.5])]).because?.value).toBeCloseTo(10, 10);
  });

  it('D23: a reading below detection is no figure, so that nothing is cleared by it', () => {
    const seen = parseReading(aFact({ inputs: { value: entry('<0.2', 'mm/s') } }), aPoint({ quantity: 'vibration-velocity' }));
    expect('errors' in seen && seen.errors).toHaveLength(1);
  });
});

describe('parts, load and air', () => {
  const limits = aLimitSet([3, 8, 15, 30], { criterion: 'like-part-difference' });

  it('D7: three phases hot alike are Fine only where nothing but their difference is limited', () => {
    const alike = aReading({ inputs: { L1: 95, L2: 95, L3: 95 }, conditions: { load: 100, ambient: 25 } });
    expect(assessReading(phases(), alike, [limits]).grade).toBe('fine');
    expect(assessReading(phases(), alike, [limits, aLimitSet([null, null, 70, null], { id: 'insulation' })]).grade).toBe('soon');
  });

  it('D8: with a sister phase missing the others are compared, and a bad one alone still counts by its temperature', () => {
    const hot = aLimitSet([null, null, 70, null], { id: 'insulation' });
    const one = aReading({ inputs: { L2: 95 }, conditions: { load: 100 } });
    expect(assessReading(phases(), one, [limits, hot])).toMatchObject({ grade: 'soon', check: 'quantity-missing' });
    expect(assessReading(phases(), { ...one, inputs: { L2: 60 } }, [limits, hot])).toMatchObject({ grade: null });
  });

  it('D9: a current of exactly 110 % of rated is 110 %', () => {
    const way = phases({ ratedCurrentA: 70 });
    const read = phaseReading(0.1, null, { conditions: { current: 77 } });
    expect(loadPercentOf(way, read)).toBe(110);
    expect(assessReading(way, read, [limits])).toMatchObject({ grade: 'fine', gate: null });
    expect(assessReading(way, { ...read, conditions: { current: 77.1 } }, [limits])).toMatchObject({ gate: 'load-too-high' });
  });

  it('D9: a least load above the usual one is the one that is said', () => {
    const point = aPoint({
      loadFamily: 'thermal-machine',
      basis: 'corrected',
      minimumLoadPercent: 30,
      referenceLoadPercent: 120,
    });
    const verdict = assessReading(point, aReading({ inputs: { value: 50 }, conditions: { load: 29 } }), [bearingLimits]);
    expect(verdict).toMatchObject({ grade: null, gate: 'load-too-low' });
    expect(verdict.sentence).toMatch(/load 29.% is below 30.%/);
  });

  it('D10: without the load a corrected figure is not judged, while a temperature that is too hot stands', () => {
    const sets = [limits, aLimitSet([null, null, 70, null], { id: 'insulation' })];
    expect(assessReading(phases(), phaseReading(0.1, null), sets)).toMatchObject({ grade: null, gate: 'load-missing' });
    const hot = aReading({ inputs: { L1: 80, L2: 80.1, L3: 80 } });
    expect(assessReading(phases(), hot, sets)).toMatchObject({ grade: 'soon', check: 'load-missing' });
  });

  it('D11: air warmer than the target is no air to compare with, whatever was measured', () => {
    const rise = aLimitSet([30, 40, 55, 70], { id: 'rise', criterion: 'rise-over-ambient' });
    const spot = (value: number, ambient: number) => aReading({ inputs: { value }, conditions: { ambient, load: 70 } });
    const bearing = aPoint({ loadFamily: 'thermal-machine' });
    expect(assessReading(bearing, spot(21, 26), [bearingLimits, rise])).toMatchObject({ grade: null, gate: 'ambient-missing' });
    expect(assessReading(bearing, spot(24, 26), [bearingLimits, rise])).toMatchObject({ grade: 'fine' });
    expect(assessReading(bearing, spot(21, 26), [bearingLimits])).toMatchObject({ grade: 'fine' });
    const base = { value: 18, state: 'confirmed' } as const;
    const frame = aPoint({ quantity: 'above-base', unit: 'K', loadFamily: 'thermal-machine', basis: 'corrected', base });
    const above = assessReading(frame, spot(21, 26), [aLimitSet([8, 12, 18, 25], { criterion: 'above-base' })]);
    expect(above).toMatchObject({ grade: null, gate: 'ambient-missing' });
    expect(above.sentence).toMatch(/the air \(26\.0.°C\) is warmer than the part/);
  });

  it('D12: an emissivity of 0 or 1.2 is refused, 1 is taken and unreliable nowhere', () => {
    const infrared = aPoint({ infrared: true, emissivity: 0.93 });
    const read = (text: string) =>
      parseReading(aFact({ inputs: { value: entry('50') }, conditions: { emissivity: entry(text) } }), infrared);
    for (const text of ['0', '1.2', '-0.9']) expect('errors' in read(text)).toBe(true);
    const one = read('1');
    expect('reading' in one && assessReading(infrared, one.reading, [bearingLimits])).toMatchObject({ grade: 'fine', notes: [] });
  });

  it('what is not known is not said to be otherwise', () => {
    const press = aPoint({ needs: ['minutesRunning'] });
    const read = aReading({ inputs: { value: 50 } });
    expect(assessReading(press, read, [bearingLimits]).sentence).toContain('it is not known how long it had been running');
    const short = { ...read, conditions: { minutesRunning: 3 } };
    expect(assessReading(press, short, [bearingLimits]).sentence).toContain('it had not run steadily for long enough');
    const speedless = assessReading(aPoint({ needs: ['speed'] }), read, [bearingLimits]);
    expect(speedless).toMatchObject({ grade: null, gate: 'quantity-missing' });
    expect(speedless.sentence).toContain('speed was not read');
  });

  it('a figure far beyond its limit is not called close because the calibration lapsed', () => {
    const context = { calibrationDueAt: START - 40 * DAY };
    const verdict = assessReading(aPoint(), aReading({ inputs: { value: 88 } }), [bearingLimits], context);
    expect(verdict).toMatchObject({ grade: 'plan', firm: false });
    expect(verdict.sentence).not.toContain('Close to the limit');
    expect(verdict.sentence).toContain('had ended more than 30 days before');
  });

  it('a cold low limit at rest does not hide another criterion that is bad', () => {
    const trap = aLimitSet([160, 150, 120, 80], { direction: 'low' });
    const rise = aLimitSet([30, 40, 55, 70], { id: 'rise', criterion: 'rise-over-ambient' });
    const read = aReading({ inputs: { value: 70 }, conditions: { ambient: 20 }, running: false });
    expect(criterionFits('rise-over-ambient', 'temperature')).toBe(true);
    expect(assessReading(aPoint(), read, [trap])).toMatchObject({ grade: null, gate: 'not-running' });
    expect(assessReading(aPoint(), read, [trap, rise])).toMatchObject({ grade: 'plan', check: 'not-running' });
  });
});

describe('histories', () => {
  it('D13: the first reading ever has a grade, a standing and no forecast', () => {
    expect(conclude([72])).toMatchObject({
      standing: { grade: 'watch', isHeld: false },
      projections: [{ reason: 'too-few-readings', show: 'none' }, { show: 'none' }, { show: 'none' }],
      trend: null,
    });
  });

  it('D15: readings that never differ make no forecast, even on the limit', () => {
    expect(conclude(Array(12).fill(80)).projections.map(({ show }) => show)).toEqual(['none', 'none']);
  });

  it('D16: one wild reading at the end raises the grade, which two ordinary ones lower again', () => {
    const calm = [55, 55.4, 54.8, 55.1, 55.3, 54.9];
    expect(conclude([...calm, 95]).standing?.grade).toBe('soon');
    expect(conclude([...calm, 95, 55]).standing).toMatchObject({ grade: 'soon', isHeld: true });
    expect(conclude([...calm, 95, 55, 55.2]).standing).toMatchObject({ grade: 'fine', isHeld: false });
  });

  it('D18: what drifts away from its limit is not forecast to reach it', () => {
    const away = Array.from({ length: 12 }, (_, i) => 68 - 1.2 * i + 0.3 * Math.sin(i * 12.9898));
    for (const { show, earliestAt } of conclude(away).projections) expect([show === 'none', earliestAt]).toEqual([true, null]);
  });

  it('a grade falls by the figure of the criterion that held it, not by the one that decides now', () => {
    const point = aPoint({ uncertainty: 1 });
    const sets = [bearingLimits, aLimitSet([20, 60, 70, 80], { id: 'rise', criterion: 'rise-over-ambient' })];
    const read = (values: readonly number[]) => series(values).map((reading) => ({ ...reading, conditions: { ambient: 20 } }));
    // 79 °C is 59 K over air: Watch by both, surer by the rise, yet within 2u of the Plan limit of 80 °C.
    expect(conclude([], { point, limitSets: sets, readings: read([81, 79, 79]) }).standing).toMatchObject({ grade: 'plan' });
    expect(conclude([], { point, limitSets: sets, readings: read([81, 75, 75]) }).standing).toMatchObject({ grade: 'watch' });
  });

  it('the latest comparable figure is the one at reference load, also where another criterion decided', () => {
    const insulation = aLimitSet([null, 40, null, null], { id: 'insulation' });
    const sets = [aLimitSet([3, 8, 15, 30], { criterion: 'like-part-difference' }), insulation];
    const conclusion = conclude([], { point: phases(), limitSets: sets, readings: [phaseReading(2, 62)] });
    expect(conclusion.latest?.verdict.because?.criterion).toBe('absolute');
    expect(conclusion.latestComparable?.value).toBeCloseTo(2 * (100 / 62) ** 1.8, 10);
  });
});
