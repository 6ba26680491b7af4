import type { ExtraStopLine, RoundLine, Site } from '@heatround/contract';
import { useEffect, useState } from 'preact/hooks';
import { type Answer, call, NoSignal, sayTrouble } from '../../client/index.ts';
import { go, useWhere } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { clockTime, sayCount, sayCounted, thisZone } from '../../ui/format.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';
import { overdueDays, ROUND_WORDS, type Standing, sayWindow, standingOf } from './words.ts';
import './due.css';

type Due = Answer<'listDue'>;
const HEADS: Readonly<Record<Standing, string>> = { overdue: 'Overdue', due: 'Due now', coming: 'Coming' };

/** What is to be read: overdue, due and coming, the highest risk first. */
export function DueScreen() {
  const { outbox, me, may } = useSession();
  const { search } = useWhere();
  const whose = search.get('whose') ?? (may('answer-findings') || !may('submit-facts') ? 'all' : 'mine');
  const [due, setDue] = useState<Due | null>(null);
  const [keptAt, setKeptAt] = useState<number | null>(null);
  const [sites, setSites] = useState<readonly Site[]>([]);
  const [trouble, setTrouble] = useState<unknown>(null);
  useEffect(() => {
    void call('listSites', {}).then(
      (answer) => setSites(answer.sites),
      () => undefined,
    );
  }, []);
  useEffect(() => {
    let isHere = true;
    const key = `due ${whose}`;
    void (async () => {
      const kept = await outbox.answer<Due>(key);
      if (isHere && kept !== null) {
        setDue(kept.answer);
        setKeptAt(kept.at);
      }
      try {
        const query = whose === 'mine' ? { walkerId: me.personId } : whose === 'all' ? {} : { siteId: whose };
        const fresh = await call('listDue', { query: { ...query, days: 14, pageSize: 100 } });
        await outbox.keepAnswer(key, fresh);
        if (!isHere) return;
        setDue(fresh);
        setKeptAt(null);
        setTrouble(null);
      } catch (failed) {
        if (isHere) setTrouble(failed);
      }
    })();
    return () => {
      isHere = false;
    };
  }, [whose, outbox, me.personId]);

  const more = async (): Promise<void> => {
    if (due?.next == null) return;
    const query = whose === 'mine' ? { walkerId: me.personId } : whose === 'all' ? {} : { siteId: whose };
    try {
      const further = await call('listDue', { query: { ...query, days: 14, pageSize: 100, after: due.next } });
      setDue({ ...further, rounds: [...due.rounds, ...further.rounds], extraStops: [...due.extraStops, ...further.extraStops] });
    } catch (failed) {
      setTrouble(failed);
    }
  };
  const heading = useOpening('Due', whose);
  const now = outbox.now();
  return (
    <div class="due">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {due === null ? 'What is to be read' : opening(due, now, whose === 'mine')}
      </h1>
      <Field label="Whose">
        {(aria) => (
          <select
            {...aria}
            class="entry"
            value={whose}
            onChange={(event) => go(`/due?whose=${event.currentTarget.value}`, 'replace')}
          >
            <option value="mine">Mine</option>
            {sites.length > 1 &&
              sites.map((site) => (
                <option key={site.id} value={site.id}>
                  {site.name}
                </option>
              ))}
            <option value="all">All</option>
          </select>
        )}
      </Field>
      {trouble !== null && (
        <Told>
          {sayTrouble(trouble)}
          {trouble instanceof NoSignal &&
            keptAt !== null &&
            ` Below is what this device knew at ${clockTime(keptAt, thisZone())}.`}
        </Told>
      )}
      {due !== null &&
        (['overdue', 'due', 'coming'] as const).map((standing) => {
          const rounds = due.rounds.filter((round) => standingOf(round, now) === standing);
          const extras = due.extraStops.filter((extra) => standingOf(extra, now) === standing);
          if (rounds.length + extras.length === 0) return null;
          return (
            <section class="sec" key={standing}>
              <div class="secrow">
                <h2>{HEADS[standing]}</h2>
                <span class="note">{standing === 'coming' ? 'by date' : 'by risk'}</span>
              </div>
              <ul>
                {extras.map((extra) => (
                  <ExtraRow key={extra.id} extra={extra} now={now} />
                ))}
                {rounds.map((round) => (
                  <RoundRow key={round.id} round={round} now={now} />
                ))}
              </ul>
            </section>
          );
        })}
      {due?.next != null && (
        <div class="keyrow">
          <button type="button" class="key" onClick={() => void more()}>
            Show more
          </button>
        </div>
      )}
    </div>
  );
}

/** The first page brings every extra stop up to some number above this; beyond it only this much is sure. */
const EXTRAS_SURE = 100;
function opening({ counts, rounds, extraStops }: Due, now: number, isMine: boolean): string {
  const say = (standing: Standing, words: string): string => {
    const extras = extraStops.filter((extra) => standingOf(extra, now) === standing).length;
    const pieces = [
      counts[standing] > 0 ? `${sayCounted(counts[standing])} ${counts[standing] === 1 ? 'round' : 'rounds'}` : '',
      extras === 0 ? '' : extras < EXTRAS_SURE ? sayCount(extras, 'extra stop') : `${EXTRAS_SURE} or more extra stops`,
    ].filter(Boolean);
    return pieces.length === 0 ? '' : `${pieces.join(' and ')} ${words}`;
  };
  const parts = [say('overdue', 'overdue'), say('due', 'due now'), say('coming', 'coming within 14 days')].filter(Boolean);
  // What nobody has by name is not nothing: whoever takes it walks it.
  if (parts.length === 0)
    return rounds.length > 0
      ? 'What is to be read'
      : isMine
        ? 'Nothing is due in your name within 14 days.'
        : 'Nothing is due within 14 days.';
  return `${parts.join(', ')}.`;
}

export function Overdue({ latestAt, zone, now }: { latestAt: string; zone: string; now: number }) {
  const days = overdueDays(latestAt, now, zone);
  return (
    <p class="overduebar">
      <i style={`width:${Math.min(60, 6 + days * 4)}%`} />
      <span>{days === 0 ? 'overdue since today' : `${sayCount(days, 'day')} overdue`}</span>
    </p>
  );
}

function RoundRow({ round, now }: { round: RoundLine; now: number }) {
  const who = round.takenBy ?? round.walker;
  const isOverdue = standingOf(round, now) === 'overdue';
  return (
    <li class="duerow">
      <div class="duegrade">
        {round.grade === null ? <span class="soft">not read yet</span> : <GradeMark grade={round.grade} />}
      </div>
      <div class="duename">
        <a href={`/round/${round.id}`}>
          {round.code} {round.name}
        </a>
        <p class="small soft">
          {sayCount(round.stops, 'stop')}
          {round.answered > 0 && `, ${round.answered} answered`}
          {round.aboutMinutes !== null && `, about ${round.aboutMinutes} min`}
        </p>
      </div>
      <div class="duewhen">
        {sayWindow(round.earliestAt, round.latestAt, round.zone, now)}
        {isOverdue && <Overdue latestAt={round.latestAt} zone={round.zone} now={now} />}
      </div>
      <div class="duewho">
        {ROUND_WORDS[round.state]} <p class="small soft">{who === null ? 'Nobody has it' : who.name}</p>
      </div>
    </li>
  );
}

function ExtraRow({ extra, now }: { extra: ExtraStopLine; now: number }) {
  const { zone } = extra.place;
  return (
    <li class="duerow">
      <div class="duegrade asks">{extra.kind === 'proof' ? 'Proof stop' : 'Extra stop'}</div>
      <div class="duename">
        <a href={`/assets/${extra.assetId}?point=${extra.letter}`}>
          {extra.assetName}, {extra.pointName.charAt(0).toLowerCase() + extra.pointName.slice(1)}
        </a>
        <p class="small soft">
          <Tag tag={extra.tag} letter={extra.letter} /> {extra.kind === 'proof' ? (extra.target ?? '') : extra.note}
        </p>
      </div>
      <div class="duewhen">
        {sayWindow(extra.earliestAt, extra.latestAt, zone, now)}
        {standingOf(extra, now) === 'overdue' && <Overdue latestAt={extra.latestAt} zone={zone} now={now} />}
      </div>
      <div class="duewho">
        <p class="small soft">
          {extra.walker === null ? 'Nobody has it' : extra.walker.name}
          {extra.askedBy !== null && `, asked by ${extra.askedBy}`}
        </p>
      </div>
    </li>
  );
}
