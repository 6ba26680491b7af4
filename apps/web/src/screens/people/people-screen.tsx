import type { Member, Site } from '@heatround/contract';
import { KEY_SCOPES, type KeyScope, ROLES, type Role } from '@heatround/domain';
import { useCallback, useEffect, useState } from 'preact/hooks';
import { type Answer, call, newId, Refusal, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { plainDate, sayCount, sayRole } from '../../ui/format.ts';
import './people.css';
import { MAIL_WORDS, SCOPE_WORDS } from './words.ts';

type People = Answer<'listMembers'>;
const GIVEN: readonly Role[] = ROLES.filter((role) => role !== 'service-key');
const atOnce = Intl.DateTimeFormat().resolvedOptions().timeZone;
const day = (iso: string): string => plainDate(Date.parse(iso), atOnce, Date.now());
/** The end of a day that somebody chose, where they are. */
const endOf = (date: string): string | null => (date === '' ? null : new Date(`${date}T23:59:59`).toISOString());
const dateOf = (iso: string | null): string => (iso === null ? '' : new Date(iso).toLocaleDateString('sv-SE'));

/** Everybody who belongs here, invitations that are open, and keys of programs. */
export function PeopleScreen() {
  const { may } = useSession();
  const [people, setPeople] = useState<People | null>(null);
  const [sites, setSites] = useState<readonly Site[]>([]);
  const [trouble, setTrouble] = useState<unknown>(null);
  const look = useCallback(async () => {
    try {
      setPeople(await call('listMembers', {}));
      setTrouble(null);
    } catch (failed) {
      setTrouble(failed);
    }
  }, []);
  useEffect(() => {
    void look();
    call('listSites', {}).then(
      (answer) => setSites(answer.sites),
      () => undefined,
    );
  }, [look]);
  const here = people?.members.filter(({ hasEnded }) => !hasEnded) ?? [];
  const left = people?.members.filter(({ hasEnded }) => hasEnded) ?? [];
  const heading = useOpening('People', 'people');
  if (!may('administer')) {
    return (
      <h1 class="say open" tabIndex={-1} ref={heading}>
        An administrator looks after people here.
      </h1>
    );
  }
  return (
    <div class="people">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {people === null ? 'People' : sayPeople(here, people)}
      </h1>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {people !== null && (
        <>
          <section aria-labelledby="members">
            <h2 id="members">Members</h2>
            <ul>
              {here.map((member) => (
                <MemberRow key={member.id} member={member} sites={sites} look={look} />
              ))}
            </ul>
            {left.length > 0 && (
              <p class="note">
                No longer here: {left.map(({ name, endsAt }) => `${name} (${day(endsAt!)})`).join(', ')}. Their names stay on what
                they did.
              </p>
            )}
          </section>
          <Invitations people={people} sites={sites} look={look} />
          <Keys people={people} look={look} />
          <p>
            <a href="/letters?in-trouble">Letters that did not arrive</a>
          </p>
        </>
      )}
    </div>
  );
}

function sayPeople(here: readonly Member[], { invitations }: People): string {
  const open = invitations.filter(({ hasRunOut }) => !hasRunOut).length;
  const bare = here.filter((one) => one.roles.includes('administrator') && one.hasSecondFactor === false).length;
  return `${sayCount(here.length, 'person', 'people')} ${here.length === 1 ? 'belongs' : 'belong'} here${open === 0 ? '' : `, ${open} more ${open === 1 ? 'is' : 'are'} invited`}.${
    bare === 0 ? '' : ` ${sayCount(bare, 'administrator')} without a second factor.`
  }`;
}

const saySites = (siteIds: readonly string[] | null, sites: readonly Site[]): string =>
  siteIds === null ? 'every site' : siteIds.map((id) => sites.find((site) => site.id === id)?.name ?? 'a site').join(', ');

function MemberRow({ member, sites, look }: { member: Member; sites: readonly Site[]; look: () => Promise<void> }) {
  const [open, setOpen] = useState(false);
  const { me } = useSession();
  return (
    <li class="one">
      <span>
        <b>{member.name}</b>
        <br />
        <span class="soft">{member.email ?? 'the account is gone'}</span>
      </span>
      <span>
        {member.roles.map(sayRole).join(', ')}; {saySites(member.siteIds, sites)}
        <br />
        <span class="soft">
          {member.endsAt !== null && `until ${day(member.endsAt)}; `}
          {member.hasSecondFactor === true ? 'second factor; ' : 'password only; '}
          {member.lastAt == null
            ? 'signed in nowhere'
            : `${sayCount(member.sessions ?? 0, 'device')}, last ${day(member.lastAt)}`}
        </span>
      </span>
      <span class="keyrow">
        <button type="button" class="key" aria-expanded={open} onClick={() => setOpen(!open)}>
          {open ? 'Leave it' : `Change ${member.name.split(' ')[0]}`}
        </button>
      </span>
      {open && (
        <MemberForm member={member} sites={sites} isMe={member.id === me.personId} look={look} onDone={() => setOpen(false)} />
      )}
    </li>
  );
}

/** Roles, sites and an end, as fields of a form. */
function Belongs(props: {
  roles: readonly Role[];
  onRoles: (roles: Role[]) => void;
  siteIds: readonly string[] | null;
  onSites: (siteIds: string[] | null) => void;
  until: string;
  onUntil: (until: string) => void;
  sites: readonly Site[];
  wrong: (pointer: string) => string | null;
}) {
  const flip = <T,>(all: readonly T[], one: T): T[] => (all.includes(one) ? all.filter((each) => each !== one) : [...all, one]);
  return (
    <>
      <fieldset class="field">
        <legend>Roles</legend>
        <div class="choices">
          {GIVEN.map((role) => (
            <label class="choice" key={role}>
              <input
                type="checkbox"
                checked={props.roles.includes(role)}
                onChange={() => props.onRoles(flip(props.roles, role))}
              />
              {sayRole(role)}
            </label>
          ))}
        </div>
        {props.wrong('roles') !== null && <span class="wrong">{props.wrong('roles')}</span>}
      </fieldset>
      {props.sites.length > 1 && (
        <fieldset class="field">
          <legend>Sites</legend>
          <div class="choices">
            <label class="choice">
              <input
                type="checkbox"
                checked={props.siteIds === null}
                onChange={() => props.onSites(props.siteIds === null ? [] : null)}
              />
              every site
            </label>
            {props.siteIds !== null &&
              props.sites.map((site) => (
                <label class="choice" key={site.id}>
                  <input
                    type="checkbox"
                    checked={props.siteIds!.includes(site.id)}
                    onChange={() => props.onSites(flip(props.siteIds!, site.id))}
                  />
                  {site.name}
                </label>
              ))}
          </div>
          {props.wrong('siteIds') !== null && <span class="wrong">Choose at least one site, or every site.</span>}
        </fieldset>
      )}
      <Field
        label="Until the end of"
        hint="Empty: without an end. Contractors and guests should have one."
        wrong={props.wrong('endsAt')}
      >
        {(aria) => (
          <input
            {...aria}
            class="entry"
            type="date"
            value={props.until}
            onInput={(event) => props.onUntil(event.currentTarget.value)}
          />
        )}
      </Field>
    </>
  );
}

function MemberForm(props: {
  member: Member;
  sites: readonly Site[];
  isMe: boolean;
  look: () => Promise<void>;
  onDone: () => void;
}) {
  const { member } = props;
  const [name, setName] = useState(member.name);
  const [roles, setRoles] = useState<readonly Role[]>(member.roles);
  const [siteIds, setSiteIds] = useState<readonly string[] | null>(member.siteIds);
  const [until, setUntil] = useState(dateOf(member.endsAt));
  const [trouble, setTrouble] = useState<unknown>(null);
  const [asks, setAsks] = useState(false);
  const wrong = (pointer: string): string | null => (trouble instanceof Refusal ? trouble.at(pointer) : null);
  const work = async (todo: () => Promise<unknown>): Promise<void> => {
    setTrouble(null);
    try {
      await todo();
      await props.look();
      props.onDone();
    } catch (failed) {
      setTrouble(failed);
    }
  };
  const params = { personId: member.id };
  return (
    <form
      class="sheetform"
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        void work(() =>
          call('changeMember', {
            params,
            body: {
              name,
              roles: roles.filter((role): role is Exclude<Role, 'service-key'> => role !== 'service-key'),
              siteIds: siteIds === null ? null : [...siteIds],
              ...(until === dateOf(member.endsAt) ? {} : { endsAt: endOf(until) }),
            },
          }),
        );
      }}
    >
      <Field label="Name" wrong={wrong('name')}>
        {(aria) => (
          <input
            {...aria}
            class="entry"
            type="text"
            maxLength={200}
            value={name}
            onInput={(event) => setName(event.currentTarget.value)}
          />
        )}
      </Field>
      <Belongs
        roles={roles}
        onRoles={setRoles}
        siteIds={siteIds}
        onSites={setSiteIds}
        until={until}
        onUntil={setUntil}
        sites={props.sites}
        wrong={wrong}
      />
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      <div class="keyrow">
        <button type="submit" class="key main">
          Save the change
        </button>
        <button type="button" class="key" onClick={() => void work(() => call('endMemberSessions', { params }))}>
          Sign out everywhere
        </button>
        {member.hasSecondFactor === true && !props.isMe && (
          <button type="button" class="key" onClick={() => void work(() => call('liftSecondFactor', { params }))}>
            Take the second factor off
          </button>
        )}
        {asks ? (
          <button type="button" class="key main" onClick={() => void work(() => call('endMember', { params }))}>
            Yes, end it now
          </button>
        ) : (
          <button type="button" class="key" onClick={() => setAsks(true)}>
            End the membership
          </button>
        )}
      </div>
      {asks && (
        <p class="note" role="status">
          {member.name} sees nothing of this organisation any more. What their devices still hold can be handed over for 14 days.
        </p>
      )}
    </form>
  );
}

function Invitations({ people, sites, look }: { people: People; sites: readonly Site[]; look: () => Promise<void> }) {
  const [open, setOpen] = useState(false);
  const [link, setLink] = useState<{ name: string; link: string } | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  return (
    <section aria-labelledby="invitations">
      <h2 id="invitations">Invitations</h2>
      {people.invitations.length === 0 && !open && <p class="note">Nobody is invited at present.</p>}
      <ul>
        {people.invitations.map((one) => (
          <li class="one" key={one.id}>
            <span>
              <b>{one.name}</b>
              <br />
              <span class="soft">{one.email}</span>
            </span>
            <span>
              {one.roles.map(sayRole).join(', ')}; {saySites(one.siteIds, sites)}
              <br />
              <span class="soft">
                {one.hasRunOut ? `ran out ${day(one.runsOutAt)}` : `good until ${day(one.runsOutAt)}`}
                {one.mail !== null && `; letter: ${MAIL_WORDS[one.mail.state]}`}
                {one.mail?.state === 'refused' && one.mail.answer !== null && ` (${one.mail.answer})`}
              </span>
            </span>
            <span class="keyrow">
              <button
                type="button"
                class="key"
                onClick={() =>
                  void call('withdrawInvitation', { params: { invitationId: one.id } }).then(look, (failed) => setTrouble(failed))
                }
              >
                Take it back
              </button>
            </span>
          </li>
        ))}
      </ul>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {link !== null && (
        <p class="told" role="status">
          {link.name} is invited. The letter carries this link; where no mail goes out, hand it over yourself. It is shown only
          now: <code class="once">{link.link}</code>
        </p>
      )}
      {open ? (
        <InviteForm
          sites={sites}
          onDone={() => setOpen(false)}
          onInvited={(made) => {
            setLink(made);
            setOpen(false);
            void look();
          }}
        />
      ) : (
        <div class="keyrow">
          <button type="button" class="key main" onClick={() => setOpen(true)}>
            Invite somebody
          </button>
        </div>
      )}
    </section>
  );
}

function InviteForm(props: {
  sites: readonly Site[];
  onDone: () => void;
  onInvited: (made: { name: string; link: string }) => void;
}) {
  // The same id when the form is sent again after a break: one invitation.
  const [id] = useState(newId);
  const [fields, setFields] = useState({ name: '', email: '' });
  const [language, setLanguage] = useState<'en' | 'de'>('en');
  const [roles, setRoles] = useState<readonly Role[]>(['technician']);
  const [siteIds, setSiteIds] = useState<readonly string[] | null>(null);
  const [until, setUntil] = useState('');
  const [trouble, setTrouble] = useState<unknown>(null);
  const wrong = (pointer: string): string | null => (trouble instanceof Refusal ? trouble.at(pointer) : null);
  const typed = (key: keyof typeof fields) => (event: { currentTarget: HTMLInputElement }) =>
    setFields({ ...fields, [key]: event.currentTarget.value });
  const send = async (event: Event): Promise<void> => {
    event.preventDefault();
    setTrouble(null);
    try {
      const made = await call('invite', {
        body: {
          id,
          ...fields,
          email: fields.email.trim(),
          language,
          roles: roles.filter((role): role is Exclude<Role, 'service-key'> => role !== 'service-key'),
          siteIds: siteIds === null ? null : [...siteIds],
          endsAt: endOf(until),
        },
      });
      props.onInvited({ name: fields.name, link: made.link });
    } catch (failed) {
      setTrouble(failed);
    }
  };
  return (
    <form class="sheetform" noValidate onSubmit={(event) => void send(event)}>
      <div class="row2">
        <Field label="Name" wrong={wrong('name')}>
          {(aria) => <input {...aria} class="entry" type="text" maxLength={200} value={fields.name} onInput={typed('name')} />}
        </Field>
        <Field label="E-mail" wrong={wrong('email')}>
          {(aria) => (
            <input {...aria} class="entry" type="email" autocapitalize="none" value={fields.email} onInput={typed('email')} />
          )}
        </Field>
      </div>
      <Belongs
        roles={roles}
        onRoles={setRoles}
        siteIds={siteIds}
        onSites={setSiteIds}
        until={until}
        onUntil={setUntil}
        sites={props.sites}
        wrong={wrong}
      />
      <Field label="Language of letters">
        {(aria) => (
          <select
            {...aria}
            class="entry"
            value={language}
            onChange={(event) => setLanguage(event.currentTarget.value as 'en' | 'de')}
          >
            <option value="en">English</option>
            <option value="de">Deutsch</option>
          </select>
        )}
      </Field>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      <div class="keyrow">
        <button type="submit" class="key main">
          Invite
        </button>
        <button type="button" class="key" onClick={props.onDone}>
          Leave it
        </button>
      </div>
    </form>
  );
}

function Keys({ people, look }: { people: People; look: () => Promise<void> }) {
  const [open, setOpen] = useState(false);
  const [told, setTold] = useState<{ name: string; key: string } | null>(null);
  const [name, setName] = useState('');
  const [scopes, setScopes] = useState<readonly KeyScope[]>(['see']);
  const [until, setUntil] = useState('');
  const [trouble, setTrouble] = useState<unknown>(null);
  const wrong = (pointer: string): string | null => (trouble instanceof Refusal ? trouble.at(pointer) : null);
  const make = async (event: Event): Promise<void> => {
    event.preventDefault();
    setTrouble(null);
    try {
      const made = await call('makeKey', { body: { name, scopes: [...scopes], endsAt: endOf(until) ?? '' } });
      setTold({ name, key: made.key });
      setOpen(false);
      setName('');
      await look();
    } catch (failed) {
      setTrouble(failed);
    }
  };
  return (
    <section aria-labelledby="keys">
      <h2 id="keys">Keys for programs</h2>
      {people.keys.length === 0 && !open && (
        <p class="note">
          No program calls on this organisation. A key lets one hand in readings or look, without a person signing in.
        </p>
      )}
      <ul>
        {people.keys.map((one) => (
          <li class="one" key={one.id}>
            <b>{one.name}</b>
            <span>
              may {one.scopes.map((scope) => SCOPE_WORDS[scope]).join(', ')}
              <br />
              <span class="soft">
                {one.endsAt === null ? '' : one.hasEnded ? `ended ${day(one.endsAt)}` : `until ${day(one.endsAt)}`};{' '}
                {one.lastUsedAt === null ? 'never used' : `last used ${day(one.lastUsedAt)}`}
              </span>
            </span>
            <span class="keyrow">
              {!one.hasEnded && (
                <button
                  type="button"
                  class="key"
                  onClick={() =>
                    void call('withdrawKey', { params: { keyId: one.id } }).then(look, (failed) => setTrouble(failed))
                  }
                >
                  Withdraw {one.name}
                </button>
              )}
            </span>
          </li>
        ))}
      </ul>
      {told !== null && (
        <p class="told" role="status">
          The key of {told.name} is shown only now: <code class="once">{told.key}</code>
        </p>
      )}
      {open ? (
        <form class="sheetform" noValidate onSubmit={(event) => void make(event)}>
          <Field label="Name of the program" hint="It stands beside everything it hands in." wrong={wrong('name')}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                maxLength={200}
                value={name}
                onInput={(event) => setName(event.currentTarget.value)}
              />
            )}
          </Field>
          <fieldset class="field">
            <legend>It may</legend>
            <div class="choices">
              {KEY_SCOPES.map((scope) => (
                <label class="choice" key={scope}>
                  <input
                    type="checkbox"
                    checked={scopes.includes(scope)}
                    onChange={() =>
                      setScopes(scopes.includes(scope) ? scopes.filter((one) => one !== scope) : [...scopes, scope])
                    }
                  />
                  {SCOPE_WORDS[scope]}
                </label>
              ))}
            </div>
          </fieldset>
          <Field label="Until the end of" hint="A key has an end; make a new one then." wrong={wrong('endsAt')}>
            {(aria) => (
              <input {...aria} class="entry" type="date" value={until} onInput={(event) => setUntil(event.currentTarget.value)} />
            )}
          </Field>
          {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
          <div class="keyrow">
            <button type="submit" class="key main">
              Make the key
            </button>
            <button type="button" class="key" onClick={() => setOpen(false)}>
              Leave it
            </button>
          </div>
        </form>
      ) : (
        <div class="keyrow">
          <button type="button" class="key" onClick={() => setOpen(true)}>
            Make a key
          </button>
        </div>
      )}
    </section>
  );
}
