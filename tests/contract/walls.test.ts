/**
 * The wall round an organisation: every endpoint without sign-in, as another organisation, and with too low a role. Every refused
 * call has a twin that succeeds with the rightful sign-in on the same row. An endpoint without sample ids fails the test, and so
 * does a table whose policy is gone.
 */
import { randomUUID } from 'node:crypto';
import { type EndpointDescription, endpoints } from '@heatround/contract';
import { type Action, may, ROLES, type Role } from '@heatround/domain';
import pg from 'pg';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type CallOptions, type Harness, type Person, readingFact, startService, testLimits } from '../support/harness.ts';

type Name = keyof typeof endpoints;

interface House {
  readonly organisationId: string;
  readonly roomId: string;
  readonly siteId: string;
  readonly buildingId: string;
  readonly assetId: string;
  readonly pointId: string;
  readonly baseId: string;
  readonly factId: string;
  readonly importId: string;
  readonly routeId: string;
  readonly roundId: string;
  readonly windowId: string;
  readonly findingId: string;
  readonly orderId: string;
  readonly handedOverId: string;
  readonly leaverId: string;
  readonly invitationId: string;
  readonly keyId: string;
  readonly mailId: string;
  readonly people: Record<Exclude<Role, 'service-key'>, Person>;
}

const routeBody = (siteId: string, pointId: string) => ({
  siteId,
  code: randomUUID().slice(0, 13),
  name: 'Boiler house',
  rule: 'FREQ=DAILY',
  startLocal: '2026-04-23T08:00',
  window: { kind: 'days', daysBefore: 0, daysAfter: 0 },
  pointIds: [pointId],
});
const windowBody = (siteId: string) => ({
  siteId,
  name: 'Laundry shutdown',
  fromAt: '2026-05-09T06:00:00Z',
  toAt: '2026-05-09T14:00:00Z',
});

/** How each endpoint is called on a row of a house; made anew for every call, so that each call may succeed once. */
const samples: Record<Name, ((house: House) => CallOptions) | 'no-organisation'> = {
  signIn: 'no-organisation',
  signOut: 'no-organisation',
  whoAmI: 'no-organisation',
  listSites: () => ({}),
  createSite: () => ({ body: { name: `Site ${randomUUID()}`, zone: 'Europe/Dublin' } }),
  createBuilding: ({ siteId }) => ({ params: { siteId }, body: { name: `Building ${randomUUID()}` } }),
  createRoom: ({ buildingId }) => ({ params: { buildingId }, body: { name: `Room ${randomUUID()}` } }),
  listAssets: ({ roomId }) => ({ query: { search: 'pump', roomId } }),
  getAsset: ({ assetId }) => ({ params: { assetId } }),
  createAsset: ({ roomId }) => ({
    body: { roomId, tag: `N-${randomUUID()}`, name: 'New', criticality: 'C', criticalityReason: 'minor', template: 'pump' },
  }),
  changeAsset: ({ assetId }) => ({ params: { assetId }, body: { version: 1, name: 'Feed pump, renamed' } }),
  addPoint: ({ assetId }) => ({
    params: { assetId },
    body: { letter: randomUUID().slice(0, 4), name: 'Further', quantity: 'vibration-velocity' },
  }),
  changePoint: ({ pointId }) => ({ params: { pointId }, body: { version: 1, spot: 'Bearing cap, square on' } }),
  confirmBase: ({ baseId }) => ({ params: { pointId: baseId }, body: { version: 1, value: 41, reason: 'commissioning sheet' } }),
  addLimits: ({ pointId }) => {
    const { validFrom: _, ...draft } = testLimits();
    return { params: { pointId }, body: draft };
  },
  tryLimits: ({ pointId }) => ({
    params: { pointId },
    body: { criterion: 'absolute', direction: 'high', watch: 60, plan: 70, soon: 80, now: 90 },
  }),
  listLimits: ({ pointId }) => ({ params: { pointId } }),
  listReadings: ({ pointId }) => ({ params: { pointId } }),
  listAnswers: ({ pointId }) => ({ params: { pointId } }),
  listOtherContents: ({ pointId }) => ({ params: { pointId } }),
  getHitRates: () => ({}),
  listForecasts: ({ pointId }) => ({ params: { pointId } }),
  submitFacts: ({ pointId }) => ({ body: { facts: [readingFact(pointId, '50')] } }),
  // Asks for a token of its own instead of a session: tests/integration/hand-over.
  handOver: 'no-organisation',
  listHandedOver: () => ({}),
  countHandedOver: () => ({}),
  acceptHandedOver: ({ handedOverId }) => ({ body: { ids: [handedOverId] } }),
  turnAwayHandedOver: ({ handedOverId }) => ({ body: { ids: [handedOverId], reason: 'the lamp was dirty' } }),
  listRoutes: ({ siteId }) => ({ query: { siteId } }),
  createRoute: ({ siteId, pointId }) => ({ body: routeBody(siteId, pointId) }),
  changeRoute: ({ routeId }) => ({ params: { routeId }, body: { version: 1, name: 'Boiler house, renamed' } }),
  listDue: ({ siteId }) => ({ query: { siteId } }),
  myWalk: () => ({}),
  getRound: ({ roundId }) => ({ params: { roundId } }),
  roundPack: ({ roundId }) => ({ params: { roundId } }),
  lookOverRound: ({ roundId }) => ({ params: { roundId }, body: {} }),
  callOffRound: ({ roundId }) => ({ params: { roundId }, body: { reason: 'plant stands still' } }),
  giveRound: ({ roundId }) => ({ params: { roundId }, body: { walkerId: null } }),
  askForStop: ({ pointId }) => ({
    params: { pointId },
    body: { earliestAt: '2026-04-24T07:00:00Z', latestAt: '2026-04-30T07:00:00Z' },
  }),
  listWindows: ({ siteId }) => ({ query: { siteId } }),
  createWindow: ({ siteId }) => ({ body: windowBody(siteId) }),
  changeWindow: ({ windowId }) => ({ params: { windowId }, body: { version: 1, name: 'Half day' } }),
  listPeople: () => ({}),
  jumpClock: () => ({ body: { aheadMinutes: 60 } }),
  listFindings: ({ siteId }) => ({ query: { siteId, which: 'all' } }),
  answerFinding: ({ findingId }) => ({
    params: { findingId },
    body: { answer: { kind: 'turn-down', reason: 'the lamp was dirty' } },
  }),
  lookAgainAt: ({ findingId }) => ({ params: { findingId }, body: { look: { kind: 'it-stands' } } }),
  nameMode: ({ findingId }) => ({ params: { findingId }, body: { mode: 'misaligned' } }),
  listOrders: ({ siteId }) => ({ query: { siteId } }),
  getOrder: ({ orderId }) => ({ params: { orderId } }),
  moveOrder: ({ orderId }) => ({ params: { orderId }, body: { move: { kind: 'turn-down', reason: 'the machine is scrapped' } } }),
  setTarget: ({ orderId }) => ({ params: { orderId }, body: { target: { value: 55, direction: 'high' } } }),
  startImport: () => ({
    body: { id: randomUUID(), kind: 'readings', fileName: 'history.csv', text: 'tag,takenAt,value\nX,2025-01-01,5\n' },
  }),
  checkImport: ({ importId }) => ({
    params: { importId },
    body: { mapping: { columns: { tag: 'tag', takenAt: 'takenAt', value: 'value' } } },
  }),
  runImport: ({ importId }) => ({ params: { importId }, body: {} }),
  getImport: ({ importId }) => ({ params: { importId } }),
  listImports: () => ({}),
  importTemplate: () => ({ params: { kind: 'readings' } }),
  exportTable: () => ({ params: { table: 'assets' } }),
  listMembers: () => ({}),
  changeMember: ({ leaverId }) => ({ params: { personId: leaverId }, body: { name: 'Mara' } }),
  // Somebody who has left can be ended again; the people of a house are still needed.
  endMember: ({ leaverId }) => ({ params: { personId: leaverId } }),
  endMemberSessions: ({ leaverId }) => ({ params: { personId: leaverId } }),
  liftSecondFactor: ({ leaverId }) => ({ params: { personId: leaverId } }),
  invite: () => ({ body: { email: `${randomUUID()}@example.org`, name: 'Jonas', roles: ['technician'] } }),
  withdrawInvitation: ({ invitationId }) => ({ params: { invitationId } }),
  lookAtInvitation: 'no-organisation',
  acceptInvitation: 'no-organisation',
  forgotPassword: 'no-organisation',
  renewPassword: 'no-organisation',
  changePassword: 'no-organisation',
  mySessions: 'no-organisation',
  endMySession: 'no-organisation',
  beginSecondFactor: 'no-organisation',
  confirmSecondFactor: 'no-organisation',
  endSecondFactor: 'no-organisation',
  signInSecond: 'no-organisation',
  makeKey: () => ({ body: { name: 'Bridge', scopes: ['see'], endsAt: '2027-01-01T00:00:00Z' } }),
  withdrawKey: ({ keyId }) => ({ params: { keyId } }),
  listMail: () => ({}),
  getMail: ({ mailId }) => ({ params: { mailId } }),
  getMailSettings: () => ({}),
  changeMailSettings: () => ({ body: { language: 'de' } }),
  noteBounce: ({ mailId }) => ({
    body: { report: `Action: failed\nStatus: 5.1.1\nOriginal-Message-ID: <${mailId}@example.org>\n` },
  }),
  unsubscribe: 'no-organisation',
  listToCountersign: () => ({}),
  countersign: ({ factId }) => ({ body: { factIds: [factId] } }),
  engineRoom: () => ({}),
  getCarry: ({ siteId }) => ({ query: { siteId } }),
  previewUndo: ({ importId }) => ({ params: { importId } }),
  undoImport: ({ importId }) => ({ params: { importId } }),
};

/** Endpoints whose rightful twin may also be refused for the row's own state, never for the wall: the status they answer then. */
const STATE_REFUSALS: Partial<Record<Name, number>> = {
  changeAsset: 412,
  changePoint: 412,
  confirmBase: 412,
  checkImport: 409,
  runImport: 409,
  changeRoute: 412,
  changeWindow: 412,
  lookOverRound: 409,
  jumpClock: 409,
  lookAgainAt: 409,
  nameMode: 409,
  setTarget: 409,
  previewUndo: 409,
  undoImport: 409,
};

/** Endpoints everybody who sees may call, whose use case asks for a right of its own after it has looked at the row. */
const ASKED_INSIDE: Partial<Record<Name, Action>> = {
  answerFinding: 'answer-findings',
  moveOrder: 'answer-findings',
  // The letter of somebody else.
  getMail: 'administer',
};

const names = Object.keys(endpoints) as Name[];
const describedOf = (name: Name): EndpointDescription => endpoints[name];
const accessOf = (name: Name) => ASKED_INSIDE[name] ?? describedOf(name).access;
const inOrganisation = names.filter((name) => samples[name] !== 'no-organisation');

describe('the wall round an organisation', () => {
  let service: Harness;
  let mine: House;
  let theirs: House;

  async function house(): Promise<House> {
    const { id: organisationId, ...places } = await service.organisation(`House ${randomUUID()}`);
    const people = {} as House['people'];
    for (const role of ROLES) if (role !== 'service-key') people[role] = await service.person(organisationId, [role]);
    const { id: assetId, pointIds } = await service.asset(people.planner, places.roomId, {
      points: [{}, { quantity: 'above-base', limits: [] }],
    });
    const fact = readingFact(pointIds[0]!, '60');
    await people.technician.submit([fact]);
    const importId = randomUUID();
    const started = samples.startImport as (house: House) => CallOptions;
    const body = started({} as House).body as object;
    expect((await people.planner.call('startImport', { body: { ...body, id: importId } })).status).toBe(201);
    const { planner } = people;
    const { id: routeId } = (await planner.call('createRoute', { body: routeBody(places.siteId, pointIds[0]!) })).body;
    const { id: roundId } = (await planner.call('listRoutes')).body.routes[0].next[0];
    const { id: windowId } = (await planner.call('createWindow', { body: windowBody(places.siteId) })).body;
    const { pointIds: hot } = await service.asset(planner, places.roomId, { points: [{}, {}] });
    await people.technician.submit(hot.map((pointId) => readingFact(pointId, '85')));
    const [toTurnDown, toAgree] = (await planner.call('listFindings')).body.findings;
    const agreed = await planner.call('answerFinding', {
      params: { findingId: toAgree.id },
      body: { answer: { kind: 'agree' } },
    });
    const { token } = (await people.technician.call('whoAmI')).body.handOver[0];
    await service.call('handOver', { body: { token, facts: [readingFact(pointIds[0]!, '61')] } });
    const [waiting] = (await planner.call('listHandedOver')).body.entries;
    const leaver = await service.person(organisationId, ['technician']);
    const administrator = people.administrator;
    await administrator.call('endMember', { params: { personId: leaver.personId } });
    const invited = await administrator.call('invite', {
      body: { email: `${randomUUID()}@example.org`, name: 'Kim', roles: ['planner'] },
    });
    const made = await administrator.call('makeKey', {
      body: { name: 'Bridge', scopes: ['see'], endsAt: '2027-01-01T00:00:00Z' },
    });
    const [letter] = (await administrator.call('listMail', { query: { which: 'all' } })).body.mail;
    return {
      leaverId: leaver.personId,
      invitationId: invited.body.id,
      keyId: made.body.id,
      mailId: letter.id,
      handedOverId: waiting.id,
      findingId: toTurnDown.id,
      orderId: agreed.body.orderId,
      routeId,
      roundId,
      windowId,
      organisationId,
      ...places,
      assetId,
      pointId: pointIds[0]!,
      baseId: pointIds[1]!,
      factId: fact.id,
      importId,
      people,
    };
  }

  const rightful = (owner: House, access: string): Person =>
    Object.entries(owner.people).find(([role]) => may([role], access as Action))![1];
  const callOn = (name: Name, row: House, as: Person | null, organisationId?: string) => {
    const sample = samples[name] as (house: House) => CallOptions;
    const options = sample(row);
    return as
      ? as.call(name, { ...options, ...(organisationId ? { organisationId } : {}) })
      : service.call(name, { ...options, organisationId: row.organisationId });
  };
  const succeeds = (name: Name, status: number) => status === describedOf(name).status || status === STATE_REFUSALS[name];

  beforeAll(async () => {
    service = await startService();
    mine = await house();
    theirs = await house();
  });
  afterAll(() => service?.close());

  it('every endpoint has sample ids, and there are endpoints', () => {
    expect(names.length).toBeGreaterThan(20);
    expect(Object.keys(samples).sort()).toEqual([...names].sort());
  });

  it.each(inOrganisation)('%s refuses without sign-in, and answers the rightful person on the same row', async (name) => {
    const refused = await callOn(name, mine, null);
    expect(refused.status).toBe(401);
    expect(refused.headers['content-type']).toContain('application/problem+json');
    expect(refused.body.type).toBe('/problems/not-signed-in');
    const twin = await callOn(name, mine, rightful(mine, accessOf(name)));
    expect(succeeds(name, twin.status), JSON.stringify(twin.body)).toBe(true);
  });

  it.each(inOrganisation)(
    '%s shows a foreign organisation nothing, named or not, and looks as if nothing were there',
    async (name) => {
      const stranger = rightful(theirs, accessOf(name));
      // Naming my organisation: it does not exist for them.
      const named = await callOn(name, mine, stranger, mine.organisationId);
      expect(named.status, JSON.stringify(named.body)).toBe(404);
      // My row's ids under their own organisation: missing, and byte for byte like a row that never was.
      const own = await callOn(name, mine, stranger);
      const path = describedOf(name).path;
      if (path.includes(':') && name !== 'importTemplate' && name !== 'exportTable') {
        expect(own.status, JSON.stringify(own.body)).toBe(404);
        const nowhere = {
          ...mine,
          assetId: randomUUID(),
          pointId: randomUUID(),
          baseId: randomUUID(),
          siteId: randomUUID(),
          buildingId: randomUUID(),
          importId: randomUUID(),
          findingId: randomUUID(),
          orderId: randomUUID(),
          routeId: randomUUID(),
          roundId: randomUUID(),
          windowId: randomUUID(),
          leaverId: randomUUID(),
          invitationId: randomUUID(),
          keyId: randomUUID(),
          mailId: randomUUID(),
        };
        const never = await callOn(name, nowhere, stranger);
        const plain = ({ body }: { body: Record<string, unknown> }) => ({ ...body, requestId: '', instance: '' });
        expect(plain(never)).toEqual(plain(own));
      } else {
        const text = Buffer.isBuffer(own.body) ? own.body.toString() : JSON.stringify(own.body);
        expect(text).not.toContain(mine.assetId);
        expect(text).not.toContain(mine.siteId);
        if (name === 'submitFacts')
          expect(own.body.results[0]).toMatchObject({ outcome: 'refused', problem: { code: 'not-found' } });
        if (name === 'acceptHandedOver' || name === 'turnAwayHandedOver')
          expect(own.body.results).toMatchObject([{ id: mine.handedOverId, outcome: 'not-found' }]);
        if (name === 'createAsset') expect(own.status).toBe(404);
      }
      const twin = await callOn(name, mine, rightful(mine, accessOf(name)));
      expect(succeeds(name, twin.status), JSON.stringify(twin.body)).toBe(true);
    },
  );

  it.each(inOrganisation)('%s refuses every role that does not carry its right', async (name) => {
    const access = accessOf(name) as Action;
    for (const [role, person] of Object.entries(mine.people)) {
      const reply = await callOn(name, mine, person);
      if (may([role], access)) expect(succeeds(name, reply.status), `${role}: ${JSON.stringify(reply.body)}`).toBe(true);
      else expect(reply, role).toMatchObject({ status: 403, body: { type: '/problems/not-allowed' } });
    }
  });

  it('a fact id that exists in another organisation is neither seen nor collides', async () => {
    const fact = { ...readingFact(theirs.pointId, '71'), id: mine.factId };
    const reply = await theirs.people.technician.submit([fact]);
    expect(reply.body.results[0].outcome).toBe('created');
    const mineStill = await mine.people.technician.call('listReadings', { params: { pointId: mine.pointId } });
    expect(mineStill.body.readings.some((one: { id: string; value: number }) => one.id === mine.factId && one.value === 60)).toBe(
      true,
    );
  });

  it('a person narrowed to a site sees no asset, point or place of another one', async () => {
    const second = await service.call('createSite', {});
    expect(second.status).toBe(401);
    const made = await mine.people.planner.call('createSite', { body: { name: 'Annex', zone: 'Europe/Dublin' } });
    const narrowed = await service.person(mine.organisationId, ['technician'], { siteIds: [made.body.id] });
    expect((await narrowed.call('listAssets')).body.assets).toEqual([]);
    expect((await narrowed.call('listSites')).body.sites.map((one: { name: string }) => one.name)).toEqual(['Annex']);
    expect((await narrowed.call('getAsset', { params: { assetId: mine.assetId } })).status).toBe(404);
    expect((await narrowed.call('listReadings', { params: { pointId: mine.pointId } })).status).toBe(404);
    expect((await narrowed.submit([readingFact(mine.pointId, '50')])).body.results[0].problem.code).toBe('not-found');
  });

  it('a membership that has ended opens nothing', async () => {
    const ended = await service.person(mine.organisationId, ['guest-reader'], { endsAt: service.clock.now() + 1000 });
    expect((await ended.call('listAssets')).status).toBe(200);
    service.clock.advance(2000);
    expect((await ended.call('listAssets')).status).toBe(404);
  });

  describe('in the database', () => {
    const asOwner = async <T>(work: (client: pg.Client) => Promise<T>): Promise<T> => {
      const client = new pg.Client({ connectionString: service.database.urls.owner });
      await client.connect();
      try {
        return await work(client);
      } finally {
        await client.end();
      }
    };
    const UNGUARDED = `
      SELECT c.relname FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
      WHERE n.nspname = 'public' AND c.relkind IN ('r', 'p')
        AND EXISTS (SELECT 1 FROM pg_attribute a WHERE a.attrelid = c.oid AND a.attname = 'organisation_id' AND NOT a.attisdropped)
        AND NOT (c.relrowsecurity AND c.relforcerowsecurity AND EXISTS (
          SELECT 1 FROM pg_policies p WHERE p.schemaname = 'public' AND p.tablename = c.relname AND 'heatround_app' = ANY (p.roles)
            AND p.qual LIKE '%organisation_id = current_organisation()%' AND p.with_check LIKE '%organisation_id = current_organisation()%'))`;

    it('every table that names an organisation has forced row-level security with its policy, and one without is noticed', async () => {
      await asOwner(async (client) => {
        const guarded = await client.query("SELECT 1 FROM pg_policies WHERE policyname = 'one_organisation'");
        expect(guarded.rowCount).toBeGreaterThanOrEqual(15);
        expect((await client.query(UNGUARDED)).rows).toEqual([]);
        await client.query('BEGIN');
        await client.query('DROP POLICY one_organisation ON fact');
        expect((await client.query(UNGUARDED)).rows).toEqual([{ relname: 'fact' }]);
        await client.query('ROLLBACK');
        await client.query('BEGIN');
        await client.query('ALTER TABLE asset NO FORCE ROW LEVEL SECURITY');
        expect((await client.query(UNGUARDED)).rows).toEqual([{ relname: 'asset' }]);
        await client.query('ROLLBACK');
      });
    });

    it("the service's roles own nothing, are no superusers and do not pass by row-level security", async () => {
      for (const url of [service.database.urls.app, service.database.urls.sweep]) {
        const client = new pg.Client({ connectionString: url });
        await client.connect();
        const [role] = (
          await client.query(
            'SELECT rolsuper, rolbypassrls, rolcreaterole, rolcreatedb FROM pg_roles WHERE rolname = current_user',
          )
        ).rows;
        expect(role).toEqual({ rolsuper: false, rolbypassrls: false, rolcreaterole: false, rolcreatedb: false });
        const owned = await client.query(
          "SELECT relname FROM pg_class JOIN pg_roles r ON r.oid = relowner WHERE r.rolname = current_user AND relkind IN ('r','v','p') AND relnamespace = 'public'::regnamespace",
        );
        expect(owned.rows).toEqual([]);
        await client.end();
      }
    });

    it('without an organisation the application sees no row of any table, and with a foreign one none of mine', async () => {
      const tables = await asOwner(async (client) =>
        (await client.query("SELECT DISTINCT tablename FROM pg_policies WHERE policyname = 'one_organisation'")).rows.map(
          (row) => row.tablename as string,
        ),
      );
      expect(tables.length).toBeGreaterThanOrEqual(15);
      const client = new pg.Client({ connectionString: service.database.urls.app });
      await client.connect();
      for (const table of tables)
        expect((await client.query(`SELECT count(*)::int AS n FROM ${table}`)).rows[0].n, table).toBe(0);
      await client.query("SELECT set_config('app.organisation_id', $1, false)", [theirs.organisationId]);
      for (const table of tables) {
        const foreign = await client.query(`SELECT count(*)::int AS n FROM ${table} WHERE organisation_id = $1`, [
          mine.organisationId,
        ]);
        expect(foreign.rows[0].n, table).toBe(0);
      }
      const write = client.query('INSERT INTO site (organisation_id, id, name, zone) VALUES ($1, gen_random_uuid(), $2, $3)', [
        mine.organisationId,
        'Foreign',
        'Europe/Dublin',
      ]);
      await expect(write).rejects.toMatchObject({ code: '42501' });
      await client.end();
    });

    it('with the policy of one table dropped, the call tests above would fail: a foreign row shows', async () => {
      const open = await startService();
      try {
        const [a, b] = [await open.organisation('A'), await open.organisation('B')];
        const planner = await open.person(a.id, ['planner']);
        const stranger = await open.person(b.id, ['planner']);
        const { id } = await open.asset(planner, a.roomId);
        const look = () => stranger.call('getAsset', { params: { assetId: id } });
        expect((await look()).status).toBe(404);
        const client = new pg.Client({ connectionString: open.database.urls.owner });
        await client.connect();
        for (const table of ['asset', 'room', 'building', 'site']) {
          await client.query(
            `DROP POLICY one_organisation ON ${table}; CREATE POLICY hole ON ${table} TO heatround_app USING (true)`,
          );
        }
        await client.end();
        expect((await look()).status).toBe(200);
      } finally {
        await open.close();
      }
    });
  });
});
