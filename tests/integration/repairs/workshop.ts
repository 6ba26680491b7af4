import { expect } from 'vitest';
import {
  type Harness,
  type Person,
  type Reply,
  readingFact,
  startService,
  TEST_NOW,
  type TestPoint,
} from '../../support/harness.ts';

export const HOUR = 3_600_000;
export const DAY = 24 * HOUR;
export const NOW = Date.parse(TEST_NOW);
/** An instant so many days from the start, as people send it. */
export const inDays = (days: number): string => new Date(NOW + days * DAY).toISOString();

/** A service with one organisation, its people, and what a repair is done with. */
export interface Workshop {
  readonly service: Harness;
  readonly organisationId: string;
  readonly siteId: string;
  readonly roomId: string;
  readonly planner: Person;
  readonly technician: Person;
  readonly manager: Person;
  readonly trainee: Person;
  /** A machine with one point that grades from 70 Watch, 80 Plan, 90 Soon, 100 Now; no second proof. */
  point(over?: TestPoint): Promise<{ assetId: string; pointId: string }>;
  /** Hands in one reading and answers with what the service said. */
  read(pointId: string, value: string | number, over?: Record<string, unknown>): Promise<Reply['body']>;
  findings(pointId: string): Promise<Reply['body'][]>;
  /** A point with a finding of this value. */
  finding(value?: string, over?: TestPoint): Promise<{ assetId: string; pointId: string; finding: Reply['body'] }>;
  answer(person: Person, findingId: string, answer: object, version?: number): Promise<Reply>;
  move(person: Person, orderId: string, move: object, version?: number): Promise<Reply>;
  order(orderId: string): Promise<Reply['body']>;
  /** A point with an order that stands at Agreed. */
  agreed(value?: string, over?: TestPoint): Promise<{ assetId: string; pointId: string; findingId: string; orderId: string }>;
  /** The same, worked on and Done, prove it. */
  done(value?: string, over?: TestPoint): Promise<{ assetId: string; pointId: string; findingId: string; orderId: string }>;
  close(): Promise<void>;
}

export const FINISHED = { kind: 'finish', found: 'dry bearing', did: 'cleaned and tightened', work: 'tightened' };
export const A_DAY = { kind: 'slot', windowId: null, from: inDays(1), to: inDays(200) };

export async function openWorkshop(options: { withWorker?: boolean } = {}): Promise<Workshop> {
  const service = await startService(options);
  const { id: organisationId, siteId, roomId } = await service.organisation();
  const person = (role: Parameters<Harness['person']>[1][number]) => service.person(organisationId, [role]);
  const [planner, technician, manager, trainee] = [
    await person('planner'),
    await person('technician'),
    await person('manager'),
    await person('trainee'),
  ];
  const shop: Workshop = {
    service,
    organisationId,
    siteId,
    roomId,
    planner,
    technician,
    manager,
    trainee,
    async point(over = {}) {
      const { id, pointIds } = await service.asset(planner, roomId, { points: [{ name: 'Housing', ...over }] });
      return { assetId: id, pointId: pointIds[0]! };
    },
    async read(pointId, value, over = {}) {
      const takenAt = new Date(service.clock.now()).toISOString();
      const reply = await technician.submit([readingFact(pointId, String(value), { takenAt, ...over })]);
      expect(reply.body.results[0].outcome, JSON.stringify(reply.body)).toBe('created');
      return reply.body.results[0];
    },
    async findings(pointId) {
      return (await planner.call('listFindings', { query: { which: 'all', pointId } })).body.findings;
    },
    async finding(value = '85', over = {}) {
      const made = await shop.point(over);
      await shop.read(made.pointId, value);
      return { ...made, finding: (await shop.findings(made.pointId))[0] };
    },
    answer: (by, findingId, answer, version) =>
      by.call('answerFinding', { params: { findingId }, body: { answer, ...(version ? { version } : {}) } }),
    move: (by, orderId, move, version) =>
      by.call('moveOrder', { params: { orderId }, body: { move, ...(version ? { version } : {}) } }),
    async order(orderId) {
      const reply = await planner.call('getOrder', { params: { orderId } });
      expect(reply.status, JSON.stringify(reply.body)).toBe(200);
      return reply.body;
    },
    async agreed(value, over) {
      const { finding, ...made } = await shop.finding(value, over);
      const reply = await shop.answer(planner, finding.id, { kind: 'agree', ownerId: technician.personId });
      expect(reply.status, JSON.stringify(reply.body)).toBe(200);
      return { ...made, findingId: finding.id, orderId: reply.body.orderId };
    },
    async done(value, over) {
      const made = await shop.agreed(value, over);
      for (const [by, move] of [
        [planner, A_DAY],
        [technician, { kind: 'start' }],
        [technician, FINISHED],
      ] as const) {
        const reply = await shop.move(by, made.orderId, move);
        expect(reply.status, JSON.stringify(reply.body)).toBe(200);
      }
      service.clock.advance(HOUR);
      return made;
    },
    close: () => service.close(),
  };
  return shop;
}
