import type { ImportMapping, ImportUndo, ImportView } from '@heatround/contract';
import { QUANTITIES } from '@heatround/domain';
import { useCallback, useEffect, useRef, useState } from 'preact/hooks';
import { call, NoSignal, Refusal, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useSiteZone } from '../../shell/site-clock.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { clockTime, plainDate, sayCount, sentenceCase } from '../../ui/format.ts';
import { PlaceFields, usePlace } from '../register/place.tsx';
import { agree } from './agree.ts';
import { KIND_NAMES, sayQuantity, saySummary, sayUndo, TARGETS, type Target } from './words.ts';
import './bring-in.css';

const AGAIN_MS = 700;
/** Changes what is chosen by what is chosen at that moment. */
type ChangeMapping = (of: (mapping: ImportMapping) => ImportMapping) => void;
type MakeMissing = NonNullable<ImportMapping['makeMissing']>;

/** One import: columns are named, everything is tried, then it is brought in. Everything stands on the server, so a reload resumes. */
export function ImportScreen({ parameters }: { parameters: Record<string, string> }) {
  const importId = parameters.importId ?? '';
  const [view, setView] = useState<ImportView | null>(null);
  const [mapping, setMapping] = useState<ImportMapping | null>(null);
  // What was chosen counts from its press on, before the screen shows it: the next press may come sooner.
  const chosen = useRef<ImportMapping | null>(null);
  const choose = useCallback((fresh: ImportMapping): void => {
    chosen.current = agree(fresh);
    setMapping(chosen.current);
  }, []);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isNaming, setNaming] = useState(false);
  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined);

  const take = useCallback(
    (fresh: ImportView) => {
      setView(fresh);
      if (chosen.current === null) choose(fresh.mapping ?? fresh.proposal);
    },
    [choose],
  );
  const fetchView = useCallback(async (): Promise<void> => {
    clearTimeout(timer.current);
    try {
      const fresh = await call('getImport', { params: { importId } });
      take(fresh);
      setTrouble(null);
      if (isUnderWay(fresh)) timer.current = setTimeout(() => void fetchView(), AGAIN_MS);
    } catch (failed) {
      setTrouble(failed);
      if (failed instanceof NoSignal) timer.current = setTimeout(() => void fetchView(), AGAIN_MS * 5);
    }
  }, [importId, take]);
  useEffect(() => {
    void fetchView();
    return () => clearTimeout(timer.current);
  }, [fetchView]);

  const check = async (): Promise<void> => {
    if (chosen.current === null) return;
    setTrouble(null);
    try {
      take(await call('checkImport', { params: { importId }, body: { mapping: chosen.current } }));
      setNaming(false);
      await fetchView();
    } catch (failed) {
      setTrouble(failed);
    }
  };
  const run = async (skipBadRows: boolean): Promise<void> => {
    setTrouble(null);
    try {
      take(await call('runImport', { params: { importId }, body: { skipBadRows } }));
      await fetchView();
    } catch (failed) {
      setTrouble(failed);
    }
  };

  const undo = async (): Promise<void> => {
    setTrouble(null);
    try {
      take(await call('undoImport', { params: { importId } }));
      await fetchView();
    } catch (failed) {
      setTrouble(failed);
    }
  };

  const refusal = trouble instanceof Refusal ? trouble : null;
  const heading = useOpening(view === null ? 'Bring in' : `${view.fileName}, bring in`, `${view?.state}${isNaming}`);
  const names = view !== null && mapping !== null && (view.state === 'uploaded' || isNaming);
  return (
    <div class="bringin">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {view === null ? 'The file' : isNaming ? 'Say what each column means.' : opening(view)}
      </h1>
      {view !== null && (
        <p class="note">
          {KIND_NAMES[view.kind].name} from {view.fileName}, {sayCount(view.rowCount, 'row')},{' '}
          {sayCount(view.columns.length, 'column')}.
        </p>
      )}
      {trouble !== null && (
        <Told>
          {sayTrouble(trouble)}
          {refusal?.errors.filter((one) => !names || pointed(one.pointer) === null).map((one) => ` ${sentenceCase(one.detail)}.`)}
        </Told>
      )}
      {names && mapping !== null && view !== null && (
        <Naming
          view={view}
          mapping={mapping}
          change={(of) => chosen.current !== null && choose(of(chosen.current))}
          refusal={refusal}
          onCheck={() => void check()}
        />
      )}
      {view !== null && isUnderWay(view) && <Progress view={view} />}
      {view !== null && !isNaming && ['checked', 'brought-in', 'refused'].includes(view.state) && (
        <Result view={view} onRun={(skip) => void run(skip)} onNaming={() => setNaming(true)} />
      )}
      {view?.state === 'brought-in' && view.undoUntil !== null && (
        <TakeBack importId={view.id} until={view.undoUntil} onTakeBack={() => void undo()} />
      )}
      {view?.state === 'taken-back' && view.undo !== null && (
        <>
          <WhatGoes undo={view.undo} isDone />
          <div class="keyrow">
            <a class="key main" href={`/bring-in?kind=${view.kind}`}>
              Another file
            </a>
          </div>
        </>
      )}
    </div>
  );
}

const isUnderWay = (view: ImportView): boolean => ['checking', 'bringing-in', 'taking-back'].includes(view.state);

/** Rows that come in: a good row stays out with a bad one of its asset. */
const goodOf = (view: ImportView): number => view.rowCount - Math.max(view.badCount, view.summary?.skipped ?? 0);

function opening(view: ImportView): string {
  const rows = (count: number): string => sayCount(count, 'row');
  switch (view.state) {
    case 'uploaded':
      return `${rows(view.rowCount)} are here. Say what each column means.`;
    case 'checking':
      return `Trying ${rows(view.rowCount)}. Nothing is brought in yet.`;
    case 'checked':
      if (view.badCount === 0) return `All ${rows(view.rowCount)} can be brought in.`;
      return goodOf(view) === 0
        ? 'No row can be brought in as it is.'
        : `${rows(goodOf(view))} can be brought in, ${rows(view.rowCount - goodOf(view))} cannot.`;
    case 'bringing-in':
      return `Bringing in ${rows(view.rowCount)}.`;
    case 'brought-in':
      return `Brought in: ${rows(view.summary?.created ?? view.doneCount)} ${(view.summary?.created ?? view.doneCount) === 1 ? 'is' : 'are'} in Heatround now.`;
    case 'refused':
      return 'Nothing was brought in.';
    case 'taking-back':
      return `Taking back ${rows(view.rowCount)}.`;
    case 'taken-back':
      return Object.keys(view.undo?.stays ?? {}).length === 0
        ? 'Taken back: nothing of this file counts any longer.'
        : 'Taken back, except for what was built on since.';
  }
}

function Progress({ view }: { view: ImportView }) {
  const done = view.rowCount === 0 ? 0 : Math.round((view.doneCount / view.rowCount) * 100);
  return (
    <>
      <div class="progress" role="progressbar" aria-valuenow={done} aria-valuemin={0} aria-valuemax={100} aria-label="Rows done">
        <i style={{ width: `${done}%` }} />
      </div>
      <p role="status">
        {view.doneCount.toLocaleString('en-GB')} of {sayCount(view.rowCount, 'row')}. You may leave this page; it goes on.
      </p>
    </>
  );
}

/** Which part of the form a refused pointer belongs to, such as columns/takenAt or makeMissing/limit; null for none. */
const pointed = (pointer: string): string | null =>
  /^#?\/mapping\/((?:columns|defaults|makeMissing)\/.+)$/.exec(pointer)?.[1]?.replaceAll('~1', '/').replaceAll('~0', '~') ?? null;

function Naming({
  view,
  mapping,
  change,
  refusal,
  onCheck,
}: {
  view: ImportView;
  mapping: ImportMapping;
  change: ChangeMapping;
  refusal: Refusal | null;
  onCheck: () => void;
}) {
  const refused = (part: string): string | null => {
    const detail = refusal?.errors.find((one) => pointed(one.pointer) === part)?.detail;
    return detail === undefined ? null : `${sentenceCase(detail)}.`;
  };
  /** What the form or the trial found wrong with a meaning. */
  const wrongWith = (word: string): string | null => {
    const said = refused(`columns/${word}`) ?? refused(`defaults/${word}`);
    const column = mapping.columns[word];
    if (said !== null || column === undefined || view.mapping?.columns[word] !== column) return said;
    const bad = view.errors.filter((one) => one.column === column);
    const first = bad[0];
    return first === undefined
      ? null
      : `${sayCount(bad.length, 'row')} cannot be read; row ${first.row}: expected ${first.expected}, found ${first.found || 'nothing'}.`;
  };
  const known = TARGETS[view.kind];
  const others = [
    ...new Set([...Object.keys(mapping.columns), ...Object.keys(mapping.defaults), ...Object.keys(view.proposal.columns)]),
  ]
    .filter((word) => !known.some((target) => target.word === word))
    .map((word): Target => ({ word, label: word, hint: '' }));
  const isUsed = (word: string): boolean =>
    word in mapping.columns ||
    word in mapping.defaults ||
    refused(`columns/${word}`) !== null ||
    refused(`defaults/${word}`) !== null;
  const usual = [...known.filter((target) => !target.isUnusual || isUsed(target.word)), ...others];
  const more = known.filter((target) => !usual.includes(target));
  const sampleOf = (column: string | undefined): string => {
    if (column === undefined) return '';
    const index = view.columns.indexOf(column);
    return view.sample
      .slice(0, 3)
      .map((row) => row[index] ?? '')
      .filter((text) => text !== '')
      .join(' · ');
  };
  const choose = (word: string, column: string): void =>
    change(({ columns: before, makeMissing: made, ...rest }) => {
      const { [word]: _, ...others } = before;
      const columns = column === '' ? others : { ...others, [word]: column };
      // The column of the limit and the one for points that are made are the same thing.
      const isOfLimit = word === 'limit' && made !== null && made.limitColumn === (before.limit ?? null);
      return { ...rest, columns, makeMissing: isOfLimit ? { ...made, limitColumn: column === '' ? null : column } : made };
    });
  const preset = (word: string, text: string): void =>
    change(({ defaults: { [word]: _, ...others }, ...rest }) => ({
      ...rest,
      defaults: text.trim() === '' ? others : { ...others, [word]: text.trim() },
    }));
  const used = new Set([...Object.values(mapping.columns), mapping.makeMissing?.limitColumn]);
  const unused = view.columns.filter((column) => !used.has(column));
  const row = (target: Target) => {
    const column = mapping.columns[target.word];
    const id = `map-${target.word}`;
    const wrong = wrongWith(target.word);
    const marked = wrong === null ? {} : { 'aria-invalid': 'true' as const, 'aria-describedby': `${id}-wrong` };
    return (
      <div class="maprow" key={target.word}>
        <label for={id}>
          <b>{target.label}</b>
          {target.hint !== '' && <span class="note"> {target.hint}</span>}
        </label>
        <select
          id={id}
          {...marked}
          class="entry"
          value={column ?? ''}
          onChange={(event) => choose(target.word, event.currentTarget.value)}
        >
          <option value="">no column</option>
          {view.columns.map((one) => (
            <option key={one} value={one}>
              {one}
            </option>
          ))}
        </select>
        {column === undefined ? (
          <input
            class="entry"
            type="text"
            aria-label={`${target.label}, for every row`}
            placeholder={target.example === undefined ? 'for every row' : `for every row, such as ${target.example}`}
            value={mapping.defaults[target.word] ?? ''}
            onInput={(event) => preset(target.word, event.currentTarget.value)}
          />
        ) : (
          <span class="sample">{sampleOf(column) || 'empty in the first rows'}</span>
        )}
        {wrong !== null && (
          <span class="wrong" id={`${id}-wrong`}>
            {wrong}
          </span>
        )}
      </div>
    );
  };
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        onCheck();
      }}
    >
      <section class="sec">
        <h2>What each meaning comes from</h2>
        <p class="note">A column, or one value for every row of the file.</p>
        {unused.length > 0 && (
          <p class="told">
            Not brought in, since nothing below takes {unused.length === 1 ? 'it' : 'them'} yet: {unused.join(', ')}.
          </p>
        )}
        <div>
          {usual.map(row)}
          {more.length > 0 && (
            <details class="more">
              <summary>More meanings</summary>
              {more.map(row)}
            </details>
          )}
        </div>
      </section>
      {view.kind === 'readings' && (
        <Missing mapping={mapping} change={change} columns={view.columns} wrong={(name) => refused(`makeMissing/${name}`)} />
      )}
      <div class="keyrow">
        <button class="key main" type="submit">
          Try all {sayCount(view.rowCount, 'row')}
        </button>
        <a class="key" href={`/bring-in?kind=${view.kind}`}>
          Another file
        </a>
      </div>
    </form>
  );
}

/** Points the file names and the register does not know can be made on the way, with one limit each. */
function Missing({
  mapping,
  change,
  columns,
  wrong,
}: {
  mapping: ImportMapping;
  change: ChangeMapping;
  columns: readonly string[];
  wrong: (name: string) => string | null;
}) {
  const made = mapping.makeMissing;
  const changeMade = (part: Partial<MakeMissing>): void =>
    change((now) => (now.makeMissing === null ? now : { ...now, makeMissing: { ...now.makeMissing, ...part } }));
  const chooseLimit = (column: string): void =>
    change((now) => {
      const { limit: _, ...others } = now.columns;
      if (now.makeMissing === null) return now;
      return {
        ...now,
        columns: column === '' ? others : { ...others, limit: column },
        makeMissing: { ...now.makeMissing, limitColumn: column === '' ? null : column },
      };
    });
  const start: MakeMissing = {
    roomId: '',
    quantity: 'temperature',
    criticality: 'C',
    criticalityReason: 'brought in from a file, to be looked at',
    limitColumn: mapping.columns.limit ?? null,
    limit: null,
    limitGrade: 'soon',
    direction: 'high',
    source: 'the file brought in',
    reason: 'limit of the file brought in, to be looked at',
  };
  return (
    <section class="sec">
      <label class="choice">
        <input
          type="checkbox"
          checked={made !== null}
          onChange={(event) => {
            const makeMissing = event.currentTarget.checked ? start : null;
            change((now) => ({ ...now, makeMissing }));
          }}
        />
        Make the assets and points that are missing, with one limit each
      </label>
      {made !== null && <IntoRoom roomId={made.roomId} setRoom={(roomId) => changeMade({ roomId })} wrong={wrong} />}
      {made !== null && (
        <div class="row2">
          <Field label="What they measure" wrong={wrong('quantity')}>
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={made.quantity}
                onChange={(event) => changeMade({ quantity: event.currentTarget.value })}
              >
                {QUANTITIES.map((quantity) => (
                  <option key={quantity} value={quantity}>
                    {sayQuantity(quantity)}
                  </option>
                ))}
              </select>
            )}
          </Field>
          <Field label="The limit comes from" wrong={wrong('limitColumn')}>
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={made.limitColumn ?? ''}
                onChange={(event) => chooseLimit(event.currentTarget.value)}
              >
                <option value="">one figure for all</option>
                {columns.map((column) => (
                  <option key={column} value={column}>
                    column {column}
                  </option>
                ))}
              </select>
            )}
          </Field>
          {made.limitColumn === null && (
            <Field label="Limit" hint="Such as 90 or 2.8." wrong={wrong('limit')}>
              {(aria) => (
                <input
                  {...aria}
                  class="entry"
                  type="text"
                  inputMode="decimal"
                  value={made.limit ?? ''}
                  onChange={(event) => {
                    const figure = Number(event.currentTarget.value.replace(',', '.'));
                    changeMade({ limit: event.currentTarget.value.trim() === '' || !Number.isFinite(figure) ? null : figure });
                  }}
                />
              )}
            </Field>
          )}
          <Field label="It is the limit of">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={made.limitGrade}
                onChange={(event) => changeMade({ limitGrade: event.currentTarget.value as MakeMissing['limitGrade'] })}
              >
                <option value="watch">Watch</option>
                <option value="plan">Plan</option>
                <option value="soon">Soon</option>
                <option value="now">Now</option>
              </select>
            )}
          </Field>
          <Field label="Reached">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={made.direction}
                onChange={(event) => changeMade({ direction: event.currentTarget.value as MakeMissing['direction'] })}
              >
                <option value="high">from below, too high is bad</option>
                <option value="low">from above, too low is bad</option>
              </select>
            )}
          </Field>
          <Field label="Source of the limit" wrong={wrong('source')}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                maxLength={300}
                value={made.source}
                onInput={(event) => changeMade({ source: event.currentTarget.value })}
              />
            )}
          </Field>
          <Field label="Why it is right" wrong={wrong('reason')}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                maxLength={1000}
                value={made.reason}
                onInput={(event) => changeMade({ reason: event.currentTarget.value })}
              />
            )}
          </Field>
        </div>
      )}
    </section>
  );
}

/** The room of what is made; a new one can be made right here. */
function IntoRoom({
  roomId,
  setRoom,
  wrong,
}: {
  roomId: string;
  setRoom: (roomId: string) => void;
  wrong: (name: string) => string | null;
}) {
  const place = usePlace(roomId);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isBusy, setBusy] = useState(false);
  const chosen = place.sites === null || place.isNew ? '' : place.roomId;
  useEffect(() => {
    if (place.sites !== null && chosen !== roomId) setRoom(chosen);
  }, [place.sites, chosen, roomId]);
  const make = async (): Promise<void> => {
    if (isBusy) return;
    setBusy(true);
    setTrouble(null);
    try {
      await place.make();
    } catch (failed) {
      setTrouble(failed);
    }
    await place.look().catch(() => undefined);
    setBusy(false);
  };
  return (
    <>
      <p class="small">They stand in:</p>
      <PlaceFields place={place} wrong={(name) => wrong(name) ?? (trouble instanceof Refusal ? trouble.at(name) : null)} />
      {(trouble ?? place.trouble) !== null && <Told>{sayTrouble(trouble ?? place.trouble)}</Told>}
      {place.isNew && place.sites !== null && (
        <div class="keyrow">
          <button type="button" class="key" disabled={isBusy} onClick={() => void make()}>
            {isBusy ? 'Making it' : 'Make this room now'}
          </button>
        </div>
      )}
    </>
  );
}

const MOST_LINKS = 20;
/** The points that the first rows of the file speak of, each a link to it. */
function Touched({ view }: { view: ImportView }) {
  const [links, setLinks] = useState<readonly { readonly href: string; readonly words: string }[]>([]);
  const { mapping } = view;
  useEffect(() => {
    if (mapping === null) return;
    const cell = (row: readonly string[], word: string): string => {
      const column = mapping.columns[word];
      return ((column === undefined ? mapping.defaults[word] : row[view.columns.indexOf(column)]) ?? '').trim();
    };
    const pairs = new Map(
      view.sample
        .map((row) => ({ tag: cell(row, 'tag'), letter: cell(row, 'letter') }))
        .filter(({ tag }) => tag !== '')
        .map((pair) => [`${pair.tag} ${pair.letter}`, pair] as const),
    );
    let isHere = true;
    const tags = [...new Set([...pairs.values()].map(({ tag }) => tag))].slice(0, MOST_LINKS);
    void Promise.all(
      tags.map(async (tag) => {
        const { assets } = await call('listAssets', { query: { search: tag, pageSize: 5 } });
        const same = assets.find((one) => one.tag.toLowerCase() === tag.toLowerCase() || one.foundByOldTag !== null) ?? assets[0];
        return same === undefined ? [] : [[tag, same] as const];
      }),
    ).then(
      (found) => {
        const assets = new Map(found.flat());
        if (!isHere) return;
        setLinks(
          [...pairs.values()].flatMap(({ tag, letter }) => {
            const asset = assets.get(tag);
            if (asset === undefined) return [];
            const point = letter === '' ? '' : `?point=${encodeURIComponent(letter)}`;
            return [
              { href: `/assets/${asset.id}${point}`, words: `${asset.tag}${letter === '' ? '' : ` ${letter}`}, ${asset.name}` },
            ];
          }),
        );
      },
      () => undefined,
    );
    return () => {
      isHere = false;
    };
  }, [view.id, view.state]);
  if (links.length === 0) return null;
  return (
    <section class="sec">
      <h2>{view.rowCount > view.sample.length ? 'Look at the first of them' : 'Look at them'}</h2>
      <ul>
        {links.map(({ href, words }) => (
          <li key={href} class="handrow">
            <a href={href}>{words}</a>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** The key that takes a file back. First it shows what would go and what stays; the second press does it. */
function TakeBack({ importId, until, onTakeBack }: { importId: string; until: string; onTakeBack: () => void }) {
  const { outbox } = useSession();
  const zone = useSiteZone();
  const [undo, setUndo] = useState<ImportUndo | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isBusy, setBusy] = useState(false);
  const title = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    if (undo !== null) title.current?.focus();
  }, [undo]);
  if (Date.parse(until) < outbox.now()) return null;
  const look = async (): Promise<void> => {
    if (isBusy) return;
    setBusy(true);
    setTrouble(null);
    try {
      setUndo(await call('previewUndo', { params: { importId } }));
    } catch (failed) {
      setTrouble(failed);
    }
    setBusy(false);
  };
  return (
    <section class="sec">
      <h2 tabIndex={-1} ref={title}>
        Was it the wrong file?
      </h2>
      <p>
        It can be taken back until {plainDate(until, zone, outbox.now())}, {clockTime(until, zone)}. What people entered since
        stays.
      </p>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {undo !== null && <WhatGoes undo={undo} />}
      <div class="keyrow">
        {undo === null ? (
          <button type="button" class="key" disabled={isBusy} onClick={() => void look()}>
            {isBusy ? 'Looking what goes' : 'Take it back'}
          </button>
        ) : (
          <>
            <button type="button" class="key" onClick={onTakeBack}>
              Take it back now
            </button>
            <button type="button" class="key" onClick={() => setUndo(null)}>
              Leave it as it is
            </button>
          </>
        )}
      </div>
    </section>
  );
}

function WhatGoes({ undo, isDone = false }: { undo: ImportUndo; isDone?: boolean }) {
  const goes = sayUndo(undo.goes);
  const stays = sayUndo(undo.stays);
  return (
    <>
      <p>
        {goes === '' ? `Nothing ${isDone ? 'went' : 'goes'}.` : `${isDone ? 'Went' : 'Goes'}: ${goes}.`}
        {stays !== '' && ` ${isDone ? 'Stayed' : 'Stays'}: ${stays}.`}
        {undo.goes.assets !== undefined && ' Rooms and buildings stay, empty or not, for the next file.'}
      </p>
      {undo.examples.length > 0 && (
        <ul>
          {undo.examples.map(({ name, why }) => (
            <li key={name}>
              <b>{name}</b> stays: {why}.
            </li>
          ))}
        </ul>
      )}
    </>
  );
}

function Sentences({ title, lines }: { title: string; lines: readonly string[] }) {
  if (lines.length === 0) return null;
  return (
    <section class="sec sentences">
      <h2>{title}</h2>
      <ul>
        {lines.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
    </section>
  );
}

function Result({ view, onRun, onNaming }: { view: ImportView; onRun: (skipBadRows: boolean) => void; onNaming: () => void }) {
  const good = goodOf(view);
  const beside = view.rowCount - good - view.badCount;
  const told = Object.entries(view.summary ?? {}).filter(([, count]) => count > 0);
  return (
    <>
      {told.length > 0 && (
        <section class="sec">
          <h2>{view.state === 'brought-in' ? 'What it did' : 'What it would do'}</h2>
          <ul>
            {told.map(([word, count]) => (
              <li key={word}>
                <b>{count.toLocaleString('en-GB')}</b> {saySummary(word, count)}
              </li>
            ))}
          </ul>
        </section>
      )}
      <Sentences title="How the file was read" lines={view.understood} />
      <Sentences title="Look at this before it is brought in" lines={view.state === 'brought-in' ? [] : view.warnings} />
      {view.state === 'brought-in' && <Touched view={view} />}
      {view.errors.length > 0 && (
        <section class="sec">
          <h2>
            {view.errors.length < view.badCount
              ? `The first ${view.errors.length} entries that cannot be read`
              : 'Entries that cannot be read'}
          </h2>
          <table class="badrows">
            <tr>
              <th class="num" scope="col">
                Row
              </th>
              <th scope="col">Column</th>
              <th scope="col">Expected</th>
              <th scope="col">Found</th>
            </tr>
            {view.errors.map((error) => (
              <tr key={`${error.row} ${error.column}`}>
                <td class="num" data-head="Row">
                  {error.row}
                </td>
                <td data-head="Column">{error.column ?? 'whole row'}</td>
                <td data-head="Expected">{error.expected}</td>
                <td data-head="Found">{error.found === '' ? 'nothing' : error.found}</td>
              </tr>
            ))}
          </table>
          {view.state === 'checked' && beside > 0 && (
            <p>
              {sayCount(beside, 'row')} without a fault {beside === 1 ? 'belongs' : 'belong'} to the same{' '}
              {KIND_NAMES[view.kind].name.toLowerCase()} as {view.badCount === 1 ? 'this one' : 'these'} and{' '}
              {beside === 1 ? 'waits' : 'wait'} with them.
            </p>
          )}
          {view.state === 'checked' && (
            <p class="note">Mend them in your file and bring it in as another file; nothing of this one has been kept yet.</p>
          )}
        </section>
      )}
      <div class="keyrow">
        {view.state === 'checked' && view.badCount === 0 && (
          <button type="button" class="key main" onClick={() => onRun(false)}>
            Bring in {sayCount(view.rowCount, 'row')}
          </button>
        )}
        {view.state === 'checked' && view.badCount > 0 && good > 0 && (
          <button type="button" class="key" onClick={() => onRun(true)}>
            Bring in {sayCount(good, 'row')}, without the other {view.rowCount - good}
          </button>
        )}
        {view.state !== 'brought-in' && (
          <button type="button" class="key" onClick={onNaming}>
            Change what columns mean
          </button>
        )}
        {view.state === 'brought-in' && (
          <a class="key main" href="/register">
            To the register
          </a>
        )}
        <a class="key" href={`/bring-in?kind=${view.kind}`}>
          Another file
        </a>
      </div>
    </>
  );
}
