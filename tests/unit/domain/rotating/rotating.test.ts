import {
  ageingFactor,
  displacementFromVelocity,
  gradeBearing,
  greaseIntervalFactor,
  LIFE_EXPONENT,
  lifeAtExcess,
  lossOfLife,
  ratingLife,
  ratingLifeHours,
  reliabilityFactor,
  velocityFromDisplacement,
  type WindingClass,
  windingFromFrame,
  windingLimit,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type GoldenValue, goldenValues, inputOf, isWithin } from '../golden-values.ts';

const holds = (actual: number | null | undefined, value: GoldenValue) =>
  isWithin(actual, value.expected as number, value.tolerance);
/** The kind of bearing whose exponent a value names. */
function lifeOf(value: GoldenValue): number | null {
  const kind = inputOf<number>(value, 'p') === LIFE_EXPONENT.ball ? 'ball' : 'roller';
  expect(LIFE_EXPONENT[kind]).toBeCloseTo(inputOf<number>(value, 'p'), 12);
  return ratingLife(inputOf(value, 'C'), inputOf(value, 'P'), kind);
}

describe('bearings', () => {
  it.each(goldenValues('rotating.greaseIntervalFactor'))('grease: %s', (_, value) => {
    expect(holds(greaseIntervalFactor(inputOf(value, 'T')), value)).toBe(true);
  });
  it.each(goldenValues('rotating.l10'))('rating life: %s', (_, value) => {
    expect(holds(lifeOf(value), value)).toBe(true);
  });
  it.each(goldenValues('rotating.l10h'))('rating life in hours: %s', (_, value) => {
    expect(holds(ratingLifeHours(lifeOf(value)!, inputOf(value, 'n')), value)).toBe(true);
  });
  it.each(goldenValues('rotating.a1'))('reliability: %s', (_, value) => {
    expect(holds(reliabilityFactor(inputOf(value, 'reliability')), value)).toBe(true);
  });

  it('limits count when reached (common practice, no source)', () => {
    expect([69.9, 70, 80, 90, 100].map((value) => gradeBearing('absolute', value))).toEqual([
      'fine',
      'watch',
      'plan',
      'soon',
      'now',
    ]);
    expect([34, 35, 45, 55, 65].map((value) => gradeBearing('overAmbient', value))).toEqual([
      'fine',
      'watch',
      'plan',
      'soon',
      'now',
    ]);
    expect([7, 8, 12, 18, 25].map((value) => gradeBearing('overBase', value))).toEqual(['fine', 'watch', 'plan', 'soon', 'now']);
    expect([7, 8, 12, 18, 25].map((value) => gradeBearing('overTwin', value))).toEqual(['fine', 'watch', 'plan', 'soon', 'now']);
    expect([9, 10, 15, 99].map((value) => gradeBearing('betweenVisits', value))).toEqual(['fine', 'plan', 'soon', 'soon']);
    expect(gradeBearing('absolute', Number.NaN)).toBeNull();
  });

  it('no answer out of range', () => {
    expect([
      ratingLife(0, 5, 'ball'),
      ratingLife(35, 0, 'ball'),
      ratingLifeHours(343, 0),
      ratingLifeHours(343, 1500, 94),
    ]).toEqual([null, null, null, null]);
    expect([greaseIntervalFactor(Number.NaN), greaseIntervalFactor(500)]).toEqual([null, null]);
  });
});

describe('windings', () => {
  it.each(goldenValues('rotating.windingLimit'))('limit: %s', (_, value) => {
    const { temperature, rise } = windingLimit(inputOf<WindingClass>(value, 'class'));
    expect({ class_C: temperature, rise_K: rise }).toEqual(value.expected);
  });
  it.each(goldenValues('rotating.hotspotAllowance'))('allowance: %s', (_, value) => {
    expect(windingLimit(inputOf<WindingClass>(value, 'class')).hotSpotAllowance).toBe(value.expected);
  });
  it.each(goldenValues('rotating.halvingRule'))('10 K rule: %s', (_, value) => {
    expect(holds(lifeAtExcess(inputOf(value, 'life'), inputOf(value, 'deltaT'), inputOf(value, 'halving')), value)).toBe(true);
  });
  it.each(goldenValues('rotating.agingFactor'))('ageing: %s', (_, value) => {
    expect(holds(ageingFactor(inputOf(value, 'hotspot')), value)).toBe(true);
  });

  it('40 °C, the rise and the allowance make the class temperature (IEC 60034-1)', () => {
    for (const insulation of ['A', 'E', 'B', 'F', 'H'] as const) {
      const { temperature, rise, hotSpotAllowance } = windingLimit(insulation);
      expect(40 + rise + hotSpotAllowance).toBe(temperature);
    }
  });

  it('a guess from the frame never clears (from memory)', () => {
    expect(windingFromFrame(70)).toEqual({ low: 90, high: 100, mayClear: false });
    expect(windingFromFrame(Number.NaN)).toBeNull();
  });

  it('loss of life: hours at 110 °C count as they are, their order does not matter, one bad entry is no answer (IEEE C57.91)', () => {
    const profile = [
      { hotSpot: 110, hours: 10 },
      { hotSpot: 120, hours: 2 },
    ];
    expect(lossOfLife(profile.slice(0, 1))).toBe(10);
    expect(lossOfLife([...profile].reverse())).toBeCloseTo(lossOfLife(profile)!, 9);
    expect([lossOfLife([]), lossOfLife([{ hotSpot: 900, hours: 1 }]), lossOfLife([{ hotSpot: 90, hours: -1 }])]).toEqual([
      0,
      null,
      null,
    ]);
  });

  it('hotter is never longer, for any finite figure no NaN', () => {
    const any = fc.double({ noNaN: true, noDefaultInfinity: true });
    fc.assert(
      fc.property(any, any, (a, b) => {
        const [cool, hot] = [Math.min(a, b), Math.max(a, b)];
        const grease = [greaseIntervalFactor(cool), greaseIntervalFactor(hot)] as const;
        if (grease[0] !== null && grease[1] !== null) expect(grease[0]).toBeGreaterThanOrEqual(grease[1]);
        for (const value of [
          ...grease,
          ageingFactor(a),
          lifeAtExcess(a, b),
          ratingLife(a, b, 'roller'),
          velocityFromDisplacement(a, b),
        ])
          expect(value === null || Number.isFinite(value)).toBe(true);
      }),
    );
  });
});

describe('vibration of one frequency', () => {
  it.each(goldenValues('vibration.velocityFromDisplacement'))('%s', (_, value) => {
    expect(holds(velocityFromDisplacement(inputOf(value, 'dpp'), inputOf(value, 'f')), value)).toBe(true);
  });
  it('there and back', () => {
    fc.assert(
      fc.property(fc.double({ min: 1, max: 1000, noNaN: true }), fc.double({ min: 1, max: 1000, noNaN: true }), (d, f) => {
        expect(displacementFromVelocity(velocityFromDisplacement(d, f)!, f)).toBeCloseTo(d, 6);
      }),
    );
    expect([velocityFromDisplacement(-1, 50), displacementFromVelocity(1, 0)]).toEqual([null, null]);
  });
});
