/**
 * Who may do what: one table, read by the service, the client and the documentation alike.
 * A person may hold several roles in an organisation and a different set in the next one.
 */
export const ROLES = [
  'technician',
  'trainee',
  'contractor',
  'planner',
  'manager',
  'administrator',
  'guest-reader',
  'service-key',
] as const;
export type Role = (typeof ROLES)[number];

export const ACTIONS = [
  'see',
  'submit-facts',
  'correct-own-reading',
  'correct-any-reading',
  'countersign', // readings of trainees
  'answer-findings',
  'move-own-order',
  'move-any-order',
  'live-with-low', // Watch, Plan
  'live-with-high', // Soon, Now
  'edit-register', // register, limits, routes, windows, import
  'administer', // people, roles, settings, demo clock, keys
] as const;
export type Action = (typeof ACTIONS)[number];

/** A service key has no fixed rights: its named scopes are actions of this table. */
export const RIGHTS: Readonly<Record<Exclude<Role, 'service-key'>, readonly Action[]>> = {
  technician: ['see', 'submit-facts', 'correct-own-reading', 'countersign', 'move-own-order'],
  trainee: ['see', 'submit-facts'],
  contractor: ['see', 'submit-facts', 'correct-own-reading', 'move-own-order'],
  planner: [
    'see',
    'submit-facts',
    'correct-own-reading',
    'correct-any-reading',
    'countersign',
    'answer-findings',
    'move-own-order',
    'move-any-order',
    'live-with-low',
    'edit-register',
  ],
  manager: ['see', 'answer-findings', 'live-with-high'],
  administrator: ['see', 'edit-register', 'administer'],
  'guest-reader': ['see'],
};

/** What a service key may be given: nothing that answers for a person. */
export const KEY_SCOPES = ['see', 'submit-facts', 'edit-register'] as const satisfies readonly Action[];
export type KeyScope = (typeof KEY_SCOPES)[number];

/**
 * May somebody holding these roles do this?
 * @param roles roles in the organisation concerned; unknown words give no right.
 * @example may(['technician'], 'submit-facts') // true
 */
export function may(roles: readonly string[], action: Action): boolean {
  const rights: Readonly<Record<string, readonly Action[]>> = RIGHTS;
  // Own keys only: a role called "toString" must give no right, and no error.
  return roles.some((role) => Object.hasOwn(rights, role) && rights[role]?.includes(action) === true);
}

/** The roles that carry a right, for a sentence such as "a planner or an administrator may do this". */
export function rolesThatMay(action: Action): Role[] {
  return (Object.keys(RIGHTS) as Exclude<Role, 'service-key'>[]).filter((role) => RIGHTS[role].includes(action));
}
