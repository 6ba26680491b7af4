/** What we carry: every figure against a world made by hand, at one site and at all, and nothing of another house. */
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Person } from '../../support/harness.ts';
import { DAY, HOUR, openWorkshop, type Workshop } from '../repairs/workshop.ts';
import { handedIn, read, sweepRounds, taken, unread } from '../rounds/walking.ts';

const REASON = 'the hall is refitted in autumn';

describe('what we carry', () => {
  let shop: Workshop;
  let annexSite: string;
  let annexManager: Person;
  let stranger: Person;
  /** By the name they have in this test. */
  const known: Record<string, string> = {};
  const iso = (at: number): string => new Date(at).toISOString();
  const now = (): number => shop.service.clock.now();
  const carried = async (person: Person, query: Record<string, string> = {}) => {
    const reply = await person.call('getCarry', { query });
    expect(reply.status, JSON.stringify(reply.body)).toBe(200);
    return reply.body;
  };
  const sent = async (facts: unknown[]): Promise<void> => {
    const reply = await shop.technician.submit(facts);
    for (const { outcome } of reply.body.results) expect(outcome, JSON.stringify(reply.body)).toBe('created');
  };
  const ask = async (by: Person, findingId: string): Promise<void> => {
    const answer = { kind: 'ask-to-live-with', until: iso(now() + 100 * DAY), reason: REASON };
    expect((await shop.answer(by, findingId, answer)).status).toBe(200);
  };
  const route = async (siteId: string, pointIds: string[]): Promise<string[]> => {
    const body = {
      id: randomUUID(),
      siteId,
      code: `R${randomUUID().slice(0, 8)}`,
      name: 'Pumps',
      rule: 'FREQ=WEEKLY;BYDAY=TH',
      startLocal: '2026-04-23T08:00',
      window: { kind: 'days', daysBefore: 1, daysAfter: 1 },
      pointIds,
    };
    expect((await shop.planner.call('createRoute', { body })).status).toBe(201);
    const rounds = await shop.service.db.inTenant(shop.planner.scope, ({ db }) =>
      db.round.findMany({ where: { routeId: body.id }, orderBy: { plannedAt: 'asc' }, take: 3 }),
    );
    return rounds.map(({ id }) => id);
  };

  beforeAll(async () => {
    shop = await openWorkshop();
    const { service, planner, technician, manager, organisationId } = shop;
    annexSite = (await planner.call('createSite', { body: { name: 'Annex', zone: 'Europe/Dublin' } })).body.id;
    const building = await planner.call('createBuilding', { params: { siteId: annexSite }, body: { name: 'Shed' } });
    const room = await planner.call('createRoom', { params: { buildingId: building.body.id }, body: { name: 'Pit' } });
    annexManager = await service.person(organisationId, ['manager'], { siteIds: [annexSite] });
    const other = await service.organisation('Lowbarrow Baths');
    stranger = await service.person(other.id, ['manager']);

    const walked = await service.asset(planner, shop.roomId, {
      tag: 'WALK',
      points: [{ name: 'One' }, { name: 'Two' }, { name: 'Three' }],
    });
    const [one, two, three] = walked.pointIds as [string, string, string];
    Object.assign(known, { one, two, three });
    const annexAsset = await service.asset(planner, room.body.id, { tag: 'ANNEX', criticality: 'A' });
    const far = annexAsset.pointIds[0]!;
    const mill = await route(shop.siteId, [one, two, three]);
    const annex = await route(annexSite, [far]);
    // Comparable on 1 April, and not since.
    await sent([{ ...read(mill[0]!, three, '2026-04-01T09:00:00Z'), roundId: undefined }]);

    // 23 April: both walked; the second point stood still, the third was read at a load that cannot be compared.
    const lowLoad = { load: { text: '10', unit: '%' }, ambient: { text: '20', unit: '°C' } };
    await sent([
      taken(mill[0]!, [one, two, three]),
      read(mill[0]!, one),
      unread(mill[0]!, two, 'not-running'),
      read(mill[0]!, three, undefined, { conditions: lowLoad }),
      handedIn(mill[0]!),
      taken(annex[0]!, [far]),
      read(annex[0]!, far),
      handedIn(annex[0]!),
    ]);

    // Faults of that day.
    known.plan = (await shop.agreed('85')).orderId;
    known.soon = (await shop.agreed('93')).orderId;
    known.now = (await shop.agreed('101')).orderId;
    known.done = (await shop.done('86')).orderId;
    known.livedOrder = (await shop.agreed('92')).orderId;
    const lived = { kind: 'live-with', until: iso(now() + 120 * DAY), reason: REASON };
    expect((await shop.move(manager, known.livedOrder, lived)).status).toBe(200);
    known.livedFinding = (await shop.finding('91')).finding.id;
    expect((await shop.answer(manager, known.livedFinding!, { ...lived, until: iso(now() + 90 * DAY) })).status).toBe(200);
    known.unanswered = (await shop.finding('94')).finding.id;
    known.askedSoon = (await shop.finding('95')).finding.id;
    await ask(technician, known.askedSoon!);
    known.askedPlan = (await shop.finding('84')).finding.id;
    await ask(technician, known.askedPlan!);
    known.askedByManager = (await shop.finding('96')).finding.id;
    await ask(manager, known.askedByManager!);
    service.clock.advance(HOUR);
    known.askedOrder = (await shop.agreed('97')).orderId;
    const asked = { kind: 'ask-to-live-with', until: iso(now() + 50 * DAY), reason: REASON };
    expect((await shop.move(planner, known.askedOrder, asked)).status).toBe(200);

    // On its way, and not there: no finding comes of it.
    known.rising = (await shop.point()).pointId;
    for (let index = 0; index < 20; index++) {
      const takenAt = iso(now() - (60 - index * 3) * DAY);
      await shop.read(known.rising, (60 + index * 0.8 + (index % 3) * 0.2).toFixed(1), { takenAt });
    }

    // 30 April: nobody walks; at the annex it is called off.
    const off = await planner.call('callOffRound', { params: { roundId: annex[1]! }, body: { reason: 'no power' } });
    expect(off.status, JSON.stringify(off.body)).toBe(200);
    // 7 May: the second point is read on the second try, the third is unsafe; at the annex nobody comes.
    service.clock.advance(Date.parse('2026-05-07T09:00:00Z') - now());
    const at = iso(now());
    await sent([
      taken(mill[2]!, [one, two, three], at),
      read(mill[2]!, one, at),
      unread(mill[2]!, two, 'no-way-in', iso(now() - HOUR)),
      read(mill[2]!, two, at),
      unread(mill[2]!, three, 'unsafe', at),
      handedIn(mill[2]!, at),
    ]);
    service.clock.advance(Date.parse('2026-05-12T09:00:00Z') - now());
    await sweepRounds(service);
    await service.concludeAll();
  }, 120_000);
  afterAll(() => shop?.close());

  it('what waits for a manager is what others asked for at Soon or Now; a planner has the rest', async () => {
    const { decisions, hasMoreDecisions, findings, orders, risks } = await carried(shop.manager);
    expect(decisions.map(({ kind, id }: { kind: string; id: string }) => [kind, id])).toEqual([
      ['finding', known.askedSoon],
      ['order', known.askedOrder],
    ]);
    expect(decisions[0].askedBy).toBe(shop.technician.scope.name);
    expect(hasMoreDecisions).toBe(false);
    const line = findings.find(({ id }: { id: string }) => id === known.askedSoon);
    expect(line).toMatchObject({ state: 'reported', finding: { livingAsked: { reason: REASON } } });
    expect(line.allowed).toContain('live-with');
    expect(orders.find(({ id }: { id: string }) => id === known.askedOrder).allowed).toContain('live-with');
    const shown = risks.map(({ id }: { id: string }) => id);
    expect(shown).not.toContain(known.askedSoon);
    expect(shown).not.toContain(known.askedOrder);

    const planner = await carried(shop.planner);
    expect(planner.decisions.map(({ id }: { id: string }) => id)).toEqual([known.askedPlan]);
    expect((await carried(shop.technician)).decisions).toEqual([]);
  });

  it('orders and unanswered findings stand in one list by risk; what is lived with stands apart', async () => {
    const { risks, counts } = await carried(shop.manager);
    const ids: string[] = risks.map(({ id }: { id: string }) => id);
    expect(ids[0]).toBe(known.now);
    expect(new Set(ids)).toEqual(
      new Set([known.now, known.soon, known.plan, known.done, known.unanswered, known.askedPlan, known.askedByManager]),
    );
    const place = (name: string): number => ids.indexOf(known[name]!);
    expect(Math.max(place('soon'), place('unanswered'))).toBeLessThan(Math.min(place('plan'), place('askedPlan')));
    expect(counts).toEqual({
      toRepair: 4,
      toProve: 1,
      livedWithAsOrder: 1,
      unanswered: 4,
      readAgain: 0,
      livedWithAsFinding: 1,
    });
  });

  it('overdue repairs are counted by grade from their original date, without those done, lived with or unanswered', async () => {
    const { overdue, orders } = await carried(shop.manager);
    const days = Object.fromEntries(orders.map(({ id, overdueDays }: { id: string; overdueDays: number }) => [id, overdueDays]));
    expect(days[known.now!]).toBe(19);
    expect(overdue).toEqual([
      { grade: 'now', count: 1, days: 19, longestDays: 19 },
      { grade: 'soon', count: 2, days: days[known.soon!] + days[known.askedOrder!], longestDays: days[known.soon!] },
    ]);
  });

  it('accepted risks say who signed, until when and why, the first to end first', async () => {
    const { living } = await carried(shop.manager);
    expect(living.map(({ id }: { id: string }) => id)).toEqual([known.livedFinding, known.livedOrder]);
    expect(living[0]).toMatchObject({
      kind: 'finding',
      grade: 'soon',
      reason: REASON,
      signedBy: { id: shop.manager.personId },
    });
    expect(Date.parse(living[0].until) - Date.parse(living[0].since)).toBe(90 * DAY);
  });

  it('the worst trend is the one whose date comes soonest, with its figures and limits', async () => {
    const { trends } = await carried(shop.manager);
    expect(trends.lines.map(({ pointId }: { pointId: string }) => pointId)).toEqual([known.rising]);
    expect(trends.count).toBe(1);
    const [line] = trends.lines;
    expect(line.values).toHaveLength(20);
    expect(line.limits.map(({ grade }: { grade: string }) => grade)).toEqual(['watch', 'plan', 'soon', 'now']);
    const counting = line.conclusion.projections.find(({ grade }: { grade: string }) => grade === line.conclusion.countsGrade);
    expect(counting).toMatchObject({ show: 'range' });
  });

  it('rounds: walked, missed, called off; stops read, answered otherwise and not answered are all that were due', async () => {
    const { seen } = await carried(shop.manager, { siteId: shop.siteId });
    expect(seen.rounds).toMatchObject({ due: 3, walked: 2, thin: 0, missed: 1, calledOff: 0, isCut: false });
    expect(seen.rounds.lastMissed).toHaveLength(1);
    expect(seen.rounds.lastMissed[0].plannedAt).toBe('2026-04-30T07:00:00.000Z');
    const { due, read: many, couldNotRead, notAnswered } = seen.stops;
    expect(couldNotRead).toEqual([
      { answer: 'not-running', count: 1 },
      { answer: 'unsafe', count: 1 },
    ]);
    expect({ due, many, notAnswered }).toEqual({ due: 9, many: 4, notAnswered: 3 });
    expect(many + notAnswered + couldNotRead.length).toBe(due);
  });

  it('a point is seen by a comparable reading in its interval; the others are named with cause and days', async () => {
    const { points } = (await carried(shop.manager, { siteId: shop.siteId })).seen;
    expect(points).toMatchObject({ due: 3, seen: 2, isCut: false, unseen: [{ cause: 'unsafe', count: 1 }] });
    expect(points.worst).toEqual([
      expect.objectContaining({
        pointId: known.three,
        tag: 'WALK',
        cause: 'unsafe',
        lastSeenAt: '2026-04-01T09:00:00.000Z',
        days: 41,
      }),
    ]);
  });

  it('over all sites the figures are the sum, and what is critical comes first', async () => {
    const { seen } = await carried(shop.manager);
    expect(seen.rounds).toMatchObject({ due: 5, walked: 3, missed: 2, calledOff: 1 });
    expect(seen.points).toMatchObject({ due: 4, seen: 2 });
    expect(seen.points.unseen).toEqual([
      { cause: 'nobody-came', count: 1 },
      { cause: 'unsafe', count: 1 },
    ]);
    // 19 days at A weigh less than 41 at B.
    expect(seen.points.worst.map(({ tag }: { tag: string }) => tag)).toEqual(['WALK', 'ANNEX']);
  });

  it('somebody narrowed to a site sees that site and nothing of the other, whatever is asked for', async () => {
    const own = await carried(annexManager);
    expect(own.site).toEqual({ id: annexSite, name: 'Annex' });
    expect(own.seen.rounds).toMatchObject({ due: 2, walked: 1, missed: 1, calledOff: 1 });
    expect(own.seen.points).toMatchObject({ due: 1, seen: 0, unseen: [{ cause: 'nobody-came', count: 1 }] });
    expect([own.decisions, own.risks, own.living, own.overdue, own.trends.lines]).toEqual([[], [], [], [], []]);
    expect(Object.values(own.counts)).toEqual([0, 0, 0, 0, 0, 0]);
    expect((await annexManager.call('getCarry', { query: { siteId: shop.siteId } })).status).toBe(404);
  });

  it('another organisation sees nothing of it, not even by the id of the site', async () => {
    const page = await carried(stranger);
    expect([page.decisions, page.risks, page.findings, page.orders, page.windows, page.living, page.overdue]).toEqual(
      Array(7).fill([]),
    );
    expect([page.seen.points.due, page.seen.rounds.due, page.seen.stops.due, page.trends.count]).toEqual([0, 0, 0, 0]);
    expect([page.site, page.hasPoints, page.hasRoutes]).toEqual([null, false, false]);
    const named = await stranger.call('getCarry', { query: { siteId: shop.siteId } });
    const never = await stranger.call('getCarry', { query: { siteId: randomUUID() } });
    expect([named.status, never.status]).toEqual([404, 404]);
    expect({ ...named.body, requestId: '' }).toEqual({ ...never.body, requestId: '' });
  });

  it('a decision is answered by the endpoint there is, and leaves the list for those lived with', async () => {
    const { findings, ended } = await carried(shop.manager);
    expect(ended).toEqual({ proved: 0, unproved: 0 });
    const { finding } = findings.find(({ id }: { id: string }) => id === known.askedSoon);
    const { until, reason } = finding.livingAsked;
    const answer = { kind: 'live-with', until: iso(until), reason };
    expect((await shop.answer(shop.manager, known.askedSoon!, answer, finding.version)).status).toBe(200);
    const unproved = { kind: 'close-unproved', reason: 'taken out of use' };
    expect((await shop.move(shop.planner, known.done!, unproved)).status).toBe(200);
    const after = await carried(shop.manager);
    expect(after.decisions.map(({ id }: { id: string }) => id)).toEqual([known.askedOrder]);
    expect(after.living.map(({ id }: { id: string }) => id)).toContain(known.askedSoon);
    expect(after.ended).toEqual({ proved: 0, unproved: 1 });
  });
});
