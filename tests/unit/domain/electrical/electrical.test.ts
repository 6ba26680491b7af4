import {
  type ElectricalPart,
  electricalLimit,
  exponentFromFilm,
  gradeAmbient,
  gradeNavy,
  gradeSimilar,
  gradeUnbalance,
  insulationAt40,
  leastInsulation,
  leastPolarisationIndex,
  loadCorrect,
  loadGate,
  lowerMargin,
  polarisationIndex,
  predictBand,
  predictTemperature,
  type ThermalClass,
  thermalClass,
  unbalance,
  type WindingKind,
  windFactor,
  windingRiseGrowth,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type GoldenValue, goldenValues, inputOf, isWithin } from '../golden-values.ts';

describe('classes of a rise', () => {
  it.each([...goldenValues('electrical.gradeSimilar')])('similar part: %s', (_, value) => {
    expect(gradeSimilar(inputOf(value, 'deltaT'))).toBe(value.expected);
  });
  it.each(goldenValues('electrical.gradeAmbient'))('ambient air: %s', (_, value) => {
    expect(gradeAmbient(inputOf(value, 'deltaT'))).toBe(value.expected);
  });
  it.each(goldenValues('electrical.gradeNavy'))('military scale: %s', (_, value) => {
    expect(gradeNavy(inputOf(value, 'deltaT'))).toBe(value.expected);
  });

  it('upper ends belong to the lower class, and gaps of the printed table close upwards (own rule)', () => {
    expect([1, 3, 3.01, 15, 15.01].map(gradeSimilar)).toEqual(['similar-1', 'similar-1', 'similar-2', 'similar-2', 'similar-4']);
    expect([10, 10.01, 20, 20.01, 40, 40.01].map(gradeAmbient)).toEqual([
      'ambient-1',
      'ambient-2',
      'ambient-2',
      'ambient-3',
      'ambient-3',
      'ambient-4',
    ]);
    expect([9.9, 24.9, 25, 39.9, 40, 69.9, 70].map(gradeNavy)).toEqual([
      'none',
      'desirable',
      'important',
      'important',
      'mandatory',
      'mandatory',
      'immediate',
    ]);
    expect([Number.NaN, -20].map(gradeSimilar)).toEqual(['none', 'none']);
  });
});

describe('load', () => {
  it.each(goldenValues('electrical.loadCorrect'))('rise at another current: %s', (_, value) => {
    const corrected = loadCorrect(inputOf(value, 'rise'), inputOf(value, 'I1'), inputOf(value, 'I2'), inputOf(value, 'n'));
    expect(isWithin(corrected, value.expected as number, value.tolerance)).toBe(true);
  });
  it.each(goldenValues('electrical.loadGate'))('least load: %s', (_, value) => {
    expect(loadGate(inputOf(value, 'load'))).toBe(value.expected);
  });

  it('no current, no correction', () => {
    expect(loadCorrect(10, 0, 100)).toBeNull();
    expect(loadCorrect(10, null, 100)).toBeNull();
    expect(loadCorrect(Number.NaN, 50, 100)).toBeNull();
    expect(loadGate(null)).toBe('load-missing');
  });

  it('currents are never scaled more than two and a half times', () => {
    expect(loadCorrect(10, 10, 100, 2)).toBe(62.5);
  });
});

/** A figure against a value, within its tolerance. */
const holds = (actual: number | null | undefined, value: GoldenValue) =>
  isWithin(actual, value.expected as number, value.tolerance);

describe('another load and wind', () => {
  it.each(goldenValues('electrical.exponentFromFilm'))('exponent: %s', (_, value) => {
    expect(holds(exponentFromFilm(inputOf(value, 'm')), value)).toBe(true);
  });
  it.each(goldenValues('electrical.predictTemperature'))('temperature: %s', (_, value) => {
    const read = {
      temperature: inputOf<number>(value, 't1'),
      ambient: inputOf<number>(value, 'ambient1'),
      load: inputOf<number>(value, 'I1'),
      otherLoad: inputOf<number>(value, 'I2'),
      otherAmbient: inputOf<number>(value, 'ambient2'),
    };
    expect(holds(predictTemperature(read, inputOf(value, 'n')), value)).toBe(true);
  });
  it.each(goldenValues('electrical.windFactor'))('wind: %s', (_, value) => {
    expect(holds(windFactor(inputOf(value, 'wind')), value)).toBe(true);
  });

  it('wind: nothing below 1 m/s, straight between the figures, no answer beyond (from memory)', () => {
    expect([0, 1, 8, 8.01, -1, Number.NaN].map(windFactor)).toEqual([1, 1, 2.5, null, null, null]);
    expect(windFactor(2.5)).toBeCloseTo(1.5, 9);
  });

  it('a prediction from a low load, or from an unknown one, clears nothing (NFPA 70B)', () => {
    const read = { temperature: 52, ambient: 24, load: 30, otherLoad: 60, otherAmbient: 24 };
    expect([30, null, 40].map((load) => predictBand(read, load)?.mayClear)).toEqual([false, false, true]);
    expect(predictBand({ ...read, load: null }, 50)).toBeNull();
  });

  it('the band is in order and holds its centre, and coming back gives the same temperature', () => {
    const near = fc.double({ min: 50, max: 100, noNaN: true });
    const degrees = fc.double({ min: -20, max: 150, noNaN: true });
    fc.assert(
      fc.property(degrees, degrees, near, near, degrees, (temperature, ambient, load, otherLoad, otherAmbient) => {
        const band = predictBand({ temperature, ambient, load, otherLoad, otherAmbient }, load)!;
        const back = {
          temperature: band.central,
          ambient: otherAmbient,
          load: otherLoad,
          otherLoad: load,
          otherAmbient: ambient,
        };
        expect(band.low <= band.central && band.central <= band.high).toBe(true);
        expect(predictTemperature(back)).toBeCloseTo(temperature, 6);
      }),
    );
  });
});

describe('limits', () => {
  const SWITCHGEAR: Record<string, ElectricalPart> = {
    'bolt-bare': 'switchgear-connection-bare',
    'bolt-tin': 'switchgear-connection-tin',
    'cont-bare': 'switchgear-contact-bare',
  };
  const ASSEMBLY: Record<string, ElectricalPart> = {
    term: 'assembly-terminal',
    'handle-metal': 'assembly-handle-metal',
    'cover-metal': 'assembly-cover-metal',
  };
  const DEVICE: Record<string, ElectricalPart> = {
    cu: 'device-terminal-copper',
    brass: 'device-terminal-brass',
    ag: 'device-terminal-silver-or-nickel',
  };

  it.each(goldenValues('electrical.limitHV'))('switchgear: %s', (_, value) => {
    const { temperature, rise } = electricalLimit(SWITCHGEAR[inputOf<string>(value, 'part')]!);
    expect({ temperature_C: temperature, rise_K: rise }).toEqual(value.expected);
  });
  it.each(goldenValues('electrical.limitLV'))('assembly: %s', (_, value) => {
    expect(electricalLimit(ASSEMBLY[inputOf<string>(value, 'part')]!).rise).toBe(value.expected);
  });
  it.each(goldenValues('electrical.limitLVTerminal'))('device: %s', (_, value) => {
    expect(electricalLimit(DEVICE[inputOf<string>(value, 'finish')]!).rise).toBe(value.expected);
  });
  it.each(goldenValues('electrical.conductorLimit'))('conductor: %s', (_, value) => {
    expect(inputOf(value, 'insulation')).toBe('PVC');
    expect(electricalLimit('conductor-pvc').temperature).toBe(value.expected);
  });

  it('the lower margin wins and is named: 70 K over 35 °C keeps IEC 61439-1 and is too hot for a 70 °C cable', () => {
    expect(lowerMargin(70, 35, 'assembly-terminal', 'conductor-pvc')).toMatchObject({
      margin: -35,
      part: 'conductor-pvc',
      grade: 'now',
    });
    expect(lowerMargin(50, 20, 'device-terminal-copper', 'conductor-xlpe-or-epr')).toMatchObject({
      margin: 10,
      part: 'device-terminal-copper',
      grade: 'fine',
    });
    expect(lowerMargin(10, 20, 'conductor-pvc', 'conductor-pvc')).toBeNull();
    expect(lowerMargin(Number.NaN, 20, 'assembly-terminal', 'conductor-pvc')).toBeNull();
  });

  it('shares of the limit rise (common practice, no source)', () => {
    const grades = [53.9, 54, 60, 72].map(
      (rise) => lowerMargin(rise, 0, 'device-terminal-copper', 'conductor-xlpe-or-epr')?.grade,
    );
    expect(grades).toEqual(['fine', 'plan', 'soon', 'now']);
  });
});

describe('unbalance', () => {
  it.each(goldenValues('electrical.unbalance'))('%s', (_, value) => {
    expect(holds(unbalance(inputOf(value, 'values')), value)).toBe(true);
  });

  it('grades: the limit itself is not exceeded (voltage NEMA MG 1 practice; current common practice, no source)', () => {
    expect([1, 1.01, 2.01, 3.51, 5.01].map((u) => gradeUnbalance('voltage', u))).toEqual([
      'fine',
      'watch',
      'plan',
      'soon',
      'now',
    ]);
    expect([10, 10.1, 20.1, null].map((u) => gradeUnbalance('current', u))).toEqual(['fine', 'plan', 'soon', null]);
  });

  it('does not depend on the order of phases or on the unit', () => {
    const volts = fc.double({ min: 1, max: 1000, noNaN: true });
    fc.assert(
      fc.property(volts, volts, volts, (a, b, c) => {
        const percent = unbalance([a, b, c])!;
        expect(unbalance([c, a, b])).toBeCloseTo(percent, 9);
        expect(unbalance([a / 1000, b / 1000, c / 1000])).toBeCloseTo(percent, 9);
      }),
    );
  });

  it('no answer without phases, for a negative one, or for a dead line; growth of the winding rise (from memory)', () => {
    expect([[], [400], [0, 0, 0], [400, -1, 400], [400, Number.NaN]].map(unbalance)).toEqual([null, null, null, null, null]);
    expect([3, 6].map(windingRiseGrowth)).toEqual([18, null]);
  });
});

describe('insulation', () => {
  const KIND: Record<string, WindingKind> = { lv: 'low-voltage', old: 'old' };

  it.each(goldenValues('insulation.to40C'))('at 40 °C: %s', (_, value) => {
    expect(holds(insulationAt40(inputOf(value, 'R'), inputOf(value, 'T')), value)).toBe(true);
  });
  it.each(goldenValues('insulation.pi'))('polarisation index: %s', (_, value) => {
    expect(holds(polarisationIndex(inputOf(value, 'R1'), inputOf(value, 'R10')).value, value)).toBe(true);
  });
  it.each(goldenValues('insulation.minimum'))('least resistance: %s', (_, value) => {
    expect(holds(leastInsulation(KIND[inputOf<string>(value, 'kind')]!, inputOf(value, 'kV')), value)).toBe(true);
  });
  it.each(goldenValues('insulation.minimumPI'))('least index: %s', (_, value) => {
    expect(leastPolarisationIndex(inputOf<ThermalClass>(value, 'class'))).toBe(value.expected);
  });
  it.each(goldenValues('rotating.thermalClass'))('class: %s', (_, value) => {
    expect(thermalClass(inputOf(value, 'designation'))).toBe(value.expected);
  });

  it('form-wound machines need 100 MΩ (IEEE 43, from memory); unknown classes and impossible readings have no answer', () => {
    expect(leastInsulation('form-wound', 6)).toBe(100);
    expect([thermalClass('Z'), insulationAt40(0, 20), insulationAt40(5, 500), leastInsulation('old', -1)]).toEqual([
      null,
      null,
      null,
      null,
    ]);
  });

  it('above 5 GΩ the index is not looked at (IEEE 43, from memory)', () => {
    expect(polarisationIndex(5000, 10000).value).toBe(2);
    expect(polarisationIndex(5001, 10000)).toEqual({ value: null, reason: 'resistance-above-5-gigaohm' });
    expect(polarisationIndex(0, 10).reason).toBe('resistance-missing');
  });
});
