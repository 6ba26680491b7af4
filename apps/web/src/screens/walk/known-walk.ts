import type { Outbox } from '../../outbox/index.ts';
import { type Walk, walkOf } from './walk-state.ts';

/** One walk as this device knows it; null: not here. */
export async function knownWalk(outbox: Outbox, id: string): Promise<Walk | null> {
  const kept = await outbox.walk(id);
  return kept === null ? null : walkOf(kept, await outbox.steps(id));
}

/** The people of the organisation, under this name among the kept answers. */
export const PEOPLE = 'people';
