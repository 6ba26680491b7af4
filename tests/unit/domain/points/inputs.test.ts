import { conditionsOf, inputsOf, loadPercentOf, measure, parseReading, QUANTITIES, questionUnlikely } from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { aFact, aPoint, aReading, entry, phases } from '../builders.ts';

describe('the entry form follows from the quantity', () => {
  it('phases ask for one temperature each, currents where known', () => {
    expect(inputsOf(phases()).map((input) => [input.name, input.unit, input.required])).toEqual([
      ['L1', '°C', true],
      ['L2', '°C', true],
      ['L3', '°C', true],
      ['amps:L1', 'A', false],
      ['amps:L2', 'A', false],
      ['amps:L3', 'A', false],
    ]);
  });

  it('every quantity with parts has at least one required field, or two ways to choose from', () => {
    for (const quantity of QUANTITIES) {
      const inputs = inputsOf(aPoint({ quantity, parts: ['left', 'right'] }));
      expect(inputs.some((input) => input.required || input.way !== undefined)).toBe(true);
    }
  });

  it('load is never asked where it means nothing, the air is not asked twice', () => {
    expect(conditionsOf(aPoint({ needs: ['load'] })).map((condition) => condition.name)).toEqual([]);
    const rise = aPoint({ quantity: 'rise-over-ambient', loadFamily: 'electrical', needs: ['load', 'ambient'], infrared: true });
    expect(conditionsOf(rise).map((condition) => [condition.name, condition.required])).toEqual([
      ['load', true],
      ['emissivity', false],
    ]);
  });
});

describe('a reading as taken', () => {
  it('becomes canonical, whatever unit was typed', () => {
    const parsed = parseReading(
      aFact({ inputs: { value: entry('187,7', '°F') }, conditions: { ambient: entry('70 °F') }, running: true }),
      aPoint(),
    );
    if (!('reading' in parsed)) throw new Error(JSON.stringify(parsed.errors));
    expect(parsed.reading.inputs.value).toBeCloseTo(86.5, 10);
    expect(parsed.reading.conditions.ambient).toBeCloseTo(21.111, 3);
    expect(parsed.reading.takenAt).toBe(Date.UTC(2026, 3, 23, 8, 14));
  });

  it('names every wrong entry by its pointer and says what was expected', () => {
    const parsed = parseReading(
      aFact({
        takenAt: 'yesterday',
        inputs: { value: entry('NaN'), colour: entry('red') },
        conditions: { emissivity: entry('1.2'), mood: entry('1') },
      }),
      aPoint(),
    );
    expect('errors' in parsed && parsed.errors.map((error) => error.pointer)).toEqual([
      '/inputs/value',
      '/inputs/colour',
      '/conditions/emissivity',
      '/conditions/mood',
      '/takenAt',
    ]);
    expect('errors' in parsed && parsed.errors[0]?.detail).toBe('A temperature in °C, such as 87 or 87,5.');
  });

  it('needs at least one of the inputs the point exists for', () => {
    expect(parseReading(aFact(), phases())).toEqual({
      errors: [{ pointer: '/inputs/L1', detail: 'A temperature in °C, such as 87 or 87,5.' }],
    });
    expect(parseReading(aFact({ inputs: { L2: entry('41') } }), phases())).toHaveProperty('reading');
  });

  it('a part whose name holds a slash is pointed to by an escaped name', () => {
    const parsed = parseReading(aFact({ inputs: { 'L1/N': entry('x') } }), phases({ parts: ['L1/N', 'L2'] }));
    expect('errors' in parsed && parsed.errors[0]?.pointer).toBe('/inputs/L1~1N');
  });
});

describe('the figure from the raw inputs', () => {
  it('like parts: hottest minus the median of the others', () => {
    expect(measure(phases(), aReading({ inputs: { L1: 40, L2: 52, L3: 42 } }))).toMatchObject({
      value: 11,
      unit: 'K',
      standout: 'L2',
      missing: [],
    });
  });

  it('two of three parts still give a difference, and the third is named', () => {
    expect(measure(phases(), aReading({ inputs: { L1: 40, L2: 48 } }))).toMatchObject({ value: 8, missing: ['L3'], gate: null });
  });

  it('one part alone gives none', () => {
    expect(measure(phases(), aReading({ inputs: { L2: 48 } }))).toMatchObject({ value: null, gate: 'quantity-missing' });
  });

  it('parts hot alike show no difference', () => {
    expect(measure(phases(), aReading({ inputs: { L1: 90, L2: 90, L3: 90 } })).value).toBe(0);
  });

  it('currents that differ by 10 % or more bring each rise to the greatest current first', () => {
    const unequal = aReading({
      inputs: { L1: 30, L2: 30, L3: 30, 'amps:L1': 100, 'amps:L2': 50, 'amps:L3': 100 },
      conditions: { ambient: 20 },
    });
    const figure = measure(phases(), unequal);
    // The weakly loaded phase is the faulty one: 10 K · 2^1.8 − 10 K.
    expect(figure).toMatchObject({ standout: 'L2', evenedCurrents: true });
    expect(figure.value).toBeCloseTo(10 * 2 ** 1.8 - 10, 10);
    expect(measure(phases(), { ...unequal, conditions: {} })).toMatchObject({ value: null, gate: 'ambient-missing' });
  });

  it('a phase without current carries no comparison and is named', () => {
    const blown = aReading({
      inputs: { L1: 30, L2: 20, L3: 34, 'amps:L1': 100, 'amps:L2': 0, 'amps:L3': 100 },
      conditions: { ambient: 20 },
    });
    expect(measure(phases(), blown)).toMatchObject({ value: 4, standout: 'L3', missing: ['L2'] });
  });

  it('air of a rise may be the input or the condition; without either it is missing', () => {
    const rise = aPoint({ quantity: 'rise-over-ambient', unit: 'K' });
    expect(measure(rise, aReading({ inputs: { part: 62, air: 22 } })).value).toBe(40);
    expect(measure(rise, aReading({ inputs: { part: 62 }, conditions: { ambient: 24 } })).value).toBe(38);
    expect(measure(rise, aReading({ inputs: { part: 62 } })).gate).toBe('ambient-missing');
  });

  it('a figure above base waits for the base', () => {
    const frame = aPoint({ quantity: 'above-base', unit: 'K' });
    expect(measure(frame, aReading({ inputs: { value: 66 } })).gate).toBe('base-missing');
    expect(measure({ ...frame, base: { value: 52, state: 'provisional' } }, aReading({ inputs: { value: 66 } })).value).toBe(14);
  });

  it('load comes from the entry, else from the current and the rated current', () => {
    const way = phases({ ratedCurrentA: 200 });
    expect(loadPercentOf(way, aReading({ conditions: { load: 62, current: 10 } }))).toBe(62);
    expect(loadPercentOf(way, aReading({ conditions: { current: 124 } }))).toBe(62);
    expect(loadPercentOf(way, aReading({ inputs: { 'amps:L1': 90, 'amps:L3': 124 } }))).toBe(62);
    expect(loadPercentOf(phases(), aReading({ conditions: { current: 124 } }))).toBeNull();
  });
});

describe('an unlikely value is asked about once', () => {
  const at = (value: number) => aReading({ inputs: { value } });

  it('names the value and the last one', () => {
    expect(questionUnlikely(aPoint(), at(870), [82.9, 83.2])).toBe('870\u202f°C? The last was 83.2.');
  });

  it('asks about the unit where the figure would fit in another one', () => {
    expect(questionUnlikely(aPoint(), at(181.8), [83.2])).toBe('181.8\u202f°C? The last was 83.2. Was that °F?');
    const shaft = aPoint({ quantity: 'vibration-velocity', unit: 'mm/s', decimals: 2 });
    expect(questionUnlikely(shaft, at(0.1), [2.6])).toBe('0.1\u202fmm/s? The last was 2.60. Was that in/s?');
  });

  it('an ordinary change, or a first reading, is not asked about', () => {
    expect(questionUnlikely(aPoint(), at(95), [83.2])).toBeNull();
    expect(questionUnlikely(aPoint(), at(870), [])).toBeNull();
  });
});
