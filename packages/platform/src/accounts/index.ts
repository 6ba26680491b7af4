/**
 * Accounts: e-mail, password, session cookie. Hides the accounts library and its tables (schema auth, reachable by the sweep
 * role only). It knows who somebody is; what they may do in which organisation stands in memberships, behind row-level security.
 */
import { betterAuth } from 'better-auth';
import pg from 'pg';
import type { Logger } from '../log/index.ts';

export interface Account {
  readonly personId: string;
  readonly name: string;
  readonly email: string;
}

export interface Accounts {
  /** Null: e-mail or password is wrong (which of the two is not told). Cookies go into the reply as they are. */
  signIn(email: string, password: string, headers: Headers): Promise<{ account: Account; cookies: string[] } | null>;
  /** Ends the session of these headers; returns the cookies that clear it. */
  signOut(headers: Headers): Promise<string[]>;
  whoIs(headers: Headers): Promise<Account | null>;
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
  return {
    async signIn(email, password, headers) {
      try {
        const { headers: reply, response } = await auth.api.signInEmail({
          body: { email, password },
          headers,
          returnHeaders: true,
        });
        return { account: toAccount(response.user), cookies: reply.getSetCookie() };
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
      const session = await auth.api.getSession({ headers });
      return session ? toAccount(session.user) : null;
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
