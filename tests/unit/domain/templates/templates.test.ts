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
