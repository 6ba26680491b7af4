/** Every refusal the service can express. A new code does not compile until the API knows its HTTP status and its remedy. */
export const PROBLEM_CODES = [
  'unreadable-request',
  'invalid-request',
  'not-signed-in',
  'access-ended',
  'wrong-sign-in',
  'not-found',
  'not-allowed',
  'tag-taken',
  'letter-taken',
  'name-taken',
  'limits-refused',
  'stale-version',
  'import-state',
  'move-not-allowed',
  'reason-needed',
  'rule-refused',
  'too-large',
  'too-many-requests',
  'unavailable',
  'foreign-origin',
] as const;
export type ProblemCode = (typeof PROBLEM_CODES)[number];

/** One thing that was wrong: where, what was expected, what was found. */
export interface ProblemDetail {
  /** JSON pointer into the request, such as #/facts/0/inputs/value */
  readonly pointer: string;
  readonly detail: string;
}

/**
 * A refusal: something a caller asked for cannot be done, and why. Expected outcomes are return values; bugs are other errors.
 * @example throw new Problem('tag-taken', 'B-IRO-01 is already used.', [{ pointer: '#/tag', detail: 'choose another tag' }])
 */
export class Problem extends Error {
  readonly code: ProblemCode;
  readonly errors: readonly ProblemDetail[];
  /** Further members of the problem document, for instance the present state after a stale write. */
  readonly extra: Readonly<Record<string, unknown>>;

  constructor(
    code: ProblemCode,
    detail: string,
    errors: readonly ProblemDetail[] = [],
    extra: Readonly<Record<string, unknown>> = {},
  ) {
    super(detail);
    this.name = 'Problem';
    this.code = code;
    this.errors = errors;
    this.extra = extra;
  }
}
