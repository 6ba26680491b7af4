/**
 * What use cases are given: made once in a main.ts, never reached for. A scope is one person in one organisation for one request;
 * nothing in this package can be called without one, except signing in and sweeping.
 */
import type { Action, Role } from '@heatround/domain';
import { may, Problem, rolesThatMay } from '@heatround/domain';
import type { Clock } from '@heatround/platform/clock';
import type { Database, TenantScope } from '@heatround/platform/database';
import type { Logger } from '@heatround/platform/log';
import type { Metrics } from '@heatround/platform/metrics';

export { idOf } from './ids.ts';
export { ID, INSTANT, readMark, WHOLE, writeMark } from './marks.ts';

export interface Deps {
  readonly database: Database;
  readonly clock: Clock;
  readonly log: Logger;
  /** Absent where nobody reads them. */
  readonly metrics?: Metrics;
}

export interface Scope extends TenantScope {
  readonly personId: string;
  /** Name as shown in the organisation. */
  readonly name: string;
  readonly roles: readonly Role[];
  /** The organisation's clock beside the real one. */
  readonly clockOffsetMs: number;
  /** Of a service key: what it was made for, instead of the rights of roles. */
  readonly actions?: readonly Action[];
}

/** The moment by the organisation's clock, epoch milliseconds. */
export function now(deps: Pick<Deps, 'clock'>, scope: Pick<Scope, 'clockOffsetMs'>): number {
  return deps.clock.now() + scope.clockOffsetMs;
}

/** Refuses with 'not-allowed', naming who may. */
export function mustBeAllowed(scope: Pick<Scope, 'roles' | 'actions'>, action: Action): void {
  if (scope.actions !== undefined) {
    if (scope.actions.includes(action)) return;
    throw new Problem('not-allowed', `This key was made for: ${scope.actions.join(', ')}. It does not carry ${action}.`);
  }
  if (may(scope.roles, action)) return;
  const who = rolesThatMay(action).join(', ');
  throw new Problem('not-allowed', `Your roles here (${scope.roles.join(', ')}) do not carry this right. It belongs to: ${who}.`);
}

/** Foreign and missing look alike. */
export function notFound(what: string): Problem {
  return new Problem('not-found', `There is no such ${what} in this organisation, or you were not given its site.`);
}
