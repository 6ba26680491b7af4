import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { saySafety } from '../outbox/index.ts';
import { THIS_DEVICE } from '../ui/device.ts';
import { clockTime, sayCount, sayRole } from '../ui/format.ts';
import { Mark } from '../ui/marks.tsx';
import { useHandedOverCount } from './handed-over.ts';
import { chooseHand, choosePaper, chosenPaper, isLeftHanded, PAPER_WORDS, PAPERS, type Paper } from './paper.ts';
import { furtherPlaces, type Place, placesOf, withHandedOver } from './places.ts';
import { useWhere } from './router.tsx';
import { type Session, useOutboxState, useSession } from './session.tsx';
import { DemoClock, useSiteZone } from './site-clock.tsx';
import { HandedNotice } from './unsent.tsx';

/** The sentence about the safety of data, always at top right. */
export function Safety() {
  const { waiting, held, hasSignal, safeAtIso, stopped } = useOutboxState();
  const zone = useSiteZone();
  const safeAt = safeAtIso === null ? null : clockTime(safeAtIso, zone);
  return (
    <span class="safety" role="status">
      {stopped ?? saySafety({ waiting, held, hasSignal, safeAt }, THIS_DEVICE)}
    </span>
  );
}

let known: readonly string[] = [];
/** Told once at the start which addresses there are. */
export const knowPlaces = (patterns: readonly string[]): void => {
  known = patterns;
};
const exists = (href: string): boolean => known.includes(href);
const placesFor = (session: Session): readonly Place[] => placesOf(session.membership.roles, session.may, exists);
/** Where a person begins. */
export const firstPlace = (session: Session): string => placesFor(session)[0]?.href ?? '/register';

function Own() {
  const { me, membership, outbox, may, signOut } = useSession();
  const { path } = useWhere();
  const [paper, setPaper] = useState(chosenPaper);
  const [isLeft, setLeft] = useState(isLeftHanded);
  const [asks, setAsks] = useState<number | null>(null);
  const [typed, setTyped] = useState('');
  const details = useRef<HTMLDetailsElement>(null);
  useEffect(() => {
    const shut = (event: Event): void => {
      const box = details.current;
      if (!box?.open) return;
      if (event instanceof KeyboardEvent ? event.key === 'Escape' : !box.contains(event.target as Node)) {
        box.open = false;
        if (event instanceof KeyboardEvent) box.querySelector('summary')?.focus();
      }
    };
    document.addEventListener('keydown', shut);
    document.addEventListener('click', shut);
    return () => {
      document.removeEventListener('keydown', shut);
      document.removeEventListener('click', shut);
    };
  }, []);
  useEffect(() => {
    if (details.current !== null) details.current.open = false;
  }, [path]);
  const leave = async (): Promise<void> => {
    const waiting = (await outbox.pending()).length;
    if (waiting > 0 && typed.trim().toLowerCase() !== 'yes') setAsks(waiting);
    else await signOut();
  };
  return (
    <details class="who" ref={details}>
      <summary>{membership.name.split(' ')[0]}</summary>
      <div class="own">
        <p>
          <b>{membership.name}</b>
          <br />
          <span class="small soft">
            {membership.roles.map(sayRole).join(', ')}, {membership.organisationName}
            <br />
            {me.email}
          </span>
        </p>
        <fieldset class="field">
          <legend>
            <b>Paper</b>
          </legend>
          {PAPERS.map((one) => (
            <label class="choice" key={one}>
              <input
                type="radio"
                name="paper"
                checked={paper === one}
                onChange={() => {
                  choosePaper(one as Paper);
                  setPaper(one);
                }}
              />
              {PAPER_WORDS[one]}
            </label>
          ))}
        </fieldset>
        <label class="choice">
          <input
            type="checkbox"
            checked={isLeft}
            onChange={(event) => {
              chooseHand(event.currentTarget.checked);
              setLeft(event.currentTarget.checked);
            }}
          />
          Keys for the left hand
        </label>
        {furtherPlaces(membership.roles, may, exists).map(({ href, word }) => (
          <p class="owncall" key={href}>
            <a href={href}>{word}</a>
          </p>
        ))}
        <p class="owncall">
          <a href="/rights">Who may do what</a>
        </p>
        {may('submit-facts') && (
          <p class="owncall">
            <a href="/hand-in">Hand in</a>
          </p>
        )}
        {asks !== null && (
          <div class="told">
            <label for="really">
              {sayCount(asks, 'entry is', 'entries are')} only on this device. They stay here until you sign in again. Type yes to
              sign out.
            </label>
            <input id="really" class="entry" type="text" value={typed} onInput={(event) => setTyped(event.currentTarget.value)} />
          </div>
        )}
        <button type="button" class="key" onClick={() => void leave()}>
          Sign out
        </button>
      </div>
    </details>
  );
}

/** The client's name over everything, for a person with more than one; the way to each other one is one tap. */
function Band() {
  const { me, membership, present } = useSession();
  if (me.memberships.length < 2) return null;
  return (
    <section class="band" aria-label="Organisation">
      <span>{membership.organisationName}</span>
      {me.memberships
        .filter((other) => other.organisationId !== membership.organisationId)
        .map((other) => (
          <button
            type="button"
            class="link"
            key={other.organisationId}
            onClick={() => {
              history.pushState(null, '', '/');
              present(other.organisationId);
            }}
          >
            Go to {other.organisationName}
          </button>
        ))}
    </section>
  );
}

export function Shell({ children }: { children: ComponentChildren }) {
  const session = useSession();
  const { path } = useWhere();
  const places = withHandedOver(placesFor(session), useHandedOverCount(session, path), path);
  const link = ({ href, word, isHere, waiting = 0 }: Place) => (
    <a key={href} href={href} aria-current={isHere(path) ? 'page' : undefined}>
      {waiting > 0 ? `${word} ${waiting === 999 ? '999 or more' : waiting}` : word}
    </a>
  );
  // Three on the phone; with more than that the third is the way to the others.
  const tabs = places.length <= 3 ? places : places.slice(0, 2);
  const more = places.slice(tabs.length);
  return (
    <>
      <Band />
      <header class="bar">
        <a class="name" href="/" aria-label="Heatround, to the first screen">
          <Mark name="heatround" />
          <span class="wide">Heatround</span>
        </a>
        <nav class="top" aria-label="Places">
          {places.map(link)}
        </nav>
        <span class="topstate">
          <DemoClock />
          <Safety />
        </span>
        <Own />
      </header>
      <main id="main" class="page">
        <HandedNotice personId={session.me.personId} />
        {children}
      </main>
      <nav class="tabs" aria-label="Places, at the bottom">
        {tabs.map(link)}
        {more.length > 0 && <More key={path} places={more} path={path} link={link} />}
      </nav>
    </>
  );
}

/** The other places, as a list of plain words over the row. */
function More({ places, path, link }: { places: readonly Place[]; path: string; link: (place: Place) => ComponentChildren }) {
  const [isOpen, setOpen] = useState(false);
  const key = useRef<HTMLButtonElement>(null);
  const here = places.find((place) => place.isHere(path));
  useEffect(() => {
    if (!isOpen) return;
    const shut = (event: Event): void => {
      if (event instanceof KeyboardEvent && event.key !== 'Escape') return;
      if (event.type === 'click' && (event.target as Element).closest('.tabs') !== null) return;
      setOpen(false);
      if (event instanceof KeyboardEvent) key.current?.focus();
    };
    document.addEventListener('keydown', shut);
    document.addEventListener('click', shut);
    return () => {
      document.removeEventListener('keydown', shut);
      document.removeEventListener('click', shut);
    };
  }, [isOpen]);
  return (
    <>
      <button
        type="button"
        ref={key}
        class={`link moretab${here === undefined ? '' : ' here'}`}
        aria-expanded={isOpen}
        onClick={() => setOpen(!isOpen)}
      >
        {here?.word ?? 'More'}
        <span aria-hidden="true">{isOpen ? ' ▾' : ' ▴'}</span>
      </button>
      {isOpen && <div class="moreplaces">{places.map(link)}</div>}
    </>
  );
}

/** The shell of a stop: the way out, the sentence about safety, nothing else. */
export function StopShell({ back, word, children }: { back: string; word: string; children: ComponentChildren }) {
  return (
    <div data-round class="stop">
      <Band />
      <header class="rhead">
        <a href={back}>‹ {word}</a>
        <span class="topstate">
          <DemoClock />
          <Safety />
        </span>
      </header>
      <main id="main">{children}</main>
    </div>
  );
}
