/**
 * Every setting of the service, read once from the environment at start. Names carry their unit. A wrong setting never gets far:
 * `loadConfig` refuses with the whole list of what is wrong. The same names, with working development values, stand in
 * `.env.example`; a house test keeps the two equal.
 */
import { resolve } from 'node:path';
import * as z from 'zod';
import { StartRefusal } from './start-refusal.ts';

export { installationSecret } from './installation-secret.ts';
export { StartRefusal } from './start-refusal.ts';

/** An empty variable counts as one that is not set. */
const optional = <T extends z.ZodType>(schema: T) =>
  z.preprocess((value) => (value === '' ? undefined : value), schema.optional());
const withDefault = <T extends z.ZodType>(schema: T, value: string) =>
  z.preprocess((given) => (given === undefined || given === '' ? value : given), schema);

const wholeNumber = (lowest: number, highest: number) =>
  z
    .string()
    .regex(/^\d+$/, 'must be a whole number')
    .transform(Number)
    .refine((n) => n >= lowest && n <= highest, `must be between ${lowest} and ${highest}`);

const urlOf = (...protocols: string[]) =>
  z
    .string()
    .refine(
      (value) => URL.canParse(value) && protocols.includes(new URL(value).protocol),
      `must be an address beginning with ${protocols.map((protocol) => `${protocol}//`).join(' or ')}`,
    );

const schema = z.object({
  PORT: withDefault(wholeNumber(1, 65535), '4600'),
  HOST: withDefault(z.string(), '127.0.0.1'),
  PUBLIC_URL: optional(urlOf('http:', 'https:')),
  HEATROUND_DATA: withDefault(z.string(), '.data'),
  HEATROUND_SECRET: optional(z.string().min(32, 'must have at least 32 characters')),
  HEATROUND_DEMO: withDefault(z.enum(['first-start', 'never']), 'first-start'),
  FIRST_ORGANISATION: optional(z.string().trim().min(1).max(200)),
  FIRST_ADMINISTRATOR: optional(z.email('must be an e-mail address')),
  DATABASE_URL: optional(urlOf('postgres:', 'postgresql:')),
  DATABASE_ROLE_PREFIX: withDefault(
    z.string().regex(/^[a-z][a-z0-9_]{0,39}$/, 'must be lower-case letters, digits and underscores'),
    'heatround',
  ),
  REDIS_URL: optional(urlOf('redis:', 'rediss:')),
  SMTP_URL: optional(urlOf('smtp:', 'smtps:')),
  MAIL_FROM: withDefault(
    z.string().regex(/^[^\r\n]*[^\s<>@]+@[^\s<>@]+>?$/, 'must be an address, such as Heatround <rounds@example.org>'),
    'Heatround <heatround@localhost>',
  ),
  LOG_LEVEL: withDefault(z.enum(['debug', 'info', 'warn', 'error', 'silent']), 'info'),
  SWEEP_INTERVAL_SECONDS: withDefault(wholeNumber(1, 3600), '30'),
  WORKER_CONCURRENCY: withDefault(wholeNumber(1, 64), '4'),
  PROXY_HOPS: withDefault(wholeNumber(0, 10), '0'),
  METRICS_TOKEN: optional(z.string().regex(/^\S{24,}$/, 'must have at least 24 characters, none of them blank')),
  API_URL: withDefault(urlOf('http:'), 'http://127.0.0.1:4601'),
});

/** The names of every setting, for the test that compares them with `.env.example`. */
export const CONFIG_NAMES: readonly string[] = Object.keys(schema.shape);

export interface Config {
  /** TCP port of the service. */
  port: number;
  /** Network address listened on: `0.0.0.0` for every device in the network, `127.0.0.1` for this machine only. */
  host: string;
  /** The address people type, as it stands in links and mails. */
  publicUrl: string;
  /** Absolute path of the folder that holds the database, the pictures and the secret. */
  dataFolder: string;
  /** Signs sessions and derives the database passwords; when absent, one is made and kept in the data folder. */
  secret: string | undefined;
  /** Whether an empty installation is filled with the demo organisation. */
  demo: 'first-start' | 'never';
  /** Made in an empty installation, with an invitation for its administrator; both or neither. */
  first: { organisation: string; administrator: string } | undefined;
  /** A PostgreSQL server of one's own; when absent, the built-in one is used. */
  databaseUrl: string | undefined;
  /** Begin of the names of the two database users made for the service. */
  databaseRolePrefix: string;
  /** A Redis server for the job queue; when absent, the queue lives in PostgreSQL. */
  redisUrl: string | undefined;
  /** The server that takes mail; when absent, mail is kept in the data folder and shown in the client. */
  smtpUrl: string | undefined;
  /** The sender of mail. */
  mailFrom: string;
  logLevel: 'debug' | 'info' | 'warn' | 'error' | 'silent';
  sweepIntervalSeconds: number;
  /** How many jobs are worked at a time. */
  workerConcurrency: number;
  /** How many proxies stand in front; of the addresses they name, that many are believed. */
  proxyHops: number;
  /** Shown by whoever reads `/metrics`; when absent, only this machine may. */
  metricsToken: string | undefined;
  /** Where the part `web` finds the API; other parts do not look at it. */
  apiUrl: string;
}

/**
 * Reads the settings.
 *
 * @param env normally that of the process; unknown variables are ignored.
 * @throws StartRefusal naming everything that is wrong at once.
 */
export function loadConfig(env: Record<string, string | undefined>): Config {
  const parsed = schema.safeParse(env);
  if (!parsed.success) {
    const lines = parsed.error.issues.map((issue) => `  ${issue.path.join('.')} ${issue.message}`);
    throw new StartRefusal(`The settings cannot be used (see .env.example for working values):\n${lines.join('\n')}`);
  }
  const set = parsed.data;
  if ((set.FIRST_ORGANISATION === undefined) !== (set.FIRST_ADMINISTRATOR === undefined))
    throw new StartRefusal('FIRST_ORGANISATION and FIRST_ADMINISTRATOR belong together: set both, or neither.');
  return {
    port: set.PORT,
    host: set.HOST,
    publicUrl: (set.PUBLIC_URL ?? `http://localhost:${set.PORT}`).replace(/\/+$/, ''),
    dataFolder: resolve(set.HEATROUND_DATA),
    secret: set.HEATROUND_SECRET,
    demo: set.HEATROUND_DEMO,
    first:
      set.FIRST_ORGANISATION === undefined || set.FIRST_ADMINISTRATOR === undefined
        ? undefined
        : { organisation: set.FIRST_ORGANISATION, administrator: set.FIRST_ADMINISTRATOR },
    databaseUrl: set.DATABASE_URL,
    databaseRolePrefix: set.DATABASE_ROLE_PREFIX,
    redisUrl: set.REDIS_URL,
    smtpUrl: set.SMTP_URL,
    mailFrom: set.MAIL_FROM,
    logLevel: set.LOG_LEVEL,
    sweepIntervalSeconds: set.SWEEP_INTERVAL_SECONDS,
    workerConcurrency: set.WORKER_CONCURRENCY,
    proxyHops: set.PROXY_HOPS,
    metricsToken: set.METRICS_TOKEN,
    apiUrl: set.API_URL,
  };
}

const withoutPassword = (address: string): string => {
  const url = new URL(address);
  if (url.password) url.password = '***';
  url.search = '';
  return url.href;
};

/** The settings as they may be shown in a log: no secret, no password. */
export function describeConfig(config: Config): Record<string, string | number> {
  return {
    port: config.port,
    host: config.host,
    publicUrl: config.publicUrl,
    dataFolder: config.dataFolder,
    secretFrom: config.secret === undefined ? 'data folder' : 'settings',
    demo: config.demo,
    database: config.databaseUrl === undefined ? 'built in' : withoutPassword(config.databaseUrl),
    databaseRolePrefix: config.databaseRolePrefix,
    queue: config.redisUrl === undefined ? 'in the database' : withoutPassword(config.redisUrl),
    mail: config.smtpUrl === undefined ? 'kept in the data folder' : withoutPassword(config.smtpUrl),
    logLevel: config.logLevel,
    sweepIntervalSeconds: config.sweepIntervalSeconds,
    workerConcurrency: config.workerConcurrency,
    proxyHops: config.proxyHops,
    metrics: config.metricsToken === undefined ? 'this machine' : 'with a token',
  };
}
