import { useCallback, useEffect, useState } from 'preact/hooks';
import { type Answer, call, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Told } from '../../ui/field.tsx';
import { clockTime, plainDate, sayCount, sayUnit, sayValue } from '../../ui/format.ts';
import { GRADE_WORDS, Tag } from '../../ui/marks.tsx';
import './people.css';

type List = Answer<'listToCountersign'>;
const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;

/** What trainees read and nobody has looked at yet. */
export function CountersignScreen() {
  const { may } = useSession();
  const [list, setList] = useState<List | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const look = useCallback(
    () =>
      call('listToCountersign', {}).then(
        (answer) => setList(answer),
        (failed) => setTrouble(failed),
      ),
    [],
  );
  useEffect(() => {
    if (may('countersign')) void look();
  }, [look, may]);
  const sign = async (factIds: readonly string[]): Promise<void> => {
    setTrouble(null);
    try {
      await call('countersign', { body: { factIds: [...factIds] } });
      await look();
    } catch (failed) {
      setTrouble(failed);
    }
  };
  const heading = useOpening('To countersign', 'countersign');
  return (
    <div class="people">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {list === null
          ? 'To countersign'
          : list.readings.length === 0
            ? 'Every reading of a trainee is countersigned.'
            : `${list.next === null ? sayCount(list.readings.length, 'reading') : `More than ${list.readings.length} readings`} of trainees to look at.`}
      </h1>
      <p class="note">
        A trainee’s reading counts at once. Your signature says that somebody who knows the work has looked at it.
      </p>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {list !== null && list.readings.length > 0 && (
        <>
          <ul>
            {list.readings.map((one) => (
              <li class="one" key={one.factId}>
                <span>
                  <a href={`/assets/${one.assetId}?point=${one.letter}`}>
                    {one.assetName}, {one.pointName}
                  </a>{' '}
                  <Tag tag={`${one.tag} ${one.letter}`} />
                  <br />
                  <span class="soft">
                    {one.by}, {plainDate(Date.parse(one.takenAt), zone, Date.now())}, {clockTime(Date.parse(one.takenAt), zone)}
                  </span>
                </span>
                <span>
                  <b>
                    {one.value === null ? 'no figure' : `${sayValue(one.value, one.decimals)}${sayUnit(one.unit)}`}
                    {one.grade !== null && `, ${GRADE_WORDS[one.grade]}`}
                  </b>
                  <br />
                  <span class="soft">
                    {one.sentence}
                    {one.words !== null && ` “${one.words}”`}
                  </span>
                </span>
                <span class="keyrow">
                  <button
                    type="button"
                    class="key"
                    onClick={() => void sign([one.factId])}
                    aria-label={`Countersign ${one.tag} ${one.letter}`}
                  >
                    Countersign
                  </button>
                </span>
              </li>
            ))}
          </ul>
          <div class="keyrow">
            <button type="button" class="key main" onClick={() => void sign(list.readings.map(({ factId }) => factId))}>
              Countersign all {list.readings.length} shown
            </button>
          </div>
        </>
      )}
    </div>
  );
}
