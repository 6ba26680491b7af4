import type { Action } from '@heatround/domain';
import * as z from 'zod';

/**
 * One endpoint, described once: the API registers it, the web client calls it, the OpenAPI document and the tests read it.
 * access: public needs no session; signed-in needs a session but no organisation; any other word is the right that the
 * person must hold in the organisation named by the Heatround-Organisation header.
 */
export interface EndpointDescription {
  readonly name: string;
  readonly summary: string;
  readonly method: 'GET' | 'POST' | 'PATCH';
  readonly path: `/${string}`;
  readonly access: 'public' | 'signed-in' | Action;
  readonly params?: z.ZodObject;
  readonly query?: z.ZodObject;
  readonly body?: z.ZodType;
  /** Status and body of success. */
  readonly status: 200 | 201 | 202 | 204;
  readonly response: z.ZodType;
  /** Success is a file to save and no JSON. */
  readonly isFile?: true;
}

type Described<E, K extends string> = E extends Record<K, z.ZodType> ? z.output<E[K]> : undefined;
type Sent<E, K extends string> = E extends Record<K, z.ZodType> ? z.input<E[K]> : undefined;
/** What a handler receives, what a caller sends, what comes back. */
export type ParamsOf<E> = Described<E, 'params'>;
export type QueryOf<E> = Described<E, 'query'>;
export type BodyOf<E> = Described<E, 'body'>;
export type SentBodyOf<E> = Sent<E, 'body'>;
export type SentQueryOf<E> = Sent<E, 'query'>;
export type ResponseOf<E> = Described<E, 'response'>;

/** Types an endpoint by its own description, so that callers and handlers know its parts. @example defineEndpoint({ name: 'listSites', … }) */
export function defineEndpoint<const E extends EndpointDescription>(endpoint: E): E {
  return endpoint;
}

/** Header that names the organisation a request is about; may be left out by a person who belongs to just one. */
export const ORGANISATION_HEADER = 'heatround-organisation';

/** Ids compare without regard to case; inside they are lower-case. */
export const id = z.uuid().toLowerCase();
export const instant = z.iso.datetime({ offset: true });
export const pageSize = (most: number, usual: number) => z.coerce.number().int().min(1).max(most).default(usual);
export const words = (most: number) => z.string().trim().min(1).max(most);
export const empty = z.null();
