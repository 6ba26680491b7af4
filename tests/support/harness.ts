/**
 * The service in a test: its own database, the real API, a clock that stands still. People sign in through the real endpoint and
 * call endpoints by name; the worker is real where a test asks for it, otherwise `concludeAll` does its work at once.
 */
import { randomUUID } from 'node:crypto';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { type EndpointDescription, endpoints, ORGANISATION_HEADER } from '@heatround/contract';
import { completePoint, type Fact, type PointDraft, type Role, uuidV7 } from '@heatround/domain';
import { type Accounts, openAccounts } from '@heatround/platform/accounts';
import { type FixedClock, fixedClock } from '@heatround/platform/clock';
import { type Database, openDatabase } from '@heatround/platform/database';
import { type Jobs, openJobs } from '@heatround/platform/jobs';
import { type Logger, silentLog } from '@heatround/platform/log';
import { type Mailer, openMailer } from '@heatround/platform/mail';
import { openMetrics } from '@heatround/platform/metrics';
import type { NewAsset } from '@heatround/services/assets';
import { createAsset, createBuilding, createRoom, createSite } from '@heatround/services/assets';
import type { Deps, Scope } from '@heatround/services/deps';
import { createOrganisation, openScope, setMembership } from '@heatround/services/identity';
import type { LimitDraft } from '@heatround/services/limits';
import { reactTo } from '@heatround/services/reactions';
import { concludePoints, findDueConclusions } from '@heatround/services/trends';
import type { FastifyInstance } from 'fastify';
import { buildApp } from '../../apps/api/src/app.ts';
import { startWorker } from '../../apps/worker/src/main.ts';
import { freshDatabase, type TestDatabase } from './database.ts';

export const TEST_NOW = '2026-04-23T07:00:00Z';
export const TEST_PASSWORD = 'a password for tests';

type Name = keyof typeof endpoints;

export interface CallOptions {
  readonly params?: Record<string, string>;
  readonly query?: Record<string, string>;
  readonly body?: unknown;
  /** Null: no header. Default: the person's first organisation. */
  readonly organisationId?: string | null;
}

export interface Reply {
  readonly status: number;
  // biome-ignore lint/suspicious/noExplicitAny: a test says what it expects of a reply
  readonly body: any;
  readonly headers: Record<string, string | string[] | number | undefined>;
}

export interface Person {
  readonly personId: string;
  readonly email: string;
  readonly cookie: string;
  readonly scope: Scope;
  call(endpoint: Name, options?: CallOptions): Promise<Reply>;
  /** Hands in facts and answers with their outcomes. */
  submit(facts: readonly unknown[]): Promise<Reply>;
}

export interface Harness {
  readonly database: TestDatabase;
  readonly db: Database;
  readonly app: FastifyInstance;
  readonly deps: Deps & { accounts: Accounts; mailer: Mailer; publicUrl: string };
  readonly jobs: Jobs | null;
  readonly clock: FixedClock;
  /** Address, when listening. */
  readonly url: string;
  organisation(name?: string): Promise<{ id: string; roomId: string; siteId: string; buildingId: string }>;
  person(
    organisationId: string,
    roles: readonly Role[],
    extra?: { siteIds?: string[]; name?: string; endsAt?: number },
  ): Promise<Person>;
  /** The same person in a further organisation. */
  join(person: Person, organisationId: string, roles: readonly Role[]): Promise<Person>;
  /** An asset with points; limits default to 70/80/90/100 from 2025 on. */
  asset(
    planner: Person,
    roomId: string,
    over?: Partial<Omit<NewAsset, 'points'>> & { points?: TestPoint[] },
  ): Promise<{ id: string; pointIds: string[] }>;
  call(endpoint: Name, options?: CallOptions & { cookie?: string }): Promise<Reply>;
  /** Concludes whatever lags behind, as the worker would. */
  concludeAll(): Promise<number>;
  close(): Promise<void>;
}

export type TestPoint = Partial<Omit<PointDraft, 'id'>> & {
  id?: string;
  limits?: (Partial<LimitDraft> & { id?: string })[];
  spot?: string;
};

export async function startService(
  options: {
    withWorker?: boolean;
    listen?: boolean;
    web?: boolean;
    redisUrl?: string;
    database?: TestDatabase;
    metricsToken?: string;
    log?: Logger;
    mailer?: Mailer;
  } = {},
): Promise<Harness> {
  const database = options.database ?? (await freshDatabase());
  const clock = fixedClock(TEST_NOW);
  const log = options.log ?? silentLog;
  const { app: appUrl, sweep: sweepUrl } = database.urls;
  const jobs = options.withWorker ? openJobs({ databaseUrl: appUrl, redisUrl: options.redisUrl, log }) : null;
  const db = openDatabase({ appUrl, sweepUrl, log, ...(jobs ? { afterCommit: reactTo(jobs) } : {}) });
  const accounts = openAccounts({ sweepUrl, secret: database.secret, publicUrl: 'http://127.0.0.1', log });
  // Kept letters of tests that do not look at them are thrown away with the folder of the run.
  const mailer =
    options.mailer ??
    openMailer({ from: 'Heatround <rounds@example.org>', folder: join(tmpdir(), `heatround-mail-${process.pid}`) });
  const deps = { database: db, accounts, clock, log, mailer, publicUrl: 'http://127.0.0.1', metrics: openMetrics() };
  const worker = jobs ? await startWorker({ ...deps, jobs, config: { workerConcurrency: 2, sweepIntervalSeconds: 1 } }) : null;
  const app = await buildApp({
    deps: { ...deps, jobs: jobs ?? undefined },
    ready: { queue: async () => void (await jobs?.counts()), migrations: () => db.migrationsAreDone() },
    metricsToken: options.metricsToken,
    requestsPerMinute: 1_000_000,
    signInsPerMinute: 1_000_000,
    handOversPerMinute: 1_000_000,
    ...(options.web ? { webFolder: resolve(import.meta.dirname, '../../apps/web/dist') } : {}),
  });
  if (options.listen) await app.listen({ port: 0, host: '127.0.0.1' });
  await app.ready();

  const call: Harness['call'] = async (name, { params = {}, query = {}, body, organisationId = null, cookie } = {}) => {
    const endpoint: EndpointDescription = endpoints[name];
    const path = endpoint.path.replace(/:(\w+)/g, (_, key: string) => encodeURIComponent(params[key] ?? `missing-${key}`));
    const reply = await app.inject({
      method: endpoint.method,
      url: path,
      query,
      headers: { ...(cookie ? { cookie } : {}), ...(organisationId ? { [ORGANISATION_HEADER]: organisationId } : {}) },
      ...(body === undefined ? {} : { payload: body as object }),
    });
    const isJson = /json/.test(String(reply.headers['content-type'] ?? ''));
    const parsed = reply.body === '' ? null : isJson ? JSON.parse(reply.body) : reply.rawPayload;
    return { status: reply.statusCode, body: parsed, headers: reply.headers };
  };

  let count = 0;
  const person: Harness['person'] = async (organisationId, roles, extra = {}) => {
    const email = `person-${++count}-${randomUUID().slice(0, 8)}@example.org`;
    const { name = `Person ${count}`, ...rest } = extra;
    const { personId } = await accounts.create({ email, name, password: TEST_PASSWORD });
    await setMembership(deps, { organisationId, personId, name, roles, ...rest });
    const signedIn = await call('signIn', { body: { email, password: TEST_PASSWORD } });
    if (signedIn.status !== 200) throw new Error(`sign-in failed: ${JSON.stringify(signedIn.body)}`);
    const cookie = [signedIn.headers['set-cookie']]
      .flat()
      .map((one) => String(one).split(';')[0])
      .join('; ');
    return personIn(organisationId, { personId, email, cookie });
  };
  const personIn = async (organisationId: string, who: Pick<Person, 'personId' | 'email' | 'cookie'>): Promise<Person> => {
    const scope = await openScope(deps, who.personId, organisationId);
    const own: Person['call'] = (endpoint, given = {}) => call(endpoint, { cookie: who.cookie, organisationId, ...given });
    return { ...who, scope, call: own, submit: (facts) => own('submitFacts', { body: { facts } }) };
  };

  return {
    database,
    db,
    app,
    deps,
    jobs,
    clock,
    url: options.listen ? app.listeningOrigin : '',
    async organisation(name = 'Quarrymill Estates') {
      const id = randomUUID();
      await createOrganisation(deps, { id, name });
      const scope: Scope = {
        organisationId: id,
        siteIds: null,
        personId: randomUUID(),
        name: 'Set-up',
        roles: ['planner'],
        clockOffsetMs: 0,
      };
      const [siteId, buildingId, roomId] = [randomUUID(), randomUUID(), randomUUID()];
      await createSite(deps, scope, { id: siteId, name: 'Mill', zone: 'Europe/Dublin' });
      await createBuilding(deps, scope, { id: buildingId, siteId, name: 'Engine house' });
      await createRoom(deps, scope, { id: roomId, buildingId, name: 'Pump room' });
      return { id, siteId, buildingId, roomId };
    },
    person,
    async join({ personId, email, cookie, scope }, organisationId, roles) {
      await setMembership(deps, { organisationId, personId, name: scope.name, roles });
      return personIn(organisationId, { personId, email, cookie });
    },
    async asset(planner, roomId, { points = [{}], ...over } = {}) {
      const id = over.id ?? randomUUID();
      const made = points.map(({ limits, spot = '', ...point }, index) => ({
        point: {
          letter: 'abcdefgh'[index]!,
          name: `Bearing ${index + 1}`,
          quantity: 'temperature' as const,
          ...point,
          id: point.id ?? randomUUID(),
        },
        spot,
        limits: (limits ?? [{}]).map((limit) => ({ ...testLimits(), ...limit })),
      }));
      await createAsset(deps, planner.scope, {
        id,
        roomId,
        tag: `T-${id.slice(0, 8)}`,
        name: 'Feed pump',
        template: null,
        criticality: 'B',
        criticalityReason: 'a standby exists',
        lifeSafety: false,
        hazards: [],
        ...over,
        points: made,
      });
      return { id, pointIds: made.map(({ point }) => point.id) };
    },
    call,
    async concludeAll() {
      let done = 0;
      for (;;) {
        const due = await findDueConclusions({ database: db }, 1000);
        if (due.length === 0) return done;
        for (const { organisationId, pointIds } of due) await concludePoints(deps, { organisationId, siteIds: null }, pointIds);
        done += due.flatMap(({ pointIds }) => pointIds).length;
      }
    },
    async close() {
      await worker?.close();
      await app.close();
      await jobs?.close();
      await accounts.close();
      await db.close();
      await database.drop();
    },
  };
}

export const testLimits = (): LimitDraft => ({
  id: randomUUID(),
  criterion: 'absolute',
  direction: 'high',
  watch: 70,
  plan: 80,
  soon: 90,
  now: 100,
  source: 'Common practice for grease-lubricated bearings',
  reason: 'Grease life falls fast above 70 °C.',
  validFrom: Date.parse('2025-01-01T00:00:00Z'),
  reviewOn: null,
  origin: 'point',
});

let made = 0;
/** An id as a phone makes it. */
export const factId = (at: string = TEST_NOW) =>
  uuidV7(Date.parse(at), new Uint8Array([...crypto.getRandomValues(new Uint8Array(8)), ++made % 256, (made >> 8) % 256]));

/** A reading as a phone sends it. */
export function readingFact(pointId: string, value: string, over: Record<string, unknown> = {}): Fact {
  const takenAt = (over.takenAt as string | undefined) ?? TEST_NOW;
  return {
    kind: 'reading-taken',
    id: factId(takenAt),
    takenAt,
    clock: { deviceAt: takenAt, monotonicMs: 1000, offsetMs: 0 },
    pointId,
    inputs: { value: { text: value, unit: '°C' } },
    conditions: { load: { text: '100', unit: '%' }, ambient: { text: '20', unit: '°C' } },
    running: true,
    ...over,
  } as Fact;
}

/** A whole point for tests of pure functions. */
export const testPoint = (over: Partial<PointDraft> = {}) =>
  completePoint({ id: randomUUID(), letter: 'a', name: 'Bearing', quantity: 'temperature', ...over });

export const REPOSITORY = join(import.meta.dirname, '../..');
