import {
  daysBetween,
  endOfDay,
  KINDS_OF_WORK,
  type KindOfWork,
  parseLocal,
  placeLocal,
  sayLocal,
  wallTime,
} from '@heatround/domain';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { Refusal, sayTrouble } from '../../client/index.ts';
import { Field, Told } from '../field.tsx';
import { fullDate, isSameDay, plainDate, sentenceCase } from '../format.ts';
import { usePeople } from './people.ts';
import { saySlot } from './situation.ts';
import { type SlotView, sayTooLate } from './view.ts';
import { type AnswerKind, type MoveKind, sayMoves } from './words.ts';

/** Everything that can be typed into a move; a form shows what its move needs. */
export interface Typed {
  /** Id of a window, "day" for a day of its own, "" for none. */
  slot: string;
  day: string;
  fromTime: string;
  toTime: string;
  found: string;
  did: string;
  work: KindOfWork;
  cause: string;
  whoFrees: string;
  reason: string;
  until: string;
  other: string;
  owner: string;
  latest: string;
  target: string;
}
export type FormKind = AnswerKind | MoveKind | 'target';
export interface Choice {
  readonly id: string;
  readonly words: string;
}

export interface FormContext {
  readonly zone: string;
  readonly now: number;
  readonly slots: readonly SlotView[];
  /** What it could be the same as. */
  readonly others: readonly Choice[];
  readonly unit?: string;
}

export const EMPTY: Typed = {
  slot: '',
  day: '',
  fromTime: '08:00',
  toTime: '12:00',
  found: '',
  did: '',
  work: 'repaired',
  cause: '',
  whoFrees: '',
  reason: '',
  until: '',
  other: '',
  owner: '',
  latest: '',
  target: '',
};

const NEEDS: Readonly<Record<FormKind, readonly (keyof Typed)[]>> = {
  agree: ['slot', 'owner'],
  'read-again': ['reason', 'latest', 'owner'],
  'same-as': ['other'],
  'turn-down': ['reason'],
  'live-with': ['until', 'reason'],
  'ask-to-live-with': ['until', 'reason'],
  slot: ['slot'],
  start: [],
  finish: ['found', 'did', 'work'],
  free: [],
  stuck: ['cause', 'whoFrees'],
  'back-to-agreed': ['reason'],
  'come-back': [],
  'merge-into': ['other'],
  'close-unproved': ['reason'],
  give: ['owner'],
  target: ['target'],
};
/** A move without a field is made by its key alone. */
export const isAtOnce = (kind: FormKind): boolean => NEEDS[kind].length === 0;
const KEYS: Readonly<Record<FormKind, string>> = {
  agree: 'Agree',
  'read-again': 'Ask to read it again',
  'same-as': 'It is the same fault',
  'turn-down': 'Turn it down',
  'live-with': 'Live with it',
  'ask-to-live-with': 'Ask to live with it',
  slot: 'Slot it',
  start: 'Start the work',
  finish: 'Done, now prove it',
  free: 'Free it',
  stuck: 'Call it stuck',
  'back-to-agreed': 'Give up the slot',
  'come-back': 'End living with it',
  'merge-into': 'It is the same repair',
  'close-unproved': 'Close it unproved',
  give: 'Give it',
  target: 'Set this target',
};
/** Words that a move cannot do without. */
const REASON_HINTS: Partial<Record<FormKind, string>> = {
  'turn-down': 'Such as “painted lug read as bare metal”. Whoever reported it is told.',
  'live-with': 'Why that can be carried so long, such as “hall refit in autumn”.',
  'ask-to-live-with': 'Why that can be carried so long. Somebody else answers it.',
  'close-unproved': 'Why nothing can prove it any more, such as “taken out of use”. It is counted.',
  'read-again': 'What should be looked at, such as “at full load”. May stay empty.',
  'back-to-agreed': 'May stay empty.',
};
const needsReason = (kind: FormKind): boolean => kind !== 'read-again' && kind !== 'back-to-agreed';

const at = (day: string, time: string, zone: string): number | null => {
  const clock = parseLocal(`${day}T${time}`);
  return clock === null ? null : placeLocal(clock, zone).at;
};
const endOf = (day: string, zone: string): number | null => {
  const clock = parseLocal(`${day}T00:00`);
  if (clock === null) return null;
  const [year, month, date] = day.split('-').map(Number) as [number, number, number];
  return endOfDay({ year, month, day: date }, zone);
};
/** The day of an instant as a date field writes it. */
export function dayField(when: number, zone: string): string {
  const { year, month, day } = wallTime(when, zone);
  return sayLocal(Date.UTC(year, month - 1, day)).slice(0, 10);
}
const iso = (when: number): string => new Date(when).toISOString();
const figure = (text: string): number => Number(text.trim().replace(',', '.').replace('−', '-'));

/** What is missing, by field; empty when everything is there. */
export function checkTyped(kind: FormKind, typed: Typed, context: FormContext): Partial<Record<keyof Typed, string>> {
  const wrong: Partial<Record<keyof Typed, string>> = {};
  const { zone, now } = context;
  const needs = NEEDS[kind];
  const words = (field: 'found' | 'did' | 'cause' | 'whoFrees', told: string): void => {
    if (needs.includes(field) && typed[field].trim() === '') wrong[field] = told;
  };
  words('found', 'What was found, in a few words, such as “lug bolt at 18 Nm”.');
  words('did', 'What was done, in a few words, such as “tightened to 45 Nm”.');
  words('cause', 'What holds it up, in a few words, such as “part comes on 4 May”.');
  words('whoFrees', 'Who can free it: a name, such as “Ruth, money”.');
  if (needs.includes('reason') && needsReason(kind) && typed.reason.trim() === '')
    wrong.reason = 'A reason in a few words is needed here.';
  if (needs.includes('until')) {
    const until = endOf(typed.until, zone);
    if (until === null) wrong.until = 'A day, such as 30 September.';
    else if (until <= now) wrong.until = 'A day ahead.';
    else if (daysBetween(now, until, zone) > 365) wrong.until = 'At most twelve months ahead.';
  }
  if (needs.includes('other') && typed.other === '') wrong.other = 'Choose the one it is the same as.';
  if (kind === 'slot' && typed.slot === '') wrong.slot = 'Choose a window or a day.';
  if (needs.includes('slot') && typed.slot === 'day') {
    const from = at(typed.day, typed.fromTime, zone);
    const to = at(typed.day, typed.toTime, zone);
    if (from === null || to === null) wrong.day = 'A day with times, such as 28 April, 08:00 to 12:00.';
    else if (to <= from) wrong.day = 'The end comes after the beginning.';
    else if (to <= now) wrong.day = 'A time ahead.';
  }
  if (needs.includes('latest') && typed.latest !== '' && (endOf(typed.latest, zone) ?? 0) <= now) wrong.latest = 'A day ahead.';
  if (kind === 'target' && typed.target.trim() !== '' && !Number.isFinite(figure(typed.target)))
    wrong.target = 'A figure, such as 2 or 2,5; empty for below Watch.';
  return wrong;
}

export type SlotBody = { kind: 'slot'; windowId: string | null; from?: string; to?: string };
/** The slot that was chosen, or null for none. */
export function slotBody(typed: Typed, { zone }: FormContext): SlotBody | null {
  if (typed.slot === '') return null;
  if (typed.slot !== 'day') return { kind: 'slot', windowId: typed.slot };
  return {
    kind: 'slot',
    windowId: null,
    from: iso(at(typed.day, typed.fromTime, zone) as number),
    to: iso(at(typed.day, typed.toTime, zone) as number),
  };
}
export const untilOf = (typed: Typed, zone: string): string => iso(endOf(typed.until, zone) as number);
export const latestOf = (typed: Typed, zone: string): string | undefined =>
  typed.latest === '' ? undefined : iso(endOf(typed.latest, zone) as number);
export const targetOf = (typed: Typed): number | null => (typed.target.trim() === '' ? null : figure(typed.target));

const slotLabel = (slot: SlotView, zone: string, now: number): string => {
  const end =
    slot.kind === 'late'
      ? `, ${sayTooLate(slot, zone)}`
      : slot.kind === 'short'
        ? ', too short for the job'
        : slot.kind === 'last'
          ? ', last that fits'
          : '';
  const days = isSameDay(slot.from, slot.to, zone) ? fullDate(slot.from, zone, now) : saySlot(slot, zone, now);
  return `${days}, ${slot.name}${end}`;
};

/**
 * The form of one move: what it needs in words, one key, and "Leave it". After a refusal what was typed stays, and the present
 * state stands above the key.
 */
export function PlanForm(props: {
  kind: FormKind;
  title: string;
  context: FormContext;
  given?: Partial<Typed>;
  /** How it stands now, for the case that somebody else moved it meanwhile. */
  standing: string;
  /** Moves open to the person now. */
  allowed: readonly string[];
  onGive: (typed: Typed) => Promise<void>;
  /** Looks again at the present state. */
  onStale: () => Promise<void>;
  onDone: () => void;
  extra?: ComponentChildren;
}) {
  const { kind, context } = props;
  const { zone, now, slots } = context;
  const needs = NEEDS[kind];
  const usual = slots.find((slot) => slot.kind === 'last') ?? slots.find((slot) => slot.kind === 'open');
  const [typed, setTyped] = useState<Typed>(() => ({
    ...EMPTY,
    slot: kind === 'slot' ? (usual?.id ?? 'day') : '',
    ...props.given,
  }));
  const [wrong, setWrong] = useState<Partial<Record<keyof Typed, string>>>({});
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isBusy, setBusy] = useState(false);
  const title = useRef<HTMLHeadingElement>(null);
  const form = useRef<HTMLFormElement>(null);
  const people = usePeople(needs.includes('owner') ? (kind === 'read-again' ? 'submit-facts' : 'move-own-order') : null);
  useEffect(() => title.current?.focus(), [kind]);
  const put =
    (field: keyof Typed) =>
    (event: { currentTarget: { value: string } }): void =>
      setTyped((before) => ({ ...before, [field]: event.currentTarget.value }));
  const give = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (isBusy) return;
    const found = checkTyped(kind, typed, context);
    setWrong(found);
    if (Object.keys(found).length > 0) {
      setTimeout(() => form.current?.querySelector<HTMLElement>('[aria-invalid="true"]')?.focus());
      return;
    }
    setBusy(true);
    setTrouble(null);
    try {
      await props.onGive(typed);
      props.onDone();
    } catch (failed) {
      if (failed instanceof Refusal && (failed.status === 409 || failed.status === 412))
        await props.onStale().catch(() => undefined);
      setTrouble(failed);
      setBusy(false);
    }
  };
  const refusal = trouble instanceof Refusal ? trouble : null;
  const isMoved = refusal !== null && (refusal.status === 409 || refusal.status === 412);
  const area = (field: 'found' | 'did' | 'cause' | 'reason', label: string, hint?: string) => (
    <Field label={label} hint={hint} wrong={wrong[field]}>
      {(aria) => (
        <textarea
          {...aria}
          class="entry"
          maxLength={field === 'cause' || field === 'reason' ? 1000 : 2000}
          value={typed[field]}
          onInput={put(field)}
        />
      )}
    </Field>
  );
  return (
    <form class="sheetform planform" ref={form} onSubmit={(event) => void give(event)} noValidate>
      <h2 tabIndex={-1} ref={title}>
        {props.title}
      </h2>
      {needs.includes('other') && (
        <Field
          label="The same as"
          hint={context.others.length === 0 ? 'There is no other one it could be the same as.' : undefined}
          wrong={wrong.other}
        >
          {(aria) => (
            <select {...aria} class="entry" value={typed.other} onChange={put('other')}>
              <option value="">Choose</option>
              {context.others.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.words}
                </option>
              ))}
            </select>
          )}
        </Field>
      )}
      {needs.includes('slot') && (
        <Field
          label="When"
          hint={slots.length === 0 ? 'No shutdown window that concerns it lies ahead.' : undefined}
          wrong={wrong.slot}
        >
          {(aria) => (
            <select {...aria} class="entry" value={typed.slot} onChange={put('slot')}>
              {kind === 'agree' && <option value="">without a window</option>}
              {slots.map((slot) => (
                <option key={slot.id} value={slot.id}>
                  {slotLabel(slot, zone, now)}
                </option>
              ))}
              <option value="day">on a day of its own</option>
            </select>
          )}
        </Field>
      )}
      {needs.includes('slot') && typed.slot === 'day' && (
        <div class="row2">
          <Field label="Day" wrong={wrong.day}>
            {(aria) => (
              <input {...aria} type="date" class="entry" value={typed.day} min={dayField(now, zone)} onInput={put('day')} />
            )}
          </Field>
          <Field label="From">
            {(aria) => <input {...aria} type="time" class="entry" value={typed.fromTime} onInput={put('fromTime')} />}
          </Field>
          <Field label="To">
            {(aria) => <input {...aria} type="time" class="entry" value={typed.toTime} onInput={put('toTime')} />}
          </Field>
        </div>
      )}
      {needs.includes('found') && area('found', 'What was found')}
      {needs.includes('did') && area('did', 'What was done')}
      {needs.includes('work') && (
        <Field label="Kind of work" hint="It says from when on readings count as after the work.">
          {(aria) => (
            <select {...aria} class="entry" value={typed.work} onChange={put('work')}>
              {KINDS_OF_WORK.map((one) => (
                <option key={one} value={one}>
                  {sentenceCase(one.replaceAll('-', ' '))}
                </option>
              ))}
            </select>
          )}
        </Field>
      )}
      {needs.includes('cause') && area('cause', 'What holds it up')}
      {needs.includes('whoFrees') && (
        <Field label="Who can free it" wrong={wrong.whoFrees}>
          {(aria) => (
            <input {...aria} type="text" class="entry" maxLength={200} value={typed.whoFrees} onInput={put('whoFrees')} />
          )}
        </Field>
      )}
      {needs.includes('until') && (
        <Field
          label="Until the end of"
          hint={`A day ahead, at most twelve months. It comes back by itself on that day, or when it gets worse.`}
          wrong={wrong.until}
        >
          {(aria) => (
            <input {...aria} type="date" class="entry" value={typed.until} min={dayField(now, zone)} onInput={put('until')} />
          )}
        </Field>
      )}
      {needs.includes('reason') && area('reason', needsReason(kind) ? 'Why' : 'Words', REASON_HINTS[kind])}
      {needs.includes('latest') && (
        <Field label="At the latest on" hint="Empty: on the next round that fits." wrong={wrong.latest}>
          {(aria) => (
            <input {...aria} type="date" class="entry" value={typed.latest} min={dayField(now, zone)} onInput={put('latest')} />
          )}
        </Field>
      )}
      {needs.includes('owner') && (
        <Field label={kind === 'read-again' ? 'Who reads it' : 'Who has it'}>
          {(aria) => (
            <select {...aria} class="entry" value={typed.owner} onChange={put('owner')}>
              <option value="">{kind === 'read-again' ? 'whoever walks the round' : 'nobody yet'}</option>
              {people.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.name}
                </option>
              ))}
            </select>
          )}
        </Field>
      )}
      {needs.includes('target') && (
        <Field
          label={`Figure a proof must reach${context.unit ? `, ${context.unit}` : ''}`}
          hint="Empty: below Watch."
          wrong={wrong.target}
        >
          {(aria) => (
            <input {...aria} type="text" inputMode="decimal" class="entry" value={typed.target} onInput={put('target')} />
          )}
        </Field>
      )}
      {props.extra}
      {trouble !== null && (
        <Told>
          {sayTrouble(trouble)}
          {refusal?.errors.map((one) => ` ${sentenceCase(one.detail.replace(/\.$/, ''))}.`)}
          {isMoved && ` It stands so now: ${props.standing}. You may ${sayMoves(props.allowed)}. What you typed is kept here.`}
        </Told>
      )}
      <div class="keyrow">
        <button type="submit" class="key main" disabled={isBusy}>
          {isBusy ? 'Saving' : keyWords(kind, typed, context)}
        </button>
        <button type="button" class="key" onClick={props.onDone}>
          Leave it
        </button>
      </div>
    </form>
  );
}

/** Verb and object: "Ask for Sat 2 May", "Live with it until 30 September". */
function keyWords(kind: FormKind, typed: Typed, { zone, now, slots }: FormContext): string {
  if (kind === 'agree' || kind === 'slot') {
    const slot = slots.find(({ id }) => id === typed.slot);
    const day = slot?.from ?? (typed.slot === 'day' ? at(typed.day, typed.fromTime, zone) : null);
    if (day !== null && day !== undefined) return `Ask for ${fullDate(day, zone, now)}`;
    return kind === 'agree' ? 'Agree without a window' : 'Slot it';
  }
  if (kind === 'live-with' || kind === 'ask-to-live-with') {
    const until = endOf(typed.until, zone);
    if (until !== null) return `${KEYS[kind]} until ${plainDate(until, zone, now)}`;
  }
  return KEYS[kind];
}
