import type { HandedOver } from '@heatround/contract';
import { useCallback, useEffect, useRef, useState } from 'preact/hooks';
import { type Answer, call, sayTrouble } from '../../client/index.ts';
import { recountHandedOver } from '../../shell/handed-over.ts';
import { useSession } from '../../shell/session.tsx';
import { useSiteZone } from '../../shell/site-clock.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { clockTime, fullDate, sayCount, whenRead } from '../../ui/format.ts';
import { Tag } from '../../ui/marks.tsx';
import { byPerson, sayBeside, sayDecided, sayEntry, sayWaiting } from './words.ts';
import './hand-over.css';

type Page = Answer<'listHandedOver'>;
const PAGE = 50;
const MOST_AT_ONCE = 200;

/** For a planner: entries of people whose access ended before their device could send them. Accepted, they are recorded as theirs. */
export function HandedOverScreen() {
  const [waiting, setWaiting] = useState<Page | null>(null);
  const [decided, setDecided] = useState<Page | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [said, setSaid] = useState<string | null>(null);
  const [isBusy, setBusy] = useState(false);
  const saidLine = useRef<HTMLParagraphElement>(null);
  const heading = useOpening('Handed over');

  const look = useCallback(async (): Promise<void> => {
    try {
      setWaiting(await call('listHandedOver', { query: { pageSize: PAGE } }));
      setTrouble(null);
    } catch (failed) {
      setTrouble(failed);
    }
  }, []);
  useEffect(() => void look(), [look]);
  useEffect(() => {
    if (said !== null) saidLine.current?.focus();
  }, [said]);
  const more = async (which: 'waiting' | 'decided', before: Page | null): Promise<void> => {
    try {
      const page = await call('listHandedOver', { query: { which, pageSize: PAGE, after: before?.next ?? undefined } });
      const joined = { ...page, entries: [...(before?.entries ?? []), ...page.entries] };
      if (which === 'waiting') setWaiting(joined);
      else setDecided(joined);
    } catch (failed) {
      setTrouble(failed);
    }
  };
  /** Decides, looks again, and says what became of it. */
  const decide = async (ids: readonly string[], reason: string | null, evenTurnedAway = false): Promise<void> => {
    if (isBusy) return;
    setBusy(true);
    setTrouble(null);
    try {
      const results: Answer<'acceptHandedOver'>['results'] = [];
      for (let from = 0; from < ids.length; from += MOST_AT_ONCE) {
        const some = ids.slice(from, from + MOST_AT_ONCE);
        const answer =
          reason === null
            ? await call('acceptHandedOver', { body: { ids: some, evenTurnedAway } })
            : await call('turnAwayHandedOver', { body: { ids: some, reason } });
        results.push(...answer.results);
      }
      await look();
      if (decided !== null) await more('decided', null);
      recountHandedOver();
      setSaid(sayDecided(results));
    } catch (failed) {
      setTrouble(failed);
    } finally {
      setBusy(false);
    }
  };
  const people = byPerson(waiting?.entries ?? []);
  return (
    <div class="handedover">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {waiting === null
          ? trouble === null
            ? 'Handed over'
            : 'What was handed over cannot be shown now.'
          : sayWaiting(waiting.entries.length, people.length, waiting.next !== null)}
      </h1>
      <p class="note">
        Sent from devices after access had ended, or without signing in. Nothing of it counts until you accept it; then it is
        recorded as taken by that person at that time.
      </p>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {said !== null && (
        <p class="told" role="status" tabIndex={-1} ref={saidLine}>
          {said}
        </p>
      )}
      {people.map(({ id, name, entries }) => (
        <section class="sec" key={id} aria-label={`From ${name}`}>
          <div class="secrow">
            <h2>
              {name}, {sayCount(entries.length, 'entry', 'entries')}
            </h2>
            {entries.length > 1 && (
              <button
                type="button"
                class="key main"
                disabled={isBusy}
                onClick={() =>
                  void decide(
                    entries.map((entry) => entry.id),
                    null,
                  )
                }
              >
                Accept all {entries.length}
                <span class="unseen"> of {name}</span>
              </button>
            )}
          </div>
          <ul>
            {entries.map((entry) => (
              <Row key={entry.id} entry={entry} isAlone={entries.length === 1} isBusy={isBusy} decide={decide} />
            ))}
          </ul>
        </section>
      ))}
      {waiting?.next != null && (
        <div class="keyrow">
          <button type="button" class="key" onClick={() => void more('waiting', waiting)}>
            Show more
          </button>
        </div>
      )}
      <section class="sec" aria-label="Decided">
        <div class="secrow">
          <h2>Decided</h2>
          {decided === null && (
            <button type="button" class="link" onClick={() => void more('decided', null)}>
              Show what was decided
            </button>
          )}
        </div>
        {decided?.entries.length === 0 && <p class="small">Nothing was decided yet.</p>}
        <ul>
          {decided?.entries.map((entry) => (
            <Decided key={entry.id} entry={entry} isBusy={isBusy} decide={decide} />
          ))}
        </ul>
        {decided?.next != null && (
          <div class="keyrow">
            <button type="button" class="key" onClick={() => void more('decided', decided)}>
              Show older
            </button>
          </div>
        )}
      </section>
    </div>
  );
}

type Decide = (ids: readonly string[], reason: string | null, evenTurnedAway?: boolean) => Promise<void>;

/** Where, what and when, in words. */
function What({ entry }: { entry: HandedOver }) {
  const { outbox } = useSession();
  const zone = useSiteZone();
  const now = outbox.now();
  const { asset, point, round, fact } = entry;
  const beside = sayBeside(fact);
  const moment = (when: string): string => {
    const said = whenRead(when, zone, now);
    return said.startsWith('today') ? said : `${said}, ${clockTime(when, zone)}`;
  };
  return (
    <>
      <p class="where1">
        {asset !== null ? (
          <>
            <a href={`/assets/${asset.id}`}>
              {asset.name}
              {point !== null && `, ${point.name}`}
            </a>{' '}
            <Tag tag={asset.tag} letter={point?.letter} />
          </>
        ) : round !== null ? (
          <a href={`/round/${round.id}`}>
            {round.route}, {fullDate(round.plannedAt, zone, now)}
          </a>
        ) : (
          <b>A place that is not in the register</b>
        )}
      </p>
      <p class="entry1">{sayEntry(fact)}</p>
      {beside !== null && <p class="small">“{beside}”</p>}
      <p class="note">
        Taken {moment(entry.takenAt)}. Received {moment(entry.receivedAt)}.
        {entry.isAfterEnd && entry.accessEndedAt !== null && (
          <>
            {' '}
            <b>
              Taken after access had ended, {fullDate(entry.accessEndedAt, zone, now)}, {clockTime(entry.accessEndedAt, zone)}.
            </b>
          </>
        )}
      </p>
    </>
  );
}

function Row({ entry, isAlone, isBusy, decide }: { entry: HandedOver; isAlone: boolean; isBusy: boolean; decide: Decide }) {
  const [isAsking, setAsking] = useState(false);
  const [reason, setReason] = useState('');
  const [wrong, setWrong] = useState<string | null>(null);
  const form = useRef<HTMLFormElement>(null);
  useEffect(() => {
    if (isAsking) form.current?.querySelector('input')?.focus();
  }, [isAsking]);
  const about = ` ${entry.asset?.tag ?? entry.round?.route ?? 'unknown place'}, ${sayEntry(entry.fact)}`;
  const turnAway = (event: Event): void => {
    event.preventDefault();
    if (reason.trim() === '') {
      setWrong('A reason, such as: taken at the wrong machine.');
      return;
    }
    void decide([entry.id], reason.trim());
  };
  return (
    <li class="handedrow">
      <div>
        <What entry={entry} />
        {entry.refused !== null && <p class="told">Could not be recorded: {entry.refused}</p>}
      </div>
      {isAsking ? (
        <form ref={form} onSubmit={turnAway} noValidate>
          <Field label="Why it is turned away" hint="It is kept with this reason." wrong={wrong}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                maxLength={500}
                value={reason}
                onInput={(event) => setReason(event.currentTarget.value)}
              />
            )}
          </Field>
          <div class="keyrow">
            <button type="submit" class="key" disabled={isBusy}>
              Turn it away
            </button>
            <button type="button" class="key" onClick={() => setAsking(false)}>
              Leave it waiting
            </button>
          </div>
        </form>
      ) : (
        <div class="keyrow">
          <button
            type="button"
            class={`key${isAlone ? ' main' : ''}`}
            disabled={isBusy}
            onClick={() => void decide([entry.id], null)}
          >
            Accept<span class="unseen">{about}</span>
          </button>
          <button type="button" class="key" disabled={isBusy} onClick={() => setAsking(true)}>
            Turn away<span class="unseen">{about}</span>
          </button>
        </div>
      )}
    </li>
  );
}

function Decided({ entry, isBusy, decide }: { entry: HandedOver; isBusy: boolean; decide: Decide }) {
  const { outbox } = useSession();
  const zone = useSiteZone();
  const when = entry.decidedAt === null ? '' : whenRead(entry.decidedAt, zone, outbox.now());
  return (
    <li class="handedrow">
      <div>
        <b>{entry.person.name}</b>
        <What entry={entry} />
        <p class="small">
          {entry.state === 'accepted' ? 'Accepted' : 'Turned away'} by {entry.decidedBy ?? 'somebody'}, {when}
          {entry.state === 'turned-away' && entry.reason !== null ? `: ${entry.reason}` : '.'}
        </p>
      </div>
      {entry.state === 'turned-away' && (
        <div class="keyrow">
          <button type="button" class="key" disabled={isBusy} onClick={() => void decide([entry.id], null, true)}>
            Accept after all
          </button>
        </div>
      )}
    </li>
  );
}
