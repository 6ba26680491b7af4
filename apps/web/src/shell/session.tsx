import type { Me, Membership } from '@heatround/contract';
import { type Action, may } from '@heatround/domain';
import { type ComponentChildren, createContext } from 'preact';
import { useCallback, useContext, useEffect, useMemo, useState } from 'preact/hooks';
import { call, NoSignal, Refusal, speakFor } from '../client/index.ts';
import { type OnlyHere, Outbox, type OutboxState, offsetFrom, onlyHere } from '../outbox/index.ts';

/** A signed-in person stays usable without signal this long after the last contact. */
const OFFLINE_DAYS = 14;
const MAY_START_MS = OFFLINE_DAYS * 86_400_000;

export interface Session {
  readonly me: Me;
  readonly membership: Membership;
  readonly outbox: Outbox;
  readonly may: (action: Action) => boolean;
  readonly present: (organisationId: string) => void;
  readonly signOut: () => Promise<void>;
  /** Asks again who is signed in and what the clocks show. */
  readonly refresh: () => Promise<void>;
}
type Stage =
  | { readonly is: 'asking' }
  | { readonly is: 'out'; readonly why: string | null }
  | { readonly is: 'in'; readonly me: Me };

const Context = createContext<Session | null>(null);
/** The session of a screen behind sign-in. */
export function useSession(): Session {
  const session = useContext(Context);
  if (session === null) throw new Error('no session here');
  return session;
}
export const useSessionOrNull = (): Session | null => useContext(Context);

const KEPT = 'heatround-person';
const PRESENT = 'heatround-organisation';

function keptPerson(): Me | null {
  try {
    const { me, at } = JSON.parse(localStorage.getItem(KEPT) ?? 'null') ?? {};
    return me && Date.now() - at < MAY_START_MS ? me : null;
  } catch {
    return null;
  }
}

/** Asks who is signed in, and learns the clock on the way. */
async function ask(): Promise<Me> {
  const askedAt = Date.now();
  const me = await call('whoAmI', {});
  learn(me, askedAt, Date.now());
  return me;
}
function learn(me: Me, askedAt: number, answeredAt: number): void {
  localStorage.setItem(KEPT, JSON.stringify({ me, at: Date.now() }));
  for (const { organisationId, clockOffsetMs } of me.memberships) {
    const offset = offsetFrom(askedAt, answeredAt, Date.parse(me.serverAt), clockOffsetMs);
    localStorage.setItem(`heatround-offset:${organisationId}`, String(offset));
  }
}

export function SessionProvider({ children, door }: { children: ComponentChildren; door: (enter: Door) => ComponentChildren }) {
  const [stage, setStage] = useState<Stage>({ is: 'asking' });
  const [organisationId, setOrganisationId] = useState(() => localStorage.getItem(PRESENT));

  useEffect(() => {
    ask().then(
      (me) => setStage({ is: 'in', me }),
      (trouble) => {
        const kept = keptPerson();
        if (trouble instanceof NoSignal && kept !== null) setStage({ is: 'in', me: kept });
        else
          setStage({ is: 'out', why: trouble instanceof Refusal && trouble.status === 401 ? null : (trouble as Error).message });
      },
    );
  }, []);

  const me = stage.is === 'in' ? stage.me : null;
  const membership = me?.memberships.find((one) => one.organisationId === organisationId) ?? me?.memberships[0] ?? null;
  const personId = me?.personId ?? null;
  const presentId = membership?.organisationId ?? null;
  // Before any child asks for something.
  speakFor(presentId);

  const outbox = useMemo(
    () => (personId !== null && presentId !== null ? new Outbox(personId, presentId) : null),
    [personId, presentId],
  );
  useEffect(() => () => outbox?.close(), [outbox]);

  useEffect(() => {
    if (personId === null) return;
    // Clock and rights again after the device slept or found signal.
    const again = (): void => {
      if (document.visibilityState !== 'visible') return;
      ask().then(
        (fresh) => setStage({ is: 'in', me: fresh }),
        (trouble) => {
          if (trouble instanceof Refusal && trouble.status === 401)
            setStage({ is: 'out', why: 'You were signed out. What you entered is kept on this device.' });
        },
      );
    };
    addEventListener('online', again);
    document.addEventListener('visibilitychange', again);
    return () => {
      removeEventListener('online', again);
      document.removeEventListener('visibilitychange', again);
    };
  }, [personId]);

  const present = useCallback((id: string) => {
    localStorage.setItem(PRESENT, id);
    setOrganisationId(id);
  }, []);
  const signOut = useCallback(async () => {
    await call('signOut', {}).catch(() => undefined);
    localStorage.removeItem(KEPT);
    setStage({ is: 'out', why: null });
  }, []);

  const refresh = useCallback(async () => {
    const fresh = await ask();
    setStage({ is: 'in', me: fresh });
  }, []);

  if (stage.is === 'asking') return null;
  if (stage.is === 'out' || me === null || membership === null || outbox === null) {
    const why = stage.is === 'out' ? stage.why : 'You belong to no organisation yet. An administrator can add you.';
    const enter = (fresh: Me, askedAt: number): void => {
      learn(fresh, askedAt, Date.now());
      setStage({ is: 'in', me: fresh });
    };
    return <>{door({ why, enter })}</>;
  }
  const session: Session = { me, membership, outbox, may: (action) => may(membership.roles, action), present, signOut, refresh };
  return <Context.Provider value={session}>{children}</Context.Provider>;
}
export interface Door {
  readonly why: string | null;
  readonly enter: (me: Me, askedAt: number) => void;
}

export function useOutboxState(): OutboxState {
  const { outbox } = useSession();
  const [state, setState] = useState(outbox.state);
  useEffect(() => {
    setState(outbox.state);
    return outbox.subscribe(() => setState(outbox.state));
  }, [outbox]);
  return state;
}

const NOTHING: ReadonlyMap<string, OnlyHere> = new Map();
/** What readings say that only this device has, by asset. */
export function useOnlyHere(): ReadonlyMap<string, OnlyHere> {
  const { outbox } = useSession();
  const { waiting, held } = useOutboxState();
  const [found, setFound] = useState(NOTHING);
  useEffect(() => {
    let isHere = true;
    void outbox.pending().then((kept) => {
      if (isHere) setFound(onlyHere(kept));
    });
    return () => {
      isHere = false;
    };
  }, [outbox, waiting, held]);
  return found;
}
