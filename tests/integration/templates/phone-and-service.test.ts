/**
 * A phone that was packed once and walks without signal judges as the service does when everything is handed in: twins of one
 * visit, changes since the last reading, work in between, corrections.
 */
import { randomUUID } from 'node:crypto';
import type { AssetPage } from '@heatround/contract';
import {
  assessReading,
  contextAt,
  DOMAIN_VERSION,
  type Fact,
  parseReading,
  type ReadingTaken,
  type Verdict,
} from '@heatround/domain';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { aroundOf, asPoint } from '../../../apps/web/src/screens/stop/around.ts';
import { type Harness, type Person, readingFact, startService } from '../../support/harness.ts';

const WEEK = 7 * 86_400_000;
const MINUTE = 60_000;
const FIRST = Date.parse('2026-01-05T08:00:00Z');

let service: Harness;
let technician: Person;
let planner: Person;
let assetId: string;
beforeAll(async () => {
  service = await startService();
  const place = await service.organisation();
  planner = await service.person(place.id, ['planner']);
  technician = await service.person(place.id, ['technician']);
  const made = await planner.call('createAsset', {
    body: {
      roomId: place.roomId,
      tag: 'A-1',
      name: 'Motor',
      template: 'motor',
      criticality: 'B',
      criticalityReason: 'one of two',
    },
  });
  assetId = made.body.id;
});
afterAll(() => service?.close());

/** Numbers that look like chance and are the same each time. */
const chance = (seed: number): number => {
  const x = Math.sin(seed * 12.9898) * 43_758.545_3;
  return x - Math.floor(x);
};

it('round after round, offline and handed in at once', async () => {
  const kept: { round: number; index: number; phone: Verdict; service: Verdict }[] = [];
  for (let round = 0; round < 14; round++) {
    const page = (await technician.call('getAsset', { params: { assetId }, query: { readings: '60' } })).body as AssetPage;
    const waiting: Fact[] = [];
    const phone = new Map<string, Verdict>();
    const take = (letter: string, value: number, minutes: number, corrects?: string): ReadingTaken => {
      const at = page.points.find((one) => one.point.letter === letter)!;
      const point = asPoint(at);
      const fact = readingFact(point.id, '0', {
        takenAt: new Date(FIRST + round * WEEK + minutes * MINUTE).toISOString(),
        inputs: { value: { text: value.toFixed(1), unit: '°C' } },
        conditions: {
          load: { text: (60 + 45 * chance(round * 7 + minutes)).toFixed(0), unit: '%' },
          ambient: { text: (19 + 12 * chance(round)).toFixed(1), unit: '°C' },
        },
        ...(chance(round + minutes) > 0.4 ? { instrument: round % 3 === 0 ? 'TI-1' : 'TI-2' } : {}),
        ...(corrects === undefined ? {} : { corrects }),
      }) as ReadingTaken;
      const parsed = parseReading(fact, point);
      if (!('reading' in parsed)) throw new Error(JSON.stringify(parsed.errors));
      const context = contextAt(point, parsed.reading, aroundOf(page, at, waiting, corrects ?? null));
      const verdict = assessReading(point, parsed.reading, at.limits, context);
      phone.set(fact.id, verdict);
      const judged = { ...fact, phoneVerdict: { domainVersion: DOMAIN_VERSION, verdict } };
      waiting.push(judged);
      return judged;
    };
    take('a', 52 + 3 * round * chance(round), 3);
    const second = take('b', 50 + 14 * chance(round * 3), 6);
    if (round % 4 === 1) {
      waiting.push({
        kind: 'work-recorded',
        id: randomUUID(),
        takenAt: new Date(FIRST + round * WEEK + 8 * MINUTE).toISOString(),
        clock: second.clock,
        assetId,
        work: round % 8 === 1 ? 'regreased' : 'tightened',
      });
    }
    if (round % 3 === 2) take('b', 51, 6, second.id);
    take('a', 55 + 20 * chance(round * 5), 40);
    const reply = await technician.submit(waiting);
    waiting.forEach((fact, index) => {
      const own = phone.get(fact.id);
      const result = reply.body.results[index];
      expect(result.outcome, JSON.stringify(result)).toBe('created');
      if (own) kept.push({ round, index, phone: own, service: result.verdict });
    });
    if (round % 2 === 0) await service.concludeAll();
  }
  for (const { round, index, phone, service: theirs } of kept)
    expect({ round, index, verdict: theirs }).toEqual({ round, index, verdict: JSON.parse(JSON.stringify(phone)) });
  // The walk was worth something: twins and changes decided some of it, and some things could not be compared.
  const criteria = new Set(kept.map(({ phone }) => phone.because?.criterion));
  expect([...criteria]).toEqual(expect.arrayContaining(['absolute', 'over-twin', 'change-since-last']));
  expect(kept.some(({ phone }) => phone.notes.includes('instrument-changed'))).toBe(true);
  expect(kept.some(({ phone }) => phone.gate === 'after-regreasing')).toBe(true);
});
