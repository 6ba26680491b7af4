import { useCallback, useEffect, useState } from 'preact/hooks';
import { type Answer, call, Refusal, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, PasswordField, Told } from '../../ui/field.tsx';
import { clockTime, plainDate, sayCount } from '../../ui/format.ts';
import { useWork } from '../../ui/work.ts';
import './people.css';

const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
const moment = (iso: string): string => `${plainDate(Date.parse(iso), here, Date.now())}, ${clockTime(Date.parse(iso), here)}`;
const wrongAt = (trouble: unknown, pointer: string): string | null => (trouble instanceof Refusal ? trouble.at(pointer) : null);

/** How one is written to, the devices one is signed in on, password and second factor. */
export function MeScreen() {
  const { membership } = useSession();
  const [account, setAccount] = useState<Answer<'mySessions'> | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const look = useCallback(
    () =>
      call('mySessions', {}).then(
        (answer) => setAccount(answer),
        (failed) => setTrouble(failed),
      ),
    [],
  );
  useEffect(() => {
    void look();
  }, [look]);
  const heading = useOpening('My settings', 'me');
  return (
    <div class="people">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {account === null
          ? 'My settings'
          : `You are signed in on ${sayCount(account.sessions.length, 'device')}, ${account.hasSecondFactor ? 'with' : 'without'} a second factor.`}
      </h1>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      <LetterSettings organisation={membership.organisationName} />
      {account !== null && <Devices account={account} look={look} />}
      {account !== null && <SecondFactor account={account} look={look} />}
      <Password look={look} />
    </div>
  );
}

function LetterSettings({ organisation }: { organisation: string }) {
  const [settings, setSettings] = useState<Answer<'getMailSettings'> | null>(null);
  const [fields, setFields] = useState({ at: '', zone: '' });
  const [trouble, setTrouble] = useState<unknown>(null);
  const [said, setSaid] = useState('');
  const show = (one: Answer<'getMailSettings'>): void => {
    const two = (figure: number): string => String(figure).padStart(2, '0');
    setSettings(one);
    setFields({ at: `${two(Math.floor(one.atMinutes / 60))}:${two(one.atMinutes % 60)}`, zone: one.zone ?? '' });
  };
  useEffect(() => {
    call('getMailSettings', {}).then(show, setTrouble);
  }, []);
  const save = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (settings === null) return;
    setTrouble(null);
    setSaid('');
    const [hours = '6', minutes = '0'] = fields.at.split(':');
    try {
      const { language, wanted } = settings;
      const zone = fields.zone.trim() === '' ? null : fields.zone.trim();
      const body = { language, wanted, atMinutes: Number(hours) * 60 + Number(minutes), zone };
      show(await call('changeMailSettings', { body }));
      setSaid('Saved.');
    } catch (failed) {
      setTrouble(failed);
    }
  };
  return (
    <section aria-labelledby="mail-settings">
      <h2 id="mail-settings">The daily letter from {organisation}</h2>
      {settings !== null && (
        <form class="sheetform" noValidate onSubmit={(event) => void save(event)}>
          <label class="choice">
            <input
              type="checkbox"
              checked={settings.wanted}
              onChange={(event) => setSettings({ ...settings, wanted: event.currentTarget.checked })}
            />
            Write to me when something is due for me, once a day
          </label>
          <div class="row2">
            <Field
              label="At"
              hint={`By the clock of ${fields.zone || settings.siteZone || 'UTC'}.`}
              wrong={wrongAt(trouble, 'atMinutes')}
            >
              {(aria) => (
                <input
                  {...aria}
                  class="entry"
                  type="time"
                  value={fields.at}
                  onInput={(event) => setFields({ ...fields, at: event.currentTarget.value })}
                />
              )}
            </Field>
            <Field
              label="Time zone"
              hint="Empty: that of your site. Else a name such as Europe/Dublin."
              wrong={wrongAt(trouble, 'zone')}
            >
              {(aria) => (
                <input
                  {...aria}
                  class="entry"
                  type="text"
                  spellcheck={false}
                  maxLength={60}
                  value={fields.zone}
                  onInput={(event) => setFields({ ...fields, zone: event.currentTarget.value })}
                />
              )}
            </Field>
          </div>
          <Field label="Language">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={settings.language}
                onChange={(event) => setSettings({ ...settings, language: event.currentTarget.value as 'en' | 'de' })}
              >
                <option value="en">English</option>
                <option value="de">Deutsch</option>
              </select>
            )}
          </Field>
          <div class="keyrow">
            <button type="submit" class="key main">
              Save the letter
            </button>
            <a class="key" href="/letters?mine">
              Letters to me
            </a>
          </div>
          <p class="note" role="status">
            {said}
          </p>
        </form>
      )}
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
    </section>
  );
}

/** The kind of device, from what its browser calls itself. */
function sayDevice(device: string | null): string {
  if (device === null || device === '') return 'a device that says nothing of itself';
  const kind = /android/i.test(device)
    ? 'Android'
    : /iphone|ipad/i.test(device)
      ? 'iPhone or iPad'
      : /windows/i.test(device)
        ? 'Windows'
        : /mac os/i.test(device)
          ? 'Mac'
          : /linux/i.test(device)
            ? 'Linux'
            : null;
  return kind ?? device.slice(0, 60);
}

function Devices({ account, look }: { account: Answer<'mySessions'>; look: () => Promise<void> }) {
  const [trouble, setTrouble] = useState<unknown>(null);
  return (
    <section aria-labelledby="devices">
      <h2 id="devices">Devices</h2>
      <ul>
        {account.sessions.map((one) => (
          <li class="one" key={one.key}>
            <b>
              {sayDevice(one.device)}
              {one.isThis && ', this one'}
            </b>
            <span class="soft">
              since {moment(one.since)}, last {moment(one.lastAt)}
            </span>
            <span class="keyrow">
              {!one.isThis && (
                <button
                  type="button"
                  class="key"
                  onClick={() => void call('endMySession', { body: { key: one.key } }).then(look, (failed) => setTrouble(failed))}
                >
                  Sign it out
                </button>
              )}
            </span>
          </li>
        ))}
      </ul>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
    </section>
  );
}

function SecondFactor({ account, look }: { account: Answer<'mySessions'>; look: () => Promise<void> }) {
  const [password, setPassword] = useState('');
  const [code, setCode] = useState('');
  const [begun, setBegun] = useState<Answer<'beginSecondFactor'> | null>(null);
  const [said, setSaid] = useState('');
  const { trouble, work } = useWork();
  const begin = async (): Promise<void> => {
    setSaid('');
    setBegun(await call('beginSecondFactor', { body: { password } }));
    setPassword('');
  };
  const confirm = async (): Promise<void> => {
    setSaid('');
    await call('confirmSecondFactor', { body: { code } });
    setBegun(null);
    setCode('');
    setSaid('From now on the code is asked for when you sign in.');
    await look();
  };
  const end = async (): Promise<void> => {
    setSaid('');
    await call('endSecondFactor', { body: { password } });
    setPassword('');
    setSaid('Signing in asks for the password alone again.');
    await look();
  };
  return (
    <section aria-labelledby="second">
      <h2 id="second">Second factor</h2>
      {begun === null ? (
        <form class="sheetform" noValidate onSubmit={(event) => void work(event, account.hasSecondFactor ? end : begin)}>
          <p>
            {account.hasSecondFactor
              ? 'Signing in asks for your password and a code.'
              : 'With it, a stolen password alone opens nothing. You need an app on your phone that shows codes (TOTP).'}
          </p>
          <PasswordField
            label="Your password"
            kind="current-password"
            value={password}
            onInput={setPassword}
            wrong={wrongAt(trouble, 'password')}
          />
          <div class="keyrow">
            <button type="submit" class="key">
              {account.hasSecondFactor ? 'Do without it again' : 'Set it up'}
            </button>
          </div>
        </form>
      ) : (
        <form class="sheetform" noValidate onSubmit={(event) => void work(event, confirm)}>
          <p>
            1. Give the app this key, or on the phone itself <a href={begun.uri}>open it in the app</a>:{' '}
            <code class="once">{begun.secret}</code>
          </p>
          <p>
            2. Write these spare codes down and keep them apart from the phone. Each works once, when the phone is lost:{' '}
            <code class="once">{begun.spareCodes.join(' ')}</code>
          </p>
          <Field label="3. The code that the app shows now" wrong={wrongAt(trouble, 'code')}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                inputMode="numeric"
                autocomplete="one-time-code"
                value={code}
                onInput={(event) => setCode(event.currentTarget.value)}
              />
            )}
          </Field>
          <div class="keyrow">
            <button type="submit" class="key main">
              Use it from now on
            </button>
            <button type="button" class="key" onClick={() => setBegun(null)}>
              Leave it
            </button>
          </div>
        </form>
      )}
      <p class="note" role="status">
        {said}
      </p>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
    </section>
  );
}

function Password({ look }: { look: () => Promise<void> }) {
  const [fields, setFields] = useState({ present: '', next: '' });
  const [said, setSaid] = useState('');
  const { trouble, work } = useWork();
  const save = (event: Event): Promise<void> => {
    setSaid('');
    return work(event, async () => {
      await call('changePassword', { body: fields });
      setFields({ present: '', next: '' });
      setSaid('Changed. Your other devices were signed out.');
      await look();
    });
  };
  return (
    <section aria-labelledby="password">
      <h2 id="password">Password</h2>
      <form class="sheetform" noValidate onSubmit={(event) => void save(event)}>
        <div class="row2">
          <PasswordField
            label="Present password"
            kind="current-password"
            value={fields.present}
            onInput={(present) => setFields({ ...fields, present })}
            wrong={wrongAt(trouble, 'present')}
          />
          <PasswordField
            label="New password"
            hint="At least 10 characters."
            kind="new-password"
            value={fields.next}
            onInput={(next) => setFields({ ...fields, next })}
            wrong={wrongAt(trouble, 'next')}
          />
        </div>
        {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
        <div class="keyrow">
          <button type="submit" class="key">
            Change the password
          </button>
        </div>
        <p class="note" role="status">
          {said}
        </p>
      </form>
    </section>
  );
}
