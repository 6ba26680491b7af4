import {
  assessReading,
  CAUTIONS,
  cautionsFor,
  checkLimitSet,
  completePoint,
  FINE_MEANS,
  type Grade,
  gradeReached,
  gradeSimilar,
  gradeVibration,
  HAZARDS,
  type LimitSet,
  pointsFromTemplate,
  TEMPLATES,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aReading } from '../builders.ts';

const counter = () => {
  let n = 0;
  return () => `id-${++n}`;
};

const made = (key: string) => {
  const from = pointsFromTemplate(key, { makeId: counter() });
  if (from === null) throw new Error(key);
  return from;
};

const setsOf = (key: string, letter: string): { point: ReturnType<typeof completePoint>; sets: LimitSet[] } => {
  const { points, limits } = made(key);
  const draft = points.find((point) => point.letter === letter)!;
  const sets = limits
    .filter((limit) => limit.pointId === draft.id)
    .map(({ draft: figures }, i) => ({ ...figures, id: `set-${i}`, version: 1, author: '', validFrom: 0, reviewOn: null }));
  return { point: completePoint(draft), sets };
};

describe('every template', () => {
  it.each(TEMPLATES.map((template) => template.key))('%s passes the checks of a limit somebody writes', (key) => {
    const { points, limits } = made(key);
    expect(points.map((point) => point.letter)).toEqual([...'abcdefgh'].slice(0, points.length));
    for (const [index, { pointId, draft }] of limits.entries()) {
      const point = points.find((candidate) => candidate.id === pointId)!;
      const beside = limits.slice(0, index).filter((one) => one.pointId === pointId);
      const present = beside.map(
        (one, i): LimitSet => ({ ...one.draft, id: `${i}`, version: 1, author: '', validFrom: 0, reviewOn: null }),
      );
      expect(checkLimitSet(draft, point.quantity, present)).toEqual([]);
      expect(draft.origin).toBe('general');
    }
    for (const point of points) {
      expect(limits.some((limit) => limit.pointId === point.id)).toBe(true);
      expect(point.spot).not.toBe('');
    }
  });

  it('has its own key, and an unknown key gives nothing', () => {
    expect(new Set(TEMPLATES.map((template) => template.key)).size).toBe(TEMPLATES.length);
    expect(pointsFromTemplate('submarine', { makeId: counter() })).toBeNull();
  });

  it('passes life safety and the rated current on to where they mean something', () => {
    const panel = pointsFromTemplate('switch-panel', { makeId: counter(), lifeSafety: true, ratedCurrentA: 400 });
    expect(panel?.points.every((point) => point.lifeSafety && point.ratedCurrentA === 400)).toBe(true);
    expect(pointsFromTemplate('motor', { makeId: counter(), ratedCurrentA: 400 })?.points[0]?.ratedCurrentA).toBeNull();
  });
});

describe('figures against their sources', () => {
  it('bearing housing 70/80/90/100 °C (common practice, no source)', () => {
    const { point, sets } = setsOf('motor', 'a');
    const grade = (value: number) =>
      assessReading(point, aReading({ inputs: { value }, conditions: { load: 100, ambient: 22 } }), sets).grade;
    expect([69.9, 70, 80, 90, 100].map(grade)).toEqual(['fine', 'watch', 'plan', 'soon', 'now']);
  });

  // ISO 10816-3:2009, group 2, rigid: B/C 2.8 and C/D 4.5 mm/s, highest trip 1.25 · C/D; boundaries kept in ISO 20816-3.
  it('vibration follows the zones of ISO 20816-3, a boundary itself still in the better zone', () => {
    const { point, sets } = setsOf('pump', 'c');
    const grade = (value: number) => assessReading(point, aReading({ inputs: { value } }), sets).grade;
    expect([1.4, 2.8, 2.9, 4.5, 4.6, 5.7].map(grade)).toEqual(['fine', 'watch', 'plan', 'plan', 'soon', 'now']);
    expect([5.62, 5.63].map(grade)).toEqual(['soon', 'now']);
  });

  it('vibration from Plan on is graded as the zones grade it', () => {
    const { point, sets } = setsOf('pump', 'c');
    const mild = (grade: Grade | null) => (grade === 'watch' ? 'fine' : grade);
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1200 }), (hundredths) => {
        const velocity = hundredths / 100;
        const { grade } = assessReading(point, aReading({ inputs: { value: velocity } }), sets);
        expect(mild(grade)).toBe(gradeVibration(2, 'rigid', velocity, null));
      }),
    );
  });

  it('a difference of phases is graded as the classes of ANSI/NETA MTS table 100.18 say, and stays at Plan alone', () => {
    const { point, sets } = setsOf('switch-panel', 'b');
    const grades = { none: 'fine', 'similar-1': 'watch', 'similar-2': 'plan', 'similar-4': 'now' } as const;
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 400 }), (tenths) => {
        const reading = aReading({ inputs: { L1: 40, L2: 40 + tenths / 10, L3: 40 }, conditions: { load: 100 } });
        const expected = grades[gradeSimilar(tenths / 10)];
        expect(gradeReached(point, sets[0]!, tenths / 10) ?? 'fine').toBe(expected);
        expect(assessReading(point, reading, sets).grade).toBe(expected === 'now' ? 'plan' : expected);
      }),
    );
  });

  // IEC 61439-1, table 6: 70 K at terminals for external insulated conductors.
  it('a terminal at 63 K over air at full load is Plan, at the permitted 70 K Soon, at 84 K Now', () => {
    const { point, sets } = setsOf('switch-panel', 'a');
    const grade = (part: number) =>
      assessReading(point, aReading({ inputs: { part, air: 20 }, conditions: { load: 100 } }), sets).grade;
    expect([69, 82.9, 83, 89.9, 90, 103.9, 104].map(grade)).toEqual(['fine', 'watch', 'plan', 'plan', 'soon', 'soon', 'now']);
  });

  it('a bare busbar joint is not judged until tape or paint is on it', () => {
    const { point, sets } = setsOf('switch-panel', 'd');
    const reading = aReading({ inputs: { L1: 40, L2: 40, L3: 40 }, conditions: { load: 100 } });
    expect(assessReading(point, reading, sets)).toMatchObject({ grade: null, gate: 'emissivity-unreliable' });
    expect(assessReading({ ...point, emissivity: 0.96 }, reading, sets).grade).toBe('fine');
  });

  it('hot water exactly at the hygiene rule has no margin left', () => {
    const { point, sets } = setsOf('hot-water-circuit', 'a');
    const grade = (value: number) => assessReading(point, aReading({ inputs: { value } }), sets).grade;
    expect([62, 61, 60, 57, 55].map(grade)).toEqual(['fine', 'watch', 'plan', 'soon', 'now']);
  });
});

describe('facts of the trade as grades (common practice, no source)', () => {
  const judge = (key: string, letter: string, inputs: Record<string, number>, conditions: Record<string, number> = {}) => {
    const { point, sets } = setsOf(key, letter);
    return assessReading(point, aReading({ inputs, conditions }), sets);
  };

  it('a contactor at 80 °C is a fire risk: Now, and replaced by a competent person', () => {
    const contactor = judge('switch-panel', 'e', { value: 80 }, { load: 80 });
    expect(contactor.grade).toBe('now');
    expect(contactor.sentence).toMatch(/fire risk: it is replaced, by a competent person/);
  });

  it('a trap with an outlet as warm as its inlet: Plan, confirm by ultrasound', () => {
    const trap = judge('steam-trap', 'a', { inlet: 168, outlet: 167 }, { steamPressure: 7 });
    expect(trap).toMatchObject({ grade: 'plan', because: { criterion: 'over-return' } });
    expect(trap.sentence).toMatch(/suspect passing steam, confirm by ultrasound/);
  });

  it('radiators that spread 20 K in mild weather: Soon, hydraulic balance', () => {
    const circuit = judge('heating-circuit', 'a', { flow: 55, return: 35 }, { outdoor: 11, ambient: 20 });
    expect(circuit.grade).toBe('soon');
    expect(circuit.sentence).toMatch(/hydraulic balance/);
    const spreads = [4.9, 5, 10, 10.1, 15, 15.1, 19.9, 20];
    const grades = spreads.map(
      (spread) => judge('heating-circuit', 'a', { flow: 35 + spread, return: 35 }, { outdoor: 11, ambient: 15 }).grade,
    );
    expect(grades).toEqual(['watch', 'fine', 'fine', 'watch', 'watch', 'plan', 'plan', 'soon']);
  });

  it('the housing of a compressor that cools a computer room above 52 °C, fluid from a recooler above 40 °C: Plan', () => {
    const load = { load: 90, ambient: 22 };
    expect([51, 53].map((value) => judge('refrigeration-compressor', 'a', { value }, load).grade)).toEqual(['fine', 'plan']);
    expect([39, 41].map((value) => judge('recooler', 'a', { value }, load).grade)).toEqual(['fine', 'plan']);
  });

  it('a solar tube unlike its neighbours: Plan, and the surface that was read is named', () => {
    const tubes = judge('solar-array', 'a', { coldest: 30, middle: 31, warmest: 37 }, { irradiance: 700 });
    expect(tubes.grade).toBe('plan');
    expect(tubes.sentence).toMatch(/outer glass/);
  });

  it('a sprinkler pump is read once a week, its motor and its bearings', () => {
    const set = TEMPLATES.find(({ key }) => key === 'fire-pump-set')!;
    expect(set).toMatchObject({ readEveryDays: 7, lifeSafety: true });
    expect(set.points.map(({ name }) => name)).toEqual(expect.arrayContaining(['Motor drive-end bearing', 'Pump bearing']));
  });
});

describe('cautions', () => {
  it('there is a text for every hazard, shown in one order', () => {
    expect(Object.keys(CAUTIONS)).toEqual([...HAZARDS]);
    expect(cautionsFor(['roof', 'live-panel', 'dragons']).map((caution) => caution.hazard)).toEqual(['live-panel', 'roof']);
  });

  it('Fine promises nothing', () => {
    expect(FINE_MEANS).toMatch(/no limit was reached/);
    expect(FINE_MEANS).toMatch(/no protection device/);
  });
});
