import type { Me, Membership } from '@heatround/contract';
import { type Action, may } from '@heatround/domain';
import { type ComponentChildren, createContext } from 'preact';
import { useCallback, useContext, useEffect, useMemo, useState } from 'preact/hooks';
import { call, NoSignal, onDoubt, Refusal, speakFor } from '../client/index.ts';
import {
  endAccess,
  keepHandingOver,
  keepWays,
  type OnlyHere,
  Outbox,
  type OutboxState,
  offsetFrom,
  onlyHere,
} from '../outbox/index.ts';
import { THIS_DEVICE } from '../ui/device.ts';

/** A signed-in person stays usable without signal this long after the last contact. */
const OFFLINE_DAYS = 14;
const MAY_START_MS = OFFLINE_DAYS * 86_400_000;
/** An open page renews what it may do without signal. */
const CONTACT_MS = 6 * 3_600_000;
/** A thing that was not found raises the question of access no more often than this. */
const DOUBT_MS = 5_000;

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

/** Whoever signed in here last, with the moment of the last contact. */
function lastPerson(): { me: Me; at: number } | null {
  try {
    const kept = JSON.parse(localStorage.getItem(KEPT) ?? 'null');
    return kept?.me ? kept : null;
  } catch {
    return null;
  }
}
function keptPerson(): Me | null {
  const kept = lastPerson();
  return kept !== null && Date.now() - kept.at < MAY_START_MS ? kept.me : null;
}

const ENDED = `Your access from this ${THIS_DEVICE} was ended. Nothing can be read here any more.`;
const LEFT = 'You were signed out. What you entered is kept on this device.';
/** Words for a refusal that ends the session; what was kept to be read goes when somebody ended it. */
function leave(refusal: Refusal, otherwise: string | null): string | null {
  if (refusal.code !== 'access-ended') return otherwise;
  const last = lastPerson();
  if (last !== null) void endAccess(last.me.personId).finally(() => localStorage.removeItem(KEPT));
  return ENDED;
}

const isSame = (a: Me, b: Me): boolean =>
  a.personId === b.personId && a.name === b.name && JSON.stringify(a.memberships) === JSON.stringify(b.memberships);

/** Asks who is signed in, and learns the clock on the way. */
async function ask(): Promise<Me> {
  const askedAt = Date.now();
  const me = await call('whoAmI', {});
  learn(me, askedAt, Date.now());
  return me;
}
function learn(me: Me, askedAt: number, answeredAt: number): void {
  // The ways to hand over belong into each person's own store and nowhere else.
  localStorage.setItem(KEPT, JSON.stringify({ me: { ...me, handOver: [] }, at: Date.now() }));
  for (const { organisationId, clockOffsetMs } of me.memberships) {
    const offset = offsetFrom(askedAt, answeredAt, Date.parse(me.serverAt), clockOffsetMs);
    localStorage.setItem(`heatround-offset:${organisationId}`, String(offset));
  }
  // Nobody waits for it, and without room in the store the person still gets in.
  void keepWays(me).catch(() => undefined);
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
        else if (trouble instanceof Refusal && trouble.status === 401) setStage({ is: 'out', why: leave(trouble, null) });
        else setStage({ is: 'out', why: (trouble as Error).message });
      },
    );
    return keepHandingOver();
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
    let isAsking = false;
    let askedAt = Date.now();
    // Clock and rights again after the device slept or found signal, when an answer raises doubt, and now and then.
    const again = (): void => {
      if (isAsking || document.visibilityState !== 'visible') return;
      isAsking = true;
      askedAt = Date.now();
      ask()
        .then(
          // Nothing new draws nothing anew.
          (fresh) => setStage((before) => (before.is === 'in' && isSame(before.me, fresh) ? before : { is: 'in', me: fresh })),
          (trouble) => {
            if (trouble instanceof Refusal && trouble.status === 401) setStage({ is: 'out', why: leave(trouble, LEFT) });
          },
        )
        .finally(() => {
          isAsking = false;
        });
    };
    let doubt: ReturnType<typeof setTimeout> | undefined;
    onDoubt((isSure) => {
      clearTimeout(doubt);
      // A thing that is not there is mostly just that: asked about now and then.
      doubt = setTimeout(again, isSure ? 0 : Math.max(0, askedAt + DOUBT_MS - Date.now()));
    });
    const timer = setInterval(again, CONTACT_MS);
    addEventListener('online', again);
    document.addEventListener('visibilitychange', again);
    return () => {
      clearInterval(timer);
      clearTimeout(doubt);
      onDoubt(() => undefined);
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
    const why = stage.is === 'out' ? stage.why : 'You belong to no organisation now. An administrator can add you.';
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
