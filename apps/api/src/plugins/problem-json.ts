import { Problem, type ProblemCode } from '@heatround/domain';
import type { FastifyError, FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { hasZodFastifySchemaValidationErrors } from 'fastify-type-provider-zod';
import { TooManyTries } from './failed-tries.ts';

/** The only place that turns refusals into HTTP. A new code does not compile until it stands here. */
export const HTTP = {
  'unreadable-request': {
    status: 400,
    title: 'Unreadable request',
    remedy: 'Send well-formed JSON with content type application/json.',
  },
  'invalid-request': {
    status: 422,
    title: 'Invalid request',
    remedy: 'Each entry of errors points at a place and says what was expected there.',
  },
  'not-signed-in': { status: 401, title: 'Not signed in', remedy: 'Sign in again; what is on the device stays there.' },
  'access-ended': {
    status: 401,
    title: 'Access ended',
    remedy: 'Somebody ended this session. What the device still holds can be handed over with its token; a planner looks at it.',
  },
  'wrong-sign-in': { status: 401, title: 'Wrong e-mail or password', remedy: 'Check both; which of them is wrong is not told.' },
  'not-found': {
    status: 404,
    title: 'Not found',
    remedy: 'Missing and foreign things look alike: check the id and the organisation.',
  },
  'not-allowed': { status: 403, title: 'Not allowed', remedy: 'Ask somebody who holds the right named in detail.' },
  'tag-taken': { status: 409, title: 'Tag taken', remedy: 'Choose another tag; case, blanks and old tags count.' },
  'letter-taken': { status: 409, title: 'Letter taken', remedy: 'Choose another letter for the point.' },
  'name-taken': { status: 409, title: 'Name taken', remedy: 'Choose another name.' },
  'limits-refused': {
    status: 422,
    title: 'Limits refused',
    remedy: 'Give source and reason, and figures in order from Watch to Now.',
  },
  'stale-version': {
    status: 412,
    title: 'Changed meanwhile',
    remedy: 'Read the present state, then send your change with its version.',
  },
  'import-state': {
    status: 409,
    title: 'Not at this step',
    remedy: 'The detail names the step the import is at and what may follow.',
  },
  'move-not-allowed': {
    status: 409,
    title: 'Not from this state',
    remedy: 'allowed names the moves that are open to you now.',
  },
  'reason-needed': {
    status: 422,
    title: 'A word is missing',
    remedy: 'Give what the detail asks for: a reason, a cause, a date.',
  },
  'rule-refused': {
    status: 422,
    title: 'Recurrence refused',
    remedy: 'Each entry of errors names the part and gives an example.',
  },
  'too-large': { status: 413, title: 'Too large', remedy: 'Send less at once; the detail says how much is taken.' },
  'too-many-requests': { status: 429, title: 'Too many requests', remedy: 'Wait as long as Retry-After says.' },
  unavailable: { status: 503, title: 'Not available now', remedy: 'Try again in a moment; nothing was changed.' },
  'foreign-origin': {
    status: 403,
    title: 'From another page',
    remedy: 'Open the service at its own address and do it there. Programs leave the headers Origin and Sec-Fetch-Site out.',
  },
} satisfies Record<ProblemCode, { status: number; title: string; remedy: string }>;

function send(request: FastifyRequest, reply: FastifyReply, problem: Problem): FastifyReply {
  const { status, title } = HTTP[problem.code];
  return reply
    .status(status)
    .type('application/problem+json')
    .send(
      JSON.stringify({
        ...problem.extra,
        type: `/problems/${problem.code}`,
        title,
        status,
        detail: problem.message,
        instance: request.url.split('?')[0],
        requestId: request.id,
        ...(problem.errors.length > 0 ? { errors: problem.errors } : {}),
      }),
    );
}

/** What the framework or the database found wrong, as one of our refusals; null for a bug. */
function asProblem(error: FastifyError): Problem | null {
  if (error instanceof Problem) return error;
  if (hasZodFastifySchemaValidationErrors(error)) {
    const errors = error.validation.map(({ instancePath, message }) => ({
      pointer: `#${instancePath}`,
      detail: message ?? 'not as expected',
    }));
    return new Problem(
      'invalid-request',
      `Something in the ${error.validationContext ?? 'request'} is not as expected; nothing was changed.`,
      errors,
    );
  }
  // Only the files of the client answer so: an address that would lead out of their folder.
  if (error.statusCode === 403 || error.statusCode === 404) return new Problem('not-found', 'There is nothing at this address.');
  if (error.statusCode === 413) return new Problem('too-large', 'The request is larger than this endpoint takes.');
  if (error.statusCode === 429) return new Problem('too-many-requests', error.message);
  if (error.statusCode === 415 || error.code?.startsWith('FST_ERR_CTP') || error.statusCode === 400) {
    return new Problem('unreadable-request', 'The request could not be read as JSON; nothing was changed.');
  }
  if (/P2024|P2028|ECONNREFUSED|57P0[123]|Can't reach database|Connection terminated/.test(`${error.code} ${error.message}`)) {
    return new Problem('unavailable', 'The database does not answer right now; nothing was changed.');
  }
  return null;
}

/** Errors as RFC 9457 problem documents; a bug is told in the log only. */
export function problemJson(app: FastifyInstance): void {
  app.setErrorHandler((error: FastifyError, request, reply) => {
    const problem = asProblem(error);
    if (problem) {
      if (problem.code === 'unavailable') void reply.header('retry-after', '5');
      if (problem instanceof TooManyTries) void reply.header('retry-after', String(problem.retryAfterSeconds));
      return send(request, reply, problem);
    }
    request.log.error({ err: error }, 'a request failed');
    return reply
      .status(500)
      .type('application/problem+json')
      .send(
        JSON.stringify({
          type: '/problems/internal',
          title: 'Something broke here',
          status: 500,
          detail: 'This is our mistake, not yours. What you entered is still on your device; try again.',
          instance: request.url.split('?')[0],
          requestId: request.id,
        }),
      );
  });
}

/** A missing address looks like any other missing thing. */
export function sendNotFound(request: FastifyRequest, reply: FastifyReply): FastifyReply {
  return send(request, reply, new Problem('not-found', 'There is nothing at this address.'));
}
