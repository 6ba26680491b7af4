import type { AssetPage } from '@heatround/contract';
import { GRADES, type KindOfWork, type LimitGrade } from '@heatround/domain';
import { useRef, useState } from 'preact/hooks';
import { useOpening } from '../../shell/title.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';

/** How far one answer reaches. */
export type CouldNotScope = 'one' | 'machine' | 'room';

const WORKS: readonly { readonly work: KindOfWork; readonly word: string }[] = [
  { work: 'tightened', word: 'Tightened' },
  { work: 'regreased', word: 'Greased' },
  { work: 'cleaned', word: 'Cleaned' },
  { work: 'adjusted', word: 'Adjusted' },
];

/** Tightened, greased or cleaned at the stop: what was found, what was done; the reading after follows at once. */
export function PutRightForm({
  page,
  letter,
  onDone,
  onBack,
}: {
  page: AssetPage;
  letter: string;
  onDone: (given: { work: KindOfWork; found: string; did: string }) => Promise<void>;
  onBack: () => void;
}) {
  const heading = useOpening(`${page.tag} ${letter}, put right on the spot`, `${page.id} put right`);
  const [work, setWork] = useState<KindOfWork | null>(null);
  const [found, setFound] = useState('');
  const [did, setDid] = useState('');
  const [wrong, setWrong] = useState<'work' | 'found' | null>(null);
  const field = useRef<HTMLInputElement>(null);
  const word = WORKS.find((one) => one.work === work)?.word ?? '';
  const done = (): void => {
    if (work === null) {
      setWrong('work');
      return;
    }
    if (found.trim() === '') {
      setWrong('found');
      field.current?.focus();
      return;
    }
    void onDone({ work, found: found.trim(), did: did.trim() === '' ? word : did.trim() });
  };
  return (
    <>
      <div class="pad idb plain">
        <Tag tag={page.tag} letter={letter} />
        <h1 tabIndex={-1} ref={heading}>
          What did you put right?
        </h1>
      </div>
      <div class="pad works">
        {WORKS.map((one) => (
          <button
            key={one.work}
            type="button"
            class="key round choicekey"
            aria-pressed={work === one.work}
            onClick={() => {
              setWork(one.work);
              setWrong(null);
            }}
          >
            {one.word}
          </button>
        ))}
      </div>
      {wrong === 'work' && (
        <p class="told" role="alert">
          Say what was done: tightened, greased, cleaned or adjusted.
        </p>
      )}
      <div class="pad field">
        <label for="found">What you found</label>
        {wrong === 'found' && (
          <span class="wrong" role="alert" id="foundwrong">
            A few words are needed, such as “lug loose a quarter turn”.
          </span>
        )}
        <input
          id="found"
          ref={field}
          class="entry"
          type="text"
          maxLength={2000}
          aria-describedby={wrong === 'found' ? 'foundwrong' : undefined}
          value={found}
          onInput={(event) => setFound(event.currentTarget.value)}
        />
      </div>
      <div class="pad field">
        <label for="did">What you did, if it needs words</label>
        <input
          id="did"
          class="entry"
          type="text"
          maxLength={2000}
          value={did}
          onInput={(event) => setDid(event.currentTarget.value)}
        />
      </div>
      <p class="pad because soft">
        The reading you have just taken is kept as the one before. After this, read it again: that is the one after.
      </p>
      <div class="grow" />
      <div class="foot">
        <div class="pad keys entrykeys">
          <button type="button" class="key round" onClick={onBack}>
            Back
          </button>
          <button type="button" class="key main round" onClick={done}>
            Kept, now read again
          </button>
        </div>
      </div>
    </>
  );
}

const SOON_ENOUGH: Readonly<Record<LimitGrade, string>> = {
  watch: 'look at it next time',
  plan: 'repair in a coming window',
  soon: 'within 7 days',
  now: 'act at once, from a safe place',
};

/** Something seen that no figure says: how soon somebody must act, and words. */
export function SawForm({
  page,
  letter,
  faultWords,
  said,
  onReport,
  onBack,
}: {
  page: AssetPage;
  letter: string;
  faultWords: string | null;
  /** Words begun on the way here. */
  said: string;
  onReport: (grade: LimitGrade, words: string) => Promise<void>;
  onBack: () => void;
}) {
  const heading = useOpening(`${page.tag} ${letter}, saw something`, `${page.id} saw`);
  const [grade, setGrade] = useState<LimitGrade | null>(null);
  const [words, setWords] = useState(said);
  const [wrong, setWrong] = useState<'grade' | 'words' | null>(null);
  const field = useRef<HTMLTextAreaElement>(null);
  const isSent = useRef(false);
  const report = (): void => {
    if (words.trim() === '') {
      setWrong('words');
      field.current?.focus();
    } else if (grade === null) setWrong('grade');
    else if (!isSent.current) {
      isSent.current = true;
      void onReport(grade, words.trim());
    }
  };
  return (
    <>
      <div class="pad idb plain">
        <Tag tag={page.tag} letter={letter} />
        <h1 tabIndex={-1} ref={heading}>
          What did you see at {page.name}?
        </h1>
      </div>
      {faultWords !== null && (
        <p class="told">
          <b>There is an open report here.</b> {faultWords}
        </p>
      )}
      <div class="pad field">
        <label for="saw">Words</label>
        {wrong === 'words' && (
          <span class="wrong" role="alert" id="sawwrong">
            Say what you saw, such as “oil under the gearbox, a hand wide”.
          </span>
        )}
        <textarea
          id="saw"
          ref={field}
          class="entry"
          maxLength={4000}
          aria-describedby={wrong === 'words' ? 'sawwrong' : undefined}
          value={words}
          onInput={(event) => setWords(event.currentTarget.value)}
        />
      </div>
      <fieldset class="pad works">
        <legend class="soft">How soon must somebody act?</legend>
        {GRADES.filter((one): one is LimitGrade => one !== 'fine').map((one) => (
          <button
            key={one}
            type="button"
            class="key round choicekey graded"
            aria-pressed={grade === one}
            onClick={() => {
              setGrade(one);
              setWrong(null);
            }}
          >
            <GradeMark grade={one} />
            <span class="answerwhat">{SOON_ENOUGH[one]}</span>
          </button>
        ))}
      </fieldset>
      {wrong === 'grade' && (
        <p class="told" role="alert">
          Say how soon somebody must act: Watch, Plan, Soon or Now.
        </p>
      )}
      <div class="grow" />
      <div class="foot">
        <div class="pad keys entrykeys">
          <button type="button" class="key round" onClick={onBack}>
            Back
          </button>
          <button type="button" class="key main round" onClick={report}>
            Report it
          </button>
        </div>
      </div>
    </>
  );
}
