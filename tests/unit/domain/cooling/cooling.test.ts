/** Recoolers and gases behind their compression, against worked values and definitions. */
import {
  coolerApproach,
  coolerEffectiveness,
  dischargeTemperature,
  type Grade,
  gradeDischarge,
  wetBulb,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { goldenValues, holds, inputOf } from '../golden-values.ts';

describe('recoolers', () => {
  it.each(goldenValues('cooling.wetBulb'))('%s', (_, value) => holds(wetBulb(inputOf(value, 'T'), inputOf(value, 'RH')), value));
  it.each(goldenValues('cooling.approach'))('%s', (_, value) =>
    holds(coolerApproach(inputOf(value, 'coldWater'), inputOf(value, 'wetBulb')), value),
  );
  it.each(goldenValues('cooling.dryApproach'))('%s', (_, value) =>
    holds(coolerApproach(inputOf(value, 'fluidOut'), inputOf(value, 'airIn')), value),
  );

  it('a tower that takes 5 K and stays 5 K over the wet bulb does half of what it could (textbook)', () => {
    expect(coolerEffectiveness(5, 5)).toBe(0.5);
    expect([coolerEffectiveness(0, 0), coolerEffectiveness(-1, 5), coolerApproach(Number.NaN, 1)]).toEqual([null, null, null]);
  });
  it('the wet bulb rises with the humidity and lies below the air by no more than the error of the fit allows', () => {
    const air = fc.double({ min: 5, max: 50, noNaN: true });
    const humidity = fc.double({ min: 5, max: 99, noNaN: true });
    fc.assert(
      fc.property(air, humidity, humidity, (t, a, b) => {
        const [one, other] = [wetBulb(t, a)!, wetBulb(t, b)!];
        if (a < b) expect(one).toBeLessThanOrEqual(other + 1e-9);
        expect(one).toBeLessThan(t + 0.65);
      }),
    );
    expect([wetBulb(20, 2), wetBulb(60, 50), wetBulb(Number.NaN, 50), wetBulb(-20, 5)]).toEqual([null, null, null, null]);
  });
});

describe('gases behind their compression', () => {
  it.each(goldenValues('refrigeration.dischargeTemp'))('%s', (_, value) =>
    holds(dischargeTemperature(inputOf(value, 't1'), inputOf(value, 'ratio'), inputOf(value, 'k'), inputOf(value, 'eta')), value),
  );
  it.each(goldenValues('refrigeration.dischargeFlag'))('%s', (_, value) => {
    const LEVELS: Readonly<Record<Grade, string>> = { fine: 'ok', watch: 'watch', plan: 'alert', soon: 'alarm', now: 'critical' };
    expect(LEVELS[gradeDischarge('refrigerant', inputOf(value, 'tDischarge'))!]).toBe(value.expected);
  });

  it('limits count when reached (from memory)', () => {
    expect([104.9, 105, 115, 125].map((t) => gradeDischarge('refrigerant', t))).toEqual(['fine', 'plan', 'soon', 'now']);
    expect([99.9, 100, 105, 110].map((t) => gradeDischarge('screw-air', t))).toEqual(['fine', 'plan', 'soon', 'now']);
    expect(gradeDischarge('refrigerant', Number.NaN)).toBeNull();
  });
  it('more pressure, a poorer machine or a stiffer gas is hotter; none of them is no warming', () => {
    const ratio = fc.double({ min: 1, max: 30, noNaN: true });
    fc.assert(
      fc.property(ratio, ratio, (a, b) => {
        if (a < b) expect(dischargeTemperature(20, a)!).toBeLessThanOrEqual(dischargeTemperature(20, b)!);
        expect(dischargeTemperature(20, a, 1.4, 0.9)!).toBeLessThanOrEqual(dischargeTemperature(20, a, 1.4, 0.7)!);
        expect(dischargeTemperature(20, a, 1.1)!).toBeLessThanOrEqual(dischargeTemperature(20, a, 1.4)!);
      }),
    );
    expect(dischargeTemperature(20, 1)).toBe(20);
    expect([dischargeTemperature(20, 0.5), dischargeTemperature(20, 5, 1), dischargeTemperature(-300, 5)]).toEqual([
      null,
      null,
      null,
    ]);
  });
});
