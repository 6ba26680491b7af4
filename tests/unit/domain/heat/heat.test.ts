/** Exchangers, heating circuits, emitters and ceilings against textbook examples and equations of standards. */
import {
  dissatisfiedWithWarmCeiling,
  EMITTER_EXPONENT,
  type ExchangerTemperatures,
  effectivenessOf,
  emitterOutput,
  type FlowArrangement,
  flowRatio,
  heatDuty,
  judgeBalance,
  meanDifference,
  temperatureEffectiveness,
  transferUnitsOf,
  waterFlow,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type GoldenValue, goldenValues, holds, inputOf } from '../golden-values.ts';

const temperaturesOf = (value: GoldenValue): ExchangerTemperatures => ({
  hotIn: inputOf(value, 'thIn'),
  hotOut: inputOf(value, 'thOut'),
  coldIn: inputOf(value, 'tcIn'),
  coldOut: inputOf(value, 'tcOut'),
});

describe('exchangers', () => {
  it.each(goldenValues('heat.lmtd'))('%s', (_, value) =>
    holds(meanDifference(temperaturesOf(value), inputOf<FlowArrangement>(value, 'flow')), value),
  );
  it.each(goldenValues('heat.duty'))('%s', (_, value) =>
    holds(heatDuty(inputOf(value, 'm'), inputOf(value, 'cp'), inputOf(value, 'dT')), value),
  );
  it.each(goldenValues('heat.effectivenessNTU'))('%s', (_, value) => {
    const least = inputOf<number | undefined>(value, 'Cmin');
    const units = least === undefined ? inputOf<number>(value, 'NTU') : inputOf<number>(value, 'UA') / least;
    const ratio = least === undefined ? inputOf<number>(value, 'Cr') : least / inputOf<number>(value, 'Cmax');
    const flow = inputOf<string>(value, 'flow');
    // Where one side keeps its temperature the arrangement means nothing.
    for (const one of flow === 'any' ? (['counter', 'parallel'] as const) : [flow as FlowArrangement])
      holds(effectivenessOf(units, ratio, one), value);
  });
  it.each(goldenValues('heat.temperatureEffectiveness'))('%s', (_, value) =>
    holds(temperatureEffectiveness(temperaturesOf(value)), value),
  );

  it('sides that cross have no mean difference, and say so', () => {
    const crossed = { hotIn: 80, hotOut: 50, coldIn: 20, coldOut: 60 };
    expect(meanDifference(crossed, 'parallel')).toBe('temperature-cross');
    expect(meanDifference(crossed, 'counter')).toBeTypeOf('number');
    expect(meanDifference({ ...crossed, hotIn: Number.NaN }, 'counter')).toBe('not-a-number');
  });

  it('the mean difference lies between the two ends, however near they are, and does not know which end is which', () => {
    const end = fc.double({ min: 0.01, max: 300, noNaN: true });
    fc.assert(
      fc.property(end, end, (one, other) => {
        const mean = meanDifference({ hotIn: one, hotOut: other, coldIn: 0, coldOut: 0 }, 'parallel') as number;
        expect(mean).toBeGreaterThanOrEqual(Math.min(one, other) * (1 - 1e-9));
        expect(mean).toBeLessThanOrEqual(Math.max(one, other) * (1 + 1e-9));
        expect(meanDifference({ hotIn: other, hotOut: one, coldIn: 0, coldOut: 0 }, 'parallel')).toBeCloseTo(mean, 6);
      }),
    );
  });

  it('effectiveness and transfer units are one relation read both ways, and rise together', () => {
    const units = fc.double({ min: 0, max: 4, noNaN: true });
    const ratio = fc.double({ min: 0, max: 1, noNaN: true });
    fc.assert(
      fc.property(units, units, ratio, fc.constantFrom('counter', 'parallel'), (a, b, c, flow) => {
        const [one, other] = [effectivenessOf(a, c, flow)!, effectivenessOf(b, c, flow)!];
        expect(transferUnitsOf(one, c, flow)).toBeCloseTo(a, 4);
        if (a > b) expect(one).toBeGreaterThanOrEqual(other);
        expect(effectivenessOf(a, c, 'counter')!).toBeGreaterThanOrEqual(effectivenessOf(a, c, 'parallel')! - 1e-12);
        expect(one >= 0 && one <= 1).toBe(true);
      }),
    );
  });

  it('equal capacity rates are the limit of nearly equal ones (textbook: N/(1 + N))', () => {
    expect(effectivenessOf(2, 1, 'counter')).toBeCloseTo(2 / 3, 12);
    expect(effectivenessOf(2, 1 - 2e-6, 'counter')).toBeCloseTo(2 / 3, 5);
    expect(transferUnitsOf(2 / 3, 1, 'counter')).toBeCloseTo(2, 12);
    expect(effectivenessOf(Number.POSITIVE_INFINITY, 1, 'counter')).toBe(1);
    expect(effectivenessOf(Number.POSITIVE_INFINITY, 0.5, 'parallel')).toBeCloseTo(1 / 1.5, 12);
  });

  it('outside its range there is no answer', () => {
    expect([
      effectivenessOf(-1, 0, 'counter'),
      effectivenessOf(1, 2, 'counter'),
      effectivenessOf(Number.NaN, 0, 'parallel'),
    ]).toEqual([null, null, null]);
    expect([
      transferUnitsOf(1, 0.5, 'counter'),
      transferUnitsOf(0.7, 1, 'parallel'),
      transferUnitsOf(0.5, -1, 'counter'),
    ]).toEqual([null, null, null]);
    expect([heatDuty(-1, 4186, 10), heatDuty(1, 0, 10), heatDuty(1, 4186, Number.NaN)]).toEqual([null, null, null]);
    expect(temperatureEffectiveness({ hotIn: 34, hotOut: 33, coldIn: 30, coldOut: 31 })).toBe('difference-too-small');
  });
});

describe('circuits', () => {
  it.each(goldenValues('heat.waterFlow'))('%s', (_, value) =>
    holds(waterFlow(inputOf(value, 'Q'), inputOf(value, 'spread')), value),
  );
  it.each(goldenValues('heat.flowRatio'))('%s', (_, value) =>
    holds(flowRatio(inputOf(value, 'spread'), inputOf(value, 'medianSpread')), value),
  );

  const circuit = (flow: number, back: number, room = 21) => ({ flow, return: back, room });
  const states = (...backs: number[]) => judgeBalance(backs.map((back) => circuit(60, back))).map((one) => one?.state);

  it('a quarter off the median is balanced, more is not, beyond half it is to be planned (common practice, no source)', () => {
    // Spreads 10, 10, 10, 12.5, 12.6, 15.1 K: median 11.25 K.
    const judged = judgeBalance([50, 50, 50, 47.5, 47.4, 43].map((back) => circuit(60, back)));
    expect(judged.map((one) => one?.grade)).toEqual(['fine', 'fine', 'fine', 'fine', 'fine', 'plan']);
    expect(judgeBalance([50, 50, 50, 47].map((back) => circuit(60, back))).map((one) => one?.grade)).toEqual([
      ...['fine', 'fine', 'fine', 'watch'],
    ]);
  });
  it('a return at its room has no flow, a return at its flow is a short circuit (common practice, no source)', () => {
    expect(states(50, 50, 51, 23)).toEqual(['balanced', 'balanced', 'balanced', 'no-flow']);
    expect(states(50, 50, 51, 59)).toEqual(['balanced', 'balanced', 'balanced', 'over-supplied']);
  });
  it('nothing is said of a lukewarm flow, or of fewer than three', () => {
    expect(states(50, 44)).toEqual([undefined, undefined]);
    expect(judgeBalance([circuit(60, 50), circuit(60, 50), circuit(60, 51), circuit(35, 30)])[3]).toBeNull();
    expect(judgeBalance([circuit(60, 60), circuit(60, 60), circuit(60, 60)])).toEqual([null, null, null]);
    expect([waterFlow(-1, 10), waterFlow(10, 0), flowRatio(0, 10), flowRatio(10, Number.NaN)]).toEqual([null, null, null, null]);
  });
  it('who is unbalanced does not depend on the order', () => {
    const spreads = fc.array(fc.integer({ min: 1, max: 30 }), { minLength: 3, maxLength: 12 });
    fc.assert(
      fc.property(spreads, (list) => {
        const judge = (of: readonly number[]) =>
          judgeBalance(of.map((spread) => circuit(60, 60 - spread))).map((one) => one?.grade);
        expect(judge([...list].reverse())).toEqual(judge(list).reverse());
      }),
    );
  });
});

describe('emitters and ceilings', () => {
  it.each(goldenValues('heat.emitterOutput'))('%s', (_, value) =>
    holds(emitterOutput(inputOf(value, 'dT'), inputOf(value, 'dTn'), inputOf(value, 'n')), value),
  );
  it.each(goldenValues('heat.warmCeilingPD'))('%s', (_, value) =>
    holds(dissatisfiedWithWarmCeiling(inputOf(value, 'dTpr')), value),
  );

  it('a ceiling loses less of its output than a radiator when its water cools (EN 14037 and EN 442, from memory)', () => {
    expect(emitterOutput(25, 50, EMITTER_EXPONENT['ceiling-panel'])!).toBeGreaterThan(emitterOutput(25, 50)!);
    expect([emitterOutput(-1, 50), emitterOutput(20, 0), emitterOutput(Number.NaN, 50)]).toEqual([null, null, null]);
  });
  it('more asymmetry never pleases more people, and nobody is counted twice', () => {
    const asymmetry = fc.double({ min: 0, max: 23, noNaN: true });
    fc.assert(
      fc.property(asymmetry, asymmetry, (a, b) => {
        const [one, other] = [dissatisfiedWithWarmCeiling(a)!, dissatisfiedWithWarmCeiling(b)!];
        if (a <= b) expect(one).toBeLessThanOrEqual(other);
        expect(one >= 0 && one <= 100).toBe(true);
      }),
    );
    expect([dissatisfiedWithWarmCeiling(-1), dissatisfiedWithWarmCeiling(24)]).toEqual([null, null]);
  });
});
