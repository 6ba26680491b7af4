import { assessReading, type Point, type Reading } from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { aLimitSet, aPoint, aReading, phaseReading, phases, START } from '../builders.ts';

const T = '\u202f';
const sitePhases = aLimitSet([3, 8, 15, 30], { criterion: 'like-part-difference' });
const bearing = aPoint({ loadFamily: 'thermal-machine', minimumLoadPercent: 50 });
const bearingLimits = aLimitSet([70, 80, 90, 100], { source: 'common practice', reason: 'Grease life falls above 70 °C' });
const at = (value: number, more: Partial<Reading> = {}) => aReading({ inputs: { value }, ...more });

describe('stories of the demonstration', () => {
  it('2.1 K at 14 % load is not judged, though blind correction would shout', () => {
    const verdict = assessReading(phases(), phaseReading(2.1, 14), [sitePhases]);
    expect(verdict).toMatchObject({ grade: null, comparability: 'not-judged', gate: 'load-too-low', atLeast: false });
    expect(verdict.because?.value).toBeCloseTo(2.1, 10);
    expect(verdict.sentence).toBe(
      `Not judged: load 14${T}% is below 40${T}%; come back at 40${T}% or more. Read: 2.1${T}K over like parts (L2) at 14${T}% load.`,
    );
  });

  it('1.1 K at 62 % load is 2.6 K at full load: Fine, corrected, close to the limit', () => {
    const verdict = assessReading(phases({ infrared: true, emissivity: 0.95 }), phaseReading(1.1, 62), [sitePhases]);
    expect(verdict).toMatchObject({ grade: 'fine', comparability: 'corrected', firm: false });
    expect(verdict.because?.value).toBeCloseTo(2.6, 2);
    expect(verdict.because?.rawValue).toBeCloseTo(1.1, 10);
    expect(verdict.sentence).toBe(
      `1.1${T}K over like parts (L2) at 62${T}% load, 2.6${T}K at full load, below the Watch limit of 3${T}K (site practice: few like-load spares at night); known to ±4.2${T}K. Close to the limit.`,
    );
  });

  it('3.4 K at 45 % load is 14.3 K at full load: Plan, not Watch; 11.9 K at 90 % says the same', () => {
    const first = assessReading(phases(), phaseReading(3.4, 45), [sitePhases]);
    expect(first).toMatchObject({ grade: 'plan', comparability: 'corrected' });
    expect(first.because?.value).toBeCloseTo(14.3, 1);
    const second = assessReading(phases(), phaseReading(11.9, 90), [sitePhases]);
    expect(second).toMatchObject({ grade: 'plan', comparability: 'like-for-like' });
    expect(second.because?.value).toBeCloseTo(14.4, 1);
  });

  it('12.6 K like for like is Plan and firm', () => {
    expect(assessReading(phases(), phaseReading(12.6, 100), [sitePhases])).toMatchObject({ grade: 'plan', firm: true });
  });

  it('83.2 °C at the gearbox is Plan against the limits of its day', () => {
    const old = aLimitSet([75, 85, 92, 100], { id: 'old', validFrom: 0 });
    const lowered = aLimitSet([70, 80, 90, 100], { id: 'lowered', version: 2, validFrom: START });
    expect(assessReading(bearing, at(83.2), [lowered, old])).toMatchObject({ grade: 'plan', because: { limitSetId: 'lowered' } });
    expect(assessReading(bearing, at(83.2, { takenAt: START - 1 }), [lowered, old])).toMatchObject({
      grade: 'watch',
      because: { limitSetId: 'old', limitVersion: 1 },
    });
  });

  it('55.0 °C on a falling limit of 55 counts as reached', () => {
    const flow = aLimitSet([57, 55, 53, 50], { direction: 'low', source: 'CEN/TR 16355', reason: 'hygiene of hot water' });
    const verdict = assessReading(aPoint(), at(55), [flow]);
    expect(verdict.grade).toBe('plan');
    expect(verdict.sentence).toBe(
      `55.0${T}°C; the Plan limit is 55${T}°C and below (CEN/TR 16355: hygiene of hot water); known to ±0.89${T}K. Close to the limit.`,
    );
    expect(assessReading(aPoint(), at(55.1), [flow]).grade).toBe('watch');
  });

  it('an emissivity of 0.30 on a painted lug gives Plan, check emissivity', () => {
    const lug = aPoint({
      quantity: 'rise-over-ambient',
      unit: 'K',
      loadFamily: 'electrical',
      basis: 'corrected',
      loadExponent: 1.8,
      infrared: true,
      emissivity: 0.93,
      needs: ['load'],
    });
    const limits = aLimitSet([30, 40, 55, 70], { criterion: 'rise-over-ambient' });
    const wrong = aReading({ inputs: { part: 75, air: 22 }, conditions: { emissivity: 0.3, load: 100 } });
    const verdict = assessReading(lug, wrong, [limits]);
    expect(verdict).toMatchObject({ grade: 'plan', check: 'emissivity-unreliable', atLeast: false, comparability: 'not-judged' });
    expect(verdict.sentence).toMatch(/^Plan, check emissivity: 53\.0.K over air at 100.% load; the Plan limit is 40.K/);
    const right = aReading({ inputs: { part: 42, air: 22 }, conditions: { emissivity: 0.93, load: 100 } });
    expect(assessReading(lug, right, [limits])).toMatchObject({ grade: 'fine', comparability: 'like-for-like' });
  });

  it('a fire pump 9 % below its curve counts one grade higher', () => {
    const pump = aPoint({ quantity: 'pressure', unit: 'bar', lifeSafety: true, decimals: 2 });
    const limits = aLimitSet([3, 5, 8, 12]);
    const verdict = assessReading(pump, at(9), [limits]);
    expect(verdict.grade).toBe('now');
    expect(verdict.because).toMatchObject({ limitGrade: 'soon', limit: 8 });
    expect(verdict.sentence).toContain('Life safety: counts one grade higher, Now.');
    expect(assessReading(pump, at(4), [limits]).grade).toBe('watch');
    expect(assessReading(pump, at(13), [limits]).grade).toBe('now');
  });
});

describe('load', () => {
  it.each([
    [0, null, 'load-too-low'],
    [39.9, null, 'load-too-low'],
    [40, 'fine', null],
    [89.9, 'fine', null],
    [110, 'fine', null],
    [111, null, 'load-too-high'],
  ])('of %d %%', (load, grade, gate) => {
    expect(assessReading(phases(), phaseReading(0.1, load), [sitePhases])).toMatchObject({ grade, gate });
  });

  it('is like for like within ten points of the reference, corrected beyond', () => {
    const comparability = (load: number) => assessReading(phases(), phaseReading(0, load), [sitePhases]).comparability;
    expect([89, 90, 110].map(comparability)).toEqual(['corrected', 'like-for-like', 'like-for-like']);
  });

  it('missing where it matters is not judged; where it means nothing it is not missed', () => {
    expect(assessReading(phases(), phaseReading(1, null), [sitePhases])).toMatchObject({ grade: null, gate: 'load-missing' });
    expect(assessReading(aPoint(), at(60), [bearingLimits])).toMatchObject({ grade: 'fine', comparability: 'like-for-like' });
  });

  it('a bad figure under low load stands as a lower bound, as read', () => {
    const verdict = assessReading(phases(), phaseReading(9, 30), [sitePhases]);
    expect(verdict).toMatchObject({
      grade: 'plan',
      atLeast: true,
      check: null,
      gate: 'load-too-low',
      comparability: 'not-judged',
    });
    expect(verdict.because?.value).toBe(9);
    expect(verdict.sentence).toMatch(/^Plan at least: 9\.0.K/);
  });

  it('never changes an absolute temperature, which protects material', () => {
    const verdict = assessReading({ ...bearing, basis: 'corrected' }, at(69, { conditions: { load: 60 } }), [bearingLimits]);
    expect(verdict).toMatchObject({
      grade: 'fine',
      comparability: 'corrected',
      because: { basis: 'raw', value: 69, band: null },
    });
  });

  it('a figure above base is corrected through its rise over air', () => {
    const frame: Point = aPoint({
      quantity: 'above-base',
      unit: 'K',
      loadFamily: 'thermal-machine',
      minimumLoadPercent: 50,
      basis: 'corrected',
      base: { value: 60, state: 'confirmed' },
      needs: ['load', 'ambient'],
    });
    const limits = aLimitSet([10, 15, 25, 35], { criterion: 'above-base' });
    const verdict = assessReading(frame, at(60, { conditions: { load: 50, ambient: 20 } }), [limits]);
    // 40 K over air at half load are 80 K at full load (n = 1): 100 °C, 40 K above the base.
    expect(verdict.because).toMatchObject({ rawValue: 0, value: 40 });
    expect(verdict.grade).toBe('now');
  });
});

describe('gates', () => {
  it('a machine that stands still is not judged, and its cold does not reach a falling limit', () => {
    expect(assessReading(aPoint(), at(50, { running: false }), [bearingLimits])).toMatchObject({
      grade: null,
      gate: 'not-running',
    });
    const trap = aLimitSet([160, 150, 120, 80], { direction: 'low' });
    expect(assessReading(aPoint(), at(96, { running: false }), [trap])).toMatchObject({ grade: null, gate: 'not-running' });
  });

  it('emissivity: unknown or bare metal unreliable, 0.5 to 0.8 reduced, 1 fine', () => {
    const seen = (set: number | undefined, prescribed: number | null) =>
      assessReading(
        aPoint({ infrared: true, emissivity: prescribed }),
        at(50, { conditions: set === undefined ? {} : { emissivity: set } }),
        [bearingLimits],
      );
    expect(seen(undefined, 0.93)).toMatchObject({ grade: 'fine', notes: [] });
    expect(seen(1, 0.93)).toMatchObject({ grade: 'fine', notes: [] });
    expect(seen(0.5, 0.93)).toMatchObject({ grade: 'fine', notes: ['emissivity-reduced'] });
    expect(seen(0.49, 0.93)).toMatchObject({ grade: null, gate: 'emissivity-unreliable' });
    expect(seen(undefined, null)).toMatchObject({ grade: null, gate: 'emissivity-unreliable' });
    const sure = seen(undefined, 0.93).because?.uncertainty ?? 0;
    expect(seen(0.6, 0.93).because?.uncertainty).toBeGreaterThan(sure);
  });

  it('a warm bearing after regreasing is not judged for a day, then again', () => {
    const greased = { ...bearing, regreasingGateHours: 24 };
    const hours = (n: number) => assessReading(greased, at(72), [bearingLimits], { lastRegreasedAt: START - n * 3_600_000 });
    expect(hours(6)).toMatchObject({ grade: null, gate: 'after-regreasing' });
    expect(hours(6).sentence).toContain('regreased 6 h before; bearings stay warm for 24 h');
    expect(hours(24)).toMatchObject({ grade: 'watch', gate: null });
    expect(hours(-1)).toMatchObject({ grade: 'watch', gate: null });
  });

  it('air warmer than the part is no air to compare with', () => {
    const rise = aPoint({ quantity: 'rise-over-ambient', unit: 'K' });
    const limits = aLimitSet([30, 40, 55, 70], { criterion: 'rise-over-ambient' });
    const verdict = assessReading(rise, aReading({ inputs: { part: 18, air: 25 } }), [limits]);
    expect(verdict).toMatchObject({ grade: null, gate: 'ambient-missing' });
    expect(verdict.sentence).toContain('is warmer than the part');
    expect(assessReading(rise, aReading({ inputs: { part: 24, air: 25 } }), [limits])).toMatchObject({ grade: 'fine' });
  });

  it('a missing like part is named, one part alone is not judged', () => {
    const two = assessReading(phases(), aReading({ inputs: { L1: 40, L2: 52 }, conditions: { load: 100 } }), [sitePhases]);
    expect(two).toMatchObject({ grade: 'plan', gate: null });
    expect(two.sentence).toContain('L3 was not read.');
    const one = assessReading(phases(), aReading({ inputs: { L2: 52 }, conditions: { load: 100 } }), [sitePhases]);
    expect(one).toMatchObject({ grade: null, gate: 'quantity-missing', because: null });
    expect(one.sentence).toBe('Not judged: L1 and L3 were not read.');
  });

  it('a figure above base waits for the base', () => {
    const frame = aPoint({ quantity: 'above-base', unit: 'K' });
    const verdict = assessReading(frame, at(66), [aLimitSet([10, 15, 25, 35], { criterion: 'above-base' })]);
    expect(verdict).toMatchObject({ grade: null, gate: 'base-missing' });
  });

  it('a lapsed calibration is marked, and after thirty days an absolute figure is never firm', () => {
    const lapsed = (days: number) =>
      assessReading(aPoint(), at(88), [bearingLimits], { calibrationDueAt: START - days * 86_400_000 });
    expect(lapsed(-1)).toMatchObject({ notes: [], firm: true });
    expect(lapsed(1)).toMatchObject({ notes: ['calibration-expired'], firm: true });
    expect(lapsed(31)).toMatchObject({ grade: 'plan', notes: ['calibration-expired'], firm: false });
  });
});

describe('several criteria', () => {
  const rise = aLimitSet([30, 40, 55, 70], { id: 'rise', criterion: 'rise-over-ambient' });

  it('phases hot alike show no difference but a rise that counts', () => {
    const alike = aReading({ inputs: { L1: 80, L2: 80, L3: 80 }, conditions: { load: 100, ambient: 22 } });
    expect(assessReading(phases(), alike, [sitePhases, rise])).toMatchObject({
      grade: 'soon',
      because: { criterion: 'rise-over-ambient', value: 58 },
    });
  });

  it('relative evidence of the general library alone stays at Plan; sourced for the point it grades as it says', () => {
    const general = aLimitSet([1, 3, null, 15], { criterion: 'like-part-difference', origin: 'general' });
    const alone = assessReading(phases(), phaseReading(17.4, 100), [general]);
    expect(alone).toMatchObject({ grade: 'plan', because: { capped: true, limitGrade: 'now' } });
    expect(alone.sentence).toContain('Counts as Plan until a second reading or technique agrees.');
    expect(assessReading(phases(), phaseReading(17.4, 100), [{ ...general, origin: 'point' }])).toMatchObject({ grade: 'now' });
    const agreed = phaseReading(17.4, 100, { conditions: { load: 100, ambient: 25 } });
    expect(assessReading(phases(), agreed, [general, rise])).toMatchObject({ grade: 'now', because: { capped: false } });
  });

  it('no limits at all give no grade, but the figure', () => {
    const verdict = assessReading(aPoint(), at(60), []);
    expect(verdict).toMatchObject({
      grade: null,
      comparability: 'like-for-like',
      gate: null,
      because: { value: 60, limit: null },
    });
    expect(verdict.sentence).toBe(`Not judged: no limits are set here yet. Read: 60.0${T}°C.`);
  });

  it('only one grade given is enough', () => {
    const only = aLimitSet([null, null, 90, null]);
    expect(assessReading(aPoint(), at(89), [only])).toMatchObject({ grade: 'fine', because: { limit: 90 } });
    expect(assessReading(aPoint(), at(90), [only])).toMatchObject({ grade: 'soon' });
  });

  it('a reading older than the first limits is judged by those and says so', () => {
    const later = { ...bearingLimits, validFrom: START + 1 };
    const verdict = assessReading(bearing, at(83.2), [later]);
    expect(verdict.grade).toBe('plan');
    expect(verdict.sentence).toContain('Older than the first limits here, so judged by those.');
  });
});

describe('firm or close', () => {
  // JCGM 106, 7.2: probability of conformity for a normal error; 0.95 on one side is 1.645 standard uncertainties.
  it.each([
    [90, 2, false],
    [93.28, 2, false],
    [93.3, 2, true],
    [86.72, 2, false],
  ])('%d °C with u = %d K', (value, uncertainty, firm) => {
    const limits = aLimitSet([null, null, 90, null]);
    expect(assessReading(aPoint({ uncertainty }), at(value), [limits]).firm).toBe(firm);
  });

  it('a figure just below its limit is not written as if it were on it', () => {
    expect(assessReading(aPoint(), at(69.98), [bearingLimits]).sentence).toContain(
      `69.98${T}°C, below the Watch limit of 70${T}°C`,
    );
  });

  it('negative temperatures and a difference of 0 are judged', () => {
    const frost = aLimitSet([-15, -18, -20, null], { direction: 'low' });
    expect(assessReading(aPoint(), at(-18), [frost]).sentence).toMatch(/^−18\.0.°C; the Plan limit is −18.°C and below/);
    expect(assessReading(phases(), phaseReading(0, 100), [sitePhases])).toMatchObject({ grade: 'fine', firm: true });
  });
});
