import type { AssetPage, PointPage, ReadingRow } from '@heatround/contract';
import {
  assessReading,
  COULD_NOT_READ,
  type CouldNotRead,
  CRITERION_OF,
  cautionsFor,
  DOMAIN_VERSION,
  type Fact,
  FINE_MEANS,
  measure,
  NOW_AT_LIVE_PARTS,
  NOW_MEANS,
  type Point,
  parseReading,
  questionUnlikely,
  type Reading,
  type ReadingTaken,
  type Verdict,
} from '@heatround/domain';
import type { ComponentChildren } from 'preact';
import { useEffect, useLayoutEffect, useMemo, useReducer, useRef, useState } from 'preact/hooks';
import { call, NoSignal, sayTrouble } from '../../client/index.ts';
import type { Kept } from '../../outbox/index.ts';
import { go, useWhere } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { StopShell } from '../../shell/shell.tsx';
import { useOpening } from '../../shell/title.ts';
import { StopPlot } from '../../ui/chart/behind.tsx';
import { scaleFor, soundingsOf, stretchesOf } from '../../ui/chart/model.ts';
import { Told } from '../../ui/field.tsx';
import { DECIMAL_SIGN, plainDate, sayLimit, sayUnit, sayValue, sentenceCase } from '../../ui/format.ts';
import { GRADE_WORDS, Kind, Mark, Tag, VerdictMark } from '../../ui/marks.tsx';
import { Cautions, mustSeeCautions } from './cautions.tsx';
import {
  activeField,
  type CarriedOver,
  entriesOf,
  nextField,
  openStop,
  press,
  type StopAction,
  type StopState,
  takesMinus,
  unitsFor,
} from './stop-state.ts';
import { COULD_NOT_WORDS } from './words.ts';
import './stop.css';

/** A verdict is kept at the earliest after it could be seen. */
const SEEN_MS = 350;

/** At the stop: one point, one thumb. Loads what it needs from this device first and lets the service refresh it. */
export function StopScreen({ parameters }: { parameters: Record<string, string> }) {
  const { outbox } = useSession();
  const assetId = parameters.assetId ?? '';
  const pointId = parameters.pointId ?? '';
  const [page, setPage] = useState<AssetPage | null>(null);
  const [keptAt, setKeptAt] = useState<number | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [ready, setReady] = useState<{
    carried: CarriedOver;
    draft: { texts: Record<string, string>; active: string | null } | null;
    waiting: Kept[];
  } | null>(null);

  useEffect(() => {
    let isHere = true;
    const load = async (): Promise<void> => {
      const pack = await outbox.pack(assetId);
      const prepare = async (found: AssetPage): Promise<void> => {
        const [ambient, load_, draft, waiting] = await Promise.all([
          outbox.carried(`ambient:${found.place.roomId}`),
          outbox.carried(`load:${found.id}`),
          outbox.draft(pointId),
          outbox.waitingFor(found.points.map(({ point }) => point.id)),
        ]);
        if (!isHere) return;
        setReady(
          (before) =>
            before ?? {
              carried: { ...(ambient === null ? {} : { ambient }), ...(load_ === null ? {} : { load: load_ }) },
              draft: draft === undefined ? null : { texts: { ...draft.texts }, active: draft.active },
              waiting,
            },
        );
      };
      if (pack !== undefined && isHere) {
        setPage(pack.page);
        setKeptAt(pack.keptAt);
        await prepare(pack.page);
      }
      try {
        const fresh = await call('getAsset', { params: { assetId }, query: { readings: 60 } });
        if (!isHere) return;
        setPage(fresh);
        setKeptAt(null);
        await outbox.keepPack(fresh);
        await prepare(fresh);
      } catch (failed) {
        if (isHere && (pack === undefined || !(failed instanceof NoSignal))) setTrouble(failed);
      }
    };
    void load();
    return () => {
      isHere = false;
    };
  }, [assetId, pointId, outbox]);

  const point = page?.points.find((one) => one.point.id === pointId) ?? null;
  if (page === null || point === null || ready === null) {
    return (
      <StopShell back={page === null ? '/' : `/assets/${assetId}`} word={page?.tag ?? 'Register'}>
        <div class="pad">
          <Empty
            words={
              trouble !== null
                ? trouble instanceof NoSignal
                  ? 'This stop was not opened here before, so it is not on this phone.'
                  : 'This stop cannot be shown.'
                : page !== null && point === null
                  ? 'There is no such point on this asset any more.'
                  : 'The stop'
            }
          />
          {trouble !== null && (
            <Told>
              {trouble instanceof NoSignal
                ? 'Open it once where there is signal; after that it works without.'
                : sayTrouble(trouble)}
            </Told>
          )}
        </div>
      </StopShell>
    );
  }
  return <Stop page={page} at={point} keptAt={keptAt} {...ready} />;
}

function Empty({ words }: { words: string }) {
  const heading = useOpening('At the stop', words);
  return (
    <h1 class="say" tabIndex={-1} ref={heading}>
      {words}
    </h1>
  );
}

/** A point as the domain takes it: the same object, without what only people need. */
const asPoint = ({ point }: PointPage): Point => point as unknown as Point;
const lastCounting = (at: PointPage): ReadingRow | null => at.readings.find((row) => row.counts && row.value !== null) ?? null;

function Stop(props: {
  page: AssetPage;
  at: PointPage;
  keptAt: number | null;
  carried: CarriedOver;
  draft: { texts: Record<string, string>; active: string | null } | null;
  waiting: readonly Kept[];
}) {
  const { page, at, keptAt, carried, draft, waiting } = props;
  const { outbox, may } = useSession();
  const { search } = useWhere();
  const corrects = at.readings.find((row) => row.id === search.get('corrects')) ?? null;
  const point = asPoint(at);
  const zone = page.place.zone;
  const [state, dispatch] = useReducer(press, null, () => {
    const opened = openStop(point, carried);
    return draft === null ? opened : press(opened, { is: 'resume', ...draft });
  });
  const [words, setWords] = useState('');
  const stamped = useRef<Pick<Fact, 'id' | 'takenAt' | 'clock'> | null>(null);

  // What is typed survives a reload, an empty battery and another screen.
  useEffect(() => {
    const texts = Object.fromEntries(
      state.fields.filter((field) => field.text !== '' && field.carriedAt === null).map((field) => [field.name, field.text]),
    );
    if (Object.keys(texts).length === 0) void outbox.dropDraft(point.id);
    else void outbox.keepDraft({ pointId: point.id, at: Date.now(), texts, active: state.active });
  }, [state.fields, state.active, outbox, point.id]);

  const factOf = (from: StopState): ReadingTaken => {
    stamped.current ??= outbox.stamp();
    return {
      kind: 'reading-taken',
      ...stamped.current,
      // A correction speaks about the moment of the first reading, not about the moment of correcting.
      ...(corrects === null ? {} : { takenAt: corrects.takenAt, corrects: corrects.id }),
      pointId: point.id,
      inputs: entriesOf(from, 'input'),
      conditions: entriesOf(from, 'condition'),
      ...(from.isConfirmedUnlikely ? { confirmedUnlikely: true } : {}),
      ...(words.trim() === '' ? {} : { words: words.trim() }),
    };
  };
  const judge = (from: StopState): { reading: Reading; verdict: Verdict } | null => {
    const parsed = parseReading(factOf(from), point);
    if ('errors' in parsed) return null;
    const regreased = page.work.find(
      (one) => ['regreased', 'replaced', 'repaired'].includes(one.work) && (one.pointId === null || one.pointId === point.id),
    );
    const context = { lastRegreasedAt: regreased === undefined ? null : Date.parse(regreased.takenAt) };
    return { reading: parsed.reading, verdict: assessReading(point, parsed.reading, at.limits, context) };
  };
  const ask = (from: StopState): string | null => {
    const judged = judge(from);
    if (judged === null) return null;
    const lastValues = at.readings
      .filter((row) => row.counts && row.value !== null && row.comparability !== 'not-judged')
      .slice(0, 20)
      .map((row) => row.value as number)
      .reverse();
    return questionUnlikely(point, judged.reading, lastValues);
  };
  const act = (action: StopAction): void => {
    if (action.is === 'read-again' || action.is === 'change') stamped.current = null;
    if (action.is === 'confirm' && state.stage === 'enter') stamped.current = null;
    dispatch(action);
  };
  const confirm = (): void => act({ is: 'confirm', ask });

  const judged = useMemo(() => (state.stage === 'verdict' ? judge(state) : null), [state, words]);
  const others = page.points.filter((one) => one.point.id !== point.id);
  const doneIds = new Set([
    ...waiting.map(({ fact }) => ('pointId' in fact ? fact.pointId : undefined)),
    ...page.points
      .filter((one) => Date.parse(one.readings[0]?.takenAt ?? '') > outbox.now() - 3 * 3_600_000)
      .map((one) => one.point.id),
  ]);
  const index = page.points.findIndex((one) => one.point.id === point.id);
  const next =
    [...page.points.slice(index + 1), ...page.points.slice(0, index)].find((one) => !doneIds.has(one.point.id)) ?? null;

  const onward = (): void => {
    if (corrects === null && next !== null) go(`/stop/${page.id}/${next.point.id}`, 'replace');
    else go(`/assets/${page.id}`, 'replace');
  };
  // A glove that taps twice, or a key held down, must not keep what nobody has seen.
  const shownAt = useRef(0);
  useLayoutEffect(() => {
    shownAt.current = performance.now();
  }, [state.stage]);
  const isKept = useRef(false);
  const keep = async (): Promise<void> => {
    if (judged === null || isKept.current || performance.now() - shownAt.current < SEEN_MS) return;
    isKept.current = true;
    const fact: ReadingTaken = { ...factOf(state), phoneVerdict: { domainVersion: DOMAIN_VERSION, verdict: judged.verdict } };
    const figure = measure(point, judged.reading);
    const said = figure.value === null ? 'reading' : `${sayValue(figure.value, point.decimals)}${sayUnit(figure.unit)}`;
    await outbox.record(fact, `${page.tag} ${point.letter}, ${said}`, page.id);
    for (const field of state.fields) {
      if (field.text === '' || field.carriedAt !== null || corrects !== null) continue;
      if (field.name === 'ambient' || field.name === 'air')
        await outbox.carry(`ambient:${page.place.roomId}`, field.text, field.unit);
      if (field.name === 'load') await outbox.carry(`load:${page.id}`, field.text, field.unit);
    }
    await outbox.dropDraft(point.id);
    navigator.vibrate?.(judged.verdict.grade === 'now' ? [180, 120, 180] : 30);
    onward();
  };
  const couldNot = async (answer: CouldNotRead, forAll: boolean): Promise<void> => {
    const said = words.trim();
    for (const one of forAll ? [at, ...others.filter((other) => !doneIds.has(other.point.id))] : [at]) {
      const fact: Fact = {
        kind: 'stop-answered',
        ...outbox.stamp(),
        pointId: one.point.id,
        answer,
        ...(said === '' ? {} : { words: said }),
      };
      await outbox.record(fact, `${page.tag} ${one.point.letter}, ${COULD_NOT_WORDS[answer].word.toLowerCase()}`, page.id);
      await outbox.dropDraft(one.point.id);
    }
    navigator.vibrate?.(30);
    if (forAll) go(`/assets/${page.id}`, 'replace');
    else onward();
  };

  const [mustSee, setMustSee] = useState(() => mustSeeCautions(page));
  // Digits, comma, minus, Backspace and Enter of a real keyboard go where the keys on the screen go.
  const listen = useRef<(event: KeyboardEvent) => void>(() => undefined);
  // Set while drawing, so that not even the fastest key meets the screen before.
  listen.current = (event: KeyboardEvent): void => {
    const target = event.target as HTMLElement;
    if (
      event.metaKey ||
      event.ctrlKey ||
      event.altKey ||
      /^(INPUT|SELECT|TEXTAREA)$/.test(target.tagName) ||
      target.closest('details')
    )
      return;
    const isKey = target.tagName === 'BUTTON' || target.tagName === 'A';
    if (mustSee || event.repeat) return;
    if (state.stage === 'enter') {
      if (/^[\d.,−-]$/.test(event.key)) dispatch({ is: 'type', character: event.key });
      else if (event.key === 'Backspace') dispatch({ is: 'delete' });
      else if (event.key === 'Enter' && !isKey) confirm();
      else return;
      event.preventDefault();
    } else if (state.stage === 'verdict' && event.key === 'Enter' && !isKey) {
      event.preventDefault();
      void keep();
    }
  };
  useEffect(() => {
    const hear = (event: KeyboardEvent): void => listen.current(event);
    document.addEventListener('keydown', hear);
    return () => document.removeEventListener('keydown', hear);
  }, []);

  const common = { page, at, state, corrects, zone };
  if (mustSee && may('submit-facts')) {
    return (
      <StopShell back={`/assets/${page.id}`} word={page.tag}>
        <Cautions page={page} letter={point.letter} onSeen={() => setMustSee(false)} />
      </StopShell>
    );
  }
  return (
    <StopShell back={`/assets/${page.id}`} word={page.tag}>
      <Way page={page} pointId={point.id} doneIds={doneIds} />
      {!may('submit-facts') && (
        <p class="pad told">Your role here may look, not read. A technician, a contractor or a planner can take the reading.</p>
      )}
      {state.stage === 'could-not' ? (
        <CouldNot
          {...common}
          hasOthers={others.length > 0}
          words={words}
          setWords={setWords}
          onAnswer={couldNot}
          onBack={() => act({ is: 'back' })}
        />
      ) : state.stage === 'verdict' && judged !== null ? (
        <VerdictView
          {...common}
          {...judged}
          words={words}
          setWords={setWords}
          onKeep={() => void keep()}
          onAgain={() => act({ is: 'read-again' })}
          keepWord={corrects !== null ? 'Keep the correction' : next === null ? 'Keep it' : `Keep it, next: ${next.point.letter}`}
        />
      ) : (
        <Entry {...common} keptAt={keptAt} act={act} confirm={confirm} isAllowed={may('submit-facts')} />
      )}
    </StopShell>
  );
}

/** The line of the walk through the points of this asset: solid as far as read, dotted ahead, a ring where you are. */
function Way({ page, pointId, doneIds }: { page: AssetPage; pointId: string; doneIds: ReadonlySet<string | undefined> }) {
  const { points } = page;
  const here = points.findIndex((one) => one.point.id === pointId);
  if (points.length < 2) return null;
  const x = (index: number): number => 8 + (index / (points.length - 1)) * 312;
  return (
    <div class="pad way">
      <svg
        viewBox="0 0 328 30"
        width="100%"
        height="30"
        preserveAspectRatio="none"
        role="img"
        aria-label={`Point ${here + 1} of ${points.length}`}
      >
        <path d={`M8 15H${x(here)}`} stroke="var(--ink)" stroke-width={2.5} />
        <path d={`M${x(here)} 15H320`} stroke="var(--ink)" stroke-width={2.5} stroke-dasharray="2 4" />
        {points.map((one, index) => (
          <path
            key={one.point.id}
            d={`M${x(index)} 10v10`}
            stroke="var(--ink)"
            stroke-width={doneIds.has(one.point.id) ? 4 : 2}
          />
        ))}
        <circle cx={x(here)} cy={15} r={8} fill="var(--paper)" stroke="var(--act)" stroke-width={3} />
        <circle cx={x(here)} cy={15} r={3} fill="var(--act)" />
      </svg>
    </div>
  );
}

interface Common {
  readonly page: AssetPage;
  readonly at: PointPage;
  readonly state: StopState;
  readonly corrects: ReadingRow | null;
  readonly zone: string;
}

function Entry(
  props: Common & { keptAt: number | null; act: (action: StopAction) => void; confirm: () => void; isAllowed: boolean },
) {
  const { page, at, state, corrects, zone, act, confirm } = props;
  const { outbox } = useSession();
  const now = outbox.now();
  const point = asPoint(at);
  const heading = useOpening(`${page.tag} ${point.letter}`, `${point.id} enter`);
  const last = lastCounting(at);
  const field = activeField(state);
  const next = nextField(state);
  const inputs = state.fields.filter((one) => one.part === 'input');
  const asked = state.fields.filter((one) => one.required || one.text !== '' || one.name === state.active);
  const more = state.fields.filter((one) => !asked.includes(one));
  const shown = state.fields.length > 1 ? asked : [];
  const single = inputs.filter((one) => one.required).length === 1 ? inputs[0] : undefined;
  const hasInput = inputs.some((one) => one.text.trim() !== '');
  // Confirming this field leads to another one, not yet to the verdict.
  const ahead = state.fields.find(
    (one) => one.required && one.name !== state.active && one.text.trim() === '' && !state.without.includes(one.name),
  );
  const isLast = ahead === undefined;
  const lately = at.readings
    .filter((row) => row.counts && row.value !== null && row.comparability !== 'not-judged')
    .slice(0, 5)
    .map((row) => row.value as number);
  const lastOf = (name: string): string | null => {
    const row = at.readings.find((one) => one.counts && (one.inputs[name] ?? one.conditions[name]) !== undefined);
    const entry = row === undefined ? undefined : (row.inputs[name] ?? row.conditions[name]);
    return entry === undefined ? null : `${entry.text}${sayUnit(entry.unit)}`;
  };
  const without = next !== null && hasInput && (next.part === 'condition' || single === undefined) ? next : null;
  const minus =
    field !== null &&
    takesMinus(field) &&
    (last?.value == null || last.value < 25 || field.text.startsWith('−') || field.name === 'air' || field.name === 'outdoor');
  const confirmWord = !isLast
    ? `Next: ${ahead.label}`
    : single !== undefined && hasInput
      ? `Confirm ${single.text}${sayUnit(single.unit)}`
      : 'Confirm';

  if (state.stage === 'asked') {
    return (
      <>
        <Heading page={page} point={point} spot={at.point.spot} heading={heading} />
        <div class="pad asked" role="alertdialog" aria-label="Is this value meant?">
          <p class="say" id="question">
            {state.question}
          </p>
          <p class="soft">It is kept as you say. Asked once, because it is far from what was read here before.</p>
        </div>
        <div class="grow" />
        <div class="foot">
          <div class="pad keys two">
            <FocusKey class="key round" onClick={() => act({ is: 'really' })}>
              Yes, really
            </FocusKey>
            <button type="button" class="key round" onClick={() => act({ is: 'change' })}>
              Change
            </button>
          </div>
        </div>
      </>
    );
  }
  return (
    <>
      <Heading page={page} point={point} spot={at.point.spot} heading={heading} />
      {corrects !== null && (
        <p class="pad told">
          Corrects the reading of {plainDate(corrects.takenAt, zone, now)}
          {corrects.value === null ? '' : `, ${sayValue(corrects.value, point.decimals)}${sayUnit(point.unit)}`}. The first one
          stays stored and no longer counts.
        </p>
      )}
      <div class="pad last">
        <span>
          {last === null
            ? 'first reading here'
            : `last ${sayValue(last.value as number, point.decimals)}${single === undefined || point.quantity === 'above-base' ? sayUnit(point.unit) : ''} on ${plainDate(last.takenAt, zone, now)}`}
        </span>
        {lately.length > 2 && (
          <span>
            lately {sayValue(Math.min(...lately), point.decimals)} to {sayValue(Math.max(...lately), point.decimals)}
          </span>
        )}
      </div>
      {props.keptAt !== null && <p class="pad asof">as of {plainDate(props.keptAt, zone, now)}</p>}
      {shown.length > 0 && (
        <fieldset class="pad parts" aria-label="What is read here">
          {shown.map((one) => (
            <button
              key={one.name}
              type="button"
              class={`part ${one.part}`}
              aria-pressed={one.name === state.active}
              onClick={() => act({ is: 'choose', name: one.name })}
            >
              <span class="partname">{one.label}</span>
              <b>
                {one.text === '' ? (state.without.includes(one.name) ? 'not read' : '–') : one.text}
                <span class="u">{one.text === '' ? '' : sayUnit(one.unit)}</span>
              </b>
              <span class="partlast">
                {one.carriedAt !== null ? 'carried over' : lastOf(one.name) === null ? ' ' : `last ${lastOf(one.name)}`}
              </span>
            </button>
          ))}
        </fieldset>
      )}
      {(more.length > 0 || without !== null) && (
        <div class="pad moreparts">
          {without !== null && (
            <button type="button" class="link" onClick={() => act({ is: 'go-on-without' })}>
              Go on without {lowerFirst(without.label)}
            </button>
          )}
          {more.map((one) => (
            <button key={one.name} type="button" class="link" onClick={() => act({ is: 'choose', name: one.name })}>
              + {one.label}
            </button>
          ))}
        </div>
      )}
      <div class="grow" />
      <div class="foot entryfoot">
        <div class="pad big">
          <output
            class="bigvalue"
            aria-live="polite"
            aria-label={`${field?.label ?? 'Value'}, ${field?.text === '' ? 'empty' : field?.text}`}
          >
            <b>{field?.text ?? ''}</b>
            <span class="caret" />
          </output>
          {field !== null && unitsFor(field).length > 1 ? (
            <select
              class="unit"
              aria-label="Unit"
              value={field.unit}
              onChange={(event) => act({ is: 'unit', unit: event.currentTarget.value as never })}
            >
              {unitsFor(field).map((unit) => (
                <option key={unit} value={unit}>
                  {unit}
                </option>
              ))}
            </select>
          ) : (
            <span class="unit">{field === null || field.unit === '1' ? '' : field.unit}</span>
          )}
        </div>
        {state.wrong !== null && (
          <p class="pad expected" role="alert">
            {state.wrong.expected}
          </p>
        )}
        <fieldset class={`pad pads${minus ? ' four' : ''}`} aria-label="Digits">
          {['1', '2', '3', '4', '5', '6', '7', '8', '9'].map((digit) => (
            <button key={digit} type="button" class="key digit" onClick={() => act({ is: 'type', character: digit })}>
              {digit}
            </button>
          ))}
          <div class="lastrow">
            {minus && (
              <button type="button" class="key digit" aria-label="minus" onClick={() => act({ is: 'type', character: '−' })}>
                −
              </button>
            )}
            <button
              type="button"
              class="key digit"
              aria-label="decimal sign"
              onClick={() => act({ is: 'type', character: DECIMAL_SIGN })}
            >
              {DECIMAL_SIGN}
            </button>
            <button type="button" class="key digit" onClick={() => act({ is: 'type', character: '0' })}>
              0
            </button>
            <button type="button" class="key digit wd" onClick={() => act({ is: 'delete' })}>
              Delete
            </button>
          </div>
        </fieldset>
        <div class="pad keys entrykeys">
          <button type="button" class="key round" disabled={!props.isAllowed} onClick={() => act({ is: 'could-not' })}>
            Could not read it
          </button>
          <button type="button" class="key main round" disabled={!props.isAllowed} onClick={confirm}>
            {confirmWord}
          </button>
        </div>
      </div>
    </>
  );
}

function Heading({
  page,
  point,
  spot,
  heading,
}: {
  page: AssetPage;
  point: Point;
  spot: string;
  heading: { current: HTMLHeadingElement | null };
}) {
  return (
    <div class="pad idb">
      <div>
        <Tag tag={page.tag} letter={point.letter} />
        <h1 tabIndex={-1} ref={heading}>
          {page.name}, {lowerFirst(point.name)}
        </h1>
      </div>
      <p class="picture">no picture yet</p>
      {spot !== '' && <p class="aim">{spot}</p>}
    </div>
  );
}

function FocusKey({ children, ...rest }: { class: string; onClick: () => void; children: ComponentChildren }) {
  const key = useRef<HTMLButtonElement>(null);
  useEffect(() => key.current?.focus(), []);
  return (
    <button type="button" ref={key} {...rest}>
      {children}
    </button>
  );
}

function CouldNot(
  props: Common & {
    hasOthers: boolean;
    words: string;
    setWords: (words: string) => void;
    onAnswer: (answer: CouldNotRead, forAll: boolean) => Promise<void>;
    onBack: () => void;
  },
) {
  const { page, at } = props;
  const heading = useOpening(`${page.tag} ${at.point.letter}, could not read it`, `${at.point.id} could not`);
  const [forAll, setForAll] = useState(false);
  const [needsWords, setNeedsWords] = useState(false);
  const field = useRef<HTMLTextAreaElement>(null);
  const answer = (one: CouldNotRead): void => {
    if (one === 'left-out' && props.words.trim() === '') {
      setNeedsWords(true);
      field.current?.focus();
      return;
    }
    void props.onAnswer(one, forAll);
  };
  return (
    <>
      <div class="pad idb plain">
        <Tag tag={page.tag} letter={at.point.letter} />
        <h1 tabIndex={-1} ref={heading}>
          Why could it not be read?
        </h1>
      </div>
      <div class="pad why5">
        {COULD_NOT_READ.map((one) => (
          <button key={one} type="button" class="key round answer" onClick={() => answer(one)}>
            <span>{COULD_NOT_WORDS[one].word}</span>
            <span class="answerwhat">{COULD_NOT_WORDS[one].what}</span>
          </button>
        ))}
      </div>
      <div class="pad field">
        <label for="words">Words, if they help</label>
        {needsWords && (
          <span class="wrong" role="alert" id="needs">
            Left out needs a reason in words, such as “scaffold in front, gone by Friday”.
          </span>
        )}
        <textarea
          id="words"
          ref={field}
          class="entry"
          maxLength={4000}
          aria-describedby={needsWords ? 'needs' : undefined}
          value={props.words}
          onInput={(event) => props.setWords(event.currentTarget.value)}
        />
      </div>
      {props.hasOthers && (
        <label class="pad choice">
          <input type="checkbox" checked={forAll} onChange={(event) => setForAll(event.currentTarget.checked)} />
          The same for all points of {page.tag}
        </label>
      )}
      <div class="grow" />
      <div class="foot">
        <div class="pad keys">
          <button type="button" class="key round" onClick={props.onBack}>
            Back to the value
          </button>
        </div>
      </div>
    </>
  );
}

function VerdictView(
  props: Common & {
    reading: Reading;
    verdict: Verdict;
    words: string;
    setWords: (words: string) => void;
    onKeep: () => void;
    onAgain: () => void;
    keepWord: string;
  },
) {
  const { page, at, reading, verdict } = props;
  const point = asPoint(at);
  const heading = useOpening(
    `${page.tag} ${point.letter}: ${verdict.grade === null ? 'Not judged' : GRADE_WORDS[verdict.grade]}`,
    `${point.id} ${reading.id}`,
  );
  const figure = measure(point, reading);
  const criterion = verdict.because?.criterion ?? CRITERION_OF[point.quantity];
  const typedOne = Object.values(reading.inputs).length === 1 && point.quantity !== 'above-base';
  const value = typedOne ? Object.values(reading.inputs)[0]! : figure.value;
  const unit = typedOne ? (point.quantity === 'temperature' ? '°C' : point.unit) : figure.unit;
  const { ambient, load } = reading.conditions;
  const air = reading.inputs.air ?? ambient;
  const because = verdict.because;
  const isNow = verdict.grade === 'now';
  const shown = verdict.comparability === 'not-judged' && value !== null;
  const cautions = cautionsFor(page.hazards);

  const soundings = soundingsOf(at.readings.slice(0, 12), criterion).filter((one) => one.id !== props.corrects?.id);
  const todayValue = because?.value ?? figure.value;
  const today =
    todayValue === null ? null : { id: reading.id, at: reading.takenAt, value: todayValue, kind: verdict.comparability };
  const from = Math.min(soundings[0]?.at ?? reading.takenAt - 30 * 86_400_000, reading.takenAt - 14 * 86_400_000);
  const to = Math.max(reading.takenAt, soundings.at(-1)?.at ?? 0);
  const stretches = stretchesOf(at.limits, criterion, from, to + 1);
  const plotLabel = `${point.name}: ${[...soundings.slice(-4).map((one) => sayValue(one.value, point.decimals)), ...(today === null ? [] : [`now ${sayValue(today.value, point.decimals)}`])].join(', ')}${because?.limit == null ? '' : `; ${GRADE_WORDS[because.limitGrade!]} ${sayLimit(because.limit)}`}`;

  const [short, ...rest] = splitSentence(withoutReason(verdict));
  return (
    <>
      <div class="pad id">
        <div>
          <Tag tag={page.tag} letter={point.letter} />
          <p class="idname">{page.name}</p>
          <p class="soft">{point.name}</p>
        </div>
      </div>
      <div class="pad val">
        <p class="read">
          <b>
            {shown && '['}
            {value === null ? '–' : sayValue(value, point.decimals)}
            {shown && ']'}
          </b>
          <span>{unit === '1' ? '' : unit}</span>
        </p>
        <p class="cond">
          <Kind of={verdict.comparability} />
          {load !== undefined && (
            <>
              <br />
              load {sayLimit(load)}
              {sayUnit('%')}
            </>
          )}
          {air !== undefined && (
            <>
              <br />
              room {sayLimit(air)}
              {sayUnit('°C')}
            </>
          )}
        </p>
      </div>
      {isNow ? (
        <section class="nowp" aria-label="Verdict">
          <div class="pad">
            <p class="nw1">
              <Mark name="g-now" />
              <b>Now</b>
              <Mark name="b-4" />
            </p>
            <h1 class="why" tabIndex={-1} ref={heading}>
              {NOW_MEANS}
            </h1>
            <p class="nowwhy">{withoutReason(verdict)}</p>
          </div>
        </section>
      ) : (
        <section class={`pad verdict ${verdict.grade ?? 'none'}`} aria-label="Verdict">
          <div class="vline">
            <VerdictMark verdict={verdict} />
          </div>
          <h1 class="why" tabIndex={-1} ref={heading}>
            {short}
          </h1>
          {rest.length > 0 && <p class="because soft">{rest.join(' ')}</p>}
        </section>
      )}
      {isNow && (
        <ol class="pad steps">
          {stepsNow(page).map((step, index) => (
            <li key={step}>
              <b>{index + 1}</b>
              <span>{step}</span>
            </li>
          ))}
        </ol>
      )}
      <div class="pad plot">
        <StopPlot
          label={plotLabel}
          soundings={soundings}
          stretches={stretches}
          from={from}
          to={to}
          today={today}
          scaleOf={(top, bottom) => scaleFor(soundings, stretches, today === null ? [] : [today.value], top, bottom, 1)}
        />
      </div>
      {because?.limit != null && because.reason !== '' && (
        <p class="pad because soft">
          Why {sayLimit(because.limit)}: {lowerFirst(because.reason.replace(/\.$/, ''))}.{' '}
          {sentenceCase(because.source.replace(/\.$/, ''))}.
        </p>
      )}
      {cautions.length > 0 && (
        <details class="pad again">
          <summary>Cautions here: {cautions.map((caution) => caution.title.toLowerCase()).join(', ')}</summary>
          <ul class="cautions">
            {cautions.map((caution) => (
              <li key={caution.hazard}>
                <b>{caution.title}.</b> {caution.text}
              </li>
            ))}
          </ul>
        </details>
      )}
      {verdict.grade === 'fine' && <p class="pad because soft">{FINE_MEANS}</p>}
      <div class="pad field">
        <label for="said">Words, if you saw something</label>
        <textarea
          id="said"
          class="entry short"
          maxLength={4000}
          value={props.words}
          onInput={(event) => props.setWords(event.currentTarget.value)}
        />
      </div>
      <div class="grow" />
      <div class="foot">
        <div class="pad keys verdictkeys">
          <button type="button" class="key round" onClick={props.onAgain}>
            Read again
          </button>
          <button type="button" class="key main round" onClick={props.onKeep}>
            {props.keepWord}
          </button>
        </div>
      </div>
    </>
  );
}

/**
 * What to do at the worst grade. How a machine is stopped is written and signed by the site, never by this service; a machine
 * that protects lives is not stopped at all.
 */
function stepsNow(page: AssetPage): string[] {
  const away = page.hazards.includes('live-panel') ? NOW_AT_LIVE_PARTS : 'Step back and keep others away.';
  const ring = page.lifeSafety
    ? 'Call, do not stop it: it protects lives.'
    : 'Call the person responsible for it. How it is stopped is for that person to say.';
  return [away, ring, 'Keep the reading. Nobody has it until somebody answers.'];
}

/** "Load" → "load", but "L3" stays. */
const lowerFirst = (text: string): string => (/^\p{Lu}\p{Ll}/u.test(text) ? text.charAt(0).toLowerCase() + text.slice(1) : text);

/** The sentence without source and reason of the limit, which stand below the plot. */
function withoutReason({ sentence, because }: Verdict): string {
  if (because === null || because.source === '') return sentence;
  const reason = because.reason.trim().replace(/[.;]+$/, '');
  for (const said of [reason, lowerFirst(reason)]) {
    const bracket = ` (${because.source}${said === '' ? '' : `: ${said}`})`;
    if (sentence.includes(bracket)) return sentence.replace(bracket, '');
  }
  return sentence;
}

/** The first sentence is said large, the others stand below it. A point inside a figure ends nothing. */
function splitSentence(sentence: string): string[] {
  return sentence.split(/(?<=[.!?])\s+(?=[A-Z“])/);
}
