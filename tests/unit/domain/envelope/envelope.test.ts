/** Moist air and surfaces of buildings against ISO 13788, DIN 4108-2 and the guide of the WMO. */
import {
  dewPoint,
  humidityAtSurface,
  judgeSurface,
  leastSurfaceFactor,
  leastSurfaceTemperature,
  SURFACE_GRADE,
  type SurfaceState,
  saturationAt,
  surfaceFactor,
  vapourPressure,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { goldenValues, holds, inputOf } from '../golden-values.ts';

describe('moist air', () => {
  it.each(goldenValues('envelope.psat'))('%s', (_, value) => holds(vapourPressure(inputOf(value, 't')), value));
  it.each(goldenValues('envelope.dewPoint'))('%s', (_, value) =>
    holds(dewPoint(inputOf(value, 't'), inputOf(value, 'RH')), value),
  );
  it.each(goldenValues('envelope.surfaceRH'))('%s', (_, value) =>
    holds(humidityAtSurface(inputOf(value, 'tsi'), inputOf(value, 'ti'), inputOf(value, 'RH')), value),
  );

  it('there and back is the same, over water and over ice', () => {
    fc.assert(
      fc.property(fc.double({ min: -59, max: 99, noNaN: true }), (celsius) => {
        expect(saturationAt(vapourPressure(celsius)!)).toBeCloseTo(celsius, 9);
      }),
    );
  });
  it('two equations of the dew point agree within 0.2 K over water (ISO 13788 and WMO-No. 8)', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 40, noNaN: true }), fc.double({ min: 30, max: 100, noNaN: true }), (air, humidity) => {
        const [magnus, iso] = [dewPoint(air, humidity)!, saturationAt((vapourPressure(air)! * humidity) / 100)!];
        if (iso > 0) expect(Math.abs(magnus - iso)).toBeLessThan(0.2);
        expect(magnus).toBeLessThanOrEqual(air + 1e-9);
      }),
    );
  });
  it('outside its range there is no answer', () => {
    expect([vapourPressure(200), vapourPressure(Number.NaN), saturationAt(0), saturationAt(Number.NaN)]).toEqual([
      ...[null, null, null, null],
    ]);
    expect([dewPoint(20, 0), dewPoint(90, 50), humidityAtSurface(10, 20, 101), humidityAtSurface(200, 20, 50)]).toEqual([
      ...[null, null, null, null],
    ]);
  });
});

describe('surfaces', () => {
  it.each(goldenValues('envelope.fRsi'))('%s', (_, value) =>
    holds(surfaceFactor(inputOf(value, 'tsi'), inputOf(value, 'ti'), inputOf(value, 'te')), value),
  );
  it.each(goldenValues('envelope.minSurfaceTemperature'))('%s', (_, value) =>
    holds(leastSurfaceTemperature(inputOf(value, 'ti'), inputOf(value, 'RH'), inputOf(value, 'limit')), value),
  );
  it.each(goldenValues('envelope.minFRsi'))('%s', (_, value) =>
    holds(leastSurfaceFactor(inputOf(value, 'ti'), inputOf(value, 'RH'), inputOf(value, 'te'), inputOf(value, 'limit')), value),
  );
  it.each(goldenValues('envelope.verdict'))('%s', (_, value) => {
    const SAID: Readonly<Record<SurfaceState, string>> = {
      condensation: 'condensation',
      'mould-risk': 'mould-risk',
      'difference-too-small': 'undetermined:temperature-difference-too-small',
      'below-factor': 'below-fRsi',
      sound: 'ok',
    };
    const state = judgeSurface({
      surface: inputOf(value, 'tsi'),
      inside: inputOf(value, 'ti'),
      humidity: inputOf(value, 'RH'),
      outside: inputOf(value, 'te'),
    });
    expect(state === null ? null : SAID[state]).toBe(value.expected);
  });

  const spot = { inside: 20, humidity: 30, outside: -5 };
  it('water before mould before the factor; mild weather clears nothing but still shows water (own rule)', () => {
    expect(judgeSurface({ ...spot, surface: 12 })).toBe('below-factor');
    expect(judgeSurface({ ...spot, surface: 13 })).toBe('sound');
    expect(judgeSurface({ ...spot, surface: 13, outside: 12 })).toBe('difference-too-small');
    expect(judgeSurface({ ...spot, surface: 9, humidity: 50, outside: 12 })).toBe('condensation');
    expect(SURFACE_GRADE['difference-too-small']).toBeNull();
    expect(judgeSurface({ ...spot, surface: 13, humidity: 0 })).toBeNull();
    expect([surfaceFactor(15, 20, 20), leastSurfaceFactor(20, 50, 20), leastSurfaceTemperature(20, 0)]).toEqual([
      null,
      null,
      null,
    ]);
  });
  it('a warmer surface is never judged worse', () => {
    const worst = ['condensation', 'mould-risk', 'below-factor', 'difference-too-small', 'sound'];
    const surface = fc.double({ min: -20, max: 30, noNaN: true });
    fc.assert(
      fc.property(
        surface,
        surface,
        fc.integer({ min: 10, max: 90 }),
        fc.integer({ min: -20, max: 30 }),
        (a, b, humidity, outside) => {
          const judge = (one: number) => worst.indexOf(judgeSurface({ surface: one, inside: 21, humidity, outside })!);
          // Against a warmer outside the factor turns round and says nothing of a surface.
          if (outside < 21 && a < b) expect(judge(a)).toBeLessThanOrEqual(judge(b));
        },
      ),
    );
  });
  it('at the least temperature the humidity is the limit', () => {
    fc.assert(
      fc.property(fc.integer({ min: 5, max: 35 }), fc.integer({ min: 10, max: 79 }), (inside, humidity) => {
        expect(humidityAtSurface(leastSurfaceTemperature(inside, humidity)!, inside, humidity)).toBeCloseTo(80, 6);
      }),
    );
  });
});
