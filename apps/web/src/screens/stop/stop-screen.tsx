import type { AssetPage, ExtraStopLine, PointPage, ReadingRow } from '@heatround/contract';
import {
  assessReading,
  COULD_NOT_READ,
  type CouldNotRead,
  CRITERION_OF,
  cautionsFor,
  contextAt,
  DOMAIN_VERSION,
  type Fact,
  FINE_MEANS,
  type KindOfWork,
  type LimitGrade,
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
import type { AwaitedProof, Kept, OpenFault, Step } from '../../outbox/index.ts';
import { go, useWhere } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { StopShell } from '../../shell/shell.tsx';
import { useOpening } from '../../shell/title.ts';
import { StopPlot } from '../../ui/chart/behind.tsx';
import { scaleFor, soundingsOf, stretchesOf } from '../../ui/chart/model.ts';
import { Told } from '../../ui/field.tsx';
import { clockTime, DECIMAL_SIGN, plainDate, sayLimit, sayUnit, sayValue, sentenceCase } from '../../ui/format.ts';
import { GRADE_WORDS, Kind, Mark, Tag, VerdictMark } from '../../ui/marks.tsx';
import { type LineStop, WalkLine } from '../../ui/walk-line.tsx';
import { awaitedProofs, openFaultsAt } from '../walk/faults.ts';
import { knownWalk } from '../walk/known-walk.ts';
import { takeWalk } from '../walk/take.ts';
import { addressOf, isAnswered, nextStop, type Walk, type WalkStop } from '../walk/walk-state.ts';
import { lowerFirst } from '../walk/walk-words.ts';
import { aroundOf, asPoint } from './around.ts';
import type { CouldNotScope } from './asides.tsx';
import { Cautions, mustSeeCautions } from './cautions.tsx';
import { sayProof, sayProofUnknown } from './proof.ts';
import {
  activeField,
  type CarriedOver,
  entriesOf,
  nextField,
  openStop,
  press,
  restOfComponents,
  SHARED_IN,
  type Shared,
  type StopAction,
  type StopState,
  sharedAs,
  shownFields,
  takesMinus,
  unitsFor,
} from './stop-state.ts';
import { COULD_NOT_WORDS } from './words.ts';
import './stop.css';

/** Where a condition that is asked once is kept. */
const carriedKey = (name: Shared, { id, place }: AssetPage): string =>
  `${name}:${{ asset: id, room: place.roomId, site: place.siteId }[SHARED_IN[name]]}`;

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
  const walkId = useWhere().search.get('walk');
  const [ready, setReady] = useState<{
    carried: CarriedOver;
    draft: { texts: Record<string, string>; active: string | null } | null;
    waiting: Kept[];
    walk: Walk | null;
  } | null>(null);

  useEffect(() => {
    let isHere = true;
    const load = async (): Promise<void> => {
      const pack = await outbox.pack(assetId);
      const prepare = async (found: AssetPage): Promise<void> => {
        const shared = Object.keys(SHARED_IN) as Shared[];
        const [carried, draft, waiting, walk] = await Promise.all([
          Promise.all(shared.map((name) => outbox.carried(carriedKey(name, found)))),
          outbox.draft(pointId),
          outbox.waitingFor(
            found.points.flatMap(({ point, twins }) => [point.id, ...(twins ?? []).map((twin) => twin.point.id)]),
            found.id,
          ),
          walkId === null ? null : knownWalk(outbox, walkId),
        ]);
        if (!isHere) return;
        setReady(
          (before) =>
            before ?? {
              carried: Object.fromEntries(shared.flatMap((name, i) => (carried[i] == null ? [] : [[name, carried[i]]]))),
              draft: draft === undefined ? null : { texts: { ...draft.texts }, active: draft.active },
              waiting,
              walk,
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
  }, [assetId, pointId, walkId, outbox]);

  const point = page?.points.find((one) => one.point.id === pointId) ?? null;
  if (page === null || point === null || ready === null) {
    return (
      <StopShell
        back={walkId !== null ? '/walk' : page === null ? '/register' : `/assets/${assetId}`}
        word={walkId !== null ? 'My walk' : (page?.tag ?? 'Register')}
      >
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

const lastCounting = (at: PointPage): ReadingRow | null => at.readings.find((row) => row.counts && row.value !== null) ?? null;

function Stop(props: {
  page: AssetPage;
  at: PointPage;
  keptAt: number | null;
  carried: CarriedOver;
  draft: { texts: Record<string, string>; active: string | null } | null;
  waiting: readonly Kept[];
  walk: Walk | null;
}) {
  const { page, at, keptAt, carried, draft, waiting, walk } = props;
  const { outbox, may, membership } = useSession();
  const { search } = useWhere();
  const corrects = at.readings.find((row) => row.id === search.get('corrects')) ?? null;
  const point = asPoint(at);
  const zone = page.place.zone;
  const [state, dispatch] = useReducer(press, null, () => {
    const opened = openStop(point, carried, corrects);
    return draft === null ? opened : press(opened, { is: 'resume', ...draft });
  });
  const [words, setWords] = useState('');
  /** A form that stands over the stop for a moment. */
  const [aside, setAside] = useState<'put-right' | 'saw' | null>(null);
  // Both forms come when they are asked for: most stops never need them.
  const [forms, setForms] = useState<typeof import('./asides.tsx') | null>(null);
  useEffect(() => {
    if (aside === null || forms !== null) return;
    import('./asides.tsx').then(
      (loaded) => setForms(loaded),
      () => {
        setAside(null);
        setTold('This form is not on the phone yet. Find signal and open the page again; the value is kept.');
      },
    );
  }, [aside, forms]);
  const [told, setTold] = useState<string | null>(null);
  const walkStop = walk?.stops.find((stop) => stop.pointId === point.id) ?? null;
  /** A note beside the answer, for handing in. */
  const noted = (kind: 'put-right' | 'reported', grade: LimitGrade | null, said: string): Omit<Step, 'id' | 'at'> | undefined =>
    walk === null ? undefined : { walkId: walk.id, kind, pointId: point.id, answer: null, grade, isJudged: true, said };
  const inRound = walk?.roundId == null ? {} : { roundId: walk.roundId };
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
      ...(corrects === null ? inRound : {}),
      inputs: entriesOf(from, 'input'),
      conditions: entriesOf(from, 'condition'),
      ...(from.isConfirmedUnlikely ? { confirmedUnlikely: true } : {}),
      ...(words.trim() === '' ? {} : { words: words.trim() }),
    };
  };
  const judge = (from: StopState): { reading: Reading; verdict: Verdict } | null => {
    const parsed = parseReading(factOf(from), point);
    if ('errors' in parsed) return null;
    const facts = waiting.map(({ fact }) => fact);
    const context = contextAt(point, parsed.reading, aroundOf(page, at, facts, corrects?.id ?? null));
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
  const nextOfWalk = walk === null ? null : nextStop(walk, point.id);

  const onward = (answeredIds: readonly string[] = []): void => {
    if (walk !== null && corrects === null) {
      const after = nextStop(
        {
          ...walk,
          stops: walk.stops.map((stop) => (answeredIds.includes(stop.pointId) ? { ...stop, state: 'left-out' } : stop)),
        },
        point.id,
      );
      go(after === null ? `/hand-in/${walk.id}` : addressOf(walk, after), 'replace');
    } else if (corrects === null && next !== null) go(`/stop/${page.id}/${next.point.id}`, 'replace');
    else go(`/assets/${page.id}`, 'replace');
  };
  // A glove that taps twice, or a key held down, must not keep what nobody has seen.
  const shownAt = useRef(0);
  useLayoutEffect(() => {
    shownAt.current = performance.now();
  }, [state.stage]);
  const isKept = useRef(false);
  /** Keeps the reading on this device and says its id; null when it was kept before or nobody could have seen it. */
  const store = async (): Promise<string | null> => {
    if (judged === null || isKept.current || performance.now() - shownAt.current < SEEN_MS) return null;
    isKept.current = true;
    if (walk !== null) await takeWalk(outbox, walk);
    const fact: ReadingTaken = { ...factOf(state), phoneVerdict: { domainVersion: DOMAIN_VERSION, verdict: judged.verdict } };
    const figure = measure(point, judged.reading);
    const said = figure.value === null ? 'reading' : `${sayValue(figure.value, point.decimals)}${sayUnit(figure.unit)}`;
    await outbox.record(
      fact,
      `${page.tag} ${point.letter}, ${said}`,
      page.id,
      walk === null
        ? undefined
        : {
            walkId: walk.id,
            kind: 'answer',
            pointId: point.id,
            answer: 'read',
            grade: judged.verdict.grade,
            isJudged: judged.verdict.comparability !== 'not-judged',
            said,
          },
    );
    for (const field of state.fields) {
      if (field.text === '' || field.carriedAt !== null || corrects !== null) continue;
      const shared = sharedAs(field.name);
      if (shared !== null) await outbox.carry(carriedKey(shared, page), field.text, field.unit);
    }
    await outbox.dropDraft(point.id);
    navigator.vibrate?.(judged.verdict.grade === 'now' ? [180, 120, 180] : 30);
    return fact.id;
  };
  const keep = async (): Promise<void> => {
    if ((await store()) !== null) onward([point.id]);
  };
  const couldNot = async (answer: CouldNotRead, scope: CouldNotScope): Promise<void> => {
    if (isKept.current) return;
    isKept.current = true;
    if (walk !== null) await takeWalk(outbox, walk);
    const said = words.trim();
    const here = { pointId: point.id, assetId: page.id, tag: page.tag, letter: point.letter };
    const also = scope === 'one' ? [] : coveredBy(scope);
    for (const one of [here, ...also]) {
      const fact: Fact = {
        kind: 'stop-answered',
        ...outbox.stamp(),
        pointId: one.pointId,
        ...inRound,
        answer,
        ...(said === '' ? {} : { words: said }),
      };
      await outbox.record(
        fact,
        `${one.tag} ${one.letter}, ${COULD_NOT_WORDS[answer].word.toLowerCase()}`,
        one.assetId,
        walk === null
          ? undefined
          : { walkId: walk.id, kind: 'answer', pointId: one.pointId, answer, grade: null, isJudged: false, said },
      );
      await outbox.dropDraft(one.pointId);
    }
    navigator.vibrate?.(30);
    if (walk === null && scope !== 'one') go(`/assets/${page.id}`, 'replace');
    else onward([point.id, ...also.map((one) => one.pointId)]);
  };
  /** The other stops that one answer may cover: of this machine, or of this room, as far as they wait for an answer. */
  const coveredBy = (scope: CouldNotScope): { pointId: string; assetId: string; tag: string; letter: string }[] => {
    if (walk !== null) {
      const same = (stop: WalkStop): boolean =>
        scope === 'room' ? stop.place.roomId === page.place.roomId : stop.assetId === page.id;
      return walk.stops.filter((stop) => stop.pointId !== point.id && !isAnswered(stop) && same(stop));
    }
    if (scope === 'room') return [];
    return others
      .filter((other) => !doneIds.has(other.point.id))
      .map((other) => ({ pointId: other.point.id, assetId: page.id, tag: page.tag, letter: other.point.letter }));
  };
  const putRight = async (given: { work: KindOfWork; found: string; did: string }): Promise<void> => {
    const beforeId = await store();
    if (beforeId === null) return;
    await outbox.record(
      { kind: 'put-right', ...outbox.stamp(), pointId: point.id, ...inRound, ...given, beforeId },
      `${page.tag} ${point.letter}, ${given.work}`,
      page.id,
      noted('put-right', null, `${given.work}: ${given.found}`),
    );
    stamped.current = null;
    isKept.current = false;
    setWords('');
    setAside(null);
    setTold(`${sentenceCase(given.work)}, kept. Read it again now: that is the reading after.`);
    dispatch({ is: 'read-again' });
  };
  const report = async (grade: LimitGrade, said: string): Promise<void> => {
    await outbox.record(
      { kind: 'finding-reported', ...outbox.stamp(), pointId: point.id, ...inRound, grade, words: said },
      `${page.tag} ${point.letter}, reported: ${said.slice(0, 40)}`,
      page.id,
      noted('reported', grade, said),
    );
    navigator.vibrate?.(30);
    setWords('');
    setAside(null);
    setTold('Reported. It goes to the planner.');
    if (state.stage === 'could-not') dispatch({ is: 'back' });
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
    if (mustSee || aside !== null || event.repeat) return;
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
  useLayoutEffect(() => {
    const hear = (event: KeyboardEvent): void => listen.current(event);
    document.addEventListener('keydown', hear);
    return () => document.removeEventListener('keydown', hear);
  }, []);

  const common = { page, at, state, corrects, zone };
  const out = walk === null ? { back: `/assets/${page.id}`, word: page.tag } : { back: '/walk', word: 'My walk' };
  const fault = useFault(point.id, walk);
  const awaited = useAwaited(point.id, walk, walkStop);
  const faultWords = fault === null || fault === 'unknown' ? null : sayFault(fault, membership.name, zone, outbox.now());
  if (mustSee && may('submit-facts')) {
    return (
      <StopShell {...out}>
        <Cautions page={page} letter={point.letter} onSeen={() => setMustSee(false)} />
      </StopShell>
    );
  }
  return (
    <StopShell {...out}>
      {walk === null ? (
        <Way page={page} pointId={point.id} doneIds={doneIds} />
      ) : (
        <a class="pad way" href={`/walk/${walk.id}#${page.place.roomId}`}>
          <WalkLine
            stops={walk.stops}
            here={walk.stops.findIndex((stop) => stop.pointId === point.id)}
            label={`Stop ${walk.stops.findIndex((stop) => stop.pointId === point.id) + 1} of ${walk.stops.length}; all stops`}
          />
        </a>
      )}
      {!may('submit-facts') && (
        <p class="pad told">Your role here may look, not read. A technician, a contractor or a planner can take the reading.</p>
      )}
      {forms !== null && aside === 'saw' ? (
        <forms.SawForm
          page={page}
          letter={point.letter}
          faultWords={faultWords}
          said={words}
          onReport={report}
          onBack={() => setAside(null)}
        />
      ) : forms !== null && aside === 'put-right' && judged !== null ? (
        <forms.PutRightForm page={page} letter={point.letter} onDone={putRight} onBack={() => setAside(null)} />
      ) : state.stage === 'could-not' ? (
        <CouldNot
          {...common}
          machine={coveredBy('machine').length}
          room={walk === null ? 0 : coveredBy('room').length}
          onSaw={() => setAside('saw')}
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
          onPutRight={
            corrects === null && may('submit-facts') && (judged.verdict.grade ?? 'fine') !== 'fine'
              ? () => setAside('put-right')
              : null
          }
          onSaw={() => setAside('saw')}
          proofWords={
            corrects !== null
              ? null
              : awaited === null
                ? walkStop?.extra?.kind === 'proof'
                  ? sayProofUnknown(walkStop.extra.orderNumber)
                  : null
                : judged.reading.takenAt > awaited.since
                  ? sayProof(awaited, point, at.limits, judged)
                  : null
          }
          faultWords={faultWords}
          isFaultKnown={fault !== 'unknown'}
          keepWord={
            corrects !== null
              ? 'Keep the correction'
              : walk !== null
                ? nextOfWalk === null
                  ? 'Keep it, then hand in'
                  : 'Keep it, next stop'
                : next === null
                  ? 'Keep it'
                  : `Keep it, next: ${next.point.letter}`
          }
        />
      ) : (
        <Entry
          {...common}
          keptAt={walk === null ? keptAt : null}
          act={act}
          confirm={confirm}
          isAllowed={may('submit-facts')}
          walkStop={walkStop}
          awaited={awaited}
          told={told}
        />
      )}
    </StopShell>
  );
}

/** The line of the walk through the points of this asset: solid as far as read, dotted ahead, a ring where you are. */
function Way({ page, pointId, doneIds }: { page: AssetPage; pointId: string; doneIds: ReadonlySet<string | undefined> }) {
  const { points } = page;
  const here = points.findIndex((one) => one.point.id === pointId);
  if (points.length < 2) return null;
  const stops = points.map(
    ({ point }): LineStop => ({ state: doneIds.has(point.id) ? 'read' : 'to-read', grade: null, isJudged: true, extra: null }),
  );
  return (
    <div class="pad way">
      <WalkLine stops={stops} here={here} label={`Point ${here + 1} of ${points.length}`} />
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
  props: Common & {
    keptAt: number | null;
    act: (action: StopAction) => void;
    confirm: () => void;
    isAllowed: boolean;
    walkStop: WalkStop | null;
    awaited: AwaitedProof | null;
    told: string | null;
  },
) {
  const { page, at, state, corrects, zone, act, confirm } = props;
  const { outbox } = useSession();
  const now = outbox.now();
  const point = asPoint(at);
  const heading = useOpening(`${page.tag} ${point.letter}`, `${point.id} enter`);
  const last = lastCounting(at);
  const field = activeField(state);
  const next = nextField(state);
  const fields = shownFields(state);
  const inputs = fields.filter((one) => one.part === 'input');
  const needed = fields.filter((one) => one.required || one.text !== '' || one.name === state.active);
  const more = fields.filter((one) => !needed.includes(one));
  const shown = fields.length > 1 ? needed : [];
  const rest = restOfComponents(state);
  // Many components stand as a grid of small keys that scrolls by itself, so that the digits stay in reach.
  const isMany = shown.filter((one) => one.way === 'each').length > MOST_AS_CARDS;
  const single = inputs.filter((one) => one.required).length === 1 ? inputs[0] : undefined;
  const hasInput = inputs.some((one) => one.text.trim() !== '');
  // Confirming this field leads to another one, not yet to the verdict.
  const ahead = fields.find(
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
  const [isUnfolded, setUnfolded] = useState(false);
  const without = next !== null && hasInput && (next.part === 'condition' || single === undefined) ? next : null;
  // What is asked for stays in sight above the digits; what may be added besides folds into one key.
  const isFolded = !isUnfolded && more.length > 1 && more.length + (without === null ? 0 : 1) > 2;
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
  const asked = props.walkStop?.extra != null || props.awaited !== null;
  return (
    <>
      {props.told !== null ? (
        <p class="told top" role="status" id={FIRST}>
          {props.told}
        </p>
      ) : (
        asked && <Asked extra={props.walkStop?.extra ?? null} awaited={props.awaited} at={at} page={page} now={now} />
      )}
      <Heading page={page} point={point} spot={at.point.spot} heading={heading} isShort={asked || props.told !== null} />
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
      <div class="grow" />
      <div class={`foot entryfoot${shown.length > 0 ? ' several' : ''}`}>
        {state.way !== null && (
          <fieldset class="pad ways" aria-label="How it is read">
            {(['each', 'picture'] as const).map((way) => (
              <button
                key={way}
                type="button"
                class="key round"
                aria-pressed={state.way === way}
                onClick={() => act({ is: 'way', way })}
              >
                {way === 'each' ? 'Each by itself' : 'From one picture'}
              </button>
            ))}
          </fieldset>
        )}
        {shown.length > 0 && (
          <fieldset class={`pad parts${isMany ? ' many' : ''}`} aria-label="What is read here">
            {shown.map((one) => (
              <button
                key={one.name}
                type="button"
                class={`part ${one.part}`}
                aria-pressed={one.name === state.active}
                ref={isMany && one.name === state.active ? keepInSight : null}
                onClick={() => act({ is: 'choose', name: one.name })}
              >
                <span class="partname">{one.label}</span>
                <b>
                  {one.text === '' ? (state.without.includes(one.name) ? 'not read' : '–') : one.text}
                  <span class="u">{one.text === '' ? '' : sayUnit(one.unit)}</span>
                </b>
                <span class="partlast">
                  {one.carriedAt !== null
                    ? `carried over, ${clockTime(one.carriedAt, zone)}`
                    : lastOf(one.name) === null
                      ? ' '
                      : `last ${lastOf(one.name)}`}
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
            {rest.length > 1 && (
              <button type="button" class="link" onClick={() => act({ is: 'go-on-without-rest' })}>
                The other {rest.length} were not read
              </button>
            )}
            {isFolded && (
              <button type="button" class="link" aria-expanded={false} onClick={() => setUnfolded(true)}>
                +{' '}
                {[...new Set(more.map(({ label }, index) => (index === 0 ? label : lowerFirst(label)).split(' ')[0]))]
                  .filter((word, index, all) => all.findIndex((one) => one?.toLowerCase() === word?.toLowerCase()) === index)
                  .join(', ')}
              </button>
            )}
            {!isFolded &&
              more.map((one) => (
                <button
                  key={one.name}
                  type="button"
                  class="link"
                  onClick={() => {
                    setUnfolded(false);
                    act({ is: 'choose', name: one.name });
                  }}
                >
                  + {one.label}
                </button>
              ))}
          </div>
        )}
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

/** More components than this do not fit as cards above the digits. */
const MOST_AS_CARDS = 6;
const keepInSight = (part: HTMLElement | null): void => part?.scrollIntoView({ block: 'nearest' });

function Heading({
  page,
  point,
  spot,
  heading,
  isShort = false,
}: {
  page: AssetPage;
  point: Point;
  spot: string;
  heading: { current: HTMLHeadingElement | null };
  /** Something stands above that matters more than a picture. */
  isShort?: boolean;
}) {
  return (
    <div class="pad idb">
      <div>
        <Tag tag={page.tag} letter={point.letter} />
        <h1 tabIndex={-1} ref={heading} aria-describedby={isShort ? FIRST : undefined}>
          {page.name}, {lowerFirst(point.name)}
        </h1>
      </div>
      {!isShort && <p class="picture">no picture yet</p>}
      {spot !== '' && <Lines of="aim" text={spot} />}
    </div>
  );
}

/** Words that may be long: on a low screen two whole lines of them, the rest when they are touched. */
function Lines({ of, id, text, children }: { of: string; id?: string; text: string; children?: ComponentChildren }) {
  if (text.length <= TWO_LINES) {
    return (
      <p class={of} id={id}>
        {children ?? text}
      </p>
    );
  }
  return (
    <details class={`${of} lines`} id={id}>
      <summary>{children ?? text}</summary>
    </details>
  );
}
/** What is said above the name of the stop belongs to it for whoever hears the page. */
const FIRST = 'said-first';
/** Characters that surely stand on two lines of a narrow phone. */
const TWO_LINES = 72;

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
    /** Further stops that one answer may cover. */
    machine: number;
    room: number;
    words: string;
    setWords: (words: string) => void;
    onAnswer: (answer: CouldNotRead, scope: CouldNotScope) => Promise<void>;
    onSaw: () => void;
    onBack: () => void;
  },
) {
  const { page, at } = props;
  const heading = useOpening(`${page.tag} ${at.point.letter}, could not read it`, `${at.point.id} could not`);
  const [scope, setScope] = useState<CouldNotScope>('one');
  const [needsWords, setNeedsWords] = useState(false);
  const field = useRef<HTMLTextAreaElement>(null);
  const answer = (one: CouldNotRead): void => {
    if (one === 'left-out' && props.words.trim() === '') {
      setNeedsWords(true);
      field.current?.focus();
      return;
    }
    void props.onAnswer(one, scope);
  };
  return (
    <>
      <div class="pad idb plain">
        <Tag tag={page.tag} letter={at.point.letter} />
        <h1 tabIndex={-1} ref={heading}>
          Why could it not be read?
        </h1>
      </div>
      {props.machine > 0 && (
        <Scope isOn={scope === 'machine'} set={(isOn) => setScope(isOn ? 'machine' : 'one')}>
          For all stops of this machine, {props.machine} more
        </Scope>
      )}
      {props.room > props.machine && (
        <Scope isOn={scope === 'room'} set={(isOn) => setScope(isOn ? 'room' : 'one')}>
          For all stops of this room, {props.room} more
        </Scope>
      )}
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
      <div class="grow" />
      <div class="foot">
        <div class="pad keys two">
          <button type="button" class="key round" onClick={props.onSaw}>
            Saw something else
          </button>
          <button type="button" class="key round" onClick={props.onBack}>
            Back to the value
          </button>
        </div>
      </div>
    </>
  );
}

function Scope({ isOn, set, children }: { isOn: boolean; set: (isOn: boolean) => void; children: ComponentChildren }) {
  return (
    <label class="pad choice">
      <input type="checkbox" checked={isOn} onChange={(event) => set(event.currentTarget.checked)} />
      <span>{children}</span>
    </label>
  );
}

/** Why a stop is asked for; where a repair waits, what must be met and the reading before it. */
function Asked({
  extra,
  awaited,
  at,
  page,
  now,
}: {
  extra: ExtraStopLine | null;
  awaited: AwaitedProof | null;
  at: PointPage;
  page: AssetPage;
  now: number;
}) {
  const zone = page.place.zone;
  if (extra !== null && extra.kind !== 'proof') {
    const asker = extra.askedBy?.split(' ')[0] ?? null;
    const [who, note] = [asker === null ? 'Asked for:' : `${asker} asks:`, extra.note === '' ? 'read it again' : extra.note];
    return (
      <Lines of="told top asked1" id={FIRST} text={`${who} ${note}`}>
        <b>{who}</b> {note}
      </Lines>
    );
  }
  const number = awaited?.orderNumber ?? extra?.orderNumber ?? null;
  const target = awaited?.inWords ?? extra?.target ?? null;
  const repaired = page.work.find((one) => one.pointId === null || one.pointId === at.point.id);
  const before = at.readings.find(
    (row) =>
      row.counts && row.value !== null && (repaired === undefined || Date.parse(row.takenAt) < Date.parse(repaired.takenAt)),
  );
  const what = `${extra === null ? 'Waits for its proof' : 'Proof stop'}${number === null ? '' : `, order ${number}`}`;
  return (
    <p class="told top asked1" id={FIRST}>
      <b>
        {what}
        {target === null ? '.' : ':'}
      </b>{' '}
      {target !== null && `${target.replace(/\.$/, '')}. `}
      {before !== undefined &&
        `Before: ${sayValue(before.value as number, at.point.decimals)}${sayUnit(at.point.unit)} on ${plainDate(before.takenAt, zone, now)}.`}
    </p>
  );
}

/** The repair that waits for a reading here: as the service says it now, without signal as the walk knew it. */
function useAwaited(pointId: string, walk: Walk | null, stop: WalkStop | null): AwaitedProof | null {
  const [asked, setAsked] = useState<AwaitedProof | null>();
  const ofStop = stop?.extra?.kind === 'proof' ? stop.extra.orderId : null;
  useEffect(() => {
    let isHere = true;
    awaitedProofs([pointId], [ofStop]).then(
      ([first]) => isHere && setAsked(first ?? null),
      () => undefined,
    );
    return () => {
      isHere = false;
    };
  }, [pointId, ofStop]);
  return asked !== undefined ? asked : (walk?.proofs.find((one) => one.pointId === pointId) ?? null);
}

/** What is open here, as the service says it now; without signal as the walk knew it, and outside a walk nobody knows. */
function useFault(pointId: string, walk: Walk | null): OpenFault | null | 'unknown' {
  const [asked, setAsked] = useState<OpenFault | null>();
  useEffect(() => {
    let isHere = true;
    openFaultsAt(pointId).then(
      ([newest]) => isHere && setAsked(newest ?? null),
      () => undefined,
    );
    return () => {
      isHere = false;
    };
  }, [pointId]);
  if (asked !== undefined) return asked;
  return walk === null ? 'unknown' : (walk.faults.find((one) => one.pointId === pointId) ?? null);
}

const FAULT_STATES: Readonly<Record<string, string>> = {
  reported: 'wants its answer',
  agreed: 'is agreed',
  'read-again': 'asks for another reading',
  'living-with': 'is lived with',
};
/** "Nothing to report twice. You reported this on 16 April; the reading joins that report, finding 12." */
function sayFault(fault: OpenFault, me: string, zone: string, now: number): string {
  const by = fault.reportedBy === me ? 'You' : fault.reportedBy;
  const state =
    fault.orderNumber === null
      ? `Finding ${fault.number} ${FAULT_STATES[fault.state] ?? 'is open'}.`
      : `Order ${fault.orderNumber} is open.`;
  return `${by} reported this on ${plainDate(fault.reportedAt, zone, now)}; the reading joins that report. ${state}`;
}

function VerdictView(
  props: Common & {
    reading: Reading;
    verdict: Verdict;
    words: string;
    setWords: (words: string) => void;
    onKeep: () => void;
    onAgain: () => void;
    /** Null: nothing here to be put right. */
    onPutRight: (() => void) | null;
    onSaw: () => void;
    /** What the reading does to a repair that waits for it; null: none does. */
    proofWords: string | null;
    faultWords: string | null;
    /** null as fault words means that nothing is open. */
    isFaultKnown: boolean;
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
      {props.proofWords !== null && <p class="told proofline">{props.proofWords}</p>}
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
      {props.proofWords !== null ? null : props.faultWords !== null ? (
        <p class="told">
          <b>Nothing to report twice.</b> {props.faultWords}
        </p>
      ) : (
        ['plan', 'soon', 'now'].includes(verdict.grade ?? '') &&
        props.corrects === null && (
          <p class="told">
            {props.isFaultKnown ? (
              <>
                <b>Not reported yet.</b> Keeping it reports it: the planner owes you an answer.
              </>
            ) : (
              <>
                <b>Keeping it reports it.</b> If it is reported already, the reading joins that report.
              </>
            )}
          </p>
        )
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
      <p class="pad sawline">
        <button type="button" class="link" onClick={props.onSaw}>
          Saw something else
        </button>
      </p>
      <div class="grow" />
      <div class="foot">
        <div class={`pad keys verdictkeys${props.onPutRight === null ? '' : ' three'}`}>
          <button type="button" class="key round" onClick={props.onAgain}>
            Read again
          </button>
          {props.onPutRight !== null && (
            <button type="button" class="key round" onClick={props.onPutRight}>
              Put right on the spot
            </button>
          )}
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
