import type { FindingLine } from '@heatround/contract';
import { type FindingOutcome, isWorseGrade, type SecondLookKind } from '@heatround/domain';
import { useState } from 'preact/hooks';
import { call, Refusal, sayTrouble } from '../../client/index.ts';
import { Field, Told } from '../../ui/field.tsx';
import { plainDate, sayValue, whenRead, withSign } from '../../ui/format.ts';
import { GRADE_WORDS, GradeMark, Tag } from '../../ui/marks.tsx';
import { FINDING_STATE_WORDS, stopped } from '../../ui/planning/words.ts';
import { useWork } from '../../ui/work.ts';

const ENDED_WORDS: Readonly<Record<FindingOutcome, string>> = {
  proved: 'ended as proved',
  'closed-unproved': 'was closed unproved',
  'turned-down': 'was turned down',
};
type Late = FindingLine['late'][number];

/** A finding that was answered, what came after that, and the two things that can be decided about it. */
export function AgainRow(props: {
  line: FindingLine;
  now: number;
  mayDecide: boolean;
  onDecided: (words: string) => Promise<void>;
  refresh: () => Promise<void>;
}) {
  const { line, now, mayDecide } = props;
  const zone = line.place.zone;
  const { ended, orderId } = line.finding;
  const [reason, setReason] = useState('');
  const { isBusy, trouble, work } = useWork();
  const worst = worstOf(line.late);
  const name = `${line.assetName}, ${line.tag} ${line.letter}`;
  const decide = (event: Event, kind: SecondLookKind): Promise<void> =>
    work(event, async () => {
      const words = reason.trim();
      const look = words === '' ? { kind } : { kind, reason: words };
      try {
        const body = { version: line.finding.version, look };
        const { taken } = await call('lookAgainAt', { params: { findingId: line.id }, body });
        const stands = `seen. Finding ${line.number} stands as it was decided.`;
        await props.onDecided(
          `${line.assetName}: ${taken === null ? stands : `taken up as finding ${taken.number}, which wants its answer above.`}`,
        );
      } catch (failed) {
        if (failed instanceof Refusal && (failed.status === 409 || failed.status === 412))
          await props.refresh().catch(() => undefined);
        throw failed;
      }
    });
  return (
    <li class="againrow" aria-label={name}>
      <p class="g">{worst !== null && <GradeMark grade={worst} />}</p>
      <div class="a">
        <p>
          <a class="nm2" href={`/assets/${line.assetId}?point=${encodeURIComponent(line.letter)}`}>
            {line.assetName}
          </a>{' '}
          <Tag tag={line.tag} letter={line.letter} />
        </p>
        <p>
          Finding {line.number}{' '}
          {ended === null
            ? `was answered: ${FINDING_STATE_WORDS[line.state].toLowerCase()}`
            : `${ENDED_WORDS[ended.outcome]} on ${plainDate(ended.at, zone, now)}`}
          {orderId !== null && (
            <>
              , <a href={`/orders/${orderId}`}>order {line.orderNumber}</a>
            </>
          )}
          .
        </p>
        {line.late.map((late) => (
          <p key={late.factId}>{sayLate(late, line, now)}</p>
        ))}
      </div>
      {mayDecide ? (
        <form class="k" onSubmit={(event) => void decide(event, 'it-stands')}>
          <Field label={<>A word about it{<span class="soft">, if you like</span>}</>}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                value={reason}
                maxLength={1000}
                onInput={(event) => setReason(event.currentTarget.value)}
              />
            )}
          </Field>
          <div class="keyrow">
            <button type="submit" class="key" disabled={isBusy}>
              {ended === null ? 'The answer stands' : 'It stays ended'}
              <span class="unseen">: {name}</span>
            </button>
            {ended !== null && (
              <button type="button" class="key" disabled={isBusy} onClick={(event) => void decide(event, 'take-up')}>
                Take it up anew<span class="unseen">: {name}</span>
              </button>
            )}
          </div>
        </form>
      ) : (
        <p class="k note">A planner or a manager decides.</p>
      )}
      {trouble !== null && (
        <div class="below">
          <Told>{sayTrouble(trouble)} Nothing was changed here; the row shows how it stands now.</Told>
        </div>
      )}
    </li>
  );
}

const worstOf = (late: readonly Late[]): FindingLine['grade'] | null =>
  late.reduce<FindingLine['grade'] | null>(
    (worst, { grade }) => (grade !== null && (worst === null || isWorseGrade(grade, worst)) ? grade : worst),
    null,
  );

/** Such as "97.0 °C, Soon: read 3 April by Mara, arrived 9 April." */
function sayLate({ value, grade, takenAt, receivedAt, by, corrects }: Late, line: FindingLine, now: number): string {
  const zone = line.place.zone;
  const figure = (of: number | null): string => (of === null ? 'a reading' : withSign(sayValue(of, line.decimals), line.unit));
  const judged = grade === null ? 'not judged' : GRADE_WORDS[grade];
  const replaced = corrects === null ? '' : ` in place of ${figure(corrects.value)}`;
  const read = `read ${whenRead(takenAt, zone, now)} by ${by}, arrived ${whenRead(receivedAt, zone, now)}`;
  return stopped(`${figure(value)}${replaced}, ${judged}: ${read}`);
}
