import type { AssetPage } from '@heatround/contract';
import { type Fact, KINDS_OF_WORK, type KindOfWork } from '@heatround/domain';
import { useState } from 'preact/hooks';
import { useSession } from '../../shell/session.tsx';
import { Field } from '../../ui/field.tsx';
import { clockTime, sentenceCase, sharedDays, tableDate } from '../../ui/format.ts';
import { WORK_WORDS } from './words.ts';

const SHOWN = 6;

/** Work recorded on the asset; recording it is a fact like a reading, so it works without signal. */
export function WorkList({ page, now }: { page: AssetPage; now: number }) {
  const { may } = useSession();
  const [isOpen, setOpen] = useState(false);
  const [isAll, setAll] = useState(false);
  const zone = page.place.zone;
  const letterOf = (pointId: string | null): string | null =>
    page.points.find((one) => one.point.id === pointId)?.point.letter ?? null;
  const rows = isAll ? page.work : page.work.slice(0, SHOWN);
  const isShared = sharedDays(
    rows.map((work) => work.takenAt),
    zone,
  );
  return (
    <section class="sec">
      <div class="secrow">
        <h2>Work recorded</h2>
        {page.work.length > SHOWN && !isAll && (
          <button type="button" class="link small" onClick={() => setAll(true)}>
            All {page.work.length}
          </button>
        )}
      </div>
      {rows.length === 0 ? (
        <p class="small">No work is recorded here yet.</p>
      ) : (
        <ul class="worklist">
          {rows.map((work) => (
            <li key={work.id}>
              <span class="d">
                {tableDate(work.takenAt, zone, now)}
                {isShared(work.takenAt) && ` ${clockTime(work.takenAt, zone)}`}
              </span>
              <span>
                <b>{sentenceCase(WORK_WORDS[work.work])}</b>
                {letterOf(work.pointId) === null ? '' : `, point ${letterOf(work.pointId)}`}
                <span class="soft">
                  {work.words === null ? '' : `. ${work.words.replace(/\.$/, '')}`}. {work.by}
                </span>
              </span>
            </li>
          ))}
        </ul>
      )}
      {may('submit-facts') &&
        (isOpen ? (
          <RecordWork page={page} onDone={() => setOpen(false)} />
        ) : (
          <div class="keyrow">
            <button type="button" class="key" onClick={() => setOpen(true)}>
              Record work
            </button>
          </div>
        ))}
    </section>
  );
}

function RecordWork({ page, onDone }: { page: AssetPage; onDone: () => void }) {
  const { outbox } = useSession();
  const [work, setWork] = useState<KindOfWork>('repaired');
  const [pointId, setPointId] = useState('');
  const [hoursAgo, setHoursAgo] = useState('0');
  const [words, setWords] = useState('');
  const record = async (event: Event): Promise<void> => {
    event.preventDefault();
    const stamp = outbox.stamp();
    const said = words.trim();
    const fact: Fact = {
      kind: 'work-recorded',
      ...stamp,
      takenAt: new Date(Date.parse(stamp.takenAt) - Number(hoursAgo) * 3_600_000).toISOString(),
      assetId: page.id,
      ...(pointId === '' ? {} : { pointId }),
      work,
      ...(said === '' ? {} : { words: said }),
    };
    await outbox.record(fact, `${page.tag}, ${WORK_WORDS[work]}`, page.id);
    onDone();
  };
  return (
    <form onSubmit={(event) => void record(event)}>
      <div class="row2">
        <Field label="What was done">
          {(aria) => (
            <select {...aria} class="entry" value={work} onChange={(event) => setWork(event.currentTarget.value as KindOfWork)}>
              {KINDS_OF_WORK.map((one) => (
                <option key={one} value={one}>
                  {sentenceCase(WORK_WORDS[one])}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label="On">
          {(aria) => (
            <select {...aria} class="entry" value={pointId} onChange={(event) => setPointId(event.currentTarget.value)}>
              <option value="">the whole asset</option>
              {page.points.map(({ point }) => (
                <option key={point.id} value={point.id}>
                  point {point.letter}, {point.name}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label="When">
          {(aria) => (
            <select {...aria} class="entry" value={hoursAgo} onChange={(event) => setHoursAgo(event.currentTarget.value)}>
              <option value="0">now</option>
              <option value="1">an hour before now</option>
              <option value="4">4 hours before now</option>
              <option value="12">12 hours before now</option>
              <option value="24">a day before now</option>
              <option value="48">two days before now</option>
            </select>
          )}
        </Field>
      </div>
      <Field label="Words" hint="What was found, what was fitted.">
        {(aria) => (
          <textarea
            {...aria}
            class="entry"
            maxLength={4000}
            value={words}
            onInput={(event) => setWords(event.currentTarget.value)}
          />
        )}
      </Field>
      <div class="keyrow">
        <button type="submit" class="key main">
          Record {WORK_WORDS[work]}
        </button>
        <button type="button" class="key" onClick={onDone}>
          Leave it
        </button>
      </div>
    </form>
  );
}
