import type { Me } from '@heatround/contract';
import { Dexie } from 'dexie';
import { call, NoSignal, Refusal } from '../client/index.ts';
import { mergeHeld } from './merge.ts';
import { Store } from './store.ts';

const BATCH = 200;
const AGAIN_MS = 60_000;

/** What one person's store of one organisation holds on this device, in figures and names only. */
export interface Unsent {
  readonly personId: string;
  readonly organisationId: string;
  readonly personName: string | null;
  readonly organisationName: string | null;
  /** Entries that are only on this device. */
  readonly waiting: number;
  /** Entries that came back with a reason; among those waiting. */
  readonly refused: number;
  /** Entries that were handed over and wait for a planner. */
  readonly handed: number;
  readonly hasEnded: boolean;
  readonly isSeen: boolean;
  /** They can be handed over without signing in. */
  readonly canHandOver: boolean;
}

const listeners = new Set<() => void>();
/** Told whenever something was handed over, or access came or went. */
export function onHandOver(listener: () => void): () => void {
  listeners.add(listener);
  return () => void listeners.delete(listener);
}
function tell(): void {
  for (const listener of listeners) listener();
}

const STORE_NAME = /^heatround:([0-9a-f-]{36}):([0-9a-f-]{36})$/;

/** Opens a store for as long as the work takes; each stays closed to the others. */
async function inStore<T>(personId: string, organisationId: string, work: (store: Store) => Promise<T>): Promise<T> {
  const store = new Store(personId, organisationId);
  try {
    return await work(store);
  } finally {
    store.close();
  }
}

async function storesHere(): Promise<{ personId: string; organisationId: string }[]> {
  return (await Dexie.getDatabaseNames()).flatMap((name) => {
    const [, personId, organisationId] = STORE_NAME.exec(name) ?? [];
    return personId && organisationId ? [{ personId, organisationId }] : [];
  });
}

/**
 * Stores on this device that hold something unsent, or whose person has not yet read what became of it.
 * @param of only this person's; the others stay closed.
 */
export async function whatIsHere(of?: string): Promise<Unsent[]> {
  const found: Unsent[] = [];
  for (const { personId, organisationId } of await storesHere()) {
    if (of !== undefined && personId !== of) continue;
    const one = await inStore(personId, organisationId, async (store): Promise<Unsent> => {
      const [way, waiting, refused, handed] = await Promise.all([
        store.way.get('own'),
        store.facts.count(),
        store.facts.where('state').equals('refused').count(),
        store.handed.count(),
      ]);
      const { personName = null, organisationName = null, hasEnded = false, isSeen = true, token = null } = way ?? {};
      // Whether it is still good is for the service to say; the clock of the device may be anywhere.
      const canHandOver = token !== null;
      return { personId, organisationId, personName, organisationName, waiting, refused, handed, hasEnded, isSeen, canHandOver };
    });
    if (one.waiting > 0 || !one.isSeen) found.push(one);
  }
  return found;
}

/** The person has read it. */
export async function seen(personId: string, organisationId: string): Promise<void> {
  await inStore(personId, organisationId, async (store) => {
    await store.handed.clear();
    await store.way.update('own', { isSeen: true });
  });
  tell();
}

/** Keeps the ways of a signed-in contact, each in its own store; where the person no longer belongs, access has ended. */
export async function keepWays(me: Me): Promise<void> {
  for (const { organisationId, organisationName, name } of me.memberships) {
    const given = me.handOver.find((one) => one.organisationId === organisationId);
    await inStore(me.personId, organisationId, async (store) => {
      const before = await store.way.get('own');
      if (given === undefined && before === undefined) return;
      await store.way.put({
        key: 'own',
        // Without the right to hand in, the one of the last contact with it stays.
        token: given?.token ?? before?.token ?? null,
        personName: name,
        organisationName,
        hasEnded: false,
        isSeen: before?.isSeen ?? true,
      });
    });
  }
  const here = await storesHere();
  const gone = here.filter(
    (one) => one.personId === me.personId && !me.memberships.some(({ organisationId }) => organisationId === one.organisationId),
  );
  for (const { organisationId } of gone) await endStore(me.personId, organisationId);
  tell();
  if (gone.length > 0) void handOverEnded();
}

/** The service ended this person's access from this device: nothing stays to be read, what is unsent is handed over. */
export async function endAccess(personId: string): Promise<void> {
  for (const one of await storesHere()) if (one.personId === personId) await endStore(personId, one.organisationId);
  tell();
  void handOverEnded();
}

async function endStore(personId: string, organisationId: string): Promise<void> {
  await inStore(personId, organisationId, async (store) => {
    await store.forget();
    const way = await store.way.get('own');
    if (way?.hasEnded) return;
    // What came back before can no longer be put right here; a planner looks at it as well.
    await store.facts.toCollection().modify({ state: 'waiting', why: null, errors: [] });
    const unknown = { key: 'own', token: null, personName: '', organisationName: '' } as const;
    await store.way.put({ ...(way ?? unknown), hasEnded: true, isSeen: false });
  });
}

/**
 * Hands over what a store holds, without a session.
 * @throws Refusal or NoSignal when the service does not take it now; everything not answered stays.
 */
export async function handOver(personId: string, organisationId: string): Promise<void> {
  await inStore(personId, organisationId, (store) => store.alone(() => handOverFrom(store, 'all')));
}

/** The same for a caller who is alone in the store already. */
export async function handOverFrom(store: Store, which: 'all' | 'waiting'): Promise<void> {
  try {
    await sendAll(store, which);
  } finally {
    tell();
  }
}

async function sendAll(store: Store, which: 'all' | 'waiting'): Promise<void> {
  const way = await store.way.get('own');
  if (way?.token == null) return;
  const all = await store.facts.orderBy('order').toArray();
  let left = which === 'all' ? all : all.filter(({ state }) => state === 'waiting');
  let size = BATCH;
  while (left.length > 0) {
    const batch = left.slice(0, size);
    try {
      const answer = await call('handOver', { body: { token: way.token, facts: batch.map(({ fact }) => fact) } });
      const { safe, kept } = mergeHeld(batch, answer.results);
      if (safe.length + kept.length === 0) throw new NoSignal('unreachable');
      await store.transaction('rw', store.facts, store.handed, store.way, async () => {
        await store.handed.bulkPut(safe.map((id) => ({ id, at: answer.receivedAt })));
        await store.facts.bulkDelete([...safe]);
        await store.facts.bulkPut([...kept]);
        await store.way.update('own', { isSeen: false });
      });
      left = left.slice(batch.length);
    } catch (trouble) {
      if (!(trouble instanceof Refusal)) throw trouble;
      if ([400, 413, 422].includes(trouble.status)) {
        // Too much at once, or one fact the service cannot even read: find it by halves.
        if (batch.length > 1) size = Math.ceil(batch.length / 2);
        else {
          await store.facts.update(batch[0]!.id, { state: 'refused', why: trouble.message, errors: [...trouble.errors] });
          left = left.slice(1);
        }
      } else {
        if (trouble.status === 401) await store.way.update('own', { token: null });
        throw trouble;
      }
    }
  }
}

let timer: ReturnType<typeof setTimeout> | undefined;
let running: Promise<void> | null = null;
/** Hands over whatever lies in stores whose access has ended, by itself and again until it is done. */
export function handOverEnded(): Promise<void> {
  running ??= (async () => {
    clearTimeout(timer);
    let isLeft = false;
    for (const one of await whatIsHere()) {
      if (!one.hasEnded || !one.canHandOver || one.waiting === one.refused) continue;
      await handOver(one.personId, one.organisationId).catch(() => {
        isLeft = true;
      });
    }
    if (isLeft) timer = setTimeout(() => void handOverEnded(), AGAIN_MS);
  })().finally(() => {
    running = null;
  });
  return running;
}

/** From the start of the page on: tries when it opens, when signal comes back, when somebody looks. */
export function keepHandingOver(): () => void {
  const again = (): void => {
    if (document.visibilityState === 'visible') void handOverEnded();
  };
  again();
  addEventListener('online', again);
  document.addEventListener('visibilitychange', again);
  return () => {
    clearTimeout(timer);
    removeEventListener('online', again);
    document.removeEventListener('visibilitychange', again);
  };
}
