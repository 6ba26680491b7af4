import { checkLimitSet, type LimitTrial, Problem, type TriedLimits, tryLimits } from '@heatround/domain';
import { type Deps, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { knownOf } from './conclude-points.job.ts';

/**
 * What limits would have said of the history of a point, before anybody saves them. Looks at as many readings as a conclusion does.
 * Needs the right to edit the register.
 *
 * @throws Problem limits-refused when the figures could not be saved either.
 */
export async function tryLimitsAt(deps: Deps, scope: Scope, pointId: string, tried: TriedLimits): Promise<LimitTrial> {
  mustBeAllowed(scope, 'edit-register');
  const at = now(deps, scope);
  const [known] = await deps.database.inTenant(scope, ({ db }) => knownOf(db, [pointId], at));
  if (!known) throw notFound('point');
  // Who wrote them and why is asked when they are saved.
  const errors = checkLimitSet(
    { ...tried, source: 'tried', reason: 'tried', origin: 'point' },
    known.point.quantity,
    known.limitSets,
    at,
  );
  if (errors.length > 0) throw new Problem('limits-refused', 'These limits cannot stand as they are; nothing was tried.', errors);
  return tryLimits(known, tried);
}
