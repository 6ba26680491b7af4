import type { RouteView } from '@heatround/contract';
import { sayDate, sayTime } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import { type Answer, call, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Told } from '../../ui/field.tsx';
import { sayCount } from '../../ui/format.ts';
import { ROUND_WORDS, sayMoved } from '../due/words.ts';
import { MONTHS, sayGrace, sayWindowRule } from './route-state.ts';
import './rounds.css';

/** Routes and the rounds made from them. */
export function RoundsScreen() {
  const { outbox, may } = useSession();
  const [found, setFound] = useState<Answer<'listRoutes'> | null>(null);
  const [people, setPeople] = useState<Answer<'listPeople'>['people']>([]);
  const [trouble, setTrouble] = useState<unknown>(null);
  useEffect(() => {
    let isHere = true;
    call('listRoutes', { query: { pageSize: 50 } }).then(
      (answer) => isHere && setFound(answer),
      (failed) => isHere && setTrouble(failed),
    );
    call('listPeople', {}).then(
      (answer) => isHere && setPeople(answer.people),
      () => undefined,
    );
    return () => {
      isHere = false;
    };
  }, []);
  const more = async (): Promise<void> => {
    if (found?.next == null) return;
    try {
      const further = await call('listRoutes', { query: { pageSize: 50, after: found.next } });
      setFound({ routes: [...found.routes, ...further.routes], next: further.next });
    } catch (failed) {
      setTrouble(failed);
    }
  };
  const heading = useOpening('Rounds');
  const now = outbox.now();
  const stops = found?.routes.reduce((sum, route) => sum + route.stops.length, 0) ?? 0;
  return (
    <>
      <div class="open reghead2">
        <h1 class="say" tabIndex={-1} ref={heading}>
          {found === null
            ? 'Routes and their rounds'
            : found.routes.length === 0
              ? 'There is no route yet. Make one, and its rounds are planned at once.'
              : `${sayCount(found.routes.length, 'route')}${found.next === null ? '' : ' and more'} with ${sayCount(stops, 'stop')}.`}
        </h1>
        <div class="keyrow">
          {may('edit-register') && (
            <a class="key" href="/routes/new">
              New route
            </a>
          )}
          <a class="key" href="/windows">
            Shutdown windows
          </a>
        </div>
      </div>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {found?.routes.map((route) => (
        <RouteRow key={route.id} route={route} now={now} walker={people.find((one) => one.id === route.walkerId)?.name ?? null} />
      ))}
      {found?.next != null && (
        <div class="keyrow">
          <button type="button" class="key" onClick={() => void more()}>
            Show more
          </button>
        </div>
      )}
    </>
  );
}

function RouteRow({ route, now, walker }: { route: RouteView; now: number; walker: string | null }) {
  const { may } = useSession();
  const { zone } = route;
  return (
    <section class="sec route">
      <div class="secrow">
        <h2>
          {may('edit-register') ? (
            <a href={`/routes/${route.id}`}>{`${route.code} ${route.name}`}</a>
          ) : (
            `${route.code} ${route.name}`
          )}
        </h2>
        <span class="note">
          {sayCount(route.stops.length, 'stop')}
          {route.aboutMinutes === null ? '' : `, about ${route.aboutMinutes} min`}
        </span>
      </div>
      <div class="routecols">
        <p>
          {route.ruleInWords.charAt(0).toUpperCase() + route.ruleInWords.slice(1)}, {route.startLocal.slice(11, 16)}. To be walked{' '}
          {sayWindowRule(route.window)}; grace {sayGrace(route.graceMs)}
          {route.season === null ? '' : `; ${MONTHS[route.season.fromMonth - 1]} to ${MONTHS[route.season.toMonth - 1]}`}.{' '}
          {route.walkerId === null
            ? 'Nobody has it by name: whoever takes it walks it.'
            : `${walker ?? 'A named person'} walks it.`}
        </p>
        <ul class="nexts">
          {route.last.slice(0, 1).map((round) => (
            <li key={round.id} class="soft">
              <a href={`/round/${round.id}`}>{sayDate(Date.parse(round.plannedAt), zone, now)}</a>{' '}
              {ROUND_WORDS[round.state].toLowerCase()}, {round.answered} of {round.stops}
            </li>
          ))}
          {route.next.slice(0, 3).map((round) => (
            <li key={round.id}>
              <a href={`/round/${round.id}`}>
                {sayDate(Date.parse(round.plannedAt), zone, now)}, {sayTime(Date.parse(round.plannedAt), zone)}
              </a>
              {round.movedFrom !== null && <span> {sayMoved(round.movedFrom)}</span>}
            </li>
          ))}
          {route.next.length === 0 && <li class="soft">No round is planned ahead.</li>}
        </ul>
      </div>
      <details>
        <summary>Stops in walking order</summary>
        <ol class="stopwords">
          {route.stops.map((stop) => (
            <li key={stop.pointId}>
              {stop.tag} {stop.letter} {stop.assetName}, {stop.pointName.charAt(0).toLowerCase() + stop.pointName.slice(1)}
              <span class="soft"> {stop.room}</span>
            </li>
          ))}
        </ol>
      </details>
    </section>
  );
}
