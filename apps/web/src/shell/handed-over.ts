import { useEffect, useState } from 'preact/hooks';
import { call } from '../client/index.ts';
import type { Session } from './session.tsx';

const listeners = new Set<() => void>();
/** Told after something on the list was decided. */
export function recountHandedOver(): void {
  for (const listener of listeners) listener();
}

const AGAIN_MS = 60_000;
let last: { readonly organisationId: string; readonly at: number; readonly waiting: number } | null = null;

/** How many handed-over entries wait for this planner; asked again when the place changes, at most once a minute. */
export function useHandedOverCount({ membership, may }: Session, path: string): number {
  const { organisationId } = membership;
  const decides = may('correct-any-reading');
  const known = last?.organisationId === organisationId ? last.waiting : 0;
  const [waiting, setWaiting] = useState(known);
  // Another place is the moment to ask again.
  useEffect(() => {
    let isHere = true;
    const ask = async (): Promise<void> => {
      const answer = await call('countHandedOver', {}, { organisationId }).catch(() => null);
      if (answer === null) return;
      last = { organisationId, at: Date.now(), ...answer };
      if (isHere) setWaiting(answer.waiting);
    };
    if (!decides) setWaiting(0);
    else if (last?.organisationId !== organisationId || Date.now() - last.at > AGAIN_MS) void ask();
    else setWaiting(last.waiting);
    const again = (): void => void (decides && ask());
    listeners.add(again);
    return () => {
      isHere = false;
      listeners.delete(again);
    };
  }, [organisationId, decides, path]);
  return waiting;
}
