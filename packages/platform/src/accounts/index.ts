/**
 * Accounts: e-mail, password, session cookie, and what a device may still do when its session is gone. Hides the accounts library
 * and its tables (schema auth, reachable by the sweep role only). It knows who somebody is; what they may do in which organisation
 * stands in memberships, behind row-level security.
 */
import { createHash } from 'node:crypto';
import { betterAuth } from 'better-auth';
import { parseCookies } from 'better-auth/cookies';
import pg from 'pg';
import type { Logger } from '../log/index.ts';
import { type HandOverTokens, handOverTokens } from './hand-over-token.ts';

export type { HandOverClaims, HandOverTokens } from './hand-over-token.ts';

export interface Account {
  readonly personId: string;
  readonly name: string;
  readonly email: string;
}

export interface SignedInAccount extends Account {
  /** Names the session without opening it. */
  readonly sessionKey: string;
}

export interface Accounts {
  /** Null: e-mail or password is wrong (which of the two is not told). Cookies go into the reply as they are. */
  signIn(email: string, password: string, headers: Headers): Promise<{ account: SignedInAccount; cookies: string[] } | null>;
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
  return {
    handOver: handOverTokens(options.secret),
    endOfSession,
    async signIn(email, password, headers) {
      try {
        const { headers: reply, response } = await auth.api.signInEmail({
          body: { email, password },
          headers,
          returnHeaders: true,
        });
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
    async endSessions(personId, at) {
      // In one statement: a session is never gone without the record of its end.
      const { rowCount } = await pool.query(
        `WITH gone AS (DELETE FROM session WHERE "userId" = $1 RETURNING token)
         INSERT INTO ended_session (session_key, user_id, ended_at)
         SELECT encode(sha256(convert_to(token, 'UTF8')), 'hex'), $1, $2 FROM gone ON CONFLICT (session_key) DO NOTHING`,
        [personId, new Date(at)],
      );
      return rowCount ?? 0;
    },
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
