import { STOP_WORDS } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import { useOutboxState, useSession } from '../../shell/session.tsx';
import { StopShell } from '../../shell/shell.tsx';
import { useOpening } from '../../shell/title.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';
import { WalkLine } from '../../ui/walk-line.tsx';
import { knownWalk } from './known-walk.ts';
import { addressOf, isAnswered, nextStop, type Walk } from './walk-state.ts';
import { roomsOf } from './walk-words.ts';
import '../stop/stop.css';
import './walk.css';

/** Every stop of a walk in order, to jump to any of them. */
export function StopsScreen({ parameters }: { parameters: Record<string, string> }) {
  const id = parameters.walkId ?? '';
  const { outbox } = useSession();
  const state = useOutboxState();
  const [walk, setWalk] = useState<Walk | null | undefined>(undefined);
  useEffect(() => {
    let isHere = true;
    void knownWalk(outbox, id).then((found) => {
      if (!isHere) return;
      setWalk(found);
      if (location.hash !== '') setTimeout(() => document.getElementById(location.hash.slice(1))?.scrollIntoView(), 60);
    });
    return () => {
      isHere = false;
    };
  }, [outbox, id, state]);
  const heading = useOpening(walk == null ? 'Stops' : `${walk.code}, stops`, id);
  if (walk === undefined)
    return (
      <StopShell back="/walk" word="My walk">
        {null}
      </StopShell>
    );
  if (walk === null) {
    return (
      <StopShell back="/walk" word="My walk">
        <div class="pad">
          <h1 class="say" tabIndex={-1} ref={heading}>
            This walk is not on this phone.
          </h1>
          <p class="told">Open My walk where there is signal; after that it works without.</p>
        </div>
      </StopShell>
    );
  }
  const toRead = walk.stops.filter((stop) => !isAnswered(stop)).length;
  const next = nextStop(walk, null);
  return (
    <StopShell back="/walk" word="My walk">
      <div class="pad stopslist">
        <h1 class="say" tabIndex={-1} ref={heading}>
          {walk.code}: {walk.stops.length - toRead} of {walk.stops.length} answered{toRead === 0 ? '.' : `, ${toRead} to read.`}
        </h1>
        <WalkLine stops={walk.stops} here={null} label={`${walk.stops.length - toRead} of ${walk.stops.length} stops answered`} />
        {roomsOf(walk).map((room) => (
          <section class="sec" key={room.key} id={room.place.roomId}>
            <h2>
              {room.place.building}, {room.place.room}
            </h2>
            <ul>
              {room.stops.map((stop) => (
                <li key={stop.pointId}>
                  <a class="stoprow" href={addressOf(walk, stop)}>
                    <Tag tag={stop.tag} letter={stop.letter} />
                    <span class="stopname">
                      {stop.assetName}, {stop.pointName.charAt(0).toLowerCase() + stop.pointName.slice(1)}
                    </span>
                    <span class="stopstate">
                      {stop.state === 'to-read' ? (
                        stop.extra === null ? (
                          'to read'
                        ) : stop.extra.kind === 'proof' ? (
                          'proof'
                        ) : (
                          'asked for'
                        )
                      ) : stop.state === 'read' ? (
                        <>
                          {stop.grade !== null || !stop.isJudged ? <GradeMark grade={stop.grade} /> : 'read'}
                          {stop.said !== null && <span> {stop.said}</span>}
                        </>
                      ) : (
                        `${STOP_WORDS[stop.state]}${stop.said === null ? '' : `, ${stop.said}`}`
                      )}
                    </span>
                  </a>
                </li>
              ))}
            </ul>
          </section>
        ))}
      </div>
      <div class="grow" />
      <div class="foot">
        <div class="pad keys">
          <a class="key main round" href={next === null ? `/hand-in/${walk.id}` : addressOf(walk, next)}>
            {next === null ? (
              `Hand in ${walk.code}`
            ) : (
              <>
                Go on at{' '}
                <span class="whole">
                  {next.tag} {next.letter}
                </span>
              </>
            )}
          </a>
          {next !== null && walk.roundId !== null && (
            <a class="key round" href={`/hand-in/${walk.id}`}>
              Hand in or give the rest
            </a>
          )}
        </div>
      </div>
    </StopShell>
  );
}
