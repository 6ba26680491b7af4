import { isAnswered, type Walk, type WalkStop } from './walk-state.ts';
import { type Room, roomsOf, sayBy } from './walk-words.ts';

/** The way: rooms in walking order, a tick for every stop, from here to handing in. */
export function Way({ walk, now, linkTo }: { walk: Walk; now: number; linkTo: (room: Room) => string }) {
  const rooms = roomsOf(walk);
  return (
    <ol class="theway">
      {rooms.map((room) => {
        const extra = room.stops[0]?.extra ?? null;
        const answered = room.stops.filter(isAnswered).length;
        const isDone = answered === room.stops.length;
        return (
          <li key={room.key} class={`leg${isDone ? ' done' : ''}`}>
            <Ticks stops={room.stops} isExtra={extra !== null} />
            <div class="legwords">
              <a class="legname" href={linkTo(room)}>
                {room.place.building}, {room.place.room}
              </a>
              {extra === null ? (
                <p class="soft">{room.assets}</p>
              ) : (
                <p class={isDone ? 'soft' : 'asks'}>{extraWords(room.stops[0]!, now)}</p>
              )}
            </div>
            <p class="legcount">
              <b>{room.stops.length}</b>
              {answered > 0 && <span>{isDone ? 'done' : `${answered} done`}</span>}
            </p>
          </li>
        );
      })}
      <li class="leg last">
        <svg class="ticks" viewBox="0 0 44 34" width="44" height="34" aria-hidden="true">
          <path d="M15 10h14v11h-14z" fill="var(--paper)" stroke="var(--ink)" stroke-width={2.5} />
        </svg>
        <p class="soft">then hand in</p>
      </li>
    </ol>
  );
}

/** "Ironer main drive, today. Jonas: still rising?" */
function extraWords(stop: WalkStop, now: number): string {
  const { extra } = stop;
  if (extra === null) return '';
  const by = sayBy(Date.parse(extra.latestAt), now, stop.place.zone);
  if (extra.kind === 'proof') return `${stop.assetName}, proof ${by}${extra.target === null ? '' : `: ${extra.target}`}.`;
  const first = `${stop.assetName}, ${by}.`;
  const asker = extra.askedBy?.split(' ')[0] ?? null;
  const note = extra.note === '' ? (extra.kind === 'read-again' ? 'read it again' : '') : extra.note;
  return `${first}${note === '' ? '' : ` ${asker === null ? '' : `${asker}: `}${note}`}`;
}

const TOP = 10;
/** Ticks of one room on the upright line: walked solid, to walk dotted, a gap where it could not be read. */
function Ticks({ stops, isExtra }: { stops: readonly WalkStop[]; isExtra: boolean }) {
  const pitch = stops.length <= 8 ? 7 : Math.max(3, 56 / stops.length);
  const last = TOP + (stops.length - 1) * pitch;
  const height = Math.max(58, last + 24);
  const done = stops.filter(isAnswered).length;
  const isDone = done === stops.length;
  return (
    <svg class="ticks" viewBox={`0 0 44 ${height}`} width="44" height={height} aria-hidden="true">
      {!isDone && done > 0 && <path d={`M22 0V${TOP + (done - 1) * pitch}`} stroke="var(--ink)" stroke-width={2.5} />}
      {isExtra && !isDone ? (
        <>
          <circle cx={22} cy={20} r={12} fill="var(--paper)" stroke="var(--act)" stroke-width={3.2} />
          <circle cx={22} cy={20} r={4.5} fill="var(--act)" />
        </>
      ) : (
        stops.map((stop, index) => {
          const y = TOP + index * pitch;
          const isGap = isAnswered(stop) && stop.state !== 'read';
          return isGap ? (
            <path key={stop.pointId} d={`M22 ${y - pitch / 2}v${pitch}`} stroke="var(--paper)" stroke-width={5} />
          ) : (
            <path key={stop.pointId} d={`M13 ${y}h18`} stroke="var(--ink)" stroke-width={pitch < 5 ? 1.5 : 2.5} />
          );
        })
      )}
    </svg>
  );
}
