import { type ComponentType, render } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import './ui/tokens.css';
import './ui/base.css';
import { applyHand, applyPaper } from './shell/paper.ts';
import { go, match, Router, useWhere } from './shell/router.tsx';
import { type Door, SessionProvider, useSession } from './shell/session.tsx';
import { firstPlace, knowPlaces, Shell } from './shell/shell.tsx';
import { Sprite } from './ui/marks.tsx';

applyPaper();
applyHand();

type Parameters = Record<string, string>;
type Screen = ComponentType<{ parameters: Parameters }>;
interface Route {
  readonly pattern: string;
  /** A stop brings its own shell. */
  readonly isStop?: boolean;
  readonly load: () => Promise<Screen>;
}
const ROUTES: readonly Route[] = [
  { pattern: '/carry', load: async () => (await import('./screens/carry/carry-screen.tsx')).CarryScreen },
  { pattern: '/register', load: async () => (await import('./screens/register/register-screen.tsx')).RegisterScreen },
  { pattern: '/walk', load: async () => (await import('./screens/walk/my-walk-screen.tsx')).MyWalkScreen },
  { pattern: '/walk/:walkId', isStop: true, load: async () => (await import('./screens/walk/stops-screen.tsx')).StopsScreen },
  { pattern: '/answers', load: async () => (await import('./screens/findings/answers-screen.tsx')).AnswersScreen },
  { pattern: '/handed-over', load: async () => (await import('./screens/hand-over/handed-over-screen.tsx')).HandedOverScreen },
  { pattern: '/orders', load: async () => (await import('./screens/orders/orders-screen.tsx')).OrdersScreen },
  { pattern: '/orders/:orderId', load: async () => (await import('./screens/orders/order-screen.tsx')).OrderScreen },
  { pattern: '/due', load: async () => (await import('./screens/due/due-screen.tsx')).DueScreen },
  { pattern: '/round/:roundId', load: async () => (await import('./screens/due/round-screen.tsx')).RoundScreen },
  { pattern: '/rounds', load: async () => (await import('./screens/rounds/rounds-screen.tsx')).RoundsScreen },
  { pattern: '/routes/:routeId', load: async () => (await import('./screens/rounds/route-screen.tsx')).RouteScreen },
  { pattern: '/windows', load: async () => (await import('./screens/rounds/windows-screen.tsx')).WindowsScreen },
  { pattern: '/rights', load: async () => (await import('./screens/rights/rights-screen.tsx')).RightsScreen },
  { pattern: '/engine-room', load: async () => (await import('./screens/people/engine-room-screen.tsx')).EngineRoomScreen },
  { pattern: '/countersign', load: async () => (await import('./screens/people/countersign-screen.tsx')).CountersignScreen },
  { pattern: '/people', load: async () => (await import('./screens/people/people-screen.tsx')).PeopleScreen },
  { pattern: '/letters', load: async () => (await import('./screens/people/letters-screen.tsx')).LettersScreen },
  { pattern: '/letters/:mailId', load: async () => (await import('./screens/people/letters-screen.tsx')).LetterScreen },
  { pattern: '/me', load: async () => (await import('./screens/people/me-screen.tsx')).MeScreen },
  { pattern: '/new-asset', load: async () => (await import('./screens/register/new-asset-screen.tsx')).NewAssetScreen },
  { pattern: '/assets/:assetId', load: async () => (await import('./screens/asset/asset-screen.tsx')).AssetScreen },
  {
    pattern: '/stop/:assetId/:pointId',
    isStop: true,
    load: async () => (await import('./screens/stop/stop-screen.tsx')).StopScreen,
  },
  { pattern: '/take-out', load: async () => (await import('./screens/take-out/take-out-screen.tsx')).TakeOutScreen },
  { pattern: '/bring-in', load: async () => (await import('./screens/bring-in/bring-in-screen.tsx')).BringInScreen },
  { pattern: '/bring-in/:importId', load: async () => (await import('./screens/bring-in/import-screen.tsx')).ImportScreen },
  {
    pattern: '/hand-in/:walkId',
    isStop: true,
    load: async () => (await import('./screens/mine/hand-in-round-screen.tsx')).HandInRoundScreen,
  },
  { pattern: '/hand-in', load: async () => (await import('./screens/mine/hand-in-screen.tsx')).HandInScreen },
];
knowPlaces(ROUTES.map(({ pattern }) => pattern));
const loaded = new Map<Route, Screen>();

function Places() {
  const { path } = useWhere();
  const session = useSession();
  const { membership } = session;
  const [, again] = useState(0);
  const [trouble, setTrouble] = useState(false);
  const found = ROUTES.map((route) => ({ route, parameters: match(route.pattern, path) })).find(
    ({ parameters }) => parameters !== null,
  );
  const route = found?.route;
  useEffect(() => {
    if (path === '/' || path === '/sign-in') go(firstPlace(session), 'replace');
    if (route === undefined || loaded.has(route)) return;
    route.load().then(
      (screen) => {
        loaded.set(route, screen);
        setTrouble(false);
        again((count) => count + 1);
      },
      () => setTrouble(true),
    );
  }, [route, path, membership.organisationId]);
  const screen = route === undefined ? undefined : loaded.get(route);
  if (trouble) {
    return (
      <Shell>
        <h1 class="say open">This screen is not on the device yet.</h1>
        <p class="told">It could not be fetched. Nothing you entered is lost. Find signal, then load the page again.</p>
      </Shell>
    );
  }
  if (path === '/' || path === '/sign-in') return <Shell>{null}</Shell>;
  if (route === undefined) {
    return (
      <Shell>
        <h1 class="say open">There is nothing at this address.</h1>
        <p class="told">
          What there is, is in the <a href="/register">register</a>.
        </p>
      </Shell>
    );
  }
  // The organisation is part of the key: no screen ever shows what another client's screen held.
  const key = `${membership.organisationId} ${JSON.stringify(found?.parameters)}`;
  const Present = screen;
  const inside = Present === undefined ? null : <Present key={key} parameters={found?.parameters ?? {}} />;
  return route.isStop ? inside : <Shell>{inside}</Shell>;
}

/** Fetched when somebody has to sign in; whoever is signed in never loads it. */
function FrontDoor(door: Door) {
  const [SignIn, setSignIn] = useState<ComponentType<Door> | null>(null);
  const [trouble, setTrouble] = useState(false);
  useEffect(() => {
    import('./screens/sign-in/sign-in-screen.tsx').then(
      (loaded) => setSignIn(() => loaded.SignIn),
      () => setTrouble(true),
    );
  }, []);
  if (trouble) return <p class="page told">The page to sign in could not be fetched. Find signal, then load the page again.</p>;
  return SignIn === null ? null : <SignIn {...door} />;
}

/** Opened by a link from a letter, or before there is a session. */
const DOORS = /^\/(invitation|new-password|forgotten|unsubscribe\/[^/]+)$/;

function LinkDoor({ path }: { path: string }) {
  const [Door, setDoor] = useState<ComponentType<{ path: string }> | null>(null);
  const [trouble, setTrouble] = useState(false);
  useEffect(() => {
    import('./screens/doors/doors.tsx').then(
      (loaded) => setDoor(() => loaded.Doors),
      () => setTrouble(true),
    );
  }, []);
  if (trouble) return <p class="page told">This page could not be fetched. Find signal, then open the link again.</p>;
  return Door === null ? null : <Door path={path} />;
}

function Inside() {
  const { path } = useWhere();
  if (DOORS.test(path)) return <LinkDoor key={path} path={path} />;
  return (
    <SessionProvider door={(door) => <FrontDoor {...door} />}>
      <Places />
    </SessionProvider>
  );
}

function Everything() {
  return (
    <Router>
      <Sprite />
      <a class="skip" href="#main">
        To the content
      </a>
      <Inside />
    </Router>
  );
}

render(<Everything />, document.getElementById('screen')!);

if ('serviceWorker' in navigator && import.meta.env.PROD) {
  addEventListener('load', () => void navigator.serviceWorker.register('/service-worker.js').catch(() => undefined));
}
