/** Letters: what is due for a person, once a day; how they go out, are refused, put off, kept or left unsure. */
import { randomUUID } from 'node:crypto';
import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from '@heatround/platform/database';
import { type Mailer, openMailer } from '@heatround/platform/mail';
import { composeDailyJob, findDailyDue, findMailToSend, nextMailAt, sendMailJob } from '@heatround/services/mail';
import fc from 'fast-check';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { type Harness, type Person, readingFact, startService, TEST_NOW } from '../../support/harness.ts';
import { type MailServer, type Step, startMailServer } from '../../support/smtp.ts';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;

describe('the hour of a letter', () => {
  it('is always ahead, within a day and an hour of the clocks, and shows the time asked for (property)', () => {
    const zones = fc.constantFrom('Europe/Dublin', 'America/New_York', 'Pacific/Apia', 'Asia/Kathmandu', 'UTC');
    fc.assert(
      fc.property(
        fc.integer({ min: Date.UTC(2020, 0, 1), max: Date.UTC(2030, 0, 1) }),
        zones,
        fc.integer({ min: 0, max: 1439 }),
        (now, zone, minutes) => {
          const at = nextMailAt(now, zone, minutes);
          expect(at).toBeGreaterThan(now);
          expect(at - now).toBeLessThanOrEqual(25 * HOUR);
        },
      ),
    );
  });
  it('is moved by the gap where spring swallows it, and comes once where autumn shows it twice', () => {
    // 29 March 2026, 01:00 to 02:00 does not exist in Dublin; 25 October has 01:30 twice.
    expect(new Date(nextMailAt(Date.UTC(2026, 2, 28, 12), 'Europe/Dublin', 90)).toISOString()).toBe('2026-03-29T01:30:00.000Z');
    const first = nextMailAt(Date.UTC(2026, 9, 24, 12), 'Europe/Dublin', 90);
    expect(new Date(first).toISOString()).toBe('2026-10-25T00:30:00.000Z');
    expect(new Date(nextMailAt(first, 'Europe/Dublin', 90)).toISOString()).toBe('2026-10-26T01:30:00.000Z');
  });
});

describe('letters', () => {
  let service: Harness;
  let server: MailServer;
  let folder: string;
  let mailer: Mailer;
  let organisationId: string;
  let roomId: string;
  let siteId: string;
  let ada: Person;
  beforeAll(async () => {
    server = await startMailServer();
    folder = await mkdtemp(join(tmpdir(), 'heatround-letters-'));
    mailer = openMailer({ smtpUrl: server.url, from: 'Heatround <rounds@example.org>', folder, patienceMs: 300 });
    service = await startService({ mailer });
  });
  afterAll(async () => {
    await service?.close();
    await server?.close();
    await rm(folder, { recursive: true, force: true });
  });
  beforeEach(async () => {
    server.behave = () => null;
    server.onStep = () => {};
    server.taken.length = 0;
    ({ id: organisationId, roomId, siteId } = await service.organisation('Quarrymill Estates'));
    ada = await service.person(organisationId, ['administrator'], { name: 'Ada' });
  });

  /** What the worker does with a sweep, here for one organisation. */
  async function sweep(): Promise<void> {
    for (const payload of (await findDailyDue(service.deps, 1000)).filter((one) => one.organisationId === organisationId))
      await composeDailyJob.handle(service.deps, payload);
    for (const payload of (await findMailToSend(service.deps, 1000)).filter((one) => one.organisationId === organisationId))
      await sendMailJob.handle(service.deps, payload);
  }
  const letters = async (which = 'all') =>
    (await ada.call('listMail', { query: { which } })).body.mail as {
      id: string;
      to: string;
      kind: string;
      state: string;
      answer: string | null;
      attempts: number;
    }[];
  /** A technician with a round to walk, written to at six in the morning. */
  async function walker(name = 'Mara', over: object = {}): Promise<Person> {
    const planner = await service.person(organisationId, ['planner'], { name: 'Jonas' });
    await planner.call('changeMailSettings', { body: { wanted: false } });
    await ada.call('changeMailSettings', { body: { wanted: false } });
    const { pointIds } = await service.asset(planner, roomId);
    const mara = await service.person(organisationId, ['technician'], { name });
    const route = {
      siteId,
      code: `R${randomUUID().slice(0, 8)}`,
      name: 'Boiler <b>house</b>',
      rule: 'FREQ=DAILY',
      startLocal: '2026-04-23T05:00',
      window: { kind: 'days', daysBefore: 0, daysAfter: 3 },
      pointIds,
    };
    expect((await planner.call('createRoute', { body: route })).status).toBe(201);
    expect((await mara.call('changeMailSettings', { body: { atMinutes: 540, ...over } })).status).toBe(200);
    return mara;
  }
  const inTime = async <T>(ms: number, work: () => Promise<T>): Promise<T> => {
    service.clock.advance(ms);
    try {
      return await work();
    } finally {
      service.clock.advance(-ms);
    }
  };

  it('comes at the hour asked for, once, with what is due, in plain text and in HTML, and is stopped by one click', async () => {
    const mara = await walker();
    // Test time is 08:00 in Dublin; the letter is asked for at 09:00.
    await inTime(59 * 60_000, sweep);
    expect(server.taken).toEqual([]);
    await inTime(61 * 60_000, sweep);
    await inTime(62 * 60_000, sweep);
    await inTime(5 * HOUR, sweep);
    expect(server.taken.map(({ to }) => to)).toEqual([mara.email]);
    const content = server.taken[0]!.content;
    const decoded = content
      .replace(/=\r\n/g, '')
      .replace(/=([0-9A-F]{2})/g, (_, hex) => String.fromCharCode(Number.parseInt(hex, 16)));
    expect(decoded).toContain('Good morning Mara,');
    expect(decoded).toContain('To walk:');
    expect(decoded).toContain('Boiler <b>house</b>, 1 stop');
    expect(decoded).toContain('Boiler &lt;b&gt;house&lt;/b&gt;');
    expect(decoded).toContain('multipart/alternative');
    expect(content).toMatch(/^List-Unsubscribe-Post: List-Unsubscribe=One-Click\r$/m);
    expect(content).toMatch(/^Message-ID: <[0-9a-f-]{36}@example\.org>\r$/im);
    expect(await letters()).toMatchObject([{ kind: 'due', to: 'Mara', state: 'sent', answer: expect.stringContaining('250') }]);

    const url = /List-Unsubscribe:\s*<http:\/\/127\.0\.0\.1(\/unsubscribe\/[^>]+)>/.exec(content.replace(/\r\n\s+/g, ''))![1]!;
    const post = (payload: string, type = 'application/x-www-form-urlencoded') =>
      service.app.inject({ method: 'POST', url, payload, headers: { 'content-type': type } });
    const settings = async () => (await mara.call('getMailSettings')).body.wanted;
    // Whoever merely opens the link stops nothing.
    await service.app.inject({ method: 'GET', url });
    expect((await post('something=else')).statusCode).toBe(422);
    expect(await settings()).toBe(true);
    expect((await post('List-Unsubscribe=One-Click')).statusCode).toBe(200);
    expect(await settings()).toBe(false);
    const form = '--b\r\nContent-Disposition: form-data; name="List-Unsubscribe"\r\n\r\nOne-Click\r\n--b--\r\n';
    expect((await post(form, 'multipart/form-data; boundary=b')).statusCode).toBe(200);
    await inTime(30 * HOUR, sweep);
    expect(server.taken).toHaveLength(1);
    expect(
      (
        await service.app.inject({
          method: 'POST',
          url: '/unsubscribe/x',
          payload: 'List-Unsubscribe=One-Click',
          headers: { 'content-type': 'application/x-www-form-urlencoded' },
        })
      ).statusCode,
    ).toBe(404);
  });

  it('is written in the person’s language, and names answers owed to who owes them', async () => {
    const planner = await service.person(organisationId, ['planner'], { name: 'Jonas' });
    const { pointIds } = await service.asset(planner, roomId);
    const mara = await service.person(organisationId, ['technician']);
    for (const one of [mara, ada]) await one.call('changeMailSettings', { body: { wanted: false } });
    await mara.submit([readingFact(pointIds[0]!, '95')]);
    await planner.call('changeMailSettings', { body: { language: 'de', atMinutes: 0, zone: 'Asia/Tokyo' } });
    const settings = (await planner.call('getMailSettings')).body;
    expect(settings).toMatchObject({ language: 'de', zone: 'Asia/Tokyo', siteZone: 'Europe/Dublin' });
    await inTime(7 * HOUR, sweep);
    // Midnight in Tokyo is 15:00 UTC, eight hours ahead.
    expect(server.taken).toEqual([]);
    await inTime(8 * HOUR + 60_000, sweep);
    expect(server.taken.map(({ to }) => to)).toEqual([planner.email]);
    const [letter] = await letters();
    const { text } = (await ada.call('getMail', { params: { mailId: letter!.id } })).body;
    expect(text).toContain('Guten Morgen Jonas,');
    expect(text).toContain('Antworten, auf die man wartet:');
    expect(text).toMatch(/Befund \d+: Feed pump .* Bald/);
    // The link that acts for Jonas is not shown to others.
    expect(text).toMatch(/\/unsubscribe\/…/);
    expect((await mara.call('getMail', { params: { mailId: letter!.id } })).status).toBe(403);
    expect((await planner.call('changeMailSettings', { body: { zone: 'Mars/Olympus' } })).status).toBe(422);
  });

  it('is not written when nothing is due, to who has left, or hours too late', async () => {
    const mara = await walker();
    const idle = await service.person(organisationId, ['guest-reader'], { name: 'Auditor' });
    await idle.call('changeMailSettings', { body: { atMinutes: 540 } });
    // The worker was down until late in the evening: what is due is said tomorrow.
    await inTime(14 * HOUR, sweep);
    expect(await letters()).toEqual([]);
    await inTime(25 * HOUR + 60_000, sweep);
    expect((await letters()).map(({ to }) => to)).toEqual(['Mara']);
    await ada.call('endMember', { params: { personId: mara.personId } });
    await inTime(50 * HOUR, sweep);
    await inTime(74 * HOUR, sweep);
    expect((await letters()).map(({ to }) => to)).toEqual(['Mara']);
  });

  it('refused for good stays to be seen; put off is tried again with growing pauses until a day is over', async () => {
    const mara = await walker();
    server.behave = (step) => (step === 'rcpt' ? '550 5.1.1 no such user here' : null);
    await inTime(61 * 60_000, sweep);
    expect(await letters('in-trouble')).toMatchObject([
      { to: 'Mara', state: 'refused', answer: expect.stringContaining('no such user') },
    ]);
    await inTime(3 * HOUR, sweep);
    expect((await letters())[0]!.attempts).toBe(1);

    server.behave = (step) => (step === 'content' ? '451 4.3.0 try later' : null);
    await inTime(25 * HOUR + 60_000, sweep);
    const waiting = (await letters()).find(({ state }) => state === 'waiting');
    expect(waiting).toMatchObject({ attempts: 1, answer: expect.stringContaining('try later') });
    // At once again: it waits its minute.
    await inTime(25 * HOUR + 90_000, sweep);
    expect((await letters()).find(({ id }) => id === waiting!.id)!.attempts).toBe(1);
    server.behave = () => null;
    await inTime(25 * HOUR + 3 * 60_000, sweep);
    expect((await letters()).find(({ id }) => id === waiting!.id)).toMatchObject({ state: 'sent', attempts: 2 });
    expect(server.taken.map(({ to }) => to)).toEqual([mara.email]);

    server.behave = (step) => (step === 'connect' ? '421 4.3.2 down' : null);
    await inTime(49 * HOUR + 60_000, sweep);
    await inTime(74 * HOUR, sweep);
    const given = (await letters()).find(({ answer }) => answer?.startsWith('Given up'));
    expect(given).toMatchObject({ state: 'refused' });
    expect(server.taken).toHaveLength(1);
  });

  it('that a silent server may have taken is unsure and never sent twice', async () => {
    await walker();
    for (const [at, step, does, state, arrived] of [
      [61 * 60_000, 'accepted', 'silent', 'unsure', 1],
      [25 * HOUR + 60_000, 'accepted', 'break', 'unsure', 2],
      // Before content leaves nothing can have arrived: tried again.
      [49 * HOUR + 60_000, 'data', 'break', 'waiting', 2],
      [73 * HOUR + 60_000, 'connect', 'silent', 'waiting', 2],
    ] as const) {
      server.behave = (now) => (now === step ? does : null);
      await inTime(at, sweep);
      const [newest] = await letters();
      expect(newest, `${step} ${does}`).toMatchObject({ state });
      expect(server.taken).toHaveLength(arrived);
      server.behave = () => null;
      if (state === 'unsure') {
        await inTime(at + 2 * HOUR, sweep);
        expect(server.taken).toHaveLength(arrived);
      }
    }
  });

  it('of a demo is kept in the folder and shown, and sent to nobody', async () => {
    await walker();
    await service.db.acrossTenants('a demo', (db) =>
      db.$executeRaw(sql`UPDATE organisation SET is_demo = true WHERE organisation_id = ${organisationId}::uuid`),
    );
    await inTime(61 * 60_000, sweep);
    expect(server.taken).toEqual([]);
    const [kept] = await letters();
    expect(kept).toMatchObject({ state: 'kept', to: 'Mara' });
    expect(await readdir(folder)).toContain(`${kept!.id}.eml`);
    expect(await readFile(join(folder, `${kept!.id}.eml`), 'utf8')).toContain('List-Unsubscribe');
    expect((await ada.call('getMail', { params: { mailId: kept!.id } })).body.text).toContain('Good morning Mara,');
  });

  it('of an invitation carries its link and is kept without it', async () => {
    const email = `kim-${randomUUID()}@example.org`;
    await ada.call('changeMailSettings', { body: { wanted: false } });
    const made = await ada.call('invite', { body: { email, name: 'Kim', roles: ['technician'], language: 'de' } });
    await sweep();
    expect(server.taken.map(({ to }) => to)).toEqual([email]);
    const text = server.taken[0]!.content.replace(/=\r\n/g, '').replace(/=3D/g, '=');
    expect(text).toContain(made.body.link);
    expect(await letters()).toMatchObject([{ kind: 'invitation', state: 'sent', to: `Kim <${email}>` }]);
    const rows = await service.db.inTenant(ada.scope, ({ db }) => db.mail.findMany({}));
    expect(JSON.stringify(rows)).not.toContain(new URL(made.body.link).hash.slice(1));
    expect((await ada.call('listMembers')).body.invitations[0].mail).toMatchObject({ state: 'sent' });
  });

  it('that came back is marked by its delivery report (RFC 3464); reports about nothing of ours are refused', async () => {
    await walker();
    await inTime(61 * 60_000, sweep);
    const [sent] = await letters();
    const report = (action: string) =>
      `Reporting-MTA: dns; mx.example.net\r\n\r\nFinal-Recipient: rfc822; mara@example.org\r\nAction: ${action}\r\nStatus: 5.2.2\r\nDiagnostic-Code: smtp; 552 mailbox\r\n  is full\r\n\r\nMessage-ID: <${sent!.id}@example.org>\r\n`;
    const note = (text: string) => ada.call('noteBounce', { body: { report: text } });
    expect((await note(report('delayed'))).body).toEqual({ state: 'unchanged' });
    expect((await letters())[0]!.state).toBe('sent');
    expect((await note(report('failed'))).body).toEqual({ state: 'bounced' });
    expect((await note(report('failed'))).body).toEqual({ state: 'bounced' });
    expect((await letters('in-trouble'))[0]).toMatchObject({ state: 'bounced', answer: '5.2.2 552 mailbox is full' });
    expect((await note('Message-ID: <11111111-1111-4111-8111-111111111111@example.org>')).status).toBe(422);
  });

  it('a worker killed at any step of the daily run: each person has the letter of the day once, or it is known to be unsure', async () => {
    /** The work ends here, as when a process is killed: nothing after it happens. */
    class Killed extends Error {}
    const steps: readonly (Step | 'composed' | 'claimed' | 'handing-over' | 'answered')[] = [
      'composed',
      'claimed',
      'connect',
      'mail',
      'rcpt',
      'data',
      'handing-over',
      'accepted',
      'answered',
    ];
    const people = [await walker('Mara'), await service.person(organisationId, ['technician'], { name: 'Tomasz' })];
    await people[1]!.call('changeMailSettings', { body: { atMinutes: 540 } });
    let unsure = 0;
    let seed = 20261130;
    const random = (below: number): number => {
      seed = (seed * 1103515245 + 12345) % 2147483648;
      return seed % below;
    };
    for (let run = 0; run < 100; run++) {
      const at = run * DAY + 61 * 60_000;
      server.taken.length = 0;
      const step = steps[random(steps.length)]!;
      const victim = people[random(2)]!;
      let isDead = false;
      // The database of a dead process takes nothing from it; what was committed stays.
      const guarded = {
        ...service.deps,
        database: {
          ...service.db,
          inTenant: ((scope, work) => {
            if (isDead) throw new Killed();
            return service.db.inTenant(scope, work);
          }) as typeof service.db.inTenant,
          acrossTenants: service.db.acrossTenants.bind(service.db),
        },
        mailer: {
          ...mailer,
          send: ((message, before) => {
            const isVictim = message.to.address === victim.email;
            if (isVictim && step === 'claimed') {
              isDead = true;
              throw new Killed();
            }
            const sent = mailer.send(message, async () => {
              if (isDead) throw new Killed();
              await before?.();
              if (isVictim && step === 'handing-over') {
                isDead = true;
                throw new Killed();
              }
            });
            return sent.then((outcome) => {
              if (isVictim && step === 'answered') isDead = true;
              if (isDead) throw new Killed();
              return outcome;
            });
          }) as Mailer['send'],
        },
      };
      server.behave = (now, to) => {
        const isHere = now === step && (to === victim.email || (to === '' && (now === 'connect' || now === 'mail')));
        if (isHere && !isDead) isDead = true;
        return isDead && isHere ? 'break' : null;
      };
      await inTime(at, async () => {
        const mine = <T extends { organisationId: string }>(all: T[]): T[] =>
          all.filter((one) => one.organisationId === organisationId);
        try {
          for (const payload of mine(await findDailyDue(guarded, 1000))) {
            await composeDailyJob.handle(guarded, payload);
            if (step === 'composed' && payload.personId === victim.personId) {
              isDead = true;
              throw new Killed();
            }
          }
          for (const payload of mine(await findMailToSend(guarded, 1000))) await sendMailJob.handle(guarded, payload);
        } catch (error) {
          if (!(error instanceof Killed)) throw error;
        }
        // The server is well again, and another worker comes.
        server.behave = () => null;
        await sweep();
      });
      for (const later of [2 * 60_000, 6 * 60_000, 12 * 60_000, 2 * HOUR]) await inTime(at + later, sweep);
      const rows = (await letters()).slice(0, 2);
      for (const person of people) {
        const seen = server.taken.filter(({ to }) => to === person.email).length;
        const row = rows.find(({ to }) => to === person.scope.name);
        expect(seen, `run ${run}, killed at ${step}: ${JSON.stringify(row)}`).toBeLessThanOrEqual(1);
        if (row?.state === 'unsure') unsure++;
        else expect([seen, row?.state], `run ${run}, killed at ${step}`).toEqual([1, 'sent']);
      }
    }
    // Only where content may have left: the protocol's own limit.
    expect(unsure).toBeGreaterThan(0);
    expect(unsure).toBeLessThan(50);
  }, 240_000);
});

it('the moment of these tests is a morning in Dublin', () => {
  expect(new Date(Date.parse(TEST_NOW)).toISOString()).toBe('2026-04-23T07:00:00.000Z');
});
