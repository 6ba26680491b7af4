import type { AssetPage, HitRates, PointPage } from '@heatround/contract';
import { baseCriterionOf, FINE_MEANS, limitsInForce, plainUnitOf, unitOfCriterion } from '@heatround/domain';
import type { ComponentType } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { type Answer, call, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { Told } from '../../ui/field.tsx';
import { clockTime, plainDate, sayCount, sayLimit, sayUnit, sentenceCase, sharedDays, tableDate } from '../../ui/format.ts';
import { GRADE_WORDS } from '../../ui/marks.tsx';
import type { FormProps } from './forms.tsx';
import { CRITERION_WORDS, sayHolds } from './words.ts';

type FormName = 'limits' | 'base' | 'asset' | 'point' | 'change';

/** Limits with their reasons, base, forecast diary, stops without a reading; and what an editor may change. */
export function Aside({
  page,
  at,
  now,
  refresh,
}: {
  page: AssetPage;
  at: PointPage | null;
  now: number;
  refresh: () => Promise<void>;
}) {
  const { may } = useSession();
  const [form, setForm] = useState<FormName | null>(null);
  const [Forms, setForms] = useState<{ Form: ComponentType<FormProps> } | null>(null);
  const open = async (name: FormName): Promise<void> => {
    const loaded = await import('./forms.tsx');
    setForms({ Form: loaded.FORMS[name] });
    setForm(name);
  };
  const shut = (): void => {
    setForm(null);
    setForms(null);
  };
  const zone = page.place.zone;
  const inForce = at === null ? [] : limitsInForce(at.limits, now);
  const needsBase = at !== null && baseCriterionOf(at.point, at.limits) !== null;
  const baseUnit = at === null ? '' : sayUnit(plainUnitOf(at.point.quantity));
  const base = at?.point.base ?? null;
  const proposed = at?.conclusion?.proposedBase ?? null;
  return (
    <section class="sec aside">
      {at !== null && (
        <>
          <h2>Limits of point {at.point.letter}</h2>
          {inForce.length === 0 && <p class="small">No limits are set here yet, so nothing read here is judged.</p>}
          {inForce.map(({ set }) => (
            <div class="limitset" key={set.id}>
              <p>
                {(['watch', 'plan', 'soon', 'now'] as const)
                  .filter((grade) => set[grade] !== null)
                  .map((grade) => `${GRADE_WORDS[grade]} ${sayLimit(set[grade] as number)}`)
                  .join(', ')}
                {sayUnit(unitOfCriterion(at.point.quantity, set.criterion))}{' '}
                <span class="soft">
                  {CRITERION_WORDS[set.criterion]}
                  {set.direction === 'low' ? ', and below' : ''}
                  {sayHolds(set.holds)}
                </span>
              </p>
              <p class="note">
                {set.reason.replace(/\.$/, '')}. {sentenceCase(set.source.replace(/\.$/, ''))}. Version {set.version} by{' '}
                {set.author}, since {plainDate(set.validFrom, zone, now)}.
                {set.reviewOn === null ? '' : ` To be reviewed on ${plainDate(set.reviewOn, zone, now)}.`}
              </p>
            </div>
          ))}
          {needsBase && (
            <p class="small">
              {base !== null
                ? `Base ${sayLimit(base.value)}${baseUnit}, ${base.state}.`
                : proposed !== null
                  ? `Base ${sayLimit(Number(proposed.value.toFixed(1)))}${baseUnit}, provisional, from the first ${proposed.readingIds.length} comparable readings.`
                  : 'No base yet: it is proposed from the first 5 comparable readings over 3 rounds.'}
            </p>
          )}
        </>
      )}
      {may('edit-register') && form === null && (
        <div class="keyrow">
          {at !== null && (
            <button type="button" class="key" onClick={() => void open('limits')}>
              Change limits of point {at.point.letter}
            </button>
          )}
          {needsBase && (
            <button type="button" class="key" onClick={() => void open('base')}>
              Confirm the base
            </button>
          )}
          {at !== null && (
            <button type="button" class="key" onClick={() => void open('change')}>
              Change point {at.point.letter}
            </button>
          )}
          <button type="button" class="key" onClick={() => void open('point')}>
            Add a point
          </button>
          <button type="button" class="key" onClick={() => void open('asset')}>
            Change {page.tag}
          </button>
        </div>
      )}
      {Forms !== null && <Forms.Form page={page} at={at} now={now} refresh={refresh} onDone={shut} />}
      {at !== null && <Diary at={at} zone={zone} now={now} />}
      {at !== null && <Answers at={at} zone={zone} now={now} />}
      <p class="note finemeans">{FINE_MEANS}</p>
    </section>
  );
}

/** Fetched when it is opened. */
function useOpened<T>(load: () => Promise<T>, isOpen: boolean): { found: T | null; trouble: unknown } {
  const [found, setFound] = useState<T | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  useEffect(() => {
    if (!isOpen || found !== null) return;
    load().then(setFound, setTrouble);
  }, [isOpen]);
  return { found, trouble };
}

const OUTCOME_WORDS = { hit: 'held', early: 'came earlier', late: 'came later', censored: 'work came first' } as const;
const percent = (share: number): string => `${Math.round(share * 100)} %`;

/** How often the ranges held, beside what they promise. */
function HeldRanges({ rates: { all } }: { rates: HitRates }) {
  const { counted, hits, histories, rate, interval, verdict, enough } = all;
  if (rate === null)
    return <p class="small">No forecast of this organisation has run out yet. Of those that do, 80 % are to hold.</p>;
  const said = {
    'as-promised': 'As promised: 80 %, and between 70 and 90 % is no wonder.',
    'too-narrow': 'Fewer than promised: the ranges are too narrow here. Plan with the earliest date.',
    'too-wide': 'More than promised: the ranges are wider here than they need be.',
    'too-few': `Too few to say more${enough === null ? '' : `: ${enough} such stretches at this rate would`}. 80 % are promised.`,
  }[verdict];
  return (
    <figure class="heldranges">
      <figcaption class="small">
        {hits} of {sayCount(counted, 'forecast')} with an outcome in this organisation held, {percent(rate)}; they come from{' '}
        {histories === 1 ? 'one stretch' : `${histories} stretches`} between repairs. {said}
      </figcaption>
      <svg viewBox="0 0 100 10" preserveAspectRatio="none" role="img" aria-label={`Held ${percent(rate)}; promised 80 %`}>
        <rect class="whole" x="0" y="3" width="100" height="4" />
        <rect class="promised" x="70" y="0" width="20" height="10" />
        {interval !== null && (
          <rect class="likely" x={interval[0] * 100} y="3" width={(interval[1] - interval[0]) * 100} height="4" />
        )}
        <rect class="held" x={Math.max(0, rate * 100 - 0.5)} y="0" width="1" height="10" />
      </svg>
    </figure>
  );
}

/** Every forecast as it was given. */
function Diary({ at, zone, now }: { at: PointPage; zone: string; now: number }) {
  const [isOpen, setOpen] = useState(false);
  const { found, trouble } = useOpened<Answer<'listForecasts'>>(
    () => call('listForecasts', { params: { pointId: at.point.id } }),
    isOpen,
  );
  const rates = useOpened<Answer<'getHitRates'>>(() => call('getHitRates', {}), isOpen);
  const date = (when: string | null): string => (when === null ? '–' : tableDate(when, zone, now));
  const isShared = sharedDays(
    (found?.forecasts ?? []).map((one) => one.madeAt),
    zone,
  );
  return (
    <details class="more" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Forecasts of point {at.point.letter} as they were given</summary>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {rates.found !== null && <HeldRanges rates={rates.found} />}
      {found !== null &&
        (found.forecasts.length === 0 ? (
          <p class="small">No forecast was given here yet.</p>
        ) : (
          <table class="rt">
            <thead>
              <tr>
                <th scope="col">Given</th>
                <th scope="col">Limit</th>
                <th scope="col">Earliest</th>
                <th scope="col">Likely</th>
                <th scope="col">Latest</th>
                <th scope="col" class="num">
                  Readings
                </th>
                <th scope="col">Outcome</th>
              </tr>
            </thead>
            <tbody>
              {found.forecasts.map((one) => (
                <tr key={`${one.madeAt} ${one.limitGrade} ${one.readingCount}`}>
                  <td data-head="Given">
                    {tableDate(one.madeAt, zone, now)}
                    {isShared(one.madeAt) && <span class="soft"> {clockTime(one.madeAt, zone)}</span>}
                  </td>
                  <td data-head="Limit">
                    {GRADE_WORDS[one.limitGrade as 'plan'] ?? one.limitGrade} {sayLimit(one.limitValue)}
                  </td>
                  {one.earliestAt === null && one.likelyAt === null ? (
                    <td colSpan={3} class="soft">
                      {one.reason === null ? 'none' : `none: ${one.reason.replaceAll('-', ' ')}`}
                    </td>
                  ) : (
                    <>
                      <td data-head="Earliest">{date(one.earliestAt)}</td>
                      <td data-head="Likely">{date(one.likelyAt)}</td>
                      <td data-head="Latest">{date(one.latestAt)}</td>
                    </>
                  )}
                  <td data-head="Readings" class="num">
                    {one.readingCount}
                  </td>
                  <td data-head="Outcome">{one.outcome === null ? '–' : OUTCOME_WORDS[one.outcome]}</td>
                </tr>
              ))}
            </tbody>
          </table>
        ))}
    </details>
  );
}

const ANSWER_WORDS: Readonly<Record<string, string>> = {
  'not-running': 'Not running',
  'no-way-in': 'No way in',
  unsafe: 'Unsafe',
  'instrument-trouble': 'Instrument trouble',
  'left-out': 'Left out',
};

/** Stops answered without a reading. */
function Answers({ at, zone, now }: { at: PointPage; zone: string; now: number }) {
  const [isOpen, setOpen] = useState(false);
  const { found, trouble } = useOpened<Answer<'listAnswers'>>(
    () => call('listAnswers', { params: { pointId: at.point.id } }),
    isOpen,
  );
  return (
    <details class="more" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Stops at point {at.point.letter} without a reading</summary>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {found !== null && (
        <ul class="worklist">
          {found.answers.length === 0 && <li>Every stop here gave a reading.</li>}
          {found.answers.map((one) => (
            <li key={one.id}>
              <span class="d">
                {tableDate(one.takenAt, zone, now)} {clockTime(one.takenAt, zone)}
              </span>
              <span>
                <b>{ANSWER_WORDS[one.answer] ?? one.answer}</b>
                <span class="soft">
                  {one.words === null ? '' : `. ${one.words}`}. {one.by}
                </span>
              </span>
            </li>
          ))}
        </ul>
      )}
    </details>
  );
}
