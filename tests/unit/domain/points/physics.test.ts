/** Physics behind quantities, against values from tables and worked examples; each carries its source. */
import { assessReading, figureOf, type Point, type Quantity, underTrueSettings } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aLimitSet, aPoint, aReading } from '../builders.ts';
import { type GoldenValue, goldenValues, inputOf, isWithin } from '../golden-values.ts';

const holds = (actual: number | null, value: GoldenValue) =>
  expect(isWithin(actual, value.expected as number, value.tolerance), `${actual} for ${String(value.expected)}`).toBe(true);

describe('steam', () => {
  it.each(goldenValues('steam.trapJudgement'))('%s', (_name, value) => {
    const trap = aPoint({ quantity: 'steam-trap', unit: 'K' });
    const reading = aReading({
      inputs: { inlet: inputOf(value, 'upstream'), outlet: inputOf(value, 'downstream') },
      conditions: { steamPressure: inputOf(value, 'linePressure'), returnPressure: inputOf(value, 'returnPressure') },
    });
    const [below, over] = [figureOf(trap, reading, 'absolute').value!, figureOf(trap, reading, 'over-return').value];
    const said =
      below > 60
        ? 'cold:blocked-or-isolated-or-no-steam'
        : below > 15
          ? 'waterlogged-or-undersized-or-thermostatic-subcooling'
          : over !== null && over > 15
            ? 'suspect-blow-through:downstream-above-return-saturation'
            : 'plausible-working-or-leaking:confirm-by-ultrasound';
    expect(said).toBe(value.expected);
    expect(below > 15).toBe(over === null);
  });
});

describe('moist air', () => {
  const spot = aPoint({ quantity: 'surface-humidity', unit: '%' });
  const wall = (value: GoldenValue) =>
    aReading({
      inputs: { value: inputOf(value, 'tsi'), air: inputOf(value, 'ti') },
      conditions: {
        humidity: inputOf<number | undefined>(value, 'RH') ?? 50,
        outdoor: inputOf<number | undefined>(value, 'te') ?? 0,
      },
    });
  it.each(goldenValues('envelope.surfaceRH'))('%s', (_name, value) =>
    holds(figureOf(spot, wall(value), 'absolute').value, value),
  );
  it.each(goldenValues('envelope.fRsi'))('%s', (_name, value) =>
    holds(figureOf(spot, wall(value), 'surface-factor').value, value),
  );
});

describe('gases', () => {
  it.each(goldenValues('refrigeration.dischargeTemp'))('%s', (_name, value) => {
    // Gauges: at the suction 0 bar above the air. The quantity knows one efficiency, the value another.
    const ratio = inputOf<number>(value, 'ratio');
    const compressor = aPoint({ quantity: 'discharge-over-calculated', unit: 'K', gasExponent: inputOf(value, 'k') });
    const inputs = { suction: inputOf<number>(value, 't1'), suctionPressure: 0, dischargePressure: 1.013_25 * (ratio - 1) };
    const { value: over } = figureOf(compressor, aReading({ inputs: { ...inputs, discharge: 0 } }), 'absolute');
    const [warmed, ideal] = [-over! - inputs.suction, (value.expected as number) - inputs.suction];
    expect(warmed * 0.75).toBeCloseTo(ideal, 1);
  });
});

describe('peers', () => {
  it.each(goldenValues('peers.flag'))('%s', (_name, value) => {
    const values = inputOf<number[]>(value, 'values');
    const parts = values.map((_, index) => `${index}`);
    const array = aPoint({ quantity: 'neighbour-difference', unit: 'K', parts });
    const inputs = Object.fromEntries(values.map((one, index) => [`${index}`, one]));
    const figure = figureOf(array, aReading({ inputs }), 'like-part-difference');
    expect(figure).toMatchObject({ standout: `${(value.expected as number[])[0]}, the colder`, isUnremarkable: false });
    // Without the one that stands out none does.
    const rest = Object.fromEntries(Object.entries(inputs).filter(([name]) => name !== `${(value.expected as number[])[0]}`));
    expect(figureOf(array, aReading({ inputs: rest }), 'like-part-difference').isUnremarkable).toBe(true);
  });
});

describe('what every quantity lacks without its entries', () => {
  const QUANTITIES_WITH_ALL: readonly Quantity[] = [
    'steam-trap',
    'over-wet-bulb',
    'discharge-over-calculated',
    'over-dew-point',
    'surface-humidity',
    'effectiveness',
    'spread',
    'below-curve',
  ];
  it.each(QUANTITIES_WITH_ALL)('%s names it', (quantity) => {
    const point: Point = aPoint({ quantity });
    const figure = figureOf(point, aReading(), 'absolute');
    expect(figure.value).toBeNull();
    expect(figure.gate).toBe('quantity-missing');
    expect(figure.missing.length).toBeGreaterThan(0);
  });
});

describe('true settings of the imager', () => {
  // Read with emissivity 1 the imager shows the apparent temperature.
  it.each(goldenValues('radiometry.correct(mode=band)').filter(([, value]) => value.inputs.tauAtm === undefined))(
    '%s',
    (_name, value) => {
      const reflectedC = inputOf<number>(value, 'reflected');
      const truly = { emissivity: inputOf<number>(value, 'emissivity'), reflectedC };
      holds(underTrueSettings(inputOf(value, 'apparent'), { emissivity: 1, reflectedC }, truly), value);
    },
  );
  it.each(goldenValues('radiometry.apparent(mode=band)'))('%s', (_name, value) => {
    const reflectedC = inputOf<number>(value, 'reflected');
    const as = { emissivity: inputOf<number>(value, 'emissivity'), reflectedC };
    holds(underTrueSettings(inputOf(value, 'true'), as, { emissivity: 1, reflectedC }), value);
  });

  it('there and back is the same temperature, and a reflection that is all there is gives none', () => {
    const [a, b] = [
      { emissivity: 0.35, reflectedC: 18 },
      { emissivity: 0.93, reflectedC: 24 },
    ];
    fc.assert(
      fc.property(fc.double({ min: 30, max: 400, noNaN: true }), (shown) => {
        const other = underTrueSettings(shown, a, b)!;
        expect(underTrueSettings(other, b, a)).toBeCloseTo(shown, 6);
      }),
    );
    expect(underTrueSettings(-40, b, { emissivity: 0.1, reflectedC: 80 })).toBeNull();
  });

  it('a painted lug read at 0.30 shows 75 °C and is 42 °C: Plan with a question, after the correction Fine, with both figures said', () => {
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
    const read = aReading({ inputs: { part: 75, air: 22 }, conditions: { emissivity: 0.3, load: 100 } });
    expect(assessReading(lug, read, [limits])).toMatchObject({ grade: 'plan', check: 'emissivity-unreliable' });
    const corrected = assessReading(lug, { ...read, conditions: { ...read.conditions, trueEmissivity: 0.93 } }, [limits]);
    expect(corrected).toMatchObject({ grade: 'fine', gate: null, because: { asRead: 53 } });
    expect(corrected.because?.value).toBeCloseTo(20, 0);
    expect(corrected.sentence).toMatch(/Recomputed at emissivity 0\.93; as read at 0\.30 it showed 53\.0.K\./);
    expect(figureOf(lug, { ...read, conditions: { ...read.conditions, trueEmissivity: 0.93 } }, 'absolute').value).toBeCloseTo(
      42,
      0,
    );
  });
});
