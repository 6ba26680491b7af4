import { useEffect, useState } from 'preact/hooks';
import { type Answer, call, Refusal, sayTrouble } from '../../client/index.ts';
import { useOpening } from '../../shell/title.ts';
import { Field, PasswordField, Told } from '../../ui/field.tsx';
import { sayRole } from '../../ui/format.ts';
import { Mark } from '../../ui/marks.tsx';
import { useWork } from '../../ui/work.ts';

/** What a link from a letter opens, without a session. */
export function Doors({ path }: { path: string }) {
  // The token stands behind the #, so that no server and no log on the way ever sees it.
  const [token] = useState(() => location.hash.slice(1));
  if (path === '/invitation') return <Invitation token={token} />;
  if (path === '/new-password') return <NewPassword token={token} />;
  if (path === '/forgotten') return <Forgotten />;
  return <Unsubscribe token={decodeURIComponent(path.slice('/unsubscribe/'.length))} />;
}

function Page({ title, children }: { title: string; children: preact.ComponentChildren }) {
  const heading = useOpening(title, title);
  return (
    <main id="main" class="page door">
      <p class="doorname">
        <Mark name="heatround" /> Heatround
      </p>
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {title}
      </h1>
      {children}
    </main>
  );
}

const wrongAt = (trouble: unknown, pointer: string): string | null => (trouble instanceof Refusal ? trouble.at(pointer) : null);

const NEW_PASSWORD = {
  label: 'New password',
  hint: 'At least 10 characters; a short sentence is easy to keep in mind.',
  kind: 'new-password',
} as const;

function Invitation({ token }: { token: string }) {
  const [asked, setAsked] = useState<Answer<'lookAtInvitation'> | null>(null);
  const [refused, setRefused] = useState<unknown>(null);
  const [password, setPassword] = useState('');
  const [done, setDone] = useState<string | null>(null);
  const { isBusy, trouble, work } = useWork();
  useEffect(() => {
    call('lookAtInvitation', { body: { token } }).then(setAsked, setRefused);
  }, [token]);
  if (refused !== null) {
    return (
      <Page title="This invitation opens nothing.">
        <Told>{sayTrouble(refused)}</Told>
      </Page>
    );
  }
  if (asked === null) return null;
  if (done !== null || asked.isAccepted) {
    return (
      <Page title={`You belong to ${asked.organisation}.`}>
        <p>
          <a class="key main touch" href="/">
            Sign in as {done ?? asked.email}
          </a>
        </p>
      </Page>
    );
  }
  const accept = (event: Event): Promise<void> =>
    work(event, async () => {
      const answer = await call('acceptInvitation', { body: { token, ...(asked.hasAccount ? {} : { password }) } });
      setDone(answer.email);
    });
  return (
    <Page title={`${asked.organisation} invites you, ${asked.name}.`}>
      <p>You will be there as {asked.roles.map(sayRole).join(', ')}.</p>
      <form onSubmit={(event) => void accept(event)} noValidate>
        {asked.hasAccount ? (
          <p>
            {asked.email} has an account here already. Be <a href="/">signed in</a> with it on this device, then press the key.
          </p>
        ) : (
          <>
            <p class="note">You sign in with {asked.email}.</p>
            <PasswordField {...NEW_PASSWORD} value={password} onInput={setPassword} wrong={wrongAt(trouble, 'password')} />
          </>
        )}
        {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
        <div class="keyrow">
          <button class="key main touch" type="submit" disabled={isBusy}>
            Take up the invitation
          </button>
        </div>
      </form>
    </Page>
  );
}

function NewPassword({ token }: { token: string }) {
  const [password, setPassword] = useState('');
  const [done, setDone] = useState<string | null>(null);
  const { isBusy, trouble, work } = useWork();
  if (done !== null) {
    return (
      <Page title="Your new password is set.">
        <p>Every device was signed out. What was entered on them is kept there.</p>
        <p>
          <a class="key main touch" href="/">
            Sign in as {done}
          </a>
        </p>
      </Page>
    );
  }
  return (
    <Page title="Set a new password.">
      <form
        onSubmit={(event) =>
          void work(event, async () => setDone((await call('renewPassword', { body: { token, password } })).email))
        }
        noValidate
      >
        <PasswordField {...NEW_PASSWORD} value={password} onInput={setPassword} wrong={wrongAt(trouble, 'password')} />
        {trouble !== null && (
          <Told>
            {sayTrouble(trouble)} <a href="/forgotten">Ask for a new link</a>
          </Told>
        )}
        <div class="keyrow">
          <button class="key main touch" type="submit" disabled={isBusy}>
            Set it
          </button>
        </div>
      </form>
    </Page>
  );
}

function Forgotten() {
  const [email, setEmail] = useState('');
  const [done, setDone] = useState(false);
  const { isBusy, trouble, work } = useWork();
  if (done) {
    return (
      <Page title="If this address is known here, a letter is on its way.">
        <p>Its link is good for an hour. Nothing comes? Ask your administrator, who can see which letters did not arrive.</p>
        <p>
          <a href="/">Back to signing in</a>
        </p>
      </Page>
    );
  }
  return (
    <Page title="A new password, by mail.">
      <form
        onSubmit={(event) =>
          void work(event, async () => {
            await call('forgotPassword', { body: { email: email.trim() } });
            setDone(true);
          })
        }
        noValidate
      >
        <Field label="E-mail" wrong={wrongAt(trouble, 'email')}>
          {(aria) => (
            <input
              {...aria}
              class="entry"
              type="email"
              autocomplete="username"
              autocapitalize="none"
              value={email}
              onInput={(event) => setEmail(event.currentTarget.value)}
            />
          )}
        </Field>
        {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
        <div class="keyrow">
          <button class="key main touch" type="submit" disabled={isBusy}>
            Send me a link
          </button>
        </div>
        <p>
          <a href="/">Back to signing in</a>
        </p>
      </form>
    </Page>
  );
}

function Unsubscribe({ token }: { token: string }) {
  const [done, setDone] = useState<string | null>(null);
  const { isBusy, trouble, work } = useWork();
  if (done !== null) {
    return (
      <Page title={`No more daily letters from ${done}.`}>
        <p>What is due stands in Heatround as before. You can have the letters again under your name, My settings.</p>
      </Page>
    );
  }
  return (
    <Page title="Stop the daily letters?">
      <form
        onSubmit={(event) => void work(event, async () => setDone((await call('unsubscribe', { body: { token } })).organisation))}
      >
        <p>Rounds, repairs and answers stay as they are; only the letter about them stops.</p>
        {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
        <div class="keyrow">
          <button class="key main touch" type="submit" disabled={isBusy}>
            Stop them
          </button>
        </div>
      </form>
    </Page>
  );
}
