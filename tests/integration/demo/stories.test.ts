/** The stories of the demo as people of the campus find them on the morning it begins. */
import { sql } from '@heatround/platform/database';
import { loadDemoIfEmpty } from '@heatround/services/demo';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, startService } from '../../support/harness.ts';
import { type Body, type Client, repairsOf, signInAs } from './demo-people.ts';

describe('the stories of the demo', () => {
  let service: Harness;
  let tarnwick: string;
  let [mara, jonas] = [] as unknown as [Client, Client];
  let findings: Body[];

  beforeAll(async () => {
    service = await startService();
    const signIns = await loadDemoIfEmpty(service.deps);
    const [found] = await service.db.acrossTenants('test', (db) =>
      db.$queryRaw<{ id: string }[]>(sql`SELECT organisation_id AS id FROM organisation WHERE name LIKE 'Tarnwick%'`),
    );
    tarnwick = found!.id;
    await service.concludeAll();
    mara = await signInAs(service, signIns, 'Mara', tarnwick);
    jonas = await signInAs(service, signIns, 'Jonas', tarnwick);
    findings = (await jonas.get('listFindings', { query: { which: 'all' } })).findings;
  }, 120_000);
  afterAll(() => service?.close());

  const findingAt = (place: string): Body => {
    const found = findings.filter(({ tag, letter }) => `${tag}-${letter}` === place);
    expect(found, place).toHaveLength(1);
    return found[0];
  };
  const orderAt = (place: string): Promise<Body> =>
    jonas.get('getOrder', { params: { orderId: findingAt(place).finding.orderId } });
  /** Moves as "move by whom on which day". */
  const movesOf = (order: Body): string[] =>
    order.moves.map((one: Body) => `${one.move} ${one.by?.name.split(' ')[0] ?? 'service'} ${one.at.slice(0, 10)}`);

  it('seven faults were found, each by the verdict of its reading, and nothing else was', () => {
    const told = findings.map((one) => [`${one.tag}-${one.letter}`, one.reportedAt.slice(0, 10), one.reportedBy, one.grade]);
    expect(told).toEqual([
      ['B-IRO-01-a', '2026-04-16', 'Mara Lindqvist', 'plan'],
      ['E-RCL-02-a', '2026-03-01', 'Tomasz Adeyemi', 'plan'],
      ['W-DHW-02-b', '2026-02-27', 'Mara Lindqvist', 'plan'],
      ['W-LVP-01-c', '2026-02-11', 'Mara Lindqvist', 'plan'],
      ['E-LVP-01-b', '2025-12-17', 'Mara Lindqvist', 'plan'],
      ['W-AHU-02-b', '2025-10-02', 'Tomasz Adeyemi', 'soon'],
      ['B-FWP-01-b', '2025-09-09', 'Mara Lindqvist', 'plan'],
    ]);
  });

  it('the pump bearing was changed in the laundry shutdown and proved, twice', async () => {
    const order = await orderAt('B-FWP-01-b');
    expect(order).toMatchObject({ state: 'proved', before: { value: 4.1 }, after: { value: 1.2 }, proofStop: null });
    expect(order.order).toMatchObject({ failedProofs: 0, secondProof: { state: 'proved' } });
    expect(order.order.slot.windowId).not.toBeNull();
    expect(new Date(order.order.doneAt).toISOString()).toBe('2025-10-18T10:30:00.000Z');
    expect(movesOf(order)).toEqual([
      'slot Jonas 2025-09-10',
      'start Mara 2025-10-18',
      'finish Mara 2025-10-18',
      'prove service 2025-10-21',
      'second-proof service 2025-11-11',
    ]);
    // The last reading before the work was 4.1 mm/s.
    const { readings } = await mara.get('listReadings', { params: { pointId: order.pointId }, query: { pageSize: '500' } });
    const before = readings.find(({ takenAt }: Body) => takenAt < '2025-10-18');
    expect(before).toMatchObject({ value: 4.1, takenAt: expect.stringMatching(/^2025-10-14/) });
  });

  it('the first proof of the extract fan failed, the second work was proved under the same number', async () => {
    const order = await orderAt('W-AHU-02-b');
    expect(order).toMatchObject({ state: 'proved', before: { value: 5 }, after: { value: 1.1 } });
    expect(order.order).toMatchObject({ failedProofs: 1, secondProof: { state: 'proved' } });
    expect(movesOf(order)).toEqual([
      'stuck Tomasz 2025-10-03',
      'free Jonas 2025-10-20',
      'slot Jonas 2025-10-20',
      'start Tomasz 2025-10-25',
      'finish Tomasz 2025-10-25',
      'prove service 2025-10-30',
      'slot Jonas 2025-10-31',
      'start Tomasz 2025-11-22',
      'finish Tomasz 2025-11-22',
      'prove service 2025-11-27',
      'second-proof service 2026-01-08',
    ]);
    const proofs = order.moves.filter(({ move }: Body) => move === 'prove');
    expect(proofs.map(({ to, why }: Body) => `${to}: ${why}`)).toEqual([
      expect.stringMatching(/^agreed: Not proved: .*4\.90/),
      expect.stringMatching(/^proved: Proved: .*1\.10/),
    ]);
  });

  it('the return of the west wing was put right by its valve and proved by a stop that was asked for', async () => {
    const order = await orderAt('W-DHW-02-b');
    expect(order).toMatchObject({
      state: 'proved',
      before: { value: 55 },
      after: { value: 58.1 },
      owner: { name: 'Tomasz Adeyemi' },
    });
    expect(movesOf(order).slice(-2)).toEqual(['finish Tomasz 2026-03-12', 'prove service 2026-03-20']);
    expect(order.order.did).toContain('from 2.5 to 4 turns');
  });

  it('the busbar joint was lived with until its end date, which brought it back', () => {
    const { finding, state, answerDueAt, orderNumber } = findingAt('E-LVP-01-b');
    expect({ state, orderNumber, ended: finding.ended }).toEqual({ state: 'reported', orderNumber: null, ended: null });
    expect(finding.lastMove).toEqual({ kind: 'come-back', cause: 'until-ended' });
    // Three working days from Friday evening.
    expect(answerDueAt).toBe('2026-04-22T22:59:59.999Z');
  });

  it('who asked to live with it, who decided and when it came back is kept', async () => {
    const rows = await service.db.inTenant({ organisationId: tarnwick, siteIds: null }, ({ db }) =>
      db.$queryRaw<{ told: string }[]>(sql`
        SELECT concat_ws(' ', m.record ->> 'move', p.name, to_char(m.moved_at AT TIME ZONE 'Europe/Dublin', 'YYYY-MM-DD HH24:MI')) AS told
        FROM move m LEFT JOIN membership p ON p.person_id = m.moved_by AND p.organisation_id = m.organisation_id
        WHERE m.subject_id = ${findingAt('E-LVP-01-b').id}::uuid ORDER BY m.version`),
    );
    expect(rows.map(({ told }) => told)).toEqual([
      'ask-to-live-with Jonas Ferreira 2025-12-18 11:20',
      'live-with Ruth Castellan 2025-12-19 09:30',
      'come-back 2026-04-18 00:00',
    ]);
  });

  it('the low load at the theatre panel made no finding', () => {
    expect(findings.some(({ tag }) => tag === 'W-LVP-02')).toBe(false);
  });

  it('Jonas owes two answers: ironer first, with the last window that fits each', async () => {
    const { findings: owed } = await jonas.get('listFindings', { query: { which: 'to-answer' } });
    const told = owed.map(({ tag, letter, lastWindow }: Body) => [
      `${tag}-${letter}`,
      lastWindow.window?.from,
      lastWindow.before,
    ]);
    expect(told).toEqual([
      ['B-IRO-01-a', Date.parse('2026-05-02T05:00:00Z'), 'now'],
      ['E-LVP-01-b', Date.parse('2026-05-09T06:00:00Z'), 'soon'],
    ]);
    expect(owed[0].answerDueAt).toBe('2026-04-21T22:59:59.999Z');
    expect(owed[0].lastWindow.sentence).toContain('none lies before Soon');
  });

  it('one order is overdue: the recooler, stuck with a part, with Jonas', async () => {
    const { orders, counts } = await jonas.get('listOrders', { query: { order: 'overdue', which: 'open' } });
    expect(counts).toEqual({ open: 2, overdue: 1 });
    expect(orders[0]).toMatchObject({
      ...{ tag: 'E-RCL-02', letter: 'a', state: 'stuck', overdueDays: 23, dueAt: '2026-03-31T22:59:59.999Z' },
      owner: { name: 'Jonas Ferreira' },
    });
  });

  it('way 4 of the main panel was reported by three people, has one order, and waits for a reading at enough load', async () => {
    const order = await orderAt('W-LVP-01-c');
    expect(findingAt('W-LVP-01-c')).toMatchObject({
      evidence: 3,
      words: expect.stringMatching(/^L2 of way 4 .+\nYearly survey: .+\nSmells faintly/),
    });
    expect(order).toMatchObject({ state: 'done', owner: { name: 'Tomasz Adeyemi' }, order: { failedProofs: 0 }, after: null });
    expect(new Date(order.order.proofDueAt).toISOString()).toMatch(/^2026-05-01/);
    const [stop] = (await mara.get('myWalk')).extraStops.filter(({ tag }: Body) => tag === 'W-LVP-01');
    expect(stop).toMatchObject({ kind: 'proof', letter: 'c' });
    expect(stop.note).toMatch(/below 3.0.K, at 40.% load or more.*Not comparable at 31.2.% load/);
  });

  it('Mara has RT5 to walk by Friday and one extra stop today; what she handed in is safe', async () => {
    const walk = await mara.get('myWalk');
    expect(walk.rounds.map(({ code, latestAt, stops }: Body) => [code, latestAt, stops])).toEqual([
      ['RT5', '2026-04-24T22:59:59.999Z', 6],
    ]);
    const [asked, ...proofs] = walk.extraStops.toSorted((a: Body, b: Body) => (a.kind < b.kind ? -1 : 1));
    expect(asked).toMatchObject({ kind: 'asked', tag: 'B-IRO-01', letter: 'a', askedBy: 'Jonas Ferreira' });
    expect(asked.note).toMatch(/^Still rising\?/);
    expect(proofs.map(({ tag }: Body) => tag)).toEqual(['W-LVP-01']);
    expect(walk.nextRound).toMatchObject({ code: 'RT1', plannedAt: '2026-04-28T07:30:00.000Z' });
    expect(walk.safe.map(({ code }: Body) => code)).toContain('RT3');
  });

  it('every point is on exactly one route; of sixty weeks one round was called off and one missed', async () => {
    const { routes } = await jonas.get('listRoutes');
    expect(routes.map(({ code, stops }: Body) => `${code} ${stops.length}`)).toEqual([
      'RT1 6',
      'RT3 6',
      'RT4 18',
      'RT5 6',
      'RT6 3',
    ]);
    const points = routes.flatMap(({ stops }: Body) => stops.map(({ pointId }: Body) => pointId));
    expect(new Set(points).size).toBe(39);
    expect(points).toHaveLength(39);
    const rows = await service.db.inTenant({ organisationId: tarnwick, siteIds: null }, ({ db }) =>
      db.$queryRaw<Body[]>(sql`
        SELECT t.code, r.planned_at AS planned, r.called_off ->> 'reason' AS reason, r.answered_count AS answered, r.stop_count AS stops,
          r.handed_in_at IS NOT NULL AS "isHandedIn" FROM round r JOIN route t ON t.id = r.route_id WHERE r.closed_at IS NOT NULL ORDER BY 2`),
    );
    const handedIn = rows.filter(({ isHandedIn }) => isHandedIn);
    expect(handedIn.every(({ answered, stops }) => answered === stops)).toBe(true);
    expect(handedIn).toHaveLength(60 + 29 + 15 + 14 + 10);
    const others = rows.filter(({ isHandedIn }) => !isHandedIn);
    expect(others.map(({ code, planned, reason }) => [code, planned.toISOString().slice(0, 10), reason === null])).toEqual([
      ['RT6', '2025-08-04', true],
      ['RT3', '2025-12-25', false],
    ]);
  });

  it('shutdown windows ahead are there, the ironer outage among them', async () => {
    const { windows } = await jonas.get('listWindows', { query: { past: 'false' } });
    expect(windows.map(({ name, place, fromAt }: Body) => `${fromAt.slice(0, 10)} ${name}, ${place}`)).toEqual([
      '2026-04-29 before the cooling season, E-RCL-02',
      '2026-05-02 half day, Boiler House & Laundry (B)',
      '2026-05-09 switchboards, Energy Centre (E)',
      '2026-05-11 ironer outage, B-IRO-01',
      '2026-05-31 theatre cleaning, W-LVP-02',
      '2026-07-04 switchboards, Energy Centre (E)',
      '2026-10-15 laundry shutdown, Boiler House & Laundry (B)',
    ]);
  });

  it('deleting all conclusions and concluding again brings back the same answers due, and moves nothing', async () => {
    const owed = () => jonas.get('listFindings', { query: { which: 'to-answer' } });
    const [before, repairs] = [await owed(), await repairsOf(service, tarnwick)];
    await service.db.inTenant({ organisationId: tarnwick, siteIds: null }, ({ db }) =>
      db.$executeRaw(sql`DELETE FROM conclusion`),
    );
    await service.concludeAll();
    expect(await owed()).toEqual(before);
    expect(await repairsOf(service, tarnwick)).toEqual(repairs);
  }, 60_000);
});
