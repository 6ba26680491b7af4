import type { AssetPage } from '@heatround/contract';
import { type Fact, uuidV7 } from '@heatround/domain';
import { call, NoSignal, onHearing, Refusal } from '../client/index.ts';
import { stamp } from './clock.ts';
import { handOverFrom, onHandOver } from './hand-over.ts';
import { type Kept, mergeResults, type Receipt, type Tally } from './merge.ts';
import { asOfToday } from './older.ts';
import { type Carried, type Draft, type KeptWalk, type Pack, type Step, Store } from './store.ts';

const BATCH = 200;
const PACKS_KEPT = 150;
const RECEIPTS_KEPT = 200;
/** A walk stays usable without signal this long, and what was done in it stays readable. */
const WALK_MS = 14 * 86_400_000;
const CARRIED_MS = 30 * 60_000;
const AGAIN_MS = [3_000, 6_000, 15_000, 30_000, 60_000];

export interface OutboxState extends Omit<Tally, 'safeAt'> {
  /** Server's time of the last answer that left nothing waiting. */
  readonly safeAtIso: string | null;
  /** Why sending stopped although there is signal, in words. */
  readonly stopped: string | null;
}

type WithoutStamp<F> = F extends Fact ? Omit<F, 'id' | 'takenAt' | 'clock'> : never;
export type NewFact = WithoutStamp<Fact>;

let hasSignal = typeof navigator === 'undefined' || navigator.onLine !== false;
const signalListeners = new Set<() => void>();
onHearing((reached) => {
  if (reached === hasSignal) return;
  hasSignal = reached;
  for (const listener of signalListeners) listener();
});

/** One person's facts for one organisation, on this device. */
export class Outbox {
  readonly #store: Store;
  readonly #organisationId: string;
  readonly #listeners = new Set<() => void>();
  #state: OutboxState = { waiting: 0, held: 0, hasSignal, safeAtIso: null, stopped: null };
  #timer: ReturnType<typeof setTimeout> | undefined;
  #tries = 0;
  #running: Promise<void> | null = null;
  #isClosed = false;
  readonly #unlisten: () => void;

  constructor(personId: string, organisationId: string) {
    this.#store = new Store(personId, organisationId);
    this.#organisationId = organisationId;
    signalListeners.add(this.#refresh);
    addEventListener('online', this.#online);
    addEventListener('offline', this.#offline);
    document.addEventListener('visibilitychange', this.#seen);
    this.#unlisten = onHandOver(() => void this.#refresh());
    void this.#refresh().then(() => this.sync());
  }

  close(): void {
    this.#isClosed = true;
    clearTimeout(this.#timer);
    signalListeners.delete(this.#refresh);
    removeEventListener('online', this.#online);
    removeEventListener('offline', this.#offline);
    document.removeEventListener('visibilitychange', this.#seen);
    this.#unlisten();
    this.#store.close();
  }

  get state(): OutboxState {
    return this.#state;
  }
  subscribe(listener: () => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /** The organisation's time on this device. */
  now(): number {
    return Date.now() + (storedOffset(this.#organisationId) ?? 0);
  }
  /** An id and the time for a fact that begins now. */
  stamp(): Pick<Fact, 'id' | 'takenAt' | 'clock'> {
    const times = stamp(Date.now(), performance.now(), storedOffset(this.#organisationId));
    return { id: uuidV7(Math.max(0, Date.parse(times.takenAt)), crypto.getRandomValues(new Uint8Array(10))), ...times };
  }

  /** Keeps a fact here and sends it when it can; resolves as soon as it is kept. */
  async record(fact: Fact, label: string, assetId: string | null, step?: Omit<Step, 'id' | 'at'>): Promise<void> {
    await this.#store.transaction('rw', this.#store.facts, this.#store.steps, async () => {
      const last = await this.#store.facts.orderBy('order').last();
      // Put, not add: recording the same fact twice keeps one.
      await this.#store.facts.put({
        id: fact.id,
        order: (last?.order ?? 0) + 1,
        fact,
        label,
        assetId,
        state: 'waiting',
        why: null,
        errors: [],
      });
      if (step !== undefined) await this.#store.steps.put({ ...step, id: fact.id, at: Date.parse(fact.takenAt) });
    });
    await this.#refresh();
    void this.sync();
  }

  /** Everything that is only here, in the order it was recorded. */
  pending(): Promise<Kept[]> {
    return this.#store.facts.orderBy('order').toArray();
  }
  /** What became safe lately, newest first. */
  async receipts(): Promise<Receipt[]> {
    return (await this.#store.receipts.orderBy('safeAt').reverse().limit(RECEIPTS_KEPT).toArray()) as Receipt[];
  }
  /** Facts of some points, and work on their whole asset, that the service does not have yet. */
  async waitingFor(pointIds: readonly string[], assetId: string | null = null): Promise<Kept[]> {
    const all = await this.pending();
    return all.filter(({ fact }) =>
      'pointId' in fact && fact.pointId !== undefined
        ? pointIds.includes(fact.pointId)
        : fact.kind === 'work-recorded' && fact.assetId === assetId,
    );
  }
  /** Lets a refused or conflicting fact go, on the word of the person. */
  async letGo(id: string): Promise<void> {
    const kept = await this.#store.facts.get(id);
    if (kept !== undefined && kept.state !== 'waiting') {
      await this.#store.facts.delete(id);
      await this.#store.steps.delete(id);
    }
    await this.#refresh();
  }
  /** Sends a refused fact again as it is, for instance after rights were given. */
  async sendAgain(id: string): Promise<void> {
    await this.#store.facts.update(id, { state: 'waiting', why: null, errors: [] });
    await this.#refresh();
    await this.sync();
  }

  /** Sends what waits. Safe to call at any time and from several pages at once. */
  sync(): Promise<void> {
    this.#running ??= this.#alone(() => this.#sendAll()).finally(() => {
      this.#running = null;
    });
    return this.#running;
  }

  async #alone(work: () => Promise<void>): Promise<void> {
    if (!this.#isClosed) await this.#store.alone(work);
  }

  async #sendAll(): Promise<void> {
    clearTimeout(this.#timer);
    let size = BATCH;
    try {
      for (;;) {
        const batch = await this.#store.facts.where('state').equals('waiting').limit(size).sortBy('order');
        if (batch.length === 0 || this.#isClosed) break;
        try {
          const answer = await call(
            'submitFacts',
            { body: { facts: batch.map((kept) => kept.fact) } },
            { organisationId: this.#organisationId },
          );
          const merged = mergeResults(batch, answer.results, answer.receivedAt);
          if (merged.safe.length + merged.kept.length === 0) throw new NoSignal('unreachable');
          await this.#store.transaction('rw', this.#store.facts, this.#store.receipts, async () => {
            await this.#store.receipts.bulkPut([...merged.safe]);
            await this.#store.facts.bulkDelete(merged.safe.map((receipt) => receipt.id));
            await this.#store.facts.bulkPut([...merged.kept]);
          });
          localStorage.setItem(`heatround-safe:${this.#store.name}`, answer.receivedAt);
        } catch (trouble) {
          // Too much at once, or one fact the service cannot even read: find it by halves.
          if (trouble instanceof Refusal && [400, 413, 422].includes(trouble.status) && batch.length > 0) {
            if (batch.length > 1) {
              size = Math.ceil(batch.length / 2);
              continue;
            }
            await this.#store.facts.update(batch[0]!.id, { state: 'refused', why: trouble.message, errors: [...trouble.errors] });
            continue;
          }
          // The role that handed in is gone, the person is not: what was taken under it goes to a planner.
          if (!(trouble instanceof Refusal && trouble.code === 'not-allowed')) throw trouble;
          await handOverFrom(this.#store, 'waiting');
          if ((await this.#store.facts.where('state').equals('waiting').count()) > 0) throw trouble;
        }
      }
      this.#tries = 0;
      await this.#refresh(null);
    } catch (trouble) {
      await this.#refresh(trouble instanceof Refusal ? whyStopped(trouble) : null);
      if (!this.#isClosed && this.#state.waiting > 0) {
        this.#timer = setTimeout(() => void this.sync(), AGAIN_MS[Math.min(this.#tries++, AGAIN_MS.length - 1)]);
      }
    }
    if (!this.#isClosed) {
      const old = await this.#store.receipts.orderBy('safeAt').reverse().offset(RECEIPTS_KEPT).primaryKeys();
      if (old.length > 0) await this.#store.receipts.bulkDelete(old);
    }
  }

  #refresh = async (stopped: string | null = this.#state.stopped): Promise<void> => {
    if (this.#isClosed) return;
    const [waiting, all] = await Promise.all([
      this.#store.facts.where('state').equals('waiting').count(),
      this.#store.facts.count(),
    ]);
    this.#state = {
      waiting,
      held: all - waiting,
      hasSignal,
      safeAtIso: localStorage.getItem(`heatround-safe:${this.#store.name}`),
      stopped: waiting > 0 ? stopped : null,
    };
    for (const listener of this.#listeners) listener();
  };
  #online = (): void => {
    hasSignal = true;
    this.#tries = 0;
    void this.#refresh().then(() => this.sync());
  };
  #offline = (): void => {
    hasSignal = false;
    void this.#refresh();
  };
  #seen = (): void => {
    if (document.visibilityState === 'visible' && this.#state.waiting > 0) void this.sync();
  };

  /** Stop packs: pages of visited assets for use without signal. */
  async keepPack(page: AssetPage): Promise<void> {
    await this.#store.packs.put({ assetId: page.id, keptAt: this.now(), page });
    await this.#prunePacks();
  }
  /** Assets of a kept walk stay, however many others were visited since. */
  async #prunePacks(): Promise<void> {
    const needed = new Set((await this.#store.walks.toArray()).flatMap(({ assetIds }) => assetIds));
    const old = await this.#store.packs.orderBy('keptAt').reverse().offset(PACKS_KEPT).primaryKeys();
    const gone = old.filter((id) => !needed.has(id));
    if (gone.length > 0) await this.#store.packs.bulkDelete(gone);
  }
  async pack(assetId: string): Promise<Pack | undefined> {
    const found = await this.#store.packs.get(assetId);
    return found && { ...found, page: asOfToday(found.page) };
  }
  async packs(): Promise<Pack[]> {
    return (await this.#store.packs.toArray()).map((one) => ({ ...one, page: asOfToday(one.page) }));
  }

  /** A whole walk with its assets, all or nothing, so that it can be walked without signal. */
  async keepWalk(walk: Omit<KeptWalk, 'keptAt'>, pages: readonly AssetPage[]): Promise<void> {
    const keptAt = this.now();
    await this.#store.transaction('rw', this.#store.walks, this.#store.packs, async () => {
      await this.#store.packs.bulkPut(pages.map((page) => ({ assetId: page.id, keptAt, page })));
      await this.#store.walks.put({ ...walk, keptAt });
    });
    await this.#prunePacks();
  }
  async walk(id: string): Promise<KeptWalk | null> {
    const found = await this.#store.walks.get(id);
    return found !== undefined && this.now() - found.keptAt < WALK_MS ? found : null;
  }
  /** Lets walks go that are no longer this person's to walk. */
  async keepOnlyWalks(ids: readonly string[]): Promise<void> {
    const gone = (await this.#store.walks.toCollection().primaryKeys()).filter((id) => !ids.includes(id));
    if (gone.length > 0) await this.#store.walks.bulkDelete(gone);
    const old = await this.#store.steps
      .where('at')
      .below(this.now() - 2 * WALK_MS)
      .primaryKeys();
    if (old.length > 0) await this.#store.steps.bulkDelete(old);
  }
  /** What was done here in a walk, in order; without an id in all walks. */
  async steps(walkId?: string): Promise<Step[]> {
    const all = await this.#store.steps.orderBy('at').toArray();
    return walkId === undefined ? all : all.filter((step) => step.walkId === walkId);
  }
  /** Keeps the last answer to a question, for a start without signal. */
  async keepAnswer(key: string, answer: unknown): Promise<void> {
    await this.#store.answers.put({ key, at: this.now(), answer });
  }
  async answer<T>(key: string): Promise<{ readonly at: number; readonly answer: T } | null> {
    const found = await this.#store.answers.get(key);
    return found !== undefined && this.now() - found.at < WALK_MS ? (found as { at: number; answer: T }) : null;
  }

  /** Digits typed and not yet confirmed. */
  async keepDraft(draft: Draft): Promise<void> {
    await this.#store.drafts.put(draft);
  }
  draft(pointId: string): Promise<Draft | undefined> {
    return this.#store.drafts.get(pointId);
  }
  async dropDraft(pointId: string): Promise<void> {
    await this.#store.drafts.delete(pointId);
  }

  /** A condition that may be carried over for half an hour: the air of a room, the load of an asset. */
  async carry(key: string, text: string, unit: string): Promise<void> {
    await this.#store.carried.put({ key, text, unit, at: this.now() });
  }
  async carried(key: string): Promise<Carried | null> {
    const found = await this.#store.carried.get(key);
    return found !== undefined && Math.abs(this.now() - found.at) < CARRIED_MS ? found : null;
  }
}

function whyStopped(refusal: Refusal): string {
  if (refusal.status === 401) return 'You are signed out. Sign in again and what is kept here will be sent.';
  if (refusal.status === 403 || refusal.status === 404) return `Not taken: ${refusal.message} What you entered is kept here.`;
  return refusal.message;
}

/** What the last contact told about the clock; it outlives a start without signal. */
function storedOffset(organisationId: string): number | null {
  const text = localStorage.getItem(`heatround-offset:${organisationId}`);
  return text === null || !Number.isFinite(Number(text)) ? null : Number(text);
}
