import type { RouteView, Site } from '@heatround/contract';
import {
  checkRule,
  checkStops,
  may as mayDo,
  type PlacedTime,
  parseLocal,
  type RoundWindow,
  sayDate,
  sayRule,
} from '@heatround/domain';
import { useEffect, useRef, useState } from 'preact/hooks';
import { type Answer, call, Refusal, sayTrouble } from '../../client/index.ts';
import { go } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { sayCount } from '../../ui/format.ts';
import { sayMoved } from '../due/words.ts';
import { DAYS, MONTHS, moved, OFTEN, type Often, oftenOf, ruleOf } from './route-state.ts';
import './rounds.css';

type RouteStop = RouteView['stops'][number];
interface Draft {
  readonly siteId: string;
  readonly code: string;
  readonly name: string;
  readonly often: Often;
  readonly firstDay: string;
  readonly time: string;
  readonly window: RoundWindow;
  readonly graceHours: string;
  readonly season: { readonly fromMonth: number; readonly toMonth: number } | null;
  readonly walkerId: string;
  readonly about: string;
  readonly before: string;
  readonly stops: readonly RouteStop[];
}
const draftOf = (route: RouteView): Draft => ({
  siteId: route.siteId,
  code: route.code,
  name: route.name,
  often: oftenOf(route.rule),
  firstDay: route.startLocal.slice(0, 10),
  time: route.startLocal.slice(11, 16),
  window: route.window,
  graceHours: route.graceMs === null ? '' : String(route.graceMs / 3_600_000),
  season: route.season,
  walkerId: route.walkerId ?? '',
  about: route.aboutMinutes === null ? '' : String(route.aboutMinutes),
  before: route.beforeYouLeave,
  stops: route.stops,
});

/** A new route, or changes to one: when, by whom, along which stops; the next five dates stand beside the rule. */
export function RouteScreen({ parameters }: { parameters: Record<string, string> }) {
  const routeId = parameters.routeId === 'new' ? null : (parameters.routeId ?? null);
  const { outbox, may } = useSession();
  const [sites, setSites] = useState<readonly Site[]>([]);
  const [people, setPeople] = useState<Answer<'listPeople'>['people']>([]);
  const [route, setRoute] = useState<RouteView | null>(null);
  const [draft, setDraft] = useState<Draft | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [wrong, setWrong] = useState<Readonly<Record<string, string>>>({});
  /** Stops that were added and whose answer has not come; a route is not saved without them. */
  const [onTheWay, setOnTheWay] = useState(0);
  useEffect(() => {
    let isHere = true;
    void (async () => {
      try {
        const [found, who] = await Promise.all([call('listSites', {}), call('listPeople', {}).catch(() => ({ people: [] }))]);
        let own: RouteView | null = null;
        for (let after: string | null = null; routeId !== null && own === null; ) {
          const page: Answer<'listRoutes'> = await call('listRoutes', {
            query: { pageSize: 100, ...(after === null ? {} : { after }) },
          });
          own = page.routes.find((one) => one.id === routeId) ?? null;
          after = page.next;
          if (after === null) break;
        }
        if (!isHere) return;
        setSites(found.sites);
        setPeople(who.people);
        setRoute(own);
        if (routeId !== null && own === null) throw new Error('There is no such route in this organisation.');
        const today = new Date(outbox.now()).toISOString().slice(0, 10);
        setDraft(
          own === null
            ? {
                siteId: found.sites[0]?.id ?? '',
                code: '',
                name: '',
                often: OFTEN,
                firstDay: today,
                time: '08:00',
                window: { kind: 'days', daysBefore: 1, daysAfter: 1 },
                graceHours: '',
                season: null,
                walkerId: '',
                about: '',
                before: '',
                stops: [],
              }
            : draftOf(own),
        );
      } catch (failed) {
        if (isHere) setTrouble(failed);
      }
    })();
    return () => {
      isHere = false;
    };
  }, [routeId]);
  const heading = useOpening(route === null ? 'New route' : `${route.code}, route`, routeId ?? 'new');
  if (draft === null || !may('edit-register')) {
    return (
      <>
        <h1 class="say open" tabIndex={-1} ref={heading}>
          {trouble !== null
            ? 'This route cannot be shown.'
            : may('edit-register')
              ? 'The route'
              : 'A planner or an administrator changes routes.'}
        </h1>
        {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      </>
    );
  }
  // From the draft as it is then: an answer that comes later must not bring back an older one.
  const set = (part: Partial<Draft>): void => setDraft((present) => present && { ...present, ...part });
  const setStops = (change: (stops: readonly RouteStop[]) => readonly RouteStop[]): void =>
    setDraft((present) => present && { ...present, stops: change(present.stops) });
  const zone = sites.find((site) => site.id === draft.siteId)?.zone ?? route?.zone ?? 'UTC';
  const rule = ruleOf(draft.often);
  const startLocal = `${draft.firstDay}T${draft.time}`;

  const save = async (): Promise<void> => {
    const found: Record<string, string> = {};
    if (draft.code.trim() === '') found.code = 'A short name people say, such as RT5.';
    if (draft.name.trim() === '') found.name = 'A name, such as Water and heat.';
    const [problem] = checkRule(rule);
    if (draft.often.kind !== 'own' && draft.often.days.length === 0) found.often = 'Choose at least one day.';
    else if (problem !== undefined) found.often = `${problem.expected} Such as ${problem.example}.`;
    if (parseLocal(startLocal) === null) found.first = 'A day and a time, such as 28 April 2026, 08:00.';
    const grace = draft.graceHours.trim() === '' ? null : Number(draft.graceHours.replace(',', '.')) * 3_600_000;
    if (grace !== null && !(grace >= 0)) found.grace = 'Hours, such as 24; empty is half the window.';
    const about = draft.about.trim() === '' ? null : Number(draft.about);
    if (about !== null && !(Number.isInteger(about) && about > 0)) found.about = 'Minutes, such as 55.';
    const [stopsWrong] = draft.stops.length === 0 ? [] : checkStops(draft.stops.map((stop) => stop.pointId));
    if (stopsWrong !== undefined) found.stops = stopsWrong;
    setWrong(found);
    if (Object.keys(found).length > 0) {
      setTimeout(() => (document.querySelector('[aria-invalid="true"]') as HTMLElement | null)?.focus());
      return;
    }
    const body = {
      code: draft.code.trim(),
      name: draft.name.trim(),
      rule,
      startLocal,
      window: draft.window,
      graceMs: grace,
      season: draft.season,
      walkerId: draft.walkerId === '' ? null : draft.walkerId,
      aboutMinutes: about,
      beforeYouLeave: draft.before,
      pointIds: draft.stops.map((stop) => stop.pointId),
    };
    try {
      if (route === null) await call('createRoute', { body: { siteId: draft.siteId, ...body } });
      else await call('changeRoute', { params: { routeId: route.id }, body: { version: route.version, ...body } });
      go('/rounds');
    } catch (failed) {
      setTrouble(failed);
      scrollTo(0, 0);
    }
  };
  return (
    <div class="routeform">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {route === null
          ? 'A new route: its rounds are planned as soon as it is saved.'
          : `${route.code} ${route.name}: rounds already begun keep what they are.`}
      </h1>
      {trouble !== null && (
        <Told>
          {sayTrouble(trouble)}
          {trouble instanceof Refusal &&
            trouble.status === 412 &&
            ' What you typed is kept here. Load the page again to see what changed.'}
        </Told>
      )}
      <div class="row2">
        <Field label="Short name" hint="Such as RT5." wrong={wrong.code}>
          {(aria) => (
            <input
              {...aria}
              class="entry"
              type="text"
              maxLength={20}
              value={draft.code}
              onInput={(event) => set({ code: event.currentTarget.value })}
            />
          )}
        </Field>
        <Field label="Name" hint="Such as Water and heat." wrong={wrong.name}>
          {(aria) => (
            <input
              {...aria}
              class="entry"
              type="text"
              maxLength={200}
              value={draft.name}
              onInput={(event) => set({ name: event.currentTarget.value })}
            />
          )}
        </Field>
        {route === null && sites.length > 1 && (
          <Field label="Site">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={draft.siteId}
                onChange={(event) => set({ siteId: event.currentTarget.value })}
              >
                {sites.map((site) => (
                  <option key={site.id} value={site.id}>
                    {site.name}
                  </option>
                ))}
              </select>
            )}
          </Field>
        )}
      </div>
      <section class="sec">
        <h2>When</h2>
        <HowOften often={draft.often} set={(often) => set({ often })} wrong={wrong.often} />
        <div class="row2">
          <Field label="First day it may be" wrong={wrong.first}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="date"
                value={draft.firstDay}
                onInput={(event) => set({ firstDay: event.currentTarget.value })}
              />
            )}
          </Field>
          <Field label="Time of day at the site" hint={zone.replace('_', ' ')}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="time"
                value={draft.time}
                onInput={(event) => set({ time: event.currentTarget.value })}
              />
            )}
          </Field>
        </div>
        <Next rule={rule} startLocal={startLocal} zone={zone} season={draft.season} now={outbox.now()} />
        <WindowFields window={draft.window} set={(window) => set({ window })} />
        <div class="row2">
          <Field label="Grace after it, hours" hint="Empty: half the window." wrong={wrong.grace}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                inputMode="decimal"
                value={draft.graceHours}
                onInput={(event) => set({ graceHours: event.currentTarget.value })}
              />
            )}
          </Field>
          <Field label="Season" hint="Asleep in the other months.">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={draft.season === null ? '' : 'some'}
                onChange={(event) => set({ season: event.currentTarget.value === '' ? null : { fromMonth: 5, toMonth: 9 } })}
              >
                <option value="">All year</option>
                <option value="some">Some months</option>
              </select>
            )}
          </Field>
          {draft.season !== null &&
            (['fromMonth', 'toMonth'] as const).map((end) => (
              <Field key={end} label={end === 'fromMonth' ? 'From' : 'To the end of'}>
                {(aria) => (
                  <select
                    {...aria}
                    class="entry"
                    value={draft.season![end]}
                    onChange={(event) => set({ season: { ...draft.season!, [end]: Number(event.currentTarget.value) } })}
                  >
                    {MONTHS.map((month, index) => (
                      <option key={month} value={index + 1}>
                        {month}
                      </option>
                    ))}
                  </select>
                )}
              </Field>
            ))}
        </div>
      </section>
      <section class="sec">
        <h2>Who and how</h2>
        <div class="row2">
          <Field label="Who walks it">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={draft.walkerId}
                onChange={(event) => set({ walkerId: event.currentTarget.value })}
              >
                <option value="">Whoever takes it</option>
                {people
                  .filter((one) => mayDo(one.roles, 'submit-facts'))
                  .map((one) => (
                    <option key={one.id} value={one.id}>
                      {one.name}
                    </option>
                  ))}
              </select>
            )}
          </Field>
          <Field label="About how many minutes" wrong={wrong.about}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                inputMode="numeric"
                value={draft.about}
                onInput={(event) => set({ about: event.currentTarget.value })}
              />
            )}
          </Field>
        </div>
        <Field label="Before you leave" hint="One thing a line, such as Keys: key 7, Ward Block basement.">
          {(aria) => (
            <textarea
              {...aria}
              class="entry"
              maxLength={2000}
              value={draft.before}
              onInput={(event) => set({ before: event.currentTarget.value })}
            />
          )}
        </Field>
      </section>
      <section class="sec">
        <h2>{draft.stops.length === 0 ? 'Stops: none yet' : `${sayCount(draft.stops.length, 'stop')} in walking order`}</h2>
        {wrong.stops !== undefined && <Told>{wrong.stops}</Told>}
        <Stops stops={draft.stops} change={setStops} count={(more) => setOnTheWay((present) => present + more)} />
      </section>
      <div class="keyrow">
        <button type="button" class="key main" disabled={onTheWay > 0} onClick={() => void save()}>
          {route === null ? 'Save this route' : `Save ${route.code}`}
        </button>
        <a class="key" href="/rounds">
          Leave it
        </a>
      </div>
    </div>
  );
}

function HowOften({ often, set, wrong }: { often: Often; set: (often: Often) => void; wrong: string | undefined }) {
  const many = (words: readonly [string, string], value: number, change: (value: number) => void, most: number) => (
    <Field label={`Every how many ${words[1]}`}>
      {(aria) => (
        <select {...aria} class="entry" value={value} onChange={(event) => change(Number(event.currentTarget.value))}>
          {Array.from({ length: most }, (_, index) => (
            <option key={index} value={index + 1}>
              {index === 0 ? `every ${words[0]}` : `every ${index + 1} ${words[1]}`}
            </option>
          ))}
        </select>
      )}
    </Field>
  );
  return (
    <>
      <Field label="How often" wrong={wrong}>
        {(aria) => (
          <select
            {...aria}
            class="entry"
            value={often.kind}
            onChange={(event) => set({ ...often, kind: event.currentTarget.value as Often['kind'], own: ruleOf(often) })}
          >
            <option value="weeks">By weeks, on days of the week</option>
            <option value="month-day">By months, on the first, second … last of a weekday</option>
            <option value="month-date">By months, on a day of the month</option>
            <option value="own">Another rule, written out</option>
          </select>
        )}
      </Field>
      {often.kind === 'weeks' && (
        <>
          <div class="row2">{many(['week', 'weeks'], often.every, (every) => set({ ...often, every }), 53)}</div>
          <fieldset class="field">
            <legend class="label">
              <b>On</b>
            </legend>
            <div class="dayrow">
              {DAYS.map((day, index) => (
                <label class="choice" key={day}>
                  <input
                    type="checkbox"
                    checked={often.days.includes(index + 1)}
                    onChange={(event) =>
                      set({
                        ...often,
                        days: event.currentTarget.checked
                          ? [...often.days, index + 1]
                          : often.days.filter((one) => one !== index + 1),
                      })
                    }
                  />
                  {day}
                </label>
              ))}
            </div>
          </fieldset>
        </>
      )}
      {often.kind === 'month-day' && (
        <div class="row2">
          {many(['month', 'months'], often.every, (every) => set({ ...often, every }), 24)}
          <Field label="Which">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={often.nth}
                onChange={(event) => set({ ...often, nth: Number(event.currentTarget.value) })}
              >
                {['first', 'second', 'third', 'fourth'].map((word, index) => (
                  <option key={word} value={index + 1}>
                    {word}
                  </option>
                ))}
                <option value={-1}>last</option>
              </select>
            )}
          </Field>
          <Field label="Weekday">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={often.days[0] ?? 1}
                onChange={(event) => set({ ...often, days: [Number(event.currentTarget.value)] })}
              >
                {DAYS.map((day, index) => (
                  <option key={day} value={index + 1}>
                    {day}
                  </option>
                ))}
              </select>
            )}
          </Field>
        </div>
      )}
      {often.kind === 'month-date' && (
        <div class="row2">
          {many(['month', 'months'], often.every, (every) => set({ ...often, every }), 24)}
          <Field label="Day of the month" hint="A month without that day is left out.">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={often.date}
                onChange={(event) => set({ ...often, date: Number(event.currentTarget.value) })}
              >
                {Array.from({ length: 31 }, (_, index) => (
                  <option key={index} value={index + 1}>
                    {index + 1}
                  </option>
                ))}
                <option value={-1}>the last day</option>
              </select>
            )}
          </Field>
        </div>
      )}
      {often.kind === 'own' && (
        <Field label="Rule" hint="As in calendars, RFC 5545: FREQ=YEARLY;BYMONTH=3,9;BYDAY=1MO">
          {(aria) => (
            <input
              {...aria}
              class="entry"
              type="text"
              maxLength={300}
              value={often.own}
              onInput={(event) => set({ ...often, own: event.currentTarget.value })}
            />
          )}
        </Field>
      )}
    </>
  );
}

function Next(props: { rule: string; startLocal: string; zone: string; season: Draft['season']; now: number }) {
  const { rule, startLocal, zone, season } = props;
  const [dates, setDates] = useState<readonly PlacedTime[] | null>(null);
  const [isAway, setAway] = useState(false);
  const isRight = checkRule(rule).length === 0 && parseLocal(startLocal) !== null;
  const key = `${rule} ${startLocal} ${zone} ${season?.fromMonth} ${season?.toMonth}`;
  useEffect(() => {
    let isHere = true;
    if (!isRight) setDates(null);
    else
      import('./next-dates.ts').then(
        ({ nextDates }) => isHere && setDates(nextDates({ rule, startLocal, zone, season }, props.now)),
        () => isHere && setAway(true),
      );
    return () => {
      isHere = false;
    };
  }, [key, isRight]);
  return (
    <div class="nextfive" role="status">
      <b>{isRight ? sentence(sayRule(rule, zone)) : 'The rule is not complete yet.'}</b>
      {isAway && <p class="note">The next dates cannot be counted without signal.</p>}
      {isRight && dates !== null && (
        <>
          <p class="note">{dates.length === 0 ? 'No date comes of this within three years.' : 'Next:'}</p>
          <ol>
            {dates.map((date) => (
              <li key={date.at}>
                {sayDate(date.at, zone, props.now)}, {date.local.slice(11, 16)}
                {date.movedFrom !== null && <span class="soft"> {sayMoved(date.movedFrom)}</span>}
              </li>
            ))}
          </ol>
        </>
      )}
    </div>
  );
}
const sentence = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;

function WindowFields({ window, set }: { window: RoundWindow; set: (window: RoundWindow) => void }) {
  const figure = (label: string, value: number, change: (value: number) => void, most: number) => (
    <Field label={label}>
      {(aria) => (
        <input
          {...aria}
          class="entry"
          type="number"
          min={0}
          max={most}
          step={1}
          value={value}
          onInput={(event) => {
            const next = event.currentTarget.valueAsNumber;
            if (Number.isFinite(next)) change(Math.max(0, Math.min(most, Math.round(next))));
          }}
        />
      )}
    </Field>
  );
  return (
    <div class="row2">
      <Field label="May be walked">
        {(aria) => (
          <select
            {...aria}
            class="entry"
            value={window.kind}
            onChange={(event) => {
              const kind = event.currentTarget.value;
              if (kind === 'week') set({ kind });
              else if (kind === 'days') set({ kind, daysBefore: 1, daysAfter: 1 });
              else set({ kind: 'minutes', minutesBefore: 120, minutesAfter: 120 });
            }}
          >
            <option value="days">on days around it</option>
            <option value="week">in its week, Monday to Sunday</option>
            <option value="minutes">within hours around its time</option>
          </select>
        )}
      </Field>
      {window.kind === 'days' && figure('Days before', window.daysBefore, (daysBefore) => set({ ...window, daysBefore }), 60)}
      {window.kind === 'days' && figure('Days after', window.daysAfter, (daysAfter) => set({ ...window, daysAfter }), 60)}
      {window.kind === 'minutes' &&
        figure('Minutes before', window.minutesBefore, (minutesBefore) => set({ ...window, minutesBefore }), 86400)}
      {window.kind === 'minutes' &&
        figure('Minutes after', window.minutesAfter, (minutesAfter) => set({ ...window, minutesAfter }), 86400)}
    </div>
  );
}

/** Stops in walking order: moved by keys or dragged, taken off, added by finding an asset. */
function Stops({
  stops,
  change,
  count,
}: {
  stops: readonly RouteStop[];
  count: (more: number) => void;
  change: (how: (stops: readonly RouteStop[]) => readonly RouteStop[]) => void;
}) {
  const list = useRef<HTMLOListElement>(null);
  const [dragged, setDragged] = useState<number | null>(null);
  const [said, setSaid] = useState('');
  const move = (index: number, by: number): void => {
    change(() => moved(stops, index, by));
    const stop = stops[index]!;
    setSaid(`${stop.tag} ${stop.letter} is stop ${index + by + 1} of ${stops.length} now.`);
    const word = by < 0 ? 'up' : 'down';
    setTimeout(() => {
      const row = list.current?.children[index + by];
      const key = row?.querySelector<HTMLButtonElement>(`[data-move="${word}"]:not([disabled])`);
      (key ?? row?.querySelector<HTMLButtonElement>('button:not([disabled])'))?.focus();
    });
  };
  return (
    <>
      <ol class="stopsedit" ref={list}>
        {stops.map((stop, index) => (
          <li
            key={stop.pointId}
            draggable
            class={dragged === index ? 'dragged' : ''}
            onDragStart={() => setDragged(index)}
            onDragOver={(event) => event.preventDefault()}
            onDrop={(event) => {
              event.preventDefault();
              if (dragged === null || dragged === index) return;
              const next = [...stops];
              const [one] = next.splice(dragged, 1);
              next.splice(index, 0, one!);
              change(() => next);
              setDragged(null);
            }}
            onDragEnd={() => setDragged(null)}
          >
            <span class="stopwhat">
              <b>
                {stop.tag} {stop.letter}
              </b>{' '}
              {stop.assetName}, {stop.pointName.charAt(0).toLowerCase() + stop.pointName.slice(1)}
              <span class="soft"> {stop.room}</span>
            </span>
            <span class="stopkeys">
              <button
                type="button"
                class="key"
                data-move="up"
                disabled={index === 0}
                aria-label={`Up with ${stop.tag} ${stop.letter}`}
                onClick={() => move(index, -1)}
              >
                Up
              </button>
              <button
                type="button"
                class="key"
                data-move="down"
                disabled={index === stops.length - 1}
                aria-label={`Down with ${stop.tag} ${stop.letter}`}
                onClick={() => move(index, 1)}
              >
                Down
              </button>
              <button
                type="button"
                class="key"
                aria-label={`Take off ${stop.tag} ${stop.letter}`}
                onClick={() => change((present) => present.filter(({ pointId }) => pointId !== stop.pointId))}
              >
                Take off
              </button>
            </span>
          </li>
        ))}
      </ol>
      <p class="unseen" role="status">
        {said}
      </p>
      <AddStops
        stops={stops}
        count={count}
        add={(more) => {
          change((present) => [...present, ...more.filter((one) => !present.some((stop) => stop.pointId === one.pointId))]);
          setSaid(`${more[0]?.tag ?? 'Nothing'} is on the route now.`);
        }}
      />
    </>
  );
}

function AddStops({
  stops,
  add,
  count,
}: {
  stops: readonly RouteStop[];
  add: (stops: readonly RouteStop[]) => void;
  /** Told how many more are on their way. */
  count: (more: number) => void;
}) {
  const [text, setText] = useState('');
  const [found, setFound] = useState<Answer<'listAssets'>['assets']>([]);
  const [hasMore, setMore] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  useEffect(() => {
    if (text.trim().length < 2) {
      setFound([]);
      setMore(false);
      return;
    }
    const stop = new AbortController();
    const wait = setTimeout(() => {
      call('listAssets', { query: { search: text.trim(), pageSize: 20 } }, { signal: stop.signal }).then(
        (answer) => {
          setFound(answer.assets);
          setMore(answer.next !== null);
        },
        (failed) => !stop.signal.aborted && setTrouble(failed),
      );
    }, 220);
    return () => {
      clearTimeout(wait);
      stop.abort();
    };
  }, [text]);
  // One after the other, so that stops stand in the order in which their keys were pressed.
  const turn = useRef<Promise<void>>(Promise.resolve());
  const take = (assetId: string): void => {
    count(1);
    turn.current = turn.current.then(async () => {
      try {
        const page = await call('getAsset', { params: { assetId }, query: { readings: 1 } });
        add(
          page.points.map(({ point }) => ({
            pointId: point.id,
            assetId: page.id,
            tag: page.tag,
            letter: point.letter,
            assetName: page.name,
            pointName: point.name,
            room: page.place.room,
          })),
        );
        setTrouble(null);
      } catch (failed) {
        setTrouble(failed);
      }
      count(-1);
    });
  };
  return (
    <>
      <Field label="Add the points of" hint="Tag, name or place of an asset.">
        {(aria) => (
          <input
            {...aria}
            class="entry"
            type="search"
            autocomplete="off"
            value={text}
            onInput={(event) => setText(event.currentTarget.value)}
          />
        )}
      </Field>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      <ul class="addlist">
        {found.map((row) => (
          <li key={row.id}>
            <span>
              <b>{row.tag}</b> {row.name} <span class="soft">{row.place.room}</span>
            </span>
            {row.pointCount === 0 ? (
              <span class="soft">no point to read</span>
            ) : stops.filter(({ assetId }) => assetId === row.id).length >= row.pointCount ? (
              // Stays a key, so that whoever pressed it by keyboard is still there.
              <button type="button" class="key" aria-disabled="true" key={`${row.id} key`}>
                On the route
                <span class="unseen">: {row.tag}</span>
              </button>
            ) : (
              <button type="button" class="key" key={`${row.id} key`} onClick={() => take(row.id)}>
                Add {sayCount(row.pointCount, 'point')}
                <span class="unseen"> of {row.tag}</span>
              </button>
            )}
          </li>
        ))}
      </ul>
      {hasMore && <p class="note">More go by this: type more of the tag or the name.</p>}
    </>
  );
}
