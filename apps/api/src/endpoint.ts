/**
 * Joins a described endpoint to its use case: parse, one call, reply. Session and organisation are opened before the handler runs,
 * so that a handler without a scope cannot be written for an endpoint that needs one.
 */
import type { Readable } from 'node:stream';
import {
  type BodyOf,
  type EndpointDescription,
  ORGANISATION_HEADER,
  type ParamsOf,
  type QueryOf,
  type ResponseOf,
} from '@heatround/contract';
import { isUuid, Problem } from '@heatround/domain';
import type { Accounts, SignedInAccount } from '@heatround/platform/accounts';
import type { Jobs } from '@heatround/platform/jobs';
import type { Mailer } from '@heatround/platform/mail';
import type { Deps, Scope } from '@heatround/services/deps';
import { mustBeAllowed } from '@heatround/services/deps';
import { openKeyScope, openScope } from '@heatround/services/identity';
import { hashOfKey, KEY_BEGIN } from '@heatround/services/people';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import * as z from 'zod';
import { badTexts } from './plugins/plain-text.ts';

export interface ApiDeps extends Deps {
  readonly accounts: Accounts;
  readonly mailer: Mailer;
  /** Looked at in the engine room; absent where this process has no queue. */
  readonly jobs?: Pick<Jobs, 'counts' | 'failed'> | undefined;
  /** The address of the service as people type it, without a slash at the end. */
  readonly publicUrl: string;
}

interface Call<E extends EndpointDescription> {
  readonly params: ParamsOf<E>;
  readonly query: QueryOf<E>;
  readonly body: BodyOf<E>;
  readonly request: FastifyRequest;
  readonly reply: FastifyReply;
}
interface SignedIn {
  readonly account: SignedInAccount;
}
interface Scoped extends SignedIn {
  readonly scope: Scope;
}
type Given<E extends EndpointDescription> = Call<E> &
  (E['access'] extends 'public' ? unknown : E['access'] extends 'signed-in' ? SignedIn : Scoped);

/** A reply as the use case gives it: instants may be Date or epoch milliseconds where the contract says ISO text. */
type Loose<T> = T extends string
  ? T | Date
  : T extends readonly (infer U)[]
    ? readonly Loose<U>[]
    : T extends object
      ? { [K in keyof T]: Loose<T[K]> }
      : T;

/** A file on its way; its name is ours, plain letters. */
export interface FileOut {
  readonly fileName: string;
  readonly mediaType: string;
  readonly content: Readable;
}

export function serve<E extends EndpointDescription>(
  app: FastifyInstance,
  deps: ApiDeps,
  endpoint: E,
  handle: (call: Given<E>) => Promise<E extends { isFile: true } ? FileOut : Loose<ResponseOf<E>>>,
  options: {
    bodyLimit?: number;
    rateLimit?: { max: number; timeWindow: string };
    /** Members of the body whose texts the handler looks at itself, since it has more to say about them. */
    ownTextCheck?: readonly string[];
  } = {},
): void {
  app.route({
    method: endpoint.method,
    url: endpoint.path,
    ...(options.bodyLimit ? { bodyLimit: options.bodyLimit } : {}),
    config: options.rateLimit ? { rateLimit: options.rateLimit } : {},
    schema: {
      operationId: endpoint.name,
      summary: endpoint.summary,
      ...(endpoint.params ? { params: endpoint.params } : {}),
      ...(endpoint.query ? { querystring: endpoint.query } : {}),
      ...(endpoint.body ? { body: endpoint.body } : {}),
      ...(endpoint.isFile ? {} : { response: { [endpoint.status]: endpoint.status === 204 ? z.null() : endpoint.response } }),
      ...(endpoint.access === 'public' ? { security: [] } : {}),
    },
    // Before the body is validated: somebody without a right learns nothing from validation.
    preValidation: async (request, reply) => {
      await mustBeLetIn(request, reply);
      mustBePlain([request.params, request.query, without(request.body, options.ownTextCheck ?? [])]);
    },
    handler: async (request, reply) => {
      const call = { params: request.params, query: request.query, body: request.body, request, reply, ...who.get(request) };
      const result = await handle(call as unknown as Given<E>);
      if (endpoint.isFile) {
        const { fileName, mediaType, content } = result as FileOut;
        void reply.headers({ 'content-type': mediaType, 'content-disposition': `attachment; filename="${fileName}"` });
        return reply.send(content);
      }
      return reply.status(endpoint.status).send(endpoint.status === 204 ? null : withIsoInstants(result));
    },
  });

  async function mustBeLetIn(request: FastifyRequest, reply: FastifyReply): Promise<void> {
    if (endpoint.access === 'public') return;
    const key = request.headers.authorization?.match(/^Bearer (\S+)$/i)?.[1];
    if (key !== undefined) {
      who.set(request, { scope: await scopeOfKey(request, key) });
      return;
    }
    const headers = headersOf(request);
    const session = await deps.accounts.whoIs(headers);
    if (!session && (await deps.accounts.wasEnded(headers)))
      throw new Problem('access-ended', 'Your access from this device was ended. Nothing can be read with it any more.');
    if (!session) throw new Problem('not-signed-in', 'You are not signed in, or the session has ended.');
    const { account, cookies } = session;
    for (const cookie of cookies) void reply.header('set-cookie', cookie);
    const given: { account: SignedInAccount; scope?: Scope } = { account };
    if (endpoint.access !== 'signed-in') {
      const named = request.headers[ORGANISATION_HEADER];
      const organisationId = typeof named === 'string' && named !== '' ? named : null;
      if (organisationId && !isUuid(organisationId))
        throw new Problem('not-found', 'There is no such organisation, or you do not belong to it.');
      given.scope = await openScope(deps, account.personId, organisationId?.toLowerCase() ?? null);
      mustBeAllowed(given.scope, endpoint.access);
      request.log = request.log.child({ organisationId: given.scope.organisationId });
    }
    who.set(request, given);
  }

  /** A program with a key of its own; it belongs to one organisation and is nobody who signs in. */
  async function scopeOfKey(request: FastifyRequest, key: string): Promise<Scope> {
    // Browsers say so themselves. A key in a page is a key in the hands of everybody who opens it.
    if (request.headers.origin !== undefined || request.headers['sec-fetch-mode'] !== undefined)
      throw new Problem('not-allowed', 'A service key is for programs on a server. In a browser people sign in.');
    const scope = key.startsWith(KEY_BEGIN) ? await openKeyScope(deps, hashOfKey(key)) : null;
    if (scope === null) throw new Problem('not-signed-in', 'This key is unknown, has ended or was withdrawn.');
    if (endpoint.access === 'signed-in' || endpoint.access === 'public')
      throw new Problem('not-allowed', 'This is about a person who signed in; a key is none.');
    const named = request.headers[ORGANISATION_HEADER];
    if (typeof named === 'string' && named !== '' && named.toLowerCase() !== scope.organisationId)
      throw new Problem('not-found', 'There is no such organisation, or you do not belong to it.');
    mustBeAllowed(scope, endpoint.access);
    request.log = request.log.child({ organisationId: scope.organisationId });
    return scope;
  }
}

function without(body: unknown, names: readonly string[]): unknown {
  if (names.length === 0 || body === null || typeof body !== 'object' || Array.isArray(body)) return body;
  return Object.fromEntries(Object.entries(body).filter(([name]) => !names.includes(name)));
}

function mustBePlain(parts: readonly unknown[]): void {
  const errors = parts.flatMap((part) => badTexts(part, '#'));
  if (errors.length > 0)
    throw new Problem('invalid-request', 'A text holds a character that cannot be kept; nothing was changed.', errors);
}

const who = new WeakMap<FastifyRequest, { account?: SignedInAccount; scope?: Scope }>();

export function headersOf(request: FastifyRequest): Headers {
  const headers = new Headers();
  for (const name of ['cookie', 'user-agent', 'origin', 'host', 'x-forwarded-for'] as const) {
    const value = request.headers[name];
    if (typeof value === 'string') headers.set(name, value);
  }
  return headers;
}

/** Dates become ISO 8601 in UTC; everything else stays. */
function withIsoInstants(value: unknown): unknown {
  if (value instanceof Date) return value.toISOString();
  if (Array.isArray(value)) return value.map(withIsoInstants);
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, withIsoInstants(one)]));
}
