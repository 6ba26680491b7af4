import { useState } from 'preact/hooks';
import { call, Refusal, sayTrouble } from '../../client/index.ts';
import type { Door } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { UnsentHere } from '../../shell/unsent.tsx';
import { Field, PasswordField, Told } from '../../ui/field.tsx';
import { Mark } from '../../ui/marks.tsx';

export function SignIn({ why, enter }: Door) {
  const heading = useOpening('Sign in');
  const [email, setEmail] = useState('');
  const [password, setPassword] = useState('');
  /** Null: the password comes first; otherwise the code of the second factor is asked for. */
  const [code, setCode] = useState<string | null>(null);
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);

  const signIn = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (isBusy) return;
    setBusy(true);
    setTrouble(null);
    const askedAt = Date.now();
    try {
      const answer =
        code === null
          ? await call('signIn', { body: { email: email.trim(), password } })
          : await call('signInSecond', { body: { code: code.trim() } });
      if ('needsCode' in answer) {
        setCode('');
        setBusy(false);
      } else enter(answer, askedAt);
    } catch (refused) {
      setTrouble(refused);
      setBusy(false);
    }
  };
  const at = (pointer: string): string | null => (trouble instanceof Refusal ? trouble.at(pointer) : null);
  return (
    <main id="main" class="page door">
      <p class="doorname">
        <Mark name="heatround" /> Heatround
      </p>
      <h1 class="say open" tabIndex={-1} ref={heading}>
        Sign in to see what your machines say.
      </h1>
      {why !== null && <Told>{why}</Told>}
      <form onSubmit={(event) => void signIn(event)} noValidate>
        {code === null ? (
          <>
            <Field label="E-mail" wrong={at('email')}>
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
            <PasswordField
              label="Password"
              kind="current-password"
              value={password}
              onInput={setPassword}
              wrong={at('password')}
            />
          </>
        ) : (
          <Field
            label="Code"
            hint="The six figures that your second factor shows now, or one of your spare codes."
            wrong={at('code')}
          >
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                inputMode="numeric"
                autocomplete="one-time-code"
                value={code}
                // biome-ignore lint/a11y/noAutofocus: the code is the one thing asked for now
                autoFocus
                onInput={(event) => setCode(event.currentTarget.value)}
              />
            )}
          </Field>
        )}
        {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
        <div class="keyrow">
          <button class="key main touch" type="submit" disabled={isBusy}>
            {isBusy ? 'Signing in' : 'Sign in'}
          </button>
          {code !== null && (
            <button
              class="key touch"
              type="button"
              onClick={() => {
                setCode(null);
                setTrouble(null);
              }}
            >
              Begin again
            </button>
          )}
        </div>
        {code === null && (
          <p>
            <a href="/forgotten">Forgotten the password?</a>
          </p>
        )}
      </form>
      <UnsentHere />
    </main>
  );
}
