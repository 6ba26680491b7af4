import type { AssetPage } from '@heatround/contract';
import { Dexie, type Table } from 'dexie';
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

/** One database per person and organisation, so that on a shared device nobody meets another's readings. */
export class Store extends Dexie {
  declare readonly facts: Table<Kept, string>;
  declare readonly receipts: Table<Receipt, string>;
  declare readonly packs: Table<Pack, string>;
  declare readonly drafts: Table<Draft, string>;
  declare readonly carried: Table<Carried, string>;

  constructor(personId: string, organisationId: string) {
    super(`heatround:${personId}:${organisationId}`);
    this.version(1).stores({
      facts: 'id, order, state',
      receipts: 'id, safeAt',
      packs: 'assetId, keptAt',
      drafts: 'pointId',
      carried: 'key',
    });
  }
}
