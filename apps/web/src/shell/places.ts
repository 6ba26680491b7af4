import type { Action } from '@heatround/domain';

/** A place of the service, in the words of its row. */
export interface Place {
  readonly href: string;
  readonly word: string;
  readonly isHere: (path: string) => boolean;
  /** What waits there, where that is counted. */
  readonly waiting?: number;
}

/** Screens that exist: each names the path that must be among the routes for the place to be shown. */
const below =
  (...starts: readonly string[]) =>
  (path: string): boolean =>
    starts.some((start) => path === start || path.startsWith(`${start}/`));
const PLACES = {
  carry: { href: '/carry', word: 'What we carry', isHere: below('/carry') },
  walk: { href: '/walk', word: 'My walk', isHere: below('/walk', '/hand-in') },
  answers: { href: '/answers', word: 'Answers due', isHere: below('/answers', '/findings') },
  orders: { href: '/orders', word: 'Orders', isHere: below('/orders') },
  rounds: { href: '/rounds', word: 'Rounds', isHere: below('/rounds', '/routes', '/windows') },
  handedOver: { href: '/handed-over', word: 'Handed over', isHere: below('/handed-over') },
  due: { href: '/due', word: 'Due', isHere: below('/due', '/round') },
  register: { href: '/register', word: 'Register', isHere: below('/register', '/assets', '/new-asset') },
  takeOut: { href: '/take-out', word: 'Take out', isHere: below('/take-out') },
  bringIn: { href: '/bring-in', word: 'Bring in', isHere: below('/bring-in') },
  engineRoom: { href: '/engine-room', word: 'Engine room', isHere: below('/engine-room') },
  countersign: { href: '/countersign', word: 'To countersign', isHere: below('/countersign') },
  people: { href: '/people', word: 'People', isHere: below('/people') },
  letters: { href: '/letters', word: 'Letters', isHere: below('/letters') },
  me: { href: '/me', word: 'My settings', isHere: below('/me') },
} as const satisfies Record<string, Place>;
type Name = keyof typeof PLACES;

const WALKERS = ['technician', 'trainee', 'contractor'];
/** Which places a person has, the first one first, by the roles they hold; only those that exist. */
export function placesOf(
  roles: readonly string[],
  may: (action: Action) => boolean,
  exists: (href: string) => boolean,
): readonly Place[] {
  const holds = (role: string): boolean => roles.includes(role);
  const names = new Set<Name>();
  if (holds('planner')) for (const name of ['answers', 'orders', 'rounds', 'due', 'register', 'carry'] as const) names.add(name);
  if (holds('manager')) for (const name of ['carry', 'orders', 'answers', 'due', 'register'] as const) names.add(name);
  if (WALKERS.some(holds)) for (const name of ['walk', 'due', 'register'] as const) names.add(name);
  if (holds('administrator'))
    for (const name of ['engineRoom', 'people', 'register', 'bringIn', 'carry'] as const) names.add(name);
  // A guest reader, or a role of a later release.
  if (names.size === 0) names.add('register').add('due');
  return [...names]
    .filter((name) => name !== 'bringIn' || may('edit-register'))
    .map((name): Place => PLACES[name])
    .filter(({ href }) => exists(href));
}

/** The places with the one for what was handed over, which is shown only while something waits there or somebody is there. */
export function withHandedOver(places: readonly Place[], waiting: number, path: string): readonly Place[] {
  if (waiting === 0 && !PLACES.handedOver.isHere(path)) return places;
  return [...places.slice(0, 1), { ...PLACES.handedOver, waiting }, ...places.slice(1)];
}

/** What a person may also go to, kept under their name so that the row stays short. */
export function furtherPlaces(
  roles: readonly string[],
  may: (action: Action) => boolean,
  exists: (href: string) => boolean,
): readonly Place[] {
  const inRow = placesOf(roles, may, exists);
  const names: Name[] = [
    ...(may('submit-facts') ? (['walk', 'orders'] as const) : []),
    ...(may('edit-register') ? (['rounds', 'due', 'bringIn'] as const) : []),
    ...(may('countersign') ? (['countersign'] as const) : []),
    ...(may('see') ? (['takeOut', 'letters', 'me'] as const) : []),
  ];
  return names.map((name): Place => PLACES[name]).filter((place) => exists(place.href) && !inRow.includes(place));
}
