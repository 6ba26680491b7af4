import type { ComponentChildren } from 'preact';
import { useId } from 'preact/hooks';

export interface Aria {
  readonly id: string;
  readonly 'aria-describedby'?: string | undefined;
  readonly 'aria-invalid'?: 'true' | undefined;
}

/** A labelled field: what is expected stands below it before anything goes wrong, and what was wrong stands there after. */
export function Field(props: {
  label: ComponentChildren;
  hint?: ComponentChildren;
  wrong?: string | null | undefined;
  children: (aria: Aria) => ComponentChildren;
}) {
  const id = useId();
  const about = [props.hint ? `${id}-hint` : '', props.wrong ? `${id}-wrong` : ''].filter(Boolean).join(' ');
  const aria: Aria = {
    id,
    ...(about === '' ? {} : { 'aria-describedby': about }),
    ...(props.wrong ? { 'aria-invalid': 'true' as const } : {}),
  };
  return (
    <div class="field">
      <label for={id}>{props.label}</label>
      {props.hint && (
        <span class="hint" id={`${id}-hint`}>
          {props.hint}
        </span>
      )}
      {props.children(aria)}
      {props.wrong && (
        <span class="wrong" id={`${id}-wrong`}>
          {props.wrong}
        </span>
      )}
    </div>
  );
}

/** The present password, or a new one, as password managers tell them apart. */
export function PasswordField(props: {
  label: string;
  hint?: string;
  wrong: string | null;
  value: string;
  onInput: (text: string) => void;
  kind: 'current-password' | 'new-password';
}) {
  return (
    <Field label={props.label} hint={props.hint} wrong={props.wrong}>
      {(aria) => (
        <input
          {...aria}
          class="entry"
          type="password"
          autocomplete={props.kind}
          value={props.value}
          onInput={(event) => props.onInput(event.currentTarget.value)}
        />
      )}
    </Field>
  );
}

/** What happened, what is kept, what to do; read out at once. */
export const Told = ({ children }: { children: ComponentChildren }) => (
  <p class="told" role="alert">
    {children}
  </p>
);
