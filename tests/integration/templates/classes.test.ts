/**
 * Every class as a planner makes it and a technician reads it: created from its template through the endpoint, read through
 * /api/submissions, judged as a practitioner would. The grade expected stands beside what is seen; where a standard says it, the template
 * names it, the rest is common practice.
 */
import { randomUUID } from 'node:crypto';
import { TEMPLATES } from '@heatround/domain';
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
  { template: 'boiler', letter: 'b', seen: 'a casing at 72 °C', inputs: { value: 72 }, conditions: AT_LOAD, grade: 'watch' },
];

const UNITS: Record<string, string> = { load: '%', ambient: '°C', minutesRunning: 'min' };
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

  it.each(CASES)('$template $letter, $seen: $grade', async ({ template, letter, inputs, conditions = {}, base, grade, gate }) => {
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
    const { point } = page.points.find((one: { point: { letter: string } }) => one.point.letter === letter);
    const fact = (figures: Entries, at: number) =>
      readingFact(point.id, '0', {
        takenAt: new Date(at).toISOString(),
        inputs: entriesOf(figures, () =>
          point.quantity === 'voltage' ? 'V' : point.quantity === 'vibration-velocity' ? 'mm/s' : '°C',
        ),
        conditions: entriesOf(conditions, (name) => UNITS[name]!),
      });
    if (base) {
      await technician.submit(Array.from({ length: 5 }, (_, i) => fact(base, NOW - (6 - i) * WEEK)));
      await service.concludeAll();
    }
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
