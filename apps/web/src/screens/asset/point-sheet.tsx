import type { AssetPage, PointPage } from '@heatround/contract';
import { CRITERION_OF, hasFigures, sayEvidence } from '@heatround/domain';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { Ahead, type Reaching, type Slot } from '../../ui/chart/ahead.tsx';
import { Behind, PLOT_BOTTOM, PLOT_TOP, Small } from '../../ui/chart/behind.tsx';
import {
  type BehindSpan,
  behindSpan,
  type ChartEvent,
  figureOfRow,
  type Range,
  type Sounding,
  scaleFor,
  soundingsOf,
  stretchesOf,
  versionsBySide,
} from '../../ui/chart/model.ts';
import { Told } from '../../ui/field.tsx';
import { fullDate, sayCount, sayUnit, sayValue, tableDate, whenReadAmong } from '../../ui/format.ts';
import { GradeMark, Mark, VerdictMark } from '../../ui/marks.tsx';
import { lookAhead, sayNextReading, sayTrend, timesOf, trendWords } from './conclusion-view.ts';
import type { Drawn } from './draw.ts';
import { fetchAll } from './readings-table.tsx';
import {
  askable,
  askFor,
  openThings,
  type PlannedRow,
  type PointSlots,
  pointSlots,
  type Repairs,
  repairEvents,
  withWindows,
} from './repairs.ts';
import { WORK_WORDS } from './words.ts';

const DAY = 86_400_000;
const WEEK = 7 * DAY;

function usedCriterion(at: PointPage) {
  return CRITERION_OF[at.point.quantity];
}

/** What happened at a point, as ticks through the axis: work, limits changed, another instrument. */
function eventsOf(page: AssetPage, at: PointPage, from: number, to: number): ChartEvent[] {
  const events: ChartEvent[] = [];
  for (const work of page.work) {
    if (work.pointId !== null && work.pointId !== at.point.id) continue;
    // The first clause of what people wrote, or the plain word where that is long; all of it stands in the list of work.
    const said = (work.words ?? '').split(/[.;,]/)[0]?.trim() ?? '';
    const words = said === '' || said.length > 30 ? WORK_WORDS[work.work] : said.charAt(0).toLowerCase() + said.slice(1);
    events.push({ at: Date.parse(work.takenAt), words });
  }
  for (const own of versionsBySide(at.limits, usedCriterion(at))) {
    for (const [index, set] of own.entries()) {
      const before = own[index - 1];
      if (before === undefined) continue;
      const sum = (one: typeof set): number => (one.watch ?? 0) + (one.plan ?? 0) + (one.soon ?? 0) + (one.now ?? 0);
      const way = !hasFigures(set)
        ? 'withdrawn'
        : sum(set) < sum(before)
          ? 'lowered'
          : sum(set) > sum(before)
            ? 'raised'
            : 'changed';
      events.push({ at: set.validFrom, words: `limits ${way}` });
    }
  }
  return events.filter((event) => event.at >= from && event.at <= to);
}

/** One point large: what was, what comes, and the same in words. */
export function PointSheet({
  page,
  at,
  now,
  repairs,
  onAsked,
  onAll,
}: {
  page: AssetPage;
  at: PointPage;
  now: number;
  repairs?: Repairs | undefined;
  onAsked: () => Promise<void>;
  /** All readings were fetched. */
  onAll: (readings: PointPage['readings']) => void;
}) {
  const { may } = useSession();
  const { point } = at;
  const zone = page.place.zone;
  const criterion = usedCriterion(at);
  const last = at.readings.find((row) => row.counts && row.value !== null) ?? null;
  const ahead = useMemo(() => lookAhead(at, zone, now), [at, zone, now]);
  const nextWords = sayNextReading(page, at, now);
  const planned = useMemo(() => pointSlots(page, at, repairs?.windows ?? [], now), [page, at, repairs?.windows, now]);
  const [range, setRange] = useState<Range>('all');
  const [drawn, setDrawn] = useState<Drawn | null>(null);
  useEffect(() => {
    let isHere = true;
    setDrawn(null);
    if (ahead.isDrawn) {
      void import('./draw.ts').then(({ drawPoint }) => {
        if (isHere) setDrawn(drawPoint(page, at));
      });
    }
    return () => {
      isHere = false;
    };
  }, [page, at, ahead.isDrawn]);
  const fan = drawn?.fan ?? [];
  const curve = drawn?.curve ?? [];
  const reaching: Reaching | null =
    ahead.isDrawn && ahead.counting !== null && ahead.counting.earliestAt !== null
      ? {
          grade: ahead.counting.grade,
          limit: ahead.counting.limit,
          earliest: ahead.counting.earliestAt,
          likely: ahead.counting.likelyAt,
          latest: ahead.counting.latestAt,
        }
      : null;
  const { soundings, behind, stretches, scale, events } = useMemo(() => {
    const soundings = soundingsOf(at.readings, criterion);
    const behind = spanOf(page, at, soundings, now, range);
    const stretches = stretchesOf(at.limits, criterion, behind.from, behind.to);
    const seen = soundings.filter((one) => one.at >= behind.from);
    const scale = scaleFor(seen, stretches, reaching === null ? [] : [reaching.limit], PLOT_TOP, PLOT_BOTTOM);
    const repaired = repairEvents(repairs).filter((event) => event.at >= behind.from && event.at <= behind.to);
    return { soundings, behind, stretches, scale, events: [...eventsOf(page, at, behind.from, behind.to), ...repaired] };
  }, [page, at, criterion, now, reaching?.limit, repairs, range]);
  const present = stretches.at(-1);
  // The last reading is seen in both panels, unless it is long ago.
  const lastAt = soundings.at(-1)?.at ?? now;
  const aheadFrom = Math.max(now - 28 * DAY, Math.min(now - 8 * DAY, lastAt - 3 * DAY));
  const lastWords =
    last?.value == null || soundings.length === 0 ? null : sayValue(soundings.at(-1)!.value, point.decimals).replace(/\.0$/, '');
  const chartUnit = point.unit === '1' ? '' : criterion === 'absolute' || point.unit !== '°C' ? point.unit : 'K';
  const weeksAhead = Math.max(1, Math.round((ahead.to - now) / WEEK));
  const name = point.name.charAt(0).toLowerCase() + point.name.slice(1);
  const shown = soundings.filter((one) => one.at >= behind.from);
  const rests = behind.restsSince === null ? null : `not read since ${tableDate(behind.restsSince, zone, now)}`;
  const label = `${sayCount(shown.length, 'reading')} of ${name}, ${lower(saySpan(behind, zone, now))}${rests === null ? '' : `, ${rests}`}${lastWords === null ? '' : `, the last ${lastWords} ${point.unit}`}. The table below gives them all.`;
  return (
    <section class="pt" aria-label={`Point ${point.letter}`}>
      <div class="secrow ptrow">
        <h2>
          Point {point.letter}, {name}, {point.unit}
        </h2>
        <StandingMark at={at} />
        <span class="small">{sayTrend(page, at, now)}</span>
      </div>
      <Open repairs={repairs} now={now} />
      <div class={`sheet${ahead.isDrawn ? '' : ' noahead'}`}>
        <div class="behind">
          <Behind
            title={saySpan(behind, zone, now)}
            label={label}
            from={behind.from}
            to={behind.to}
            soundings={shown}
            stretches={stretches}
            events={events}
            curve={curve}
            scale={scale}
            unit={chartUnit}
            last={lastWords}
            rests={rests}
          />
          <RangeKeys at={at} span={behind} range={range} setRange={setRange} onAll={onAll} />
        </div>
        {ahead.isDrawn && (
          <div class="ahead">
            <Ahead
              title={`${weeksAhead} weeks ahead`}
              label={`Forecast: ${ahead.rows.map((one) => `${one.date} ${one.title}`).join(', ')}. The timetable beside it says the same.`}
              now={now}
              from={aheadFrom}
              to={ahead.to}
              zone={zone}
              stretches={present === undefined ? [] : [{ ...present, from: aheadFrom, to: ahead.to }]}
              soundings={soundings.filter((one) => one.at >= aheadFrom)}
              fan={fan}
              reaching={reaching}
              slots={slotsAhead(planned, zone, now)}
              scale={scale}
              unit={chartUnit}
              last={lastWords}
            />
          </div>
        )}
        <aside aria-label="What lies ahead">
          <h2>{ahead.isDrawn || ahead.rows.length > 0 ? 'Timetable ahead' : 'Ahead'}</h2>
          {(ahead.isDrawn || ahead.rows.length > 0) && (
            <Timetable rows={withWindows(ahead.rows, planned.slots, ahead.to, zone, now)} />
          )}
          <p class="small forewords">{ahead.words}</p>
          {nextWords !== null && (
            <p class="small">
              <b>Next reading.</b> {nextWords}
            </p>
          )}
          {at.conclusion !== null && at.conclusion.readingCount > 0 && (
            <p class="small soft">{sayEvidence(at.conclusion, zone, now)}</p>
          )}
          <Keys
            page={page}
            at={at}
            planned={planned}
            repairs={repairs}
            now={now}
            onAsked={onAsked}
            mayRead={may('submit-facts')}
          />
        </aside>
      </div>
      <p class="legend note">
        <span class="kind">
          <Mark name="r-like" />
          like-for-like
        </span>
        <span class="kind">
          <Mark name="r-corrected" />
          corrected to the reference load
        </span>
        <span class="kind">
          <Mark name="r-none" />
          not judged
        </span>
        {ahead.isDrawn && (
          <span class="kind">
            <svg style="width:20px" viewBox="0 0 20 12" aria-hidden="true">
              <path d="M0 6h20" stroke="var(--fan)" stroke-width="2.4" stroke-dasharray="7 4" />
            </svg>
            forecast, 8 of 10 end inside
          </span>
        )}
      </p>
    </section>
  );
}

/** "60 weeks behind", or the months of a history that ended long ago. */
function saySpan({ from, to, restsSince }: BehindSpan, zone: string, now: number): string {
  const weeks = Math.max(1, Math.round((to - from) / WEEK));
  const long = weeks >= 104 ? `${Math.round(weeks / 52.18)} years` : sayCount(weeks, 'week');
  return restsSince === null ? `${long} behind` : `${long}, until ${tableDate(restsSince, zone, now)}`;
}

function spanOf(page: AssetPage, at: PointPage, soundings: readonly Sounding[], now: number, range: Range): BehindSpan {
  const works = page.work.filter((work) => work.pointId === null || work.pointId === at.point.id);
  return behindSpan(
    soundings.map((one) => one.at),
    works.map((work) => Date.parse(work.takenAt)),
    now,
    range,
  );
}

const RANGE_WORDS: Readonly<Record<Range, string>> = {
  all: 'all',
  'two-years': 'two years',
  'three-months': 'three months',
  'since-work': 'since the last work',
};

/** Which piece of a long history is drawn; and the way to what was not fetched yet. */
function RangeKeys(props: {
  at: PointPage;
  span: BehindSpan;
  range: Range;
  setRange: (range: Range) => void;
  onAll: (readings: PointPage['readings']) => void;
}) {
  const { at, span, range, setRange, onAll } = props;
  const [stage, setStage] = useState<'none' | 'fetching' | 'fetched'>('none');
  const [trouble, setTrouble] = useState<unknown>(null);
  const isPart = at.olderReadings !== null;
  const all = async (): Promise<void> => {
    setStage('fetching');
    setTrouble(null);
    try {
      onAll(await fetchAll(at.point.id));
      setStage('fetched');
    } catch (failed) {
      setTrouble(failed);
      setStage('none');
    }
  };
  if (!isPart && span.ranges.length === 0 && stage === 'none') return null;
  return (
    <fieldset class="ranges small">
      <legend class="unseen">What is drawn</legend>
      {span.ranges.map((one) => (
        <button
          type="button"
          class="link"
          key={one}
          aria-pressed={one === (span.ranges.includes(range) ? range : 'all')}
          onClick={() => setRange(one)}
        >
          {RANGE_WORDS[one]}
        </button>
      ))}
      {isPart && (
        <span>
          The newest {at.readings.length.toLocaleString('en-GB')} readings.{' '}
          <button type="button" class="link" disabled={stage === 'fetching'} onClick={() => void all()}>
            {stage === 'fetching' ? 'fetching all' : 'All readings'}
          </button>
        </span>
      )}
      <span role="status">{stage === 'fetched' ? `${sayCount(at.readings.length, 'reading')} fetched.` : ''}</span>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
    </fieldset>
  );
}

function Timetable({ rows }: { rows: readonly PlannedRow[] }) {
  return (
    <ol class="ttable">
      {rows.map((row) => (
        <li key={`${row.at} ${row.title}`} class={`tt-${row.kind}`}>
          <span class="d">{row.date}</span>
          <span>
            {row.title}
            {row.detail !== '' && (
              <>
                <br />
                <span class="soft">{row.detail}</span>
              </>
            )}
          </span>
        </li>
      ))}
    </ol>
  );
}

/** The windows as the panel ahead draws them. */
function slotsAhead({ slots }: PointSlots, zone: string, now: number): Slot[] {
  const late = slots.find(({ kind }) => kind === 'late');
  return slots.flatMap((slot): Slot[] => {
    if (slot.kind === 'last')
      return [{ ...slot, kind: 'last', title: fullDate(slot.from, zone, now), detail: `${lower(slot.name)}, fits` }];
    if (slot.kind === 'fits') return [{ ...slot, kind: 'fits', title: '', detail: '' }];
    if (slot.kind !== 'late') return [];
    const isFirst = slot === late;
    return [
      {
        ...slot,
        kind: 'late',
        title: isFirst ? tableDate(slot.from, zone, now) : '',
        detail: isFirst ? `${lower(slot.name)}, too late` : '',
      },
    ];
  });
}
const lower = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

/** Findings and orders that are open on this point. */
function Open({ repairs, now }: { repairs: Repairs | undefined; now: number }) {
  const things = openThings(repairs, now);
  if (things.length === 0) return null;
  return (
    <ul class="openthings">
      {things.map((one) => (
        <li key={one.link}>
          <a href={one.href}>{one.link}</a> {one.words}
        </li>
      ))}
    </ul>
  );
}

/** Ask for the last window that fits, where a finding or an order waits for it; read the point. */
function Keys(props: {
  page: AssetPage;
  at: PointPage;
  planned: PointSlots;
  repairs: Repairs | undefined;
  now: number;
  mayRead: boolean;
  onAsked: () => Promise<void>;
}) {
  const { page, at, planned, repairs, now, mayRead } = props;
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [said, setSaid] = useState<string | null>(null);
  const saidLine = useRef<HTMLParagraphElement>(null);
  useEffect(() => {
    if (said !== null) saidLine.current?.focus();
  }, [said]);
  const what = askable(repairs);
  const { window } = planned.lastWindow;
  const day = window === null ? null : fullDate(window.from, page.place.zone, now);
  const ask = async (): Promise<void> => {
    if (isBusy || what === null || window === null || day === null) return;
    setBusy(true);
    setTrouble(null);
    try {
      const words = await askFor(what, window.id, day);
      await props.onAsked();
      setSaid(words);
    } catch (failed) {
      setTrouble(failed);
      await props.onAsked().catch(() => undefined);
    }
    setBusy(false);
  };
  const mayAsk = what !== null && window !== null;
  return (
    <>
      {said !== null && (
        <p class="told" role="status" tabIndex={-1} ref={saidLine}>
          {said}
        </p>
      )}
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {mayAsk && (
        <button type="button" class="key main" disabled={isBusy} onClick={() => void ask()}>
          {isBusy ? 'Asking' : `Ask for ${day}`}
        </button>
      )}
      {mayRead && (
        <a class={mayAsk ? 'key' : 'key main'} href={`/stop/${page.id}/${at.point.id}`}>
          Read point {at.point.letter}
        </a>
      )}
      {what !== null && 'finding' in what && (
        <p class="small alt2">
          <a href="/answers">Other answers</a>
        </p>
      )}
    </>
  );
}

/** The grade a point stands at, with the reservations of the reading that brought it there. */
function StandingMark({ at }: { at: PointPage }) {
  const { conclusion } = at;
  const latest = conclusion?.latest?.verdict ?? at.readings.find((row) => row.counts)?.verdict ?? null;
  if (conclusion?.standing != null && latest?.grade !== conclusion.standing.grade)
    return <GradeMark grade={conclusion.standing.grade} />;
  return latest === null ? <GradeMark grade={null} /> : <VerdictMark verdict={latest} />;
}

/** Another point of the asset, small; its name makes it the large one. */
export function Other({
  page,
  at,
  now,
  repairs,
}: {
  page: AssetPage;
  at: PointPage;
  now: number;
  repairs?: Repairs | undefined;
}) {
  const { may } = useSession();
  const { point } = at;
  const criterion = usedCriterion(at);
  const zone = page.place.zone;
  const soundings = useMemo(() => soundingsOf(at.readings, criterion), [at.readings, criterion]);
  const { from, to, restsSince } = spanOf(page, at, soundings, now, 'all');
  const stretches = stretchesOf(at.limits, criterion, from, to);
  const last = at.readings.find((row) => row.counts && row.value !== null) ?? null;
  const name = point.name.charAt(0).toLowerCase() + point.name.slice(1);
  return (
    <section class="sec other">
      <div class="secrow">
        <h2>
          <a href={`/assets/${page.id}?point=${encodeURIComponent(point.letter)}`}>
            {point.letter}, {name}, {point.unit}
          </a>
        </h2>
        <StandingMark at={at} />
      </div>
      <Open repairs={repairs} now={now} />
      {soundings.length > 0 && (
        <Small
          label={`${sayCount(soundings.length, 'reading')} of ${name}`}
          from={from}
          to={to}
          soundings={soundings}
          stretches={stretches}
          scaleOf={(top, bottom) => scaleFor(soundings, stretches, [], top, bottom)}
        />
      )}
      <p class="small soft">
        {last?.value == null
          ? 'Not read yet.'
          : `${sayValue(figureOfRow(last, criterion) ?? last.value, point.decimals)}${sayUnit(point.unit)}, ${restsSince === null ? '' : 'not read since '}${whenReadAmong(last.takenAt, timesOf(at), zone, now)}. ${trendWords(at, zone, now).join(' ')}`}
      </p>
      {may('submit-facts') && (
        <a class="small readlink" href={`/stop/${page.id}/${point.id}`}>
          Read point {point.letter}
        </a>
      )}
    </section>
  );
}
