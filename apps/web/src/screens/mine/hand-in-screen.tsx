import type { Fact } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import type { Kept, Receipt } from '../../outbox/index.ts';
import { useOutboxState, useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { THIS_DEVICE } from '../../ui/device.ts';
import { clockTime, sayCount, thisZone, whenRead } from '../../ui/format.ts';
import './hand-in.css';

const KIND_WORDS: Readonly<Record<Fact['kind'], string>> = {
  'reading-taken': 'reading',
  'stop-answered': 'answer',
  'work-recorded': 'work',
  'finding-reported': 'report',
  'put-right': 'put right on the spot',
  'round-taken': 'round',
  'round-given': 'round',
  'round-handed-in': 'round',
};

/** What is safe on the server, what is still here, and what came back with its reason. */
export function HandInScreen() {
  const { outbox } = useSession();
  const state = useOutboxState();
  const [pending, setPending] = useState<readonly Kept[] | null>(null);
  const [receipts, setReceipts] = useState<readonly Receipt[]>([]);
  const [asks, setAsks] = useState<string | null>(null);
  useEffect(() => {
    let isHere = true;
    void Promise.all([outbox.pending(), outbox.receipts()]).then(([facts, safe]) => {
      if (!isHere) return;
      setPending(facts);
      setReceipts(safe);
    });
    return () => {
      isHere = false;
    };
  }, [outbox, state]);

  const heading = useOpening('Hand in');
  const zone = thisZone();
  const now = outbox.now();
  const waiting = pending?.filter((kept) => kept.state === 'waiting') ?? [];
  const back = pending?.filter((kept) => kept.state !== 'waiting') ?? [];
  const differing = receipts.filter((receipt) => receipt.otherVerdict !== null || receipt.notice !== null);
  return (
    <div class="handin">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {opening(
          pending,
          waiting.length,
          back.length,
          receipts.length,
          state.safeAtIso === null ? null : clockTime(state.safeAtIso, zone),
        )}
      </h1>
      {state.stopped !== null && <p class="told">{state.stopped}</p>}
      {waiting.length > 0 && (
        <section class="sec">
          <div class="secrow">
            <h2>Only on this {THIS_DEVICE}</h2>
            <button type="button" class="key" onClick={() => void outbox.sync()}>
              Send now
            </button>
          </div>
          <ul>
            {waiting.map((kept) => (
              <Row
                key={kept.id}
                label={kept.label}
                assetId={kept.assetId}
                note={`${KIND_WORDS[kept.fact.kind]}, ${whenRead(kept.fact.takenAt, zone, now)}`}
              />
            ))}
          </ul>
        </section>
      )}
      {back.length > 0 && (
        <section class="sec">
          <h2>Came back, with the reason</h2>
          <ul>
            {back.map((kept) => (
              <li key={kept.id} class="handrow">
                <div>
                  <b>{kept.label}</b>
                  <p class="note">
                    {KIND_WORDS[kept.fact.kind]}, {whenRead(kept.fact.takenAt, zone, now)}
                  </p>
                  <p class="told">
                    {kept.why}
                    {kept.errors.map((error) => (
                      <span key={error.pointer}>
                        <br />
                        {error.detail}
                      </span>
                    ))}
                  </p>
                  <div class="keyrow">
                    {kept.state === 'refused' && (
                      <button type="button" class="key" onClick={() => void outbox.sendAgain(kept.id)}>
                        Send again
                      </button>
                    )}
                    {asks === kept.id ? (
                      <>
                        <button type="button" class="key" onClick={() => void outbox.letGo(kept.id)}>
                          Yes, delete it here
                        </button>
                        <button type="button" class="key" onClick={() => setAsks(null)}>
                          Keep it
                        </button>
                      </>
                    ) : (
                      <button type="button" class="key" onClick={() => setAsks(kept.id)}>
                        Delete it from this {THIS_DEVICE}
                      </button>
                    )}
                  </div>
                </div>
              </li>
            ))}
          </ul>
        </section>
      )}
      {differing.length > 0 && (
        <section class="sec">
          <h2>Kept, and worth a look</h2>
          <ul>
            {differing.map((receipt) => (
              <li key={receipt.id} class="handrow">
                <div>
                  <a href={receipt.assetId === null ? '/hand-in' : `/assets/${receipt.assetId}`}>{receipt.label}</a>
                  {receipt.notice !== null && <p class="small">{receipt.notice}</p>}
                  {receipt.otherVerdict !== null && (
                    <p class="small">
                      This {THIS_DEVICE} said: {receipt.otherVerdict.here} The server says: {receipt.otherVerdict.there} Both are
                      kept.
                    </p>
                  )}
                </div>
              </li>
            ))}
          </ul>
        </section>
      )}
      {receipts.length > 0 && (
        <section class="sec">
          <h2>Safe on the server</h2>
          <ul>
            {receipts.slice(0, 60).map((receipt) => (
              <Row
                key={receipt.id}
                label={receipt.label}
                assetId={receipt.assetId}
                note={`${KIND_WORDS[receipt.kind]}, ${whenRead(receipt.takenAt, zone, now)}, safe since ${clockTime(receipt.safeAt, zone)}`}
              />
            ))}
          </ul>
        </section>
      )}
    </div>
  );
}

function opening(pending: readonly Kept[] | null, waiting: number, back: number, safe: number, at: string | null): string {
  if (pending === null) return 'What is safe on the server';
  const came = back === 0 ? '' : ` ${sayCount(back, 'entry')} came back with the reason.`.replace('entrys', 'entries');
  if (waiting > 0)
    return `${sayCount(waiting, 'entry', 'entries')} ${waiting === 1 ? 'is' : 'are'} only on this ${THIS_DEVICE}.${came}`;
  if (back > 0) return `Nothing waits here.${came}`;
  if (safe === 0 || at === null) return 'Nothing waits here. What you read will show here until it is safe on the server.';
  return `Everything is safe on the server, ${at}.`;
}

function Row({ label, assetId, note }: { label: string; assetId: string | null; note: string }) {
  return (
    <li class="handrow">
      {assetId === null ? <b>{label}</b> : <a href={`/assets/${assetId}`}>{label}</a>}
      <span class="note">{note}</span>
    </li>
  );
}
