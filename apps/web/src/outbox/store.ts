import type { AssetPage, ExtraStopLine, ReadingRow, StopLine } from '@heatround/contract';
import type { AwaitingProof, CouldNotRead, Grade } from '@heatround/domain';
import { Dexie, type Table } from 'dexie';
import type { Answer } from '../client/index.ts';
import type { Kept, Receipt } from './merge.ts';

export interface Pack {
  readonly assetId: string;
  readonly keptAt: number;
  readonly page: AssetPage;
}
export interface Draft {
  readonly pointId: string;
  readonly at: number;
  readonly texts: Readonly<Record<string, string>>;
  readonly active: string | null;
}
export interface Carried {
  /** ambient:<room>, load:<asset> */
  readonly key: string;
  readonly text: string;
  readonly unit: string;
  readonly at: number;
}

/** A round as it is listed in My walk. */
export type MyRound = Answer<'myWalk'>['rounds'][number];

/** An open finding or order, for the sentence at the stop. */
export interface OpenFault {
  readonly pointId: string;
  readonly number: number;
  readonly reportedAt: string;
  readonly reportedBy: string;
  readonly state: string;
  readonly orderNumber: number | null;
}

/** A repair that waits for its proof, with what the proof is judged by. */
export interface AwaitedProof {
  readonly pointId: string;
  readonly orderNumber: number;
  /** Epoch milliseconds; a reading from before is no proof. */
  readonly since: number;
  /** Proved once; bearings are read again. */
  readonly isSecond: boolean;
  /** What must be met: "below 70.0 °C"; null: the point has no limit. */
  readonly inWords: string | null;
  /** As the order states it; null: below Watch. */
  readonly target: AwaitingProof['target'];
  /** The reading of the finding. */
  readonly before: ReadingRow | null;
}

/** Everything of one walk that works without signal; its assets lie in `packs`. */
export interface KeptWalk {
  /** Of the round; EXTRA for extra stops that belong to no round. */
  readonly id: string;
  readonly keptAt: number;
  readonly round: MyRound | null;
  readonly stops: readonly StopLine[];
  readonly extraStops: readonly ExtraStopLine[];
  readonly assetIds: readonly string[];
  readonly faults: readonly OpenFault[];
  /** Absent in walks that an older version kept. */
  readonly proofs?: readonly AwaitedProof[] | undefined;
  /** Words of whoever gave the half-walked round. */
  readonly givenNote: string | null;
}
export const EXTRA = 'extra';

/** What was done here in a walk; it stays after the fact itself became safe on the server. */
export interface Step {
  /** Of the fact. */
  readonly id: string;
  readonly walkId: string;
  /** Epoch milliseconds of the organisation's time. */
  readonly at: number;
  readonly kind: 'answer' | 'taken' | 'handed-in' | 'given' | 'put-right' | 'reported';
  readonly pointId: string | null;
  readonly answer: 'read' | CouldNotRead | null;
  readonly grade: Grade | null;
  readonly isJudged: boolean;
  /** "87.0 °C", or the words beside an answer without a value, or the name of who got the round. */
  readonly said: string;
}

/** How to hand over what is here when access has ended; given at the last signed-in contact. */
export interface Way {
  readonly key: 'own';
  /** Opens one address for facts and nothing else; null: there is none, or the service said that it has run out. */
  readonly token: string | null;
  readonly personName: string;
  readonly organisationName: string;
  /** The service said that nothing is to be read here any more. */
  readonly hasEnded: boolean;
  /** The person has read what became of it. */
  readonly isSeen: boolean;
}

/** One database per person and organisation, so that on a shared device nobody meets another's readings. */
export class Store extends Dexie {
  declare readonly facts: Table<Kept, string>;
  declare readonly receipts: Table<Receipt, string>;
  declare readonly packs: Table<Pack, string>;
  declare readonly drafts: Table<Draft, string>;
  declare readonly carried: Table<Carried, string>;
  declare readonly walks: Table<KeptWalk, string>;
  declare readonly steps: Table<Step, string>;
  declare readonly answers: Table<{ readonly key: string; readonly at: number; readonly answer: unknown }, string>;
  declare readonly way: Table<Way, string>;
  /** Facts that were handed over and wait for a planner: their ids and the server's time, nothing to read. */
  declare readonly handed: Table<{ readonly id: string; readonly at: string }, string>;

  constructor(personId: string, organisationId: string) {
    super(`heatround:${personId}:${organisationId}`);
    this.version(1).stores({
      facts: 'id, order, state',
      receipts: 'id, safeAt',
      packs: 'assetId, keptAt',
      drafts: 'pointId',
      carried: 'key',
    });
    this.version(2).stores({ walks: 'id, keptAt', steps: 'id, walkId, at', answers: 'key' });
    this.version(3).stores({ way: 'key', handed: 'id' });
  }

  /** One page at a time sends from here; a second one waits its turn, and then finds nothing left to send. */
  async alone(work: () => Promise<void>): Promise<void> {
    if (navigator.locks === undefined) await work();
    else await navigator.locks.request(this.name, work);
  }

  /** Lets go of everything that is here to be read; what a person entered stays: facts, digits not yet confirmed. */
  async forget(): Promise<void> {
    const readable = [this.packs, this.walks, this.steps, this.answers, this.carried, this.receipts];
    await this.transaction('rw', readable, () => Promise.all(readable.map((table) => table.clear())));
    localStorage.removeItem(`heatround-safe:${this.name}`);
  }
}
