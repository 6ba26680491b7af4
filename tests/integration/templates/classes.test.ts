/**
 * Every class as a planner makes it and a technician reads it: created from its template through the endpoint, read through
 * /api/submissions, judged as a practitioner would. The grade expected stands beside what is seen; where a standard says it, the template
 * names it, the rest is common practice.
 */
import { randomUUID } from 'node:crypto';
import { inputsOf, type Point, TEMPLATES } from '@heatround/domain';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, readingFact, startService } from '../../support/harness.ts';

type Entries = Record<string, number>;
interface Case {
  readonly template: string;
  readonly letter: string;
  /** What is seen, and what a practitioner says of it. */
  readonly seen: string;
  readonly inputs: Entries;
  readonly conditions?: Entries;
  /** Entered five times over five weeks first, from which the point learns its base. */
  readonly base?: Entries;
  /** Set at the point first: what stands on the plate, the acceptance curve. */
  readonly set?: Record<string, unknown>;
  /** Read a week before, under the same conditions. */
  readonly before?: Entries;
  /** Read at another point of the asset just before, under the same conditions. */
  readonly beside?: { readonly letter: string; readonly inputs: Entries };
  /** Null: not judged. */
  readonly grade: string | null;
  readonly gate?: string;
}

const AT_LOAD = { load: 90, ambient: 22 };
const CASES: Case[] = [
  { template: 'motor', letter: 'a', seen: 'a bearing at 62 °C', inputs: { value: 62 }, conditions: AT_LOAD, grade: 'fine' },
  {
    template: 'motor',
    letter: 'a',
    seen: 'a bearing at 92 °C: grease gone within weeks',
    inputs: { value: 92 },
    conditions: AT_LOAD,
    grade: 'soon',
  },
  {
    template: 'motor',
    letter: 'a',
    seen: 'a bearing cold at 20 % load says nothing',
    inputs: { value: 35 },
    conditions: { load: 20, ambient: 22 },
    grade: null,
    gate: 'load-too-low',
  },
  {
    template: 'motor',
    letter: 'c',
    seen: 'a frame 13 K over what it was',
    base: { value: 52 },
    inputs: { value: 65 },
    conditions: AT_LOAD,
    grade: 'plan',
  },
  { template: 'pump', letter: 'c', seen: '4.9 mm/s: zone D', inputs: { value: 4.9 }, grade: 'soon' },
  { template: 'gearbox-drive', letter: 'b', seen: 'oil at 101 °C', inputs: { value: 101 }, conditions: AT_LOAD, grade: 'soon' },
  {
    template: 'switch-panel',
    letter: 'a',
    seen: 'a terminal 72 K over the air at full load',
    inputs: { part: 94, air: 22 },
    conditions: { load: 100 },
    grade: 'soon',
  },
  {
    template: 'switch-panel',
    letter: 'b',
    seen: 'one phase 6 K over the others: a joint to be mended',
    inputs: { L1: 41, L2: 47, L3: 41 },
    conditions: { load: 95 },
    grade: 'plan',
  },
  {
    template: 'switch-panel',
    letter: 'd',
    seen: 'a bare bar cannot be read',
    inputs: { L1: 41, L2: 41, L3: 41 },
    conditions: { load: 95 },
    grade: null,
    gate: 'emissivity-unreliable',
  },
  {
    template: 'switch-panel',
    letter: 'e',
    seen: 'a contactor at 80 °C: a fire risk (common practice, no source)',
    inputs: { value: 80 },
    conditions: { load: 80 },
    grade: 'now',
  },
  {
    template: 'switch-panel',
    letter: 'e',
    seen: 'a contactor at 48 °C',
    inputs: { value: 48 },
    conditions: { load: 80 },
    grade: 'fine',
  },
  { template: 'hot-water-circuit', letter: 'b', seen: 'a return at 54 °C: legionella', inputs: { value: 54 }, grade: 'plan' },
  { template: 'fan', letter: 'b', seen: 'a fan bearing at 81 °C', inputs: { value: 81 }, conditions: AT_LOAD, grade: 'plan' },
  {
    template: 'fan',
    letter: 'd',
    seen: 'the frame as it was',
    base: { value: 48 },
    inputs: { value: 50 },
    conditions: AT_LOAD,
    grade: 'fine',
  },
  {
    template: 'air-compressor',
    letter: 'a',
    seen: '10 K below its trip',
    inputs: { value: 100 },
    conditions: AT_LOAD,
    grade: 'soon',
  },
  {
    template: 'air-compressor',
    letter: 'a',
    seen: 'an outlet at 82 °C',
    inputs: { value: 82 },
    conditions: AT_LOAD,
    grade: 'fine',
  },
  {
    template: 'refrigeration-compressor',
    letter: 'a',
    seen: 'the housing of a computer-room compressor at 53 °C (common practice, no source)',
    inputs: { value: 53 },
    conditions: AT_LOAD,
    grade: 'plan',
  },
  {
    template: 'refrigeration-compressor',
    letter: 'a',
    seen: 'the same at 47 °C',
    inputs: { value: 47 },
    conditions: AT_LOAD,
    grade: 'fine',
  },
  {
    template: 'refrigeration-compressor',
    letter: 'b',
    seen: 'a discharge line at 117 °C',
    inputs: { value: 117 },
    conditions: AT_LOAD,
    grade: 'soon',
  },
  {
    template: 'chiller',
    letter: 'c',
    seen: 'condensing 4.5 K over its water: dirty tubes',
    inputs: { warm: 36.5, cold: 32 },
    grade: 'plan',
  },
  { template: 'chiller', letter: 'c', seen: 'condensing 2 K over its water', inputs: { warm: 34, cold: 32 }, grade: 'fine' },
  {
    template: 'recooler',
    letter: 'a',
    seen: 'fluid back at 41 °C (common practice, no source)',
    inputs: { value: 41 },
    conditions: AT_LOAD,
    grade: 'plan',
  },
  { template: 'recooler', letter: 'a', seen: 'fluid back at 34 °C', inputs: { value: 34 }, conditions: AT_LOAD, grade: 'fine' },
  {
    template: 'fire-pump-set',
    letter: 'a',
    seen: 'a bearing of a fire pump at 82 °C: Plan elsewhere, one grade higher here',
    inputs: { value: 82 },
    conditions: { ambient: 18, minutesRunning: 30 },
    grade: 'soon',
  },
  {
    template: 'fire-pump-set',
    letter: 'a',
    seen: 'read after four minutes: not warm yet',
    inputs: { value: 31 },
    conditions: { ambient: 18, minutesRunning: 4 },
    grade: null,
    gate: 'not-steady',
  },
  { template: 'fire-pump-set', letter: 'd', seen: 'a start battery at 24.7 V', inputs: { value: 24.7 }, grade: 'soon' },
  {
    template: 'ups-battery',
    letter: 'a',
    seen: 'one post 5 K over the others',
    inputs: { P1: 26, P2: 26, P3: 31, P4: 26, P5: 26.4, P6: 25.8 },
    grade: 'plan',
  },
  {
    template: 'ups-battery',
    letter: 'b',
    seen: 'cells at 29 °C age too fast',
    inputs: { value: 29 },
    conditions: { ambient: 24 },
    grade: 'plan',
  },
  {
    template: 'dry-transformer',
    letter: 'a',
    seen: 'a hot spot of 128 °C',
    inputs: { value: 128 },
    conditions: { load: 85, ambient: 30 },
    grade: 'plan',
  },
  {
    template: 'dry-transformer',
    letter: 'c',
    seen: 'air leaving 21 K warmer at full load',
    inputs: { part: 46, air: 25 },
    conditions: { load: 100 },
    grade: 'plan',
  },
  {
    template: 'heat-exchanger',
    letter: 'a',
    seen: 'an approach of 7.5 K: fouled',
    inputs: { warm: 42.5, cold: 35 },
    grade: 'soon',
  },
  {
    template: 'heat-exchanger',
    letter: 'b',
    seen: 'lagging at 38 °C',
    inputs: { value: 38 },
    conditions: { ambient: 22 },
    grade: 'fine',
  },
  {
    template: 'boiler',
    letter: 'a',
    seen: 'flue gas 32 K over clean: soot',
    base: { value: 150 },
    inputs: { value: 182 },
    conditions: AT_LOAD,
    grade: 'plan',
  },
  {
    template: 'motor',
    letter: 'a',
    seen: '12 K over its twin at like load: Plan until a second reading agrees (common practice, no source)',
    beside: { letter: 'b', inputs: { value: 50 } },
    inputs: { value: 62 },
    conditions: AT_LOAD,
    grade: 'plan',
  },
  {
    template: 'motor',
    letter: 'a',
    seen: 'as warm as its twin',
    beside: { letter: 'b', inputs: { value: 60 } },
    inputs: { value: 62 },
    conditions: AT_LOAD,
    grade: 'fine',
  },
  {
    template: 'motor',
    letter: 'a',
    seen: '11 K more than a week ago at like load and air: something has begun',
    before: { value: 51 },
    inputs: { value: 62 },
    conditions: AT_LOAD,
    grade: 'plan',
  },
  { template: 'motor', letter: 'e', seen: '112 A of 100 A', set: { ratedCurrentA: 100 }, inputs: { value: 112 }, grade: 'plan' },
  { template: 'motor', letter: 'e', seen: '92 A of 100 A', set: { ratedCurrentA: 100 }, inputs: { value: 92 }, grade: 'fine' },
  {
    template: 'motor',
    letter: 'e',
    seen: 'a current without the rated one says nothing',
    inputs: { value: 92 },
    grade: null,
    gate: 'quantity-missing',
  },
  // IEEE 43 (from memory): 20 MΩ at 20 °C are 5 MΩ at 40 °C, the least for a winding below 1 kV.
  {
    template: 'motor',
    letter: 'f',
    seen: '80 MΩ at 20 °C, 20 at 40 °C: damp',
    inputs: { value: 80, winding: 20 },
    grade: 'watch',
  },
  { template: 'motor', letter: 'f', seen: 'below the least', inputs: { value: 18, winding: 20 }, grade: 'now' },
  { template: 'motor', letter: 'f', seen: 'dry', inputs: { value: 900, winding: 20, tenMinutes: 2300 }, grade: 'fine' },
  {
    template: 'motor',
    letter: 'f',
    seen: 'dry enough, but a polarisation index of 1.4: dirt or damp',
    inputs: { value: 900, winding: 20, tenMinutes: 1260 },
    grade: 'soon',
  },
  {
    template: 'air-compressor',
    letter: 'd',
    seen: 'a pressure dew point of 6 °C: the dryer fails',
    inputs: { value: 6 },
    grade: 'plan',
  },
  { template: 'air-compressor', letter: 'd', seen: 'a pressure dew point of 2 °C', inputs: { value: 2 }, grade: 'fine' },
  {
    template: 'fire-pump-set',
    letter: 'e',
    seen: '9 % below its curve at no flow: Soon elsewhere, one grade higher here',
    set: {
      curve: [
        [0, 10],
        [60, 8.5],
      ],
    },
    inputs: { value: 9.1 },
    conditions: { minutesRunning: 15 },
    grade: 'now',
  },
  {
    template: 'fire-pump-set',
    letter: 'e',
    seen: 'on its curve',
    set: {
      curve: [
        [0, 10],
        [60, 8.5],
      ],
    },
    inputs: { value: 9.9 },
    conditions: { minutesRunning: 15 },
    grade: 'fine',
  },
  {
    template: 'fire-pump-set',
    letter: 'e',
    seen: 'without its curve nothing can be said',
    inputs: { value: 9.9 },
    conditions: { minutesRunning: 15 },
    grade: null,
    gate: 'quantity-missing',
  },
  {
    template: 'heat-exchanger',
    letter: 'a',
    seen: 'an approach of 3.6 K was 1 K when clean: it fouls, though the absolute figure is fine',
    base: { warm: 36, cold: 35 },
    inputs: { warm: 38.6, cold: 35 },
    grade: 'watch',
  },
  {
    template: 'heat-exchanger',
    letter: 'c',
    seen: 'effectiveness of 60 % was 80 %: a quarter less',
    base: { hotIn: 70, hotOut: 38, coldIn: 30, coldOut: 55 },
    inputs: { hotIn: 70, hotOut: 46, coldIn: 30, coldOut: 48 },
    grade: 'plan',
  },
  {
    template: 'heat-exchanger',
    letter: 'c',
    seen: 'inlets 3 K apart tell nothing',
    base: { hotIn: 70, hotOut: 38, coldIn: 30, coldOut: 55 },
    inputs: { hotIn: 33, hotOut: 32, coldIn: 30, coldOut: 31 },
    grade: null,
    gate: 'difference-too-small',
  },
  {
    template: 'heat-exchanger',
    letter: 'd',
    seen: 'half more than clean',
    base: { value: 200 },
    inputs: { value: 300 },
    grade: 'plan',
  },
  {
    template: 'heating-circuit',
    letter: 'a',
    seen: 'radiators with 20 K in mild weather: hydraulic balance (common practice, no source)',
    inputs: { flow: 55, return: 35 },
    conditions: { outdoor: 12, ambient: 21 },
    grade: 'soon',
  },
  {
    template: 'heating-circuit',
    letter: 'a',
    seen: '7 K in mild weather',
    inputs: { flow: 45, return: 38 },
    conditions: { outdoor: 12, ambient: 21 },
    grade: 'fine',
  },
  {
    template: 'heating-circuit',
    letter: 'a',
    seen: '7 K in frost: overflow',
    inputs: { flow: 60, return: 53 },
    conditions: { outdoor: -4, ambient: 21 },
    grade: 'plan',
  },
  {
    template: 'heating-circuit',
    letter: 'a',
    seen: '7 K at 7 °C outdoors: the lower of both grades',
    inputs: { flow: 50, return: 43 },
    conditions: { outdoor: 7, ambient: 21 },
    grade: 'fine',
  },
  {
    template: 'heating-circuit',
    letter: 'a',
    seen: 'a flow hardly warmer than the room tells nothing',
    inputs: { flow: 30, return: 27 },
    conditions: { outdoor: 14, ambient: 21 },
    grade: null,
    gate: 'difference-too-small',
  },
  {
    template: 'heating-circuit',
    letter: 'b',
    seen: 'a return 2 K over the room has no flow',
    inputs: { value: 23 },
    conditions: { ambient: 21 },
    grade: 'soon',
  },
  {
    template: 'heating-circuit',
    letter: 'b',
    seen: 'a return at 38 °C',
    inputs: { value: 38 },
    conditions: { ambient: 21 },
    grade: 'fine',
  },
  {
    template: 'ceiling-panel-heating',
    letter: 'a',
    seen: 'a strip 9 K colder than the others: air or sludge',
    inputs: { 1: 41, 2: 41.3, 3: 32, 4: 41.2, 5: 40.8, 6: 41 },
    conditions: { minutesRunning: 45 },
    grade: 'plan',
  },
  {
    template: 'ceiling-panel-heating',
    letter: 'a',
    seen: 'strips alike',
    inputs: { 1: 41, 2: 41.3, 3: 40.5, 4: 41.2, 5: 40.8, 6: 41 },
    conditions: { minutesRunning: 45 },
    grade: 'fine',
  },
  {
    template: 'ceiling-panel-heating',
    letter: 'b',
    seen: '3 K of 10 in frost',
    inputs: { flow: 50, return: 47 },
    conditions: { outdoor: 0, ambient: 20 },
    grade: 'soon',
  },
  {
    template: 'solar-array',
    letter: 'a',
    seen: 'a tube 7 K warmer than the others has lost its vacuum (glass read; common practice, no source)',
    inputs: { coldest: 30.6, middle: 31, warmest: 38 },
    conditions: { irradiance: 720 },
    grade: 'plan',
  },
  {
    template: 'solar-array',
    letter: 'a',
    seen: 'each typed: one stands out',
    inputs: { 1: 31, 2: 31.4, 3: 30.8, 4: 38.2, 5: 31.1, 6: 31, 7: 30.9 },
    conditions: { irradiance: 720 },
    grade: 'plan',
  },
  {
    template: 'solar-array',
    letter: 'a',
    seen: 'tubes that scatter widely: none stands out',
    inputs: { 1: 25, 2: 31, 3: 35, 4: 38, 5: 28, 6: 33, 7: 29 },
    conditions: { irradiance: 720 },
    grade: 'fine',
  },
  {
    template: 'solar-array',
    letter: 'a',
    seen: 'under a weak sun tubes tell nothing',
    inputs: { coldest: 18, middle: 19, warmest: 20 },
    conditions: { irradiance: 240 },
    grade: null,
    gate: 'sun-too-weak',
  },
  {
    template: 'solar-array',
    letter: 'b',
    seen: 'heads alike',
    inputs: { coldest: 66, middle: 68, warmest: 69.5 },
    conditions: { irradiance: 800 },
    grade: 'fine',
  },
  {
    template: 'solar-array',
    letter: 'c',
    seen: 'a header that hardly warms its fluid',
    inputs: { warm: 52, cold: 50.5 },
    conditions: { irradiance: 800 },
    grade: 'soon',
  },
  // Saturation at 7 bar over the air is 170.5 °C, in an open return 100 °C (IAPWS R7-97).
  {
    template: 'steam-trap',
    letter: 'a',
    seen: 'an outlet as warm as the inlet at line temperature: suspect passing steam (common practice, no source)',
    inputs: { inlet: 167, outlet: 164 },
    conditions: { steamPressure: 7 },
    grade: 'plan',
  },
  {
    template: 'steam-trap',
    letter: 'a',
    seen: 'flash steam behind it, as behind any trap that works',
    inputs: { inlet: 165, outlet: 104 },
    conditions: { steamPressure: 7 },
    grade: 'fine',
  },
  {
    template: 'steam-trap',
    letter: 'a',
    seen: 'an inlet 30 K below its steam stands in water',
    inputs: { inlet: 140, outlet: 96 },
    conditions: { steamPressure: 7 },
    grade: 'plan',
  },
  {
    template: 'steam-trap',
    letter: 'a',
    seen: 'a cold trap on a line under steam',
    inputs: { inlet: 60, outlet: 40 },
    conditions: { steamPressure: 7 },
    grade: 'soon',
  },
  {
    template: 'steam-trap',
    letter: 'a',
    seen: 'without the pressure of the line nothing can be said',
    inputs: { inlet: 165, outlet: 104 },
    grade: null,
    gate: 'quantity-missing',
  },
  {
    template: 'steam-trap',
    letter: 'b',
    seen: '+12 dB over closed: passing',
    base: { value: 24 },
    inputs: { value: 36 },
    grade: 'plan',
  },
  {
    template: 'ceiling-panel-cooling',
    letter: 'a',
    seen: '1.6 K over the dew point: soon it drips',
    inputs: { value: 16, air: 24 },
    conditions: { humidity: 55 },
    grade: 'plan',
  },
  {
    template: 'ceiling-panel-cooling',
    letter: 'a',
    seen: '6 K over the dew point',
    inputs: { value: 18.5, air: 25 },
    conditions: { humidity: 45 },
    grade: 'fine',
  },
  {
    template: 'ceiling-panel-cooling',
    letter: 'b',
    seen: '2.5 K',
    inputs: { warm: 18.5, cold: 16 },
    conditions: { minutesRunning: 60 },
    grade: 'fine',
  },
  {
    template: 'refrigeration-compressor',
    letter: 'd',
    seen: '18 K over the calculated discharge: valves leak',
    // From 5 °C at 2 bar to 10 bar over the air with k = 1.15 and 75 %: 5 + 278.15·(3.66^0.1304 − 1)/0.75 = 73.4 °C.
    inputs: { suction: 5, discharge: 91.4, suctionPressure: 2, dischargePressure: 10 },
    grade: 'plan',
  },
  {
    template: 'refrigeration-compressor',
    letter: 'd',
    seen: 'as calculated',
    inputs: { suction: 5, discharge: 75, suctionPressure: 2, dischargePressure: 10 },
    grade: 'fine',
  },
  {
    template: 'recooler',
    letter: 'd',
    seen: '5 K further from the air than when clean',
    set: { ratedRangeK: 5 },
    base: { in: 38, out: 33, air: 25 },
    inputs: { in: 45.6, out: 41, air: 28 },
    grade: 'plan',
  },
  {
    template: 'recooler',
    letter: 'd',
    seen: 'at half its range it comes nearer by itself',
    set: { ratedRangeK: 5 },
    base: { in: 38, out: 33, air: 25 },
    inputs: { in: 36.5, out: 34, air: 28 },
    grade: null,
    gate: 'load-too-low',
  },
  {
    template: 'envelope-spot',
    letter: 'a',
    seen: '86 % at the surface: mould can grow',
    inputs: { value: 13, air: 20 },
    conditions: { humidity: 55, outdoor: 0 },
    grade: 'plan',
  },
  {
    template: 'envelope-spot',
    letter: 'a',
    seen: 'below the dew point: wet',
    inputs: { value: 13, air: 22 },
    conditions: { humidity: 60, outdoor: -3 },
    grade: 'soon',
  },
  {
    template: 'envelope-spot',
    letter: 'a',
    seen: 'dry air hides a thermal bridge of 0.6',
    inputs: { value: 12, air: 20 },
    conditions: { humidity: 30, outdoor: 0 },
    grade: 'plan',
  },
  {
    template: 'envelope-spot',
    letter: 'a',
    seen: 'a sound wall',
    inputs: { value: 17, air: 20 },
    conditions: { humidity: 40, outdoor: 0 },
    grade: 'fine',
  },
  {
    template: 'envelope-spot',
    letter: 'a',
    seen: 'in mild weather the factor tells nothing, so a dry wall is not cleared',
    inputs: { value: 18.5, air: 20 },
    conditions: { humidity: 40, outdoor: 14 },
    grade: null,
    gate: 'difference-too-small',
  },
  { template: 'boiler', letter: 'b', seen: 'a casing at 72 °C', inputs: { value: 72 }, conditions: AT_LOAD, grade: 'watch' },
];

const UNITS: Record<string, string> = {
  load: '%',
  ambient: '°C',
  outdoor: '°C',
  minutesRunning: 'min',
  irradiance: 'W/m²',
  humidity: '%',
  steamPressure: 'bar',
  returnPressure: 'bar',
};
const WEEK = 7 * 86_400_000;
const NOW = Date.parse('2026-04-20T08:00:00Z');

describe('classes of assets', () => {
  let service: Harness;
  let planner: Person;
  let technician: Person;
  let roomId: string;
  beforeAll(async () => {
    service = await startService();
    const place = await service.organisation();
    roomId = place.roomId;
    planner = await service.person(place.id, ['planner']);
    technician = await service.person(place.id, ['technician']);
  });
  afterAll(() => service?.close());

  it('each of them is read here', () => {
    expect([...new Set(CASES.map(({ template }) => template))].sort()).toEqual(TEMPLATES.map(({ key }) => key).sort());
  });

  const entriesOf = (figures: Entries, unit: (name: string) => string) =>
    Object.fromEntries(Object.entries(figures).map(([name, value]) => [name, { text: String(value), unit: unit(name) }]));

  it.each(CASES)('$template $letter, $seen: $grade', async (one) => {
    const { template, letter, inputs, conditions = {}, base, set, before, beside, grade, gate } = one;
    const made = await planner.call('createAsset', {
      body: {
        roomId,
        tag: `C-${randomUUID().slice(0, 12)}`,
        name: template,
        template,
        criticality: 'B',
        criticalityReason: 'one of two',
      },
    });
    expect(made.status, JSON.stringify(made.body)).toBe(201);
    const page = (await planner.call('getAsset', { params: { assetId: made.body.id } })).body;
    const pointOf = (wanted: string): Point & { version: number } =>
      page.points.find((found: { point: Point }) => found.point.letter === wanted).point;
    const point = pointOf(letter);
    if (set) {
      const changed = await planner.call('changePoint', { params: { pointId: point.id }, body: { version: 1, ...set } });
      expect(changed.status, JSON.stringify(changed.body)).toBe(200);
    }
    const fact = (figures: Entries, at: number, of = point) =>
      readingFact(of.id, '0', {
        takenAt: new Date(at).toISOString(),
        // Whether the pump of a collector runs is not seen from the roof.
        ...(template === 'solar-array' ? { running: undefined } : {}),
        inputs: entriesOf(figures, (name) => inputsOf(of).find((field) => field.name === name)!.unit),
        conditions: entriesOf(conditions, (name) => UNITS[name]!),
      });
    if (base) {
      await technician.submit(Array.from({ length: 5 }, (_, i) => fact(base, NOW - (6 - i) * WEEK)));
      await service.concludeAll();
    }
    if (before) await technician.submit([fact(before, NOW - WEEK)]);
    if (beside) await technician.submit([fact(beside.inputs, NOW - 60_000, pointOf(beside.letter))]);
    const reply = await technician.submit([fact(inputs, NOW)]);
    expect(reply.body.results[0].outcome, JSON.stringify(reply.body)).toBe('created');
    const { verdict } = reply.body.results[0];
    expect(verdict.grade, verdict.sentence).toBe(grade);
    if (gate) expect(verdict.gate).toBe(gate);
    await service.concludeAll();
    const [row] = (await planner.call('getAsset', { params: { assetId: made.body.id } })).body.points.filter(
      (one: { point: { id: string } }) => one.point.id === point.id,
    );
    expect(row.conclusion.latest.verdict.grade).toBe(grade);
  });
});
