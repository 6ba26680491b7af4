import { type Action, type MoveRefusal, Problem, type ProblemCode, type Refused, rolesThatMay } from '@heatround/domain';

const CODES: Readonly<Record<MoveRefusal, ProblemCode>> = {
  'move-not-allowed': 'move-not-allowed',
  circle: 'move-not-allowed',
  'ended-already': 'move-not-allowed',
  'not-comparable': 'move-not-allowed',
  'not-allowed': 'not-allowed',
  'not-yours': 'not-allowed',
  'own-request': 'not-allowed',
  'reason-needed': 'reason-needed',
  'until-needed': 'reason-needed',
  'slot-needed': 'reason-needed',
  'stale-version': 'stale-version',
};

/**
 * A refused move as a problem: what happened, who may, what is open now.
 * @param right the right the move needs. @param present the state as it stands, told to whoever came second.
 */
export function problemOf(
  { refused, detail, allowed }: Refused<string>,
  right: Action,
  present: { readonly version: number; readonly state: string },
): Problem {
  const code = CODES[refused];
  const who = code === 'not-allowed' ? ` It belongs to: ${rolesThatMay(right).join(', ')}.` : '';
  const { version, state } = present;
  const extra = code === 'stale-version' ? { present: { version, state }, allowed } : { allowed };
  return new Problem(code, `${detail}${who}`, [], extra);
}

/** The same for moves of the row, which no table of states knows. */
export function refuseMove(detail: string, allowed: readonly string[] = []): Problem {
  return new Problem('move-not-allowed', `${detail} Nothing was changed.`, [], { allowed });
}

/** Refuses when somebody else has changed it since. */
export function mustBeSeen(present: { readonly version: number; readonly state: string }, seen: number | undefined): void {
  if (seen === undefined || seen === present.version) return;
  throw new Problem('stale-version', 'Somebody else moved it meanwhile. Nothing was changed; look at it again and decide.', [], {
    present: { version: present.version, state: present.state },
  });
}
