import { type Grade, progress, STOP_WORDS, type Stop } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import type { Answer } from '../../client/index.ts';
import type { Kept, Step } from '../../outbox/index.ts';
import { go } from '../../shell/router.tsx';
import { useOutboxState, useSession } from '../../shell/session.tsx';
import { StopShell } from '../../shell/shell.tsx';
import { useOpening } from '../../shell/title.ts';
import { THIS_DEVICE } from '../../ui/device.ts';
import { Field } from '../../ui/field.tsx';
import { clockTime, sayCount, sentenceCase } from '../../ui/format.ts';
import { GradeMark } from '../../ui/marks.tsx';
import { WalkLine } from '../../ui/walk-line.tsx';
import { knownWalk, PEOPLE } from '../walk/known-walk.ts';
import { addressOf, isAnswered, nextStop, type Walk, whereAnswersAre } from '../walk/walk-state.ts';
import { lowerFirst, sayStops, sayWhose } from '../walk/walk-words.ts';
import '../stop/stop.css';
import '../walk/walk.css';
import './hand-in.css';

interface Here {
  readonly walk: Walk;
  readonly steps: readonly Step[];
  readonly pending: readonly Kept[];
  readonly people: Answer<'listPeople'>['people'];
}
const ORDER: readonly Grade[] = ['now', 'soon', 'plan', 'watch', 'fine'];

/** What was read, what not and why, what is safe on the server, what is still here; handed in, or given to a named person. */
export function HandInRoundScreen({ parameters }: { parameters: Record<string, string> }) {
  const id = parameters.walkId ?? '';
  const { outbox, me, membership } = useSession();
  const state = useOutboxState();
  const [here, setHere] = useState<Here | null | undefined>(undefined);
  const [asks, setAsks] = useState(false);
  const [isGiving, setGiving] = useState(false);
  const [toId, setToId] = useState('');
  const [note, setNote] = useState('');
  const [wrong, setWrong] = useState<string | null>(null);
  useEffect(() => {
    let isHere = true;
    void (async () => {
      const [walk, steps, pending, people] = await Promise.all([
        knownWalk(outbox, id),
        outbox.steps(id),
        outbox.pending(),
        outbox.answer<Answer<'listPeople'>>(PEOPLE),
      ]);
      if (isHere) setHere(walk === null ? null : { walk, steps, pending, people: people?.answer.people ?? [] });
    })();
    return () => {
      isHere = false;
    };
  }, [outbox, id, state]);

  const walk = here?.walk ?? null;
  const heading = useOpening(walk === null ? 'Hand in' : `Hand in ${walk.code}`, `${id} ${walk?.handedInAt !== null} ${asks}`);
  if (here === undefined)
    return (
      <StopShell back="/walk" word="My walk">
        {null}
      </StopShell>
    );
  if (here === null || walk === null) {
    return (
      <StopShell back="/walk" word="My walk">
        <div class="pad">
          <h1 class="say" tabIndex={-1} ref={heading}>
            This round is not on this {THIS_DEVICE} any more.
          </h1>
          <p class="told">
            What was read stays on the server. What is still only here stands under <a href="/hand-in">what is safe</a>.
          </p>
        </div>
      </StopShell>
    );
  }
  const { steps, pending, people } = here;
  const ids = new Set(steps.map((step) => step.id));
  const onlyHere = pending.filter((kept) => ids.has(kept.id));
  const back = onlyHere.filter((kept) => kept.state !== 'waiting');
  const where = whereAnswersAre(walk, steps, new Set(onlyHere.map((kept) => kept.id)));
  const zone = walk.stops[0]?.place.zone ?? 'UTC';
  const open = walk.stops.filter((stop) => !isAnswered(stop));
  const next = nextStop(walk, null);
  const whose = sayWhose(walk.stops, membership.name);
  const isIn = walk.handedInAt !== null;

  const handIn = async (): Promise<void> => {
    if (walk.roundId === null) return;
    if (open.length > 0 && !asks) {
      setAsks(true);
      return;
    }
    await outbox.record(
      {
        kind: 'round-handed-in',
        ...outbox.stamp(),
        roundId: walk.roundId,
        ...(note.trim() === '' ? {} : { words: note.trim() }),
      },
      `${walk.code}, handed in`,
      null,
      { walkId: walk.id, kind: 'handed-in', pointId: null, answer: null, grade: null, isJudged: true, said: '' },
    );
    navigator.vibrate?.(30);
    setAsks(false);
  };
  const give = async (): Promise<void> => {
    const person = people.find((one) => one.id === toId);
    if (walk.roundId === null) return;
    if (person === undefined) {
      setWrong('Choose who walks the rest.');
      return;
    }
    await outbox.record(
      {
        kind: 'round-given',
        ...outbox.stamp(),
        roundId: walk.roundId,
        toPersonId: person.id,
        extraStopIds: open.flatMap((stop) => stop.extra?.id ?? []),
        ...(note.trim() === '' ? {} : { words: note.trim() }),
      },
      `${walk.code}, given to ${person.name}`,
      null,
      { walkId: walk.id, kind: 'given', pointId: null, answer: null, grade: null, isJudged: true, said: person.name },
    );
    go('/walk');
  };
  return (
    <StopShell back="/walk" word="My walk">
      <div class="pad handin1">
        <h1 class="say" tabIndex={-1} ref={heading}>
          {walk.stops.length - open.length} of {walk.stops.length} answered.
          {isIn && (
            <>
              <br />
              Handed in, {clockTime(walk.handedInAt!, zone)}.
            </>
          )}
          {!isIn && asks && ` Hand in with ${sayCount(open.length, 'open stop')}?`}
        </h1>
        <WalkLine
          stops={walk.stops}
          here={null}
          isClosed={isIn}
          label={
            isIn
              ? `The whole walk, ${walk.stops.length} stops, handed in`
              : `${walk.stops.length - open.length} of ${walk.stops.length} stops answered`
          }
        />
        {walk.givenTo !== null && <p class="told">{walk.givenTo} has the rest.</p>}
        <section class="sec">
          <h2>Where it is now</h2>
          <table class="where">
            <thead>
              <tr>
                <td />
                <th scope="col" class="num">
                  Server
                </th>
                <th scope="col" class="num">
                  {THIS_DEVICE === 'phone' ? 'Phone' : 'Computer'}
                </th>
              </tr>
            </thead>
            <tbody>
              <tr>
                <th scope="row">Answers</th>
                <td class="num bigfig">{where.safe}</td>
                <td class={`num${where.here > 0 ? ' bigfig act' : ''}`}>{where.here}</td>
              </tr>
            </tbody>
          </table>
          <p class="safeline">
            {sayWhere(where.safe, onlyHere.length, state.safeAtIso === null ? null : clockTime(state.safeAtIso, zone))}
          </p>
          {onlyHere.length > 0 && back.length === 0 && (
            <p>
              {sayOnlyHere(
                where.here,
                steps.filter((step) => onlyHere.some((kept) => kept.id === step.id)),
              )}
            </p>
          )}
          {back.length > 0 && (
            <p class="told">
              {sayCount(back.length, 'entry', 'entries')} came back with the reason. <a href="/hand-in">Look at them</a>
            </p>
          )}
        </section>
        <section class="sec">
          <h2>{whose === null ? 'What you found' : 'What was found'}</h2>
          {whose !== null && <p class="soft">{whose}</p>}
          <Found walk={walk} notes={steps.filter((step) => step.kind === 'reported' || step.kind === 'put-right')} />
        </section>
        {open.length > 0 && !isIn && (
          <section class="sec">
            <h2>Not answered yet</h2>
            <ul class="openstops">
              {open.slice(0, 12).map((stop) => (
                <li key={stop.pointId}>
                  <a href={addressOf(walk, stop)}>
                    <b>
                      {stop.tag} {stop.letter}
                    </b>{' '}
                    {stop.assetName}, {lowerFirst(stop.pointName)}
                  </a>
                </li>
              ))}
            </ul>
            {open.length > 12 && <p class="soft">and {open.length - 12} more</p>}
          </section>
        )}
        {!isIn && walk.roundId !== null && walk.givenTo === null && (
          <section class="sec">
            <h2>For the next shift</h2>
            <Field label="Words, if somebody should know" hint="Such as: ironer left running, key 7 is on its hook.">
              {(aria) => (
                <textarea
                  {...aria}
                  class="entry"
                  maxLength={2000}
                  value={note}
                  onInput={(event) => setNote(event.currentTarget.value)}
                />
              )}
            </Field>
            {open.length > 0 &&
              (isGiving ? (
                <>
                  <Field label="Who walks the rest" wrong={wrong}>
                    {(aria) => (
                      <select {...aria} class="entry" value={toId} onChange={(event) => setToId(event.currentTarget.value)}>
                        <option value="">Choose a person</option>
                        {people
                          .filter(
                            (one) =>
                              one.id !== me.personId &&
                              one.roles.some((role) => ['technician', 'trainee', 'contractor', 'planner'].includes(role)),
                          )
                          .map((one) => (
                            <option key={one.id} value={one.id}>
                              {one.name}
                            </option>
                          ))}
                      </select>
                    )}
                  </Field>
                  <div class="keyrow">
                    <button type="button" class="key round" onClick={() => void give()}>
                      Give {walk.code} away
                    </button>
                    <button type="button" class="key round" onClick={() => setGiving(false)}>
                      Keep it
                    </button>
                  </div>
                </>
              ) : (
                <button type="button" class="key round wide" onClick={() => setGiving(true)}>
                  Give the rest to somebody
                </button>
              ))}
          </section>
        )}
      </div>
      <div class="grow" />
      <div class="foot">
        <div class={`pad keys${asks || (next !== null && !isIn && walk.roundId !== null) ? ' two' : ''}`}>
          {isIn || walk.roundId === null || walk.givenTo !== null ? (
            <a class="key main round" href="/walk">
              Back to My walk
            </a>
          ) : asks ? (
            <>
              <button type="button" class="key round" onClick={() => void handIn()}>
                Yes, hand it in
              </button>
              <a class="key round" href={addressOf(walk, next!)}>
                Go on at{' '}
                <span class="whole">
                  {next!.tag} {next!.letter}
                </span>
              </a>
            </>
          ) : next !== null ? (
            <>
              <button type="button" class="key round" onClick={() => void handIn()}>
                Hand in
              </button>
              <a class="key main round" href={addressOf(walk, next)}>
                Go on
              </a>
            </>
          ) : (
            <button type="button" class="key main round" onClick={() => void handIn()}>
              Hand in {walk.code}
            </button>
          )}
        </div>
      </div>
    </StopShell>
  );
}

/** "18 answers safe on the server, 11:52." */
function sayWhere(safe: number, here: number, at: string | null): string {
  if (safe > 0) return `${sayCount(safe, 'answer')} safe on the server${at === null || here > 0 ? '' : `, ${at}`}.`;
  return here > 0 ? `Nothing of this is safe on the server yet.` : `Nothing of this is only on this ${THIS_DEVICE}.`;
}

/** What of a walk beside its answers may wait to go up, the weightiest first. */
const WAITING_WORDS: readonly (readonly [Step['kind'], string])[] = [
  ['handed-in', 'That it is handed in'],
  ['given', 'Who has the rest'],
  ['reported', 'What you reported'],
  ['put-right', 'What you put right'],
  ['taken', 'That you set out'],
];

/** "5 answers are still only on this phone. They go when there is signal; stay signed in until then." */
function sayOnlyHere(answers: number, steps: readonly Step[]): string {
  const what = WAITING_WORDS.find(([kind]) => steps.some((step) => step.kind === kind))?.[1] ?? 'An earlier answer';
  const [are, they] =
    answers === 0
      ? [`${what} is`, 'It goes']
      : [sayCount(answers, 'answer is', 'answers are'), answers === 1 ? 'It goes' : 'They go'];
  return `${are} still only on this ${THIS_DEVICE}. ${they} when there is signal; stay signed in until then.`;
}

/** Counts by grade, worst first, then what was not judged, not read, and noted, each with the words that belong to it. */
function Found({ walk, notes }: { walk: Walk; notes: readonly Step[] }) {
  const words = (stops: Walk['stops']): string => sayStops(stops, walk.stops);
  const noted = (kind: Step['kind']): string[] =>
    notes.flatMap((note) => {
      const name = walk.stops.find((stop) => stop.pointId === note.pointId)?.assetName;
      return note.kind === kind ? [`${note.said}${name === undefined ? '' : ` (${name})`}`] : [];
    });
  const read = walk.stops.filter((stop) => stop.state === 'read');
  const { byState } = progress(
    walk.stops.map(({ pointId, state }): Stop => ({ pointId, state, answerId: null, furtherIds: [], isAdded: false })),
  );
  const others = (['not-running', 'no-way-in', 'unsafe', 'instrument-trouble', 'left-out'] as const).filter(
    (one) => byState[one] > 0,
  );
  const rows = [
    ...[...ORDER, null].map((grade) => {
      const stops = read.filter((stop) => stop.grade === grade);
      return {
        key: grade ?? 'none',
        count: stops.length,
        what: <GradeMark grade={grade} />,
        said: grade === 'fine' ? '' : words(stops),
      };
    }),
    ...others.map((one) => {
      const stops = walk.stops.filter((stop) => stop.state === one);
      return { key: one, count: stops.length, what: <span>{sentenceCase(STOP_WORDS[one])}</span>, said: words(stops) };
    }),
    ...NOTES.map(([kind, word]) => {
      const said = noted(kind);
      return { key: kind, count: said.length, what: <span>{word}</span>, said: said.join('; ') };
    }),
  ].filter(({ count }) => count > 0);
  if (rows.length === 0) return <p class="soft">Nothing yet.</p>;
  return (
    <ul class="foundlist">
      {rows.map(({ key, count, what, said }) => (
        <li key={key}>
          <b>{count}</b>
          {what}
          <span class="soft">{said}</span>
        </li>
      ))}
    </ul>
  );
}
const NOTES = [
  ['reported', 'Reported'],
  ['put-right', 'Put right'],
] as const;
