/**
 * Accounts: e-mail, password, session cookie, and what a device may still do when its session is gone. Hides the accounts library
 * and its tables (schema auth, reachable by the sweep role only). It knows who somebody is; what they may do in which organisation
 * stands in memberships, behind row-level security.
 */
import { createHash } from 'node:crypto';
import { betterAuth } from 'better-auth';
import { parseCookies } from 'better-auth/cookies';
import { twoFactor } from 'better-auth/plugins/two-factor';
import pg from 'pg';
import type { Logger } from '../log/index.ts';
import { type FailedTries, failedTries } from './failed-tries.ts';
import { type HandOverTokens, handOverTokens } from './hand-over-token.ts';
import { type Tokens, tokensFor } from './tokens.ts';

export type { FailedTries } from './failed-tries.ts';
export type { HandOverClaims, HandOverTokens } from './hand-over-token.ts';
export type { Tokens } from './tokens.ts';

export interface Account {
  readonly personId: string;
  readonly name: string;
  readonly email: string;
}

export interface SignedInAccount extends Account {
  /** Names the session without opening it. */
  readonly sessionKey: string;
}

/** One device that is signed in. */
export interface DeviceSession {
  readonly sessionKey: string;
  readonly since: Date;
  readonly lastAt: Date;
  /** What its browser calls itself. */
  readonly device: string | null;
}

/** What an administrator may know of an account. */
export interface AccountState {
  readonly email: string;
  readonly hasSecondFactor: boolean;
  readonly sessions: number;
  readonly lastAt: Date | null;
}

type SignedIn = { readonly account: SignedInAccount; readonly cookies: string[] };

export interface Accounts {
  /**
   * Null: e-mail or password is wrong (which of the two is not told). account null: the password was right, the code of the second
   * factor is asked for next. Cookies go into the reply as they are.
   */
  signIn(
    email: string,
    password: string,
    headers: Headers,
  ): Promise<SignedIn | { readonly account: null; readonly cookies: string[] } | null>;
  /** The second step, with the cookies of the first. @param code six figures, or one of the spare codes. @returns null: wrong or too late. */
  secondStep(code: string, headers: Headers): Promise<SignedIn | null>;
  /** Begins a second factor; it counts once a first code was right. null: the password is wrong; already: there is one. */
  beginSecondFactor(
    password: string,
    headers: Headers,
  ): Promise<{ readonly uri: string; readonly secret: string; readonly spareCodes: string[] } | 'already' | null>;
  /** @returns cookies of the renewed session; null: the code is wrong. */
  confirmSecondFactor(code: string, headers: Headers): Promise<string[] | null>;
  /** @returns cookies of the renewed session; null: the password is wrong. */
  endSecondFactor(password: string, headers: Headers): Promise<string[] | null>;
  /** Takes a lost second factor off; for an administrator. */
  liftSecondFactor(personId: string): Promise<void>;
  sessionsOf(personId: string): Promise<DeviceSession[]>;
  /** Ends one session of a person. @returns false: it is not theirs or has ended. */
  endSession(personId: string, sessionKey: string, at: number): Promise<boolean>;
  statesOf(personIds: readonly string[]): Promise<ReadonlyMap<string, AccountState>>;
  find(email: string): Promise<Account | null>;
  /** A token that sets a new password, good for an hour and until the password changes; null: no such account. */
  makeRenewal(email: string, now: number): Promise<{ readonly account: Account; readonly token: string } | null>;
  /** Sets the new password, once, and ends every session. @returns null: the token is foreign, too old or used. */
  renewPassword(token: string, password: string, now: number): Promise<Account | null>;
  /** @returns false: the present one is wrong. The session goes on, every other one ends. */
  changePassword(who: SignedInAccount, present: string, next: string, at: number): Promise<boolean>;
  /** Links that are mailed; see {@link Tokens}. */
  readonly tokens: {
    readonly invitation: Tokens<{ organisationId: string; invitationId: string }>;
    readonly unsubscribe: Tokens<{ organisationId: string; personId: string }>;
  };
  /** Ends the session of these headers; returns the cookies that clear it. */
  signOut(headers: Headers): Promise<string[]>;
  /** Cookies go into the reply as they are: once a day they carry the session on for another 14 days. */
  whoIs(headers: Headers): Promise<{ account: SignedInAccount; cookies: string[] } | null>;
  /** Ends every session of a person, on every device. @param at epoch milliseconds. @returns how many there were. */
  endSessions(personId: string, at: number): Promise<number>;
  /** When somebody ended this session, epoch milliseconds; null: nobody did, it may have run out or been left. */
  endOfSession(sessionKey: string): Promise<number | null>;
  /** True when these headers carry a session that somebody ended. */
  wasEnded(headers: Headers): Promise<boolean>;
  readonly handOver: HandOverTokens;
  readonly failedTries: FailedTries;
  /** A new account, or the present one when the e-mail is known. Passwords have 10 to 128 characters. */
  create(account: { email: string; name: string; password: string }): Promise<Account>;
  close(): Promise<void>;
}

/** Opens the accounts store. secret signs the session cookie; publicUrl decides about secure cookies and the allowed origin. */
export function openAccounts(options: { sweepUrl: string; secret: string; publicUrl: string; log: Logger }): Accounts {
  const pool = new pg.Pool({ connectionString: options.sweepUrl, max: 5, options: '-c search_path=auth' });
  pool.on('error', (error) => options.log.warn({ reason: error.message }, 'a database connection was lost'));
  const auth = betterAuth({
    database: pool,
    secret: options.secret,
    baseURL: options.publicUrl,
    basePath: '/api/accounts',
    emailAndPassword: { enabled: true, minPasswordLength: 10, maxPasswordLength: 128 },
    session: { expiresIn: 14 * 86_400, updateAge: 86_400 },
    advanced: {
      database: { generateId: 'uuid' },
      cookiePrefix: 'heatround',
      useSecureCookies: options.publicUrl.startsWith('https:'),
    },
    appName: 'Heatround',
    plugins: [twoFactor({ issuer: 'Heatround' })],
    telemetry: { enabled: false },
    logger: { disabled: true },
  });
  const toAccount = (user: { id: string; name: string; email: string }): Account => ({
    personId: user.id,
    name: user.name,
    email: user.email,
  });
  const endOfSession = async (sessionKey: string): Promise<number | null> => {
    const { rows } = await pool.query<{ at: Date }>('SELECT ended_at AS at FROM ended_session WHERE session_key = $1', [
      sessionKey,
    ]);
    return rows[0]?.at.getTime() ?? null;
  };
  const renewals = tokensFor(options.secret, 'new-password', ['personId', 'seen']);
  const passwordHashOf = async (personId: string): Promise<string | null> => {
    const { rows } = await pool.query<{ password: string | null }>(
      `SELECT password FROM account WHERE "userId" = $1 AND "providerId" = 'credential'`,
      [personId],
    );
    return rows[0]?.password ?? null;
  };
  /** A token is bound to the password it replaces: with that, it is used up. */
  const seenAs = (hash: string): string => createHash('sha256').update(hash).digest('base64url').slice(0, 22);
  const setPassword = async (personId: string, password: string): Promise<void> => {
    const context = await auth.$context;
    await context.internalAdapter.updatePassword(personId, await context.password.hash(password));
  };
  const endSessionsBut = async (personId: string, kept: string | null, at: number): Promise<number> => {
    // In one statement: a session is never gone without the record of its end.
    const { rowCount } = await pool.query(
      `WITH gone AS (DELETE FROM session WHERE "userId" = $1
           AND ($3::text IS NULL OR encode(sha256(convert_to(token, 'UTF8')), 'hex') <> $3) RETURNING token)
         INSERT INTO ended_session (session_key, user_id, ended_at)
         SELECT encode(sha256(convert_to(token, 'UTF8')), 'hex'), $1, $2 FROM gone ON CONFLICT (session_key) DO NOTHING`,
      [personId, new Date(at), kept],
    );
    return rowCount ?? 0;
  };
  /** What was asked of the library, or null where it refuses with one of these. */
  const unless = async <T>(work: Promise<T>, ...statuses: number[]): Promise<T | null> => {
    try {
      return await work;
    } catch (error) {
      if (statuses.includes((error as { statusCode?: number }).statusCode ?? 0)) return null;
      throw error;
    }
  };
  return {
    tokens: {
      invitation: tokensFor(options.secret, 'invitation', ['organisationId', 'invitationId']),
      unsubscribe: tokensFor(options.secret, 'unsubscribe', ['organisationId', 'personId']),
    },
    async secondStep(code, headers) {
      const body = { code: code.replaceAll(' ', '') };
      const isSpare = !/^\d{6}$/.test(body.code);
      const given = await unless(
        isSpare
          ? auth.api.verifyBackupCode({ body, headers, returnHeaders: true })
          : auth.api.verifyTOTP({ body, headers, returnHeaders: true }),
        400,
        401,
        403,
        429,
      );
      if (given?.response.token == null) return null;
      const { user, token } = given.response as { user: { id: string; name: string; email: string }; token: string };
      return { account: { ...toAccount(user), sessionKey: sessionKeyOf(token) }, cookies: given.headers.getSetCookie() };
    },
    async beginSecondFactor(password, headers) {
      const session = await auth.api.getSession({ headers });
      if (session?.user.twoFactorEnabled === true) return 'already';
      const made = await unless(auth.api.enableTwoFactor({ body: { password, method: 'totp' }, headers }), 400, 401);
      if (made === null || made.method !== 'totp') return null;
      const uri = made.totpURI;
      return { uri, secret: new URL(uri).searchParams.get('secret')!, spareCodes: made.backupCodes };
    },
    async confirmSecondFactor(code, headers) {
      const body = { code: code.replaceAll(' ', '') };
      const given = await unless(auth.api.verifyTOTP({ body, headers, returnHeaders: true }), 400, 401, 403, 429);
      return given?.headers.getSetCookie() ?? null;
    },
    async endSecondFactor(password, headers) {
      const given = await unless(auth.api.disableTwoFactor({ body: { password }, headers, returnHeaders: true }), 400, 401);
      return given?.headers.getSetCookie() ?? null;
    },
    async liftSecondFactor(personId) {
      await pool.query('DELETE FROM "twoFactor" WHERE "userId" = $1', [personId]);
      await pool.query('UPDATE "user" SET "twoFactorEnabled" = false WHERE id = $1', [personId]);
    },
    async sessionsOf(personId) {
      const { rows } = await pool.query<{ token: string; since: Date; lastAt: Date; device: string | null }>(
        `SELECT token, "createdAt" AS since, "updatedAt" AS "lastAt", "userAgent" AS device FROM session
         WHERE "userId" = $1 AND "expiresAt" > now() ORDER BY "updatedAt" DESC, id LIMIT 50`,
        [personId],
      );
      return rows.map(({ token, ...row }) => ({ ...row, sessionKey: sessionKeyOf(token) }));
    },
    async endSession(personId, sessionKey, at) {
      const { rowCount } = await pool.query(
        `WITH gone AS (DELETE FROM session WHERE "userId" = $1 AND encode(sha256(convert_to(token, 'UTF8')), 'hex') = $3 RETURNING 1)
         INSERT INTO ended_session (session_key, user_id, ended_at) SELECT $3, $1, $2 FROM gone ON CONFLICT (session_key) DO NOTHING`,
        [personId, new Date(at), sessionKey],
      );
      return (rowCount ?? 0) > 0;
    },
    async statesOf(personIds) {
      const { rows } = await pool.query<AccountState & { id: string }>(
        `SELECT u.id, u.email, u."twoFactorEnabled" AS "hasSecondFactor", s.sessions, s."lastAt" FROM "user" u
           CROSS JOIN LATERAL (SELECT count(*)::int AS sessions, max(s."updatedAt") AS "lastAt" FROM session s
             WHERE s."userId" = u.id AND s."expiresAt" > now()) s
         WHERE u.id = ANY ($1::uuid[])`,
        [[...personIds]],
      );
      return new Map(rows.map(({ id, ...state }) => [id, state]));
    },
    async find(email) {
      const context = await auth.$context;
      const known = await context.internalAdapter.findUserByEmail(email.toLowerCase());
      return known ? toAccount(known.user) : null;
    },
    async makeRenewal(email, at) {
      const account = await this.find(email);
      const hash = account === null ? null : await passwordHashOf(account.personId);
      if (account === null || hash === null) return null;
      const claims = { personId: account.personId, seen: seenAs(hash) };
      return { account, token: await renewals.make(claims, at + 3_600_000) };
    },
    async renewPassword(token, password, at) {
      const claims = await renewals.read(token, at);
      if (typeof claims === 'string') return null;
      const hash = await passwordHashOf(claims.personId);
      if (hash === null || seenAs(hash) !== claims.seen) return null;
      await setPassword(claims.personId, password);
      await endSessionsBut(claims.personId, null, at);
      const { rows } = await pool.query<{ id: string; name: string; email: string }>(
        'SELECT id, name, email FROM "user" WHERE id = $1',
        [claims.personId],
      );
      return toAccount(rows[0]!);
    },
    async changePassword(who, present, next, at) {
      const context = await auth.$context;
      const hash = await passwordHashOf(who.personId);
      if (hash === null || !(await context.password.verify({ hash, password: present }))) return false;
      await setPassword(who.personId, next);
      await endSessionsBut(who.personId, who.sessionKey, at);
      return true;
    },
    handOver: handOverTokens(options.secret),
    failedTries: failedTries(pool, options.secret),
    endOfSession,
    async signIn(email, password, headers) {
      try {
        const { headers: reply, response } = await auth.api.signInEmail({
          body: { email, password },
          headers,
          returnHeaders: true,
        });
        // With a second factor the library answers with a promise of the next step instead of a session.
        if ((response as { twoFactorRedirect?: boolean }).twoFactorRedirect === true)
          return { account: null, cookies: reply.getSetCookie() };
        const account = { ...toAccount(response.user), sessionKey: sessionKeyOf(response.token) };
        return { account, cookies: reply.getSetCookie() };
      } catch (error) {
        if ((error as { statusCode?: number }).statusCode === 401) return null;
        throw error;
      }
    },
    async signOut(headers) {
      const { headers: reply } = await auth.api.signOut({ headers, returnHeaders: true });
      return reply.getSetCookie();
    },
    async whoIs(headers) {
      if (!headers.has('cookie')) return null;
      const { headers: reply, response } = await auth.api.getSession({ headers, returnHeaders: true });
      if (!response) return null;
      const account = { ...toAccount(response.user), sessionKey: sessionKeyOf(response.session.token) };
      return { account, cookies: reply.getSetCookie() };
    },
    async wasEnded(headers) {
      const { authCookies } = await auth.$context;
      const cookie = parseCookies(headers.get('cookie') ?? '').get(authCookies.sessionToken.name);
      // Token and signature; only who held the session knows the token.
      const token = cookie?.split('.')[0];
      return token !== undefined && token !== '' && (await endOfSession(sessionKeyOf(token))) !== null;
    },
    endSessions: (personId, at) => endSessionsBut(personId, null, at),
    async create({ email, name, password }) {
      const context = await auth.$context;
      const known = await context.internalAdapter.findUserByEmail(email, { includeAccounts: true });
      // An account whose making was cut short has no password yet and is completed.
      if (known?.accounts.some((one) => one.providerId === 'credential')) return toAccount(known.user);
      const fresh = { email: email.toLowerCase(), name, emailVerified: true };
      const user = known?.user ?? (await context.internalAdapter.createUser(fresh, { method: 'email-password' }));
      const hash = await context.password.hash(password);
      await context.internalAdapter.linkAccount({
        userId: user.id,
        providerId: 'credential',
        accountId: user.id,
        password: hash,
      });
      return toAccount(user);
    },
    close: () => pool.end(),
  };
}

/** A session by a name that opens nothing: what endSessions computes in the database. */
const sessionKeyOf = (token: string): string => createHash('sha256').update(token).digest('hex');
