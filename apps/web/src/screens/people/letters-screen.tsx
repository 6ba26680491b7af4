import { useEffect, useState } from 'preact/hooks';
import { type Answer, call, sayTrouble } from '../../client/index.ts';
import { useWhere } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Told } from '../../ui/field.tsx';
import { clockTime, plainDate, sayCount } from '../../ui/format.ts';
import './people.css';
import { MAIL_WORDS } from './words.ts';

const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
const moment = (iso: string): string => `${plainDate(Date.parse(iso), zone, Date.now())}, ${clockTime(Date.parse(iso), zone)}`;
type Which = 'mine' | 'all' | 'in-trouble';

/** Letters that were written: one's own; for an administrator everybody's, and those that did not arrive. */
export function LettersScreen() {
  const { may } = useSession();
  const { search } = useWhere();
  const isAdministrator = may('administer');
  const which: Which = !isAdministrator ? 'mine' : search.has('in-trouble') ? 'in-trouble' : search.has('mine') ? 'mine' : 'all';
  const [found, setFound] = useState<Answer<'listMail'> | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  useEffect(() => {
    setFound(null);
    call('listMail', { query: { which } }).then(setFound, setTrouble);
  }, [which]);
  const heading = useOpening('Letters', `letters ${which}`);
  const more = async (): Promise<void> => {
    if (found?.next == null) return;
    try {
      const next = await call('listMail', { query: { which, after: found.next } });
      setFound({ mail: [...found.mail, ...next.mail], next: next.next });
    } catch (failed) {
      setTrouble(failed);
    }
  };
  return (
    <div class="people">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {found === null ? 'Letters' : sayLetters(found, which)}
      </h1>
      {isAdministrator && (
        <p>
          {which === 'all' ? <b>All</b> : <a href="/letters">All</a>} ·{' '}
          {which === 'in-trouble' ? <b>Did not arrive</b> : <a href="/letters?in-trouble">Did not arrive</a>} ·{' '}
          {which === 'mine' ? <b>To me</b> : <a href="/letters?mine">To me</a>}
        </p>
      )}
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {found !== null && (
        <ul>
          {found.mail.map((one) => (
            <li class="one" key={one.id}>
              <span>
                <a href={`/letters/${one.id}`}>{one.kind === 'invitation' ? 'Invitation' : one.subject}</a>
                <br />
                <span class="soft">{one.to}</span>
              </span>
              <span>
                {MAIL_WORDS[one.state]}
                {one.answer !== null && one.state !== 'kept' && <span class="soft">: {one.answer}</span>}
                <br />
                <span class="soft">
                  {moment(one.madeAt)}
                  {one.attempts > 1 && `, ${one.attempts} tries`}
                </span>
              </span>
            </li>
          ))}
        </ul>
      )}
      {found?.next != null && (
        <div class="keyrow">
          <button type="button" class="key" onClick={() => void more()}>
            Show older ones
          </button>
        </div>
      )}
      {which === 'mine' && (
        <p class="note">
          A letter comes once a day, when something is due for you. <a href="/me">Change hour and language, or stop it</a>.
        </p>
      )}
    </div>
  );
}

function sayLetters({ mail, next }: Answer<'listMail'>, which: Which): string {
  const many = next === null ? sayCount(mail.length, 'letter') : `The newest ${mail.length} letters`;
  if (which === 'in-trouble')
    return mail.length === 0 ? 'Every letter arrived, as far as mail servers say.' : `${many} did not arrive, or nobody knows.`;
  if (mail.length === 0) return which === 'mine' ? 'No letter was written to you yet.' : 'No letter was written yet.';
  return which === 'mine' ? `${many} to you.` : `${many} from here.`;
}

/** One letter as it was written. */
export function LetterScreen({ parameters }: { parameters: Record<string, string> }) {
  const [letter, setLetter] = useState<Answer<'getMail'> | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const mailId = parameters.mailId ?? '';
  useEffect(() => {
    call('getMail', { params: { mailId } }).then(setLetter, setTrouble);
  }, [mailId]);
  const heading = useOpening(letter?.subject || 'Letter', mailId);
  return (
    <div class="people">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {letter === null ? 'Letter' : letter.kind === 'invitation' ? `An invitation to ${letter.to}` : letter.subject}
      </h1>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {letter !== null && (
        <>
          <p class="note">
            To {letter.to}, {moment(letter.madeAt)}: {MAIL_WORDS[letter.state]}
            {letter.answer !== null && ` (${letter.answer})`}.
          </p>
          {letter.kind === 'invitation' ? (
            <p>Its words are not kept, since whoever holds its link can join.</p>
          ) : (
            <pre class="letter">{letter.text}</pre>
          )}
        </>
      )}
      <p>
        <a href="/letters">All letters</a>
      </p>
    </div>
  );
}
