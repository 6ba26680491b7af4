import { useCallback, useEffect, useState } from 'preact/hooks';
import { sayTrouble } from '../client/index.ts';
import { handOver, onHandOver, seen, type Unsent, whatIsHere } from '../outbox/index.ts';
import { THIS_DEVICE } from '../ui/device.ts';
import { Told } from '../ui/field.tsx';
import { sayCount } from '../ui/format.ts';

/** What a person without access reads about entries that were handed over. */
export const sayHanded = (count: number): string =>
  `${sayCount(count, 'entry is', 'entries are')} safe on the server; a planner looks at ${count === 1 ? 'it' : 'them'}.`;

/** What lies on this device, kept current. @param personId only this person's; otherwise everybody's. */
export function useUnsent(personId?: string): readonly Unsent[] {
  const [found, setFound] = useState<readonly Unsent[]>([]);
  useEffect(() => {
    let isHere = true;
    const look = (): void => {
      whatIsHere(personId).then(
        (all) => {
          if (isHere) setFound(all);
        },
        () => undefined,
      );
    };
    look();
    const unlisten = onHandOver(look);
    return () => {
      isHere = false;
      unlisten();
    };
  }, [personId]);
  return found;
}

/** Before sign-in: what is only on this device, whose it is, and how it becomes safe. Nothing of it can be read here. */
export function UnsentHere() {
  const found = useUnsent();
  if (found.length === 0) return null;
  return (
    <section class="sec unsent" aria-label={`Kept on this ${THIS_DEVICE}`}>
      <h2>Kept on this {THIS_DEVICE}</h2>
      <ul>
        {found.map((one) => (
          <Line key={`${one.personId} ${one.organisationId}`} one={one} />
        ))}
      </ul>
    </section>
  );
}

function Line({ one }: { one: Unsent }) {
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  const send = useCallback(async (): Promise<void> => {
    setBusy(true);
    setTrouble(null);
    await handOver(one.personId, one.organisationId).catch(setTrouble);
    setBusy(false);
  }, [one.personId, one.organisationId]);
  const open = one.waiting - one.refused;
  return (
    <li>
      <div>
        {one.personName && <b>{one.personName}</b>}
        {one.hasEnded && <p>Access has ended.</p>}
        {one.handed > 0 && (
          <p role="status">
            <b>{sayHanded(one.handed)}</b>
          </p>
        )}
        {open > 0 && <p>{sayOpen(open, one)}</p>}
        {one.refused > 0 && (
          <p>
            {sayCount(one.refused, 'entry', 'entries')} could not be taken by the server and{' '}
            {one.refused === 1 ? 'stays' : 'stay'} here{one.hasEnded ? '; tell a planner' : ' until you sign in'}.
          </p>
        )}
        {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
        <div class="keyrow">
          {open > 0 && one.canHandOver && (
            <button type="button" class="key" disabled={isBusy} onClick={() => void send()}>
              {isBusy ? 'Handing over' : one.hasEnded ? 'Hand over now' : 'Hand over without signing in'}
            </button>
          )}
          {one.waiting === 0 && (
            <button type="button" class="key" onClick={() => void seen(one.personId, one.organisationId)}>
              Seen
            </button>
          )}
        </div>
      </div>
    </li>
  );
}

function sayOpen(count: number, { hasEnded, canHandOver }: Unsent): string {
  const here = `${sayCount(count, 'entry is', 'entries are')} only on this ${THIS_DEVICE}.`;
  const [them, they] = count === 1 ? ['it', 'it goes up by itself'] : ['them', 'they go up by themselves'];
  if (hasEnded && canHandOver) return `${here} The service takes ${them} as soon as there is signal.`;
  if (hasEnded) return `${here} The 14 days for handing over are past: ask an administrator to let you in once more.`;
  if (canHandOver) return `${here} Sign in and ${they}. Handed over without signing in, a planner looks at ${them} first.`;
  return `${here} Sign in and ${they}.`;
}

/** The same for somebody who is signed in: what was handed over, where access has ended. */
export function HandedNotice({ personId }: { personId: string }) {
  const found = useUnsent(personId).filter((one) => one.hasEnded || one.handed > 0);
  return (
    <>
      {found.map((one) => (
        <div class="told notice" role="status" key={one.organisationId}>
          {one.hasEnded && `Your access to ${one.organisationName || 'an organisation'} has ended. `}
          {one.handed > 0 && `${sayHanded(one.handed)} `}
          {one.waiting > 0 && one.hasEnded && `${sayOpen(one.waiting, one)} `}
          {(one.waiting === 0 || !one.hasEnded) && (
            <button type="button" class="link" onClick={() => void seen(one.personId, one.organisationId)}>
              Seen
            </button>
          )}
        </div>
      ))}
    </>
  );
}
