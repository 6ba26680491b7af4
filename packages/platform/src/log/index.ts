/**
 * The log: one JSON line per event on standard output, a constant message plus fields, so that lines can be counted and searched.
 * info = something a supervisor would tell, warn = handled but unusual, error = somebody must act. Secrets, tokens, bodies and
 * addresses are never logged; what slips into a known field is blanked here.
 */
import { type DestinationStream, pino } from 'pino';

export type LogLevel = 'debug' | 'info' | 'warn' | 'error' | 'silent';

type Write = {
  (fields: object, message: string): void;
  (message: string): void;
};

/** What the rest of the service may do with the log. */
export interface Logger {
  debug: Write;
  info: Write;
  warn: Write;
  error: Write;
  /** A log whose every line carries these fields, such as `organisationId` or `requestId`. */
  child(fields: Record<string, unknown>): Logger;
}

const BLANKED = ['password', 'secret', 'token', 'email', 'authorization', 'cookie'].flatMap((name) => [name, `*.${name}`]);

/**
 * @param level lines below it are not written.
 * @param destination where lines go; standard output when omitted.
 */
export function createLog(level: LogLevel, destination?: DestinationStream): Logger {
  const options = {
    level,
    base: null,
    timestamp: () => `,"time":"${new Date().toISOString()}"`,
    formatters: { level: (label: string) => ({ level: label }) },
    serializers: { err: describeError },
    redact: { paths: BLANKED, censor: '[blanked]' },
  };
  return destination ? pino(options, destination) : pino(options);
}

/** Libraries hang whole connections on their errors; only these fields are worth a line, and none of them is secret. */
function describeError(error: unknown): unknown {
  if (!(error instanceof Error)) return error;
  const { code } = error as { code?: unknown };
  // The database quotes a value that it could not read: after a colon, while names of its own follow a word.
  const message = error.message.replace(/: "[\s\S]*"/, ': "[blanked]"');
  const stack = error.stack?.replace(error.message, message);
  return { type: error.name, message, ...(code === undefined ? {} : { code }), stack };
}

/** A log that says nothing, for tests that do not look at it. */
export const silentLog: Logger = createLog('silent');
