/** What goes beside a judged reading: what follows from it for people, and what it cannot show. */
import { assessReading, completePoint, type Point, templateOf } from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { aLimitSet, aReading } from '../builders.ts';

/** A point of a template with its limits. */
function fromTemplate(key: string, letter: string, over: Partial<Point> = {}) {
  const { limits, spot, twinLetters, ...draft } = templateOf(key)!.points.find((one) => one.letter === letter)!;
  const point = completePoint({ ...draft, id: 'p', ...over });
  const sets = limits.map((one, i) => aLimitSet([one.watch, one.plan, one.soon, one.now], { ...one, id: `l${i}` }));
  return (reading: Parameters<typeof aReading>[0]) => assessReading(point, aReading(reading), sets);
}
const plain = (text: string) => text.replaceAll('\u202f', ' ');

describe('a steam trap', () => {
  const passing = {
    inputs: { inlet: 166, outlet: 150 },
    conditions: { steamPressure: 7, returnPressure: 0.1, emissivity: 0.95 },
  };
  const working = { ...passing, inputs: { inlet: 166, outlet: 104 } };
  const TEMPERATURE = /Temperature alone cannot prove a trap tight.*Ultrasound, conductivity or a sight glass can\.$/;

  it('that suspects passing steam says how much, what it costs in a year, and that temperature proves nothing', () => {
    // Napier: 3 mm at 8.01325 bar lets 21.4 kg/h through; half of it ±30 % are 7.5 and 13.9 kg/h (US DOE's table within 3 %).
    const verdict = fromTemplate('steam-trap', 'a', { orificeMm: 3, steamPricePerTonne: 40 })(passing);
    expect(verdict.grade).toBe('plan');
    expect(plain(verdict.sentence)).toContain(
      'Half open, its orifice of 3 mm loses 7.5 to 14 kg/h of steam, 2600 to 4900 a year at 40 a tonne.',
    );
    expect(verdict.sentence).toMatch(TEMPERATURE);
  });
  it('whose steam has no price says the fuel; without an orifice no loss is guessed', () => {
    const fuel = fromTemplate('steam-trap', 'a', { orificeMm: 3 })(passing);
    // 2047 kJ/kg over a boiler of 85 %, 8760 h: 5.9 MWh for each kg/h.
    expect(plain(fuel.sentence)).toContain('loses 7.5 to 14 kg/h of steam, 44 to 81 MWh of fuel a year.');
    const unknown = fromTemplate('steam-trap', 'a')(passing);
    expect(unknown.sentence).not.toContain('kg/h');
    expect(unknown.sentence).toMatch(TEMPERATURE);
  });
  it('into a return under pressure loses at most that', () => {
    const verdict = fromTemplate('steam-trap', 'a', { orificeMm: 3 })({
      ...passing,
      inputs: { inlet: 272, outlet: 268 },
      conditions: { ...passing.conditions, steamPressure: 60, returnPressure: 36 },
    });
    expect(plain(verdict.sentence)).toContain('loses at most ');
  });
  it('that works is Fine and not proven tight; one without steam says nothing of either', () => {
    const fine = fromTemplate('steam-trap', 'a', { orificeMm: 3 })(working);
    expect(fine.grade).toBe('fine');
    expect(fine.sentence).toMatch(TEMPERATURE);
    expect(fine.sentence).not.toContain('kg/h');
    const cold = fromTemplate('steam-trap', 'a', { orificeMm: 3 })({ ...working, inputs: { inlet: 38, outlet: 30 } });
    expect(cold.grade).toBe('soon');
    expect(cold.sentence).not.toMatch(/Temperature alone|kg\/h/);
  });
});

describe('a spot of a wall', () => {
  const spot = fromTemplate('envelope-spot', 'a');
  it('says the dew point and the factor beside the least one (ISO 13788, DIN 4108-2)', () => {
    const { sentence } = spot({ inputs: { value: 16, air: 20 }, conditions: { humidity: 50, outdoor: -5, emissivity: 0.93 } });
    expect(plain(sentence)).toContain('The dew point of this air is 9.3 °C.');
    expect(plain(sentence)).toContain('Surface factor f_Rsi 0.84; at least 0.70 is asked for (DIN 4108-2).');
  });
  it('in mild weather says the dew point only', () => {
    const mould = spot({ inputs: { value: 13, air: 20 }, conditions: { humidity: 55, outdoor: 12, emissivity: 0.93 } });
    expect(mould.grade).toBe('plan');
    expect(mould.sentence).toContain('dew point');
    expect(mould.sentence).not.toContain('f_Rsi');
  });
});
