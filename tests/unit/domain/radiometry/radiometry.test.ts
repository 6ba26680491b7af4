/** Radiometry against printed tables of the black body, the state equation and handbooks of emissivity. */
import {
  airTransmittance,
  bandFraction,
  bandFractionInverse,
  bandShare,
  ELEMENTS_ACROSS,
  effectiveExponent,
  emissivityReliability,
  type ImagerSettings,
  isTargetTooSmall,
  peakWavelength,
  pictureElement,
  SURFACES,
  type SurfaceKey,
  seenTemperature,
  sensitivitiesAt,
  smallestTarget,
  spotDiameter,
  totalExitance,
  trueTemperature,
  underTrueSettings,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type GoldenValue, goldenValues, holds, inputOf } from '../golden-values.ts';

const settingsOf = (value: GoldenValue): ImagerSettings => {
  const layer = (transmittance: string, temperature: string) =>
    value.inputs[transmittance] === undefined
      ? undefined
      : { transmittance: inputOf<number>(value, transmittance), temperatureC: inputOf<number>(value, temperature) };
  return {
    emissivity: inputOf(value, 'emissivity'),
    reflectedC: inputOf(value, 'reflected'),
    air: layer('tauAtm', 'tAtm'),
    window: layer('tauWindow', 'tWindow'),
  };
};

describe('a black body', () => {
  it.each(goldenValues('radiometry.bandFraction'))('%s', (_, value) => holds(bandFraction(inputOf(value, 'lambdaT')), value));
  it.each(goldenValues('radiometry.bandFractionInverse'))('%s', (_, value) =>
    holds(bandFractionInverse(inputOf(value, 'fraction')), value),
  );
  it.each(goldenValues('radiometry.totalExitance'))('%s', (_, value) => holds(totalExitance(inputOf(value, 'T')), value));
  it.each(goldenValues('radiometry.peakWavelength'))('%s', (_, value) => holds(peakWavelength(inputOf(value, 'T')), value));
  it.each(goldenValues('radiometry.bandShare'))('%s', (_, value) =>
    holds(bandShare(inputOf(value, 'T'), [inputOf(value, 'lambda1'), inputOf(value, 'lambda2')]), value),
  );
  it.each(goldenValues('radiometry.effectiveExponent'))('%s', (_, value) => holds(effectiveExponent(inputOf(value, 't')), value));
  it('sends all of its radiation below an endless wavelength, and a share has one wavelength', () => {
    expect(bandFraction(1e7)).toBeCloseTo(1, 6);
    expect([bandFraction(0), ...[0, 1, 1e-80, 1 - 1e-12].map(bandFractionInverse)]).toEqual([0, null, null, null, null]);
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 0.99, noNaN: true }), (share) => {
        expect(bandFraction(bandFractionInverse(share)!)).toBeCloseTo(share, 9);
      }),
    );
  });
});

describe('the state equation', () => {
  it.each(goldenValues('radiometry.correct(mode=total)'))('%s', (_, value) =>
    holds(trueTemperature(inputOf(value, 'apparent'), settingsOf(value), 'total'), value),
  );
  it.each(goldenValues('radiometry.correct(mode=band)'))('%s', (_, value) =>
    holds(trueTemperature(inputOf(value, 'apparent'), settingsOf(value)), value),
  );
  it.each(goldenValues('radiometry.apparent(mode=band)'))('%s', (_, value) =>
    holds(seenTemperature(inputOf(value, 'true'), settingsOf(value)), value),
  );
  it.each(goldenValues('radiometry.dTdEmissivity(mode=band)'))('%s', (_, value) =>
    holds(sensitivitiesAt(inputOf(value, 'true'), settingsOf(value))?.emissivity, value),
  );

  const celsius = fc.double({ min: -30, max: 400, noNaN: true });
  const share = fc.double({ min: 0.2, max: 1, noNaN: true });
  const layer = fc.record({ transmittance: fc.double({ min: 0.5, max: 1, noNaN: true }), temperatureC: celsius });
  const settings = fc.record({
    emissivity: share,
    reflectedC: celsius,
    air: fc.option(layer, { nil: undefined }),
    window: fc.option(layer, { nil: undefined }),
  });
  it('there and back is the same', () => {
    fc.assert(
      fc.property(celsius, settings, (truth, as) => {
        expect(trueTemperature(seenTemperature(truth, as)!, as)).toBeCloseTo(truth, 5);
        expect(underTrueSettings(truth, as, as)).toBeCloseTo(truth, 5);
      }),
    );
  });
  it('sensitivities are those of the equation itself (difference quotient), in a band and in all', () => {
    const response = fc.constantFrom<'total' | undefined>('total', undefined);
    fc.assert(
      fc.property(celsius, share, celsius, response, (truth, emissivity, reflectedC, seenIn) => {
        const seen = seenTemperature(truth, { emissivity, reflectedC }, seenIn)!;
        const at = (more: Partial<ImagerSettings>) => trueTemperature(seen, { emissivity, reflectedC, ...more }, seenIn)!;
        const [lower, upper] = [emissivity - 1e-5, Math.min(1, emissivity + 1e-5)];
        const perEmissivity = (at({ emissivity: upper }) - at({ emissivity: lower })) / (upper - lower);
        const perKelvin = (at({ reflectedC: reflectedC + 0.01 }) - at({ reflectedC: reflectedC - 0.01 })) / 0.02;
        const slopes = sensitivitiesAt(truth, { emissivity, reflectedC }, seenIn)!;
        expect(Math.abs(slopes.emissivity - perEmissivity)).toBeLessThan(0.01 * Math.abs(perEmissivity) + 0.05);
        expect(Math.abs(slopes.reflected - perKelvin)).toBeLessThan(0.01 * Math.abs(perKelvin) + 0.01);
      }),
      { numRuns: 50 },
    );
  });
  it('sensitivities of what is no temperature are none', () => {
    for (const [truth, reflectedC] of [
      [Number.NaN, 20],
      [80, Number.NaN],
      [-300, 20],
      [80, -300],
      [Number.POSITIVE_INFINITY, 20],
    ] as const)
      expect(sensitivitiesAt(truth, { emissivity: 0.9, reflectedC })).toBeNull();
  });
  it('less than the surroundings send is no temperature; what is no share is none', () => {
    expect(trueTemperature(20, { emissivity: 0.1, reflectedC: 80 })).toBeNull();
    const around = { reflectedC: 20 };
    for (const emissivity of [0, 1.1, Number.NaN]) {
      expect(trueTemperature(60, { ...around, emissivity })).toBeNull();
      expect(seenTemperature(60, { ...around, emissivity })).toBeNull();
      expect(sensitivitiesAt(60, { ...around, emissivity })).toBeNull();
    }
    expect(trueTemperature(60, { ...around, emissivity: 1, window: { transmittance: 0, temperatureC: 20 } })).toBeNull();
  });
  it('air takes nothing up to 3 m, and little at 10 m (literature on thermographic uncertainty, from memory)', () => {
    expect(airTransmittance(2, 20, 50)).toBe(1);
    expect(airTransmittance(10, 20, 50)).toBeCloseTo(0.981, 3);
    expect([airTransmittance(-1, 20, 50), airTransmittance(10, 90, 50), airTransmittance(10, 20, 120)]).toEqual([
      null,
      null,
      null,
    ]);
  });
});

describe('emissivity', () => {
  it.each(goldenValues('radiometry.emissivityFlag'))('%s', (_, value) =>
    expect(emissivityReliability(inputOf(value, 'emissivity'))).toBe(value.expected),
  );
  it.each(goldenValues('emissivity.lookup'))('%s', (_, value) =>
    holds(SURFACES[inputOf<SurfaceKey>(value, 'material')].emissivity, value),
  );
  it('of bare metal cannot be relied on', () => {
    for (const { emissivity, isBareMetal } of Object.values(SURFACES))
      expect(emissivityReliability(emissivity) === 'unreliable').toBe(isBareMetal);
  });
});

describe('optics', () => {
  it.each(goldenValues('optics.ifov'))('%s', (_, value) =>
    holds(pictureElement(inputOf(value, 'fov'), inputOf(value, 'pixels')), value),
  );
  it.each(goldenValues('optics.minTarget'))('%s', (_, value) => {
    expect(inputOf(value, 'factor')).toBe(ELEMENTS_ACROSS);
    holds(smallestTarget(inputOf(value, 'ifov'), inputOf(value, 'distance')), value);
  });
  it.each(goldenValues('optics.spotRatio'))('%s', (_, value) =>
    holds(spotDiameter(inputOf(value, 'distance'), inputOf(value, 'ratio')), value),
  );
  it.each(goldenValues('optics.gate'))('%s', (_, value) =>
    expect(isTargetTooSmall(inputOf(value, 'target'), inputOf(value, 'minTarget'))).toBe(value.expected === 'target-too-small'),
  );
  it('without elements, angle or ratio there is no figure', () => {
    expect([pictureElement(25, 0), pictureElement(0, 320), spotDiameter(600, 0), spotDiameter(-1, 12)]).toEqual(
      Array(4).fill(null),
    );
  });
});
