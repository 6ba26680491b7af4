import { isoWeek, sayDate } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import { type Answer, call, NoSignal, sayTrouble } from '../../client/index.ts';
import { go } from '../../shell/router.tsx';
import { useOutboxState, useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { THIS_DEVICE } from '../../ui/device.ts';
import { Told } from '../../ui/field.tsx';
import { clockTime, isSameDay, plainDate, sayCount, tableDate, thisZone } from '../../ui/format.ts';
import { ORDER_STATE_WORDS } from '../../ui/planning/words.ts';
import { sayWindow } from '../due/words.ts';
import { fetchWalks, type Known, knownWalks } from './load-walks.ts';
import { takeWalk } from './take.ts';
import { addressOf, isAnswered, nextStop, type Walk } from './walk-state.ts';
import { linesOf, sayBy, sayWhen } from './walk-words.ts';
import { Way } from './way.tsx';
import './walk.css';

/** What I do today: rounds, extra stops, proof stops in one list. Everything below the first line works without signal. */
export function MyWalkScreen() {
  const { outbox, me } = useSession();
  const state = useOutboxState();
  const [known, setKnown] = useState<Known | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isFetching, setFetching] = useState(true);
  const [repairs, setRepairs] = useState<Answer<'listOrders'>['orders']>([]);

  useEffect(() => {
    let isHere = true;
    const show = async (): Promise<void> => {
      const found = await knownWalks(outbox);
      if (isHere && found !== null) setKnown(found);
    };
    void (async () => {
      await show();
      // What was walked here goes up first, so that the answer knows it.
      await outbox.sync().catch(() => undefined);
      try {
        await fetchWalks(outbox);
        if (isHere) setTrouble(null);
      } catch (failed) {
        if (isHere) setTrouble(failed);
      }
      await show();
      if (isHere) setFetching(false);
      // Beside the walk and not part of it: without signal nothing is said of them.
      const { orders } = await call('listOrders', { query: { which: 'mine', order: 'risk', pageSize: 5 } });
      if (isHere) setRepairs(orders);
    })().catch(() => undefined);
    return () => {
      isHere = false;
    };
  }, [outbox, state.hasSignal]);

  const heading = useOpening('My walk');
  const now = outbox.now();
  const zone = known?.mine.rounds[0]?.zone ?? known?.mine.extraStops[0]?.place.zone ?? thisZone();
  const open = known?.walks.filter((walk) => walk.handedInAt === null && walk.givenTo === null && !isOver(walk)) ?? [];
  // What is listed and has no pack here yet.
  const unpacked =
    known?.mine.rounds.filter((round) => !known.walks.some((walk) => walk.id === round.id) && round.state !== 'handed-in') ?? [];
  const ordered = [...open].sort((a, b) => rank(a) - rank(b));
  const first = ordered[0] ?? null;
  const due = [
    ...open.flatMap((walk) =>
      walk.stops
        .filter((stop) => !isAnswered(stop))
        .map((stop) => ({ count: 1, latestAt: Date.parse(stop.extra?.latestAt ?? walk.round?.latestAt ?? '') })),
    ),
    ...unpacked.map((round) => ({ count: round.stops - round.answered, latestAt: Date.parse(round.latestAt) })),
  ];
  const toWalk = due.reduce((sum, { count }) => sum + count, 0);
  return (
    <div class="mywalk" data-round>
      <p class="day soft">
        {sayDate(now, zone, now)}, week {isoWeek(now, zone).week}
      </p>
      <h1 class="say" tabIndex={-1} ref={heading}>
        {known === null
          ? isFetching
            ? 'What you walk today'
            : 'What you walk is not on this phone yet.'
          : opening(toWalk, open, known, now)}
      </h1>
      {toWalk > 0 && <p class="soft lead">{sayWhen(due, now, zone)}</p>}
      {trouble !== null && !(trouble instanceof NoSignal && known !== null) && <Told>{sayTrouble(trouble)}</Told>}
      {known !== null && trouble !== null && trouble instanceof NoSignal && (
        <p class="soft small">
          as of {isSameDay(known.at, now, zone) ? clockTime(known.at, zone) : plainDate(known.at, zone, now)}
        </p>
      )}
      {first !== null && <OneWalk walk={first} now={now} isFirst myId={me.personId} />}
      {first?.round != null && (first.round.beforeYouLeave.trim() !== '' || hasNote(first)) && (
        <section class="sec">
          <h2>Before you leave</h2>
          <Before text={first.round.beforeYouLeave} givenNote={first.givenNote} />
        </section>
      )}
      {ordered.slice(1).map((walk) => (
        <OneWalk key={walk.id} walk={walk} now={now} isFirst={false} myId={me.personId} />
      ))}
      {unpacked.map((round) => (
        <section class="sec" key={round.id}>
          <div class="secrow">
            <h2>
              {round.code} {round.name}
            </h2>
            <span class="soft">{sayCount(round.stops, 'stop')}</span>
          </div>
          <p class="told">
            {isFetching
              ? 'This walk is being fetched.'
              : 'This walk is not on the phone yet. Stay where there is signal and open My walk again.'}
          </p>
        </section>
      ))}
      {repairs.length > 0 && (
        <section class="sec">
          <h2>Your repairs</h2>
          <dl class="tt">
            {repairs.map((one) => (
              <>
                <dt key={`${one.id} when`}>{dayOfRepair(one, now)}</dt>
                <dd key={one.id}>
                  <a href={`/orders/${one.id}`}>{one.assetName}</a>, {one.tag} {one.letter}. {ORDER_STATE_WORDS[one.state]}.
                </dd>
              </>
            ))}
          </dl>
        </section>
      )}
      {known !== null && <Safe known={known} now={now} waiting={state.waiting} />}
      {known !== null && known.mine.became.length > 0 && (
        <section class="sec">
          <h2>What became of it</h2>
          <dl class="tt">
            {known.mine.became.map((one) => (
              <>
                <dt key={`${one.findingId} when`}>{tableDate(one.at, zone, now)}</dt>
                <dd key={one.findingId}>
                  {one.orderId == null ? one.assetName : <a href={`/orders/${one.orderId}`}>{one.assetName}</a>}: {one.said}
                </dd>
              </>
            ))}
          </dl>
        </section>
      )}
      {first !== null && (
        <div class="go">
          <p>
            {isFetching && first.stops.length === 0 ? 'fetching this walk' : `Everything for this walk is on the ${THIS_DEVICE}.`}
          </p>
          <MainKey walk={first} now={now} />
        </div>
      )}
    </div>
  );
}

const hasNote = (walk: Walk): boolean => walk.givenNote !== null && walk.givenNote.trim() !== '';
/** Begun ones first, then by their end. */
const rank = (walk: Walk): number =>
  (walk.isTaken ? 0 : 1e15) + (walk.round === null ? Number.MAX_SAFE_INTEGER / 4 : Date.parse(walk.round.latestAt));
const isOver = (walk: Walk): boolean =>
  walk.roundId === null
    ? !walk.stops.some((stop) => !isAnswered(stop))
    : ['handed-in', 'looked-over', 'called-off', 'missed'].includes(walk.round?.state ?? '');

function opening(toWalk: number, open: readonly Walk[], known: Known, now: number): string {
  if (toWalk > 0) return `${sayCount(toWalk, 'stop')} to walk`;
  const ready = open.find((walk) => walk.roundId !== null);
  if (ready !== undefined) return `Every stop of ${ready.code} is answered. Hand it in.`;
  const { nextRound } = known.mine;
  return nextRound === null
    ? 'Nothing to walk today.'
    : `Nothing to walk today. ${nextRound.code} comes ${sayWindow(nextRound.earliestAt, nextRound.latestAt, nextRound.zone, now)}.`;
}

function OneWalk({ walk, now, isFirst, myId }: { walk: Walk; now: number; isFirst: boolean; myId: string }) {
  const answered = walk.stops.filter(isAnswered).length;
  const about = walk.round?.aboutMinutes ?? null;
  const half = answered > 0 && answered < walk.stops.length;
  const giver = walk.round?.takenBy != null && walk.round.takenBy.id !== myId ? walk.round.takenBy.name : null;
  return (
    <section class="sec">
      <div class="secrow">
        <h2>
          {walk.code} {walk.name}
        </h2>
        <span class="soft">
          {half ? `${answered} of ${walk.stops.length} answered` : about === null ? '' : `about ${about} min`}
        </span>
      </div>
      {walk.round !== null && Date.parse(walk.round.latestAt) < now && <p class="told">{overdueWords(walk, now)}</p>}
      {giver !== null && !walk.isTaken && (
        <p class="told">{half ? `Half-walked: ${giver} gave the rest.` : `${giver} gave it.`}</p>
      )}
      <Way walk={walk} now={now} linkTo={(room) => `/walk/${walk.id}#${room.place.roomId}`} />
      {!isFirst && hasNote(walk) && <p class="plainline">Left over: {walk.givenNote}</p>}
      {!isFirst && <MainKey walk={walk} now={now} isOther />}
    </section>
  );
}

function overdueWords(walk: Walk, now: number): string {
  const { round } = walk;
  if (round === null) return '';
  const since = sayBy(Date.parse(round.latestAt), now, round.zone);
  const ends = Date.parse(round.endsAt);
  return `${since.charAt(0).toUpperCase()}${since.slice(1)}. It can be handed in until ${plainDate(ends, round.zone, now)}, ${clockTime(ends, round.zone)}.`;
}

/** "Take RT5 and the cold-store fan", "Take RT5 and Ironer 1", "Go on with RT5", "Hand in RT5". */
function MainKey({ walk, isOther = false }: { walk: Walk; now: number; isOther?: boolean }) {
  const { outbox, may } = useSession();
  const next = nextStop(walk, null);
  const extras = walk.stops.filter((stop) => stop.extra !== null && !isAnswered(stop));
  const beside =
    extras.length === 0 ? '' : extras.length === 1 ? ` and ${short(extras[0]!.assetName)}` : ` and ${extras.length} extra stops`;
  const words =
    walk.roundId === null
      ? extras.length === 1
        ? `Walk to ${short(extras[0]!.assetName)}`
        : `Walk ${sayCount(extras.length, 'extra stop')}`
      : next === null
        ? `Hand in ${walk.code}`
        : walk.isTaken
          ? `Go on with ${walk.code}`
          : `Take ${walk.code}${beside}`;
  if (!may('submit-facts')) return null;
  return (
    <button
      type="button"
      class={`key round${isOther ? '' : ' main'}`}
      onClick={() =>
        void (async () => {
          await takeWalk(outbox, walk);
          go(next === null ? `/hand-in/${walk.id}` : addressOf(walk, next));
        })()
      }
    >
      {words}
    </button>
  );
}
/** A name as it is called out: without what follows a comma, and without an article where it has a number. */
const short = (name: string): string => {
  const called = name.split(',')[0]!;
  if (/\d$/.test(called)) return called;
  return `the ${/^\p{Lu}\p{Ll}/u.test(called) ? called.charAt(0).toLowerCase() + called.slice(1) : called}`;
};

function Before({ text, givenNote }: { text: string; givenNote: string | null }) {
  const lines = linesOf(text);
  const named = lines.filter((line) => line.name !== null);
  return (
    <>
      {named.length > 0 && (
        <dl class="tt">
          {named.map((line) => (
            <>
              <dt key={`${line.name} name`}>{line.name}</dt>
              <dd key={line.text}>{line.text}</dd>
            </>
          ))}
        </dl>
      )}
      {givenNote !== null && givenNote !== '' && (
        <dl class="tt">
          <dt>Left over</dt>
          <dd>{givenNote}</dd>
        </dl>
      )}
      {lines
        .filter((line) => line.name === null)
        .map((line) => (
          <p class="plainline" key={line.text}>
            {line.text}
          </p>
        ))}
    </>
  );
}

function Safe({ known, now, waiting }: { known: Known; now: number; waiting: number }) {
  const { safe, unfinished } = known.mine;
  const handed = known.walks.filter((walk) => walk.handedInAt !== null && !safe.some((one) => one.id === walk.id));
  const given = known.walks.filter(
    (walk) => walk.givenTo !== null && walk.handedInAt === null && !unfinished.some((one) => one.id === walk.id),
  );
  if (safe.length + unfinished.length + handed.length + given.length === 0) return null;
  return (
    <section class="sec">
      <div class="secrow">
        <h2>Safe on the server</h2>
        <a class="soft" href="/hand-in">
          All of it
        </a>
      </div>
      <dl class="tt">
        {handed.map((walk) => (
          <>
            <dt key={`${walk.id} when`}>{clockTime(walk.handedInAt!, walk.round?.zone ?? thisZone())}</dt>
            <dd key={walk.id}>
              <a href={`/hand-in/${walk.id}`}>
                {walk.code} {walk.name}
              </a>
              , handed in{waiting > 0 ? ', not all of it safe yet' : ''}
            </dd>
          </>
        ))}
        {given.map((walk) => (
          <>
            <dt key={`${walk.id} given`}>given</dt>
            <dd key={walk.id}>
              {walk.code} {walk.name}, {walk.givenTo} has the rest
            </dd>
          </>
        ))}
        {unfinished.map((round) => (
          <>
            <dt key={`${round.id} when`}>{round.state === 'missed' ? 'missed' : 'given'}</dt>
            <dd key={round.id}>
              <a href={`/round/${round.id}`}>
                {round.code} {round.name}
              </a>
              {sayUnfinished(round, now)}
            </dd>
          </>
        ))}
        {safe.map((round) => (
          <>
            <dt key={`${round.id} when`}>{momentOf(Date.parse(round.handedInAt), round.zone, now)}</dt>
            <dd key={round.id}>
              <a href={`/round/${round.id}`}>
                {round.code} {round.name}
              </a>
              , {round.answered} of {round.stops}
            </dd>
          </>
        ))}
      </dl>
    </section>
  );
}

/** "RT1 Boiler house of 28 April was missed, 1 of 6 read", "…, Tomasz has the rest". */
function sayUnfinished(
  { state, plannedAt, zone, read, stops, walker }: Known['mine']['unfinished'][number],
  now: number,
): string {
  if (state === 'missed') return ` of ${plainDate(plannedAt, zone, now)} was missed, ${read} of ${stops} read`;
  const who = walker?.name ?? 'Nobody';
  return state === 'handed-in' || state === 'looked-over' ? `, handed in by ${who}` : `, ${who} has the rest`;
}

/** The day of the slot, the day by which it is to be proved or repaired. */
function dayOfRepair({ order, dueAt, proofDueAt, place }: Answer<'listOrders'>['orders'][number], now: number): string {
  const isDone = order.state === 'done';
  if (!isDone && order.slot !== null) return tableDate(order.slot.from, place.zone, now);
  const by = isDone ? proofDueAt : dueAt;
  return by === null ? '' : `by ${tableDate(by, place.zone, now)}`;
}

/** "08:14" today, "Tue 21" where the day is near and its month goes without saying. */
function momentOf(at: number, zone: string, now: number): string {
  if (isSameDay(at, now, zone)) return clockTime(at, zone);
  return Math.abs(at - now) < 8 * 86_400_000 ? sayDate(at, zone).split(' ').slice(0, 2).join(' ') : tableDate(at, zone, now);
}
