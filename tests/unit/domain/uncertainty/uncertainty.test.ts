/** Budgets against the GUM (JCGM 100) and limits against JCGM 106. */
import {
  budgetOf,
  coverageFactor,
  differenceBudgetOf,
  differenceUncertainty,
  guardBand,
  instrumentUncertainty,
  probabilityReached,
  rectangular,
  seenTemperature,
  sensitivitiesAt,
  trueTemperature,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { goldenValues, holds, inputOf } from '../golden-values.ts';

describe('a reading', () => {
  it.each(goldenValues('uncertainty.rectangular'))('%s', (_, value) => holds(rectangular(inputOf(value, 'halfWidth')), value));
  it.each(goldenValues('uncertainty.instrument'))('%s', (_, value) =>
    holds(instrumentUncertainty(inputOf(value, 'reading'), inputOf(value, 'abs'), inputOf(value, 'rel')), value),
  );
  it.each(goldenValues('uncertainty.budget'))('%s', (_, value) => {
    const budget = budgetOf({
      trueC: inputOf(value, 'true'),
      emissivity: inputOf(value, 'emissivity'),
      reflectedC: inputOf(value, 'reflected'),
      instrument: inputOf(value, 'uInstrument'),
      repeat: inputOf(value, 'uRepeat'),
      emissivityUncertainty: inputOf(value, 'uEps'),
      reflectedUncertainty: inputOf(value, 'uRefl'),
    });
    holds(budget?.combined, value);
  });
  it('is known no better than its worst line, and the lines make up the whole (property)', () => {
    const celsius = fc.double({ min: -30, max: 400, noNaN: true });
    fc.assert(
      fc.property(celsius, fc.double({ min: 0.1, max: 1, noNaN: true }), celsius, (trueC, emissivity, reflectedC) => {
        const { lines, combined, expanded } = budgetOf({ trueC, emissivity, reflectedC })!;
        for (const { standard } of lines) expect(standard).toBeLessThanOrEqual(combined);
        expect(lines.reduce((sum, { standard }) => sum + standard ** 2, 0)).toBeCloseTo(combined ** 2, 6);
        expect(expanded).toBe(2 * combined);
      }),
    );
    expect(budgetOf({ trueC: 80, emissivity: 0, reflectedC: 20 })).toBeNull();
  });
  it('of warm bare metal is known to several kelvin only: why it is not judged (common practice, no source)', () => {
    expect(budgetOf({ trueC: 80, emissivity: 0.35, reflectedC: 20 })!.combined).toBeGreaterThan(5);
  });
});

describe('what lies in between, and what was read again', () => {
  it('moves the temperature as the state equation itself does when a share is changed a little (property)', () => {
    const share = fc.double({ min: 0.4, max: 0.95, noNaN: true });
    const celsius = fc.double({ min: 0, max: 200, noNaN: true });
    fc.assert(
      fc.property(celsius, celsius, share, share, celsius, (trueC, reflectedC, tauAir, tauWindow, layerC) => {
        const settings = (air: number, window: number) => ({
          emissivity: 0.9,
          reflectedC,
          air: { transmittance: air, temperatureC: 20 },
          window: { transmittance: window, temperatureC: layerC },
        });
        const seen = seenTemperature(trueC, settings(tauAir, tauWindow))!;
        const moves = sensitivitiesAt(trueC, settings(tauAir, tauWindow))!;
        const h = 1e-5;
        const slope = (less: ReturnType<typeof settings>, more: ReturnType<typeof settings>) =>
          (trueTemperature(seen, more)! - trueTemperature(seen, less)!) / (2 * h);
        const close = (found: number, expected: number) =>
          expect(Math.abs(found - expected)).toBeLessThan(0.01 + 0.001 * Math.abs(expected));
        close(slope(settings(tauAir - h, tauWindow), settings(tauAir + h, tauWindow)), moves.air);
        close(slope(settings(tauAir, tauWindow - h), settings(tauAir, tauWindow + h)), moves.window);
      }),
    );
  });
  it('a window adds its line, and without one there is none', () => {
    const reading = { trueC: 80, emissivity: 0.95, reflectedC: 20 };
    const behind = budgetOf({ ...reading, window: { transmittance: 0.6, temperatureC: 30 } })!;
    expect(budgetOf(reading)!.lines.map(({ term }) => term)).toEqual(['instrument', 'repeat', 'emissivity', 'reflected']);
    expect(behind.lines.at(-1)!.term).toBe('window');
    expect(behind.combined).toBeGreaterThan(budgetOf(reading)!.combined);
  });
  it('few repeats that scatter widen the range as Student’s t does: GUM, table G.2 for 95.45 % (from memory)', () => {
    for (const [degrees, factor] of [
      [2, 4.53],
      [5, 2.65],
      [10, 2.28],
    ] as const) {
      // A scatter so large that nothing else counts; its degrees of freedom are then those of the whole.
      const repeats = Array.from({ length: degrees + 1 }, (_, i) => 80 + (i % 2 === 0 ? 40 : -40));
      expect(budgetOf({ trueC: 80, emissivity: 1, reflectedC: 20, repeats, emissivityUncertainty: 0 })!.coverage).toBeCloseTo(
        factor,
        1,
      );
    }
    expect(budgetOf({ trueC: 80, emissivity: 1, reflectedC: 20, repeats: [80, 80, 80] })!.coverage).toBe(2);
    expect(budgetOf({ trueC: 80, emissivity: 1, reflectedC: 20, repeats: [80] })!.coverage).toBe(2);
  });
  it('the mean of four readings is known twice as well as one of them (GUM 4.2.3)', () => {
    const repeats = [79, 81, 79, 81];
    const { lines } = budgetOf({ trueC: 80, emissivity: 1, reflectedC: 20, repeats })!;
    expect(lines.find(({ term }) => term === 'repeat')!.standard).toBeCloseTo(Math.sqrt(4 / 3) / 2, 9);
  });
});

describe('a difference', () => {
  it('of like surfaces in one picture is known better than either temperature, of unlike ones worse (common practice, no source)', () => {
    const pair = { trueC: [80, 70] as const, reflectedC: 20 };
    const alike = differenceBudgetOf({ ...pair, emissivity: 0.95 })!;
    const unlike = differenceBudgetOf({ ...pair, emissivity: [0.95, 0.6] })!;
    const one = budgetOf({ trueC: 80, emissivity: 0.95, reflectedC: 20 })!;
    expect(alike.combined).toBeLessThan(one.combined);
    expect(unlike.combined).toBeGreaterThan(one.combined);
    expect(differenceBudgetOf({ ...pair, emissivity: [0.95, 0] })).toBeNull();
  });
  it('of two equal temperatures of like surfaces is left with instrument and repeat, as the plain formula says (property)', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -20, max: 300, noNaN: true }),
        fc.double({ min: 0.2, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (trueC, emissivity, shared) => {
          const budget = differenceBudgetOf({ trueC: [trueC, trueC], emissivity, reflectedC: 25, shared })!;
          expect(budget.combined).toBeCloseTo(differenceUncertainty(instrumentUncertainty(trueC), shared), 9);
          expect(budget.lines.map(({ term }) => term)).toEqual(['instrument', 'repeat']);
        },
      ),
    );
  });
  it.each(goldenValues('uncertainty.difference'))('%s', (_, value) =>
    holds(differenceUncertainty(inputOf(value, 'uInst'), inputOf(value, 'r'), inputOf(value, 'uRep')), value),
  );
});

describe('beside a limit', () => {
  it.each(goldenValues('uncertainty.pExceed'))('%s', (_, value) =>
    holds(probabilityReached(inputOf(value, 'y'), inputOf(value, 'limit'), inputOf(value, 'u'), 'high'), value),
  );
  it.each(goldenValues('uncertainty.guardBand'))('%s', (_, value) => holds(guardBand(inputOf(value, 'u')), value));
  it.each(goldenValues('uncertainty.coverageFactor'))('%s', (_, value) =>
    holds(coverageFactor(inputOf(value, 'p'), inputOf(value, 'nu')), value),
  );
  it('a figure a guard band below the limit is beyond it one time in twenty', () => {
    expect(probabilityReached(90 - guardBand(2), 90, 2, 'high')).toBeCloseTo(0.05, 9);
  });
});
