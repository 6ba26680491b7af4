import type { Comparability, Grade, Verdict } from '@heatround/domain';

/** Every mark once in the document; everything else refers to it. 24 grid for grades, 26 × 12 for bars, 12 grid for kinds of reading. */
const SPRITE = `
<symbol id="g-fine" viewBox="0 0 24 24"><circle cx="12" cy="12" r="6.75" fill="none" stroke="currentColor" stroke-width="2.5"/></symbol>
<symbol id="g-watch" viewBox="0 0 24 24"><circle cx="12" cy="12" r="7.5" fill="currentColor"/></symbol>
<symbol id="g-plan" viewBox="0 0 24 24"><path d="M12 2 22 12 12 22 2 12Z" fill="currentColor"/></symbol>
<symbol id="g-soon" viewBox="0 0 24 24"><path d="M12 2.5 23 21.5H1Z" fill="currentColor"/></symbol>
<symbol id="g-now" viewBox="0 0 24 24"><path d="M2 2H22V22H2Z" fill="currentColor"/></symbol>
<symbol id="g-none" viewBox="0 0 24 24"><g fill="none" stroke="currentColor"><path d="M7.5 4H3.5V20H7.5M16.5 4H20.5V20H16.5" stroke-width="2"/><circle cx="12" cy="12" r="3.25" stroke-width="1.5"/></g></symbol>
<symbol id="b-0" viewBox="0 0 26 12"><g fill="none" stroke="currentColor"><path d="M.5.5h4v11h-4zM7.5.5h4v11h-4zM14.5.5h4v11h-4zM21.5.5h4v11h-4z"/></g></symbol>
<symbol id="b-1" viewBox="0 0 26 12"><path d="M0 0h5v12H0z" fill="currentColor"/><path d="M7.5.5h4v11h-4zM14.5.5h4v11h-4zM21.5.5h4v11h-4z" fill="none" stroke="currentColor"/></symbol>
<symbol id="b-2" viewBox="0 0 26 12"><path d="M0 0h5v12H0zM7 0h5v12H7z" fill="currentColor"/><path d="M14.5.5h4v11h-4zM21.5.5h4v11h-4z" fill="none" stroke="currentColor"/></symbol>
<symbol id="b-3" viewBox="0 0 26 12"><path d="M0 0h5v12H0zM7 0h5v12H7zM14 0h5v12h-5z" fill="currentColor"/><path d="M21.5.5h4v11h-4z" fill="none" stroke="currentColor"/></symbol>
<symbol id="b-4" viewBox="0 0 26 12"><path d="M0 0h5v12H0zM7 0h5v12H7zM14 0h5v12h-5zM21 0h5v12h-5z" fill="currentColor"/></symbol>
<symbol id="r-like" viewBox="0 0 12 12"><circle cx="6" cy="6" r="4.25" fill="currentColor"/></symbol>
<symbol id="r-corrected" viewBox="0 0 12 12"><circle cx="6" cy="6" r="3.75" fill="none" stroke="currentColor" stroke-width="1.25"/><path d="M6 2.25a3.75 3.75 0 0 0 0 7.5z" fill="currentColor"/></symbol>
<symbol id="r-none" viewBox="0 0 14 12"><g fill="none" stroke="currentColor" stroke-width="1.2"><circle cx="7" cy="6" r="2.4"/><path d="M3.4 .8H1V11.2H3.4M10.6 .8H13V11.2H10.6"/></g></symbol>
<symbol id="heatround" viewBox="0 0 32 32"><path d="M10.5 1V31M10.5 19.5A7.5 7.5 0 0 1 25.5 19.5V27" fill="none" stroke="currentColor" stroke-width="3.5"/><path d="M4 2.5H10.5M4 11.5H10.5M4 20.5H10.5M4 29.5H10.5" stroke="currentColor" stroke-width="3"/><circle cx="25.5" cy="26.5" r="4.75" fill="currentColor"/></symbol>`;

export const Sprite = () => (
  // A constant of this file, so nothing foreign can enter.
  <svg class="sprite" aria-hidden="true" dangerouslySetInnerHTML={{ __html: SPRITE }} />
);

export function Mark({ name, class: className }: { name: string; class?: string }) {
  return (
    <svg class={className} aria-hidden="true">
      <use href={`#${name}`} />
    </svg>
  );
}

export const GRADE_WORDS: Readonly<Record<Grade, string>> = {
  fine: 'Fine',
  watch: 'Watch',
  plan: 'Plan',
  soon: 'Soon',
  now: 'Now',
};
const BARS: Readonly<Record<Grade, number>> = { fine: 0, watch: 1, plan: 2, soon: 3, now: 4 };
export const KIND_MARKS: Readonly<Record<Comparability, string>> = {
  'like-for-like': 'r-like',
  corrected: 'r-corrected',
  'not-judged': 'r-none',
};
export const KIND_WORDS: Readonly<Record<Comparability, string>> = {
  'like-for-like': 'like-for-like',
  corrected: 'corrected',
  'not-judged': 'not judged',
};

/** Shape, word, bars: never one of them alone. `after` adds words such as "at least". */
export function GradeMark({ grade, after = '' }: { grade: Grade | null; after?: string }) {
  if (grade === null) {
    return (
      <span class="grade none">
        <Mark name="g-none" class="m" />
        <span>Not judged</span>
      </span>
    );
  }
  return (
    <span class={`grade ${grade}`}>
      <Mark name={`g-${grade}`} class="m" />
      <span>
        {GRADE_WORDS[grade]}
        {after === '' ? '' : ` ${after}`}
      </span>
      <Mark name={`b-${BARS[grade]}`} class="b" />
    </span>
  );
}

const CHECK_WORDS: Readonly<Record<string, string>> = {
  'not-running': 'running state',
  'quantity-missing': 'missing value',
  'load-missing': 'load',
  'load-too-low': 'load',
  'load-too-high': 'load',
  'ambient-missing': 'room temperature',
  'base-missing': 'base',
  'emissivity-unreliable': 'emissivity',
  'target-too-small': 'target size',
  'not-steady': 'running time',
  'after-regreasing': 'grease',
};

/** "at least" and "check emissivity" behind the word of a grade. */
export function afterGrade(verdict: Pick<Verdict, 'grade' | 'atLeast' | 'check'>): string {
  if (verdict.grade === null) return '';
  if (verdict.atLeast) return 'at least';
  return verdict.check === null ? '' : `, check ${CHECK_WORDS[verdict.check] ?? 'the reading'}`;
}

export const VerdictMark = ({ verdict }: { verdict: Pick<Verdict, 'grade' | 'atLeast' | 'check'> }) => (
  <GradeMark grade={verdict.grade} after={afterGrade(verdict)} />
);

export function Kind({ of }: { of: Comparability }) {
  return (
    <span class="kind">
      <Mark name={KIND_MARKS[of]} />
      {KIND_WORDS[of]}
    </span>
  );
}

/** Engraved plate: tag and point letter in one. */
export const Tag = ({ tag, letter }: { tag: string; letter?: string | undefined }) => (
  <span class="tag">
    {tag}
    {letter === undefined ? '' : ` ${letter}`}
  </span>
);
