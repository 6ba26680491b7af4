import type { ExtraStopLine, RoundLine, Site } from '@heatround/contract';
import { useEffect, useState } from 'preact/hooks';
import { type Answer, call, NoSignal, sayTrouble } from '../../client/index.ts';
import { go, useWhere } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { clockTime, sayCount, thisZone } from '../../ui/format.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';
import { usePeople } from '../../ui/planning/people.ts';
import {
  dueHref,
  type Filter,
  isNothingDue,
  type Named,
  overdueDays,
  queryOf,
  ROUND_WORDS,
  type Standing,
  sayDue,
  sayWindow,
  standingOf,
} from './words.ts';
import './due.css';

type Due = Answer<'listDue'>;
const HEADS: Readonly<Record<Standing, string>> = { overdue: 'Overdue', due: 'Due now', coming: 'Coming' };

/** What is to be read: overdue, due and coming, the highest risk first; for everybody, a person, a site. */
export function DueScreen() {
  const { outbox, me, may } = useSession();
  const { search } = useWhere();
  const usual = may('answer-findings') || !may('submit-facts') ? 'all' : me.personId;
  const [person, site] = [search.get('person') ?? usual, search.get('site') ?? ''];
  const filter: Filter = { person, site };
  const [due, setDue] = useState<Due | null>(null);
  const [keptAt, setKeptAt] = useState<number | null>(null);
  const [sites, setSites] = useState<readonly Site[]>([]);
  const people = usePeople('submit-facts');
  const [trouble, setTrouble] = useState<unknown>(null);
  useEffect(() => {
    void call('listSites', {}).then(
      (answer) => setSites(answer.sites),
      () => undefined,
    );
  }, []);
  const ask = (after?: string): Promise<Due> =>
    call('listDue', { query: { ...queryOf(filter), days: 14, pageSize: 100, ...(after === undefined ? {} : { after }) } });
  useEffect(() => {
    let isHere = true;
    const key = `due ${person} ${site}`;
    // What was shown is of another choice.
    setDue(null);
    setTrouble(null);
    void (async () => {
      const kept = await outbox.answer<Due>(key);
      if (isHere && kept !== null) {
        setDue(kept.answer);
        setKeptAt(kept.at);
      }
      try {
        const fresh = await ask();
        await outbox.keepAnswer(key, fresh);
        if (!isHere) return;
        setDue(fresh);
        setKeptAt(null);
      } catch (failed) {
        if (isHere) setTrouble(failed);
      }
    })();
    return () => {
      isHere = false;
    };
  }, [person, site, outbox]);

  const more = async (): Promise<void> => {
    if (due?.next == null) return;
    try {
      const further = await ask(due.next);
      setDue({ ...further, rounds: [...due.rounds, ...further.rounds], extraStops: [...due.extraStops, ...further.extraStops] });
    } catch (failed) {
      setTrouble(failed);
    }
  };
  // A choice leaves the focus where it was made, so that the next one can follow.
  const heading = useOpening('Due');
  const now = outbox.now();
  const others = people.filter(({ id }) => id !== me.personId);
  const named: Named = {
    who:
      person === 'all' ? null : person === me.personId ? 'me' : (others.find(({ id }) => id === person)?.name ?? 'somebody else'),
    where: sites.find(({ id }) => id === site)?.name ?? null,
  };
  const choose = (chosen: Partial<Filter>): void => go(dueHref({ ...filter, ...chosen }, usual), 'replace');
  return (
    <div class="due">
      <h1 class="say open" tabIndex={-1} ref={heading} aria-live="polite">
        {due === null ? 'What is to be read' : sayDue(due, now, named)}
      </h1>
      <div class="duefilter">
        <Field label="Whose">
          {(aria) => (
            <select {...aria} class="entry" value={person} onChange={(event) => choose({ person: event.currentTarget.value })}>
              <option value="all">All</option>
              {(may('submit-facts') || person === me.personId) && <option value={me.personId}>Mine</option>}
              {others.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.name}
                </option>
              ))}
              {named.who === 'somebody else' && <option value={person}>Somebody else</option>}
            </select>
          )}
        </Field>
        {sites.length > 1 && (
          <Field label="Site">
            {(aria) => (
              <select {...aria} class="entry" value={site} onChange={(event) => choose({ site: event.currentTarget.value })}>
                <option value="">All sites</option>
                {sites.map((one) => (
                  <option key={one.id} value={one.id}>
                    {one.name}
                  </option>
                ))}
              </select>
            )}
          </Field>
        )}
      </div>
      {trouble !== null && (
        <Told>
          {sayTrouble(trouble)}
          {trouble instanceof NoSignal &&
            keptAt !== null &&
            ` Below is what this device knew at ${clockTime(keptAt, thisZone())}.`}
        </Told>
      )}
      {due !== null && isNothingDue(due) && <NothingDue filter={filter} usual={usual} named={named} />}
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

/** What to do where nothing is due. */
function NothingDue({ filter, usual, named }: { filter: Filter; usual: string; named: Named }) {
  const { may } = useSession();
  const place = named.where === null ? '' : ` at ${named.where}`;
  if (filter.person !== 'all')
    return (
      <>
        <p class="told">What nobody has by name is not listed here.</p>
        <p class="keyrow">
          <a class="key" href={dueHref({ ...filter, person: 'all' }, usual)}>
            See all that is due{place}
          </a>
        </p>
      </>
    );
  if (filter.site !== '')
    return (
      <p class="keyrow">
        <a class="key" href={dueHref({ ...filter, site: '' }, usual)}>
          See what is due at all sites
        </a>
      </p>
    );
  return (
    <p class="told">
      {may('edit-register') ? (
        <>
          Rounds come of routes by themselves. Look at <a href="/rounds">Rounds</a> for the next dates, or{' '}
          <a href="/routes/new">make a route</a>.
        </>
      ) : (
        'Rounds come here by themselves, of the routes that a planner makes.'
      )}
    </p>
  );
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
      <div class="duegrade asks">
        {extra.kind === 'proof' ? 'Proof stop' : 'Extra stop'}
        {extra.grade !== null && <GradeMark grade={extra.grade} />}
      </div>
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
