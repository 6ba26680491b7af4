import type { AssetPage, ExtraStopLine, StopLine } from '@heatround/contract';
import type { CouldNotRead, Grade } from '@heatround/domain';
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
  }
}
