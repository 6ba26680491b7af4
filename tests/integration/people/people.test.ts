/** People come by invitation, sign in with a second factor, change and leave; programs call with keys. */
import { createHmac, randomUUID } from 'node:crypto';
import { inviteFirst } from '@heatround/services/people';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, type Reply, readingFact, startService, TEST_PASSWORD } from '../../support/harness.ts';

const cookiesOf = (reply: Reply): string =>
  [reply.headers['set-cookie']]
    .flat()
    .filter(Boolean)
    .map((one) => String(one).split(';')[0])
    .join('; ');

/** A time-based code by RFC 6238 with SHA-1, 30 s and six figures. */
function totp(secretBase32: string, at: number, digits = 6): string {
  const alphabet = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567';
  const bits = [...secretBase32.replace(/=+$/, '')].map((sign) => alphabet.indexOf(sign).toString(2).padStart(5, '0')).join('');
  const key = Buffer.from((bits.match(/.{8}/g) ?? []).map((byte) => Number.parseInt(byte, 2)));
  const counter = Buffer.alloc(8);
  counter.writeBigUInt64BE(BigInt(Math.floor(at / 30_000)));
  const hash = createHmac('sha1', key).update(counter).digest();
  const offset = hash.at(-1)! & 15;
  return String((hash.readUInt32BE(offset) & 0x7fffffff) % 10 ** digits).padStart(digits, '0');
}

it('the code of this test is that of RFC 6238, appendix B (key 12345678901234567890, 8 figures)', () => {
  const secret = 'GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ';
  expect([59, 1_111_111_109, 20_000_000_000].map((seconds) => totp(secret, seconds * 1000, 8))).toEqual([
    '94287082',
    '07081804',
    '65353130',
  ]);
});

it('an empty installation begins with an invitation for its first administrator, once', async () => {
  const service = await startService();
  try {
    const first = { organisation: 'Quarrymill Estates', administrator: 'ada.lund@example.org' };
    const token = await inviteFirst(service.deps, first);
    expect(await inviteFirst(service.deps, first)).toBeNull();
    const accepted = await service.call('acceptInvitation', { body: { token, password: 'a sentence to keep' } });
    expect(accepted.status, JSON.stringify(accepted.body)).toBe(200);
    const me = await service.call('signIn', { body: { email: first.administrator, password: 'a sentence to keep' } });
    expect(me.body.memberships).toMatchObject([{ organisationName: 'Quarrymill Estates', roles: ['administrator', 'planner'] }]);
  } finally {
    await service.close();
  }
});

describe('people', () => {
  let service: Harness;
  let organisationId: string;
  let siteId: string;
  let roomId: string;
  let ada: Person;
  beforeAll(async () => {
    service = await startService();
    ({ id: organisationId, siteId, roomId } = await service.organisation());
    ada = await service.person(organisationId, ['administrator', 'planner'], { name: 'Ada' });
  });
  afterAll(() => service?.close());
  const members = async (as: Person = ada) => (await as.call('listMembers')).body;
  const invite = (body: object, as: Person = ada) => as.call('invite', { body });
  const tokenOf = (reply: Reply): string => new URL(reply.body.link).hash.slice(1);
  const signIn = (email: string, password = TEST_PASSWORD, cookie?: string) =>
    service.call('signIn', { body: { email, password }, ...(cookie === undefined ? {} : { cookie }) });

  describe('an invitation', () => {
    it('makes a member with roles, sites and an end; taken up twice it is one', async () => {
      const email = `kim-${randomUUID()}@example.org`;
      const id = randomUUID();
      const body = { id, email, name: 'Kim', roles: ['contractor'], siteIds: [siteId], endsAt: '2026-12-31T23:00:00Z' };
      const made = await invite(body);
      expect(made).toMatchObject({ status: 201, body: { id } });
      expect((await invite(body)).status).toBe(201);
      expect((await members()).invitations.filter((one: { id: string }) => one.id === id)).toHaveLength(1);
      const token = tokenOf(made);
      const seen = await service.call('lookAtInvitation', { body: { token } });
      expect(seen.body).toMatchObject({ email, name: 'Kim', hasAccount: false, isAccepted: false, roles: ['contractor'] });
      expect((await service.call('acceptInvitation', { body: { token } })).status).toBe(422);
      expect((await service.call('acceptInvitation', { body: { token, password: 'short' } })).status).toBe(422);
      const accepted = await service.call('acceptInvitation', { body: { token, password: 'a sentence to keep' } });
      expect(accepted).toMatchObject({ status: 200, body: { email, organisationId } });
      const me = await signIn(email, 'a sentence to keep');
      expect(me.body.memberships).toMatchObject([{ organisationId, roles: ['contractor'], siteIds: [siteId] }]);
      // The link again, by somebody else: it names an account now, and nobody is signed in with it.
      expect((await service.call('acceptInvitation', { body: { token, password: 'another sentence' } })).status).toBe(401);
      expect((await signIn(email, 'another sentence')).status).toBe(401);
      expect((await members()).invitations.some((one: { id: string }) => one.id === id)).toBe(false);
    });

    it('D64: to somebody who has an account is taken up by that account alone, which then has other roles in each house', async () => {
      const elsewhere = await service.organisation('Elsewhere');
      const boris = await service.person(elsewhere.id, ['planner'], { name: 'Boris' });
      const token = tokenOf(await invite({ email: boris.email, name: 'Boris', roles: ['guest-reader'] }));
      expect((await service.call('acceptInvitation', { body: { token, password: 'a new password' } })).status).toBe(401);
      expect((await ada.call('acceptInvitation', { body: { token } })).status).toBe(401);
      expect((await boris.call('acceptInvitation', { body: { token }, organisationId: null })).status).toBe(200);
      const me = (await boris.call('whoAmI')).body;
      expect(
        Object.fromEntries(
          me.memberships.map((one: { organisationId: string; roles: string[] }) => [one.organisationId, one.roles]),
        ),
      ).toEqual({
        [elsewhere.id]: ['planner'],
        [organisationId]: ['guest-reader'],
      });
    });

    it('taken back, run out or changed opens nothing', async () => {
      const made = await invite({ email: `late-${randomUUID()}@example.org`, name: 'Late', roles: ['planner'] });
      const token = tokenOf(made);
      await ada.call('withdrawInvitation', { params: { invitationId: made.body.id } });
      expect((await service.call('lookAtInvitation', { body: { token } })).status).toBe(404);
      expect((await service.call('acceptInvitation', { body: { token, password: 'a sentence to keep' } })).status).toBe(404);
      const other = tokenOf(await invite({ email: `late-${randomUUID()}@example.org`, name: 'Late', roles: ['planner'] }));
      const [head, claims, signature] = other.split('.') as [string, string, string];
      const forged = Buffer.from(
        JSON.stringify({ ...JSON.parse(Buffer.from(claims, 'base64url').toString()), invitationId: made.body.id }),
      );
      expect(
        (await service.call('lookAtInvitation', { body: { token: `${head}.${forged.toString('base64url')}.${signature}` } }))
          .status,
      ).toBe(404);
      service.clock.advance(15 * 86_400_000);
      expect((await service.call('lookAtInvitation', { body: { token: other } })).status).toBe(404);
      service.clock.advance(-15 * 86_400_000);
    });

    it('that was taken up does not bring back who has left, nor roles that were changed since', async () => {
      const email = `back-${randomUUID()}@example.org`;
      const token = tokenOf(await invite({ email, name: 'Rolf', roles: ['planner'] }));
      const { body } = await service.call('acceptInvitation', { body: { token, password: 'a sentence to keep' } });
      expect(body.organisationId).toBe(organisationId);
      const signedIn = await signIn(email, 'a sentence to keep');
      const again = () => service.call('acceptInvitation', { body: { token }, cookie: cookiesOf(signedIn) });
      const roles = async () =>
        (await service.call('whoAmI', { cookie: cookiesOf(signedIn) })).body.memberships.map(
          (one: { roles: string[] }) => one.roles,
        );
      const params = { personId: signedIn.body.personId };
      await ada.call('changeMember', { params, body: { roles: ['technician'] } });
      expect((await again()).status).toBe(200);
      expect(await roles()).toEqual([['technician']]);
      await ada.call('endMember', { params });
      expect((await again()).status).toBe(200);
      expect(await roles()).toEqual([]);
      // A new invitation does.
      const fresh = tokenOf(await invite({ email, name: 'Rolf', roles: ['manager'] }));
      await service.call('acceptInvitation', { body: { token: fresh }, cookie: cookiesOf(signedIn) });
      expect(await roles()).toEqual([['manager']]);
    });

    it('to somebody who belongs here already, or to a site elsewhere, is refused', async () => {
      const mara = await service.person(organisationId, ['technician'], { name: 'Mara' });
      expect(await invite({ email: mara.email.toUpperCase(), name: 'Mara', roles: ['planner'] })).toMatchObject({
        status: 409,
        body: { type: '/problems/name-taken' },
      });
      const foreign = await service.organisation('Foreign');
      const body = { email: `x-${randomUUID()}@example.org`, name: 'X', roles: ['planner'], siteIds: [foreign.siteId] };
      expect((await invite(body)).status).toBe(422);
    });
  });

  describe('a member', () => {
    const change = (personId: string, body: object, as: Person = ada) => as.call('changeMember', { params: { personId }, body });

    it('gets other roles and sites, which hold from the next call on', async () => {
      const mara = await service.person(organisationId, ['technician'], { name: 'Mara' });
      expect((await mara.call('createSite', { body: { name: 'Mine', zone: 'UTC' } })).status).toBe(403);
      expect((await change(mara.personId, { roles: ['planner'] })).status).toBe(204);
      expect((await mara.call('createSite', { body: { name: `S ${randomUUID()}`, zone: 'UTC' } })).status).toBe(201);
      await change(mara.personId, { siteIds: [siteId] });
      expect((await mara.call('listSites')).body.sites.map((one: { id: string }) => one.id)).toEqual([siteId]);
      expect((await change(mara.personId, { siteIds: [randomUUID()] })).status).toBe(422);
      expect((await change(mara.personId, { roles: [] })).status).toBe(422);
      expect((await change(randomUUID(), { name: 'Nobody' })).status).toBe(404);
    });

    it('D58: the last administrator stays, whichever way is tried, also two at once', async () => {
      const own = await service.organisation('Small house');
      const first = await service.person(own.id, ['administrator'], { name: 'First' });
      const tries = [
        () => change(first.personId, { roles: ['planner'] }, first),
        () => change(first.personId, { endsAt: '2026-04-24T00:00:00Z' }, first),
        () => first.call('endMember', { params: { personId: first.personId } }),
      ];
      for (const attempt of tries)
        expect(await attempt()).toMatchObject({ status: 409, body: { type: '/problems/move-not-allowed' } });
      const second = await service.person(own.id, ['administrator'], { name: 'Second' });
      const both = await Promise.all([
        change(first.personId, { roles: ['planner'] }, second),
        change(second.personId, { roles: ['planner'] }, first),
      ]);
      expect(both.map(({ status }) => status).sort()).not.toEqual([204, 204]);
      const left = (await Promise.all([first, second].map((one) => one.call('listMembers')))).find(
        ({ status }) => status === 200,
      )!;
      expect(left.body.members.filter((one: { roles: string[] }) => one.roles.includes('administrator'))).toHaveLength(1);
    });

    it('D63: a contractor whose time is over signs in to nothing here, and the name stays on what was done', async () => {
      const { pointIds } = await service.asset(ada, roomId);
      const kim = await service.person(organisationId, ['contractor'], { name: 'Kim of Thermo', siteIds: [siteId] });
      await kim.submit([readingFact(pointIds[0]!, '55')]);
      await change(kim.personId, { endsAt: '2026-04-23T06:00:00Z' });
      expect((await kim.call('listSites')).status).toBe(404);
      expect((await signIn(kim.email)).body.memberships).toEqual([]);
      const readings = await ada.call('listReadings', { params: { pointId: pointIds[0]! } });
      expect(readings.body.readings[0]).toMatchObject({ by: 'Kim of Thermo' });
      expect((await members()).members.find((one: { id: string }) => one.id === kim.personId)).toMatchObject({ hasEnded: true });
    });

    it('D54: a guest reader reads what was granted and guesses nothing elsewhere', async () => {
      const foreign = await service.organisation('Other house');
      const planner = await service.person(foreign.id, ['planner']);
      const { id: assetId, pointIds } = await service.asset(planner, foreign.roomId);
      const guest = await service.person(organisationId, ['guest-reader'], { name: 'Auditor' });
      for (const [name, params] of [
        ['getAsset', { assetId }],
        ['listReadings', { pointId: pointIds[0]! }],
        ['listLimits', { pointId: pointIds[0]! }],
      ] as const)
        expect((await guest.call(name, { params })).status, name).toBe(404);
      expect((await guest.submit([readingFact(pointIds[0]!, '55')])).status).toBe(403);
      expect((await guest.call('listAssets')).status).toBe(200);
    });

    it('D59: a technician of one site finds nothing behind the tag of another', async () => {
      const depot: string = (await ada.call('createSite', { body: { name: `Depot ${randomUUID()}`, zone: 'UTC' } })).body.id;
      const { id: assetId, pointIds } = await service.asset(ada, roomId, { tag: 'MILL-1' });
      const tomasz = await service.person(organisationId, ['technician'], { siteIds: [depot] });
      expect((await tomasz.call('getAsset', { params: { assetId } })).status).toBe(404);
      expect((await tomasz.call('listAssets', { query: { search: 'MILL-1' } })).body.assets).toEqual([]);
      expect((await tomasz.submit([readingFact(pointIds[0]!, '55')])).body.results[0]).toMatchObject({
        outcome: 'refused',
        problem: { code: 'not-found' },
      });
    });
  });

  describe('an account', () => {
    it('ends the session of one device, and of all', async () => {
      const mara = await service.person(organisationId, ['technician'], { name: 'Mara' });
      const phone = cookiesOf(await signIn(mara.email));
      const { sessions } = (await mara.call('mySessions')).body;
      expect(sessions).toHaveLength(2);
      const other = sessions.find((one: { isThis: boolean }) => !one.isThis);
      expect((await mara.call('endMySession', { body: { key: other.key } })).status).toBe(204);
      expect((await service.call('whoAmI', { cookie: phone })).body.type).toBe('/problems/access-ended');
      expect((await mara.call('whoAmI')).status).toBe(200);
      // The session of somebody else is not one's own to end.
      const { key } = (await ada.call('mySessions')).body.sessions[0];
      await mara.call('endMySession', { body: { key } });
      expect((await ada.call('whoAmI')).status).toBe(200);
      expect((await ada.call('endMemberSessions', { params: { personId: mara.personId } })).body).toEqual({ ended: 1 });
      expect((await mara.call('whoAmI')).body.type).toBe('/problems/access-ended');
    });

    it('changes its password with the present one, and every other device is signed out', async () => {
      const mara = await service.person(organisationId, ['technician']);
      const phone = cookiesOf(await signIn(mara.email));
      const wrong = await mara.call('changePassword', { body: { present: 'not this one', next: 'a better sentence' } });
      expect(wrong).toMatchObject({ status: 401, body: { type: '/problems/wrong-sign-in' } });
      expect((await mara.call('changePassword', { body: { present: TEST_PASSWORD, next: 'a better sentence' } })).status).toBe(
        204,
      );
      expect((await mara.call('whoAmI')).status).toBe(200);
      expect((await service.call('whoAmI', { cookie: phone })).status).toBe(401);
      expect((await signIn(mara.email)).status).toBe(401);
      expect((await signIn(mara.email, 'a better sentence')).status).toBe(200);
    });

    it('gets a new password by a link: once, within the hour, and the answer tells nobody who is known', async () => {
      const mara = await service.person(organisationId, ['technician']);
      const known = await service.call('forgotPassword', { body: { email: mara.email } });
      const unknown = await service.call('forgotPassword', { body: { email: `nobody-${randomUUID()}@example.org` } });
      expect([known.status, known.body]).toEqual([unknown.status, unknown.body]);
      const now = service.clock.now();
      const { token } = (await service.deps.accounts.makeRenewal(mara.email, now))!;
      const late = (await service.deps.accounts.makeRenewal(mara.email, now - 61 * 60_000))!;
      const renew = (one: string, password = 'a fresh sentence') =>
        service.call('renewPassword', { body: { token: one, password } });
      expect((await renew(late.token)).status).toBe(404);
      expect((await renew(`${token}x`)).status).toBe(404);
      expect((await renew(token, 'short')).status).toBe(422);
      expect(await renew(token)).toMatchObject({ status: 200, body: { email: mara.email } });
      expect((await renew(token, 'a second sentence')).status).toBe(404);
      expect((await mara.call('whoAmI')).status).toBe(401);
      expect((await signIn(mara.email, 'a fresh sentence')).status).toBe(200);
    });

    it('with the right password alone gets ten times five guesses at the code, and then has to wait', async () => {
      const lena = await service.person(organisationId, ['technician'], { name: 'Lena' });
      const begun = await service.call('beginSecondFactor', { cookie: lena.cookie, body: { password: TEST_PASSWORD } });
      const code = () => totp(begun.body.secret, Date.now());
      const confirmed = await service.call('confirmSecondFactor', { cookie: lena.cookie, body: { code: code() } });
      expect(confirmed.status, JSON.stringify(confirmed.body)).toBe(204);
      for (let i = 0; i < 10; i++) expect((await signIn(lena.email)).body).toEqual({ needsCode: true });
      expect((await signIn(lena.email)).status).toBe(429);
      service.clock.advance(5 * 60_000);
      const again = await signIn(lena.email);
      const second = (entry: string) => service.call('signInSecond', { body: { code: entry }, cookie: cookiesOf(again) });
      for (let i = 0; i < 5; i++) expect((await second('000000')).status).toBe(401);
      expect((await second(code())).status).toBe(401);
      const entered = await service.call('signInSecond', { body: { code: code() }, cookie: cookiesOf(await signIn(lena.email)) });
      expect(entered.status, JSON.stringify(entered.body)).toBe(200);
      // The right code ended the count.
      for (let i = 0; i < 10; i++) expect((await signIn(lena.email)).body).toEqual({ needsCode: true });
      expect((await signIn(lena.email)).status).toBe(429);
      // Asking for what is there already ends none, since no password was looked at.
      const asked = () => service.call('beginSecondFactor', { cookie: cookiesOf(entered), body: { password: 'whatever it is' } });
      expect((await asked()).status).toBe(429);
      service.clock.advance(5 * 60_000);
      for (let i = 0; i < 10; i++) expect((await asked()).status).toBe(409);
      expect((await asked()).status).toBe(429);
    });

    it('with a second factor asks for the code of the moment or a spare code, each spare one once', async () => {
      const mara = await service.person(organisationId, ['technician'], { name: 'Mara' });
      let cookie = mara.cookie;
      const as = (name: Parameters<Person['call']>[0], body?: unknown) =>
        service.call(name, { cookie, ...(body ? { body } : {}) });
      expect((await as('beginSecondFactor', { password: 'not this one' })).status).toBe(401);
      const begun = await as('beginSecondFactor', { password: TEST_PASSWORD });
      expect(begun.status, JSON.stringify(begun.body)).toBe(200);
      expect(begun.body.uri).toMatch(/^otpauth:\/\/totp\//);
      // It does not count before a code was right: nobody is locked out by half a set-up.
      expect((await signIn(mara.email)).body).toHaveProperty('personId');
      expect((await as('confirmSecondFactor', { code: '000000' })).status).toBe(401);
      const confirmed = await as('confirmSecondFactor', { code: totp(begun.body.secret, Date.now()) });
      expect(confirmed.status, JSON.stringify(confirmed.body)).toBe(204);
      if (cookiesOf(confirmed) !== '') cookie = cookiesOf(confirmed);
      expect((await as('mySessions')).body.hasSecondFactor).toBe(true);

      const first = await signIn(mara.email);
      expect(first).toMatchObject({ status: 200, body: { needsCode: true } });
      expect((await service.call('whoAmI', { cookie: cookiesOf(first) })).status).toBe(401);
      const second = (code: string, from: Reply) => service.call('signInSecond', { body: { code }, cookie: cookiesOf(from) });
      expect((await second('000000', first)).status).toBe(401);
      const entered = await second(totp(begun.body.secret, Date.now()), first);
      expect(entered.status, JSON.stringify(entered.body)).toBe(200);
      expect(entered.body).toMatchObject({ email: mara.email });
      expect((await service.call('whoAmI', { cookie: cookiesOf(entered) })).status).toBe(200);
      // Without the first step the code alone opens nothing.
      expect((await service.call('signInSecond', { body: { code: totp(begun.body.secret, Date.now()) } })).status).toBe(401);

      const [spare] = begun.body.spareCodes as string[];
      const again = await signIn(mara.email);
      expect((await second(spare!, again)).status).toBe(200);
      expect((await second(spare!, await signIn(mara.email))).status).toBe(401);

      // Lost phone: an administrator takes it off; not where the person belongs elsewhere too.
      const other = await service.organisation('Second house');
      await service.join(mara, other.id, ['technician']);
      expect((await ada.call('liftSecondFactor', { params: { personId: mara.personId } })).status).toBe(403);
      const tom = await service.person(organisationId, ['technician']);
      expect((await ada.call('liftSecondFactor', { params: { personId: tom.personId } })).status).toBe(204);
      const ended = await service.call('endSecondFactor', { cookie: cookiesOf(entered), body: { password: TEST_PASSWORD } });
      expect(ended.status, JSON.stringify(ended.body)).toBe(204);
      expect((await signIn(mara.email)).body).toHaveProperty('personId');
    });
  });

  describe('a trainee', () => {
    it('D56: reads, and somebody who knows the work countersigns; never the trainee, whatever roles come later', async () => {
      const { pointIds } = await service.asset(ada, roomId);
      const lena = await service.person(organisationId, ['trainee'], { name: 'Lena' });
      const mara = await service.person(organisationId, ['technician'], { name: 'Mara' });
      const fact = readingFact(pointIds[0]!, '95');
      expect((await lena.submit([fact])).body.results[0]).toMatchObject({ outcome: 'created', verdict: { grade: 'soon' } });
      expect((await lena.submit([fact])).body.results[0].outcome).toBe('duplicate');
      // It counts at once: what is too hot does not wait for a signature.
      const reading = async () =>
        (await ada.call('listReadings', { params: { pointId: pointIds[0]! } })).body.readings.find(
          (one: { id: string }) => one.id === fact.id,
        );
      expect(await reading()).toMatchObject({ counts: true, countersign: { by: null } });
      const sign = (as: Person) => as.call('countersign', { body: { factIds: [fact.id] } });
      expect((await sign(lena)).status).toBe(403);
      await ada.call('changeMember', { params: { personId: lena.personId }, body: { roles: ['technician'] } });
      expect((await sign(lena)).body.results).toEqual([{ factId: fact.id, outcome: 'own' }]);
      const waiting = async (as: Person) =>
        (await as.call('listToCountersign')).body.readings.map((one: { factId: string }) => one.factId);
      expect(await waiting(lena)).not.toContain(fact.id);
      expect(await waiting(mara)).toContain(fact.id);
      const both = await Promise.all([sign(mara), sign(ada)]);
      for (const { body } of both) expect(body.results).toEqual([{ factId: fact.id, outcome: 'signed' }]);
      expect((await reading()).countersign.by).toMatch(/^(Mara|Ada)$/);
      expect(await waiting(mara)).not.toContain(fact.id);
      // A technician's own reading asks nobody, and one of another organisation is none.
      const own = readingFact(pointIds[0]!, '60', { takenAt: '2026-04-23T06:30:00Z' });
      await mara.submit([own]);
      expect(await waiting(ada)).not.toContain(own.id);
      const foreign = await service.organisation('Foreign works');
      const stranger = await service.person(foreign.id, ['technician']);
      expect((await sign(stranger)).body.results).toEqual([{ factId: fact.id, outcome: 'not-found' }]);
    });
  });

  it('the engine room tells an administrator how things are, and nobody else', async () => {
    const room = await ada.call('engineRoom');
    expect(room).toMatchObject({
      status: 200,
      body: { database: true, migrations: true, queue: null, lastBackup: null, mailIsSent: false, lettersInTrouble: 0 },
    });
    expect(room.body.people.members).toBeGreaterThan(1);
    expect(room.body.behind.points).toBeGreaterThan(0);
    expect(JSON.stringify(room.body)).not.toContain('@example.org');
    const planner = await service.person(organisationId, ['planner']);
    expect((await planner.call('engineRoom')).status).toBe(403);
  });

  describe('a service key', () => {
    const withKey = (
      key: string,
      options: { body?: unknown; headers?: Record<string, string>; url: string; method?: 'GET' | 'POST' },
    ) =>
      service.app.inject({
        method: options.method ?? 'GET',
        url: options.url,
        headers: { authorization: `Bearer ${key}`, ...options.headers },
        ...(options.body === undefined ? {} : { payload: options.body as object }),
      });
    const make = async (scopes: string[], endsAt = '2026-12-31T00:00:00Z') => {
      const made = await ada.call('makeKey', { body: { name: 'Boiler bridge', scopes, endsAt } });
      expect(made.status, JSON.stringify(made.body)).toBe(201);
      return made.body as { id: string; key: string };
    };

    it('does what it was made for, as itself, until it is withdrawn or over', async () => {
      const { pointIds } = await service.asset(ada, roomId);
      const { id, key } = await make(['submit-facts', 'see']);
      const sent = await withKey(key, {
        url: '/api/submissions',
        method: 'POST',
        body: { facts: [readingFact(pointIds[0]!, '61')] },
      });
      expect(sent.json().results[0].outcome, sent.body).toBe('created');
      const readings = await ada.call('listReadings', { params: { pointId: pointIds[0]! } });
      expect(readings.body.readings[0].by).toBe('Boiler bridge');
      expect((await withKey(key, { url: '/api/sites', method: 'POST', body: { name: 'S', zone: 'UTC' } })).statusCode).toBe(403);
      expect((await withKey(key, { url: '/api/members' })).statusCode).toBe(403);
      expect((await withKey(key, { url: '/api/me' })).statusCode).toBe(403);
      expect((await members()).keys.find((one: { id: string }) => one.id === id)).toMatchObject({
        hasEnded: false,
        lastUsedAt: expect.any(String),
      });
      // It is nobody who walks rounds or stands among the members.
      expect((await ada.call('listPeople')).body.people.some((one: { id: string }) => one.id === id)).toBe(false);
      expect((await members()).members.some((one: { id: string }) => one.id === id)).toBe(false);
      await ada.call('withdrawKey', { params: { keyId: id } });
      expect((await withKey(key, { url: '/api/sites' })).statusCode).toBe(401);
      const short = await make(['see'], '2026-04-24T00:00:00Z');
      expect((await withKey(short.key, { url: '/api/sites' })).statusCode).toBe(200);
      service.clock.advance(2 * 86_400_000);
      expect((await withKey(short.key, { url: '/api/sites' })).statusCode).toBe(401);
      service.clock.advance(-2 * 86_400_000);
    });

    it('D62: used from a browser is refused, and says why', async () => {
      const { key } = await make(['see']);
      for (const headers of [{ origin: 'https://example.org' }, { 'sec-fetch-mode': 'cors' }])
        expect((await withKey(key, { url: '/api/sites', headers })).json()).toMatchObject({
          status: 403,
          detail: expect.stringContaining('browser'),
        });
    });

    it('opens no other organisation, and unknown ones open nothing', async () => {
      const { key } = await make(['see']);
      const foreign = await service.organisation('Foreign house');
      const named = await withKey(key, { url: '/api/sites', headers: { 'heatround-organisation': foreign.id } });
      expect(named.statusCode).toBe(404);
      for (const other of [`${key}x`, 'hrk_short', 'x'])
        expect((await withKey(other, { url: '/api/sites' })).statusCode).toBe(401);
    });
  });
});
