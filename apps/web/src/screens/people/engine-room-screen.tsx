import { useCallback, useEffect, useState } from 'preact/hooks';
import { type Answer, call, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Told } from '../../ui/field.tsx';
import { clockTime, plainDate, sayCount } from '../../ui/format.ts';
import './people.css';

type Room = Answer<'engineRoom'>;
const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
const moment = (iso: string): string => `${plainDate(Date.parse(iso), zone, Date.now())}, ${clockTime(Date.parse(iso), zone)}`;
const DAY = 86_400_000;
/** Older than this, a worker that keeps up would have come by. */
const LATE_MS = 5 * 60_000;
/** Without a backup for so long somebody should wonder. */
const STALE_BACKUP_DAYS = 7;
const AGAIN_MS = 30_000;

/** What needs a hand, worst first; empty: nothing does. */
function concerns(room: Room): string[] {
  const late = room.behind.since !== null && Date.now() - Date.parse(room.behind.since) > LATE_MS;
  const stale = room.lastBackup !== null && Date.now() - Date.parse(room.lastBackup.at) > STALE_BACKUP_DAYS * DAY;
  return [
    ...(room.database ? [] : ['the database does not answer']),
    ...(room.migrations ? [] : ['the database is not at this version']),
    ...(room.queue === null ? ['the queue does not answer'] : []),
    ...(late ? [`the worker lags: ${sayBehind(room)} since ${moment(room.behind.since!)}`] : []),
    ...(room.lastBackup === null
      ? ['there is no backup yet']
      : stale
        ? [`the last backup is of ${moment(room.lastBackup.at)}`]
        : []),
    ...(room.lettersInTrouble === 0 ? [] : [`${sayCount(room.lettersInTrouble, 'letter')} did not arrive`]),
  ];
}
const sayBehind = ({ behind }: Room): string =>
  `${behind.isMore ? 'more than ' : ''}${sayCount(behind.points, 'point waits', 'points wait')}`;

/** How the service is: its parts, what waits, the last backup, people and letters. */
export function EngineRoomScreen() {
  const { may } = useSession();
  const [room, setRoom] = useState<Room | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const look = useCallback(
    () =>
      call('engineRoom', {}).then(
        (answer) => {
          setRoom(answer);
          setTrouble(null);
        },
        (failed) => setTrouble(failed),
      ),
    [],
  );
  useEffect(() => {
    void look();
    const timer = setInterval(() => void look(), AGAIN_MS);
    return () => clearInterval(timer);
  }, [look]);
  const heading = useOpening('Engine room', 'engine room');
  if (!may('administer')) {
    return (
      <h1 class="say open" tabIndex={-1} ref={heading}>
        An administrator looks after the engine room.
      </h1>
    );
  }
  const told = room === null ? [] : concerns(room);
  return (
    <div class="people">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {room === null
          ? 'Engine room'
          : told.length === 0
            ? 'Everything runs, and nothing waits for you.'
            : `${told[0]!.charAt(0).toUpperCase()}${told[0]!.slice(1)}${told.length > 1 ? `, and ${told.length - 1} more` : ''}.`}
      </h1>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {room !== null && (
        <>
          {told.length > 1 && (
            <ul class="plain">
              {told.slice(1).map((one) => (
                <li key={one}>{one}</li>
              ))}
            </ul>
          )}
          <section aria-labelledby="parts">
            <h2 id="parts">Parts</h2>
            <ul>
              <Line name="Database" says={room.database ? 'answers' : 'does not answer'} />
              <Line
                name="Version of the database"
                says={room.migrations ? 'the present one' : 'an older one: the service is being changed'}
              />
              <Line
                name="Queue"
                says={
                  room.queue === null
                    ? 'does not answer'
                    : `${sayCount(room.queue.waiting + room.queue.delayed, 'job waits', 'jobs wait')}, ${room.queue.active} being done, ${room.queue.failed} given up`
                }
              />
              <Line
                name="Conclusions"
                says={room.behind.points === 0 ? 'all up to date' : `${sayBehind(room)} to be concluded`}
              />
              <Line name="Letters" says={room.mailIsSent ? 'are sent' : 'are kept here and not sent: no mail server is set'} />
            </ul>
            {room.failed.length > 0 && (
              <p class="note">
                Given up last: {room.failed.map(({ name, at }) => `${name} (${moment(at)})`).join(', ')}. The sweep takes up again
                what is still due; the log says why.
              </p>
            )}
          </section>
          <section aria-labelledby="backup">
            <h2 id="backup">Backup</h2>
            <p>
              {room.lastBackup === null
                ? 'None was made yet. On the machine of the service: npm run backup -- <a new folder>.'
                : `${moment(room.lastBackup.at)}: ${room.lastBackup.words}. A backup that was never brought back is a hope: try it into another folder now and then.`}
            </p>
          </section>
          <section aria-labelledby="room-people">
            <h2 id="room-people">People</h2>
            <p>
              {sayCount(room.people.members, 'person belongs', 'people belong')} here
              {room.people.ended > 0 && `, ${room.people.ended} no longer`}.{' '}
              {room.people.administratorsWithoutSecondFactor > 0 &&
                `${sayCount(room.people.administratorsWithoutSecondFactor, 'administrator has', 'administrators have')} no second factor. `}
              <a href="/people">People</a> · <a href="/letters?in-trouble">Letters that did not arrive</a> ·{' '}
              <a href="/api/reference">The API for programs</a>
            </p>
          </section>
        </>
      )}
    </div>
  );
}

const Line = ({ name, says }: { name: string; says: string }) => (
  <li class="one">
    <b>{name}</b>
    <span>{says}</span>
  </li>
);
