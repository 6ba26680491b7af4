import type { AssetPage, PointPage, ReadingRow } from '@heatround/contract';
import { useState } from 'preact/hooks';
import { call, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { Told } from '../../ui/field.tsx';
import { clockTime, sayLimit, sayUnit, sayValue, sharedDays, tableDate } from '../../ui/format.ts';
import { afterGrade, GRADE_WORDS, Kind } from '../../ui/marks.tsx';

/** Every reading of a point, newest first. */
export async function fetchAll(pointId: string): Promise<ReadingRow[]> {
  const all: ReadingRow[] = [];
  let before: string | undefined;
  do {
    const answer = await call('listReadings', { params: { pointId }, query: { pageSize: 1000, all: true, before } });
    all.push(...answer.readings);
    before = answer.older ?? undefined;
  } while (before !== undefined && all.length < 20_000);
  return all;
}

const SHOWN = 5;
const MOST_ROWS = 400;

/** Last readings of a point; all of them on demand, with what corrected what. */
export function ReadingsTable(props: {
  page: AssetPage;
  at: PointPage;
  now: number;
  isAll: boolean;
  onAll: (readings: PointPage['readings']) => void;
}) {
  const { page, at, now, isAll, onAll } = props;
  const { may, membership } = useSession();
  const { point } = at;
  const zone = page.place.zone;
  const [isFetching, setFetching] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [rowsShown, setRowsShown] = useState(MOST_ROWS);
  const rows = isAll ? at.readings.slice(0, rowsShown) : at.readings.filter((row) => row.counts).slice(0, SHOWN);

  const isShared = sharedDays(
    rows.map((row) => row.takenAt),
    zone,
  );
  const showAll = async (): Promise<void> => {
    setFetching(true);
    setTrouble(null);
    try {
      onAll(await fetchAll(point.id));
    } catch (failed) {
      setTrouble(failed);
    } finally {
      setFetching(false);
    }
  };
  const mayCorrect = (row: ReadingRow): boolean =>
    row.counts && (may('correct-any-reading') || (may('correct-own-reading') && row.by === membership.name));
  const hasLoad = rows.some((row) => row.figures.conditions.load !== undefined);
  const hasAir = rows.some((row) => (row.figures.inputs.air ?? row.figures.conditions.ambient) !== undefined);
  const hasFull = rows.some((row) => row.verdict?.because?.band != null);
  const hasInstrument = rows.some((row) => row.instrument !== null);
  const hasKeys = rows.some(mayCorrect);
  const columns: Columns = { hasLoad, hasAir, hasFull, hasInstrument, hasKeys };
  return (
    <section class={`sec readings${hasFull && hasKeys ? ' wide' : ''}`}>
      <div class="secrow">
        <h2>
          {isAll ? 'All' : 'Last'} readings of point {point.letter}
        </h2>
        {!isAll && at.readings.length > 0 && (
          <button type="button" class="link small" disabled={isFetching} onClick={() => void showAll()}>
            {isFetching ? 'fetching' : at.olderReadings === null ? `All ${at.readings.length}` : 'All'}
          </button>
        )}
      </div>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {rows.length === 0 ? (
        <p class="small">Nothing was read here yet.</p>
      ) : (
        <table class="rt">
          <thead>
            <tr>
              <th scope="col">Read</th>
              <th scope="col" class="num">
                {point.unit === '1' ? 'Value' : point.unit}
              </th>
              {hasFull && (
                <th scope="col" class="num">
                  at {point.referenceLoadPercent === 100 ? 'full load' : `${sayLimit(point.referenceLoadPercent)} %`}
                </th>
              )}
              {hasLoad && (
                <th scope="col" class="num">
                  Load %
                </th>
              )}
              {hasAir && (
                <th scope="col" class="num">
                  Room °C
                </th>
              )}
              <th scope="col">Compare</th>
              <th scope="col">Said</th>
              <th scope="col">By</th>
              {hasInstrument && <th scope="col">With</th>}
              {hasKeys && (
                <th scope="col">
                  <span class="unseen">Correct</span>
                </th>
              )}
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <Row
                key={row.id}
                row={row}
                page={page}
                at={at}
                now={now}
                isAll={isAll}
                hasTime={isAll || isShared(row.takenAt)}
                columns={columns}
                mayCorrect={mayCorrect(row)}
              />
            ))}
          </tbody>
        </table>
      )}
      {isAll && at.readings.length > rowsShown && (
        <div class="keyrow">
          <button type="button" class="key" onClick={() => setRowsShown(rowsShown + MOST_ROWS)}>
            Show {Math.min(MOST_ROWS, at.readings.length - rowsShown)} more of {at.readings.length.toLocaleString('en-GB')}
          </button>
        </div>
      )}
    </section>
  );
}

interface Columns {
  readonly hasLoad: boolean;
  readonly hasAir: boolean;
  readonly hasFull: boolean;
  readonly hasInstrument: boolean;
  readonly hasKeys: boolean;
}

/** One reading; what was typed, said and corrected stands in a line of its own below it. */
function Row(props: {
  row: ReadingRow;
  page: AssetPage;
  at: PointPage;
  now: number;
  isAll: boolean;
  /** Another reading of the same day stands beside it. */
  hasTime: boolean;
  columns: Columns;
  mayCorrect: boolean;
}) {
  const { row, page, at, now, isAll, hasTime, columns, mayCorrect } = props;
  const { point } = at;
  const zone = page.place.zone;
  const air = row.figures.inputs.air ?? row.figures.conditions.ambient;
  const value = row.value === null ? '–' : sayValue(row.value, point.decimals);
  const typed = sayTyped(row);
  const notes = [
    typed,
    row.words === null ? null : `“${row.words}”`,
    row.corrects !== null && row.counts ? 'A correction.' : null,
    row.counts ? null : row.correctedBy === null ? 'Does not count: no right to correct.' : 'Corrected later, no longer counts.',
    row.phoneVerdict === null ? null : `The phone said: ${row.phoneVerdict.sentence}`,
  ].filter((note) => note !== null);
  const hasMore = notes.length > 0 || row.otherContents > 0;
  const width = 5 + Object.values(columns).filter(Boolean).length;
  const classes = [row.counts ? '' : 'gone', hasMore ? 'has' : ''].join(' ').trim();
  return (
    <>
      <tr class={classes === '' ? undefined : classes}>
        <td data-head="Read">
          {tableDate(row.takenAt, zone, now)}
          {hasTime && <span class="soft"> {clockTime(row.takenAt, zone)}</span>}
        </td>
        <td data-head={point.unit} class="num">
          <b>{row.comparability === 'not-judged' && row.value !== null ? `[${value}]` : value}</b>
        </td>
        {columns.hasFull && (
          <td data-head="at reference load" class="num">
            {row.verdict?.because?.band == null ? '' : sayValue(row.verdict.because.value, point.decimals)}
          </td>
        )}
        {columns.hasLoad && (
          <td data-head="Load %" class="num">
            {row.figures.conditions.load === undefined ? '' : sayLimit(row.figures.conditions.load)}
          </td>
        )}
        {columns.hasAir && (
          <td data-head="Room °C" class="num">
            {air === undefined ? '' : sayLimit(air)}
          </td>
        )}
        <td data-head="Compare">
          <Kind of={row.comparability} />
        </td>
        <td data-head="Said">
          {row.grade === null
            ? 'Not judged'
            : `${GRADE_WORDS[row.grade]}${row.verdict === null ? '' : spaced(afterGrade(row.verdict))}`}
        </td>
        <td data-head="By">
          {isAll ? row.by : row.by.split(' ')[0]}
          {row.countersign != null && (
            <span class="note">
              {' '}
              {row.countersign.by === null ? 'not countersigned yet' : `countersigned by ${row.countersign.by}`}
            </span>
          )}
        </td>
        {columns.hasInstrument && <td data-head="With">{row.instrument ?? ''}</td>}
        {columns.hasKeys && (
          <td>
            {mayCorrect && (
              <a
                class="small"
                href={`/stop/${page.id}/${point.id}?corrects=${row.id}`}
                aria-label={`Correct the reading of ${tableDate(row.takenAt, zone, now)}${hasTime ? ` ${clockTime(row.takenAt, zone)}` : ''}, ${value}`}
              >
                Correct
              </a>
            )}
          </td>
        )}
      </tr>
      {hasMore && (
        <tr class="said">
          <td colSpan={width}>
            {notes.join(' ')}
            {row.otherContents > 0 && <OtherContents pointId={point.id} row={row} />}
          </td>
        </tr>
      )}
    </>
  );
}

const spaced = (words: string): string => (words === '' || words.startsWith(',') ? words : ` ${words}`);

/** What was typed, where it is not the value itself. */
function sayTyped(row: ReadingRow): string | null {
  const inputs = Object.entries(row.inputs);
  const only = inputs[0];
  const isValue = (text: string): boolean => Number(text.replace(',', '.').replace('−', '-')) === row.value;
  if (inputs.length === 1 && only !== undefined && (row.value === null || isValue(only[1].text))) return null;
  const words = inputs.map(
    ([name, entry]) => `${inputs.length === 1 ? '' : `${name.replace('amps:', 'current ')} `}${entry.text}${sayUnit(entry.unit)}`,
  );
  return `Typed ${words.join(', ')}.`;
}

/** Another content arrived under the same id: kept for a person to look at. */
function OtherContents({ pointId, row }: { pointId: string; row: ReadingRow }) {
  const [found, setFound] = useState<readonly string[] | null>(null);
  const show = async (): Promise<void> => {
    const { contents } = await call('listOtherContents', { params: { pointId } });
    setFound(
      contents
        .filter((one) => one.factId === row.id)
        .map((one) => {
          const content = one.content as { inputs?: Record<string, { text: string; unit: string }> };
          const inputs = Object.entries(content.inputs ?? {}).map(([name, entry]) => `${name} ${entry.text} ${entry.unit}`);
          return `${inputs.join(', ')} from ${one.by}`;
        }),
    );
  };
  return (
    <span>
      {' '}
      <button type="button" class="link" onClick={() => void show().catch(() => setFound(['not to be had without signal']))}>
        Another content was kept
      </button>
      {found?.map((words) => (
        <span key={words}>
          <br />
          {words}
        </span>
      ))}
    </span>
  );
}
