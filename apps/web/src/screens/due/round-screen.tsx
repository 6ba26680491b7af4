import type { StopLine } from '@heatround/contract';
import { STOP_WORDS, sayDate } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import { type Answer, call, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { clockTime, fullDate } from '../../ui/format.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';
import { usePeople } from '../../ui/planning/people.ts';
import { WalkLine } from '../../ui/walk-line.tsx';
import { Overdue } from './due-screen.tsx';
import { ROUND_WORDS, sayMoved, sayRound, sayWindow, standingOf } from './words.ts';
import './due.css';

type Round = Answer<'getRound'>;

/** One round: its stops with their answers, and for a planner what can be done with it. */
export function RoundScreen({ parameters }: { parameters: Record<string, string> }) {
  const roundId = parameters.roundId ?? '';
  const { outbox, may } = useSession();
  const [round, setRound] = useState<Round | null>(null);
  const walkers = usePeople(may('edit-register') ? 'submit-facts' : null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isCallingOff, setCallingOff] = useState(false);
  const [reason, setReason] = useState('');
  const [wrong, setWrong] = useState<string | null>(null);
  const load = async (): Promise<void> => setRound(await call('getRound', { params: { roundId } }));
  useEffect(() => {
    let isHere = true;
    call('getRound', { params: { roundId } }).then(
      (found) => isHere && setRound(found),
      (failed) => isHere && setTrouble(failed),
    );
    return () => {
      isHere = false;
    };
  }, [roundId]);
  const act = async (work: () => Promise<unknown>): Promise<void> => {
    try {
      await work();
      await load();
      setTrouble(null);
      setCallingOff(false);
    } catch (failed) {
      setTrouble(failed);
    }
  };
  const heading = useOpening(round === null ? 'Round' : `${round.code}, round`, roundId);
  if (round === null) {
    return (
      <>
        <h1 class="say open" tabIndex={-1} ref={heading}>
          {trouble === null ? 'The round' : 'This round cannot be shown.'}
        </h1>
        {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      </>
    );
  }
  const now = outbox.now();
  const { zone } = round;
  const isOpen = ['coming', 'ready-to-walk', 'being-walked'].includes(round.state);
  const callOff = (): void => {
    if (reason.trim() === '') setWrong('Say why in words, such as “hall closed for the refit”.');
    else void act(() => call('callOffRound', { params: { roundId }, body: { reason: reason.trim() } }));
  };
  return (
    <div class="roundpage">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {sayRound(round)}
      </h1>
      <WalkLine
        stops={round.stopLines.map((stop) => ({ ...stop, isJudged: !stop.notJudged, extra: null }))}
        here={null}
        isClosed={round.state === 'handed-in' || round.state === 'looked-over'}
        label={round.progressInWords}
      />
      <dl class="facts">
        <dt>State</dt>
        <dd>
          {ROUND_WORDS[round.state]}
          {round.lookedOver !== null && ` by ${round.lookedOver.by}, ${fullDate(round.lookedOver.at, zone, now)}`}
          {round.calledOff !== null && ` on ${fullDate(round.calledOff.at, zone, now)}, ${clockTime(round.calledOff.at, zone)}`}
          {isOpen && standingOf(round, now) === 'overdue' && <Overdue latestAt={round.latestAt} zone={zone} now={now} />}
        </dd>
        <dt>When</dt>
        <dd>
          {sayWindow(round.earliestAt, round.latestAt, zone, now)}, planned for {sayDate(Date.parse(round.plannedAt), zone, now)},{' '}
          {clockTime(round.plannedAt, zone)}
          {round.movedFrom !== null && `, ${sayMoved(round.movedFrom)}`}.
          {isOpen &&
            ` It can be handed in until ${sayDate(Date.parse(round.endsAt), zone, now)}, ${clockTime(round.endsAt, zone)}.`}
        </dd>
        <dt>Who</dt>
        <dd>
          {round.takenBy !== null ? `${round.takenBy.name} has it` : round.walker !== null ? round.walker.name : 'Nobody has it'}
          {round.givenNote !== null && round.givenNote !== '' && `. Left over: ${round.givenNote}`}
        </dd>
      </dl>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      <div class="keyrow">
        {round.state === 'handed-in' && may('answer-findings') && (
          <button
            type="button"
            class="key main"
            onClick={() => void act(() => call('lookOverRound', { params: { roundId }, body: {} }))}
          >
            Looked over
          </button>
        )}
        {isOpen && may('edit-register') && !isCallingOff && (
          <button type="button" class="key" onClick={() => setCallingOff(true)}>
            Call this round off
          </button>
        )}
      </div>
      {isCallingOff && (
        <section class="sec">
          <h2>Call this round off</h2>
          <Field label="Why" hint="The reason stands beside the round for good." wrong={wrong}>
            {(aria) => (
              <textarea
                {...aria}
                class="entry"
                maxLength={1000}
                value={reason}
                onInput={(event) => setReason(event.currentTarget.value)}
              />
            )}
          </Field>
          <div class="keyrow">
            <button type="button" class="key" onClick={callOff}>
              Call it off
            </button>
            <button type="button" class="key" onClick={() => setCallingOff(false)}>
              Leave it
            </button>
          </div>
        </section>
      )}
      {isOpen && may('edit-register') && walkers.length > 0 && (
        <Field label="Who walks it">
          {(aria) => (
            <select
              {...aria}
              class="entry"
              value={round.walker?.id ?? ''}
              onChange={(event) => {
                const walkerId = event.currentTarget.value === '' ? null : event.currentTarget.value;
                void act(() => call('giveRound', { params: { roundId }, body: { walkerId } }));
              }}
            >
              <option value="">Whoever takes it</option>
              {walkers.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.name}
                </option>
              ))}
            </select>
          )}
        </Field>
      )}
      <section class="sec">
        <h2>Stops</h2>
        <ul>
          {round.stopLines.map((stop) => (
            <StopRow key={stop.pointId} stop={stop} isOpen={isOpen} zone={zone} now={now} />
          ))}
        </ul>
      </section>
      {round.extraStops.length > 0 && (
        <section class="sec">
          <h2>Asked for on this round</h2>
          <ul>
            {round.extraStops.map((extra) => (
              <li class="stopline" key={extra.id}>
                <a href={`/assets/${extra.assetId}?point=${extra.letter}`}>
                  <Tag tag={extra.tag} letter={extra.letter} /> {extra.assetName}
                </a>
                <span class="soft">{extra.kind === 'proof' ? `proof: ${extra.target ?? ''}` : extra.note}</span>
              </li>
            ))}
          </ul>
        </section>
      )}
      {round.besideRoute.length > 0 && (
        <section class="sec">
          <h2>Read beside the route</h2>
          <ul>
            {round.besideRoute.map((stop) => (
              <StopRow key={stop.pointId} stop={stop} isOpen={isOpen} zone={zone} now={now} />
            ))}
          </ul>
        </section>
      )}
    </div>
  );
}

function StopRow({ stop, isOpen, zone, now }: { stop: StopLine; isOpen: boolean; zone: string; now: number }) {
  return (
    <li class="stopline">
      <a href={`/assets/${stop.assetId}?point=${stop.letter}`}>
        <Tag tag={stop.tag} letter={stop.letter} /> {stop.assetName},{' '}
        {stop.pointName.charAt(0).toLowerCase() + stop.pointName.slice(1)}
      </a>
      <span>
        {stop.state === 'read' ? (
          stop.grade !== null || stop.notJudged ? (
            <GradeMark grade={stop.grade} />
          ) : (
            'read'
          )
        ) : (
          <span class={stop.state === 'to-read' ? 'soft' : ''}>
            {stop.state === 'to-read' && !isOpen ? 'not read' : STOP_WORDS[stop.state]}
          </span>
        )}
        {stop.words !== null && stop.words !== '' && `, ${stop.words}`}
        {stop.isAdded && <span class="soft"> added while it was walked</span>}
      </span>
      <span class="small soft">
        {stop.answeredAt === null ? '' : `${fullDate(stop.answeredAt, zone, now)}, ${clockTime(stop.answeredAt, zone)}`}
        {stop.by === null ? '' : `, ${stop.by}`}
      </span>
    </li>
  );
}
